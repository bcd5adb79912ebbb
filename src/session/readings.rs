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
    observed.iter().try_for_each(|observed| within(model, test, observed))?;
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

/// Whether a value lies in some band, or near enough to one for its accuracy. What lies beyond all of them is no outcome
/// that the package knows, so that it is rather a slip, a wrong unit of measure or another terminal than evidence.
fn within(model: &Model, test: TestIx, observed: &Observed) -> Result<(), Unreadable> {
    let Seen::Value { value, sd } = observed.seen else { return Ok(()) };
    let Some(bands) = bands(model, test, observed.finding) else { return Ok(()) };
    if band_weights(value, sd, bands).iter().any(|&weight| weight > 0.0) {
        return Ok(());
    }
    let edges = || bands.iter().flatten();
    let from = edges().map(|band| band.0).fold(f64::INFINITY, f64::min);
    let to = edges().map(|band| band.1).fold(f64::NEG_INFINITY, f64::max);
    Err(Unreadable::Beyond { value, from, to })
}

fn bands(model: &Model, test: TestIx, finding: FindingIx) -> Option<&[Vec<(f64, f64)>]> {
    let gives = model.tests[test.at()].gives.iter().find(|gives| gives.finding == finding)?;
    gives.scale.as_ref().map(|scale| &scale.bands[..])
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
        Seen::Value { value, sd } => band_weights(value, sd, bands(model, test, finding).unwrap_or(&[])),
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
