//! Platinum resistance thermometers of the 0.00385 curve.

use super::parameter::within;
use super::{Body, Function, inverse};

/// Callendar–Van Dusen coefficients of IEC 60751.
const A: f64 = 3.9083e-3;
const B: f64 = -5.775e-7;
const C: f64 = -4.183e-12;

/// Range of the standard, in °C.
const FROM: f64 = -200.0;
const TO: f64 = 850.0;

/// Half a digit of the usual table, as a multiple of the resistance at 0 °C.
const ROUNDING: f64 = 5e-5;

/// Resistance as a multiple of that at 0 °C.
fn ratio(t: f64) -> f64 {
    let below = if t < 0.0 { C * (t - 100.0) * t.powi(3) } else { 0.0 };
    1.0 + A * t + B * t * t + below
}

/// The temperature at that multiple.
fn temperature(times: f64) -> Result<f64, String> {
    // Tables and meters round: what rounds to the end of the range is the end.
    if (ratio(FROM) - ROUNDING..=ratio(TO) + ROUNDING).contains(&times) {
        Ok(inverse(ratio, times, FROM, TO))
    } else {
        Err(format!(
            "no platinum element shows this between {FROM} and {TO} C: open, shorted, or another kind"
        ))
    }
}

/// Tolerances of IEC 60751.
fn told(celsius: f64) -> Vec<String> {
    let t = celsius.abs();
    vec![format!("tolerance ± {:.2} C in class A, ± {:.2} C in class B", 0.15 + 0.002 * t, 0.3 + 0.005 * t)]
}

const SOURCE: &str = "IEC 60751, Callendar–Van Dusen, coefficients and values read on public pages; alpha 0.003851 (another platinum curve, 0.003916, exists)";
const FORMULA: &str = "R0 (1 + A t + B t²), below 0 C also + R0 C (t − 100) t³";

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "pt100_ohms",
        text: "resistance of a Pt100",
        parameters: &[within("temperature", "C", FROM, TO)],
        gives: &["ohm"],
        formula: FORMULA,
        source: SOURCE,
        body: Body::Told(|v| Ok(100.0 * ratio(v[0])), |v, _| told(v[0])),
    },
    Function {
        name: "pt1000_ohms",
        text: "resistance of a Pt1000",
        parameters: &[within("temperature", "C", FROM, TO)],
        gives: &["ohm"],
        formula: FORMULA,
        source: SOURCE,
        body: Body::Told(|v| Ok(1000.0 * ratio(v[0])), |v, _| told(v[0])),
    },
    Function {
        name: "pt100_temperature",
        text: "temperature of a Pt100; each ohm of lead reads 2.6 C too high",
        parameters: &[within("ohms", "ohm", 0.0, 1e6)],
        gives: &["C", "F"],
        formula: "the temperature at which the formula of pt100_ohms gives this, solved by halving",
        source: SOURCE,
        body: Body::Told(|v| temperature(v[0] / 100.0), |_, t| told(t)),
    },
    Function {
        name: "pt1000_temperature",
        text: "temperature of a Pt1000; each ohm of lead reads 0.26 C too high",
        parameters: &[within("ohms", "ohm", 0.0, 1e6)],
        gives: &["C", "F"],
        formula: "the temperature at which the formula of pt1000_ohms gives this, solved by halving",
        source: SOURCE,
        body: Body::Told(|v| temperature(v[0] / 1000.0), |_, t| told(t)),
    },
];
