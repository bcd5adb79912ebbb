//! Expressions of a package: `when: stage != "in-service"`, `value: reading / unit.amps`.
//!
//! The language is [CEL](https://cel.dev), parsed and evaluated by its crate, of which nothing is seen outside this
//! file. It is narrowed so that an author is never bitten by it: all numbers are doubles (CEL itself refuses
//! `reading / 2`, a double by an integer), every name and every kind of value is checked when the package is read, and
//! what is known not to fit is refused with its place in the text and the nearest valid name.
//!
//! Evaluation is three-valued: where a name has no value yet, an expression is still true or false if the known part
//! decides it (`false && unknown` is false, after Kleene), else it is unknown, and says which names are missing.

use std::collections::BTreeMap;
use std::fmt;
use std::ops::Range;
use std::sync::{Arc, LazyLock};

use cel::common::ast::{
    CallExpr, ComprehensionExpr, Expr, IdedExpr, LiteralValue, SourceInfo, operators as op,
};
use cel::common::types::{CelDouble, CelString};
use cel::extractors::Arguments;
use cel::parser::Parser;
use cel::{Context, ExecutionError};

use super::function;

/// Longest expression accepted, in bytes.
const LONGEST: usize = 2000;

/// The kind of a value.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Kind {
    /// A double.
    Number,
    /// A list of doubles.
    Numbers,
    /// A text.
    Text,
    /// A list of texts.
    Texts,
    /// True or false.
    Truth,
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Number => "a number",
            Self::Numbers => "a list of numbers",
            Self::Text => "a text",
            Self::Texts => "a list of texts",
            Self::Truth => "true or false",
        })
    }
}

/// A value.
#[derive(Clone, PartialEq, Debug)]
pub enum Value {
    /// A double, never NaN or infinite.
    Number(f64),
    /// A list of doubles.
    Numbers(Vec<f64>),
    /// A text.
    Text(String),
    /// True or false.
    Truth(bool),
}

/// The names that an expression may use, with their kinds: `stage`, `reading`, `unit.amps`.
#[derive(Clone, Default, Debug)]
pub struct Vocabulary {
    names: BTreeMap<String, (Kind, Vec<String>)>,
}

impl Vocabulary {
    /// No names.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// One more name.
    pub fn add(&mut self, name: impl Into<String>, kind: Kind) {
        self.names.insert(name.into(), (kind, Vec::new()));
    }

    /// One more name, for a text that is one of `options`.
    pub fn add_choice(&mut self, name: impl Into<String>, options: impl IntoIterator<Item = String>) {
        self.names.insert(name.into(), (Kind::Text, options.into_iter().collect()));
    }

    /// All names, in order.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.names.keys().map(String::as_str)
    }
}

/// What is wrong with an expression, and where in its text (a range of bytes).
#[derive(Clone, PartialEq, Debug)]
pub struct ExpressionError {
    /// Where.
    pub range: Range<usize>,
    /// What.
    pub problem: Problem,
}

/// What is wrong with an expression.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum Problem {
    /// It does not parse.
    #[error("this is no expression: {0}")]
    Syntax(String),
    /// It is too long.
    #[error("an expression has {LONGEST} characters at most")]
    TooLong,
    /// A name that is not in the vocabulary.
    #[error("there is no value `{name}` here")]
    UnknownName {
        /// The name.
        name: String,
        /// All valid names.
        valid: Vec<String>,
    },
    /// A function that does not exist.
    #[error("there is no function `{name}`")]
    UnknownFunction {
        /// The name.
        name: String,
        /// All valid names.
        valid: Vec<String>,
    },
    /// A call with other arguments than the function takes.
    #[error("`{name}` takes {takes}")]
    Arguments {
        /// The function.
        name: String,
        /// What it takes.
        takes: String,
    },
    /// A value of another kind than wanted.
    #[error("{what} must be {wanted}, but is {got}")]
    WrongKind {
        /// What has the wrong kind.
        what: String,
        /// What it must be.
        wanted: String,
        /// What it is.
        got: Kind,
    },
    /// A text that the compared value never is.
    #[error("`{name}` is never \"{text}\"")]
    NeverThat {
        /// The value.
        name: String,
        /// The text.
        text: String,
        /// What it may be.
        valid: Vec<String>,
    },
    /// A part of CEL that packages do not use.
    #[error("{0} cannot be used here")]
    Unsupported(String),
}

