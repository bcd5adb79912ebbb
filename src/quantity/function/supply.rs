//! Supply and drives: currents from power, the DC link, volts per hertz.

use super::Function;

pub(super) const FUNCTIONS: &[Function] = &[
    Function {
        name: "three_phase_amps",
        parameters: &["kilovolt_amperes", "volts"],
        formula: "1000 × kVA / (√3 × V), line current",
        source: "definition of three-phase apparent power",
        body: |v| Ok(1000.0 * v[0] / (3.0_f64.sqrt() * v[1])),
    },
    Function {
        name: "single_phase_amps",
        parameters: &["volt_amperes", "volts"],
        formula: "VA / V",
        source: "definition of apparent power",
        body: |v| Ok(v[0] / v[1]),
    },
    Function {
        name: "dc_link",
        parameters: &["line_volts"],
        formula: "3 √2 / π × V: mean of a three-phase bridge under load",
        source: "six-pulse rectifier, any textbook of power electronics; from memory",
        body: |v| Ok(3.0 * std::f64::consts::SQRT_2 / std::f64::consts::PI * v[0]),
    },
    Function {
        name: "dc_link_peak",
        parameters: &["line_volts"],
        formula: "√2 × V: the link without load",
        source: "peak of a sine",
        body: |v| Ok(std::f64::consts::SQRT_2 * v[0]),
    },
    Function {
        name: "volts_per_hertz",
        parameters: &["volts", "hertz"],
        formula: "V / Hz",
        source: "definition",
        body: |v| Ok(v[0] / v[1]),
    },
];
