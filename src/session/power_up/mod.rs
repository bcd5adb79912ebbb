//! The first power-up: which steps of the procedure are confirmed, which have to be asked again, which stopped.
//!
//! In: all events, those taken back included, because nothing that is unsaid changes the equipment. Out: `PowerUp`, a
//! plain fold. Invariants: a step counts as confirmed only by an event that stands; a real state that has to hold is
//! unknown after an undo, a changed answer, a change of person, a resumption, a fix or an act on the work state, until it
//! is confirmed again; an energising step that turns out to be off opens everything from its lockout on; no step is next
//! before each of its gates, and theirs, is confirmed.

pub mod baseline;
mod flow;
pub mod record;

use std::collections::BTreeSet;

use super::event::{Event, EventNo, What, WireFound};
use super::log::Entry;
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
        let procedure = &model.procedure;
        let steps = procedure.steps.len();
        let mut power_up =
            Self { states: vec![StepState::Open; steps], spent: vec![false; steps], ..Self::default() };
        for (no, event) in log.iter().enumerate() {
            let stands = entries.binary_search_by_key(&no, |entry| entry.no).is_ok();
            power_up.after(procedure, no, &event.what, stands);
        }
        Some(power_up)
    }

    fn after(&mut self, procedure: &Procedure, no: EventNo, what: &What, stands: bool) {
        let position = |id: &str| procedure.steps.iter().position(|step| step.id == id);
        match what {
            What::StepTaken { step, outcome, .. } => {
                let Some(at) = position(step) else { return };
                self.aside.remove(&at);
                let form = &procedure.steps[at];
                if !stands {
                    let real = form.holds || form.energises;
                    self.states[at] = if real { StepState::Unknown } else { StepState::Open };
                    return;
                }
                match form.outcomes.iter().position(|known| known == outcome) {
                    Some(0) => self.states[at] = StepState::Confirmed,
                    Some(stopped) => {
                        let raised = &form.raises[stopped];
                        self.states[at] =
                            if raised.is_empty() { StepState::Open } else { StepState::Failed(no) };
                        for &(finding, _) in raised {
                            if !self.raised.contains(&finding) {
                                self.raised.push(finding);
                            }
                        }
                    }
                    None => return,
                }
                self.spend(procedure);
            }
            What::StepStill { step, still, .. } => {
                let Some(at) = position(step) else { return };
                match (stands, still) {
                    (false, _) => self.states[at] = StepState::Unknown,
                    (true, true) => self.states[at] = StepState::Confirmed,
                    (true, false) => self.lost(procedure, at),
                }
            }
            // What was confirmed of the wiring is so no longer.
            What::WireRead { found, .. } if stands && *found != WireFound::Good => {
                for (at, step) in procedure.steps.iter().enumerate() {
                    if step.walks && self.states[at] == StepState::Confirmed {
                        self.states[at] = StepState::Open;
                    }
                }
            }
            What::StepPassedOver { step, .. } if stands => self.aside.extend(position(step)),
            What::WorkStep { .. } => {
                self.unsettle(procedure);
                for at in 0..self.states.len() {
                    if procedure.steps[at].energises && self.live(at) {
                        self.lost(procedure, at);
                    }
                }
            }
            What::Person { .. } | What::Resumed { .. } => {
                self.aside.clear();
                self.unsettle(procedure);
            }
            What::Undo
            | What::Change { .. }
            | What::WorkBrokenOff
            | What::WorkStateTold { .. }
            | What::BackStep { .. }
            | What::WorkChanged
            | What::FixDone { .. } => self.unsettle(procedure),
            _ => {}
        }
    }

    /// Whether an energising step has, or may have, brought voltage that is not switched off since.
    pub(crate) fn live(&self, at: usize) -> bool {
        !self.spent[at] && matches!(self.states[at], StepState::Confirmed | StepState::Unknown)
    }

    /// Real states whose end is confirmed need not hold any more.
    fn spend(&mut self, procedure: &Procedure) {
        for (at, step) in procedure.steps.iter().enumerate() {
            let ended = |&end: &usize| self.states[end] == StepState::Confirmed || self.spent[end];
            if step.holds && !step.until.is_empty() && step.until.iter().all(ended) {
                self.spent[at] = true;
            }
        }
    }

    /// What has to hold may have changed.
    fn unsettle(&mut self, procedure: &Procedure) {
        for (at, step) in procedure.steps.iter().enumerate() {
            if (step.holds || step.energises) && !self.spent[at] && self.states[at] == StepState::Confirmed {
                self.states[at] = StepState::Unknown;
            }
        }
    }

    /// A real state is gone: it is open again, all that it takes to reach it where it was voltage, and every real state
    /// that built on it.
    fn lost(&mut self, procedure: &Procedure, at: usize) {
        let mut open: BTreeSet<usize> = procedure.steps[at].redo.iter().copied().collect();
        open.insert(at);
        for (later, step) in procedure.steps.iter().enumerate().skip(at + 1) {
            let real = (step.holds || step.energises) && !self.spent[later];
            if real && self.built_on(procedure, later, at) {
                open.insert(later);
            }
        }
        for at in open {
            self.states[at] = StepState::Open;
            self.spent[at] = false;
        }
    }

    /// Whether `gate` is among the gates of `step`, or theirs.
    fn built_on(&self, procedure: &Procedure, step: usize, gate: usize) -> bool {
        ancestors(procedure, step).contains(&gate)
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
