//! A stage left out of a prior where others are given, unless `when` excludes it.

use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{Cause, Knowledge, STAGES};
use crate::quantity::{Evaluated, Value};

pub(super) fn check(knowledge: &Knowledge, problems: &mut Vec<Diagnostic>) {
    for cause in knowledge.components.iter().flat_map(|component| &component.causes) {
        let prior = &cause.prior;
        let given = [prior.start_up, prior.in_service, prior.after_work];
        let missing: Vec<&str> = STAGES
            .into_iter()
            .zip(given)
            .filter(|(stage, chance)| chance.is_none() && !excluded(cause, stage))
            .map(|(stage, _)| stage)
            .collect();
        if missing.is_empty() {
            continue;
        }
        let listed = missing.iter().map(|stage| format!("`{stage}`")).collect::<Vec<_>>().join(" and ");
        let message = format!("the prior of `{}` leaves out {listed}", cause.id.value);
        let only = format!("when: stage != \"{}\"", missing[0]);
        let problem = Diagnostic::new(Code::MissingStage, prior.span, message)
            .why("a chance that is not written would be a guess")
            .help(format!("add `{}: …`, or exclude the stage: `{only}`", missing[0]));
        problems.push(problem);
    }
}

/// Whether the `when` of a cause is false at a stage, whatever the nameplates say.
fn excluded(cause: &Cause, stage: &str) -> bool {
    let value_of = |name: &str| (name == "stage").then(|| Value::Text(stage.to_owned()));
    cause.when.as_ref().is_some_and(|when| when.evaluate(&value_of) == Evaluated::Known(Value::Truth(false)))
}
