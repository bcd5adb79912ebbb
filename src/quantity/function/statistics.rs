//! Plain arithmetic and statistics of a few readings.

use super::parameter::{any, not_below};
use super::{Body, Function};

fn some(values: &[f64]) -> Result<&[f64], String> {
    if values.is_empty() { Err("no numbers given".to_owned()) } else { Ok(values) }
}

fn mean(values: &[f64]) -> Result<f64, String> {
    Ok(some(values)?.iter().sum::<f64>() / values.len() as f64)
}

/// The larger deviation from the mean, in percent of the mean.
fn unbalance(values: &[f64]) -> Result<f64, String> {
    let mean = mean(values)?;
    if mean == 0.0 {
        return Err("the mean is zero, so that there is no unbalance".to_owned());
    }
    let deviation = values.iter().map(|v| (v - mean).abs()).fold(0.0, f64::max);
    Ok(100.0 * deviation / mean.abs())
}

/// What a voltage unbalance does to a motor, where three values were given.
fn told(values: &[f64], percent: f64) -> Vec<String> {
    let mut lines =
        vec![format!("mean {}", crate::quantity::reckon::short(mean(values).unwrap_or_default()))];
    if values.len() == 3
        && let Ok(factor) = super::motor::derating(percent)
    {
        lines.push(format!(
            "if these are line voltages: derate the motor to about {factor:.2} of its rating, ± 0.02; expect 6 to 10 times as much unbalance of the currents"
        ));
    }
    lines
}

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "max",
        text: "the largest of the values",
        parameters: &[any("values…", "")],
        gives: &[],
        formula: "the largest of the values",
        source: "definition",
        body: Body::Number(|v| Ok(some(v)?.iter().copied().fold(f64::NEG_INFINITY, f64::max))),
    },
    Function {
        name: "min",
        text: "the smallest of the values",
        parameters: &[any("values…", "")],
        gives: &[],
        formula: "the smallest of the values",
        source: "definition",
        body: Body::Number(|v| Ok(some(v)?.iter().copied().fold(f64::INFINITY, f64::min))),
    },
    Function {
        name: "mean",
        text: "the mean of the values",
        parameters: &[any("values…", "")],
        gives: &[],
        formula: "sum of the values / their number",
        source: "definition",
        body: Body::Number(mean),
    },
    Function {
        name: "count",
        text: "how many values there are",
        parameters: &[any("values…", "")],
        gives: &[],
        formula: "the number of values",
        source: "definition",
        body: Body::Number(|v| Ok(v.len() as f64)),
    },
    Function {
        name: "unbalance",
        text: "unbalance of the three line voltages or line currents",
        parameters: &[any("values…", "")],
        gives: &["%"],
        formula: "100 × largest deviation from the mean / mean",
        source: "NEMA MG 1, definition of voltage unbalance; example in US DOE Motor Systems Tip Sheet 7 (read in reprint); currents: EC&M, Unbalanced current",
        body: Body::Told(unbalance, told),
    },
    Function {
        name: "abs",
        text: "the value without its sign",
        parameters: &[any("value", "")],
        gives: &[],
        formula: "|value|",
        source: "definition",
        body: Body::Number(|v| Ok(v[0].abs())),
    },
    Function {
        name: "sqrt",
        text: "the square root",
        parameters: &[not_below("value", "")],
        gives: &[],
        formula: "√ value",
        source: "definition",
        body: Body::Number(|v| Ok(v[0].sqrt())),
    },
];
