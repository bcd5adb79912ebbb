//! NTC thermistors of 10 kohm at 25 °C: known curves, the beta equation, and which curve fits a measured pair.

use super::parameter::{above, within};
use super::{Body, Function, inverse};

const KELVIN: f64 = 273.15;

/// A known curve: temperature in °C to ohms, falling, over a range.
struct Curve {
    name: &'static str,
    ohms: fn(f64) -> f64,
    from: f64,
    to: f64,
}

const CURVES: [Curve; 3] = [
    Curve { name: "the curve commonly called 10k type II", ohms: type_2, from: -40.0, to: 150.0 },
    Curve { name: "the curve commonly called 10k type III", ohms: type_3, from: TYPE_3[0].0, to: 100.0 },
    Curve { name: "10k with beta 3974", ohms: |t| beta_ohms(3974.0, 10_000.0, t), from: -25.0, to: 125.0 },
];

/// Steinhart and Hart: 1/T = A + B ln R + C (ln R)³. From memory; gives the published points within 0.02 K.
fn steinhart_hart(ohms: f64) -> f64 {
    let log = ohms.ln();
    1.0 / (1.129_241e-3 + 2.341_077e-4 * log + 8.775_468e-8 * log.powi(3)) - KELVIN
}

/// The same, solved for ohms.
fn type_2(celsius: f64) -> f64 {
    // Falling in the logarithm of the resistance.
    inverse(|log| -steinhart_hart(log.exp()), -celsius, 0.0, 20.0).exp()
}

/// Points of the flatter curve, °C and ohms: (°F − 32) / 1.8 of -10, 0, 20, 40, 50, 60, 68, 70 and 77 °F by common practice;
/// of 104, 122 and 212 °F from memory.
const TYPE_3: [(f64, f64); 12] = [
    (-210.0 / 9.0, 93_333.0),
    (-160.0 / 9.0, 69_822.0),
    (-60.0 / 9.0, 40_147.0),
    (40.0 / 9.0, 23_874.0),
    (10.0, 18_655.0),
    (140.0 / 9.0, 14_681.0),
    (20.0, 12_191.0),
    (190.0 / 9.0, 11_652.0),
    (25.0, 10_000.0),
    (40.0, 5_592.0),
    (50.0, 3_893.0),
    (100.0, 817.0),
];

/// Between the points ln R is a straight line over 1/T.
fn type_3(celsius: f64) -> f64 {
    let after = TYPE_3.iter().position(|(t, _)| *t >= celsius).unwrap_or(TYPE_3.len() - 1).max(1);
    let ((t1, r1), (t2, r2)) = (TYPE_3[after - 1], TYPE_3[after]);
    let (x1, x2, x) = (1.0 / (t1 + KELVIN), 1.0 / (t2 + KELVIN), 1.0 / (celsius + KELVIN));
    (r1.ln() + (r2.ln() - r1.ln()) * (x - x1) / (x2 - x1)).exp()
}

fn beta_ohms(beta: f64, at_25: f64, celsius: f64) -> f64 {
    at_25 * (beta * (1.0 / (celsius + KELVIN) - 1.0 / (25.0 + KELVIN))).exp()
}

impl Curve {
    fn temperature(&self, ohms: f64) -> Result<f64, String> {
        // A point at the end of the range may come out beside itself by rounding.
        if !((self.ohms)(self.to) * 0.999..=(self.ohms)(self.from) * 1.001).contains(&ohms) {
            return Err(format!(
                "outside {}: {:.0} ohm at {:.0} C to {:.0} ohm at {:.0} C",
                self.name,
                (self.ohms)(self.from),
                self.from,
                (self.ohms)(self.to),
                self.to
            ));
        }
        Ok(inverse(|t| -(self.ohms)(t), -ohms, self.from, self.to))
    }
}

/// How far each known curve is off a measured pair, the nearest first.
fn which(celsius: f64, ohms: f64) -> Vec<String> {
    let mut fits: Vec<(f64, String)> = Vec::new();
    let mut outside = Vec::new();
    for curve in &CURVES {
        match curve.temperature(ohms) {
            Ok(shown) => {
                let off = shown - celsius;
                let fit = if off.abs() <= 1.0 { "fits" } else { "does not fit" };
                fits.push((
                    off.abs(),
                    format!(
                        "{}: {fit}; it shows {shown:.1} C, {:.1} F ({off:+.1} K)",
                        curve.name,
                        shown * 1.8 + 32.0
                    ),
                ));
            }
            Err(why) => outside.push(why),
        }
    }
    fits.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut lines: Vec<String> = fits.into_iter().map(|(_, line)| line).chain(outside).collect();
    if (celsius - 25.0).abs() < 5.0 {
        lines.push("near 25 C all of these agree: take a pair far from it".to_owned());
    }
    lines.push(
        "the names of the types are trade names, no standard: two pairs are better than one".to_owned(),
    );
    lines
}

