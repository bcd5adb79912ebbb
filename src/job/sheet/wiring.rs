//! The wire list, interlocks, and what can be read with the door shut.

use std::collections::BTreeMap;

use super::Sheet;
use crate::diagnostic::{Code, Diagnostic};
use crate::job::{Interlock, Made, Strip, Wire, WireSpans};
use crate::source::{Span, Spanned};
use crate::yaml::{Fields, Node, entries};

impl Sheet<'_> {
    pub(super) fn door_shut(&mut self, node: &Node) {
        let Some(written) = self.text(node, "door-shut") else { return };
        let (owner, test) = written.value.split_once('/').unwrap_or((&written.value, ""));
        if self.refused.contains(owner) {
            return;
        }
        let component = match self.job.unit(owner) {
            Some(unit) => self.knowledge.of_kind(&unit.kind).map(|at| &self.knowledge.components[at]),
            None => self.knowledge.component(owner).filter(|component| component.each.is_none()),
        };
        let Some(component) = component else {
            let words = format!("there is no unit `{owner}`");
            let valid = self.job.units.iter().map(|unit| &*unit.id);
            let problem = Diagnostic::new(Code::DanglingReference, written.span, words)
                .why("`door-shut` lists tests as `UNIT/TEST`")
                .nearest(owner, valid);
            self.say(problem);
            return;
        };
        let symptoms = component.symptoms.iter().map(|symptom| &*symptom.finding.id.value);
        let tests = component.tests.iter().map(|test| &*test.id.value);
        let valid: Vec<&str> = tests.chain(symptoms).collect();
        if !valid.contains(&test) {
            let words = format!("a `{}` has no test `{test}`", component.id.value);
            let problem = Diagnostic::new(Code::DanglingReference, written.span, words)
                .why("`door-shut` lists tests as `UNIT/TEST`")
                .nearest(test, valid);
            self.say(problem);
            return;
        }
        if self.job.door_shut.contains(&written.value) {
            let words = format!("`{}` is listed twice", written.value);
            self.say(Diagnostic::new(Code::DuplicateId, written.span, words));
            return;
        }
        self.job.door_shut.push(written.value);
    }

    pub(super) fn interlock(&mut self, node: &Node) {
        let at = Span { end: node.span.start, ..node.span };
        let mut f = Fields::of(node, "an interlock", at, self.problems);
        let name = f.require("name", self.problems).and_then(|n| self.text(n, "name"));
        let between = f.require("between", self.problems).map_or_else(Vec::new, |n| self.texts(n, "between"));
        let note = f.get("note", self.problems).and_then(|n| self.text(n, "note"));
        f.finish(self.problems);
        for id in &between {
            self.known_unit(id);
        }
        self.job.interlocks.push(Interlock {
            name: name.map_or_else(String::new, |name| name.value),
            between: between.into_iter().map(|id| id.value).collect(),
            note: note.map_or_else(String::new, |note| note.value),
        });
    }

    fn known_unit(&mut self, id: &Spanned<String>) {
        if self.job.unit(&id.value).is_none() && !self.refused.contains(&id.value) {
            let words = format!("there is no unit `{}`", id.value);
            let valid = self.job.units.iter().map(|unit| &*unit.id);
            let problem = Diagnostic::new(Code::DanglingReference, id.span, words).nearest(&id.value, valid);
            self.say(problem);
        }
    }

    pub(super) fn strips(&mut self, node: &Node) {
        for (id, node) in entries(node, "the list of terminal strips", self.problems) {
            let mut f = Fields::of(node, "a terminal strip", id.span, self.problems);
            let name = f.get("name", self.problems).and_then(|n| self.text(n, "name"));
            let place = f.get("place", self.problems).and_then(|n| self.text(n, "place"));
            let inside = f.get("inside", self.problems).and_then(|n| self.text(n, "inside"));
            let with = f.get("with", self.problems).and_then(|n| self.text(n, "with"));
            let holds = f.get("holds", self.problems).and_then(|n| self.text(n, "holds"));
            f.finish(self.problems);
            self.known_whereabouts(place.as_ref(), inside.as_ref());
            if let Some(with) = &with {
                self.known_unit(with);
            }
            if self.job.unit(&id.value).is_some() {
                let words = format!("`{}` is a unit already", id.value);
                self.say(Diagnostic::new(Code::DuplicateId, id.span, words));
                continue;
            }
            let holds = holds.and_then(|text| {
                let count = text.value.parse().ok().filter(|count| (1..=100).contains(count));
                if count.is_none() {
                    let words = format!("`{}` is no number of conductors", text.value);
                    let problem = Diagnostic::new(Code::BadNumber, text.span, words);
                    self.say(problem.why("`holds` is a whole number from 1 to 100"));
                }
                count
            });
            let value = |text: Option<Spanned<String>>| text.map(|text| text.value);
            self.job.strips.push(Strip {
                id: id.value.clone(),
                name: value(name).unwrap_or_default(),
                place: value(place),
                inside: value(inside),
                with: value(with),
                holds,
                span: Some(id.span),
            });
        }
    }

    pub(super) fn wire(&mut self, node: &Node, wired: &mut BTreeMap<(String, String), Span>) {
        let at = Span { end: node.span.start, ..node.span };
        let mut f = Fields::of(node, "a wire", at, self.problems);
        let from = f.require("from", self.problems).and_then(|n| self.terminal(n, "from"));
        let to = f.require("to", self.problems).and_then(|n| self.terminal(n, "to"));
        let by = f.require("by", self.problems).and_then(|n| self.text(n, "by"));
        let conductor = f.get("conductor", self.problems).and_then(|n| self.text(n, "conductor"));
        let polarity =
            f.get("polarity-sensitive", self.problems).and_then(|n| self.text(n, "polarity-sensitive"));
        let through = f.get("through", self.problems).and_then(|n| self.text(n, "through"));
        f.finish(self.problems);
        let by_at = by.as_ref().map(|by| by.span);
        let made = by.as_ref().and_then(|by| match by.value.as_str() {
            "factory" => Some(Made::Factory),
            "field" => Some(Made::Field),
            _ => {
                self.unknown_word(by, "maker of a connection", ["factory", "field"]);
                None
            }
        });
        let polarity_sensitive = polarity.is_some_and(|word| match word.value.as_str() {
            "true" | "yes" => true,
            "false" | "no" => false,
            _ => {
                let words = "`polarity-sensitive` is `true` or `false`";
                self.say(Diagnostic::new(Code::UnknownWord, word.span, words));
                false
            }
        });
        let (Some(from), Some(to)) = (from, to) else { return };
        if from.value == to.value {
            let words = format!("both ends of this wire are at `{}`", from.value);
            self.say(Diagnostic::new(Code::WireTwice, to.span, words));
        }
        let mut ends = [from.value.clone(), to.value.clone()];
        ends.sort();
        let [one, other] = ends;
        if let Some(&first) = wired.get(&(one.clone(), other.clone())) {
            let words = format!("a wire between `{}` and `{}` is listed twice", from.value, to.value);
            self.say(Diagnostic::new(Code::WireTwice, from.span, words).also_at(first, "first listed here"));
        } else {
            wired.insert((one, other), from.span);
        }
        let (Some(by), Some(by_at)) = (made, by_at) else { return };
        let words = |words: Option<Spanned<String>>| words.map_or_else(String::new, |words| words.value);
        self.job.wires.push(Wire {
            spans: Some(WireSpans { ends: [from.span, to.span], by: by_at }),
            from: from.value,
            to: to.value,
            by,
            conductor: words(conductor),
            polarity_sensitive,
            through: words(through),
        });
    }

    /// On a sheet that lists its terminal strips, every device is one of them or a unit.
    fn known_device(&mut self, device: &str, span: Span) {
        let known = self.job.unit(device).is_some() || self.refused.contains(device);
        if known || self.job.strips.iter().any(|strip| strip.id == device) {
            return;
        }
        let words = format!("`{device}` is neither a unit nor a terminal strip of this sheet");
        let units = self.job.units.iter().map(|unit| &*unit.id);
        let strips = self.job.strips.iter().map(|strip| &*strip.id);
        let problem = Diagnostic::new(Code::DanglingReference, span, words)
            .help("list it under `strips`, or correct the label")
            .nearest(device, units.chain(strips));
        self.say(problem);
    }

    /// `DEVICE:TERMINAL`, where a device that looks like the id of a unit but is none is a slip.
    fn terminal(&mut self, node: &Node, what: &str) -> Option<Spanned<String>> {
        let text = self.text(node, what)?;
        let Some((device, terminal)) = text.value.split_once(':') else {
            let words = format!("`{}` names no terminal", text.value);
            let problem = Diagnostic::new(Code::WrongShape, text.span, words)
                .help("write `DEVICE:TERMINAL`, such as `X1:3`");
            self.say(problem);
            return None;
        };
        if device.trim().is_empty() || terminal.trim().is_empty() {
            let words = format!("`{}` names no device or no terminal", text.value);
            self.say(
                Diagnostic::new(Code::WrongShape, text.span, words)
                    .help("write `DEVICE:TERMINAL`, such as `X1:3`"),
            );
            return None;
        }
        let device = device.trim();
        let family = |id: &str| id.trim_end_matches(|c: char| c.is_ascii_digit() || c == '-').to_owned();
        let units = &self.job.units;
        if !self.job.strips.is_empty() {
            self.known_device(device, text.span);
        } else if self.job.unit(device).is_none()
            && !self.refused.contains(device)
            && let Some(unit) = units.iter().find(|unit| family(&unit.id) == family(device))
        {
            let words = format!("`{device}` is no unit of this sheet");
            let problem = Diagnostic::new(Code::UnknownDevice, text.span, words)
                .why(format!("it is labelled like `{}`, which is one", unit.id))
                .nearest(device, units.iter().map(|unit| &*unit.id));
            self.say(problem);
        }
        Some(text)
    }
}
