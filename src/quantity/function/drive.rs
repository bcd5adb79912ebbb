//! Drives: the DC link, its discharge, volts per hertz.

use super::parameter::{above, not_below};
use super::{Body, Function};

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "dc_link",
        text: "DC link of a drive under load",
        parameters: &[not_below("line_volts", "V")],
        gives: &["V"],
        formula: "3 √2 / π × V: mean of a three-phase bridge",
        source: "six-pulse rectifier, any textbook of power electronics; computed",
        body: Body::Number(|v| Ok(3.0 * std::f64::consts::SQRT_2 / std::f64::consts::PI * v[0])),
    },
    Function {
        name: "dc_link_peak",
        text: "DC link of a drive without load, or with single-phase input",
        parameters: &[not_below("line_volts", "V")],
        gives: &["V"],
        formula: "√2 × V",
        source: "peak of a sine; computed",
        body: Body::Number(|v| Ok(std::f64::consts::SQRT_2 * v[0])),
    },
    Function {
        name: "discharge_time",
        text: "time until a capacitor has discharged through a resistor",
        parameters: &[
            above("from_volts", "V"),
            above("to_volts", "V"),
            above("ohms", "ohm"),
            above("capacitance", "uF"),
        ],
        gives: &["s", "min"],
        formula: "ohms × farads × ln(from / to)",
        source: "discharge of a capacitor; computed. A bleeder may be open: wait as the maker says, then prove dead by measuring",
        body: Body::Told(
            |v| {
                if v[1] > v[0] {
                    Err("a capacitor discharges to a lower voltage".to_owned())
                } else {
                    Ok(v[2] * v[3] * 1e-6 * (v[0] / v[1]).ln())
                }
            },
            |_, _| {
                vec![
                    "with a sound bleeder only: wait as the maker's label says, then prove dead by measuring"
                        .to_owned(),
                ]
            },
        ),
    },
    Function {
        name: "volts_per_hertz",
        text: "ratio that a drive keeps up to the base frequency",
        parameters: &[not_below("volts", "V"), above("hertz", "Hz")],
        gives: &[],
        formula: "V / Hz",
        source: "definition",
        body: Body::Number(|v| Ok(v[0] / v[1])),
    },
    Function {
        name: "torque_above_base",
        text: "share of the rated torque that is there above the base frequency, where the voltage is capped",
        parameters: &[above("base_hertz", "Hz"), above("hertz", "Hz")],
        gives: &[],
        formula: "base / hertz, 1 below the base",
        source: "common practice, no published source: constant power above the base frequency",
        body: Body::Number(|v| Ok((v[0] / v[1]).min(1.0))),
    },
];