const TYPE_2_SOURCE: &str = "common practice to 45 C (two tables that agree); above computed by Steinhart–Hart with coefficients from memory";
const TYPE_3_SOURCE: &str = "common practice to 25 C; above that, three points from memory";
const BETA_SOURCE: &str =
    "beta equation, textbook; B 3974 agrees with the thermistor table of the Zephyr project (Apache-2.0)";

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "ntc_ohms",
        text: "resistance of an NTC thermistor by its beta",
        parameters: &[
            above("beta", "").plain(),
            above("ohms_at_25", "ohm"),
            within("temperature", "C", -80.0, 300.0),
        ],
        gives: &["ohm", "kohm"],
        formula: "R25 × exp(beta × (1/T − 1/298.15)), T in kelvin",
        source: BETA_SOURCE,
        body: Body::Number(|v| Ok(beta_ohms(v[0], v[1], v[2]))),
    },
    Function {
        name: "ntc_temperature",
        text: "temperature of an NTC thermistor by its beta",
        parameters: &[above("beta", "").plain(), above("ohms_at_25", "ohm"), above("ohms", "ohm")],
        gives: &["C", "F"],
        formula: "1 / (1/298.15 + ln(R / R25) / beta) − 273.15",
        source: BETA_SOURCE,
        body: Body::Number(|v| {
            let inverse = 1.0 / (25.0 + KELVIN) + (v[2] / v[1]).ln() / v[0];
            if inverse > 0.0 {
                Ok(1.0 / inverse - KELVIN)
            } else {
                Err("no temperature gives this resistance".to_owned())
            }
        }),
    },
    Function {
        name: "ntc_beta",
        text: "beta of a thermistor from two pairs",
        parameters: &[
            within("temperature", "C", -80.0, 300.0),
            above("ohms", "ohm"),
            within("other_temperature", "C", -80.0, 300.0),
            above("other_ohms", "ohm"),
        ],
        gives: &["K"],
        formula: "ln(R1 / R2) / (1/T1 − 1/T2)",
        source: BETA_SOURCE,
        body: Body::Number(|v| {
            if v[0] == v[2] {
                return Err("the two temperatures are the same".to_owned());
            }
            Ok((v[1] / v[3]).ln() / (1.0 / (v[0] + KELVIN) - 1.0 / (v[2] + KELVIN)))
        }),
    },
    Function {
        name: "ntc_2_ohms",
        text: "resistance of the curve commonly called 10k type II",
        parameters: &[within("temperature", "C", -40.0, 150.0)],
        gives: &["ohm", "kohm"],
        formula: "Steinhart–Hart, solved for R by halving",
        source: TYPE_2_SOURCE,
        body: Body::Number(|v| Ok(type_2(v[0]))),
    },
    Function {
        name: "ntc_2_temperature",
        text: "temperature of the curve commonly called 10k type II",
        parameters: &[above("ohms", "ohm")],
        gives: &["C", "F"],
        formula: "1 / (A + B ln R + C (ln R)³) − 273.15; A 1.129241e-3, B 2.341077e-4, C 8.775468e-8",
        source: TYPE_2_SOURCE,
        body: Body::Number(|v| CURVES[0].temperature(v[0])),
    },
    Function {
        name: "ntc_3_ohms",
        text: "resistance of the curve commonly called 10k type III",
        parameters: &[within("temperature", "C", -23.3, 100.0)],
        gives: &["ohm", "kohm"],
        formula: "ln R straight over 1/T between known points",
        source: TYPE_3_SOURCE,
        body: Body::Number(|v| Ok(type_3(v[0]))),
    },
    Function {
        name: "ntc_3_temperature",
        text: "temperature of the curve commonly called 10k type III",
        parameters: &[above("ohms", "ohm")],
        gives: &["C", "F"],
        formula: "ln R straight over 1/T between known points",
        source: TYPE_3_SOURCE,
        body: Body::Number(|v| CURVES[1].temperature(v[0])),
    },
    Function {
        name: "ntc_which",
        text: "which known 10k curve fits a resistance measured at a known temperature",
        parameters: &[within("temperature", "C", -40.0, 150.0), above("ohms", "ohm")],
        gives: &[],
        formula: "the temperature that each curve shows at this resistance, against the known one; 1 K apart still fits",
        source: "the curves of ntc_2_ohms, ntc_3_ohms and beta 3974",
        body: Body::Text(|v| Ok(which(v[0], v[1]))),
    },
];
