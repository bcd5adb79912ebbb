//! Belts and sheaves.

use super::parameter::above;
use super::{Body, Function};

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "driven_speed",
        text: "speed of the driven sheave, without belt slip",
        parameters: &[above("rpm", "rpm"), above("motor_sheave", ""), above("driven_sheave", "")],
        gives: &["rpm"],
        formula: "rpm × motor sheave / driven sheave (pitch diameters)",
        source: "belt ratio, geometry",
        body: Body::Number(|v| Ok(v[0] * v[1] / v[2])),
    },
    Function {
        name: "belt_deflection",
        text: "deflection of the span at which the force of a well-tensioned belt is read",
        parameters: &[above("span", "in")],
        gives: &["in", "mm"],
        formula: "1/64 of the span",
        source: "US Army TM 5-4310-339-15",
        body: Body::Told(
            |v| Ok(v[0] / 64.0),
            |_, _| {
                vec!["force between normal and 150 % of normal is right; a new belt may have twice the normal one".to_owned()]
            },
        ),
    },
    Function {
        name: "belt_length",
        text: "length of a belt over two sheaves",
        parameters: &[above("centres", "in"), above("large_sheave", "in"), above("small_sheave", "in")],
        gives: &["in", "mm"],
        formula: "2 C + 1.5708 (D + d) + (D − d)² / 4 C",
        source: "belt geometry, the usual approximation; common practice",
        body: Body::Number(|v| {
            Ok(2.0 * v[0]
                + std::f64::consts::FRAC_PI_2 * (v[1] + v[2])
                + (v[1] - v[2]).powi(2) / (4.0 * v[0]))
        }),
    },
    Function {
        name: "belt_span",
        text: "free length between two sheaves",
        parameters: &[above("centres", "in"), above("large_sheave", "in"), above("small_sheave", "in")],
        gives: &["in", "mm"],
        formula: "√(C² − ((D − d) / 2)²)",
        source: "geometry",
        body: Body::Number(|v| {
            let square = v[0].powi(2) - ((v[1] - v[2]) / 2.0).powi(2);
            if square > 0.0 {
                Ok(square.sqrt())
            } else {
                Err("the sheaves do not fit between these centres".to_owned())
            }
        }),
    },
];
