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

use super::base_plan::{Act, NOTHING, base_value, stop_value};
use super::belief::{Belief, Particle};
use super::prepared::Prepared;
use super::problem::{FixForm, Proof};
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

/// A policy with its least information in bits for a test to be worth asking (entropy only).
const TELLING: f64 = 0.02;
/// A policy carried out is followed down to this share of the belief at its start; below, repairs.
const FOLLOWED: f64 = 1e-4;
/// An act further than this above the best by the next simpler policy is not valued anew.
const MARGIN: f64 = 0.3;
/// So many of the best tests are looked at behind the first act of a large problem.
pub(crate) const SHORTLIST: usize = 8;
/// So many fixes, best by chance over cost, are looked at in one belief.
const FIXES: usize = 8;
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
    prepared: &'a Prepared<'p>,
    opens: Vec<bool>,
    /// For each fix, the causes that it removes.
    removes: Vec<BitSet>,
    /// For each cause, what the cheapest fix of it costs, ways aside.
    cheapest: Vec<f64>,
    repairs: HashMap<u128, (f64, Act)>,
    one_step: HashMap<u128, (f64, Act)>,
    two_steps: HashMap<u128, (f64, Act)>,
    carried: HashMap<u128, f64>,
    carried_two: HashMap<u128, f64>,
    /// Of tests, only these are looked at behind the first act.
    shortlist: Vec<bool>,
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

    /// No plan can cost less from here: perfect information for what no fix has touched yet, less the way here; for the
    /// others the cheapest fix of one culprit that is left, or a proof, or a stop.
    pub(crate) fn floor(&self, belief: &Belief) -> f64 {
        let prepared = self.prepared;
        let problem = prepared.problem;
        let way = problem.travel.minutes(problem.start, belief.mode);
        let stop = prepared.least_stop;
        let proof = match problem.proof {
            Proof::Takes { cost, .. } => cost,
            Proof::AtOnce | Proof::Never => 0.0,
        };
        let of = |particle: &Particle| {
            let at = prepared.class_of[particle.candidate];
            let class = &prepared.classes[at];
            let least = if !particle.gone.0 & class.causes.0 == class.causes.0 {
                if way.is_finite() { prepared.bound[at] - way } else { 0.0 }
            } else if class.cured(particle.gone) {
                if belief.unproven { prepared.present.to_proof(belief.mode).min(stop) } else { 0.0 }
            } else {
                let left = class.culprits.minus(particle.gone).iter();
                let dearest = left.map(|cause| self.cheapest[cause]).fold(0.0, f64::max);
                (dearest + proof).min(stop)
            };
            particle.weight * least.max(stop.min(0.0))
        };
        belief.particles.iter().map(of).sum()
    }

    /// Every act that is open, however little it promises.
    pub(crate) fn every(&self, belief: &Belief) -> Vec<Act> {
        self.open(belief, false, usize::MAX)
    }

    /// The acts that are looked at. Behind the first act, only tests of the shortlist.
    fn acts(&self, belief: &Belief, short: bool) -> Vec<Act> {
        self.open(belief, short, FIXES)
    }

    fn open(&self, belief: &Belief, short: bool, most: usize) -> Vec<Act> {
        let problem = self.prepared.problem;
        let tests = (0..problem.tests.len())
            .filter(|&test| (!short || self.shortlist[test]) && belief.open(problem, test))
            .map(Act::Test);
        let least = NOTHING * belief.weight();
        let mut fixes: Vec<(f64, usize)> = Vec::new();
        if problem.proof != Proof::Never {
            for fix in (0..problem.fixes.len()).filter(|&fix| !belief.tried[fix]) {
                let (cost, there) = self.prepared.present.to_fix(belief.mode, fix);
                let minutes = cost + self.prepared.present.to_proof(there);
                let touched = if minutes.is_finite() { self.touched(belief, fix) } else { 0.0 };
                if touched > least {
                    fixes.push((touched / minutes.max(1e-9), fix));
                }
            }
        }
        if fixes.len() > most {
            fixes.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
            fixes.truncate(most);
            fixes.sort_by_key(|(_, fix)| *fix);
        }
        let fixes = fixes.into_iter().map(|(_, fix)| Act::Fix(fix));
        let prove = (belief.unproven && matches!(problem.proof, Proof::Takes { .. })).then_some(Act::Prove);
        let stops = (0..problem.stops.len()).map(Act::Stop);
        tests.chain(fixes).chain(prove).chain(stops).collect()
    }

    /// The weight of which a fix removes something.
    fn touched(&self, belief: &Belief, fix: usize) -> f64 {
        let removes = self.removes[fix];
        (belief.particles.iter())
            .filter(|particle| {
                let class = &self.prepared.classes[self.prepared.class_of[particle.candidate]];
                class.causes.minus(particle.gone).0 & removes.0 != 0
            })
            .map(|particle| particle.weight)
            .sum()
    }

    /// What an act costs (not normalised), and the beliefs after it, cured ones left out; `None` where it cannot be done or
    /// tells nothing.
    pub(crate) fn step(&self, belief: &Belief, act: Act) -> Option<(f64, Vec<Belief>)> {
        let problem = self.prepared.problem;
        let weight = belief.weight();
        let after = |minutes: f64, after: Vec<Belief>| {
            let open = after.into_iter().filter(|belief| !belief.particles.is_empty());
            minutes.is_finite().then(|| (minutes * weight, open.map(Belief::gathered).collect()))
        };
        match act {
            Act::Test(test) => {
                let (cost, _) = belief.to_test(problem, test);
                if !cost.is_finite() {
                    return None;
                }
                let results = belief.results(problem, test, FINE);
                if results.len() < 2 && !self.opens[test] {
                    return None;
                }
                after(cost, results.iter().map(|result| belief.after(problem, test, result)).collect())
            }
            Act::Fix(fix) => {
                let (cost, there) = self.prepared.present.to_fix(belief.mode, fix);
                let fixed = belief.fixed(problem, fix);
                match problem.proof {
                    Proof::AtOnce => after(cost, vec![fixed.failed(problem, there)]),
                    Proof::Takes { .. } => after(cost, vec![fixed]),
                    Proof::Never => None,
                }
            }
            Act::Prove => match problem.proof {
                Proof::Takes { to, .. } => {
                    after(self.prepared.present.to_proof(belief.mode), vec![belief.failed(problem, to)])
                }
                _ => None,
            },
            Act::Stop(stop) => {
                let items = belief.items(self.prepared);
                let value = stop_value(self.prepared, stop, &items, belief.from());
                value.is_finite().then(|| (value, Vec::new()))
            }
            Act::Done => Some((0.0, Vec::new())),
        }
    }

    /// The test with most information about the candidates per minute, if one tells anything.
    fn most_telling(&self, belief: &Belief) -> Option<Act> {
        let problem = self.prepared.problem;
        let mut best: Option<(f64, usize)> = None;
        for test in (0..problem.tests.len()).filter(|&test| belief.open(problem, test)) {
            let (cost, _) = belief.to_test(problem, test);
            if !cost.is_finite() {
                continue;
            }
            let weight = belief.weight();
            let left: f64 = (belief.results(problem, test, FINE).iter())
                .map(|result| result.weight / weight * entropy(result.particles.iter().map(|p| p.weight)))
                .sum();
            let told = entropy(belief.particles.iter().map(|particle| particle.weight)) - left;
            let rate = told / cost.max(1e-9);
            if told >= TELLING && best.is_none_or(|(most, _)| rate > most) {
                best = Some((rate, test));
            }
        }
        best.map(|(_, test)| Act::Test(test))
    }
}

