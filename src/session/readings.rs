//! From the numbers that were read to a weight per outcome.

use crate::model::Model;
use crate::model::index::{FindingIx, TestIx};

/// The weights of every finding of `test`, given the numbers read, in the test's own measure and order.
///
/// # Errors
/// Why the numbers cannot be used.
pub(crate) fn weights(
    model: &Model,
    test: TestIx,
    numbers: &[f64],
    sure: bool,
) -> Result<Vec<(FindingIx, Vec<f64>)>, String> {
    let _ = (model, test, numbers, sure);
    Err("".into())
}

/// The outcome of the largest weight, the first of equals.
pub(crate) fn heaviest(weights: &[f64]) -> usize {
    let largest = weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    weights.iter().position(|&weight| weight == largest).unwrap_or(0)
}
