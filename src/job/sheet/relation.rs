//! Relations between the units of a sheet.

use super::Sheet;
use super::unit::UNIT_KEYS;
use crate::diagnostic::{Code, Diagnostic};
use crate::job::Unit;
use crate::knowledge::{Component, Many, Relation};
use crate::source::Spanned;
use crate::yaml::Node;

impl Sheet<'_> {
    pub(super) fn relation(&mut self, component: &Component, at: usize, key: &Spanned<String>, node: &Node) {
        let Some(relation) = component.relations.iter().find(|r| r.id.value == key.value) else {
            let relations = component.relations.iter().map(|r| &*r.id.value);
            let valid: Vec<&str> = UNIT_KEYS.into_iter().chain(relations).collect();
            let all = valid.iter().map(|key| format!("`{key}`")).collect::<Vec<_>>().join(", ");
            let words = format!("a `{}` has no key `{}`", component.id.value, key.value);
            let problem = Diagnostic::new(Code::UnknownKey, key.span, words)
                .label("not known here")
                .why(format!("its keys are {all}"))
                .nearest(&key.value, valid);
            self.say(problem);
            return;
        };
        let ids = self.texts(node, &key.value);
        match relation.many {
            Many::Inverse(ref inverse) => {
                let words = format!("`{}` follows from what the other units say", key.value);
                let kind = &relation.kind.value;
                let problem = Diagnostic::new(Code::ConflictingKeys, key.span, words)
                    .why(format!("it is every `{kind}` whose `{}` is this unit", inverse.value))
                    .help(format!("write `{}: …` at each of them instead", inverse.value));
                self.say(problem);
            }
            Many::One | Many::Optional if ids.len() > 1 => {
                let words = format!("`{}` is one unit, not {}", key.value, ids.len());
                self.say(Diagnostic::new(Code::WrongShape, node.span, words));
            }
            Many::One | Many::Optional | Many::All => self.stated.push((at, key.clone(), ids)),
        }
    }

    /// Checks the relations, now that all units are known.
    pub(super) fn relations(&mut self) {
        for (at, key, ids) in std::mem::take(&mut self.stated) {
            let Some(component) = self.job.units.get(at).and_then(|unit| self.knowledge.of_kind(&unit.kind))
            else {
                continue;
            };
            let component = &self.knowledge.components[component];
            let Some(relation) = component.relations.iter().find(|r| r.id.value == key.value) else {
                continue;
            };
            let mut partners: Vec<String> = Vec::new();
            for id in ids {
                if self.refused.contains(&id.value) {
                    continue;
                }
                let Some(other) = self.job.unit(&id.value) else {
                    let words = format!("there is no unit `{}`", id.value);
                    let fitting = self.job.units.iter().filter(|unit| self.fits(unit, relation));
                    let problem = Diagnostic::new(Code::DanglingReference, id.span, words)
                        .why(format!("`{}` is a unit of kind `{}`", key.value, relation.kind.value))
                        .nearest(&id.value, fitting.map(|unit| &*unit.id));
                    self.say(problem);
                    continue;
                };
                if !self.fits(other, relation) {
                    let words =
                        format!("`{}` is a `{}`, not a `{}`", id.value, other.kind, relation.kind.value);
                    let fitting = self.job.units.iter().filter(|unit| self.fits(unit, relation));
                    let ids: Vec<String> = fitting.map(|unit| format!("`{}`", unit.id)).collect();
                    let mut problem = Diagnostic::new(Code::WrongKind, id.span, words);
                    if let Some(span) = other.span {
                        problem = problem.also_at(span, "listed here");
                    }
                    if !ids.is_empty() {
                        problem = problem.help(format!("name one of {}", ids.join(", ")));
                    }
                    self.say(problem);
                    continue;
                }
                if partners.contains(&id.value) {
                    let words = format!("`{}` is named twice", id.value);
                    self.say(Diagnostic::new(Code::DuplicateId, id.span, words));
                    continue;
                }
                partners.push(id.value);
            }
            self.job.units[at].relations.insert(key.value, partners);
        }
    }

    fn fits(&self, unit: &Unit, relation: &Relation) -> bool {
        self.knowledge.of_kind(&unit.kind).is_some_and(|component| relation.components.contains(&component))
    }
}
