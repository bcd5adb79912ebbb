//! Voltage drop along copper conductors.

use super::parameter::{not_below, within};
use super::{Body, Function};

/// NEC Chapter 9 Table 8, uncoated stranded copper at 75 °C, as quoted: gauge (1/0 is 0, 2/0 is −1 …), ohms per 1000 ft.
/// 18 AWG is solid and from memory.
const OHMS: [(f64, f64); 10] = [
    (18.0, 7.77),
    (14.0, 3.07),
    (12.0, 1.93),
    (10.0, 1.21),
    (8.0, 0.764),
    (6.0, 0.491),
    (4.0, 0.308),
    (2.0, 0.194),
    (0.0, 0.122),
    (-3.0, 0.0608),
];

fn ohms(gauge: f64) -> Result<f64, String> {
    let found = OHMS.iter().find(|(awg, _)| *awg == gauge).map(|(_, ohms)| *ohms);
    found.ok_or_else(|| {
        format!("there is no row for {gauge} AWG: 18, 14, 12, 10, 8, 6, 4, 2, 1/0 (0), 4/0 (-3)")
    })
}

/// The drop over both ways of a circuit of that shape.
fn drop(shape: f64, v: &[f64]) -> Result<f64, String> {
    Ok(shape * v[0] * v[1] * ohms(v[2])? / 1000.0)
}

const SOURCE: &str = "NEC Chapter 9 Table 8, quoted (18 AWG from memory): copper at 75 C; at room temperature about 82 % of it. Usual advice is 3 % in a branch, 5 % in all (NEC informational notes, from memory)";

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "wire_ohms",
        text: "resistance of 1000 ft of copper",
        parameters: &[within("gauge", "", -3.0, 18.0).plain()],
        gives: &["ohm"],
        formula: "row of the table; 1/0 is 0, 4/0 is -3",
        source: SOURCE,
        body: Body::Number(|v| ohms(v[0])),
    },
    Function {
        name: "voltage_drop",
        text: "voltage drop of a three-phase circuit",
        parameters: &[
            not_below("amps", "A"),
            not_below("one_way", "ft"),
            within("gauge", "", -3.0, 18.0).plain(),
        ],
        gives: &["V"],
        formula: "√3 × A × ohms per 1000 ft × ft / 1000",
        source: SOURCE,
        body: Body::Number(|v| drop(3.0_f64.sqrt(), v)),
    },
    Function {
        name: "voltage_drop_single",
        text: "voltage drop of a single-phase or DC circuit, there and back",
        parameters: &[
            not_below("amps", "A"),
            not_below("one_way", "ft"),
            within("gauge", "", -3.0, 18.0).plain(),
        ],
        gives: &["V"],
        formula: "2 × A × ohms per 1000 ft × ft / 1000",
        source: SOURCE,
        body: Body::Number(|v| drop(2.0, v)),
    },
];
