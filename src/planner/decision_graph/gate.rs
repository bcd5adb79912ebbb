//! What is really done for an advice: what has to be found first, and the way into the work state.
//!
//! A planner may take a probable need for granted; a person does a fix only after each of its needs was *answered* so,
//! and recloses something only likewise. A need that nobody here can tell ends in handing over.

use super::super::advice::{Advice, Sent, Step};
use super::position::Position;
use crate::model::Model;
use crate::model::index::{FindingIx, TestIx, WorkStateIx};
use crate::model::practice::Terms;

const START: WorkStateIx = WorkStateIx(0);

/// The step to take at a position for an advice given there.
pub(super) fn gated(model: &Model, position: &Position, advice: &Advice) -> Step {
    let gate = Gate { model, position, advice };
    let situation = &position.situation;
    let gone = |finding| situation.answered.get(finding) == Some(&0);
    if situation.complaints.iter().all(gone) {
        return match situation.work_state {
            _ if !position.left.is_empty() => Step::PutBack,
            Some(state) if state != START => gate.reach(START).unwrap_or(Step::Done),
            _ => Step::Done,
        };
    }
    match &advice.step {
        Step::Test(at) => gate.test(*at),
        Step::Fix(at) => {
            let fix = &model.fixes[at.at()];
            match gate.first(&fix.needs) {
                Some(first) => gate.need(first),
                None => gate.through(&fix.terms, fix.terms.work_state, Step::Fix(*at)),
            }
        }
        Step::Enter(state) => gate.reach(*state).unwrap_or_else(|| gate.hand_over()),
        Step::Return(_) => gate.reach(START).unwrap_or_else(|| gate.prove()),
        Step::Prove | Step::PutBack | Step::Done => gate.prove(),
        step @ (Step::ConfirmWorkState | Step::HandOver(_)) => step.clone(),
    }
}

struct Gate<'a> {
    model: &'a Model,
    position: &'a Position,
    advice: &'a Advice,
}

impl Gate<'_> {
    /// The test of the first need that is not answered so.
    fn first(&self, needs: &[(FindingIx, usize)]) -> Option<TestIx> {
        let answered = &self.position.situation.answered;
        let open = needs.iter().find(|(finding, _)| {
            let known = answered.get(finding).filter(|_| !self.position.taken.contains(finding));
            known.is_none_or(|outcome| !needs.contains(&(*finding, *outcome)))
        });
        open.map(|(finding, _)| self.model.findings[finding.at()].test)
    }

    fn test(&self, at: TestIx) -> Step {
        let test = &self.model.tests[at.at()];
        match self.first(&test.needs).filter(|_| test.terms.recloses) {
            Some(first) => self.need(first),
            None => self.through(&test.terms, test.terms.work_state, Step::Test(at)),
        }
    }

    /// A test that a step needs first: not itself followed any further, so that this ends.
    fn need(&self, at: TestIx) -> Step {
        let recloses = self.model.tests[at.at()].terms.recloses;
        if recloses || self.position.situation.set_aside.contains(&at) {
            return self.hand_over();
        }
        self.test(at)
    }

    fn prove(&self) -> Step {
        let situation = &self.position.situation;
        let open = situation.complaints.iter().find(|finding| situation.answered.get(finding) != Some(&0));
        let Some(first) = open else { return Step::Done };
        let terms = &self.model.tests[self.model.findings[first.at()].test.at()].terms;
        self.through(terms, Some(terms.work_state.unwrap_or(START)), Step::Prove)
    }

    fn through(&self, terms: &Terms, wanted: Option<WorkStateIx>, step: Step) -> Step {
        if !self.model.practice.allows(&self.position.situation.person, terms) {
            return self.hand_over();
        }
        wanted.and_then(|wanted| self.reach(wanted)).unwrap_or(step)
    }

    /// The change on the way to a work state; `None` when it is there.
    fn reach(&self, wanted: WorkStateIx) -> Option<Step> {
        let (practice, situation) = (&self.model.practice, &self.position.situation);
        let Some(now) = situation.work_state else { return Some(Step::ConfirmWorkState) };
        let (terms, step) = match now {
            _ if now == wanted => return None,
            START => (&practice.work_states[wanted.at()].enter, Step::Enter(wanted)),
            _ => (&practice.work_states[now.at()].back, Step::Return(now)),
        };
        Some(if practice.allows(&situation.person, terms) { step } else { self.hand_over() })
    }

    /// Handing over to whom the planner would send.
    fn hand_over(&self) -> Step {
        let steps = std::iter::once(&self.advice.step).chain(self.advice.others.iter().map(|(step, _)| step));
        let sent = steps.into_iter().find(|step| matches!(step, Step::HandOver(_)));
        sent.cloned().unwrap_or_else(|| Step::HandOver(Sent::default()))
    }
}
