//! `when` and `value` expressions: checked against the names that their component knows.

use super::Knowledge;
use super::component::{Component, Item};
use crate::diagnostic::{Code, Diagnostic};
use crate::quantity::expression::{ExpressionError, Problem};
use crate::quantity::{Expression, Kind};
use crate::source::{Sources, Span, Spanned};

/// Checks the expressions of each component and puts them where they belong.
///
/// Cost: some ten microseconds each.
pub(super) fn check(
    knowledge: &mut Knowledge,
    expressions: Vec<Vec<(Item, Spanned<String>)>>,
    incomplete: bool,
    problems: &mut Vec<Diagnostic>,
) {
    for (at, expressions) in expressions.into_iter().enumerate() {
        if expressions.is_empty() {
            continue;
        }
        let component = &knowledge.components[at];
        let (when, value) =
            (component.words_of_when(&knowledge.components), component.words_of_value(&knowledge.components));
        let mut checked = Vec::with_capacity(expressions.len());
        for (item, source) in expressions {
            let (words, kind) = match item {
                Item::Given(..) => (&value, Kind::Number),
                _ => (&when, Kind::Truth),
            };
            match Expression::compile(&source.value, words, kind) {
                Ok(expression) => checked.push((item, Some(source.map(|_| expression)))),
                Err(errors) => {
                    for error in errors {
                        // A name may be on the nameplate of what could not be read.
                        if !(incomplete && matches!(error.problem, Problem::UnknownName { .. })) {
                            problems.push(explain(&source, &error, &knowledge.sources));
                        }
                    }
                    checked.push((item, None));
                }
            }
        }
        let component = &mut knowledge.components[at];
        for (item, expression) in checked {
            put(component, item, expression);
        }
    }
}

fn put(component: &mut Component, item: Item, expression: Option<Spanned<Expression>>) {
    match item {
        Item::Cause(at) => {
            let cause = &mut component.causes[at];
            if expression.is_none() {
                // Which stages it excludes is not known: none is missing.
                let stages =
                    [&mut cause.prior.start_up, &mut cause.prior.in_service, &mut cause.prior.after_work];
                stages.into_iter().for_each(|stage| *stage = stage.or(Some(0.0)));
            }
            cause.when = expression;
        }
        Item::Condition(at) => component.conditions[at].when = expression,
        Item::Given(test, at) => {
            if let Some(scale) =
                component.tests[test].gives.get_mut(at).and_then(|gives| gives.scale.as_mut())
            {
                scale.value = expression;
            }
        }
        Item::Symptom(_) | Item::Fix(_) => {}
    }
}

/// Where a part of an expression stands in the file: exact where it is written as it is, else the whole of it.
fn place(source: &Spanned<String>, range: &std::ops::Range<usize>, sources: &Sources) -> Span {
    let written = sources.text(source.span);
    let inner = written.get(1..written.len().saturating_sub(1)).unwrap_or_default();
    let offset = if written == source.value {
        0
    } else if inner == source.value {
        1
    } else {
        return source.span;
    };
    source.span.part(offset + range.start, range.len())
}

fn explain(source: &Spanned<String>, error: &ExpressionError, sources: &Sources) -> Diagnostic {
    let mut problem =
        Diagnostic::new(Code::BadExpression, place(source, &error.range, sources), error.problem.to_string());
    if let Some((written, valid)) = error.problem.choice() {
        let mut all: Vec<&str> = valid.iter().map(String::as_str).collect();
        all.sort_unstable();
        problem = problem.nearest(written, all.iter().copied());
        if problem.suggestions.is_empty() && !all.is_empty() && all.len() <= 30 {
            let all = all.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ");
            problem = problem.why(format!("known here are {all}"));
        }
    }
    problem
}
