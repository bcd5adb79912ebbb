//! Policies: rules that name the next act of a belief, from repairs without a test to roll-out with two steps.
//!
//! In: a problem made ready, a belief. Out: an act and its value. The ladder, each policy better than the one before:
//!
//! - *repairs*: the base plan, fixes by chance over cost, no test;
//! - *entropy*: the test that tells most about the candidates per minute while one tells anything, then repairs;
//! - *one step*: the act that is best with the base plan behind it;
//! - *two steps*: the act that is best with the best act behind it and the base plan behind that;
//! - *roll-out*: the act that is best with the one-step policy carried out behind it (Tesauro & Galperin 1996; Bertsekas &
//!   Castañón 1999; from memory);
//! - *roll-out with two steps*: the act that is best with the best act behind it and the one-step policy behind that.
//!
//! Every value is that of a plan that can be carried out; roll-out never does worse than the policy rolled out. Beliefs that
//! are met again are not valued again. Effort is counted in beliefs valued, a belief of many particles as several; past the
//! limit values are those of the base plan, so that the effort bounds the time and the same effort gives the same act.

use std::collections::HashMap;

use super::acts::{cheapest, removes};
use super::base_plan::{Act, base_value};
use super::belief::Belief;
use super::prepared::Prepared;
use crate::model::practice::BitSet;

/// A rule that names the next act.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Policy {
    /// Repairs by chance over cost, no tests.
    Repairs,
    /// The test with most information per minute, then repairs.
    Entropy,
    /// The best act with repairs behind it.
    OneStep,
    /// The best two acts with repairs behind them.
    TwoSteps,
    /// The best act with the one-step policy behind it.
    Rollout,
    /// The best two acts with the one-step policy behind them.
    RolloutTwoSteps,
}

impl Policy {
    /// All of them, the plainest first.
    pub const ALL: [Self; 6] =
        [Self::Repairs, Self::Entropy, Self::OneStep, Self::TwoSteps, Self::Rollout, Self::RolloutTwoSteps];

    /// The name, for tables.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Repairs => "repairs by chance over cost, no tests",
            Self::Entropy => "entropy per cost",
            Self::OneStep => "one step",
            Self::TwoSteps => "two steps",
            Self::Rollout => "roll-out of one step",
            Self::RolloutTwoSteps => "roll-out with two steps",
        }
    }
}

/// A policy carried out is followed down to this share of the belief at its start; below, repairs.
const FOLLOWED: f64 = 1e-4;
/// An act further than this above the best by the next simpler policy is not valued anew.
const MARGIN: f64 = 0.3;
/// So many of the best tests are looked at behind the first act of a large problem.
pub(crate) const SHORTLIST: usize = 8;
/// So many particles are one unit of effort.
const UNIT: usize = 24;

/// What stands behind an act.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Behind {
    Repairs,
    OneStep,
    Carried,
    CarriedAfterOne,
    CarriedTwo,
}

/// Values acts of one problem.
pub(crate) struct Policies<'a, 'p> {
    pub(super) prepared: &'a Prepared<'p>,
    pub(super) opens: Vec<bool>,
    /// For each fix, the causes that it removes.
    pub(super) removes: Vec<BitSet>,
    /// For each cause, what the cheapest fix of it costs, ways aside.
    pub(super) cheapest: Vec<f64>,
    repairs: HashMap<u128, (f64, Act)>,
    one_step: HashMap<u128, (f64, Act)>,
    two_steps: HashMap<u128, (f64, Act)>,
    carried: HashMap<u128, f64>,
    carried_two: HashMap<u128, f64>,
    /// Of tests, only these are looked at behind the first act.
    pub(super) shortlist: Vec<bool>,
    /// Effort spent.
    pub(crate) spent: u64,
    /// Effort that may be spent.
    pub(crate) limit: u64,
}

impl<'a, 'p> Policies<'a, 'p> {
    pub(crate) fn new(prepared: &'a Prepared<'p>, limit: u64) -> Self {
        let tests = &prepared.problem.tests;
        let mut opens = vec![false; tests.len()];
        for need in tests.iter().flat_map(|test| &test.needs) {
            opens[need.test] = true;
        }
        Self {
            prepared,
            opens,
            removes: removes(prepared),
            cheapest: cheapest(prepared),
            repairs: HashMap::new(),
            one_step: HashMap::new(),
            two_steps: HashMap::new(),
            carried: HashMap::new(),
            carried_two: HashMap::new(),
            shortlist: vec![true; tests.len()],
            spent: 0,
            limit,
        }
    }

