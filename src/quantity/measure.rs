//! Units of measure: what kind of quantity they belong to, and how they convert.
//!
//! A kind of quantity is told apart as a person in the trade does: a speed in rpm is no frequency in Hz, although both
//! are 1/s. Factors: NIST SP 811 (2008), Appendix B, from memory; the horsepower is the mechanical one (550 ft·lbf/s);
//! the inch of water is the conventional one (249.0889 Pa).

use std::fmt;

/// A kind of quantity; only units of the same kind convert into each other.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Quantity {
    /// Electric potential difference.
    Voltage,
    /// Electric current.
    Current,
    /// Electric resistance.
    Resistance,
    /// Capacitance.
    Capacitance,
    /// Frequency of a voltage or a current.
    Frequency,
    /// Speed of a shaft.
    RotationalSpeed,
    /// Active power.
    Power,
    /// Apparent power.
    ApparentPower,
    /// Energy.
    Energy,
    /// Temperature on a scale (not a difference).
    Temperature,
    /// Pressure.
    Pressure,
    /// Speed of air or of a vibrating part.
    Speed,
    /// Volume flow.
    Flow,
    /// Time.
    Time,
    /// Length.
    Length,
    /// Mass.
    Mass,
    /// Torque.
    Torque,
    /// Sound level.
    Level,
    /// Rate of a serial line.
    SignallingRate,
    /// Plane angle.
    Angle,
    /// A share or a ratio.
    Ratio,
    /// A number of things.
    Count,
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Voltage => "a voltage",
            Self::Current => "a current",
            Self::Resistance => "a resistance",
            Self::Capacitance => "a capacitance",
            Self::Frequency => "a frequency",
            Self::RotationalSpeed => "a speed of rotation",
            Self::Power => "a power",
            Self::ApparentPower => "an apparent power",
            Self::Energy => "an energy",
            Self::Temperature => "a temperature",
            Self::Pressure => "a pressure",
            Self::Speed => "a speed",
            Self::Flow => "a volume flow",
            Self::Time => "a time",
            Self::Length => "a length",
            Self::Mass => "a mass",
            Self::Torque => "a torque",
            Self::Level => "a sound level",
            Self::SignallingRate => "a signalling rate",
            Self::Angle => "an angle",
            Self::Ratio => "a ratio",
            Self::Count => "a number of things",
        })
    }
}

/// A unit of measure: a row of the table below.
///
/// A value `x` in this unit is `x * factor + offset` in the coherent unit of its kind.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Measure {
    /// How it is written.
    pub symbol: &'static str,
    /// The kind of quantity.
    pub quantity: Quantity,
    factor: f64,
    offset: f64,
    spellings: &'static [&'static str],
}

const fn unit(
    symbol: &'static str,
    quantity: Quantity,
    factor: f64,
    spellings: &'static [&'static str],
) -> Measure {
    Measure { symbol, quantity, factor, offset: 0.0, spellings }
}

use Quantity as Q;

