//! Where a plan stands, reduced to what can still matter, and the key by which equal positions are found.
//!
//! What matters of evidence:
//!
//! - Reports of one epoch are independent given the truth, so their order says nothing: they are sorted.
//! - A weight counts only relative to the others of its report: weights are scaled to a greatest of 1. A report that is
//!   believed with seven tenths or more is taken for certain: a plan is made for what will be answered, and doubts about
//!   an answer are the business of the session that hears it.
//! - A report of a complaint as abnormal is taken as real, as the planner does. A symptom that is found is a complaint from
//!   then on; in which order they came up says nothing.
//! - Take the network as a graph of sources and findings. A report in a part of it that holds no complaint can never
//!   change the chance of a complaint, nor of anything that may be found in the complaints' part: it is left out.
//! - That a finding was answered keeps it from being asked again; its outcome counts beyond that only where a step needs it.

use std::collections::{BTreeMap, BTreeSet};

use super::super::advice::Step;
use super::super::situation::Situation;
use crate::inference::{Evidence, Told};
use crate::model::index::{FindingIx, TestIx};
use crate::model::network::Source;
use crate::model::{Fingerprint, Model};

/// An answer believed this much is taken for certain, as the planner does where doubts would cost too much.
pub(super) const BELIEVED: f64 = 0.7;

/// Where a plan stands.
#[derive(Clone, PartialEq, Debug)]
pub struct Position {
    /// The situation.
    pub situation: Situation,
    /// Findings that were only taken to be so, along with an answer that needs them.
    pub taken: BTreeSet<FindingIx>,
    /// The steps that left something to be put back.
    pub left: Vec<Step>,
    /// An answer announced this emergency: nothing of the plan goes on.
    pub(super) alarm: Option<usize>,
    /// Changes of work state since anything else was done: it keeps a plan from going round.
    pub(super) changes: u8,
}

/// Equal for positions with equal futures.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(super) struct Key(Vec<u64>);

impl Key {
    /// Sixteen bytes that stand for it.
    pub(super) fn mark(&self) -> Fingerprint {
        Fingerprint::of_words(&self.0)
    }
}

impl Position {
    /// The position of a situation in which these findings were only taken to be so.
    #[must_use]
    pub fn new(situation: Situation, taken: BTreeSet<FindingIx>) -> Self {
        Self { situation, taken, left: Vec::new(), alarm: None, changes: 0 }
    }

    /// The same with evidence reduced to what matters, in its order.
    #[must_use]
    pub(super) fn canonical(mut self, frame: &Frame) -> Self {
        self.situation.complaints.sort_unstable();
        self.situation.evidence = canonical(&self.situation, frame);
        // What a known answer rules out is not offered anyhow, so setting it aside besides says nothing.
        let answered = &self.situation.answered;
        let ruled_out = |needs: &[(FindingIx, usize)]| {
            needs.iter().any(|(finding, _)| {
                answered.get(finding).is_some_and(|outcome| !needs.contains(&(*finding, *outcome)))
            })
        };
        self.situation.declined.retain(|fix| !ruled_out(&frame.fixes[fix.at()]));
        self.situation
            .set_aside
            .retain(|test| !frame.recloses.get(test).is_some_and(|needs| ruled_out(needs)));
        self.taken.retain(|finding| self.situation.answered.contains_key(finding));
        self
    }

    /// The key. O(evidence); of a canonical position.
    #[must_use]
    pub(super) fn key(&self, frame: &Frame) -> Key {
        let mut key = Vec::with_capacity(64);
        let situation = &self.situation;
        for bits in [situation.person.competences.0, situation.person.instruments.0] {
            key.extend([bits as u64, (bits >> 64) as u64]);
        }
        for state in [situation.work_state, situation.came_from] {
            key.push(state.map_or(u64::MAX, |state| state.at() as u64));
        }
        key.extend([
            situation.place.at() as u64,
            situation.standstill_per_minute.to_bits(),
            situation.to_put_back as u64,
            self.alarm.map_or(u64::MAX, |at| at as u64),
        ]);
        let mut list = |tag: u64, all: &mut dyn Iterator<Item = u64>| {
            key.push(u64::MAX - tag);
            key.extend(all);
        };
        list(1, &mut situation.complaints.iter().map(|at| at.at() as u64));
        list(2, &mut situation.set_aside.iter().map(|at| at.at() as u64));
        list(3, &mut situation.declined.iter().map(|at| at.at() as u64));
        list(4, &mut situation.done_fixes.iter().map(|at| at.at() as u64));
        list(5, &mut self.taken.iter().map(|at| at.at() as u64));
        let answered = situation.answered.iter().flat_map(|(finding, outcome)| {
            let counts = frame.needed.contains(finding) || situation.complaints.contains(finding);
            [finding.at() as u64, if counts { *outcome as u64 } else { u64::from(u32::MAX) }]
        });
        list(6, &mut answered.collect::<Vec<u64>>().into_iter());
        for told in &situation.evidence.told {
            match told {
                Told::Finding { among, weights } => {
                    list(7, &mut among.iter().map(|at| at.at() as u64));
                    list(8, &mut weights.iter().map(|weight| weight.to_bits()));
                }
                Told::Cause { cause, present } => {
                    list(9, &mut [cause.at() as u64, u64::from(*present)].into_iter());
                }
                Told::Fix(fix) => list(10, &mut std::iter::once(fix.at() as u64)),
            }
        }
        Key(key)
    }
}

