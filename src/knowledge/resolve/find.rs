//! What a reference means, or what is wrong with it.

use super::Resolver;
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::Name;
use crate::knowledge::component::{Component, Item, Many};
use crate::knowledge::link::Via;

/// The kinds of things that a reference may name.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Wanted {
    Finding,
    Cause,
    Condition,
    /// What causes something: a cause or a condition.
    Source,
    /// What a cause leads to: a cause or a condition.
    State,
}

impl Wanted {
    pub(super) const fn admits(self, item: Item) -> bool {
        match item {
            Item::Cause(_) => matches!(self, Self::Cause | Self::Source | Self::State),
            Item::Condition(_) => matches!(self, Self::Condition | Self::Source | Self::State),
            Item::Symptom(_) | Item::Given(..) => matches!(self, Self::Finding),
            Item::Fix(_) => false,
        }
    }

    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Finding => "a finding",
            Self::Cause => "a cause",
            Self::Condition => "a condition",
            Self::Source | Self::State => "a cause or condition",
        }
    }
}

pub(super) const fn word_of(item: Item) -> &'static str {
    match item {
        Item::Cause(_) => "a cause",
        Item::Condition(_) => "a condition",
        Item::Symptom(_) => "a symptom",
        Item::Given(..) => "a finding",
        Item::Fix(_) => "a fix",
    }
}

/// A reference that was found: where, under which name, and what it is on each component reached.
pub(super) struct Found {
    pub(super) via: Via,
    pub(super) name: String,
    /// Component and item; of a choice with `several`, no item.
    pub(super) targets: Vec<(usize, Option<Item>)>,
}

