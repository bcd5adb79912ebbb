//! Units of measure, and accuracies.

use super::Decoder;
use super::value::{parse_chance, parse_number};
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{Accuracy, Reading};
use crate::quantity::Measure;
use crate::source::{Span, Spanned};
use crate::yaml::{Fields, Node, Value as YamlValue, entries};

impl Decoder<'_> {
    pub(super) fn measure(&mut self, node: &Node) -> Option<(Spanned<String>, Measure)> {
        let text = self.text(node, "measured-in")?;
        let measure = Measure::named(&text.value);
        if measure.is_none() {
            self.say(unknown_measure(&text.value, text.span));
        }
        measure.map(|measure| (text, measure))
    }

    /// What a test reads; the unit of measure of its only quantity; and whether it reads at all, understood or not.
    pub(super) fn readings(&mut self, f: &mut Fields<'_>) -> (Vec<Reading>, Option<Measure>, bool) {
        let node = f.get("readings", self.problems);
        if let Some(node) = node.filter(|node| matches!(node.value, YamlValue::Map(_))) {
            if let Some(span) = f.key_span("measured-in") {
                let problem = Diagnostic::new(Code::ConflictingKeys, span, "`measured-in` beside several readings")
                    .why("each of them has a unit of measure of its own")
                    .help("move it into `readings`: `readings: {amps: {measured-in: A, count: 3}, hertz: {measured-in: Hz}}`");
                self.say(problem);
                let _ = f.get("measured-in", &mut Vec::new());
            }
            let mut readings: Vec<Reading> = Vec::new();
            for (id, node) in entries(node, "`readings`", self.problems) {
                let id = self.key(id);
                let mut inner = Fields::of(node, "a reading", id.span, self.problems);
                if let Some(problem) = unfit(&id.value, id.span) {
                    self.say(problem);
                }
                let measured_in = inner.get("measured-in", self.problems).and_then(|node| self.measure(node));
                if !inner.has("measured-in") {
                    let message = format!("the reading `{}` lacks `measured-in`", id.value);
                    self.say(
                        Diagnostic::new(Code::MissingKey, id.span, message)
                            .help("say in which unit it is read: `measured-in: A`"),
                    );
                }
                let count = inner.get("count", self.problems).and_then(|node| self.count(node, "count"));
                let name = inner.get("name", self.problems).and_then(|node| self.text(node, "name"));
                inner.finish(self.problems);
                if let Some((measured_in, _)) = measured_in {
                    readings.push(Reading { id: Some(id), name, measured_in, count: count.unwrap_or(1) });
                }
            }
            return (readings, None, true);
        }
        let measure = f.get("measured-in", self.problems).and_then(|node| self.measure(node));
        let count = node.and_then(|node| self.count(node, "readings")).unwrap_or(1);
        let (text, measure) = measure.unzip();
        let readings = text.map(|measured_in| Reading { id: None, name: None, measured_in, count });
        (readings.into_iter().collect(), measure, f.has("measured-in"))
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

/// A name that an expression could not use.
fn unfit(id: &str, span: Span) -> Option<Diagnostic> {
    let letters = id.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_');
    let taken = matches!(id, "reading" | "readings" | "unit" | "stage");
    if letters && id.starts_with(|c: char| c.is_ascii_lowercase()) && !taken {
        return None;
    }
    let problem = Diagnostic::new(Code::BadId, span, format!("`{id}` is no name for a reading"))
        .why("a `value` speaks of it by this name")
        .help("write small letters, digits and `_`: `amps`, `wheel_rpm`");
    Some(problem)
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