    /// Behind the first act only these tests are looked at, and those that another one needs.
    pub(crate) fn look_only_at(&mut self, tests: impl Iterator<Item = usize>) {
        self.shortlist.clone_from(&self.opens);
        for test in tests {
            self.shortlist[test] = true;
        }
    }

    /// In a large problem, looks everywhere only at the tests that do best at the start.
    pub(crate) fn look_only_at_the_best(&mut self, start: &Belief) {
        if self.prepared.problem.tests.len() <= SHORTLIST {
            return;
        }
        let mut tests: Vec<(f64, usize)> = (0..self.prepared.problem.tests.len())
            .filter(|&test| start.open(self.prepared.problem, test))
            .filter_map(|test| {
                let value = self.value(start, Act::Test(test), Behind::Repairs, f64::INFINITY)?;
                Some((value, test))
            })
            .collect();
        tests.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        self.look_only_at(tests.into_iter().take(SHORTLIST).map(|(_, test)| test));
    }

    /// The tests whose outcomes another one needs.
    pub(crate) fn opening(&self) -> Vec<bool> {
        self.opens.clone()
    }

    /// The act that a policy names.
    pub(crate) fn act(&mut self, belief: &Belief, policy: Policy) -> Act {
        match policy {
            Policy::Repairs => self.repairs(belief).1,
            Policy::Entropy => self.most_telling(belief).unwrap_or_else(|| self.repairs(belief).1),
            Policy::OneStep => self.one_step(belief).1,
            Policy::TwoSteps => self.best(belief, Behind::OneStep).1,
            Policy::Rollout => self.best(belief, Behind::Carried).1,
            Policy::RolloutTwoSteps => self.best(belief, Behind::CarriedAfterOne).1,
        }
    }

    /// The value of the base plan (not normalised), and its first act.
    pub(crate) fn repairs(&mut self, belief: &Belief) -> (f64, Act) {
        let weight = belief.weight();
        if weight <= 0.0 {
            return (0.0, Act::Done);
        }
        let key = belief.fingerprint(weight, &self.opens);
        if let Some(&(value, act)) = self.repairs.get(&key) {
            return (value * weight, act);
        }
        self.spent += 1 + (belief.particles.len() / UNIT) as u64;
        let items = belief.items(self.prepared);
        let (value, act) = base_value(self.prepared, &items, belief.from());
        self.repairs.insert(key, (value / weight, act));
        (value, act)
    }

    /// The best act with the base plan behind it, and its value (not normalised).
    pub(crate) fn one_step(&mut self, belief: &Belief) -> (f64, Act) {
        let weight = belief.weight();
        if weight <= 0.0 {
            return (0.0, Act::Done);
        }
        let key = belief.fingerprint(weight, &self.opens);
        if let Some(&(value, act)) = self.one_step.get(&key) {
            return (value * weight, act);
        }
        let mut best = self.repairs(belief);
        for act in self.acts(belief, true) {
            if let Some(value) = self.value(belief, act, Behind::Repairs, best.0)
                && value < best.0
            {
                best = (value, act);
            }
        }
        self.one_step.insert(key, (best.0 / weight, best.1));
        best
    }

    /// The value of carrying out the one-step policy. Below `least` of weight, and past the limit, repairs.
    fn carried_out(&mut self, belief: &Belief, least: f64) -> f64 {
        let weight = belief.weight();
        if weight <= 0.0 {
            return 0.0;
        }
        let key = belief.fingerprint(weight, &self.opens);
        if let Some(&value) = self.carried.get(&key) {
            return value * weight;
        }
        if self.spent >= self.limit {
            return self.repairs(belief).0;
        }
        let (planned, act) = self.one_step(belief);
        if weight < least {
            return planned;
        }
        let Some((mut value, after)) = self.step(belief, act) else { return planned };
        for next in &after {
            value += self.carried_out(next, least);
        }
        let value = value.min(planned);
        self.carried.insert(key, value / weight);
        value
    }

