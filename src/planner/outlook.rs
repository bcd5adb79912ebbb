//! The outlook of a situation: what the plan is expected to take, how far that may be from the best possible.
//!
//! In: a model, a situation, an effort. Out: the first step with the plan's expected minutes when it is asked anew at every
//! point: exact where the problem is small, else simulated with an interval; the exact optimum where it can be had; the
//! perfect-information bound. All of it under the same candidates: samples where there are many.

use super::advice::Advice;
use super::advise::{PlanError, advise_on, believed, settled};
use super::closed_loop::{Expected, exactly, simulated};
use super::compose::Composer;
use super::effort::Budget;
use super::optimum::optimum;
use super::policy::Policy;
use super::situation::Situation;
use super::standing::standings;
use crate::model::Model;

/// Tests and fixes together up to which a problem is small, and candidates up to which it is.
const SMALL: (usize, usize) = (16, 64);
/// Beliefs that the exact values may take.
const BELIEFS: usize = 100_000;

/// What is to be expected.
#[derive(Clone, PartialEq, Debug)]
pub struct Outlook {
    /// The first step and its reasons.
    pub advice: Advice,
    /// The plan's expected minutes, asked anew at every point. Exact where the error is 0.
    pub plan: Expected,
    /// The rule by which the plan was followed.
    pub policy: Policy,
    /// The expected minutes of repairs by chance over cost, without tests, followed alike.
    pub repairs: Expected,
    /// The same of the test that tells most per minute, then repairs.
    pub entropy: Expected,
    /// The exact optimum, where it can be had.
    pub optimum: Option<f64>,
    /// No plan can expect less (perfect information).
    pub bound: f64,
}

/// The outlook; `calls` are simulated where it cannot be exact.
///
/// Cost: small problems some milliseconds; others `calls` plans of one step at every point.
///
/// # Errors
/// Evidence that is impossible, does not fit the network, or is too entangled.
pub fn outlook(
    model: &Model,
    situation: &Situation,
    budget: &Budget,
    calls: usize,
) -> Result<Outlook, PlanError> {
    if let Some(advice) = settled(situation) {
        let nothing = Expected { value: 0.0, error: 0.0, exact: true, counted: 0 };
        return Ok(Outlook {
            advice,
            plan: nothing,
            policy: Policy::Repairs,
            repairs: nothing,
            entropy: nothing,
            optimum: Some(0.0),
            bound: 0.0,
        });
    }
    let (worlds, drawn) = believed(model, situation, budget)?;
    let advice = advise_on(model, situation, (&worlds, &drawn), budget);
    let mut done = situation.done_fixes.clone();
    done.extend(situation.evidence.fixes());
    let standings = standings(&model.network, &worlds, &situation.complaints, &done, budget.seed);
    let problem = Composer::new(model, situation, &standings, &drawn).compose(None).problem;
    let small = problem.tests.len() + problem.fixes.len() <= SMALL.0 && problem.candidates.len() <= SMALL.1;
    let best = if small { optimum(&problem, BELIEFS).map(|best| best.value) } else { None };
    let exact = |policy| if small { exactly(&problem, policy, budget.expansions, BELIEFS) } else { None };
    let simulate = |policy| simulated(&problem, policy, budget.expansions, calls.max(2), budget.seed);
    let policy = if small { Policy::RolloutTwoSteps } else { Policy::OneStep };
    Ok(Outlook {
        bound: advice.bound_minutes,
        plan: exact(policy).unwrap_or_else(|| simulate(policy)),
        repairs: exact(Policy::Repairs).unwrap_or_else(|| simulate(Policy::Repairs)),
        entropy: exact(Policy::Entropy).unwrap_or_else(|| simulate(Policy::Entropy)),
        policy,
        optimum: best,
        advice,
    })
}
