//! Texts, minutes and sources that are missing.
//!
//! What is written with an error in it may be missing for that error alone, so it is left out here.

use super::grouped::Grouped;
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{Component, Knowledge, Name, Terms, Text};
use crate::source::Span;

pub(super) fn check(knowledge: &Knowledge, errors: &[Span], problems: &mut Vec<Diagnostic>) {
    for component in &knowledge.components {
        let mut found = Vec::new();
        let spoilt = spoilt(component, errors);
        texts(component, &spoilt, &mut found);
        minutes(component, &spoilt, &mut found);
        sources(component, &spoilt, &mut found);
        problems.append(&mut found);
    }
}

/// The ids of a component in whose declarations an error stands: from one id to the next in the file.
fn spoilt(component: &Component, errors: &[Span]) -> Vec<Span> {
    let ids = component.causes.iter().map(|cause| &cause.id);
    let ids = ids.chain(component.conditions.iter().map(|condition| &condition.id));
    let ids = ids.chain(component.symptoms.iter().map(|symptom| &symptom.finding.id));
    let ids = ids.chain(component.tests.iter().map(|test| &test.id));
    let mut ids: Vec<Span> = ids.chain(component.fixes.iter().map(|fix| &fix.id)).map(|id| id.span).collect();
    ids.sort_unstable();
    let owner = |error: &Span| ids.iter().rev().find(|id| id.file == error.file && id.start <= error.start);
    errors.iter().filter_map(owner).copied().collect()
}

/// Whether a text was never written: then it is the id, and stands where the id stands.
fn unwritten(text: &Text, id: &Name) -> bool {
    text.span == id.span
}

fn texts(component: &Component, spoilt: &[Span], problems: &mut Vec<Diagnostic>) {
    let mut names = Grouped::without(spoilt);
    for cause in component.causes.iter().filter(|cause| unwritten(&cause.name, &cause.id)) {
        names.add(&cause.id);
    }
    for condition in component.conditions.iter().filter(|condition| unwritten(&condition.name, &condition.id))
    {
        names.add(&condition.id);
    }
    names.report(
        Code::MissingText,
        |names| format!("{names}: no `name`"),
        problems,
        |problem| problem.why("people read the name, not the id").help("add `name: \"…\"`"),
    );
    let mut acts = Grouped::without(spoilt);
    for symptom in component.symptoms.iter().filter(|symptom| unwritten(&symptom.say, &symptom.finding.id)) {
        acts.add(&symptom.finding.id);
    }
    for test in component.tests.iter().filter(|test| unwritten(&test.say, &test.id)) {
        acts.add(&test.id);
    }
    for fix in component.fixes.iter().filter(|fix| fix.steps.is_empty()) {
        acts.add(&fix.id);
    }
    acts.report(
        Code::MissingText,
        |names| format!("{names}: not said in words"),
        problems,
        |problem| {
            problem
                .why("nobody can be asked or told an id")
                .help("a symptom has `say`, a test `ask`, `read`, `look` or `do`, a fix `do`")
        },
    );
}

fn minutes(component: &Component, spoilt: &[Span], problems: &mut Vec<Diagnostic>) {
    let mut without = Grouped::without(spoilt);
    let open = |terms: &Terms| terms.minutes.is_none();
    for test in component.tests.iter().filter(|test| open(&test.terms)) {
        without.add(&test.id);
    }
    for fix in component.fixes.iter().filter(|fix| open(&fix.terms)) {
        without.add(&fix.id);
    }
    without.report(
        Code::MissingMinutes,
        |names| format!("{names}: no `minutes`"),
        problems,
        |problem| {
            problem.why("a plan weighs minutes: without them it cannot use the step").help("add `minutes: 5`")
        },
    );
}

fn sources(component: &Component, spoilt: &[Span], problems: &mut Vec<Diagnostic>) {
    let mut without = Grouped::without(spoilt);
    for cause in component.causes.iter().filter(|cause| cause.sources.is_empty()) {
        without.add(&cause.id);
    }
    for test in component.tests.iter().filter(|test| test.sources.is_empty()) {
        without.add(&test.id);
    }
    for fix in component.fixes.iter().filter(|fix| fix.sources.is_empty()) {
        without.add(&fix.id);
    }
    without.report(
        Code::MissingSource,
        |names| format!("{names}: no `sources`"),
        problems,
        |problem| {
            problem
                .why("whoever checks the package wants to know where a number or a rule comes from")
                .help("name a key of `sources`, or `common practice`, or `judgement`")
        },
    );
}