    /// The value of carrying out the two-step policy, as [`Self::carried_out`] that of the one-step policy.
    fn two_carried_out(&mut self, belief: &Belief, least: f64) -> f64 {
        let weight = belief.weight();
        if weight <= 0.0 {
            return 0.0;
        }
        let key = belief.fingerprint(weight, &self.opens);
        if let Some(&value) = self.carried_two.get(&key) {
            return value * weight;
        }
        if self.spent >= self.limit || weight < least {
            return self.carried_out(belief, least);
        }
        let (planned, act) = match self.two_steps.get(&key) {
            Some(&(value, act)) => (value * weight, act),
            None => self.best(belief, Behind::OneStep),
        };
        self.two_steps.insert(key, (planned / weight, act));
        let Some((mut value, after)) = self.step(belief, act) else { return planned };
        for next in &after {
            value += self.two_carried_out(next, least);
        }
        let value = value.min(planned);
        self.carried_two.insert(key, value / weight);
        value
    }

    /// The best act with that behind it. Acts far above the best by the one-step value are not valued anew.
    fn best(&mut self, belief: &Belief, behind: Behind) -> (f64, Act) {
        let valued = self.valued(belief, behind);
        valued.first().map_or((0.0, Act::Done), |&(act, value)| (value, act))
    }

    /// All acts with their values, the best first, those not valued anew by their one-step value.
    pub(crate) fn thorough(&mut self, belief: &Belief) -> Vec<(Act, f64)> {
        self.valued(belief, Behind::CarriedAfterOne)
    }

    fn valued(&mut self, belief: &Belief, behind: Behind) -> Vec<(Act, f64)> {
        let (one, first) = self.one_step(belief);
        let near = one + MARGIN * one.abs().max(1e-9);
        let mut valued: Vec<(Act, f64)> = Vec::new();
        for act in self.acts(belief, false) {
            if let Some(value) = self.value(belief, act, Behind::Repairs, near) {
                valued.push((act, value));
            }
        }
        if !valued.iter().any(|(act, _)| *act == first) {
            valued.push((first, one));
        }
        valued.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
        let mut best = f64::INFINITY;
        let stages: &[Behind] = match behind {
            Behind::CarriedAfterOne => &[Behind::Carried, Behind::CarriedAfterOne, Behind::CarriedTwo],
            Behind::Carried => &[Behind::Carried],
            _ => &[Behind::OneStep],
        };
        for &stage in stages {
            for (act, known) in &mut valued {
                if matches!(act, Act::Stop(_) | Act::Done) {
                    best = best.min(*known);
                    continue;
                }
                if self.spent >= self.limit {
                    break;
                }
                if let Some(value) = self.value(belief, *act, stage, best.min(*known)) {
                    *known = known.min(value);
                }
                best = best.min(*known);
            }
            valued.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
        }
        valued
    }

    /// The value of an act with that behind it; `None` where it cannot be done or cannot come below `below`.
    fn value(&mut self, belief: &Belief, act: Act, behind: Behind, below: f64) -> Option<f64> {
        let (mut value, after) = self.step(belief, act)?;
        let least = FOLLOWED * belief.weight();
        let floors: Vec<f64> = after.iter().map(|next| self.floor(next)).collect();
        let mut rest: f64 = floors.iter().sum();
        for (next, floor) in after.iter().zip(&floors) {
            if value + rest >= below {
                return None;
            }
            rest -= floor;
            value += match behind {
                Behind::Repairs => self.repairs(next).0,
                Behind::OneStep => self.one_step(next).0,
                Behind::Carried => self.carried_out(next, least),
                Behind::CarriedAfterOne => self.carried_after_one(next, least),
                Behind::CarriedTwo => self.two_carried_out(next, least),
            };
        }
        Some(value)
    }

    /// The best act with the one-step policy carried out behind it.
    fn carried_after_one(&mut self, belief: &Belief, least: f64) -> f64 {
        let (one, _) = self.one_step(belief);
        let mut best = self.carried_out(belief, least);
        if self.spent >= self.limit || belief.weight() < least {
            return best;
        }
        let near = one + MARGIN * one.abs().max(1e-9);
        let mut acts: Vec<(f64, Act)> = Vec::new();
        for act in self.acts(belief, true) {
            if let Some(value) = self.value(belief, act, Behind::Repairs, near) {
                acts.push((value, act));
            }
        }
        acts.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        for (_, act) in acts {
            if let Some(value) = self.value(belief, act, Behind::Carried, best) {
                best = best.min(value);
            }
        }
        best
    }
}
