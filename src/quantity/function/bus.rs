//! A serial bus of two wires: termination, bias, time of a character.

use super::parameter::{above, within};
use super::{Body, Function};

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "parallel",
        text: "resistance of several in parallel",
        parameters: &[above("ohms…", "ohm")],
        gives: &["ohm"],
        formula: "1 / Σ (1 / R)",
        source: "Ohm's law; computed",
        body: Body::Number(|v| {
            if v.is_empty() {
                Err("no numbers given".to_owned())
            } else {
                Ok(1.0 / v.iter().map(|r| 1.0 / r).sum::<f64>())
            }
        }),
    },
    Function {
        name: "termination",
        text: "resistance across the pair, power off, with so many terminators of 120 ohm",
        parameters: &[within("terminators", "", 1.0, 64.0).plain()],
        gives: &["ohm"],
        formula: "120 / number; 60 ohm is right: one at each physical end",
        source: "common practice, no published source read; computed",
        body: Body::Number(|v| Ok(120.0 / v[0])),
    },
    Function {
        name: "idle_bias",
        text: "voltage across the pair when nobody talks",
        parameters: &[above("supply", "V"), above("bias_ohms", "ohm"), above("bus_ohms", "ohm")],
        gives: &["mV"],
        formula: "1000 × V × bus / (2 × bias + bus); equal resistors to the supply and to common, at one place only",
        source: "Ohm's law; computed. A receiver needs 200 mV (TIA/EIA-485, from memory)",
        body: Body::Told(
            |v| Ok(1000.0 * v[0] * v[2] / (2.0 * v[1] + v[2])),
            |_, millivolts| {
                let enough = if millivolts >= 200.0 { "enough" } else { "too weak" };
                vec![format!("{enough}: a receiver needs 200 mV (from memory)")]
            },
        ),
    },
    Function {
        name: "unit_loads",
        text: "resistance of so many unit loads on a bus",
        parameters: &[within("loads", "", 0.125, 256.0).plain()],
        gives: &["ohm"],
        formula: "12000 / loads; 32 are allowed",
        source: "TIA/EIA-485, quoted: 32 unit loads, one about 12 kohm",
        body: Body::Number(|v| Ok(12_000.0 / v[0])),
    },
    Function {
        name: "character_time",
        text: "time of a character of 11 bits on a serial line",
        parameters: &[above("rate", "baud")],
        gives: &["ms"],
        formula: "11000 / baud",
        source: "Modbus over Serial Line V1.02, 2.5.1.1: a frame ends with 3.5 characters of silence, and breaks at a gap above 1.5",
        body: Body::Told(
            |v| Ok(11_000.0 / v[0]),
            |v, ms| {
                // Above 19200 baud the guide fixes the gaps (from memory).
                let (inside, between) = if v[0] > 19_200.0 { (0.75, 1.75) } else { (1.5 * ms, 3.5 * ms) };
                vec![format!(
                    "gap inside a frame at most {inside:.3} ms, between frames at least {between:.3} ms"
                )]
            },
        ),
    },
];
