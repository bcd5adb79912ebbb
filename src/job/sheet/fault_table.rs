//! Tables of a drive's own fault numbers.

use std::collections::BTreeMap;

use super::Sheet;
use crate::diagnostic::{Code, Diagnostic};
use crate::job::FaultClass;
use crate::knowledge::Component;
use crate::source::Spanned;
use crate::yaml::{Fields, Node, Value, entries};

impl Sheet<'_> {
    pub(super) fn fault_tables(&mut self, node: &Node) {
        for (name, node) in entries(node, "the list of fault tables", self.problems) {
            let mut table = BTreeMap::new();
            for (number, node) in entries(node, "a fault table", self.problems) {
                let mut f = Fields::of(node, "a fault number", number.span, self.problems);
                let class = f.require("class", self.problems).and_then(|n| self.text(n, "class"));
                let label = f.get("label", self.problems).and_then(|n| self.text(n, "label"));
                f.finish(self.problems);
                if let Some(class) = class {
                    let label = label.map_or_else(String::new, |label| label.value);
                    table.insert(number.value.clone(), FaultClass { class: class.value, label });
                }
            }
            self.job.fault_tables.insert(name.value.clone(), table);
        }
    }

    /// Checks which units use which table, and the classes in it against theirs.
    pub(super) fn use_tables(&mut self, tables: Option<&Node>) {
        let written: Vec<(Spanned<String>, &Node)> = match tables.map(|node| &node.value) {
            Some(Value::Map(map)) => map.iter().map(|(name, node)| (name.clone(), node)).collect(),
            _ => Vec::new(),
        };
        let mut users: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        for (at, name) in std::mem::take(&mut self.listed) {
            let Some(component) = self.job.units.get(at).and_then(|unit| self.knowledge.of_kind(&unit.kind))
            else {
                continue;
            };
            if !self.job.fault_tables.contains_key(&name.value) {
                let words = format!("there is no fault table `{}`", name.value);
                let valid = self.job.fault_tables.keys().map(String::as_str);
                let problem =
                    Diagnostic::new(Code::DanglingReference, name.span, words).nearest(&name.value, valid);
                self.say(problem);
                continue;
            }
            if classes(&self.knowledge.components[component]).is_empty() {
                let words =
                    format!("a `{}` shows no fault numbers", self.knowledge.components[component].id.value);
                self.say(Diagnostic::new(Code::WrongKind, name.span, words).help("leave `fault-table` out"));
            }
            users.entry(name.value.clone()).or_default().push(component);
            self.job.units[at].fault_table = Some(name.value);
        }
        for (name, node) in written {
            let Some(users) = users.get(&name.value) else {
                let words = format!("no unit uses the fault table `{}`", name.value);
                self.say(Diagnostic::new(Code::UnusedTable, name.span, words));
                continue;
            };
            let mut valid: Vec<&str> = Vec::new();
            for class in users.iter().flat_map(|&component| classes(&self.knowledge.components[component])) {
                if !valid.contains(&class) {
                    valid.push(class);
                }
            }
            let Value::Map(numbers) = &node.value else { continue };
            for (_, entry) in numbers {
                let Some(class) = entry.get("class").filter(|class| !class.is_null()) else { continue };
                if let Some(text) = class.text().filter(|text| !valid.contains(&text.trim())) {
                    let written = Spanned::new(text.trim().to_owned(), class.span);
                    self.unknown_word(&written, "fault class", valid.iter().copied());
                }
            }
        }
    }
}

/// The general classes that fault numbers of a component can belong to.
fn classes(component: &Component) -> Vec<&str> {
    let mut classes = Vec::new();
    for gives in component.tests.iter().flat_map(|test| &test.gives).filter(|gives| gives.fault_table) {
        match &gives.several {
            // One finding for each outcome of a log: `NAME.OUTCOME`.
            Some(log) => classes
                .extend(gives.finding.id.value.strip_prefix(&*log.value).and_then(|n| n.strip_prefix('.'))),
            None => classes.extend(gives.finding.outcomes.iter().skip(1).map(|outcome| &*outcome.value)),
        }
    }
    classes
}
