//! Units of a sheet with their nameplates.

use super::Sheet;
use std::collections::BTreeMap;

use crate::diagnostic::{Code, Diagnostic};
use crate::job::{Plate, PlateError, Unit};
use crate::knowledge::Component;
use crate::quantity::Misread;
use crate::source::Spanned;
use crate::yaml::{Fields, Node, Value, entries};

/// Most units that a sheet may list.
const MOST_UNITS: usize = 1000;

/// Keys under a unit that have a meaning of their own; every other one is a relation of its component.
pub(super) const UNIT_KEYS: [&str; 8] =
    ["is", "name", "also", "place", "inside", "nameplate", "fault-table", "terminals"];

impl Sheet<'_> {
    pub(super) fn units(&mut self, node: &Node) {
        let listed = entries(node, "the list of units", self.problems);
        if listed.len() > MOST_UNITS {
            let words =
                format!("{} units are more than the {MOST_UNITS} that a sheet may list", listed.len());
            self.say(Diagnostic::new(Code::BadNumber, listed[MOST_UNITS].0.span, words));
        }
        for (id, node) in listed.iter().take(MOST_UNITS) {
            // A key that is no id is reported, and the unit read all the same.
            let fits = self.is_id(id);
            let clash = self.knowledge.components.iter().any(|c| c.each.is_none() && c.id.value == id.value);
            if clash {
                let words = format!("`{}` is the name of a component that every job has once", id.value);
                self.say(Diagnostic::new(Code::DuplicateId, id.span, words).help("give the unit another id"));
            }
            let unit = self.unit(id, node);
            match unit.filter(|_| fits && !clash) {
                Some(unit) => self.job.units.push(unit),
                None => {
                    self.refused.insert(id.value.clone());
                }
            }
        }
    }

    fn unit(&mut self, id: &Spanned<String>, node: &Node) -> Option<Unit> {
        let mut f = Fields::of(node, "a unit", id.span, self.problems);
        let kind = f.require("is", self.problems).and_then(|n| self.text(n, "is"));
        let name = f.get("name", self.problems).and_then(|n| self.text(n, "name"));
        let also = f.get("also", self.problems).map_or_else(Vec::new, |n| self.texts(n, "also"));
        let place = f.get("place", self.problems).and_then(|n| self.text(n, "place"));
        let inside = f.get("inside", self.problems).and_then(|n| self.text(n, "inside"));
        let nameplate = f.get("nameplate", self.problems);
        let table = f.get("fault-table", self.problems).and_then(|n| self.text(n, "fault-table"));
        let terminals = f.get("terminals", self.problems);
        self.known_whereabouts(place.as_ref(), inside.as_ref());
        let kind = kind?;
        let Some(component) = self.knowledge.of_kind(&kind.value) else {
            let words = format!("there is no kind of unit `{}`", kind.value);
            let problem = Diagnostic::new(Code::UnknownWord, kind.span, words)
                .why("a unit is of a kind that some component of the package names in `each`")
                .nearest(&kind.value, self.knowledge.unit_kinds());
            self.say(problem);
            return None;
        };
        let component = &self.knowledge.components[component];
        let at = self.job.units.len();
        // What is left are relations, whose names the component says.
        let Value::Map(map) = &node.value else { return None };
        for (key, node) in map.iter().filter(|(key, _)| !UNIT_KEYS.contains(&&*key.value)) {
            self.relation(component, at, key, node);
        }
        let mut unit = Unit {
            id: id.value.clone(),
            kind: kind.value,
            name: name.map_or_else(String::new, |name| name.value),
            also: also.into_iter().map(|word| word.value).collect(),
            place: place.map(|place| place.value),
            inside: inside.map(|door| door.value),
            span: Some(id.span),
            ..Unit::default()
        };
        if let Some(node) = nameplate {
            for (key, node) in entries(node, "a nameplate", self.problems) {
                if let Some(value) = self.plate(component, key, node) {
                    unit.nameplate.insert(key.value.clone(), value);
                }
            }
        }
        if let Some(node) = terminals {
            unit.terminals = self.terminals(component, node);
        }
        self.listed.extend(table.map(|table| (at, table)));
        Some(unit)
    }

    /// Whether the package knows a place and an enclosure.
    pub(super) fn known_whereabouts(
        &mut self,
        place: Option<&Spanned<String>>,
        inside: Option<&Spanned<String>>,
    ) {
        let practice = &self.knowledge.practice;
        if let Some(place) = place.filter(|p| practice.places.iter().all(|known| known.id.value != p.value)) {
            self.unknown_word(place, "place", practice.places.iter().map(|p| &*p.id.value));
        }
        let doors = &practice.enclosures;
        if let Some(door) = inside.filter(|d| doors.iter().all(|known| known.id.value != d.value)) {
            self.unknown_word(door, "enclosure", doors.iter().map(|d| &*d.id.value));
        }
    }

    /// The names of a unit's terminals, by row.
    fn terminals(&mut self, component: &Component, node: &Node) -> BTreeMap<String, Vec<String>> {
        let mut rows = BTreeMap::new();
        for (row, node) in entries(node, "the terminals of a unit", self.problems) {
            let valid = component.terminals.iter().map(|role| &*role.id.value);
            if valid.clone().all(|id| id != row.value) {
                let all: Vec<String> = valid.clone().map(|id| format!("`{id}`")).collect();
                let words = format!("a `{}` has no row of terminals `{}`", component.id.value, row.value);
                let problem = Diagnostic::new(Code::UnknownKey, row.span, words).nearest(&row.value, valid);
                self.say(match all.as_slice() {
                    [] => problem.why("the component declares no terminals"),
                    all => problem.why(format!("it has {}", all.join(", "))),
                });
                continue;
            }
            let names = self.texts(node, &row.value);
            rows.insert(row.value.clone(), names.into_iter().map(|name| name.value).collect());
        }
        rows
    }

    fn plate(&mut self, component: &Component, key: &Spanned<String>, node: &Node) -> Option<Plate> {
        let text = self.text(node, &key.value)?;
        let Some(declared) = component.nameplate.iter().find(|k| k.id.value == key.value) else {
            let valid = component.nameplate.iter().map(|k| &*k.id.value);
            let all: Vec<String> = valid.clone().map(|k| format!("`{k}`")).collect();
            let words = format!("the nameplate of a `{}` has no `{}`", component.id.value, key.value);
            let problem = Diagnostic::new(Code::UnknownKey, key.span, words).nearest(&key.value, valid);
            self.say(match all.as_slice() {
                [] => problem.why("the component declares no nameplate"),
                all => problem.why(format!("it has {}", all.join(", "))),
            });
            return None;
        };
        let why = match Plate::read(declared, &text.value) {
            Ok(value) => return Some(value),
            Err(why) => why,
        };
        let code = match &why {
            PlateError::Misread(Misread::WrongQuantity { .. }) => Code::WrongDimension,
            PlateError::NotOneOf(_) => Code::UnknownWord,
            PlateError::NoMeasure => Code::UnknownMeasure,
            _ => Code::BadNumber,
        };
        let words = format!("`{}` is no value of `{}`", text.value, key.value);
        let mut problem = Diagnostic::new(code, text.span, words).why(why.to_string());
        if let PlateError::NotOneOf(valid) = &why {
            problem = problem.nearest(&text.value, valid.iter().map(String::as_str));
        }
        if let Some(measured_in) = declared.measured_in.as_ref().filter(|_| code == Code::BadNumber) {
            problem = problem
                .help(format!("write one number, in {} or with another unit of measure", measured_in.value));
        }
        self.say(problem);
        None
    }
}
