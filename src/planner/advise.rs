//! From a model and a situation to an advice.

use super::advice::{Advice, Sent, Step, Why};
use super::situation::{Budget, Situation};
use crate::inference::InferenceError;
use crate::model::Model;

/// Why there is no advice.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum PlanError {
    /// The belief could not be computed.
    #[error(transparent)]
    Inference(#[from] InferenceError),
}

/// The step to take, its expected minutes, and why.
///
/// # Errors
/// Evidence that is impossible, does not fit the network, or is too entangled.
pub fn advise(model: &Model, situation: &Situation, _budget: &Budget) -> Result<Advice, PlanError> {
    let done = |step| Advice {
        step,
        expected_minutes: 0.0,
        why: Why::default(),
        others: Vec::new(),
        bound_minutes: 0.0,
    };
    if situation.complaints.iter().all(|complaint| situation.answered.get(complaint) == Some(&0)) {
        return Ok(done(if situation.to_put_back > 0 { Step::PutBack } else { Step::Done }));
    }
    let minutes = model.practice.unlisted.minutes;
    let step = Step::HandOver(Sent::default());
    Ok(Advice {
        step,
        expected_minutes: minutes,
        why: Why::default(),
        others: Vec::new(),
        bound_minutes: 0.0,
    })
}