impl Problem {
    /// The word that was not found with the words that would be valid, for a suggestion.
    #[must_use]
    pub fn choice(&self) -> Option<(&str, &[String])> {
        match self {
            Self::UnknownName { name, valid } | Self::UnknownFunction { name, valid } => Some((name, valid)),
            Self::NeverThat { text, valid, .. } => Some((text, valid)),
            _ => None,
        }
    }
}

/// A checked expression. Cloning is cheap.
#[derive(Clone, Debug)]
pub struct Expression(Arc<Checked>);

#[derive(Debug)]
struct Checked {
    source: String,
    tree: IdedExpr,
    names: Vec<String>,
}

impl PartialEq for Expression {
    fn eq(&self, other: &Self) -> bool {
        self.0.source == other.0.source
    }
}

/// What an expression comes to.
#[derive(Clone, PartialEq, Debug)]
pub enum Evaluated {
    /// A value.
    Known(Value),
    /// Not decided without the values of these names.
    Unknown(Vec<String>),
    /// No value, for this reason: a division by zero, a table without such an entry.
    Failed(String),
}

impl Expression {
    /// Parses and checks `source`, which may use the names of `vocabulary` and must be of kind `wanted`.
    ///
    /// Cost: some ten microseconds for an expression of usual length; meant to be done once.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn compile(
        source: &str,
        vocabulary: &Vocabulary,
        wanted: Kind,
    ) -> Result<Self, Vec<ExpressionError>> {
        let whole = || 0..source.len();
        if source.len() > LONGEST {
            return Err(vec![ExpressionError { range: whole(), problem: Problem::TooLong }]);
        }
        let parsed = Parser::new().max_recursion_depth(64).parse_with_source_info(source);
        let (mut tree, info) = parsed.map_err(|errors| syntax_errors(source, &errors))?;
        if let Some(problem) = numbers_to_doubles(&mut tree) {
            return Err(vec![ExpressionError { range: whole(), problem }]);
        }
        let mut check = Check {
            source,
            info: &info,
            vocabulary,
            bound: Vec::new(),
            names: Vec::new(),
            errors: Vec::new(),
        };
        let kind = check.kind(&tree);
        if let Some(got) = kind.filter(|&got| got != wanted) {
            let problem =
                Problem::WrongKind { what: "the expression".to_owned(), wanted: wanted.to_string(), got };
            check.errors.push(ExpressionError { range: whole(), problem });
        }
        let Check { mut names, errors, .. } = check;
        if !errors.is_empty() {
            return Err(errors);
        }
        names.sort_unstable();
        names.dedup();
        Ok(Self(Arc::new(Checked { source: source.to_owned(), tree, names })))
    }

    /// The text.
    #[must_use]
    pub fn source(&self) -> &str {
        &self.0.source
    }

    /// The names that it uses, in order, each once.
    #[must_use]
    pub fn names(&self) -> &[String] {
        &self.0.names
    }

    /// Its value, where `value_of` gives the values of names, `None` for one that is not known.
    ///
    /// Cost: a few microseconds.
    pub fn evaluate(&self, value_of: &dyn Fn(&str) -> Option<Value>) -> Evaluated {
        // A context may be shared, but costs more to build than an expression to evaluate.
        static ROOT: LazyLock<Context<'static, 'static>> = LazyLock::new(root);
        let mut scope = ROOT.new_inner_scope();
        let mut missing = Vec::new();
        for name in &self.0.names {
            match value_of(name) {
                Some(value) => bind(&mut scope, name, value),
                None => missing.push(name.clone()),
            }
        }
        match cel::Value::resolve(&self.0.tree, &scope) {
            Ok(value) => match known(value) {
                Some(value) => Evaluated::Known(value),
                None if missing.is_empty() => Evaluated::Failed("the result is no finite number".to_owned()),
                None => Evaluated::Unknown(missing),
            },
            Err(_) if !missing.is_empty() => Evaluated::Unknown(missing),
            Err(error) => Evaluated::Failed(reason(&error)),
        }
    }
}

