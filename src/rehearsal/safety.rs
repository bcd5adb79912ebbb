//! Whether a step may be offered at all: the invariants of safety, looked at from outside the planner.
//!
//! In: a step, the person, the work state and what has been answered. Out: what is wrong with offering it. On a sound
//! planner it is always nothing.

use std::collections::BTreeMap;

use crate::model::Model;
use crate::model::index::{FindingIx, WorkStateIx};
use crate::model::practice::{Person, Terms};
use crate::planner::Step;

/// What is wrong with a step.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Breach {
    /// It is beyond the competence or the instruments of the person.
    Beyond,
    /// It is offered in another work state than its own.
    WorkState,
    /// It closes a protective device again before its needs were answered so.
    Recloses,
}

impl Breach {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Beyond => "a step beyond the person present",
            Self::WorkState => "a step in another work state than its own",
            Self::Recloses => "a protective device closed again before the circuit was found safe",
        }
    }
}

/// What is wrong with offering `step` now.
#[must_use]
pub fn breaches(
    model: &Model,
    person: &Person,
    state: Option<WorkStateIx>,
    answered: &BTreeMap<FindingIx, usize>,
    step: &Step,
) -> Vec<Breach> {
    let practice = &model.practice;
    let (terms, needs): (&Terms, &[(FindingIx, usize)]) = match step {
        Step::Test(test) => (&model.tests[test.at()].terms, &model.tests[test.at()].needs),
        Step::Fix(fix) => (&model.fixes[fix.at()].terms, &model.fixes[fix.at()].needs),
        Step::Enter(at) => (&practice.work_states[at.at()].enter, &[]),
        Step::Return(at) => (&practice.work_states[at.at()].back, &[]),
        _ => return Vec::new(),
    };
    let mut found = Vec::new();
    if !practice.allows(person, terms) {
        found.push(Breach::Beyond);
    }
    let changes = matches!(step, Step::Enter(_) | Step::Return(_));
    if !changes && terms.work_state.is_some_and(|wanted| state != Some(wanted)) {
        found.push(Breach::WorkState);
    }
    let so = |(finding, _): &(FindingIx, usize)| {
        answered.get(finding).is_some_and(|outcome| needs.contains(&(*finding, *outcome)))
    };
    if terms.recloses && !needs.iter().all(so) {
        found.push(Breach::Recloses);
    }
    found
}
