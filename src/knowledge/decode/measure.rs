//! Units of measure, and accuracies.

use super::Decoder;
use super::value::{parse_chance, parse_number};
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::Accuracy;
use crate::quantity::Measure;
use crate::source::{Span, Spanned};
use crate::yaml::Node;

impl Decoder<'_> {
    pub(super) fn measure(&mut self, node: &Node) -> Option<(Spanned<String>, Measure)> {
        let text = self.text(node, "measured-in")?;
        let measure = Measure::named(&text.value);
        if measure.is_none() {
            self.say(unknown_measure(&text.value, text.span));
        }
        measure.map(|measure| (text, measure))
    }

    /// Two standard deviations: a share, or an amount in the value's own measure.
    pub(super) fn accuracy(
        &mut self,
        node: &Node,
        measure: Option<Measure>,
        computed: bool,
    ) -> (Accuracy, Option<Spanned<Measure>>) {
        const NONE: (Accuracy, Option<Spanned<Measure>>) = (Accuracy::Exact, None);
        self.accuracy_or(node, measure, computed).unwrap_or(NONE)
    }

    pub(super) fn accuracy_or(
        &mut self,
        node: &Node,
        measure: Option<Measure>,
        computed: bool,
    ) -> Option<(Accuracy, Option<Spanned<Measure>>)> {
        let text = self.text(node, "accuracy")?;
        let written = text.value.trim();
        if written.ends_with('%') {
            match parse_chance(written) {
                Some(Ok(share)) => return Some((Accuracy::Relative(share), None)),
                Some(Err(why)) => {
                    let message = format!("`{written}` is no accuracy");
                    self.say(
                        Diagnostic::new(Code::BadNumber, text.span, message)
                            .why(why)
                            .help("write `2 %` or `0.5 V`"),
                    );
                    return None;
                }
                None => {}
            }
        }
        let digits = written
            .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+')))
            .unwrap_or(written.len());
        let (number, unit) = (parse_number(&written[..digits]), written[digits..].trim());
        let Some(number) = number.filter(|&number| number >= 0.0) else {
            let problem = Diagnostic::new(Code::BadNumber, text.span, format!("`{written}` is no accuracy"))
                .help("write `2 %`, or an amount with its unit of measure: `0.5 V`");
            self.say(problem);
            return None;
        };
        if unit.is_empty() {
            return Some((Accuracy::Absolute(number), None));
        }
        let Some(own) = Measure::named(unit) else {
            self.say(unknown_measure(unit, text.span));
            return None;
        };
        if computed {
            // In which unit the result is, its expression tells.
            return Some((Accuracy::Absolute(number), Some(Spanned::new(own, text.span))));
        }
        let Some(measure) = measure else { return Some((Accuracy::Absolute(number), None)) };
        match difference(number, own, measure) {
            Some(number) => Some((Accuracy::Absolute(number), None)),
            None => {
                let message = format!("an accuracy in {own}, of a reading in {measure}");
                let problem = Diagnostic::new(Code::WrongDimension, text.span, message)
                    .why(format!("{own} measures {}, {measure} measures {}", own.quantity, measure.quantity))
                    .help(format!("write it in {measure}, or as a share: `2 %`"));
                self.say(problem);
                None
            }
        }
    }
}

fn unknown_measure(written: &str, span: Span) -> Diagnostic {
    let message = format!("`{written}` is no unit of measure that is known");
    let problem = Diagnostic::new(Code::UnknownMeasure, span, message).nearest(written, Measure::symbols());
    if !problem.suggestions.is_empty() {
        return problem;
    }
    let all = Measure::symbols().map(|symbol| format!("`{symbol}`")).collect::<Vec<_>>().join(", ");
    problem.help(format!("known are {all}"))
}

/// A difference of two values, in another unit; `None` where the kinds differ.
pub(in crate::knowledge) fn difference(number: f64, from: Measure, to: Measure) -> Option<f64> {
    // Of temperatures, the zero of one scale is not that of the other.
    let (there, zero) = from.convert(number, &to).zip(from.convert(0.0, &to))?;
    Some(if zero == 0.0 { there } else { (there - zero).abs() })
}