/// The context with all functions.
fn root() -> Context<'static, 'static> {
    let mut root = Context::default();
    for function in function::all() {
        let body = move |Arguments(arguments): Arguments| -> Result<f64, ExecutionError> {
            let mut numbers = Vec::with_capacity(arguments.len());
            for argument in arguments.iter() {
                match argument {
                    cel::Value::Float(number) => numbers.push(*number),
                    cel::Value::List(list) => numbers.extend(list.iter().filter_map(|v| match v {
                        cel::Value::Float(number) => Some(*number),
                        _ => None,
                    })),
                    _ => return Err(ExecutionError::function_error(function.name, "not a number")),
                }
            }
            function.call(&numbers).map_err(|why| ExecutionError::function_error(function.name, why))
        };
        // Names are unique and none is a function of CEL's own library, which a test below checks.
        let _ = root.add_function(function.name, body);
    }
    root
}

fn bind(scope: &mut Context<'_, 'static>, name: &str, value: Value) {
    match value {
        Value::Number(number) => scope.add_variable_as_val(name, Box::new(CelDouble::from(number))),
        Value::Text(text) => scope.add_variable_as_val(name, Box::new(CelString::from(text))),
        Value::Truth(truth) => scope.add_variable_from_value(name, truth),
        Value::Numbers(numbers) => scope.add_variable_from_value(name, numbers),
    }
}

fn known(value: cel::Value) -> Option<Value> {
    match value {
        cel::Value::Float(number) => number.is_finite().then_some(Value::Number(number)),
        cel::Value::Bool(truth) => Some(Value::Truth(truth)),
        cel::Value::String(text) => Some(Value::Text(text.to_string())),
        _ => None,
    }
}

fn reason(error: &ExecutionError) -> String {
    match error {
        ExecutionError::FunctionError { message, .. } => message.clone(),
        ExecutionError::IndexOutOfBounds(_) => "there are fewer readings than that".to_owned(),
        other => other.to_string(),
    }
}

fn syntax_errors(source: &str, errors: &cel::ParseErrors) -> Vec<ExpressionError> {
    errors
        .errors
        .iter()
        .map(|error| {
            let (line, column) = error.pos;
            let line_start: usize =
                source.split_inclusive('\n').take(usize::try_from(line - 1).unwrap_or(0)).map(str::len).sum();
            let at = byte_of(&source[line_start..], usize::try_from(column - 1).unwrap_or(0)) + line_start;
            let end = source[at..].chars().next().map_or(at, |c| at + c.len_utf8());
            let words = error.msg.strip_prefix("Syntax error: ").unwrap_or(&error.msg);
            ExpressionError { range: at..end, problem: Problem::Syntax(words.to_owned()) }
        })
        .collect()
}

/// The byte at which character number `characters` of `text` starts.
fn byte_of(text: &str, characters: usize) -> usize {
    text.char_indices().nth(characters).map_or(text.len(), |(at, _)| at)
}

