//! From what was read to an outcome and a weight per outcome.

use super::trust;
use crate::inference::reading::band_weights;
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
        Seen::Value { value, sd } => {
            let gives = model.tests[test.at()].gives.iter().find(|gives| gives.finding == finding);
            let bands = gives.and_then(|gives| gives.scale.as_ref()).map_or(&[][..], |scale| &scale.bands);
            band_weights(value, sd, bands)
        }
    };
    let nothing = 1.0 / outcomes as f64;
    let weights =
        if sure { weights } else { weights.iter().map(|weight| 0.5 * (weight + nothing)).collect() };
    (finding, heaviest(&weights), weights)
}

/// The outcome of the largest weight, the first of equals.
pub(crate) fn heaviest(weights: &[f64]) -> usize {
    let largest = weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    weights.iter().position(|&weight| weight == largest).unwrap_or(0)
}
