//! Power and current of single-phase and three-phase loads.

use super::parameter::{above, not_below, within};
use super::{Body, Function};

const DEFINITION: &str = "definition of three-phase power";

/// √3 × V × A, in kVA.
fn kva(volts: f64, amps: f64) -> f64 {
    3.0_f64.sqrt() * volts * amps / 1000.0
}

/// The mechanical horsepower as the trade rounds it.
const KILOWATTS_PER_HORSEPOWER: f64 = 0.746;

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "three_phase_amps",
        text: "line current of a three-phase load",
        parameters: &[not_below("kilovolt_amperes", "kVA"), above("volts", "V")],
        gives: &["A"],
        formula: "1000 × kVA / (√3 × V)",
        source: DEFINITION,
        body: Body::Number(|v| Ok(1000.0 * v[0] / (3.0_f64.sqrt() * v[1]))),
    },
    Function {
        name: "three_phase_kva",
        text: "apparent power of a three-phase load",
        parameters: &[not_below("volts", "V"), not_below("amps", "A")],
        gives: &["kVA"],
        formula: "√3 × V × A / 1000",
        source: DEFINITION,
        body: Body::Number(|v| Ok(kva(v[0], v[1]))),
    },
    Function {
        name: "three_phase_kw",
        text: "active power of a three-phase load",
        parameters: &[
            not_below("volts", "V"),
            not_below("amps", "A"),
            within("power_factor", "", 0.0, 1.0).plain(),
        ],
        gives: &["kW", "hp"],
        formula: "√3 × V × A × power factor / 1000",
        source: DEFINITION,
        body: Body::Number(|v| Ok(kva(v[0], v[1]) * v[2])),
    },
    Function {
        name: "three_phase_kvar",
        text: "reactive power of a three-phase load",
        parameters: &[
            not_below("volts", "V"),
            not_below("amps", "A"),
            within("power_factor", "", 0.0, 1.0).plain(),
        ],
        gives: &[],
        formula: "√3 × V × A × √(1 − power factor²) / 1000, in kvar",
        source: DEFINITION,
        body: Body::Number(|v| Ok(kva(v[0], v[1]) * (1.0 - v[2] * v[2]).sqrt())),
    },
    Function {
        name: "power_factor",
        text: "power factor of a three-phase load",
        parameters: &[not_below("kilowatts", "kW"), above("volts", "V"), above("amps", "A")],
        gives: &[],
        formula: "1000 × kW / (√3 × V × A)",
        source: DEFINITION,
        body: Body::Number(|v| {
            let factor = v[0] / kva(v[1], v[2]);
            if factor > 1.0 {
                Err(format!("a power factor is at most 1, not {factor:.4}: check the readings"))
            } else {
                Ok(factor)
            }
        }),
    },
    Function {
        name: "shaft_horsepower",
        text: "power at the shaft of a three-phase motor",
        parameters: &[
            not_below("volts", "V"),
            not_below("amps", "A"),
            within("power_factor", "", 0.0, 1.0).plain(),
            within("efficiency", "", 0.0, 1.0).plain(),
        ],
        gives: &["hp", "kW"],
        formula: "√3 × V × A × power factor × efficiency / 746",
        source: DEFINITION,
        body: Body::Number(|v| Ok(kva(v[0], v[1]) * v[2] * v[3] / KILOWATTS_PER_HORSEPOWER)),
    },
    Function {
        name: "motor_amps",
        text: "current of a three-phase motor at its shaft power",
        parameters: &[
            not_below("horsepower", "hp"),
            above("volts", "V"),
            within("efficiency", "", 0.01, 1.0).plain(),
            within("power_factor", "", 0.01, 1.0).plain(),
        ],
        gives: &["A"],
        formula: "746 × hp / (√3 × V × efficiency × power factor)",
        source: DEFINITION,
        body: Body::Number(|v| {
            Ok(1000.0 * KILOWATTS_PER_HORSEPOWER * v[0] / (3.0_f64.sqrt() * v[1] * v[2] * v[3]))
        }),
    },
    Function {
        name: "locked_rotor_amps",
        text: "starting current of a three-phase motor",
        parameters: &[above("kva_per_hp", "").plain(), above("horsepower", "hp"), above("volts", "V")],
        gives: &["A"],
        formula: "1000 × kVA per hp of the code letter × hp / (√3 × V); code G is 5.6 to 6.29",
        source: "NEC Table 430.7(B), from memory",
        body: Body::Number(|v| Ok(1000.0 * v[0] * v[1] / (3.0_f64.sqrt() * v[2]))),
    },
    Function {
        name: "single_phase_amps",
        text: "current of a single-phase load or a control transformer",
        parameters: &[not_below("volt_amperes", "VA"), above("volts", "V")],
        gives: &["A"],
        formula: "VA / V",
        source: "definition of apparent power",
        body: Body::Number(|v| Ok(v[0] / v[1])),
    },
    Function {
        name: "phase_volts",
        text: "voltage from a line to the star point; also of a high leg from half the winding",
        parameters: &[not_below("line_volts", "V")],
        gives: &["V"],
        formula: "V / √3",
        source: "geometry of a symmetrical star",
        body: Body::Number(|v| Ok(v[0] / 3.0_f64.sqrt())),
    },
    Function {
        name: "high_leg_volts",
        text: "voltage from the high leg of a delta to its neutral",
        parameters: &[not_below("half_winding_volts", "V")],
        gives: &["V"],
        formula: "√3 × V",
        source: "geometry of a delta with a tapped side",
        body: Body::Number(|v| Ok(v[0] * 3.0_f64.sqrt())),
    },
];
