//! Statements: evidence as lines of text.

use std::collections::BTreeMap;

use crate::diagnostic::{Code, Diagnostic, nearest};
use crate::inference::{Evidence, Told};
use crate::model::Model;
use crate::model::index::{CauseIx, FindingIx, FixIx, TestIx};
use crate::source::{FileId, Sources, Span};

/// One statement.
#[derive(Clone, PartialEq, Debug)]
pub enum Statement {
    /// A finding, with a weight per outcome; a plain answer weighs 1 on one of them.
    Finding(FindingIx, Vec<f64>),
    /// The numbers of a reading; they fill every finding of the test.
    Readings(TestIx, Vec<f64>),
    /// A cause was seen to be there, or not.
    Cause(CauseIx, bool),
    /// A fix was done.
    Fix(FixIx),
}

/// Statements as evidence.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Stated {
    /// The evidence, in order.
    pub evidence: Evidence,
    /// What is answered since the last fix: finding, its most weighty outcome.
    pub answered: BTreeMap<FindingIx, usize>,
    /// Findings ever stated abnormal, in the order in which they were.
    pub abnormal: Vec<FindingIx>,
}

/// Reads the statements of these files, in order, one a line; empty lines and those that begin with `#` say nothing.
///
/// # Errors
/// All problems of all lines.
pub fn statements(model: &Model, sources: &Sources, files: &[FileId]) -> Result<Stated, Vec<Diagnostic>> {
    let mut stated = Stated::default();
    let mut first: BTreeMap<FindingIx, Span> = BTreeMap::new();
    let mut problems = vec![];
    for &id in files {
        let Some(file) = sources.get(id) else { continue };
        let mut from = 0;
        for line in file.text().split_inclusive('\n') {
            let text = line.trim();
            let start = from + (line.len() - line.trim_start().len());
            from += line.len();
            if text.is_empty() || text.starts_with('#') {
                continue;
            }
            let span = Span::new(id, start, start + text.len());
            match read(model, text, span) {
                Ok(statement) => add(model, statement, span, &mut stated, &mut first, &mut problems),
                Err(problem) => problems.push(*problem),
            }
        }
    }
    if problems.is_empty() { Ok(stated) } else { Err(problems) }
}

/// Reads one statement.
fn read(model: &Model, text: &str, span: Span) -> Result<Statement, Box<Diagnostic>> {
    if let Some(id) = text.strip_prefix("fix ").map(str::trim) {
        let at = model.ids.fixes.get(id);
        return at.map(|&fix| Statement::Fix(fix)).ok_or_else(|| {
            let place = span.part(text.len() - id.len(), id.len());
            let names = model.ids.fixes.keys().map(String::as_str);
            Diagnostic::new(Code::DanglingReference, place, format!("there is no fix `{id}`"))
                .nearest(id, names)
                .into()
        });
    }
    let Some((id, value)) = text.split_once('=') else {
        return Err(Diagnostic::new(Code::WrongShape, span, "this says nothing")
            .why("a statement is `FINDING=outcome`, `TEST=numbers`, `CAUSE=present` or `fix UNIT/FIX`")
            .into());
    };
    let value_span = span.part(id.len() + 1, value.len());
    let (id, value) = (id.trim(), value.trim());
    let numbers =
        || value.split(',').map(|number| number.trim().parse::<f64>().ok()).collect::<Option<Vec<_>>>();
    let test = model.ids.tests.get(id).copied().filter(|test| model.tests[test.at()].reading.is_some());
    if let Some(&finding) = model.ids.findings.get(id) {
        let outcomes = &model.findings[finding.at()].outcomes;
        let plain = outcomes.iter().position(|outcome| outcome == value);
        return match (plain, test, numbers()) {
            (Some(plain), ..) => {
                let mut weights = vec![0.0; outcomes.len()];
                weights[plain] = 1.0;
                Ok(Statement::Finding(finding, weights))
            }
            (None, Some(test), Some(values)) => readings(model, test, values, value_span),
            _ => weights(outcomes, id, value, value_span).map(|weights| Statement::Finding(finding, weights)),
        };
    }
    if let Some(&cause) = model.ids.causes.get(id) {
        return match value {
            "present" => Ok(Statement::Cause(cause, true)),
            "absent" => Ok(Statement::Cause(cause, false)),
            _ => Err(Diagnostic::new(Code::UnknownWord, value_span, format!("a cause is not `{value}`"))
                .help("say `present` or `absent`")
                .into()),
        };
    }
    if let Some(test) = test {
        let values = numbers().ok_or_else(|| {
            Diagnostic::new(Code::BadNumber, value_span, format!("`{value}` is no list of numbers"))
        })?;
        return readings(model, test, values, value_span);
    }
    let ids = &model.ids;
    let names = ids.findings.keys().chain(ids.causes.keys()).chain(ids.tests.keys()).map(String::as_str);
    let place = span.part(0, id.len());
    let problem = match ids.tests.get(id).map(|test| &model.tests[test.at()]) {
        Some(test) => {
            let mut gives =
                test.gives.iter().map(|gives| format!("`{}`", model.findings[gives.finding.at()].id));
            Diagnostic::new(Code::WrongKind, place, format!("`{id}` is a test without readings"))
                .help(format!("state what it found: {}", gives.by_ref().collect::<Vec<_>>().join(", ")))
        }
        None => Diagnostic::new(
            Code::DanglingReference,
            place,
            format!("there is no finding, cause or test `{id}`"),
        )
        .nearest(id, names),
    };
    Err(problem.into())
}

