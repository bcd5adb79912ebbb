//! Expressions of a package: `when: stage != "in-service"`, `value: reading / unit.amps`.
//!
//! The language is [CEL](https://cel.dev), parsed and evaluated by its crate, of which nothing is seen outside this
//! folder. It is narrowed so that an author is never bitten by it: all numbers are doubles (CEL itself refuses
//! `reading / 2`, a double by an integer), every name and every kind of value is checked when the package is read, and
//! what is known not to fit is refused with its place in the text and the nearest valid name.
//!
//! Evaluation is three-valued: where a name has no value yet, an expression is still true or false if the known part
//! decides it (`false && unknown` is false, after Kleene), else it is unknown, and says which names are missing.

mod check;
mod dimension;
mod problem;
#[cfg(test)]
mod tests;
mod vocabulary;

use std::sync::{Arc, LazyLock};

use cel::common::ast::IdedExpr;
use cel::common::types::{CelDouble, CelString};
use cel::extractors::Arguments;
use cel::parser::Parser;
use cel::{Context, ExecutionError};

pub use dimension::{Dimension, Mixed};
pub use problem::{ExpressionError, Problem};
pub use vocabulary::{Kind, Value, Vocabulary};

use super::function;
use check::{check, numbers_to_doubles};
use problem::LONGEST;

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
        let names = check(source, &tree, &info, vocabulary, wanted)?;
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
    for function in function::all().filter(|function| function.is_number()) {
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
