//! Full-load currents of motors: the tables of the National Electrical Code.

use super::parameter::above;
use super::{Body, Function};

/// Column headings of [`THREE_PHASE`], in volts, each with the supplies for which it may be used.
const THREE_PHASE_VOLTS: [(f64, f64, f64); 6] = [
    (115.0, 110.0, 120.0),
    (200.0, 200.0, 200.0),
    (208.0, 208.0, 208.0),
    (230.0, 220.0, 240.0),
    (460.0, 440.0, 480.0),
    (575.0, 550.0, 600.0),
];

/// NEC (NFPA 70) Table 430.250, three-phase induction motors, amperes by horsepower; 0 where the table has no entry.
/// As quoted from the 2008 edition.
const THREE_PHASE: [(f64, [f64; 6]); 21] = [
    (0.5, [4.4, 2.5, 2.4, 2.2, 1.1, 0.9]),
    (0.75, [6.4, 3.7, 3.5, 3.2, 1.6, 1.3]),
    (1.0, [8.4, 4.8, 4.6, 4.2, 2.1, 1.7]),
    (1.5, [12.0, 6.9, 6.6, 6.0, 3.0, 2.4]),
    (2.0, [13.6, 7.8, 7.5, 6.8, 3.4, 2.7]),
    (3.0, [0.0, 11.0, 10.6, 9.6, 4.8, 3.9]),
    (5.0, [0.0, 17.5, 16.7, 15.2, 7.6, 6.1]),
    (7.5, [0.0, 25.3, 24.2, 22.0, 11.0, 9.0]),
    (10.0, [0.0, 32.2, 30.8, 28.0, 14.0, 11.0]),
    (15.0, [0.0, 48.3, 46.2, 42.0, 21.0, 17.0]),
    (20.0, [0.0, 62.1, 59.4, 54.0, 27.0, 22.0]),
    (25.0, [0.0, 78.2, 74.8, 68.0, 34.0, 27.0]),
    (30.0, [0.0, 92.0, 88.0, 80.0, 40.0, 32.0]),
    (40.0, [0.0, 120.0, 114.0, 104.0, 52.0, 41.0]),
    (50.0, [0.0, 150.0, 143.0, 130.0, 65.0, 52.0]),
    (60.0, [0.0, 177.0, 169.0, 154.0, 77.0, 62.0]),
    (75.0, [0.0, 221.0, 211.0, 192.0, 96.0, 77.0]),
    (100.0, [0.0, 285.0, 273.0, 248.0, 124.0, 99.0]),
    (125.0, [0.0, 359.0, 343.0, 312.0, 156.0, 125.0]),
    (150.0, [0.0, 414.0, 396.0, 360.0, 180.0, 144.0]),
    (200.0, [0.0, 552.0, 528.0, 480.0, 240.0, 192.0]),
];

/// Column headings of [`SINGLE_PHASE`].
const SINGLE_PHASE_VOLTS: [(f64, f64, f64); 4] =
    [(115.0, 110.0, 120.0), (200.0, 200.0, 200.0), (208.0, 208.0, 208.0), (230.0, 220.0, 240.0)];

/// NEC (NFPA 70) Table 430.248 (430-148 in 1999), single-phase motors, amperes by horsepower.
const SINGLE_PHASE: [(f64, [f64; 4]); 12] = [
    (1.0 / 6.0, [4.4, 2.5, 2.4, 2.2]),
    (0.25, [5.8, 3.3, 3.2, 2.9]),
    (1.0 / 3.0, [7.2, 4.1, 4.0, 3.6]),
    (0.5, [9.8, 5.6, 5.4, 4.9]),
    (0.75, [13.8, 7.9, 7.6, 6.9]),
    (1.0, [16.0, 9.2, 8.8, 8.0]),
    (1.5, [20.0, 11.5, 11.0, 10.0]),
    (2.0, [24.0, 13.8, 13.2, 12.0]),
    (3.0, [34.0, 19.6, 18.7, 17.0]),
    (5.0, [56.0, 32.2, 30.8, 28.0]),
    (7.5, [80.0, 46.0, 44.0, 40.0]),
    (10.0, [100.0, 57.5, 55.0, 50.0]),
];

fn look_up<const N: usize>(
    rows: &[(f64, [f64; N])],
    columns: &[(f64, f64, f64); N],
    horsepower: f64,
    volts: f64,
) -> Result<f64, String> {
    let row = rows.iter().find(|(hp, _)| (hp - horsepower).abs() <= 0.02 * hp);
    let column = columns
        .iter()
        .position(|&(rated, _, _)| rated == volts)
        .or_else(|| columns.iter().position(|&(_, from, to)| (from..=to).contains(&volts)));
    match (row, column) {
        (Some((_, amps)), Some(column)) if amps[column] > 0.0 => Ok(amps[column]),
        _ => Err(format!("the table has no entry for {horsepower} hp at {volts} V")),
    }
}

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "full_load_amps",
        text: "table current of a three-phase induction motor",
        parameters: &[above("horsepower", "hp"), above("volts", "V")],
        gives: &["A"],
        formula: "row and column of the table, no interpolation; the columns serve 110-120, 220-240, 440-480, 550-600 V",
        source: "NEC (NFPA 70-2008) Table 430.250, quoted: for sizing conductors, not for setting overloads (430.6(A))",
        body: Body::Number(|v| look_up(&THREE_PHASE, &THREE_PHASE_VOLTS, v[0], v[1])),
    },
    Function {
        name: "full_load_amps_single",
        text: "table current of a single-phase motor",
        parameters: &[above("horsepower", "hp"), above("volts", "V")],
        gives: &["A"],
        formula: "row and column of the table, no interpolation; the columns serve 110-120, 220-240 V",
        source: "NEC (NFPA 70-1999) Table 430-148, now 430.248, quoted: for sizing conductors, not for setting overloads (430.6(A))",
        body: Body::Number(|v| look_up(&SINGLE_PHASE, &SINGLE_PHASE_VOLTS, v[0], v[1])),
    },
];
