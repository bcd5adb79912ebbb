//! The first power-up: which steps of the procedure are confirmed, which have to be asked again, which stopped.
//!
//! In: all events, those taken back included, because nothing that is unsaid changes the equipment. Out: `PowerUp`, a
//! plain fold. Invariant: no step is next before each of its gates, and theirs, is confirmed.

pub mod baseline;
mod flow;
pub mod record;
mod standing;

use std::collections::BTreeSet;

use super::event::{Event, EventNo, What};
use super::log::Entry;
use super::work::Work;
use crate::model::Model;
use crate::model::index::FindingIx;
use crate::model::procedure::Procedure;

/// How a step stands.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(crate) enum StepState {
    /// Not taken yet.
    #[default]
    Open,
    /// Confirmed.
    Confirmed,
    /// It was confirmed, and may have changed since.
    Unknown,
    /// It stopped, and its cause is looked for; the event that said so.
    Failed(EventNo),
}

/// A power-up under way.
#[derive(Clone, PartialEq, Debug, Default)]
pub(crate) struct PowerUp {
    pub(crate) states: Vec<StepState>,
    /// The event by which each was last confirmed.
    since: Vec<EventNo>,
    /// Real states that need not hold any more.
    pub(crate) spent: Vec<bool>,
    /// Steps that those present cannot take.
    pub(crate) aside: BTreeSet<usize>,
    /// Findings that a stopping outcome has shown: complaints, whether symptoms or not.
    pub(crate) raised: Vec<FindingIx>,
}

impl PowerUp {
    /// The power-up after `log`; `None` where the session is none.
    pub(crate) fn new(model: &Model, log: &[Event], entries: &[Entry]) -> Option<Self> {
        log.iter().any(|event| event.what == What::PowerUpBegan).then_some(())?;
        let steps = model.procedure.steps.len();
        let mut power_up = Self {
            states: vec![StepState::Open; steps],
            since: vec![0; steps],
            spent: vec![false; steps],
            ..Self::default()
        };
        let mut work = Work::default();
        for (no, event) in log.iter().enumerate() {
            let stands = entries.binary_search_by_key(&no, |entry| entry.no).is_ok();
            work = work.after(&event.what, &model.practice);
            power_up.after(model, no, &event.what, stands, work);
        }
        Some(power_up)
    }

    /// Whether a step has, or may have, brought voltage that is not switched off since.
    pub(crate) fn live(&self, procedure: &Procedure, at: usize) -> bool {
        let step = &procedure.steps[at];
        step.energises && step.holds && !self.spent[at] && self.states[at] != StepState::Open
    }

    /// Whether a step need not be asked now.
    pub(crate) fn satisfied(&self, at: usize) -> bool {
        self.spent[at] || self.states[at] == StepState::Confirmed
    }

    /// Whether each gate of a step, and each of theirs, is confirmed.
    pub(crate) fn free(&self, procedure: &Procedure, at: usize) -> bool {
        ancestors(procedure, at).into_iter().all(|gate| self.satisfied(gate))
    }

    /// The steps that can be taken now, in their order.
    pub(crate) fn next<'a>(&'a self, procedure: &'a Procedure) -> impl Iterator<Item = usize> + 'a {
        (0..self.states.len())
            .filter(|&at| !self.satisfied(at) && !self.aside.contains(&at) && self.free(procedure, at))
    }

    /// The first step that stopped and waits for its cause.
    pub(crate) fn failed(&self) -> Option<(usize, EventNo)> {
        self.states.iter().enumerate().find_map(|(at, state)| match state {
            StepState::Failed(no) => Some((at, *no)),
            _ => None,
        })
    }

    /// Steps that are still to be confirmed.
    pub(crate) fn left(&self) -> Vec<usize> {
        (0..self.states.len()).filter(|&at| !self.satisfied(at)).collect()
    }
}

/// The gates of a step and theirs.
fn ancestors(procedure: &Procedure, at: usize) -> BTreeSet<usize> {
    let mut found = BTreeSet::new();
    let mut open = vec![at];
    while let Some(step) = open.pop() {
        open.extend(procedure.steps[step].gates.iter().copied().filter(|&gate| found.insert(gate)));
    }
    found
}

/// The entries as evidence: what steps have shown stands beside what was told.
pub(crate) fn evidence(model: &Model, entries: &[Entry]) -> Vec<Entry> {
    let mut abnormal: BTreeSet<FindingIx> = BTreeSet::new();
    let mut told = Vec::with_capacity(entries.len());
    for entry in entries {
        let What::StepTaken { step, outcome, .. } = &entry.what else {
            told.push(entry.clone());
            continue;
        };
        let Some(form) = model.procedure.steps.iter().find(|form| form.id == *step) else { continue };
        let Some(shown) = form.outcomes.iter().position(|known| known == outcome) else { continue };
        for &(finding, outcome) in &form.raises[shown] {
            let proves = outcome == 0 && abnormal.contains(&finding);
            if outcome != 0 {
                abnormal.insert(finding);
            }
            let outcome = model.findings[finding.at()].outcomes[outcome].clone();
            let finding = model.findings[finding.at()].id.clone();
            let what = if proves {
                What::Proved { finding, outcome, minutes: 0.0, words: String::new() }
            } else {
                What::Volunteered { finding, outcome, sure: true, words: String::new() }
            };
            told.push(Entry { what, ..entry.clone() });
        }
    }
    told
}
