//! Thermocouples J and K by the reference functions of the ITS-90.

use super::parameter::within;
use super::{Body, Function, inverse};

/// J, −210 to 760 °C, in mV.
const J_LOW: [f64; 9] = [
    0.0,
    0.503_811_878_150e-1,
    0.304_758_369_300e-4,
    -0.856_810_657_200e-7,
    0.132_281_952_950e-9,
    -0.170_529_583_370e-12,
    0.209_480_906_970e-15,
    -0.125_383_953_360e-18,
    0.156_317_256_970e-22,
];

/// K, below 0 °C, in mV. From memory; the leading digits agree with the page of NIST.
const K_LOW: [f64; 11] = [
    0.0,
    0.394_501_280_250e-1,
    0.236_223_735_980e-4,
    -0.328_589_067_840e-6,
    -0.499_048_287_770e-8,
    -0.675_090_591_730e-10,
    -0.574_103_274_280e-12,
    -0.310_888_728_940e-14,
    -0.104_516_093_650e-16,
    -0.198_892_668_780e-19,
    -0.163_226_974_860e-22,
];

/// K, above 0 °C, in mV, without the term of the magnetic ordering.
const K_HIGH: [f64; 10] = [
    -0.176_004_136_860e-1,
    0.389_212_049_750e-1,
    0.185_587_700_320e-4,
    -0.994_575_928_740e-7,
    0.318_409_457_190e-9,
    -0.560_728_448_890e-12,
    0.560_750_590_590e-15,
    -0.320_207_200_030e-18,
    0.971_511_471_520e-22,
    -0.121_047_212_750e-25,
];

fn polynomial(coefficients: &[f64], t: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * t + c)
}

fn j(t: f64) -> f64 {
    polynomial(&J_LOW, t)
}

fn k(t: f64) -> f64 {
    if t < 0.0 {
        return polynomial(&K_LOW, t);
    }
    polynomial(&K_HIGH, t) + 0.118_597_6 * (-0.118_343_2e-3 * (t - 126.968_6).powi(2)).exp()
}

const J_RANGE: (f64, f64) = (-210.0, 760.0);
const K_RANGE: (f64, f64) = (-200.0, 1372.0);

/// The temperature at which a couple whose terminals are at `terminals` gives that many millivolts.
fn temperature(
    couple: fn(f64) -> f64,
    (from, to): (f64, f64),
    millivolts: f64,
    terminals: f64,
) -> Result<f64, String> {
    let whole = millivolts + couple(terminals);
    if (couple(from)..=couple(to)).contains(&whole) {
        Ok(inverse(couple, whole, from, to))
    } else {
        Err(format!(
            "the couple shows this nowhere between {from} and {to} C: open, reversed, or another type"
        ))
    }
}

/// Tolerances of IEC 60584-2, from 333 °C on relative.
fn told(t: f64) -> Vec<String> {
    let (one, two) = (1.5_f64.max(0.004 * t.abs()), 2.5_f64.max(0.0075 * t.abs()));
    vec![format!(
        "tolerance ± {one:.1} C in class 1, ± {two:.1} C in class 2 (IEC 60584-2); by US colours the red lead is negative"
    )]
}

const SOURCE: &str =
    "NIST ITS-90 thermocouple database (SRD 60, Monograph 175), its90.nist.gov; reference junction at 0 C";
const FORMULA: &str =
    "reference polynomial of the type; K above 0 C with + 0.1185976 exp(−1.183432e-4 (t − 126.9686)²)";
const BACK: &str = "the temperature at which the reference function gives the millivolts plus those of the terminals, solved by halving";

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "thermocouple_j_millivolts",
        text: "voltage of a type J thermocouple",
        parameters: &[within("temperature", "C", J_RANGE.0, J_RANGE.1)],
        gives: &["mV"],
        formula: FORMULA,
        source: SOURCE,
        body: Body::Number(|v| Ok(j(v[0]))),
    },
    Function {
        name: "thermocouple_k_millivolts",
        text: "voltage of a type K thermocouple",
        parameters: &[within("temperature", "C", K_RANGE.0, K_RANGE.1)],
        gives: &["mV"],
        formula: FORMULA,
        source: SOURCE,
        body: Body::Number(|v| Ok(k(v[0]))),
    },
    Function {
        name: "thermocouple_j_temperature",
        text: "temperature of a type J thermocouple from a meter and the temperature of the terminals",
        parameters: &[within("millivolts", "mV", -100.0, 100.0), within("terminals", "C", -50.0, 150.0)],
        gives: &["C", "F"],
        formula: BACK,
        source: SOURCE,
        body: Body::Told(|v| temperature(j, J_RANGE, v[0], v[1]), |_, t| told(t)),
    },
    Function {
        name: "thermocouple_k_temperature",
        text: "temperature of a type K thermocouple from a meter and the temperature of the terminals",
        parameters: &[within("millivolts", "mV", -100.0, 100.0), within("terminals", "C", -50.0, 150.0)],
        gives: &["C", "F"],
        formula: BACK,
        source: SOURCE,
        body: Body::Told(|v| temperature(k, K_RANGE, v[0], v[1]), |_, t| told(t)),
    },
];
