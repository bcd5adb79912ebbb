//! The exact optimum of a small problem, by dynamic programming over beliefs.
//!
//! V*(b) = min over acts of: a test (every result), a fix, a proof (when a fix is unproven), a stop. It terminates because
//! every test and fix is done once. Equal beliefs are valued once (weights equal to `SAME` of the whole, same place, same
//! acts open). Exponential in tests and fixes: for tests, and to hold the planner against it.
//!
//! Handing over is valued as elsewhere, by the base plan of whoever is sent: that is what the stop act means.

use std::collections::HashMap;

use super::base_plan::{Act, NOTHING, stop_value};
use super::belief::Belief;
use super::prepared::Prepared;
use super::problem::{Problem, Proof};

/// Beliefs closer than this share of their weight are the same.
const SAME: f64 = 1e-11;

/// The optimum: expected cost per unit of weight, a best first act, and how many beliefs were valued.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Optimum {
    /// Expected cost.
    pub value: f64,
    /// A best first act; the first of equals in the order tests, fixes, proof, stops.
    pub act: Act,
    /// Beliefs valued.
    pub beliefs: usize,
}

/// Solves a problem exactly, valuing at most `limit` different beliefs.
///
/// `None`: it would take more.
#[must_use]
pub fn optimum(problem: &Problem, limit: usize) -> Option<Optimum> {
    let prepared = Prepared::new(problem);
    let belief = Belief::start(problem);
    if belief.weight() <= 0.0 {
        return Some(Optimum { value: 0.0, act: Act::Done, beliefs: 0 });
    }
    let mut solver = Solver { prepared: &prepared, known: HashMap::new(), limit };
    let (value, act) = solver.value(&belief)?;
    Some(Optimum { value, act, beliefs: solver.known.len() })
}

type Key = (u16, bool, Vec<bool>, Vec<Option<Vec<usize>>>, Vec<(usize, u128, u64)>);

struct Solver<'a, 'p> {
    prepared: &'a Prepared<'p>,
    known: HashMap<Key, (f64, Act)>,
    limit: usize,
}

impl Solver<'_, '_> {
    /// Value per unit of weight, and a best act.
    fn value(&mut self, belief: &Belief) -> Option<(f64, Act)> {
        let weight = belief.weight();
        if weight <= 0.0 {
            return Some((0.0, Act::Done));
        }
        let key = self.key(belief, weight);
        if let Some(&known) = self.known.get(&key) {
            return Some(known);
        }
        if self.known.len() >= self.limit {
            return None;
        }
        let problem = self.prepared.problem;
        let mut best = (f64::INFINITY, Act::Done);
        let mut take = |value: f64, act: Act| {
            if value < best.0 {
                best = (value, act);
            }
        };
        let items = belief.items(self.prepared);
        for stop in 0..problem.stops.len() {
            let value = stop_value(self.prepared, stop, &items, belief.mode, belief.unproven, &belief.tried);
            take(value / weight, Act::Stop(stop));
        }
        for test in (0..problem.tests.len()).filter(|&test| belief.open(problem, test)) {
            let (cost, _) = belief.to_test(problem, test);
            let results = belief.results(problem, test, 0.0);
            if !cost.is_finite() || (results.len() < 2 && !self.opens(test)) {
                continue;
            }
            let mut value = cost;
            for result in &results {
                let after = belief.after(problem, test, result);
                value += result.weight / weight * self.value(&after)?.0;
            }
            take(value, Act::Test(test));
        }
        for fix in 0..problem.fixes.len() {
            let (cost, there) = self.prepared.present.to_fix(belief.mode, fix);
            if belief.tried[fix] || !cost.is_finite() || !self.touches(belief, fix) {
                continue;
            }
            let fixed = belief.fixed(problem, fix);
            let value = match problem.proof {
                Proof::AtOnce => {
                    let failed = fixed.failed(problem, there);
                    cost + failed.weight() / weight * self.value(&failed)?.0
                }
                Proof::Takes { .. } => cost + self.value(&fixed)?.0,
                Proof::Never => continue,
            };
            take(value, Act::Fix(fix));
        }
        if let (true, Proof::Takes { to, .. }) = (belief.unproven, problem.proof) {
            let failed = belief.failed(problem, to);
            let value = self.prepared.present.to_proof(belief.mode)
                + failed.weight() / weight * self.value(&failed)?.0;
            take(value, Act::Prove);
        }
        self.known.insert(key, best);
        Some(best)
    }

    fn opens(&self, test: usize) -> bool {
        self.prepared.problem.tests.iter().any(|other| other.needs.iter().any(|need| need.test == test))
    }

    fn touches(&self, belief: &Belief, fix: usize) -> bool {
        let problem = self.prepared.problem;
        let touched: f64 = (belief.particles.iter())
            .filter(|particle| {
                let there = problem.candidates[particle.candidate].causes.minus(particle.gone);
                problem.fixes[fix].removes.iter().any(|(cause, q)| *q > 0.0 && there.has((*cause).into()))
            })
            .map(|particle| particle.weight)
            .sum();
        touched > NOTHING * belief.weight()
    }

    fn key(&self, belief: &Belief, weight: f64) -> Key {
        let mut particles: Vec<(usize, u128, u64)> = Vec::new();
        let mut sorted = belief.particles.clone();
        sorted.sort_by_key(|particle| (particle.candidate, particle.gone));
        let mut at = 0;
        while at < sorted.len() {
            let head = sorted[at];
            let mut sum = 0.0;
            while at < sorted.len() && sorted[at].candidate == head.candidate && sorted[at].gone == head.gone
            {
                sum += sorted[at].weight;
                at += 1;
            }
            particles.push((head.candidate, head.gone.0, (sum / weight / SAME).round() as u64));
        }
        particles.retain(|(_, _, share)| *share > 0);
        // Outcomes matter to the future only where something needs them.
        let taken = (belief.taken.iter().enumerate())
            .map(|(test, taken)| {
                taken.as_ref().map(|outcomes| if self.opens(test) { outcomes.clone() } else { Vec::new() })
            })
            .collect();
        (belief.mode, belief.unproven, belief.tried.clone(), taken, particles)
    }
}
