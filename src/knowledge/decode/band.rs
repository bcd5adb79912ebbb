//! Bands: `from .. to`, `>= x`, `> x`, `<= x`, `< x`, or a list of such, each as half-open [from, to).
//!
//! The doubles are a chain, so `> x` is [the next double above x, ∞), and `<= x` ends there: nothing is lost or shared.

use super::value::parse_number;
use super::{Decoder, Fields};
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::Name;
use crate::source::Spanned;
use crate::yaml::{Node, Value};

/// The outcomes of a measured finding with the intervals of each, in the order of the file.
pub(super) type Bands = Vec<(Name, Vec<Spanned<(f64, f64)>>)>;

impl Decoder<'_> {
    /// The outcomes of a measured finding: a map from outcome to band.
    pub(super) fn bands(&mut self, node: &Node) -> Bands {
        let mut bands = Bands::new();
        for (outcome, node) in crate::yaml::entries(node, "the outcomes of a reading", self.problems) {
            let outcome = self.outcome(outcome.clone());
            let parts: &[Node] = match &node.value {
                Value::List(list) => list,
                _ => std::slice::from_ref(node),
            };
            let intervals = parts.iter().filter_map(|part| self.band(part, &outcome.value)).collect();
            bands.push((outcome, intervals));
        }
        let names: Vec<Name> = bands.iter().map(|(name, _)| name.clone()).collect();
        self.enough_outcomes(&names, node.span);
        bands
    }

    fn band(&mut self, node: &Node, outcome: &str) -> Option<Spanned<(f64, f64)>> {
        let text = self.text(node, outcome)?;
        match parse_band(&text.value) {
            Ok(band) => Some(Spanned::new(band, text.span)),
            Err(why) => {
                let problem = Diagnostic::new(Code::BadBand, text.span, format!("`{}` is no band", text.value))
                    .why(why)
                    .help("write `0.9 .. 1.1` (from, up to but without), or \">= 1.1\", \"> 1\", \"<= 1\", \"< 0.9\" in quotes");
                self.say(problem);
                None
            }
        }
    }

    /// What a reading can show, when bands were given: reports overlaps and gaps, and sorts nothing.
    pub(super) fn check_bands(&mut self, bands: &Bands) {
        if bands.iter().any(|(_, intervals)| intervals.is_empty()) {
            return;
        }
        let mut all: Vec<(&Name, &Spanned<(f64, f64)>)> = bands
            .iter()
            .flat_map(|(name, intervals)| intervals.iter().map(move |interval| (name, interval)))
            .collect();
        all.sort_by(|(_, a), (_, b)| a.value.0.total_cmp(&b.value.0).then(a.value.1.total_cmp(&b.value.1)));
        // Of those so far, the one that reaches highest: a wide band may hold several others.
        let mut highest: Option<(&Name, &Spanned<(f64, f64)>)> = None;
        for (upper_name, upper) in all {
            let before = highest;
            if before.is_none_or(|(_, lower)| upper.value.1 > lower.value.1) {
                highest = Some((upper_name, upper));
            }
            let Some((lower_name, lower)) = before else { continue };
            let (lower_end, upper_start) = (lower.value.1, upper.value.0);
            if upper_start < lower_end {
                let end = lower_end.min(upper.value.1);
                let shared = format!("both hold {}", between(upper_start, end));
                let message = format!("`{}` and `{}` overlap", lower_name.value, upper_name.value);
                let problem = Diagnostic::new(Code::BandOverlap, upper.span, message)
                    .label(format!("`{}`", upper_name.value))
                    .also_at(lower.span, format!("`{}`", lower_name.value))
                    .why(shared)
                    .help("a value belongs to one outcome only: let one band end where the next begins");
                self.say(problem);
            } else if upper_start > lower_end {
                let message = format!(
                    "values between `{}` and `{}` belong to no outcome",
                    lower_name.value, upper_name.value
                );
                let problem = Diagnostic::new(Code::BandGap, upper.span, message)
                    .label(format!("`{}`", upper_name.value))
                    .also_at(lower.span, format!("`{}`", lower_name.value))
                    .why(format!("none holds {}", between(lower_end, upper_start)))
                    .help("let one band end where the next begins");
                self.say(problem);
            }
        }
    }

    /// The keys that only a reading has, where there is none.
    pub(super) fn only_for_readings(&mut self, fields: &Fields<'_>) {
        for key in ["value", "accuracy"] {
            if let Some(span) = fields.key_span(key) {
                let problem =
                    Diagnostic::new(Code::ConflictingKeys, span, format!("`{key}` without `measured-in`"))
                        .why("only a reading has a value")
                        .help("say in which unit it is read: `measured-in: V`");
                self.say(problem);
            }
        }
    }
}

fn between(from: f64, to: f64) -> String {
    match (from == f64::NEG_INFINITY, to == f64::INFINITY) {
        _ if to == from.next_up() => format!("exactly {from}"),
        (true, true) => "every value".to_owned(),
        (true, false) => format!("values below {to}"),
        (false, true) => format!("values from {from}"),
        (false, false) => format!("values from {from} to {to}"),
    }
}

/// A band as [from, to).
fn parse_band(text: &str) -> Result<(f64, f64), String> {
    let number = |text: &str| {
        parse_number(text.trim()).ok_or_else(|| {
            if text.trim().is_empty() {
                "a number is missing".to_owned()
            } else {
                format!("`{}` is no number", text.trim())
            }
        })
    };
    let text = text.trim();
    let band = if let Some(rest) = text.strip_prefix(">=") {
        (number(rest)?, f64::INFINITY)
    } else if let Some(rest) = text.strip_prefix('>') {
        (number(rest)?.next_up(), f64::INFINITY)
    } else if let Some(rest) = text.strip_prefix("<=") {
        (f64::NEG_INFINITY, number(rest)?.next_up())
    } else if let Some(rest) = text.strip_prefix('<') {
        (f64::NEG_INFINITY, number(rest)?)
    } else if let Some((from, to)) = text.split_once("..") {
        (number(from)?, number(to)?)
    } else {
        return Err("a band is an interval".to_owned());
    };
    if band.0 < band.1 { Ok(band) } else { Err(format!("no value lies from {} to {}", band.0, band.1)) }
}

#[cfg(test)]
mod tests {
    use super::parse_band;

    #[test]
    fn bands_are_half_open() {
        assert_eq!(parse_band("0.9 .. 1.1"), Ok((0.9, 1.1)));
        assert_eq!(parse_band("-5..5"), Ok((-5.0, 5.0)));
        assert_eq!(parse_band(">= 1.1"), Ok((1.1, f64::INFINITY)));
        assert_eq!(parse_band("< 0.05"), Ok((f64::NEG_INFINITY, 0.05)));
        assert_eq!(parse_band("<= 1").map(|band| band.1), parse_band("> 1").map(|band| band.0));
        for text in ["1", "2 .. 1", "1 .. 1", ">", ".. 3", "a .. b", ">= 1 V", ""] {
            assert!(parse_band(text).is_err(), "{text}");
        }
    }
}