impl Resolver<'_> {
    /// Where something is read: a relation to one unit, or a component that the job has once.
    pub(super) fn place(&mut self, at: usize, place: &Name) -> Option<Via> {
        let component = &self.drafts[at].component;
        if let Some(relation) =
            component.relations.iter().position(|relation| relation.id.value == place.value)
        {
            if matches!(component.relations[relation].many, Many::One | Many::Optional) {
                return Some(Via::Relation(relation));
            }
            let message = format!("`{}` reaches many units", place.value);
            self.problems.push(
                Diagnostic::new(Code::WrongKind, place.span, message).why("a thing is read at one place"),
            );
            return None;
        }
        self.once(at, place, &place.value)
    }

    /// A component that the job has once.
    pub(super) fn once(&mut self, at: usize, written: &Name, id: &str) -> Option<Via> {
        let component = &self.drafts[at].component;
        if let Some(&other) = self.by_id.get(id).filter(|&&other| self.sees(at, other)) {
            let target = &self.drafts[other].component;
            if target.each.is_none() {
                return Some(Via::Once(other));
            }
            let kind = target.each.as_ref().map_or("", |each| each.value.as_str());
            let message = format!("`{id}` is a component of many units");
            let problem = Diagnostic::new(Code::WrongKind, written.span, message)
                .also_at(target.id.span, "each unit of this kind has its own")
                .why("from here it has to be said which unit is meant")
                .help(format!("declare a relation, `relations: {{{kind}: {kind}}}`, and write `{kind}/…`"));
            self.problems.push(problem);
            return None;
        }
        if !self.incomplete {
            let relations = component.relations.iter().map(|relation| relation.id.value.as_str());
            let once = self.by_id.iter().filter(|&(_, &other)| self.drafts[other].component.each.is_none());
            let valid = relations.chain(once.map(|(id, _)| id.as_str()));
            let mut message = format!("`{id}` is no relation of `{}`", component.id.value);
            message.push_str(", and no component that the job has once");
            let mut problem =
                Diagnostic::new(Code::DanglingReference, written.span, message).nearest(id, valid);
            if self.by_id.contains_key(id) {
                problem = problem.help("its package is not in use here: add it to `use` of `package.yaml`");
            }
            self.problems.push(problem);
        }
        None
    }

    /// What a reference means, or a diagnostic.
    pub(super) fn find(&mut self, at: usize, written: &Name, wanted: Wanted) -> Option<Found> {
        let text = written.value.as_str();
        let (via, name, components) = match text.split_once('/') {
            None => (Via::Same, text, vec![at]),
            Some((_, name)) if name.contains('/') => {
                let problem = Diagnostic::new(
                    Code::DanglingReference,
                    written.span,
                    format!("`{text}` goes through two relations"),
                )
                .why("a reference has one slash at most: `relation/name`")
                .help("declare a relation that reaches that unit directly");
                self.problems.push(problem);
                return None;
            }
            Some((relation, name)) => {
                let relations = &self.drafts[at].component.relations;
                match relations.iter().position(|other| other.id.value == relation) {
                    Some(relation) => (Via::Relation(relation), name, relations[relation].components.clone()),
                    None => match self.once(at, written, relation)? {
                        Via::Once(other) => (Via::Once(other), name, vec![other]),
                        Via::Same | Via::Relation(_) => return None,
                    },
                }
            }
        };
        if components.is_empty() {
            return None;
        }
        let name = name.to_owned();
        let mut targets = Vec::with_capacity(components.len());
        let mut lacking = Vec::new();
        for &component in &components {
            let draft = &self.drafts[component];
            match draft.component.item(&name) {
                Some(item) if wanted.admits(item) => targets.push((component, Some(item))),
                Some(item) => {
                    let problem = self.wrong_kind(component, written, &name, item, wanted);
                    self.problems.push(problem);
                    return None;
                }
                None if wanted == Wanted::Finding && draft.several.contains_key(&name) => {
                    targets.push((component, None))
                }
                None => lacking.push(component),
            }
        }
        if targets.is_empty() {
            if !components.iter().any(|&component| self.drafts[component].incomplete) {
                let problem = self.dangling(at, written, via, &name, &components, wanted);
                self.problems.push(problem);
            }
            return None;
        }
        for component in lacking {
            if !self.drafts[component].incomplete && self.lacking.insert((component, name.clone())) {
                let id = &self.drafts[component].component.id;
                let message = format!("`{}` has no `{name}`, which is wanted of its kind", id.value);
                let problem = Diagnostic::new(Code::KindLacksName, written.span, message)
                    .also_at(id.span, "this component")
                    .why("the link does not concern its units");
                self.problems.push(problem);
            }
        }
        Some(Found { via, name, targets })
    }

    pub(super) fn wrong_kind(
        &self,
        component: usize,
        written: &Name,
        name: &str,
        item: Item,
        wanted: Wanted,
    ) -> Diagnostic {
        let message = format!("`{}` is {}, not {}", written.value, word_of(item), wanted.word());
        let mut problem = Diagnostic::new(Code::WrongKind, written.span, message);
        if let Some(id) = id_of(&self.drafts[component].component, item) {
            problem = problem.also_at(id.span, format!("`{name}` is {}", word_of(item)));
        }
        match (wanted, item) {
            (Wanted::Finding, Item::Condition(_)) => {
                problem.help("what brings a condition about is written under `leads-to`")
            }
            (Wanted::Finding, Item::Cause(_)) => {
                problem.help("a cause that brings about another is written under `leads-to`")
            }
            (Wanted::State | Wanted::Condition, Item::Symptom(_) | Item::Given(..)) => {
                problem.help("what shows in a finding is written under `shows`")
            }
            (Wanted::Condition, Item::Cause(_)) => {
                problem.why("a condition brings about conditions only, never a cause")
            }
            (Wanted::Cause, Item::Condition(_)) => {
                problem.why("a condition is never fixed itself: a fix removes the causes that bring it about")
            }
            _ => problem,
        }
    }

    pub(super) fn dangling(
        &self,
        at: usize,
        written: &Name,
        via: Via,
        name: &str,
        components: &[usize],
        wanted: Wanted,
    ) -> Diagnostic {
        let prefix =
            written.value.split_once('/').map_or(String::new(), |(relation, _)| format!("{relation}/"));
        let first = &self.drafts[components[0]].component;
        let message =
            format!("`{}` has no {} `{name}`", first.id.value, wanted.word().trim_start_matches("a "));
        let mut problem = Diagnostic::new(Code::DanglingReference, written.span, message);
        let mut near: Vec<String> = Vec::new();
        for &component in components {
            let component = &self.drafts[component];
            let all = component.component.names.iter();
            // Only a set is made of it, which `nearest` sorts.
            let valid: Vec<&str> =
                all.filter(|&(_, &item)| wanted.admits(item)).map(|(name, _)| name.as_str()).collect();
            near.extend(
                crate::diagnostic::nearest(name, valid).into_iter().map(|name| format!("{prefix}{name}")),
            );
            if let Some(test) = component.component.tests.iter().find(|test| test.id.value == name) {
                let gives = test.gives.iter().map(|gives| format!("`{prefix}{}`", gives.finding.id.value));
                let gives = gives.collect::<Vec<_>>().join(", ");
                problem = problem
                    .also_at(test.id.span, format!("`{name}` is a test"))
                    .help(format!("name what the test gives: {gives}"));
            }
        }
        // The same name on a unit next to this one.
        if via == Via::Same {
            for relation in &self.drafts[at].component.relations {
                let there = |&to: &usize| {
                    self.drafts[to].component.item(name).is_some_and(|item| wanted.admits(item))
                };
                if relation.components.iter().any(there) {
                    near.insert(0, format!("{}/{name}", relation.id.value));
                }
            }
        } else if self.drafts[at].component.item(name).is_some_and(|item| wanted.admits(item)) {
            near.insert(0, name.to_owned());
        }
        near.dedup();
        near.truncate(3);
        problem.suggestions = near;
        problem
    }
}

/// The name of an item where it is declared.
fn id_of(component: &Component, item: Item) -> Option<&Name> {
    match item {
        Item::Cause(at) => component.causes.get(at).map(|cause| &cause.id),
        Item::Condition(at) => component.conditions.get(at).map(|condition| &condition.id),
        Item::Symptom(at) => component.symptoms.get(at).map(|symptom| &symptom.finding.id),
        Item::Given(test, at) => component.given(test, at).map(|gives| &gives.finding.id),
        Item::Fix(at) => component.fixes.get(at).map(|fix| &fix.id),
    }
}
