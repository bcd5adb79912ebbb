//! The ids of a scenario against the model that its opening words lead to.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::Scenario;
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::Knowledge;
use crate::model::Model;
use crate::session::Prompt;
use crate::source::Spanned;

/// Reports every id that the model does not have, and opening words that name no symptom.
pub(super) fn check(knowledge: &Arc<Knowledge>, scenario: &Scenario, problems: &mut Vec<Diagnostic>) {
    let dialogue = match scenario.opened(knowledge) {
        Ok(dialogue) => dialogue,
        Err(refused) => {
            problems.push(Diagnostic::nowhere(Code::WrongKind, format!("the call cannot begin: {refused}")));
            return;
        }
    };
    let session = dialogue.session();
    let model = session.model();
    if let Some(line) = scenario.says.first()
        && session.complaints().is_empty()
        && !dialogue.asks()
        && !matches!(dialogue.view().prompt, Prompt::Emergency(_))
    {
        let problem = Diagnostic::new(Code::UnknownWord, line.span, "these opening words name no symptom");
        problems.push(
            problem
                .why("the session did not understand a complaint in them")
                .help("say it as a caller would, with the name of the unit"),
        );
    }
    let mut named = Named { problems };
    for cause in scenario.hidden.iter().chain(&scenario.reach.found) {
        named.one(cause, "cause", &model.ids.causes);
    }
    for (finding, outcome) in &scenario.shows {
        if named.one(finding, "finding", &model.ids.findings) {
            named.outcome(model, &finding.value, outcome);
        }
    }
    for (test, _) in &scenario.reads {
        named.one(test, "test", &model.ids.tests);
    }
    for fix in &scenario.cured_by {
        named.one(fix, "fix", &model.ids.fixes);
    }
    let mut steps: BTreeMap<String, ()> = BTreeMap::new();
    steps.extend(model.ids.tests.keys().chain(model.ids.fixes.keys()).map(|id| (id.clone(), ())));
    for step in &scenario.cannot {
        named.one(step, "test or fix", &steps);
    }
    steps.extend(model.practice.work_states.iter().map(|state| (state.id.clone(), ())));
    for step in &scenario.reach.never {
        named.one(step, "test, fix or work state", &steps);
    }
    if let Some(competence) = &scenario.reach.hand_over {
        let mut known: BTreeMap<String, ()> =
            model.practice.competences.iter().map(|form| (form.id.clone(), ())).collect();
        known.insert("unlisted".to_owned(), ());
        named.one(competence, "competence", &known);
    }
    let plates = model
        .units
        .iter()
        .flat_map(|unit| unit.nameplate.iter().map(move |plate| (format!("{}/{}", unit.id, plate.id), ())));
    let plates: BTreeMap<String, ()> = plates.collect();
    for (plate, _) in &scenario.nameplate {
        named.one(plate, "nameplate value", &plates);
    }
}

struct Named<'a> {
    problems: &'a mut Vec<Diagnostic>,
}

impl Named<'_> {
    fn one<T>(&mut self, id: &Spanned<String>, what: &str, known: &BTreeMap<String, T>) -> bool {
        let there = known.contains_key(&id.value);
        if !there {
            let words = format!("there is no {what} `{}` on this site", id.value);
            let problem = Diagnostic::new(Code::DanglingReference, id.span, words)
                .nearest(&id.value, known.keys().map(String::as_str));
            self.problems.push(problem);
        }
        there
    }

    fn outcome(&mut self, model: &Model, finding: &str, outcome: &Spanned<String>) {
        let Some(&at) = model.ids.findings.get(finding) else { return };
        let known = &model.findings[at.at()].outcomes;
        if !known.contains(&outcome.value) {
            let all: Vec<String> = known.iter().map(|name| format!("`{name}`")).collect();
            let words = format!("`{finding}` has no outcome `{}`", outcome.value);
            let problem = Diagnostic::new(Code::UnknownOutcome, outcome.span, words)
                .why(format!("known: {}", all.join(", ")))
                .nearest(&outcome.value, known.iter().map(String::as_str));
            self.problems.push(problem);
        }
    }
}