/// For each fix, the causes that it removes.
fn removes(prepared: &Prepared<'_>) -> Vec<BitSet> {
    let of = |fix: &FixForm| {
        let causes = fix.removes.iter().filter(|(_, chance)| *chance > 0.0);
        causes.fold(BitSet::default(), |set, (cause, _)| set.with((*cause).into()))
    };
    prepared.problem.fixes.iter().map(of).collect()
}

/// For each cause, the least that a fix of it costs, ways aside.
fn cheapest(prepared: &Prepared<'_>) -> Vec<f64> {
    let mut cheapest = vec![f64::INFINITY; 128];
    for fix in &prepared.problem.fixes {
        for &(cause, _) in fix.removes.iter().filter(|(_, chance)| *chance > 0.0) {
            let known = &mut cheapest[usize::from(cause)];
            *known = known.min(fix.cost);
        }
    }
    cheapest
}

/// Results below this share are not split further by the other findings of the test.
pub(crate) const FINE: f64 = 1e-3;

/// Entropy in bits of weights that need not sum to 1.
fn entropy(weights: impl Iterator<Item = f64> + Clone) -> f64 {
    let whole: f64 = weights.clone().sum();
    weights.filter(|weight| *weight > 0.0).map(|weight| -(weight / whole) * (weight / whole).log2()).sum()
}
