//! Insulation resistance of windings.

use super::parameter::{above, within};
use super::{Body, Function};

/// Test voltages by winding rating: up to volts, in words.
const TEST_VOLTS: [(f64, &str); 5] = [
    (1000.0, "500 V DC"),
    (2500.0, "500 to 1000 V DC"),
    (5000.0, "1000 to 2500 V DC"),
    (12_000.0, "2500 to 5000 V DC"),
    (f64::INFINITY, "5000 to 10000 V DC"),
];

/// What is to be said before anybody tests insulation.
const FIRST: &str = "locked out, proven dead, discharged; never through a drive or any other solid-state device: lift the motor leads first";

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "insulation_at_40",
        text: "insulation resistance corrected to 40 C",
        parameters: &[above("resistance", "Mohm"), within("temperature", "C", -20.0, 120.0)],
        gives: &["Mohm"],
        formula: "R × 0.5^((40 − t) / 10): halved for each 10 K",
        source: "IEEE 43, kept in the 2013 edition for thermoplastic windings (note of EASA); thermosetting ones have another formula",
        body: Body::Told(
            |v| Ok(v[0] * 0.5_f64.powf((40.0 - v[1]) / 10.0)),
            |_, _| {
                vec!["least after one minute at 40 C: 5 Mohm random-wound and below 1 kV, 100 Mohm form-wound (IEEE 43, quoted by NETA World)".to_owned()]
            },
        ),
    },
    Function {
        name: "insulation_minimum",
        text: "least insulation resistance at 40 C of windings made before about 1970",
        parameters: &[above("volts", "V")],
        gives: &["Mohm"],
        formula: "kV + 1",
        source: "IEEE 43, quoted by NETA World",
        body: Body::Number(|v| Ok(v[0] / 1000.0 + 1.0)),
    },
    Function {
        name: "insulation_test_volts",
        text: "test voltage for a winding of that rating",
        parameters: &[above("volts", "V")],
        gives: &[],
        formula: "table",
        source: "IEEE 43-2000, in an article of EASA; not through a drive: US Army TM 5-3895-374-24-1",
        body: Body::Text(|v| {
            // A rating of 1000 V belongs to the second row, the other limits to the row that they end.
            let row = TEST_VOLTS.iter().find(|(to, _)| v[0] < *to || v[0] == *to && *to > 1000.0);
            Ok(row.map(|(_, test)| (*test).to_owned()).into_iter().chain([FIRST.to_owned()]).collect())
        }),
    },
];
