//! The acts that are open in a belief, what they cost and lead to, and what no plan from there can cost less than.
//!
//! In: a problem made ready, a belief. Out: acts; the beliefs behind an act; floors. Nothing is valued here.

use super::base_plan::{Act, NOTHING, stop_value};
use super::belief::{Belief, Particle};
use super::policy::Policies;
use super::prepared::Prepared;
use super::problem::{FixForm, Proof};
use crate::model::practice::BitSet;

/// The least information in bits for a test to be worth asking (entropy only).
const TELLING: f64 = 0.02;
/// So many fixes, best by chance over cost, are looked at in one belief.
const FIXES: usize = 8;
/// Results below this share are not split further by the other findings of the test.
pub(crate) const FINE: f64 = 1e-3;

impl Policies<'_, '_> {
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
    pub(super) fn acts(&self, belief: &Belief, short: bool) -> Vec<Act> {
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
    pub(super) fn most_telling(&self, belief: &Belief) -> Option<Act> {
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
pub(super) fn removes(prepared: &Prepared<'_>) -> Vec<BitSet> {
    let of = |fix: &FixForm| {
        let causes = fix.removes.iter().filter(|(_, chance)| *chance > 0.0);
        causes.fold(BitSet::default(), |set, (cause, _)| set.with((*cause).into()))
    };
    prepared.problem.fixes.iter().map(of).collect()
}

/// For each cause, the least that a fix of it costs, ways aside.
pub(super) fn cheapest(prepared: &Prepared<'_>) -> Vec<f64> {
    let mut cheapest = vec![f64::INFINITY; 128];
    for fix in &prepared.problem.fixes {
        for &(cause, _) in fix.removes.iter().filter(|(_, chance)| *chance > 0.0) {
            let known = &mut cheapest[usize::from(cause)];
            *known = known.min(fix.cost);
        }
    }
    cheapest
}

/// Entropy in bits of weights that need not sum to 1.
fn entropy(weights: impl Iterator<Item = f64> + Clone) -> f64 {
    let whole: f64 = weights.clone().sum();
    weights.filter(|weight| *weight > 0.0).map(|weight| -(weight / whole) * (weight / whole).log2()).sum()
}