/// Every unit of measure; the first spelling that fits wins.
const TABLE: &[Measure] = &[
    unit("V", Q::Voltage, 1.0, &["volt", "volts", "vac", "vdc", "v ac", "v dc"]),
    unit("kV", Q::Voltage, 1e3, &["kilovolt", "kilovolts"]),
    unit("mV", Q::Voltage, 1e-3, &["millivolt", "millivolts"]),
    unit("A", Q::Current, 1.0, &["amp", "amps", "ampere", "amperes"]),
    unit("mA", Q::Current, 1e-3, &["milliamp", "milliamps", "milliampere", "milliamperes"]),
    unit("ohm", Q::Resistance, 1.0, &["ohms", "Ω", "Ω"]),
    unit("kohm", Q::Resistance, 1e3, &["kohms", "kΩ", "kΩ", "kilohm", "kilohms"]),
    unit("Mohm", Q::Resistance, 1e6, &["Mohms", "MΩ", "MΩ", "megohm", "megohms", "meg", "megs"]),
    unit("Gohm", Q::Resistance, 1e9, &["Gohms", "GΩ", "GΩ", "gigohm", "gigohms"]),
    unit("uF", Q::Capacitance, 1e-6, &["µF", "μF", "mfd", "microfarad", "microfarads"]),
    unit("Hz", Q::Frequency, 1.0, &["hertz", "cycles"]),
    unit("kHz", Q::Frequency, 1e3, &["kilohertz"]),
    unit("rpm", Q::RotationalSpeed, 1.0, &["r/min", "1/min", "rev/min", "revs"]),
    unit("W", Q::Power, 1.0, &["watt", "watts"]),
    unit("kW", Q::Power, 1e3, &["kilowatt", "kilowatts"]),
    unit("hp", Q::Power, 745.699_871_582_270_2, &["bhp", "horsepower"]),
    unit("Btu/h", Q::Power, 0.293_071_070_172_222_2, &["btuh", "btu/hr"]),
    unit("VA", Q::ApparentPower, 1.0, &["volt-amperes", "volt-amps"]),
    unit("kVA", Q::ApparentPower, 1e3, &[]),
    unit("kWh", Q::Energy, 3.6e6, &[]),
    unit("K", Q::Temperature, 1.0, &["kelvin"]),
    Measure {
        symbol: "C",
        quantity: Q::Temperature,
        factor: 1.0,
        offset: 273.15,
        spellings: &["°C", "deg C", "degC", "degrees C", "celsius"],
    },
    Measure {
        symbol: "F",
        quantity: Q::Temperature,
        factor: 5.0 / 9.0,
        offset: 459.67 * 5.0 / 9.0,
        spellings: &["°F", "deg F", "degF", "degrees F", "fahrenheit", "degrees fahrenheit"],
    },
    unit("Pa", Q::Pressure, 1.0, &["pascal", "pascals"]),
    unit("kPa", Q::Pressure, 1e3, &[]),
    unit("bar", Q::Pressure, 1e5, &[]),
    unit("mbar", Q::Pressure, 1e2, &[]),
    unit("psi", Q::Pressure, 6_894.757_293_168, &["lb/in2", "psig"]),
    unit(
        "inwg",
        Q::Pressure,
        249.088_9,
        &[
            "in.w.g.",
            "in. w.g.",
            "in w.g.",
            "in wg",
            "in. wg",
            "inwc",
            "in.w.c.",
            "in. w.c.",
            "in w.c.",
            "in wc",
            "in. wc",
            "inch wc",
            "inches wc",
            "inches of water",
            "\"wc",
            "\" wc",
            "\"wg",
            "\" wg",
        ],
    ),
    unit("m/s", Q::Speed, 1.0, &["meters per second", "metres per second"]),
    unit("mm/s", Q::Speed, 1e-3, &[]),
    unit("in/s", Q::Speed, 0.0254, &["ips", "in/sec"]),
    unit("fpm", Q::Speed, 0.00508, &["ft/min", "feet per minute"]),
    unit("m3/s", Q::Flow, 1.0, &["m³/s"]),
    unit("m3/h", Q::Flow, 1.0 / 3600.0, &["m³/h"]),
    unit("L/s", Q::Flow, 1e-3, &["l/s"]),
    unit("cfm", Q::Flow, 4.719_474_432e-4, &["ft3/min", "scfm"]),
    unit("gpm", Q::Flow, 6.309_019_64e-5, &["gal/min", "usgpm"]),
    unit("s", Q::Time, 1.0, &["sec", "secs", "second", "seconds"]),
    unit("ms", Q::Time, 1e-3, &["msec", "milliseconds"]),
    unit("min", Q::Time, 60.0, &["mins", "minute", "minutes"]),
    unit("h", Q::Time, 3600.0, &["hr", "hrs", "hour", "hours"]),
    unit("m", Q::Length, 1.0, &["meter", "meters", "metre", "metres"]),
    unit("mm", Q::Length, 1e-3, &["millimeters", "millimetres"]),
    unit("cm", Q::Length, 1e-2, &[]),
    unit("ft", Q::Length, 0.3048, &["foot", "feet"]),
    unit("in", Q::Length, 0.0254, &["inch", "inches", "in."]),
    unit("kg", Q::Mass, 1.0, &[]),
    unit("lb", Q::Mass, 0.453_592_37, &["lbs", "pound", "pounds"]),
    unit("Nm", Q::Torque, 1.0, &["N·m", "N m"]),
    unit("lbf-ft", Q::Torque, 1.355_817_948_331_400_4, &["lb-ft", "ft-lb", "ft lb"]),
    unit("lbf-in", Q::Torque, 0.112_984_829_027_616_7, &["lb-in", "in-lb", "in lb"]),
    unit("dB", Q::Level, 1.0, &["dBA", "db(a)"]),
    unit("baud", Q::SignallingRate, 1.0, &["bit/s", "bps", "bd"]),
    unit("kbaud", Q::SignallingRate, 1e3, &["kbit/s", "kbps"]),
    unit("deg", Q::Angle, 1.0, &["°", "degree", "degrees"]),
    unit("%", Q::Ratio, 0.01, &["percent", "per cent", "pct"]),
    unit("ratio", Q::Ratio, 1.0, &["1"]),
    unit("count", Q::Count, 1.0, &["pcs", "pieces", "times"]),
];

impl Measure {
    /// The unit of measure that is written so: exactly, else without regard to capitals where only one fits.
    ///
    /// Cost: a walk over a table of some sixty rows.
    #[must_use]
    pub fn named(text: &str) -> Option<Self> {
        let text = text.trim();
        let exact = TABLE.iter().find(|m| m.spelt().any(|s| s == text));
        exact
            .or_else(|| {
                let mut loose = TABLE.iter().filter(|m| m.spelt().any(|s| s.eq_ignore_ascii_case(text)));
                let first = loose.next()?;
                loose.next().is_none().then_some(first)
            })
            .copied()
    }

