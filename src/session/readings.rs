//! From what was read to an outcome and a weight per outcome.

use super::trust;
use crate::model::Model;
use crate::model::index::{FindingIx, TestIx};
use crate::model::observe::{Observed, Seen, Unreadable};

/// A finding, its weightiest outcome, a weight per outcome.
pub(crate) type Weighed = (FindingIx, usize, Vec<f64>);

/// What the numbers say of every finding of `test`, in the test's own measure and order.
///
/// A reading gives the chance that the true value lies in the band; trust has no part in it. "I think so" goes half-way to
/// saying nothing, as with every answer.
///
/// # Errors
/// Why the numbers cannot be used.
pub(crate) fn measured(
    model: &Model,
    test: TestIx,
    numbers: &[f64],
    sure: bool,
) -> Result<Vec<Weighed>, Unreadable> {
    let observed = model.measured(test, numbers)?;
    Ok(observed.into_iter().map(|observed| weighed(model, test, observed, 1.0, sure)).collect())
}

/// What a number or the words on a display say. A number without entry: tripped, class unknown.
///
/// # Errors
/// Where it could be several, or the test has no fault numbers.
pub(crate) fn fault(
    model: &Model,
    test: TestIx,
    text: &str,
    trust: f64,
    sure: bool,
) -> Result<Vec<Weighed>, Unreadable> {
    let observed = model.fault(test, text)?;
    Ok(observed.into_iter().map(|observed| weighed(model, test, observed, trust, sure)).collect())
}

fn weighed(model: &Model, test: TestIx, observed: Observed, trust: f64, sure: bool) -> Weighed {
    let finding = observed.finding;
    let outcomes = model.findings[finding.at()].outcomes.len();
    let weights = match observed.seen {
        Seen::Outcome(outcome) => return (finding, outcome, trust::plain(outcomes, outcome, trust, sure)),
        Seen::Abnormal { .. } => {
            let tripped: Vec<usize> = (1..outcomes).collect();
            return (finding, 1, trust::among(outcomes, &tripped, trust, sure));
        }
        Seen::Value { value, sd } => band_weights(model, test, finding, value, sd),
    };
    let nothing = 1.0 / outcomes as f64;
    let weights =
        if sure { weights } else { weights.iter().map(|weight| 0.5 * (weight + nothing)).collect() };
    (finding, heaviest(&weights), weights)
}

fn band_weights(model: &Model, test: TestIx, finding: FindingIx, value: f64, _sd: f64) -> Vec<f64> {
    let outcomes = model.findings[finding.at()].outcomes.len();
    let mut gives = model.tests[test.at()].gives.iter().filter(|gives| gives.finding == finding);
    let bands = gives
        .next()
        .and_then(|gives| gives.scale.as_ref())
        .map(|scale| scale.bands.as_slice())
        .unwrap_or(&[]);
    let inside = |band: &Vec<(f64, f64)>| band.iter().any(|&(from, to)| from <= value && value < to);
    let at = bands.iter().position(inside);
    (0..outcomes).map(|outcome| if at == Some(outcome) { 1.0 } else { 0.0 }).collect()
}

/// The outcome of the largest weight, the first of equals.
pub(crate) fn heaviest(weights: &[f64]) -> usize {
    let largest = weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    weights.iter().position(|&weight| weight == largest).unwrap_or(0)
}