/// Turns integer literals into doubles, except as the index of a list.
fn numbers_to_doubles(tree: &mut IdedExpr) -> Option<Problem> {
    match &mut tree.expr {
        Expr::Literal(literal) => {
            let number = match literal {
                LiteralValue::Int(int) => *int.inner() as f64,
                LiteralValue::UInt(int) => *int.inner() as f64,
                _ => return None,
            };
            *literal = LiteralValue::Double(CelDouble::from(number));
            None
        }
        Expr::Call(call) => {
            let keep = usize::from(call.func_name == op::INDEX);
            let args = call.args.len() - keep.min(call.args.len());
            let target = call.target.as_deref_mut();
            target.into_iter().chain(&mut call.args[..args]).find_map(numbers_to_doubles)
        }
        Expr::List(list) => list.elements.iter_mut().find_map(numbers_to_doubles),
        Expr::Select(select) => numbers_to_doubles(&mut select.operand),
        Expr::Comprehension(fold) => {
            let ComprehensionExpr { iter_range, accu_init, loop_cond, loop_step, result, .. } = &mut **fold;
            [iter_range, accu_init, loop_cond, loop_step, result].into_iter().find_map(numbers_to_doubles)
        }
        Expr::Ident(_) => None,
        Expr::Map(_) => Some(Problem::Unsupported("a map".to_owned())),
        Expr::Struct(_) => Some(Problem::Unsupported("a structure".to_owned())),
        Expr::Unspecified => Some(Problem::Syntax("nothing here".to_owned())),
    }
}

/// The walk that finds the kind of every part.
struct Check<'a> {
    source: &'a str,
    info: &'a SourceInfo,
    vocabulary: &'a Vocabulary,
    /// Names that a comprehension binds.
    bound: Vec<(String, Kind)>,
    names: Vec<String>,
    errors: Vec<ExpressionError>,
}

