//! Plain arithmetic and statistics of a few readings.

use super::Function;

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

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "max",
        parameters: &["values…"],
        formula: "the largest of the values",
        source: "definition",
        body: |v| Ok(some(v)?.iter().copied().fold(f64::NEG_INFINITY, f64::max)),
    },
    Function {
        name: "min",
        parameters: &["values…"],
        formula: "the smallest of the values",
        source: "definition",
        body: |v| Ok(some(v)?.iter().copied().fold(f64::INFINITY, f64::min)),
    },
    Function {
        name: "mean",
        parameters: &["values…"],
        formula: "sum of the values / their number",
        source: "definition",
        body: mean,
    },
    Function {
        name: "count",
        parameters: &["values…"],
        formula: "the number of values",
        source: "definition",
        body: |v| Ok(v.len() as f64),
    },
    Function {
        name: "unbalance",
        parameters: &["values…"],
        formula: "100 × largest deviation from the mean / mean, in percent",
        source: "NEMA MG 1, definition of voltage unbalance; example in US DOE Motor Systems Tip Sheet 7",
        body: unbalance,
    },
    Function {
        name: "abs",
        parameters: &["value"],
        formula: "the value without its sign",
        source: "definition",
        body: |v| Ok(v[0].abs()),
    },
    Function {
        name: "sqrt",
        parameters: &["value"],
        formula: "the square root of the value",
        source: "definition",
        body: |v| Ok(v[0].sqrt()),
    },
];
