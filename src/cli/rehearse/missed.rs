//! A random call that missed its goal, step by step, for whoever wants to know why.

use crate::model::Model;
use crate::planner::Step;
use crate::rehearsal::{Ending, Played, Told};
use crate::render::Page;

/// The steps of a call with what the person said, and what became of the hidden causes.
pub(super) fn shown(page: &mut Page, model: &Model, played: &Played) {
    let shows = |shown: &[(crate::model::index::FindingIx, usize)]| {
        let each = shown.iter().map(|&(finding, outcome)| {
            let form = &model.findings[finding.at()];
            format!("{}={}", form.id, form.outcomes[outcome])
        });
        each.collect::<Vec<_>>().join(" ")
    };
    let hidden = played.fates.iter().map(|fate| &*model.causes[fate.cause.at()].id);
    page.line(&format!("Missed {}: {}", hidden.collect::<Vec<_>>().join(", "), shows(&played.opening)));
    for step in &played.moves {
        let act = match &step.step {
            Step::Test(test) => match &step.told {
                Some(Told::Shows(shown)) => format!("{} -> {}", model.tests[test.at()].id, shows(shown)),
                Some(Told::NotSo(finding, outcome)) => {
                    format!("{} -> not so: {}", model.tests[test.at()].id, shows(&[(*finding, *outcome)]))
                }
                _ => format!("{} -> cannot tell", model.tests[test.at()].id),
            },
            Step::Fix(fix) => format!("fix {}", model.fixes[fix.at()].id),
            Step::Enter(state) => format!("enter {}", model.practice.work_states[state.at()].id),
            Step::Return(state) => format!("back from {}", model.practice.work_states[state.at()].id),
            Step::Prove => "prove".to_owned(),
            Step::PutBack => "put back".to_owned(),
            Step::ConfirmWorkState => "confirm the work state".to_owned(),
            Step::Done => "done".to_owned(),
            Step::HandOver(sent) => format!("hand over to {}", competence(model, sent.competence)),
        };
        page.under(&format!("{:>4.0} min  {act}", step.minutes));
    }
    let ending = match played.ending {
        Ending::Proven => "proven".to_owned(),
        Ending::HandedOver(to) => format!("handed over to {}", competence(model, to)),
        Ending::Endless => "without an end".to_owned(),
    };
    let first = played
        .first
        .iter()
        .map(|&(cause, chance)| format!("{} {:.1} %", model.causes[cause.at()].id, 100.0 * chance));
    page.under(&format!("{ending}; ranked {}", first.collect::<Vec<_>>().join(", ")));
}

fn competence(model: &Model, to: Option<crate::model::index::CompetenceIx>) -> &str {
    to.map_or("unlisted", |to| &model.practice.competences[to.at()].id)
}