fn canonical(situation: &Situation, matters: &Frame) -> Evidence {
    let mut epochs: Vec<Vec<Told>> = vec![Vec::new()];
    for told in &situation.evidence.told {
        let open = epochs.len() - 1;
        match told {
            Told::Finding { among, weights } => {
                if !among.iter().any(|finding| matters.findings[finding.at()]) {
                    continue;
                }
                let mut weights = weights.clone();
                let complaint = among.iter().all(|finding| situation.complaints.contains(finding));
                if complaint && weights.iter().skip(1).any(|weight| *weight > weights[0]) {
                    weights[0] = 0.0;
                }
                let most = weights.iter().copied().fold(0.0, f64::max);
                let certain = most >= BELIEVED * weights.iter().sum::<f64>();
                for weight in &mut weights {
                    *weight = match *weight < most {
                        true if certain => 0.0,
                        _ if most > 0.0 => *weight / most,
                        _ => 0.0,
                    };
                }
                epochs[open].push(Told::Finding { among: among.clone(), weights });
            }
            Told::Cause { cause, .. } if !matters.causes[cause.at()] => {}
            Told::Cause { .. } => epochs[open].push(told.clone()),
            Told::Fix(_) => {
                epochs[open].push(told.clone());
                epochs.push(Vec::new());
            }
        }
    }
    for epoch in &mut epochs {
        epoch.sort_by_cached_key(order);
    }
    Evidence { told: epochs.into_iter().flatten().collect() }
}

/// Findings, then causes, then the fix that ends the epoch.
fn order(told: &Told) -> (u8, Vec<usize>, Vec<u64>) {
    match told {
        Told::Finding { among, weights } => {
            (0, among.iter().map(|at| at.at()).collect(), weights.iter().map(|w| w.to_bits()).collect())
        }
        Told::Cause { cause, present } => (1, vec![cause.at()], vec![u64::from(*present)]),
        Told::Fix(fix) => (2, vec![fix.at()], Vec::new()),
    }
}

/// What is the same at all positions of a plan.
#[derive(Clone, Debug)]
pub(super) struct Frame {
    /// The part of the network that hangs together with the complaints, through whatever might be found.
    pub(super) findings: Vec<bool>,
    causes: Vec<bool>,
    /// Findings whose outcome some step asks for.
    pub(super) needed: BTreeSet<FindingIx>,
    /// What each fix needs, and each test that recloses something.
    fixes: Vec<Vec<(FindingIx, usize)>>,
    recloses: BTreeMap<TestIx, Vec<(FindingIx, usize)>>,
}

impl Frame {
    /// O(links).
    pub(super) fn of(model: &Model, complaints: &[FindingIx]) -> Self {
        let network = &model.network;
        let mut findings = vec![false; network.findings()];
        let mut seen: BTreeSet<Source> = BTreeSet::new();
        let mut open: Vec<Source> = Vec::new();
        let mut to_find: Vec<FindingIx> = complaints.to_vec();
        loop {
            if let Some(finding) = to_find.pop() {
                if !std::mem::replace(&mut findings[finding.at()], true) {
                    open.extend(network.shown_by(finding).map(|(source, _)| source));
                }
            } else if let Some(source) = open.pop() {
                if !seen.insert(source) {
                    continue;
                }
                to_find.extend(network.shows(source).map(|(finding, _)| finding));
                match source {
                    Source::Cause(cause) => {
                        open.extend(network.led_by(cause).iter().map(|(other, _)| Source::Cause(*other)));
                        open.extend(network.leads(cause).iter().map(|(other, _)| Source::Cause(*other)));
                    }
                    Source::Condition(condition) => {
                        let behind = network.brought_by(condition).iter();
                        open.extend(behind.map(|&(slot, _)| network.source(slot as usize)));
                    }
                }
                open.extend(
                    network.brings(source).iter().map(|(condition, _)| Source::Condition(*condition)),
                );
            } else {
                break;
            }
        }
        let mut causes = vec![false; network.causes()];
        for source in &seen {
            if let Source::Cause(cause) = source {
                causes[cause.at()] = true;
            }
        }
        let recloses = model.tests.iter().enumerate().filter(|(_, test)| test.terms.recloses);
        let tests = model.tests.iter().flat_map(|test| &test.needs);
        let needs = tests.chain(model.fixes.iter().flat_map(|fix| &fix.needs));
        Self {
            findings,
            causes,
            needed: needs.map(|(finding, _)| *finding).collect(),
            fixes: model.fixes.iter().map(|fix| fix.needs.clone()).collect(),
            recloses: recloses.map(|(at, test)| (TestIx::new(at), test.needs.clone())).collect(),
        }
    }
}
