//! What a policy costs when it is asked anew at every point: exactly where that is small, else by simulation.
//!
//! In: a problem and a policy. Out: expected minutes' worth per unit of weight. Exact: every result of every act is
//! followed, equal beliefs once. By simulation: candidates and draws by chance from a stated seed, with the standard error.

use std::collections::HashMap;

use super::base_plan::Act;
use super::belief::Belief;
use super::policy::{Policies, Policy};
use super::prepared::Prepared;
use super::problem::Problem;
use crate::inference::random::Random;

/// An expected cost, and how far it may be off by chance.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Expected {
    /// Expected cost per unit of weight.
    pub value: f64,
    /// Its standard error; 0 where it is exact.
    pub error: f64,
    /// Whether every result was followed.
    pub exact: bool,
    /// Beliefs met, or calls simulated.
    pub counted: usize,
}

impl Expected {
    /// The 95 % interval (normal approximation).
    #[must_use]
    pub fn interval(&self) -> (f64, f64) {
        (self.value - 1.96 * self.error, self.value + 1.96 * self.error)
    }
}

/// The exact expected cost of a policy, `effort` units for each decision; `None` where more than `limit` beliefs are met.
#[must_use]
pub fn exactly(problem: &Problem, policy: Policy, effort: u64, limit: usize) -> Option<Expected> {
    let prepared = Prepared::new(problem);
    let mut policies = Policies::new(&prepared, effort);
    let belief = Belief::start(problem);
    let weight = belief.weight();
    if weight <= 0.0 {
        return Some(Expected { value: 0.0, error: 0.0, exact: true, counted: 0 });
    }
    let opens = policies.opening();
    let mut known = HashMap::new();
    let value = follow(&mut policies, &belief, policy, effort, limit, &opens, &mut known)?;
    Some(Expected { value: value / weight, error: 0.0, exact: true, counted: known.len() })
}

fn follow(
    policies: &mut Policies<'_, '_>,
    belief: &Belief,
    policy: Policy,
    effort: u64,
    limit: usize,
    opens: &[bool],
    known: &mut HashMap<u128, f64>,
) -> Option<f64> {
    let weight = belief.weight();
    let key = belief.fingerprint(weight, opens);
    if let Some(&value) = known.get(&key) {
        return Some(value * weight);
    }
    if known.len() >= limit {
        return None;
    }
    policies.limit = policies.spent.saturating_add(effort);
    let act = policies.act(belief, policy);
    let (mut value, after) = policies.step(belief, act).unwrap_or_default();
    for next in &after {
        value += follow(policies, next, policy, effort, limit, opens, known)?;
    }
    known.insert(key, value / weight);
    Some(value)
}

/// The expected cost of a policy over `calls` calls drawn with this seed. A candidate is drawn, then at each act which
/// result follows; the belief goes with it.
#[must_use]
pub fn simulated(problem: &Problem, policy: Policy, effort: u64, calls: usize, seed: u64) -> Expected {
    let prepared = Prepared::new(problem);
    let mut policies = Policies::new(&prepared, effort);
    let start = Belief::start(problem);
    policies.look_only_at_the_best(&start);
    let (mut sum, mut squares) = (0.0, 0.0);
    let opens = policies.opening();
    let mut decided: HashMap<u128, Act> = HashMap::new();
    let mut random = Random::new(seed);
    for _ in 0..calls {
        let cost = one_call(&mut policies, &start, policy, effort, &opens, &mut decided, &mut random);
        sum += cost;
        squares += cost * cost;
    }
    let n = calls.max(1) as f64;
    let variance = (squares / n - (sum / n).powi(2)).max(0.0);
    Expected { value: sum / n, error: (variance / n).sqrt(), exact: false, counted: calls }
}

fn one_call(
    policies: &mut Policies<'_, '_>,
    start: &Belief,
    policy: Policy,
    effort: u64,
    opens: &[bool],
    decided: &mut HashMap<u128, Act>,
    random: &mut Random,
) -> f64 {
    let mut belief = start.clone();
    let mut cost = 0.0;
    loop {
        let weight = belief.weight();
        if weight <= 0.0 {
            return cost;
        }
        let key = belief.fingerprint(weight, opens);
        policies.limit = policies.spent.saturating_add(effort);
        let act = *decided.entry(key).or_insert_with(|| policies.act(&belief, policy));
        let Some((minutes, after)) = policies.step(&belief, act) else { return cost };
        cost += minutes / weight;
        // What no result has is the cure.
        let mut at = random.unit() * weight;
        let next = after.into_iter().find(|next| {
            at -= next.weight();
            at < 0.0
        });
        match next {
            Some(next) => belief = next,
            None => return cost,
        }
    }
}
