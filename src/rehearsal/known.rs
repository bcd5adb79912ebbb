//! What the player knows so far, as the session would keep it, and the situation that the planner is asked about.
//!
//! Invariant: the situation depends on what is known, not on the order in which it was asked within an epoch, so that
//! equal states get equal advice.

use std::collections::{BTreeMap, BTreeSet};

use super::caller::Caller;
use super::whereabouts::Whereabouts;
use crate::inference::Evidence;
use crate::model::Model;
use crate::model::index::{FindingIx, FixIx, TestIx};
use crate::planner::Situation;
use crate::session::trust;

/// What is known, epoch by epoch.
#[derive(Clone, Debug, Default)]
pub(super) struct Known {
    pub(super) complaints: Vec<FindingIx>,
    /// Per epoch: finding, outcome and weights.
    epochs: Vec<BTreeMap<FindingIx, (usize, Vec<f64>)>>,
    pub(super) fixes: Vec<FixIx>,
    set_aside: BTreeSet<TestIx>,
}

impl Known {
    /// What is said when the call begins.
    pub(super) fn new(model: &Model, caller: &Caller, complaints: Vec<(FindingIx, usize)>) -> Self {
        let mut known = Self { epochs: vec![BTreeMap::new()], ..Self::default() };
        for (finding, outcome) in complaints {
            known.complaints.push(finding);
            known.told(model, caller, finding, outcome);
        }
        known.complaints.sort_unstable();
        known.complaints.dedup();
        known
    }

    fn now(&mut self) -> Option<&mut BTreeMap<FindingIx, (usize, Vec<f64>)>> {
        self.epochs.last_mut()
    }

    /// A plain answer: soft by the person's trust, or the test's own; a reading speaks for itself.
    pub(super) fn told(&mut self, model: &Model, caller: &Caller, finding: FindingIx, outcome: usize) {
        let form = &model.findings[finding.at()];
        let test = &model.tests[form.test.at()];
        let believed = if test.reading.is_some() { 1.0 } else { test.trust.unwrap_or(caller.trust) };
        let weights = trust::plain(form.outcomes.len(), outcome, believed, true);
        if let Some(now) = self.now() {
            now.insert(finding, (outcome, weights));
        }
    }

    /// Answering a test says that its needs are so.
    pub(super) fn implied(&mut self, model: &Model, caller: &Caller, test: TestIx) {
        let needs = &model.tests[test.at()].needs;
        for &(finding, outcome) in needs {
            let only = needs.iter().filter(|need| need.0 == finding).count() == 1;
            if only && !self.answered().contains_key(&finding) {
                self.told(model, caller, finding, outcome);
            }
        }
    }

    pub(super) fn set_aside(&mut self, test: TestIx) {
        self.set_aside.insert(test);
    }

    /// A fix ends an epoch.
    pub(super) fn fixed(&mut self, fix: FixIx) {
        self.fixes.push(fix);
        self.epochs.push(BTreeMap::new());
    }

    /// Known since the last fix.
    pub(super) fn answered(&self) -> BTreeMap<FindingIx, usize> {
        let now = self.epochs.last().into_iter().flatten();
        now.map(|(finding, (outcome, _))| (*finding, *outcome)).collect()
    }

    /// All that was told, in the order of epochs and findings.
    pub(super) fn evidence(&self) -> Evidence {
        let mut evidence = Evidence::new();
        for (at, epoch) in self.epochs.iter().enumerate() {
            for (finding, (_, weights)) in epoch {
                evidence.soft(*finding, weights.clone());
            }
            if let Some(fix) = self.fixes.get(at) {
                evidence.fixed(*fix);
            }
        }
        evidence
    }

    /// What the planner is asked about.
    pub(super) fn situation(&self, model: &Model, caller: &Caller, at: &Whereabouts) -> Situation {
        let answered = self.answered();
        let against = |needs: &[(FindingIx, usize)]| {
            let known = |finding| answered.get(finding);
            needs
                .iter()
                .any(|(finding, _)| known(finding).is_some_and(|so| !needs.contains(&(*finding, *so))))
        };
        let mut situation = Situation::new(caller.person, at.place);
        situation.work_state = Some(at.state);
        situation.came_from = at.came_from;
        situation.complaints = self.complaints.clone();
        situation.evidence = self.evidence();
        situation.set_aside = self.set_aside.clone();
        let fixes = model.fixes.iter().enumerate().filter(|(_, fix)| against(&fix.needs));
        situation.declined = fixes.map(|(at, _)| FixIx::new(at)).collect();
        situation.done_fixes = self.fixes.clone();
        situation.answered = answered;
        situation
    }

    /// The state as a key: equal keys get equal advice.
    pub(super) fn key(&self, at: &Whereabouts) -> Vec<u32> {
        let mut key = vec![at.place.0, at.state.0, at.came_from.map_or(u32::MAX, |state| state.0)];
        let mut part = |items: &mut dyn Iterator<Item = u32>| {
            key.extend(items);
            key.push(u32::MAX);
        };
        part(&mut self.complaints.iter().map(|finding| finding.0));
        part(&mut self.set_aside.iter().map(|test| test.0));
        part(&mut self.fixes.iter().map(|fix| fix.0));
        for epoch in &self.epochs {
            part(&mut epoch.iter().flat_map(|(finding, (outcome, _))| [finding.0, *outcome as u32]));
        }
        key
    }
}
