//! Analogue signals: 0–10 V, 2–10 V, 4–20 mA, and any straight line.

use super::parameter::{any, within};
use super::{Body, Function};

const LINE: &str = "a straight line; computed";

/// The share of a range, in percent.
fn percent(value: f64, from: f64, to: f64) -> f64 {
    100.0 * (value - from) / (to - from)
}

/// The value at a share of a range.
fn at(percent: f64, from: f64, to: f64) -> f64 {
    from + percent / 100.0 * (to - from)
}

/// What a loop current means to a device that follows NAMUR NE 43 (limits from memory).
fn loop_told(v: &[f64], _: f64) -> Vec<String> {
    let told = match v[0] {
        x if x <= 3.6 => "failed low, or an open loop (NAMUR NE 43, from memory: 3.6 mA or less)",
        x if x >= 21.0 => "failed high, or a short (NAMUR NE 43, from memory: 21 mA or more)",
        x if !(3.8..=20.5).contains(&x) => {
            "outside the measuring range 3.8 to 20.5 mA (NAMUR NE 43, from memory)"
        }
        _ => return vec![],
    };
    vec![told.to_owned()]
}

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "scale",
        text: "a value carried from one range to another",
        parameters: &[
            any("value", ""),
            any("from_low", ""),
            any("from_high", ""),
            any("to_low", ""),
            any("to_high", ""),
        ],
        gives: &[],
        formula: "to_low + (value − from_low) / (from_high − from_low) × (to_high − to_low)",
        source: LINE,
        body: Body::Number(|v| {
            if v[1] == v[2] {
                return Err("`from_low` and `from_high` are the same".to_owned());
            }
            Ok(at(percent(v[0], v[1], v[2]), v[3], v[4]))
        }),
    },
    Function {
        name: "signal_0_10",
        text: "share of the range at a 0-10 V signal",
        parameters: &[within("volts", "V", 0.0, 12.0)],
        gives: &["%"],
        formula: "10 × V",
        source: LINE,
        body: Body::Number(|v| Ok(percent(v[0], 0.0, 10.0))),
    },
    Function {
        name: "signal_2_10",
        text: "share of the range at a 2-10 V signal",
        parameters: &[within("volts", "V", 0.0, 12.0)],
        gives: &["%"],
        formula: "100 × (V − 2) / 8; below 0: the signal is missing or of the 0-10 V kind",
        source: LINE,
        body: Body::Number(|v| Ok(percent(v[0], 2.0, 10.0))),
    },
    Function {
        name: "signal_4_20",
        text: "share of the range at a 4-20 mA signal",
        parameters: &[within("milliamps", "mA", 0.0, 30.0)],
        gives: &["%"],
        formula: "100 × (mA − 4) / 16",
        source: LINE,
        body: Body::Told(|v| Ok(percent(v[0], 4.0, 20.0)), loop_told),
    },
    Function {
        name: "volts_0_10",
        text: "0-10 V signal at a share of the range",
        parameters: &[within("percent", "%", 0.0, 100.0)],
        gives: &["V"],
        formula: "percent / 10",
        source: LINE,
        body: Body::Number(|v| Ok(at(v[0], 0.0, 10.0))),
    },
    Function {
        name: "volts_2_10",
        text: "2-10 V signal at a share of the range",
        parameters: &[within("percent", "%", 0.0, 100.0)],
        gives: &["V"],
        formula: "2 + 8 × percent / 100",
        source: LINE,
        body: Body::Number(|v| Ok(at(v[0], 2.0, 10.0))),
    },
    Function {
        name: "milliamps_4_20",
        text: "4-20 mA signal at a share of the range",
        parameters: &[within("percent", "%", 0.0, 100.0)],
        gives: &["mA"],
        formula: "4 + 16 × percent / 100",
        source: LINE,
        body: Body::Number(|v| Ok(at(v[0], 4.0, 20.0))),
    },
];
