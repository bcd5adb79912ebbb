//! What may come of a step: each combination of outcomes with its chance, and the position after it.
//!
//! Chances are exact: P(answers | all before) is a quotient of two probabilities of evidence, answers taken for certain. So
//! the chances of the outcomes of a step add up to 1, what is rarer than the bound included.

use std::collections::BTreeSet;

use super::super::advice::Step;
use super::position::{Frame, Position};
use crate::inference::{Evidence, Limits, Told, Workspace};
use crate::model::index::{FindingIx, TestIx};
use crate::model::needs::needs_of;
use crate::model::{Model, trust};

/// What a sweep may cost. Where the evidence of a state is more entangled than this, its plan is left open: a graph has
/// thousands of states, and time and memory of each are bounded.
pub(super) const QUICKLY: Limits = Limits { states: 1 << 17, steps: 1 << 21 };

/// One way on.
pub(super) struct Way {
    pub(super) found: Vec<(FindingIx, usize)>,
    /// Given the position.
    pub(super) chance: f64,
    pub(super) to: Position,
}

/// Makes the ways on from positions.
pub(super) struct Outcomes<'a> {
    pub(super) model: &'a Model,
    pub(super) frame: &'a Frame,
    pub(super) tables: &'a mut Workspace,
}

impl Outcomes<'_> {
    /// The ways on from `position` by `step`, those at least as likely as `least`; `there` is the position after the step
    /// before anything is told. What is missing to 1 is rarer, or could not be computed.
    pub(super) fn of(
        &mut self,
        position: &Position,
        step: &Step,
        mut there: Position,
        least: f64,
    ) -> Vec<Way> {
        there.situation.came_from = None;
        let only = |to: Position| vec![Way { found: Vec::new(), chance: 1.0, to }];
        match step {
            Step::Test(at) => self.test(position, *at, there, least),
            Step::Fix(at) => {
                let mut to = there;
                to.situation.evidence.fixed(*at);
                to.situation.done_fixes.push(*at);
                to.situation.answered.clear();
                to.taken.clear();
                leave(self.model, &mut to, step);
                only(to)
            }
            Step::Enter(_) | Step::Return(_) => {
                let mut to = there;
                to.changes += 1;
                to.situation.came_from = position.situation.work_state;
                only(to)
            }
            Step::Prove => self.prove(there, least),
            Step::PutBack => {
                let mut to = there;
                to.left.clear();
                to.situation.to_put_back = 0;
                only(to)
            }
            Step::ConfirmWorkState | Step::HandOver(_) | Step::Done => Vec::new(),
        }
    }

    /// The emergency that an answer announces.
    fn alarm(&self, finding: FindingIx, outcome: usize) -> Option<usize> {
        let kind = &self.model.findings[finding.at()].kind;
        let shows = |emergency: &crate::model::practice::Emergency| emergency.shown_by.contains(kind);
        self.model.practice.emergencies.iter().position(shows).filter(|_| outcome > 0)
    }

    /// ln P of what was told; `None` where it cannot be had quickly.
    pub(super) fn ln(&mut self, position: &Position) -> Option<f64> {
        let evidence = &position.situation.evidence;
        self.tables.ln_evidence(&self.model.network, evidence, &QUICKLY).ok()
    }

    fn test(&mut self, position: &Position, at: TestIx, mut base: Position, least: f64) -> Vec<Way> {
        base.changes = 0;
        for (finding, allowed) in needs_of(self.model, at) {
            if base.situation.answered.get(&finding).is_some_and(|outcome| allowed.contains(outcome)) {
                continue;
            }
            let weights = trust::among(self.model.network.outcomes(finding), &allowed, 1.0, true);
            told(&mut base, finding, allowed[0], weights);
            base.taken.insert(finding);
        }
        let complaints: BTreeSet<FindingIx> = base.situation.complaints.iter().copied().collect();
        let mut open = Vec::new();
        for gives in &self.model.tests[at.at()].gives {
            let finding = gives.finding;
            let known =
                position.situation.answered.contains_key(&finding) && !position.taken.contains(&finding);
            if known || complaints.contains(&finding) {
                continue;
            }
            if self.frame.findings[finding.at()]
                || self.frame.needed.contains(&finding)
                || self.alarm(finding, 1).is_some()
            {
                open.push(finding);
            } else {
                // It says nothing of the complaints, whatever it shows.
                base.situation.answered.insert(finding, 0);
            }
        }
        leave(self.model, &mut base, &Step::Test(at));
        self.split(base, &open, least)
    }

    /// All complaints not yet seen gone, one after the other, up to the first that is still there.
    fn prove(&mut self, mut base: Position, least: f64) -> Vec<Way> {
        base.changes = 0;
        let mut ways = Vec::new();
        let mut sure = 1.0;
        let open: Vec<FindingIx> = (base.situation.complaints.iter().copied())
            .filter(|finding| base.situation.answered.get(finding) != Some(&0))
            .collect();
        let mut gone = Vec::new();
        for finding in open {
            let mut normal = None;
            for mut way in self.split(base.clone(), &[finding], 0.0) {
                way.chance *= sure;
                way.to.alarm = None; // it was ruled out when it was complained of
                if way.found[0].1 == 0 {
                    normal = Some(way);
                } else if way.chance >= least {
                    let mut found: Vec<(FindingIx, usize)> = gone.clone();
                    found.append(&mut way.found);
                    ways.push(Way { found, ..way });
                }
            }
            match normal {
                Some(way) => {
                    gone.extend(way.found);
                    base = way.to;
                    sure = way.chance;
                }
                None => return ways,
            }
        }
        if sure >= least {
            ways.insert(0, Way { found: gone, chance: sure, to: base });
        }
        ways
    }

    /// The combinations of outcomes of `open`.
    fn split(&mut self, mut base: Position, open: &[FindingIx], least: f64) -> Vec<Way> {
        open.iter().for_each(|finding| forget(&mut base, *finding));
        let Some(ln) = self.ln(&base) else { return Vec::new() };
        let mut ways = vec![Way { found: Vec::new(), chance: 1.0, to: base }];
        for &finding in open {
            let outcomes = self.model.network.outcomes(finding);
            let mut next = Vec::new();
            for way in ways {
                for outcome in 0..outcomes {
                    let mut to = way.to.clone();
                    told(&mut to, finding, outcome, trust::plain(outcomes, outcome, 1.0, true));
                    let chance = self.ln(&to).map_or(0.0, |now| (now - ln).exp());
                    if chance > 0.0 && chance >= least {
                        let mut found = way.found.clone();
                        found.push((finding, outcome));
                        to.alarm = to.alarm.or_else(|| self.alarm(finding, outcome));
                        let symptom = self.model.findings[finding.at()].symptom.is_some();
                        if symptom && outcome > 0 && !to.situation.complaints.contains(&finding) {
                            // It is wrong as well: it has to be proven gone in the end.
                            to.situation.complaints.push(finding);
                        }
                        next.push(Way { found, chance, to });
                    }
                }
            }
            ways = next;
        }
        ways
    }
}

