//! Numbers that somebody would read where findings are as they are: well inside the true bands.
//!
//! In: a test and the outcome of each of its findings. Out: readings whose values fall into these bands, the likeliest of a
//! fixed search over magnitudes and patterns; `None` where none fits (findings drawn apart need not go together).

use crate::inference::reading::band_weights;
use crate::model::Model;
use crate::model::catalog::Part;
use crate::model::index::{FindingIx, TestIx};
use crate::model::observe::Seen;

/// Good enough to stop the search: almost certainly in all bands.
const CERTAIN: f64 = 0.999;
/// At least so probable in all bands.
const LEAST: f64 = 0.5;
/// What several readings may be in proportion to each other.
const PATTERNS: [[f64; 3]; 11] = [
    [1.0, 1.0, 1.0],
    [1.0, 1.002, 0.998],
    [1.0, 1.02, 0.97],
    [1.0, 1.05, 0.95],
    [1.0, 1.15, 0.8],
    [1.0, 1.4, 0.6],
    [1.0, 1.0, 0.0],
    [1.0, 0.0, 0.0],
    [0.0, 1.0, 0.5],
    [1.0, 1e4, 1e4],
    [1.0, 1.0, 1e4],
];

/// Readings of `test` for which its findings have these outcomes: as near to what is ordinarily read as they allow.
#[must_use]
pub fn readings(model: &Model, test: TestIx, outcomes: &[(FindingIx, usize)]) -> Option<Vec<f64>> {
    let (main, others) = model.tests[test.at()].reading.as_ref()?.parts.split_first()?;
    let mut best: Option<(f64, Vec<f64>)> = None;
    let patterns = if main.count == 1 { &PATTERNS[..1] } else { &PATTERNS[..] };
    for beside in besides(others) {
        for magnitude in magnitudes(ordinary(&main.measured_in)) {
            for pattern in patterns {
                let of_main = (0..main.count).map(|at| tidy(magnitude * pattern[at % 3]));
                let numbers: Vec<f64> = of_main.chain(beside.iter().copied()).collect();
                let chance = probability(model, test, &numbers, outcomes)?;
                if best.as_ref().is_none_or(|(most, _)| chance > *most) {
                    best = Some((chance, numbers));
                }
                if chance >= CERTAIN {
                    return best.map(|(_, numbers)| numbers);
                }
            }
        }
    }
    best.filter(|(chance, _)| *chance >= LEAST).map(|(_, numbers)| numbers)
}

/// What is ordinarily read in a unit of measure, as a place to begin.
fn ordinary(measured_in: &str) -> f64 {
    match measured_in {
        "V" => 208.0,
        "A" => 5.0,
        "Hz" => 60.0,
        "F" => 70.0,
        "C" => 21.0,
        "rpm" => 1150.0,
        "inwg" => 0.05,
        "ohm" | "Mohm" => 100.0,
        "%" => 50.0,
        _ => 10.0,
    }
}

/// Numbers of the further quantities of an entry: all at what is ordinary, then all at the same share of it.
fn besides(others: &[Part]) -> Vec<Vec<f64>> {
    let at = |share: f64| {
        let numbers = others.iter().flat_map(|part| vec![share * ordinary(&part.measured_in); part.count]);
        numbers.map(tidy).collect()
    };
    let shares = [1.0, 0.9, 0.8, 1.1, 0.6, 1.3, 0.4, 0.0];
    if others.is_empty() { vec![Vec::new()] } else { shares.into_iter().map(at).collect() }
}

/// Magnitudes from the thousandth to ten millions, nearest to the ordinary one first, then zero and some below it.
fn magnitudes(ordinary: f64) -> Vec<f64> {
    let mut up: Vec<f64> = (0..=230).map(|step| 1e-3 * 10f64.powf(f64::from(step) / 23.0)).collect();
    let far = |magnitude: f64| (magnitude / ordinary).ln().abs();
    up.sort_by(|a, b| far(*a).total_cmp(&far(*b)));
    let below = [0.0, -1.0, -5.0, -20.0, -40.0, -100.0];
    std::iter::once(ordinary).chain(up).chain(below).collect()
}

/// Three digits, as one reads them.
fn tidy(number: f64) -> f64 {
    if number == 0.0 {
        return 0.0;
    }
    let scale = 10f64.powf(2.0 - number.abs().log10().floor());
    (number * scale).round() / scale
}

/// The chance that the true values lie in the bands of these outcomes; `None` where the test cannot be read at all.
fn probability(model: &Model, test: TestIx, numbers: &[f64], outcomes: &[(FindingIx, usize)]) -> Option<f64> {
    use crate::model::observe::Unreadable;
    let observed = match model.measured(test, numbers) {
        Ok(observed) => observed,
        Err(Unreadable::NoValue(_)) => return Some(0.0),
        Err(_) => return None,
    };
    let mut chance = 1.0;
    for seen in observed {
        let Some(&(_, outcome)) = outcomes.iter().find(|(finding, _)| *finding == seen.finding) else {
            continue;
        };
        let Seen::Value { value, sd } = seen.seen else { continue };
        let gives = model.tests[test.at()].gives.iter().find(|gives| gives.finding == seen.finding)?;
        let weights = band_weights(value, sd, &gives.scale.as_ref()?.bands);
        chance *= weights.get(outcome).copied().unwrap_or(0.0);
    }
    Some(chance)
}
