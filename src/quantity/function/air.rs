//! Fans and ducts: the fan laws, velocity pressure, density of air.

use super::parameter::{above, not_below, within};
use super::{Body, Function};

/// `value × (to / from)^power`.
pub(super) fn fan_law(v: &[f64], power: i32) -> Result<f64, String> {
    Ok(v[0] * (v[2] / v[1]).powi(power))
}

/// Share of the standard density, at feet above the sea and °F.
fn density_factor(feet: f64, fahrenheit: f64) -> f64 {
    (1.0 - 6.8754e-6 * feet).powf(5.2559) * 530.0 / (460.0 + fahrenheit)
}

const FAN_LAWS: &str = "fan laws: same fan, same system, same density; not through a fixed pressure set-point, nor across a moved damper. Common practice, no published source read";
/// The share that magnetises is a judgement: 0.3 to 0.5 of the nameplate current is common.
const FAN_MOTOR: &str = "derived: the part of the current that magnetises stays (volts per hertz are kept), taken as 0.4 of the nameplate (judgement); the other part goes with the torque, a fan's torque with the square of the speed (fan laws)";
const PITOT: &str = "ACGIH form, 4005 √ velocity pressure in in. w.g. at 0.075 lb/ft³, read on a public page";
const DENSITY: &str = "standard atmosphere with 530 °R as the standard temperature; common practice, agrees with a published table to 0.001";

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "fan_flow",
        text: "flow of a fan at another speed",
        parameters: &[not_below("flow", ""), above("from_speed", ""), not_below("to_speed", "")],
        gives: &[],
        formula: "flow × to / from",
        source: FAN_LAWS,
        body: Body::Number(|v| fan_law(v, 1)),
    },
    Function {
        name: "fan_pressure",
        text: "pressure of a fan at another speed",
        parameters: &[not_below("pressure", ""), above("from_speed", ""), not_below("to_speed", "")],
        gives: &[],
        formula: "pressure × (to / from)²",
        source: FAN_LAWS,
        body: Body::Number(|v| fan_law(v, 2)),
    },
    Function {
        name: "fan_power",
        text: "power of a fan at another speed",
        parameters: &[not_below("power", ""), above("from_speed", ""), not_below("to_speed", "")],
        gives: &[],
        formula: "power × (to / from)³",
        source: FAN_LAWS,
        body: Body::Number(|v| fan_law(v, 3)),
    },
    Function {
        name: "fan_motor_amps",
        text: "current of a motor with its nameplate load, when its fan turns at another speed on a drive",
        parameters: &[above("nameplate_amps", "A"), above("nameplate_hertz", "Hz"), not_below("hertz", "Hz")],
        gives: &["A"],
        formula: "nameplate amps × √(0.16 + 0.84 × (hertz / nameplate hertz)⁴)",
        source: FAN_MOTOR,
        body: Body::Number(|v| Ok(v[0] * (0.16 + 0.84 * (v[2] / v[1]).powi(4)).sqrt())),
    },
    Function {
        name: "air_power",
        text: "power in the air that a fan moves; divide by its efficiency for the shaft",
        parameters: &[not_below("flow", "cfm"), not_below("pressure", "inwg")],
        gives: &["hp", "kW"],
        formula: "cfm × in. w.g. / 6356, standard air",
        source: "common practice, no published source read",
        body: Body::Number(|v| Ok(v[0] * v[1] / 6356.0)),
    },
    Function {
        name: "velocity_from_pressure",
        text: "velocity in a duct from the velocity pressure of a pitot tube",
        parameters: &[not_below("velocity_pressure", "inwg")],
        gives: &["fpm", "m/s"],
        formula: "4005 × √ velocity pressure, standard air",
        source: PITOT,
        body: Body::Number(|v| Ok(4005.0 * v[0].sqrt())),
    },
    Function {
        name: "pressure_from_velocity",
        text: "velocity pressure of air in a duct",
        parameters: &[not_below("velocity", "fpm")],
        gives: &["inwg", "Pa"],
        formula: "(velocity / 4005)², standard air",
        source: PITOT,
        body: Body::Number(|v| Ok((v[0] / 4005.0).powi(2))),
    },
    Function {
        name: "velocity_in_hot_air",
        text: "velocity in a duct from the velocity pressure, in air that is not standard",
        parameters: &[not_below("velocity_pressure", "inwg"), above("density_factor", "").plain()],
        gives: &["fpm", "m/s"],
        formula: "4005 × √(velocity pressure / density factor)",
        source: PITOT,
        body: Body::Number(|v| Ok(4005.0 * (v[0] / v[1]).sqrt())),
    },
    Function {
        name: "density_factor",
        text: "density of air as a share of the standard one",
        parameters: &[
            within("altitude", "ft", -1500.0, 36_000.0),
            within("temperature", "F", -100.0, 1500.0),
        ],
        gives: &[],
        formula: "(1 − 6.8754e-6 × ft)^5.2559 × 530 / (460 + °F); times 0.075 lb/ft³ or 1.2 kg/m³",
        source: DENSITY,
        body: Body::Told(
            |v| Ok(density_factor(v[0], v[1])),
            |_, factor| {
                vec![format!(
                    "density {:.4} lb/ft³, {:.3} kg/m³; pressure and power of a fan go with it, flow does not",
                    0.075 * factor,
                    0.075 * factor * 16.018_463
                )]
            },
        ),
    },
    Function {
        name: "round_duct_flow",
        text: "flow in a round duct",
        parameters: &[above("diameter", "in"), not_below("velocity", "fpm")],
        gives: &["cfm", "L/s", "m3/h"],
        formula: "π / 4 × (in / 12)² × fpm",
        source: "geometry. Grease ducts: at least 500 fpm (1,500 until March 2002), NFPA 96, quoted in an ASHRAE abstract",
        body: Body::Number(|v| Ok(std::f64::consts::FRAC_PI_4 * (v[0] / 12.0).powi(2) * v[1])),
    },
    Function {
        name: "duct_flow",
        text: "flow in a rectangular duct",
        parameters: &[above("width", "in"), above("height", "in"), not_below("velocity", "fpm")],
        gives: &["cfm", "L/s", "m3/h"],
        formula: "in × in / 144 × fpm",
        source: "geometry",
        body: Body::Number(|v| Ok(v[0] * v[1] / 144.0 * v[2])),
    },
];
