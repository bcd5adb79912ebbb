//! The exact optimum of a small problem, by dynamic programming over beliefs.
//!
//! V*(b) = min over acts of: a test (every result), a fix, a proof (when a fix is unproven), a stop. It terminates because
//! every test and fix is done once. Equal beliefs are valued once (weights equal to eleven digits of the whole, same place,
//! same acts open). Exponential in tests and fixes: for tests, and to hold the planner against it.
//!
//! Handing over is valued as elsewhere, by the base plan of whoever is sent: that is what the stop act means.

use std::collections::HashMap;

use super::base_plan::Act;
use super::belief::Belief;
use super::policy::Policies;
use super::prepared::Prepared;
use super::problem::Problem;

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
    let policies = Policies::new(&prepared, 0);
    let opens = policies.opening();
    let mut solver = Solver { policies, opens, known: HashMap::new(), limit };
    let (value, act) = solver.value(&belief)?;
    Some(Optimum { value, act, beliefs: solver.known.len() })
}

struct Solver<'a, 'p> {
    policies: Policies<'a, 'p>,
    opens: Vec<bool>,
    known: HashMap<u128, (f64, Act)>,
    limit: usize,
}

impl Solver<'_, '_> {
    /// Value per unit of weight, and a best act.
    fn value(&mut self, belief: &Belief) -> Option<(f64, Act)> {
        let weight = belief.weight();
        if weight <= 0.0 {
            return Some((0.0, Act::Done));
        }
        let key = belief.fingerprint(weight, &self.opens);
        if let Some(&known) = self.known.get(&key) {
            return Some(known);
        }
        if self.known.len() >= self.limit {
            return None;
        }
        // The base plan can be carried out, so what does not come below it is not looked at.
        let (planned, first) = self.policies.repairs(belief);
        let mut best = (planned / weight, first);
        // No act is left out that could be better: its cost and the bounds behind it are already no better than another's.
        let mut acts: Vec<(f64, Act, Vec<Belief>)> = Vec::new();
        for act in self.policies.every(belief) {
            let Some((minutes, after)) = self.policies.step(belief, act) else { continue };
            let floor: f64 = after.iter().map(|next| self.policies.floor(next)).sum();
            acts.push((minutes + floor, act, after));
        }
        acts.sort_by(|a, b| {
            let open = |acts: &(f64, Act, Vec<Belief>)| !acts.2.is_empty();
            open(a).cmp(&open(b)).then(a.0.total_cmp(&b.0)).then(a.1.cmp(&b.1))
        });
        for (least, act, after) in acts {
            if least / weight >= best.0 {
                continue;
            }
            let mut bound = least;
            for next in &after {
                if bound / weight >= best.0 {
                    break;
                }
                bound += next.weight() * self.value(next)?.0 - self.policies.floor(next);
            }
            if bound / weight < best.0 {
                best = (bound / weight, act);
            }
        }
        self.known.insert(key, best);
        Some(best)
    }
}
