//! How a firm works, item by item: who, where, behind which doors, with which hazards, in which work states.
//!
//! In: one entry of a section of `package.yaml`. Out: its type; what cannot be used has its diagnostic and a harmless default.

use super::package::{ENERGISED, PANEL};
use super::{Decoder, Fields, Sort};
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{
    Competence, Emergency, Enclosure, HandOver, Hazard, Meanwhile, Name, Place, Signal, Text, Way, WorkState,
};
use crate::source::{Span, Spanned};
use crate::yaml::{Node, Value};

impl Decoder<'_> {
    pub(super) fn competence(&mut self, id: &Name, node: &Node) -> Competence {
        let mut competence = Competence {
            id: id.clone(),
            name: id.clone(),
            covers: Vec::new(),
            carries: Vec::new(),
            also: Vec::new(),
            trust: None,
            hand_over: None,
        };
        if !matches!(node.value, Value::Map(_)) {
            competence.name = self.text(node, &id.value).unwrap_or_else(|| id.clone());
            return competence;
        }
        let mut f = Fields::of(node, "a competence", id.span, self.problems);
        if let Some(name) = f.get("name", self.problems).and_then(|node| self.text(node, "name")) {
            competence.name = name;
        }
        if let Some(node) = f.get("covers", self.problems) {
            competence.covers = self.declared_list(node, Sort::Competence);
        }
        if let Some(node) = f.get("carries", self.problems) {
            competence.carries = self.declared_list(node, Sort::Instrument);
        }
        competence.also = f.get("also", self.problems).map_or_else(Vec::new, |node| self.texts(node, "also"));
        f.finish(self.problems);
        competence
    }

    pub(super) fn place(&mut self, id: &Name, node: &Node) -> Place {
        let mut place = Place {
            id: id.clone(),
            name: id.clone(),
            minutes: 0.0,
            also: Vec::new(),
            competence: None,
            hazards: Vec::new(),
        };
        let minutes = if matches!(node.value, Value::Map(_)) {
            let mut f = Fields::of(node, "a place", id.span, self.problems);
            if let Some(name) = f.get("name", self.problems).and_then(|node| self.text(node, "name")) {
                place.name = name;
            }
            place.also = f.get("also", self.problems).map_or_else(Vec::new, |node| self.texts(node, "also"));
            let competence = f.get("competence", self.problems);
            place.competence = competence.and_then(|node| self.declared(node, Sort::Competence));
            let hazards = f.get("hazards", self.problems);
            place.hazards = hazards.map_or_else(Vec::new, |node| self.declared_list(node, Sort::Hazard));
            let minutes = f.require("minutes", self.problems).and_then(|node| self.amount(node, "minutes"));
            f.finish(self.problems);
            minutes
        } else {
            self.amount(node, &id.value)
        };
        if let Some(minutes) = minutes {
            place.minutes = minutes.value;
            if id.value == PANEL && minutes.value != 0.0 {
                let problem = Diagnostic::new(Code::BadNumber, minutes.span, "the panel is 0 minutes away")
                    .why("every other place is counted from the panel and back");
                self.say(problem);
            }
        }
        place
    }

    pub(super) fn enclosure(&mut self, id: &Name, node: &Node) -> Enclosure {
        let mut f = Fields::of(node, "an enclosure", id.span, self.problems);
        let name = f.get("name", self.problems).and_then(|node| self.text(node, "name"));
        let opened_by = f.require("opened-by", self.problems);
        let hazards = f.get("hazards", self.problems);
        let (place, own) = (f.get("place", self.problems), f.get("own", self.problems));
        let enclosure = Enclosure {
            id: id.clone(),
            name: name.unwrap_or_else(|| id.clone()),
            opened_by: opened_by.map_or_else(Vec::new, |node| self.declared_list(node, Sort::Competence)),
            hazards: hazards.map_or_else(Vec::new, |node| self.declared_list(node, Sort::Hazard)),
            place: place.and_then(|node| self.declared(node, Sort::Place)),
            own: own.and_then(|node| self.truth(node, "own")) == Some(true),
        };
        f.finish(self.problems);
        enclosure
    }

    pub(super) fn hazard(&mut self, id: &Name, node: &Node) -> Hazard {
        let mut f = Fields::of(node, "a hazard", id.span, self.problems);
        let signal = f.require("signal", self.problems).and_then(|node| self.signal(node));
        if !f.has("caution") && matches!(node.value, Value::Map(_)) {
            let problem = Diagnostic::new(
                Code::HazardWithoutCaution,
                id.span,
                format!("`{}` has no caution", id.value),
            )
            .why("a hazard is shown before every step that has it: there must be something to show")
            .help("add `caution`: what can happen, and how it is avoided");
            self.say(problem);
        }
        let caution = f.get("caution", self.problems).and_then(|node| self.text(node, "caution"));
        if let Some(caution) = caution.as_ref().filter(|caution| caution.value.trim().is_empty()) {
            let message = format!("the caution of `{}` is empty", id.value);
            self.say(Diagnostic::new(Code::HazardWithoutCaution, caution.span, message));
        }
        let hazard = Hazard {
            id: id.clone(),
            signal: signal.unwrap_or(Signal::Danger),
            caution: caution.unwrap_or_else(|| id.clone()),
            sources: f.get("sources", self.problems).map_or_else(Vec::new, |node| self.sources(node)),
        };
        f.finish(self.problems);
        hazard
    }

    fn signal(&mut self, node: &Node) -> Option<Signal> {
        let word = self.text(node, "signal")?;
        let signal = match word.value.as_str() {
            "danger" => Signal::Danger,
            "warning" => Signal::Warning,
            "caution" => Signal::Caution,
            "notice" => Signal::Notice,
            _ => {
                let problem = Diagnostic::new(
                    Code::UnknownWord,
                    word.span,
                    format!("`{}` is no signal word", word.value),
                )
                .why("the signal words of ANSI Z535 are `danger`, `warning`, `caution` and `notice`")
                .nearest(&word.value, ["danger", "warning", "caution", "notice"]);
                self.say(problem);
                return None;
            }
        };
        Some(signal)
    }

    pub(super) fn work_state(&mut self, id: &Name, node: &Node) -> WorkState {
        let mut f = Fields::of(node, "a work state", id.span, self.problems);
        let name = f.get("name", self.problems).and_then(|node| self.text(node, "name"));
        let also = f.get("also", self.problems).map_or_else(Vec::new, |node| self.texts(node, "also"));
        let enter = self.way(&mut f);
        let back = match f.get("back", self.problems) {
            Some(node) => {
                let mut f = Fields::of(node, "the way back", node.span, self.problems);
                let back = self.way(&mut f);
                f.finish(self.problems);
                back
            }
            None => Way::default(),
        };
        if id.value != ENERGISED
            && enter.steps.is_empty()
            && matches!(node.value, Value::Map(_))
            && !f.has("steps")
        {
            let problem = Diagnostic::new(Code::MissingKey, id.span, "a work state needs `steps`")
                .why("nobody is led into a state without being told how")
                .help("list the acts, in order");
            self.say(problem);
        }
        f.finish(self.problems);
        WorkState { id: id.clone(), name: name.unwrap_or_else(|| id.clone()), enter, back, also }
    }

    fn way(&mut self, f: &mut Fields<'_>) -> Way {
        let steps = f.get("steps", self.problems).map_or_else(Vec::new, |node| self.texts(node, "steps"));
        let sources = f.get("sources", self.problems).map_or_else(Vec::new, |node| self.sources(node));
        Way { steps, terms: self.terms(f), sources }
    }

    pub(super) fn emergency(&mut self, node: &Node) -> Option<Emergency> {
        let mut f = Fields::of(node, "an emergency", node.span, self.problems);
        let id = f.require("id", self.problems).and_then(|node| self.id(node, "id"));
        let mut texts = |key, f: &mut Fields<'_>| {
            f.get(key, self.problems).map_or_else(Vec::new, |node| self.texts(node, key))
        };
        let words = texts("words", &mut f);
        let not = texts("not", &mut f);
        let act = texts("do", &mut f);
        let shown_by = texts("shown-by", &mut f);
        let cleared_with = texts("cleared-with", &mut f);
        if act.is_empty() && !f.has("do") && matches!(node.value, Value::Map(_)) {
            let at = id.as_ref().map_or(node.span, |id| id.span);
            self.say(
                Diagnostic::new(Code::MissingKey, at, "an emergency needs `do`").help("say what to do first"),
            );
        }
        let shown_by =
            shown_by.into_iter().filter_map(|reference| self.component_finding(reference)).collect();
        let ask = f.get("ask", self.problems).and_then(|node| self.text(node, "ask"));
        let all_clear = f.get("all-clear", self.problems).and_then(|node| self.text(node, "all-clear"));
        f.finish(self.problems);
        Some(Emergency { id: id?, words, not, ask, act, all_clear, shown_by, cleared_with })
    }

    /// `component/finding`, each half on its own.
    fn component_finding(&mut self, reference: Text) -> Option<(Name, Name)> {
        let Some((component, finding)) = reference.value.split_once('/') else {
            let message = format!("`{}` names no component", reference.value);
            let problem = Diagnostic::new(Code::DanglingReference, reference.span, message)
                .help("write `component/finding`");
            self.say(problem);
            return None;
        };
        let at = reference.span;
        Some((Spanned::new(component.to_owned(), at), Spanned::new(finding.to_owned(), at)))
    }

    pub(super) fn meanwhile(&mut self, node: &Node) -> Option<Meanwhile> {
        let mut f = Fields::of(node, "a measure for the meantime", node.span, self.problems);
        let id = f.require("id", self.problems).and_then(|node| self.id(node, "id"));
        let act = f.require("do", self.problems).and_then(|node| self.text(node, "do"));
        let put_back = f.get("put-back", self.problems).and_then(|node| self.text(node, "put-back"));
        let sources = f.get("sources", self.problems).map_or_else(Vec::new, |node| self.sources(node));
        f.finish(self.problems);
        Some(Meanwhile { id: id?, act: act?, put_back, sources })
    }

    pub(super) fn hand_over(&mut self, node: &Node, at: Span) -> Option<HandOver> {
        let mut f = Fields::of(node, "a hand-over", at, self.problems);
        let minutes = f.require("minutes", self.problems).and_then(|node| self.amount(node, "minutes"));
        let say = f.get("say", self.problems).and_then(|node| self.text(node, "say"));
        let not_meanwhile = f.get("not-meanwhile", self.problems);
        let not_meanwhile = not_meanwhile.map_or_else(Vec::new, |node| self.texts(node, "not-meanwhile"));
        f.finish(self.problems);
        Some(HandOver { minutes: minutes?.value, say, not_meanwhile })
    }
}
