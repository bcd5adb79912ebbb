//! Motors: synchronous speed, slip, derating for unbalance, overload settings.

use super::parameter::{above, not_below, within};
use super::{Body, Function};

/// Readings of the derating curve for voltage unbalance (percent, factor), joined by straight lines. From memory; other
/// readings of the same curve differ by 0.02.
const DERATING: [(f64, f64); 5] = [(1.0, 1.0), (2.0, 0.95), (3.0, 0.88), (4.0, 0.82), (5.0, 0.75)];

/// Of its rating, what a motor may carry at that voltage unbalance.
pub(super) fn derating(percent: f64) -> Result<f64, String> {
    if percent <= DERATING[0].0 {
        return Ok(1.0);
    }
    let between = DERATING.windows(2).find(|pair| percent <= pair[1].0);
    let Some(&[(from, high), (to, low)]) = between.and_then(|pair| pair.first_chunk::<2>()) else {
        return Err("a motor is not run above 5 % voltage unbalance".to_owned());
    };
    Ok(high + (low - high) * (percent - from) / (to - from))
}

fn synchronous_speed(hertz: f64, poles: f64) -> Result<f64, String> {
    if poles % 2.0 != 0.0 {
        return Err(format!("a motor has an even number of poles, not {poles}"));
    }
    Ok(120.0 * hertz / poles)
}

/// The percentage of the nameplate current to which an overload device may be set: first, and where it will not start.
fn overload(amps: f64, service_factor: f64, percents: [f64; 2]) -> f64 {
    amps * percents[usize::from(service_factor < 1.15)] / 100.0
}

const OVERLOAD: &str = "NEC (NFPA 70-2008) 430.32, quoted: separate device, motor over 1 hp, continuous duty; of the NAMEPLATE amps. A dial-type device is normally set to the nameplate amps (common practice): its margin is inside";

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "synchronous_speed",
        text: "speed of the field of a motor",
        parameters: &[not_below("hertz", "Hz"), within("poles", "", 2.0, 100.0).plain()],
        gives: &["rpm"],
        formula: "120 × hertz / poles",
        source: "common practice, no published source read",
        body: Body::Number(|v| synchronous_speed(v[0], v[1])),
    },
    Function {
        name: "slip",
        text: "slip of a motor at a measured speed",
        parameters: &[above("hertz", "Hz"), within("poles", "", 2.0, 100.0).plain(), not_below("rpm", "rpm")],
        gives: &["%"],
        formula: "100 × (synchronous speed − rpm) / synchronous speed",
        source: "common practice, no published source read",
        body: Body::Told(
            |v| {
                let synchronous = synchronous_speed(v[0], v[1])?;
                Ok(100.0 * (synchronous - v[2]) / synchronous)
            },
            |v, _| vec![format!("synchronous speed {} rpm", 120.0 * v[0] / v[1])],
        ),
    },
    Function {
        name: "derating",
        text: "share of its rating that a motor may carry at a voltage unbalance",
        parameters: &[within("unbalance", "%", 0.0, 5.0)],
        gives: &[],
        formula: "read from the curve, straight lines between 1 % 1.00, 2 % 0.95, 3 % 0.88, 4 % 0.82, 5 % 0.75; ± 0.02",
        source: "NEMA MG 1, 14.36, Figure 14-1, from memory; no derating up to 1 %: US DOE Motor Systems Tip Sheet 7 (read in reprint)",
        body: Body::Number(|v| derating(v[0])),
    },
    Function {
        name: "unbalance_heat",
        text: "extra temperature rise of a motor at a voltage unbalance",
        parameters: &[within("unbalance", "%", 0.0, 10.0)],
        gives: &["%"],
        formula: "2 × unbalance²",
        source: "common practice, no published source read",
        body: Body::Number(|v| Ok(2.0 * v[0] * v[0])),
    },
    Function {
        name: "overload_setting",
        text: "highest first setting of an overload device",
        parameters: &[above("nameplate_amps", "A"), within("service_factor", "", 1.0, 2.0).plain()],
        gives: &["A"],
        formula: "125 % at a service factor of 1.15 or more, else 115 %",
        source: OVERLOAD,
        body: Body::Number(|v| Ok(overload(v[0], v[1], [125.0, 115.0]))),
    },
    Function {
        name: "overload_limit",
        text: "highest setting where the motor will not start or carry its load",
        parameters: &[above("nameplate_amps", "A"), within("service_factor", "", 1.0, 2.0).plain()],
        gives: &["A"],
        formula: "140 % at a service factor of 1.15 or more, else 130 %",
        source: OVERLOAD,
        body: Body::Number(|v| Ok(overload(v[0], v[1], [140.0, 130.0]))),
    },
    Function {
        name: "protector_limit",
        text: "highest trip current of a thermal protector inside the motor",
        parameters: &[above("table_amps", "A")],
        gives: &["A"],
        formula: "170 % of the table amps up to 9 A, 156 % up to 20 A, 140 % above",
        source: "NEC (NFPA 70-2008) 430.32(A)(2), quoted",
        body: Body::Number(|v| {
            let percent = if v[0] <= 9.0 {
                170.0
            } else if v[0] <= 20.0 {
                156.0
            } else {
                140.0
            };
            Ok(v[0] * percent / 100.0)
        }),
    },
];
