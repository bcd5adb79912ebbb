//! `when` and `value` expressions: checked against the names that their component knows.

use super::component::{Component, Item};
use super::decode::difference;
use super::resolve::{Pending, StepExpressions};
use super::{Accuracy, Knowledge, STAGES};
use crate::diagnostic::{Code, Diagnostic};
use crate::quantity::expression::{Dimension, ExpressionError, Mixed, Problem};
use crate::quantity::{Expression, Kind, Measure, Vocabulary};
use crate::source::{Sources, Span, Spanned};

/// Checks the expressions of each component and puts them where they belong.
///
/// Cost: some ten microseconds each.
pub(super) fn check(
    knowledge: &mut Knowledge,
    pending: Vec<Pending>,
    incomplete: bool,
    problems: &mut Vec<Diagnostic>,
) {
    for (at, Pending { expressions, accuracies }) in pending.into_iter().enumerate() {
        if expressions.is_empty() {
            continue;
        }
        let component = &knowledge.components[at];
        let when = component.words_of_when(&knowledge.components);
        let mut checked = Vec::with_capacity(expressions.len());
        let mut converted = Vec::new();
        for (item, source) in expressions {
            let component = &knowledge.components[at];
            let value;
            let (words, kind) = match item {
                Item::Given(test, _) => {
                    let readings = component.tests.get(test).map_or(&[][..], |test| &test.readings);
                    value = component.words_of_value(&knowledge.components, readings);
                    (&value, Kind::Number)
                }
                _ => (&when, Kind::Truth),
            };
            match Expression::compile(&source.value, words, kind) {
                Ok(expression) => {
                    let accuracy = accuracies.iter().find(|(of, _)| *of == item).map(|(_, unit)| unit);
                    let in_unit =
                        dimensions(knowledge, at, item, &expression, source.span, accuracy, problems);
                    converted.extend(in_unit.map(|accuracy| (item, accuracy)));
                    checked.push((item, Some(source.map(|_| expression))));
                }
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
        for (item, accuracy) in converted {
            let Item::Given(test, given) = item else { continue };
            let scale = component.tests[test].gives.get_mut(given).and_then(|gives| gives.scale.as_mut());
            scale.into_iter().for_each(|scale| scale.accuracy = Accuracy::Absolute(accuracy));
        }
    }
}

/// Checks the expressions of the steps of procedures and puts them where they belong.
pub(super) fn check_steps(
    knowledge: &mut Knowledge,
    pending: Vec<StepExpressions>,
    incomplete: bool,
    problems: &mut Vec<Diagnostic>,
) {
    for (at, StepExpressions { when, value }) in pending.into_iter().enumerate() {
        let component = knowledge.procedure.steps[at].of.map(|of| &knowledge.components[of]);
        let words = |of_value: bool| match (component, of_value) {
            (Some(component), true) => component.words_of_value(&knowledge.components, &[]),
            (Some(component), false) => component.words_of_when(&knowledge.components),
            (None, _) => {
                let mut words = Vocabulary::new();
                words.add_choice("stage", STAGES.map(str::to_owned));
                if of_value {
                    words.add("reading", Kind::Number);
                    words.add("readings", Kind::Numbers);
                }
                words
            }
        };
        let mut checked = |source: Option<Spanned<String>>, kind: Kind, of_value: bool| {
            let source = source?;
            match Expression::compile(&source.value, &words(of_value), kind) {
                Ok(expression) => Some(source.map(|_| expression)),
                Err(errors) => {
                    for error in errors {
                        if !(incomplete && matches!(error.problem, Problem::UnknownName { .. })) {
                            problems.push(explain(&source, &error, &knowledge.sources));
                        }
                    }
                    None
                }
            }
        };
        let (when, value) = (checked(when, Kind::Truth, false), checked(value, Kind::Number, true));
        let step = &mut knowledge.procedure.steps[at];
        step.when = when;
        if let Some(reading) = &mut step.reading {
            reading.value = value;
        }
    }
}

/// Looks at the units of measure in an expression; an accuracy that is written in a unit comes out in that of the value.
fn dimensions(
    knowledge: &Knowledge,
    at: usize,
    item: Item,
    expression: &Expression,
    span: Span,
    accuracy: Option<&Spanned<Measure>>,
    problems: &mut Vec<Diagnostic>,
) -> Option<f64> {
    let component = &knowledge.components[at];
    let measure_of = |name: &str| {
        let test = if let Item::Given(test, _) = item { component.tests.get(test) } else { None };
        match name.split_once('.') {
            None => {
                let called = |reading: &&super::Reading| {
                    reading.id.as_ref().map_or(matches!(name, "reading" | "readings"), |id| id.value == name)
                };
                Measure::named(&test?.readings.iter().find(called)?.measured_in.value)
            }
            Some(("unit", key)) => measure_on(component, key),
            Some((relation, key)) => {
                let relation = component.relations.iter().find(|other| other.id.value == relation)?;
                relation.components.iter().find_map(|&to| measure_on(&knowledge.components[to], key))
            }
        }
    };
    let result = match expression.dimension(&measure_of) {
        Ok(result) => result,
        Err(mixed) => {
            let Mixed { act, left, right } = *mixed;
            let message = format!("a number in {left} and one in {right} are {act}");
            let why = if left.quantity == right.quantity {
                format!("both measure {}, and nothing brings them to one unit", left.quantity)
            } else {
                format!("{left} measures {}, {right} measures {}", left.quantity, right.quantity)
            };
            let problem = Diagnostic::new(Code::WrongDimension, span, message)
                .why(why)
                .help("use values in the same unit of measure");
            problems.push(problem);
            return None;
        }
    };
    let accuracy = accuracy?;
    let Item::Given(test, given) = item else { return None };
    let scale = component.given(test, given)?.scale.as_ref()?;
    let Accuracy::Absolute(number) = scale.accuracy else { return None };
    let message = match result {
        Dimension::Unknown => return None,
        Dimension::In(measure) => match difference(number, accuracy.value, measure) {
            Some(number) => return Some(number),
            None => format!("an accuracy in {}, of a value in {measure}", accuracy.value),
        },
        Dimension::Plain => format!("an accuracy in {}, of a value without unit", accuracy.value),
    };
    let problem = Diagnostic::new(Code::WrongDimension, accuracy.span, message)
        .also_at(span, "the value")
        .help("write it as the value is, or as a share: `2 %`");
    problems.push(problem);
    None
}

fn measure_on(component: &Component, key: &str) -> Option<Measure> {
    let key = component.nameplate.iter().find(|other| other.id.value == key)?;
    Measure::named(key.measured_in.as_ref()?)
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

/// The words of the language's parser in ours.
fn not_an_expression(source: &Spanned<String>, span: Span, words: &str) -> Diagnostic {
    let missing = [("missing ')'", "`)`"), ("missing ']'", "`]`")];
    let missing = missing.into_iter().find(|(sign, _)| words.contains(sign));
    let message = match missing {
        Some((_, sign)) => format!("the expression lacks a {sign}"),
        None if words.contains("<EOF>") => "the expression breaks off".to_owned(),
        None => "this cannot be read as an expression".to_owned(),
    };
    let problem = Diagnostic::new(Code::BadExpression, span, message).label("reading stopped here");
    match STAGES.into_iter().find(|stage| source.value.contains(stage)) {
        Some(stage) => problem.help(format!("texts stand in quotes: `\"{stage}\"`")),
        None => problem.help("write it as in `stage != \"in-service\"` or `reading / unit.volts`"),
    }
}

fn explain(source: &Spanned<String>, error: &ExpressionError, sources: &Sources) -> Diagnostic {
    let span = place(source, &error.range, sources);
    if let Problem::Syntax(words) = &error.problem {
        return not_an_expression(source, span, words);
    }
    let mut problem = Diagnostic::new(Code::BadExpression, span, error.problem.to_string());
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
