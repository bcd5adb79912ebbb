//! Pumps and water: affinity laws, head, power in the water, net positive suction head.

use super::air::fan_law;
use super::parameter::{above, any, not_below, within};
use super::{Body, Function};

/// Feet of cold water that one psi carries.
const FEET_PER_PSI: f64 = 2.309;

const AFFINITY: &str = "affinity laws of centrifugal pumps, the same form as the fan laws: same pump and impeller; a standing height of the system does not follow them. Read on a public page";
const HANDBOOK: &str = "usual form of pump handbooks, specific gravity 1; read on a public page of one";

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "pump_flow",
        text: "flow of a centrifugal pump at another speed",
        parameters: &[not_below("flow", ""), above("from_speed", ""), not_below("to_speed", "")],
        gives: &[],
        formula: "flow × to / from",
        source: AFFINITY,
        body: Body::Number(|v| fan_law(v, 1)),
    },
    Function {
        name: "pump_head",
        text: "head of a centrifugal pump at another speed; the same for its pressure rise",
        parameters: &[not_below("head", ""), above("from_speed", ""), not_below("to_speed", "")],
        gives: &[],
        formula: "head × (to / from)²",
        source: AFFINITY,
        body: Body::Number(|v| fan_law(v, 2)),
    },
    Function {
        name: "pump_power",
        text: "power of a centrifugal pump at another speed",
        parameters: &[not_below("power", ""), above("from_speed", ""), not_below("to_speed", "")],
        gives: &[],
        formula: "power × (to / from)³",
        source: AFFINITY,
        body: Body::Number(|v| fan_law(v, 3)),
    },
    Function {
        name: "water_head",
        text: "height of cold water that a pressure carries",
        parameters: &[any("pressure", "psi")],
        gives: &["ft", "m"],
        formula: "2.309 × psi",
        source: HANDBOOK,
        body: Body::Number(|v| Ok(FEET_PER_PSI * v[0])),
    },
    Function {
        name: "water_power",
        text: "power in the water that a pump moves; divide by its efficiency for the shaft",
        parameters: &[not_below("flow", "gpm"), not_below("head", "ft")],
        gives: &["hp", "kW"],
        formula: "gpm × ft / 3960",
        source: HANDBOOK,
        body: Body::Number(|v| Ok(v[0] * v[1] / 3960.0)),
    },
    Function {
        name: "pump_shaft_power",
        text: "power at the shaft of a pump",
        parameters: &[
            not_below("flow", "gpm"),
            not_below("head", "ft"),
            within("efficiency", "", 0.01, 1.0).plain(),
        ],
        gives: &["hp", "kW"],
        formula: "gpm × ft / (3960 × efficiency)",
        source: HANDBOOK,
        body: Body::Number(|v| Ok(v[0] * v[1] / 3960.0 / v[2])),
    },
    Function {
        name: "suction_head",
        text: "net positive suction head that is there, to be held against what the pump asks for",
        parameters: &[
            above("absolute_pressure", "psi"),
            not_below("vapour_pressure", "psi"),
            any("height_above_pump", "ft"),
            not_below("friction", "ft"),
        ],
        gives: &["ft", "m"],
        formula: "2.309 × (absolute pressure − vapour pressure) + height of the water above the pump − friction",
        source: HANDBOOK,
        body: Body::Number(|v| Ok(FEET_PER_PSI * (v[0] - v[1]) + v[2] - v[3])),
    },
];