    /// All symbols, for suggestions.
    pub fn symbols() -> impl Iterator<Item = &'static str> {
        TABLE.iter().map(|m| m.symbol)
    }

    /// The symbol and all other spellings.
    fn spelt(&self) -> impl Iterator<Item = &'static str> {
        std::iter::once(self.symbol).chain(self.spellings.iter().copied())
    }

    /// The longest spelling of any unit at the start of `text` that ends where a word ends, with its length in bytes.
    pub(super) fn at_start(text: &str) -> Option<(Self, usize)> {
        let mut best: Option<(Self, usize, bool)> = None;
        for measure in TABLE {
            for spelling in measure.spelt() {
                let Some(head) = text.get(..spelling.len()) else { continue };
                if !head.eq_ignore_ascii_case(spelling) {
                    continue;
                }
                let ends = text[spelling.len()..].chars().next();
                if ends.is_some_and(|c| c.is_alphanumeric()) && spelling.ends_with(char::is_alphanumeric) {
                    continue;
                }
                if spelling.chars().all(|c| c.is_ascii_digit()) {
                    continue;
                }
                let exact = head == spelling;
                let better = best.is_none_or(|(_, len, was_exact)| {
                    spelling.len() > len || spelling.len() == len && exact && !was_exact
                });
                if better {
                    best = Some((*measure, spelling.len(), exact));
                }
            }
        }
        best.map(|(measure, len, _)| (measure, len))
    }

    /// `value`, given in `self`, in the unit `to`; `None` where the kinds differ.
    ///
    /// Exact where both units are the same; else one rounding of a product, a sum and a quotient.
    #[must_use]
    pub fn convert(&self, value: f64, to: &Self) -> Option<f64> {
        if self.quantity != to.quantity {
            return None;
        }
        if self.factor == to.factor && self.offset == to.offset {
            return Some(value);
        }
        if self.offset == 0.0 && to.offset == 0.0 {
            let ratio = self.factor / to.factor;
            // A power of ten below one loses a digit as a factor, none as a divisor.
            let inverse = to.factor / self.factor;
            return Some(if ratio < 1.0 && inverse.fract() == 0.0 { value / inverse } else { value * ratio });
        }
        Some((value * self.factor + self.offset - to.offset) / to.factor)
    }
}

impl fmt::Display for Measure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn convert(value: f64, from: &str, to: &str) -> Option<f64> {
        Measure::named(from)?.convert(value, &Measure::named(to)?)
    }

    #[test]
    fn conversions_agree_with_published_factors() {
        // NIST SP 811, Appendix B.8, from memory.
        for (value, from, to, expected) in [
            (1.0, "hp", "W", 745.6999),
            (1.0, "inwg", "Pa", 249.0889),
            (500.0, "fpm", "m/s", 2.54),
            (1.0, "cfm", "m3/s", 4.719_474e-4),
            (212.0, "F", "C", 100.0),
            (-40.0, "C", "F", -40.0),
            (1.0, "psi", "Pa", 6894.757),
            (480.0, "V", "kV", 0.48),
            (4.0, "mA", "A", 0.004),
            (2.0, "Mohm", "kohm", 2000.0),
            (1.0, "ft", "m", 0.3048),
            (50.0, "%", "ratio", 0.5),
        ] {
            let got = convert(value, from, to).expect("same kind");
            assert!(
                (got - expected).abs() <= 1e-6 * expected.abs(),
                "{value} {from} = {got} {to}, not {expected}"
            );
        }
    }

    #[test]
    fn kinds_do_not_mix() {
        assert_eq!(convert(60.0, "Hz", "rpm"), None);
        assert_eq!(convert(1.0, "VA", "W"), None);
        assert_eq!(convert(1.0, "V", "A"), None);
    }

    #[test]
    fn every_spelling_names_its_own_unit_and_converts_back() {
        for measure in TABLE {
            for spelling in measure.spelt() {
                let found = Measure::named(spelling).expect("a spelling names a unit");
                assert_eq!(found.symbol, measure.symbol, "{spelling}");
            }
            for other in TABLE.iter().filter(|o| o.quantity == measure.quantity) {
                let there = measure.convert(37.5, other).expect("same kind");
                let back = other.convert(there, measure).expect("same kind");
                assert!((back - 37.5).abs() < 1e-9, "{measure} {other}");
            }
        }
    }

    #[test]
    fn capitals_matter_only_where_they_must() {
        assert_eq!(Measure::named("KW").map(|m| m.symbol), Some("kW"));
        assert_eq!(Measure::named("HZ").map(|m| m.symbol), Some("Hz"));
        assert_eq!(Measure::named("mohm").map(|m| m.symbol), Some("Mohm"));
        assert_eq!(Measure::named("parsec").map(|m| m.symbol), None);
    }
}
