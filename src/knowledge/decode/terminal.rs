//! The terminals of a component.

use super::component::list;
use super::{Decoder, Sort};
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{Carries, Flow, Legs, Name, NameplateKey, Relation, TerminalRole, Text, Wrong};
use crate::source::Spanned;
use crate::yaml::{Fields, Node, Value, entries};

/// So many conductors a terminal holds where nothing is said.
const HOLDS: usize = 2;

impl Decoder<'_> {
    /// `terminals`, which name relations and nameplate keys of their component.
    pub(super) fn terminals(
        &mut self,
        node: &Node,
        relations: &[Relation],
        nameplate: &[NameplateKey],
    ) -> Vec<TerminalRole> {
        let keys: Vec<&str> = nameplate.iter().map(|key| &*key.id.value).collect();
        let relations: Vec<&str> = relations.iter().map(|relation| &*relation.id.value).collect();
        let mut roles: Vec<TerminalRole> = Vec::new();
        for (id, node) in entries(node, "`terminals`", self.problems) {
            let id = self.key(id);
            let role = self.role(&id, node, &relations, &keys);
            for (at, word) in role.words.iter().enumerate() {
                let twice = |other: &&Text| other.value.eq_ignore_ascii_case(&word.value);
                let before = roles.iter().flat_map(|role| &role.words).chain(&role.words[..at]).find(twice);
                if let Some(before) = before {
                    let message = format!("`{}` names two rows of terminals", word.value);
                    let problem = Diagnostic::new(Code::DuplicateId, word.span, message)
                        .also_at(before.span, "first used here");
                    self.say(problem);
                }
            }
            roles.push(role);
        }
        roles
    }

    fn role(&mut self, id: &Name, node: &Node, relations: &[&str], keys: &[&str]) -> TerminalRole {
        let mut f = Fields::of(node, "a row of terminals", id.span, self.problems);
        let name = f.require("name", self.problems).and_then(|node| self.text(node, "name"));
        let carries = f.require("carries", self.problems).and_then(|node| self.text(node, "carries"));
        let carries = carries.and_then(|word| self.one_of(&word, "what a terminal carries", &Carries::ALL));
        let flow = f.get("flow", self.problems).and_then(|node| self.text(node, "flow"));
        let flow = flow.and_then(|word| self.one_of(&word, "way", &Flow::ALL));
        let legs = f.get("legs", self.problems).and_then(|node| self.legs(node, keys));
        let mut truth = |key: &'static str| {
            f.get(key, self.problems).and_then(|node| self.truth(node, key)) == Some(true)
        };
        let (bare, wanted, grouped, unclear) =
            (truth("bare"), truth("wanted"), truth("grouped"), truth("unclear"));
        let poles = f.get("poles", self.problems).and_then(|node| self.poles(node));
        let mut key = |key: &'static str, valid: &[&str]| {
            let text = f.get(key, self.problems).and_then(|node| self.text(node, key))?;
            self.key_known(&text, key, valid).then_some(text)
        };
        let (partner, count, volts) = (key("of", relations), key("count", keys), key("volts", keys));
        let mut text = |key: &'static str| f.get(key, self.problems).and_then(|node| self.text(node, key));
        let (closed_when, wants) = (text("closed-when"), text("wants"));
        let by = f.get("by", self.problems).and_then(|node| self.declared(node, Sort::Competence));
        let holds = f.get("holds", self.problems).and_then(|node| self.count(node, "holds"));
        let ends = f.get("ends", self.problems).and_then(|node| self.count(node, "ends"));
        let mut found = Vec::new();
        for (word, node) in
            f.get("found", self.problems).map_or(&[][..], |node| entries(node, "`found`", self.problems))
        {
            let wrong = self.one_of(word, "wrong connection", &Wrong::ALL);
            let cause = self.id(node, &word.value);
            found.extend(wrong.zip(cause).map(|(wrong, cause)| (Spanned::new(wrong, word.span), cause)));
        }
        let role = TerminalRole {
            id: id.clone(),
            name: name.unwrap_or_else(|| id.clone()),
            words: list(f.get("words", self.problems), |node| self.texts(node, "words")),
            bare,
            carries: carries.unwrap_or(Carries::Control),
            flow: flow.unwrap_or(Flow::Takes),
            legs,
            wanted,
            poles,
            grouped,
            partner,
            count,
            volts,
            closed_when,
            wants,
            unclear,
            by,
            holds: holds.unwrap_or(HOLDS),
            ends,
            found,
        };
        f.finish(self.problems);
        role
    }

    /// The value of a word out of a few.
    pub(super) fn one_of<T: Copy>(&mut self, word: &Text, what: &str, all: &[(&str, T)]) -> Option<T> {
        let found = all.iter().find(|(known, _)| *known == word.value).map(|&(_, value)| value);
        if found.is_none() {
            let known: Vec<String> = all.iter().map(|(word, _)| format!("`{word}`")).collect();
            let problem =
                Diagnostic::new(Code::UnknownWord, word.span, format!("there is no {what} `{}`", word.value))
                    .why(format!("there are {}", known.join(", ")))
                    .nearest(&word.value, all.iter().map(|(word, _)| *word));
            self.say(problem);
        }
        found
    }

    /// Whether a relation or nameplate key of the component is so called.
    fn key_known(&mut self, text: &Text, key: &str, valid: &[&str]) -> bool {
        let known = valid.contains(&text.value.as_str());
        if !known {
            let what = if key == "of" { "relation" } else { "nameplate key" };
            let message = format!("the component has no {what} `{}`", text.value);
            let problem = Diagnostic::new(Code::DanglingReference, text.span, message)
                .nearest(&text.value, valid.iter().copied());
            self.say(problem);
        }
        known
    }

    /// `3`, or `{by: power, three-phase: 3, single-phase: 2}`.
    fn legs(&mut self, node: &Node, keys: &[&str]) -> Option<Legs> {
        if !matches!(node.value, Value::Map(_)) {
            return self.count(node, "legs").map(Legs::Fixed);
        }
        let (mut by, mut counts) = (None, Vec::new());
        for (key, node) in entries(node, "`legs`", self.problems) {
            if key.value == "by" {
                by = self.text(node, "by").filter(|text| self.key_known(text, "by", keys));
            } else if let Some(count) = self.count(node, &key.value) {
                counts.push((key.clone(), count));
            }
        }
        if by.is_none() && !node_has(node, "by") {
            let problem = Diagnostic::new(Code::MissingKey, node.span, "`legs` as a map needs `by`")
                .help("write `{by: NAMEPLATE-KEY, VALUE: 3, VALUE: 2}`");
            self.say(problem);
        }
        by.map(|by| Legs::By(by, counts))
    }

    /// `{plus: ["+", plus], minus: ["-", minus]}`.
    fn poles(&mut self, node: &Node) -> Option<[Vec<Text>; 2]> {
        let mut f = Fields::of(node, "the poles of a row", node.span, self.problems);
        let plus = f.require("plus", self.problems).map(|node| self.texts(node, "plus"));
        let minus = f.require("minus", self.problems).map(|node| self.texts(node, "minus"));
        f.finish(self.problems);
        plus.zip(minus).map(|(plus, minus)| [plus, minus])
    }
}

fn node_has(node: &Node, wanted: &str) -> bool {
    matches!(&node.value, Value::Map(map) if map.iter().any(|(key, _)| key.value == wanted))
}
