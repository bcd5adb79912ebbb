//! The check of an expression when it is read: names, functions, kinds of value; and what of CEL is let in.

use std::ops::Range;

use cel::common::ast::{
    CallExpr, ComprehensionExpr, Expr, IdedExpr, LiteralValue, SourceInfo, operators as op,
};
use cel::common::types::CelDouble;

use super::problem::{ExpressionError, Problem};
use super::vocabulary::{Kind, Vocabulary};
use crate::quantity::function;

/// Checks a tree in which all numbers are doubles: the names that it uses, or what is wrong with it.
pub(super) fn check(
    source: &str,
    tree: &IdedExpr,
    info: &SourceInfo,
    vocabulary: &Vocabulary,
    wanted: Kind,
) -> Result<Vec<String>, Vec<ExpressionError>> {
    let mut check =
        Check { source, info, vocabulary, bound: Vec::new(), names: Vec::new(), errors: Vec::new() };
    let kind = check.kind(tree);
    if let Some(got) = kind.filter(|&got| got != wanted) {
        let problem =
            Problem::WrongKind { what: "the expression".to_owned(), wanted: wanted.to_string(), got };
        check.errors.push(ExpressionError { range: 0..source.len(), problem });
    }
    let Check { mut names, errors, .. } = check;
    names.sort_unstable();
    names.dedup();
    if errors.is_empty() { Ok(names) } else { Err(errors) }
}

/// Turns integer literals into doubles, except as the index of a list.
pub(super) fn numbers_to_doubles(tree: &mut IdedExpr) -> Option<Problem> {
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
        let Some(function) = function::named(name).filter(|function| function.is_number()) else {
            if name.starts_with(|c: char| !c.is_ascii_alphabetic()) {
                return self.error(part, Problem::Unsupported(format!("`{}`", name.replace('_', ""))));
            }
            let valid = function::all().filter(|f| f.is_number()).map(|f| f.name.to_owned()).collect();
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
                function.parameters.iter().map(|p| p.name).collect::<Vec<_>>().join(", ")
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