/// A list of numbers for a reading.
fn readings(model: &Model, test: TestIx, values: Vec<f64>, span: Span) -> Result<Statement, Box<Diagnostic>> {
    let wanted = model.tests[test.at()].reading.as_ref().map_or(0, crate::model::catalog::Reading::count);
    if values.len() != wanted {
        let message = format!("{} where the reading has {wanted}", count(values.len(), "number"));
        return Err(Diagnostic::new(Code::BadNumber, span, message).into());
    }
    if values.iter().any(|value| !value.is_finite()) {
        return Err(Diagnostic::new(Code::BadNumber, span, "a reading is a finite number").into());
    }
    Ok(Statement::Readings(test, values))
}

/// `1 number`, `3 numbers`.
fn count(number: usize, noun: &str) -> String {
    format!("{number} {noun}{}", if number == 1 { "" } else { "s" })
}

/// `a:0.7,b:0.3`; an outcome that is not named weighs 0.
fn weights(outcomes: &[String], id: &str, value: &str, span: Span) -> Result<Vec<f64>, Box<Diagnostic>> {
    let mut weights = vec![None; outcomes.len()];
    for part in value.split(',') {
        let (name, number) =
            part.rsplit_once(':').map_or((part.trim(), None), |(n, w)| (n.trim(), Some(w.trim())));
        let Some(at) = outcomes.iter().position(|outcome| outcome == name) else {
            let mut problem =
                Diagnostic::new(Code::UnknownOutcome, span, format!("`{id}` has no outcome `{name}`"));
            problem.suggestions = nearest(name, outcomes.iter().map(String::as_str));
            return Err(problem.help(format!("its outcomes: {}", outcomes.join(", "))).into());
        };
        let Some(number) = number else {
            return Err(Diagnostic::new(Code::WrongShape, span, format!("`{name}` stands without a weight"))
                .help("say one outcome, or `outcome:weight` for each of several")
                .into());
        };
        let weight =
            number.parse::<f64>().ok().filter(|weight| (0.0..=1.0).contains(weight)).ok_or_else(|| {
                Diagnostic::new(Code::NotAChance, span, format!("the weight `{number}` is no number in 0..1"))
            })?;
        if weights[at].replace(weight).is_some() {
            return Err(
                Diagnostic::new(Code::DuplicateKey, span, format!("`{name}` is weighed twice")).into()
            );
        }
    }
    Ok(weights.into_iter().map(|weight| weight.unwrap_or(0.0)).collect())
}

/// Adds a statement to the evidence; a finding that is stated twice in an epoch is a problem.
fn add(
    model: &Model,
    statement: Statement,
    span: Span,
    stated: &mut Stated,
    first: &mut BTreeMap<FindingIx, Span>,
    problems: &mut Vec<Diagnostic>,
) {
    let mut found = |finding: FindingIx, weights: Vec<f64>| {
        if let Some(before) = first.insert(finding, span) {
            let id = &model.findings[finding.at()].id;
            let problem = Diagnostic::new(Code::StatedTwice, span, format!("`{id}` is stated twice"));
            problems.push(problem.also_at(before, "first stated here"));
            return;
        }
        let best = super::super::readings::heaviest(&weights);
        stated.answered.insert(finding, best);
        if best > 0 && !stated.abnormal.contains(&finding) {
            stated.abnormal.push(finding);
        }
        stated.evidence.told.push(Told::Finding { among: vec![finding], weights });
    };
    match statement {
        Statement::Finding(finding, weights) => found(finding, weights),
        Statement::Readings(test, values) => {
            match super::super::readings::measured(model, test, &values, true) {
                Ok(all) => all.into_iter().for_each(|(finding, _, weights)| found(finding, weights)),
                Err(error) => problems.push(Diagnostic::new(Code::BadNumber, span, error.to_string())),
            }
        }
        Statement::Cause(cause, present) => {
            stated.evidence.seen(cause, present);
        }
        Statement::Fix(fix) => {
            stated.evidence.fixed(fix);
            stated.answered.clear();
            first.clear();
        }
    }
}