/// Adds an answer of the present epoch, in the place of an earlier one.
fn told(position: &mut Position, finding: FindingIx, outcome: usize, weights: Vec<f64>) {
    forget(position, finding);
    position.situation.evidence.soft(finding, weights);
    position.situation.answered.insert(finding, outcome);
    position.taken.remove(&finding);
}

/// Takes back what the present epoch said of a finding.
fn forget(position: &mut Position, finding: FindingIx) {
    let Evidence { told } = &mut position.situation.evidence;
    let since = told.iter().rposition(|entry| matches!(entry, Told::Fix(_))).map_or(0, |at| at + 1);
    let same = |entry: &Told| matches!(entry, Told::Finding { among, .. } if among == &[finding]);
    if let Some(at) = told[since..].iter().position(same) {
        told.remove(since + at);
    }
}

/// What a step leaves to be put back; the same twice counts once.
fn leave(model: &Model, position: &mut Position, step: &Step) {
    let leaves = match step {
        Step::Test(at) => &model.tests[at.at()].terms.leaves,
        Step::Fix(at) => &model.fixes[at.at()].terms.leaves,
        _ => return,
    };
    if !leaves.is_empty() && !position.left.contains(step) {
        position.left.push(step.clone());
        position.situation.to_put_back += leaves.len();
    }
}
