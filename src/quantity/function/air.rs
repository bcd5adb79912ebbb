//! Fans and ducts: the fan laws, duct velocity.

use super::Function;

/// `value × (to / from)^power`.
fn fan_law(v: &[f64], power: i32) -> Result<f64, String> {
    Ok(v[0] * (v[2] / v[1]).powi(power))
}

const FAN_LAWS: &str = "fan laws: same fan, same system, same density (any handbook of fans); from memory";

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "fan_flow",
        parameters: &["flow", "from_speed", "to_speed"],
        formula: "flow × to / from",
        source: FAN_LAWS,
        body: |v| fan_law(v, 1),
    },
    Function {
        name: "fan_pressure",
        parameters: &["pressure", "from_speed", "to_speed"],
        formula: "pressure × (to / from)²",
        source: FAN_LAWS,
        body: |v| fan_law(v, 2),
    },
    Function {
        name: "fan_power",
        parameters: &["power", "from_speed", "to_speed"],
        formula: "power × (to / from)³",
        source: FAN_LAWS,
        body: |v| fan_law(v, 3),
    },
    Function {
        name: "velocity_from_pressure",
        parameters: &["inches_of_water"],
        formula: "4005 × √(velocity pressure in in. w.g.), in ft/min, standard air",
        source: "ACGIH, Industrial Ventilation, from memory",
        body: |v| Ok(4005.0 * v[0].sqrt()),
    },
];
