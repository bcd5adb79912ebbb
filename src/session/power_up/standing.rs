//! How each step stands after one more event.
//!
//! Invariants: a step counts as confirmed only by an event that stands; a real state that has to hold is unknown after
//! whatever may have changed it, until it is confirmed again; what is lost takes with it all that rests on it: a supply
//! whose lockout is to be gone through again is switched off first, and a lock that was taken off comes on again. A lockout
//! that was gone through act by act counts for the steps that are part of it, and work done within it does not end it.

use std::collections::BTreeSet;

use super::{PowerUp, StepState, ancestors};
use crate::model::Model;
use crate::model::index::WorkStateIx;
use crate::model::procedure::Procedure;
use crate::session::event::{EventNo, What, WireFound};
use crate::session::work::{START, Work};

impl PowerUp {
    /// After the event of that number; `work` is the work state after it.
    pub(super) fn after(&mut self, model: &Model, no: EventNo, what: &What, stands: bool, work: Work) {
        let procedure = &model.procedure;
        let position = |id: &str| procedure.steps.iter().position(|step| step.id == id);
        match what {
            What::StepTaken { step, outcome, .. } => {
                let Some(at) = position(step) else { return };
                self.taken(procedure, at, no, outcome, stands);
            }
            What::StepStill { step, still, .. } => {
                let Some(at) = position(step) else { return };
                match (stands, still) {
                    (false, _) => self.states[at] = StepState::Unknown,
                    (true, true) => self.confirm(at, no),
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
                self.unsettle(procedure, None);
                for at in 0..self.states.len() {
                    if self.live(procedure, at) {
                        self.lost(procedure, at);
                    }
                }
                if let Some(state) = work.known().filter(|&state| stands && state != START) {
                    self.reached(procedure, state, no);
                }
            }
            What::Person { .. } | What::Resumed { .. } => {
                self.aside.clear();
                self.unsettle(procedure, None);
            }
            What::FixDone { fix, .. } => {
                let fix = model.ids.fixes.get(fix).map(|at| &model.fixes[at.at()]);
                self.unsettle(procedure, fix.and_then(|fix| fix.terms.work_state));
                let touched = |unit| {
                    let at = fix.and_then(|fix| fix.unit);
                    at.is_none_or(|at| at == unit || model.units[at.at()].partners.contains(&unit))
                };
                self.run_again(procedure, touched);
            }
            What::WorkChanged => {
                self.unsettle(procedure, None);
                self.run_again(procedure, |_| true);
            }
            What::Undo
            | What::Change { .. }
            | What::WorkBrokenOff
            | What::WorkStateTold { .. }
            | What::BackStep { .. } => self.unsettle(procedure, None),
            _ => {}
        }
    }

    fn taken(&mut self, procedure: &Procedure, at: usize, no: EventNo, outcome: &str, stands: bool) {
        self.aside.remove(&at);
        let form = &procedure.steps[at];
        if !stands {
            let real = form.holds || form.energises;
            self.states[at] = if real { StepState::Unknown } else { StepState::Open };
            return;
        }
        match form.outcomes.iter().position(|known| known == outcome) {
            Some(0) => self.confirm(at, no),
            Some(stopped) => {
                if form.holds && !form.energises && self.states[at] == StepState::Unknown {
                    self.lost(procedure, at);
                }
                let raised = &form.raises[stopped];
                self.states[at] = if raised.is_empty() { StepState::Open } else { StepState::Failed(no) };
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

    fn confirm(&mut self, at: usize, no: EventNo) {
        self.states[at] = StepState::Confirmed;
        self.since[at] = no;
    }

    /// Real states need not hold any more once all that ends them is confirmed, the last of it after themselves.
    fn spend(&mut self, procedure: &Procedure) {
        for (at, step) in procedure.steps.iter().enumerate() {
            let ended = |&end: &usize| self.states[end] == StepState::Confirmed || self.spent[end];
            let last = step.until.iter().map(|&end| self.since[end]).max();
            let held = step.holds && self.states[at] == StepState::Confirmed;
            if held && step.until.iter().all(ended) && last.is_some_and(|last| last > self.since[at]) {
                self.spent[at] = true;
            }
        }
    }

    /// What has to hold may have changed, but for the parts of a work state in which the work was done.
    fn unsettle(&mut self, procedure: &Procedure, within: Option<WorkStateIx>) {
        for (at, step) in procedure.steps.iter().enumerate() {
            let part = step.reached_by.is_some() && step.reached_by == within;
            if step.holds && !part && !self.spent[at] && self.states[at] == StepState::Confirmed {
                self.states[at] = StepState::Unknown;
            }
        }
    }

    /// What was seen of a unit in motion is to be seen again after work on it, or on what drives it.
    fn run_again(&mut self, procedure: &Procedure, touched: impl Fn(crate::model::index::UnitIx) -> bool) {
        for (at, step) in procedure.steps.iter().enumerate() {
            let seen = step.energises && !step.holds && self.states[at] == StepState::Confirmed;
            if seen && step.unit.is_none_or(&touched) {
                self.states[at] = StepState::Unknown;
            }
        }
    }

    /// A work state was reached act by act: the steps that are part of it, and whose turn it is, are confirmed.
    fn reached(&mut self, procedure: &Procedure, state: WorkStateIx, no: EventNo) {
        for (at, step) in procedure.steps.iter().enumerate() {
            if step.reached_by == Some(state) && !self.satisfied(at) && self.free(procedure, at) {
                self.confirm(at, no);
            }
        }
    }

    /// A real state is gone: it is open again, and all that rests on it.
    fn lost(&mut self, procedure: &Procedure, at: usize) {
        let steps = &procedure.steps;
        let above: Vec<BTreeSet<usize>> = (0..steps.len()).map(|at| ancestors(procedure, at)).collect();
        let (mut open, mut doubtful) = (BTreeSet::new(), BTreeSet::new());
        let mut queue = vec![at];
        while let Some(gone) = queue.pop() {
            if !open.insert(gone) {
                continue;
            }
            let form = &steps[gone];
            if form.energises {
                queue.extend(form.redo.iter().copied());
            } else {
                for &again in form.redo.iter().filter(|&&again| self.spent[again]) {
                    queue.push(again);
                    queue.extend(steps[again].until.iter().copied());
                }
            }
            for (later, step) in steps.iter().enumerate().skip(gone + 1) {
                let stands = matches!(self.states[later], StepState::Confirmed | StepState::Unknown);
                if self.live(procedure, later) && above[later].contains(&gone) {
                    // What is meant to hold while the supply is on is put right with the supply on.
                    let meanwhile = |end: &usize| *end != later && !above[later].contains(end);
                    if form.holds && form.until.iter().all(meanwhile) {
                        doubtful.insert(later);
                    } else {
                        queue.push(later);
                    }
                } else if step.holds && !step.energises && stands && !self.spent[later] {
                    queue.extend(step.gates.contains(&gone).then_some(later));
                }
            }
        }
        for at in doubtful {
            if self.states[at] == StepState::Confirmed {
                self.states[at] = StepState::Unknown;
            }
        }
        for at in open {
            self.spent[at] = false;
            // A step that stopped goes on waiting for its cause.
            if !matches!(self.states[at], StepState::Failed(_)) {
                self.states[at] = StepState::Open;
            }
        }
    }
}