impl Check<'_> {
    fn range(&self, part: &IdedExpr) -> Range<usize> {
        let Some((start, stop)) = self.info.offset_for(part.id) else { return 0..self.source.len() };
        // Bytes, the last one included; an end inside a character moves behind it.
        let boundary =
            |at: u32| (at as usize..self.source.len()).find(|&at| self.source.is_char_boundary(at));
        let start = boundary(start).unwrap_or(self.source.len());
        start..boundary(stop + 1).unwrap_or(self.source.len()).max(start)
    }

    fn error(&mut self, part: &IdedExpr, problem: Problem) -> Option<Kind> {
        let range = self.range(part);
        self.errors.push(ExpressionError { range, problem });
        None
    }

    /// The kind of `part`, `None` where an error has been noted.
    fn kind(&mut self, part: &IdedExpr) -> Option<Kind> {
        match &part.expr {
            Expr::Literal(literal) => match literal {
                LiteralValue::Double(number) if number.inner().is_finite() => Some(Kind::Number),
                LiteralValue::Boolean(_) => Some(Kind::Truth),
                LiteralValue::String(_) => Some(Kind::Text),
                LiteralValue::Int(_) => Some(Kind::Number),
                _ => self.error(part, Problem::Unsupported("such a literal".to_owned())),
            },
            Expr::Ident(name) => self.name(part, name.clone()),
            Expr::Select(select) => match &select.operand.expr {
                _ if select.test => self.error(part, Problem::Unsupported("`has`".to_owned())),
                Expr::Ident(owner) => self.name(part, format!("{owner}.{}", select.field)),
                _ => self.error(part, Problem::Unsupported("a second dot".to_owned())),
            },
            Expr::List(list) => {
                let kinds: Vec<_> = list.elements.iter().map(|e| self.kind(e)).collect();
                match kinds.first().copied().unwrap_or(Some(Kind::Number))? {
                    first @ (Kind::Number | Kind::Text) => {
                        for (kind, element) in kinds.iter().zip(&list.elements) {
                            self.want(element, (*kind)?, first, "every item of this list");
                        }
                        Some(if first == Kind::Number { Kind::Numbers } else { Kind::Texts })
                    }
                    got => self.error(
                        part,
                        Problem::WrongKind {
                            what: "an item of a list".to_owned(),
                            wanted: "a number or a text".to_owned(),
                            got,
                        },
                    ),
                }
            }
            Expr::Call(call) => self.call(part, call),
            Expr::Comprehension(fold) => self.fold(fold),
            Expr::Map(_) | Expr::Struct(_) | Expr::Unspecified => {
                self.error(part, Problem::Unsupported("this".to_owned()))
            }
        }
    }

    fn want(&mut self, part: &IdedExpr, got: Kind, wanted: Kind, what: &str) {
        if got != wanted {
            let problem = Problem::WrongKind { what: what.to_owned(), wanted: wanted.to_string(), got };
            self.error(part, problem);
        }
    }

    fn name(&mut self, part: &IdedExpr, name: String) -> Option<Kind> {
        if let Some((_, kind)) = self.bound.iter().rev().find(|(bound, _)| *bound == name) {
            return Some(*kind);
        }
        if let Some((kind, _)) = self.vocabulary.names.get(&name) {
            self.names.push(name);
            return Some(*kind);
        }
        let valid = self.vocabulary.names().map(str::to_owned).collect();
        let problem = Problem::UnknownName { name: name.clone(), valid };
        self.error(part, problem);
        // The range of a selection is that of its dot: widen it to the whole name.
        if let Some(error) = self.errors.last_mut() {
            let dot = name.find('.').unwrap_or(0);
            let start = error.range.start.saturating_sub(dot);
            if self.source.get(start..start + name.len()) == Some(name.as_str()) {
                error.range = start..start + name.len();
            }
        }
        None
    }

    fn call(&mut self, part: &IdedExpr, call: &CallExpr) -> Option<Kind> {
        if let Some(target) = &call.target {
            // `size(x)` and `x.size()` are the same in CEL; here a function has no owner.
            self.kind(target);
            return self.error(part, Problem::Unsupported(format!("`.{}()`", call.func_name)));
        }
        let kinds: Vec<_> = call.args.iter().map(|a| self.kind(a)).collect();
        let known = |at: usize| kinds.get(at).copied().flatten();
        match (call.func_name.as_str(), call.args.as_slice()) {
            (op::CONDITIONAL, [test, _, other]) => {
                if let Some(got) = known(0) {
                    self.want(test, got, Kind::Truth, "the part before `?`");
                }
                let (yes, no) = (known(1)?, known(2)?);
                self.want(other, no, yes, "the part after `:`");
                Some(yes)
            }
            (op::LOGICAL_AND | op::LOGICAL_OR | op::LOGICAL_NOT, args) => {
                for (arg, kind) in args.iter().zip(&kinds) {
                    if let Some(got) = *kind {
                        self.want(arg, got, Kind::Truth, "each side of `&&`, `||`, `!`");
                    }
                }
                Some(Kind::Truth)
            }
            (op::EQUALS | op::NOT_EQUALS, [left, right]) => {
                if let (Some(a), Some(b)) = (known(0), known(1)) {
                    self.want(right, b, a, "the right side");
                }
                self.never_that(left, right);
                self.never_that(right, left);
                Some(Kind::Truth)
            }
            (op::LESS | op::LESS_EQUALS | op::GREATER | op::GREATER_EQUALS, args) => {
                self.numbers(args, &kinds, "each side of a comparison");
                Some(Kind::Truth)
            }
            (op::ADD | op::SUBSTRACT | op::MULTIPLY | op::DIVIDE | op::NEGATE, args) => {
                if call.func_name == op::ADD && known(0) == Some(Kind::Numbers) && known(1) == known(0) {
                    return known(0);
                }
                self.numbers(args, &kinds, "each side of an operation");
                Some(Kind::Number)
            }
            (op::IN, [item, list]) => {
                let wanted = match known(1)? {
                    Kind::Numbers => Kind::Number,
                    Kind::Texts => Kind::Text,
                    got => {
                        let (what, wanted) = ("the right side of `in`".to_owned(), "a list".to_owned());
                        return self.error(list, Problem::WrongKind { what, wanted, got });
                    }
                };
                if let Some(got) = known(0) {
                    self.want(item, got, wanted, "the left side of `in`");
                }
                if let Expr::List(list) = &list.expr {
                    list.elements.iter().for_each(|e| self.never_that(item, e));
                }
                Some(Kind::Truth)
            }
            (op::INDEX, [list, index]) => {
                if let Some(got) = known(0) {
                    self.want(list, got, Kind::Numbers, "the part before `[`");
                }
                if !matches!(&index.expr, Expr::Literal(LiteralValue::Int(at)) if *at.inner() >= 0) {
                    return self
                        .error(index, Problem::Unsupported("another index than 0, 1, 2 …".to_owned()));
                }
                Some(Kind::Number)
            }
            (op::NOT_STRICTLY_FALSE, _) => Some(Kind::Truth),
            (name, args) => self.function(part, name, args, &kinds),
        }
    }

    fn numbers(&mut self, args: &[IdedExpr], kinds: &[Option<Kind>], what: &str) {
        for (arg, kind) in args.iter().zip(kinds) {
            if let Some(got) = *kind {
                self.want(arg, got, Kind::Number, what);
            }
        }
    }

    fn function(
        &mut self,
        part: &IdedExpr,
        name: &str,
        args: &[IdedExpr],
        kinds: &[Option<Kind>],
    ) -> Option<Kind> {
        let Some(function) = function::named(name) else {
            if name.starts_with(|c: char| !c.is_ascii_alphabetic()) {
                return self.error(part, Problem::Unsupported(format!("`{}`", name.replace('_', ""))));
            }
            let valid = function::all().map(|f| f.name.to_owned()).collect();
            return self.error(part, Problem::UnknownFunction { name: name.to_owned(), valid });
        };
        let lists = kinds.iter().flatten().filter(|&&k| k == Kind::Numbers).count();
        let fits = if function.is_variadic() {
            !args.is_empty() && (lists == 0 || args.len() == 1)
        } else {
            args.len() == function.parameters.len()
        };
        if !fits {
            let takes = if function.is_variadic() {
                "numbers, or one list of numbers".to_owned()
            } else {
                function.parameters.join(", ")
            };
            return self.error(part, Problem::Arguments { name: name.to_owned(), takes });
        }
        if !(function.is_variadic() && lists == 1) {
            self.numbers(args, kinds, "an argument");
        }
        Some(Kind::Number)
    }

    /// A comparison of a choice with a text that is none of its options.
    fn never_that(&mut self, value: &IdedExpr, text: &IdedExpr) {
        let name = match &value.expr {
            Expr::Ident(name) => name.clone(),
            Expr::Select(select) => match &select.operand.expr {
                Expr::Ident(owner) => format!("{owner}.{}", select.field),
                _ => return,
            },
            _ => return,
        };
        let Expr::Literal(LiteralValue::String(literal)) = &text.expr else { return };
        let Some((_, options)) = self.vocabulary.names.get(&name) else { return };
        let literal = literal.inner();
        if !options.is_empty() && !options.iter().any(|o| o == literal) {
            let problem = Problem::NeverThat { name, text: literal.to_owned(), valid: options.clone() };
            self.error(text, problem);
        }
    }

    /// `all`, `exists`, `exists_one`, `map` and `filter` over a list of numbers.
    fn fold(&mut self, fold: &ComprehensionExpr) -> Option<Kind> {
        let range = self.kind(&fold.iter_range)?;
        self.want(&fold.iter_range, range, Kind::Numbers, "the list");
        let start = self.kind(&fold.accu_init)?;
        let depth = self.bound.len();
        self.bound.push((fold.iter_var.clone(), Kind::Number));
        self.bound.push((fold.accu_var.clone(), start));
        self.kind(&fold.loop_cond);
        let step = self.kind(&fold.loop_step);
        self.bound.truncate(depth + 1);
        self.bound[depth] = (fold.accu_var.clone(), start);
        let result = self.kind(&fold.result);
        self.bound.truncate(depth);
        self.want(&fold.loop_step, step?, start, "the part after the comma");
        result
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn vocabulary() -> Vocabulary {
        let mut v = Vocabulary::new();
        v.add_choice("stage", ["start-up", "in-service", "after-work"].map(str::to_owned));
        v.add("reading", Kind::Number);
        v.add("readings", Kind::Numbers);
        v.add("unit.amps", Kind::Number);
        v.add("unit.poles", Kind::Number);
        v.add("unit.phases", Kind::Number);
        v.add_choice("unit.motor_type", ["induction", "ec"].map(str::to_owned));
        v
    }

    fn value_of(name: &str) -> Option<Value> {
        Some(match name {
            "stage" => Value::Text("start-up".into()),
            "reading" => Value::Number(9.0),
            "readings" => Value::Numbers(vec![462.0, 463.0, 455.0]),
            "unit.amps" => Value::Number(4.5),
            "unit.poles" => Value::Number(4.0),
            _ => return None,
        })
    }

    #[track_caller]
    fn number(source: &str) -> f64 {
        let e = Expression::compile(source, &vocabulary(), Kind::Number).expect("compiles");
        match e.evaluate(&value_of) {
            Evaluated::Known(Value::Number(n)) => n,
            other => panic!("{source}: {other:?}"),
        }
    }

    #[track_caller]
    fn truth(source: &str) -> Evaluated {
        Expression::compile(source, &vocabulary(), Kind::Truth).expect("compiles").evaluate(&value_of)
    }

    #[test]
    fn integers_are_numbers_like_others() {
        assert_eq!(number("reading / 2"), 4.5);
        assert_eq!(number("1 + 2 * 3"), 7.0);
        assert_eq!(number("7 / 2"), 3.5);
        assert_eq!(number("-reading"), -9.0);
        assert_eq!(number("readings[1] - readings[0]"), 1.0);
        assert_eq!(number("reading > 5 ? 1 : 0.5"), 1.0);
        assert_eq!(number("count(readings) * 2"), 6.0);
        assert_eq!(number("max(1, 2.5, reading)"), 9.0);
        assert_eq!(number("max(readings) - min(readings)"), 8.0);
        assert_eq!(number("mean(readings)"), 460.0);
        assert_eq!(number("unbalance(readings)"), 100.0 * 5.0 / 460.0);
        assert_eq!(number("reading / unit.amps"), 2.0);
        assert_eq!(number("max(readings.map(r, r / 2))"), 231.5);
        assert_eq!(truth("unit.poles == 4"), Evaluated::Known(Value::Truth(true)));
        assert_eq!(truth("unit.poles in [2, 4]"), Evaluated::Known(Value::Truth(true)));
        assert_eq!(truth("readings.all(r, r > 450)"), Evaluated::Known(Value::Truth(true)));
        assert_eq!(truth("readings.exists(r, r < 450)"), Evaluated::Known(Value::Truth(false)));
        assert_eq!(truth("readings.exists_one(r, r < 460)"), Evaluated::Known(Value::Truth(true)));
        assert_eq!(truth("stage in [\"start-up\", \"after-work\"]"), Evaluated::Known(Value::Truth(true)));
    }

    #[test]
    fn the_unknown_decides_nothing_that_the_known_decides() {
        let unknown = Evaluated::Unknown(vec!["unit.phases".into()]);
        let (yes, no) = (Evaluated::Known(Value::Truth(true)), Evaluated::Known(Value::Truth(false)));
        assert_eq!(truth("unit.phases == 3"), unknown);
        assert_eq!(truth("!(unit.phases == 3)"), unknown);
        assert_eq!(truth("unit.phases == 3 && stage == \"start-up\""), unknown);
        assert_eq!(truth("stage == \"start-up\" && unit.phases == 3"), unknown);
        assert_eq!(truth("unit.phases == 3 && stage == \"in-service\""), no);
        assert_eq!(truth("stage == \"in-service\" && unit.phases == 3"), no);
        assert_eq!(truth("unit.phases == 3 || stage == \"start-up\""), yes);
        assert_eq!(truth("unit.phases == 3 || stage == \"in-service\""), unknown);
        assert_eq!(truth("stage == \"start-up\" ? true : unit.phases == 3"), yes);
    }

    #[test]
    fn no_value_is_a_reason() {
        for source in ["reading / 0", "0 / 0", "readings[7]", "sqrt(-1)", "full_load_amps(4.2, 460)"] {
            let e = Expression::compile(source, &vocabulary(), Kind::Number).expect("compiles");
            assert!(matches!(e.evaluate(&value_of), Evaluated::Failed(_)), "{source}");
        }
    }

    #[track_caller]
    fn wrong(source: &str, wanted: Kind) -> (String, String) {
        let errors = Expression::compile(source, &vocabulary(), wanted).expect_err("does not compile");
        let first = &errors[0];
        (source[first.range.clone()].to_owned(), first.problem.to_string())
    }

    #[test]
    fn mistakes_are_named_with_their_place() {
        for (source, wanted, place, words) in [
            ("reading / unit.amp", Kind::Number, "unit.amp", "there is no value `unit.amp` here"),
            ("raeding / 2", Kind::Number, "raeding", "there is no value `raeding` here"),
            ("unit", Kind::Number, "unit", "there is no value `unit` here"),
            ("stage == \"in-servce\"", Kind::Truth, "\"in-servce\"", "`stage` is never \"in-servce\""),
            ("mxa(readings)", Kind::Number, "(", "there is no function `mxa`"),
            ("slip(60, 4)", Kind::Number, "(", "`slip` takes hertz, poles, rpm"),
            ("unit.poles == \"4\"", Kind::Truth, "\"4\"", "the right side must be a number, but is a text"),
            ("reading", Kind::Truth, "reading", "the expression must be true or false, but is a number"),
            (
                "reading > 3",
                Kind::Number,
                "reading > 3",
                "the expression must be a number, but is true or false",
            ),
            (
                "readings / 2",
                Kind::Number,
                "readings",
                "each side of an operation must be a number, but is a list of numbers",
            ),
            ("{1: 2}", Kind::Number, "{1: 2}", "a map cannot be used here"),
            ("has(unit.amps)", Kind::Truth, "", "`has` cannot be used here"),
            ("reading.size()", Kind::Number, "(", "`.size()` cannot be used here"),
        ] {
            let (at, got) = wrong(source, wanted);
            assert_eq!(got, words, "{source}");
            if !place.is_empty() {
                assert_eq!(at, place, "{source}");
            }
        }
        for source in [
            "reading /",
            "reading ++ 2",
            "(reading",
            "unit.full-load > 3",
            "",
            "ünit.amps > \"",
            "stage != in-service",
        ] {
            assert!(Expression::compile(source, &vocabulary(), Kind::Truth).is_err(), "{source}");
        }
    }

    #[test]
    fn places_are_counted_in_bytes() {
        let (at, _) = wrong("stage == \"ä\" || raeding > 2", Kind::Truth);
        assert_eq!(at, "\"ä\"");
        let errors = Expression::compile("stage == \"ä\" || raeding > 2", &vocabulary(), Kind::Truth)
            .expect_err("does not compile");
        assert_eq!(&"stage == \"ä\" || raeding > 2"[errors[1].range.clone()], "raeding");
    }

    #[test]
    fn depth_and_length_are_bounded() {
        let deep = format!("{}reading{}", "(".repeat(500), ")".repeat(500));
        assert!(Expression::compile(&deep, &vocabulary(), Kind::Number).is_err());
        let long = vec!["reading"; 1000].join(" + ");
        assert!(Expression::compile(&long, &vocabulary(), Kind::Number).is_err());
    }

    #[test]
    fn no_function_hides_behind_one_of_the_language() {
        let mut plain = Context::default();
        for function in function::all() {
            assert!(plain.add_function(function.name, |x: f64| x).is_ok(), "{}", function.name);
        }
    }
}
