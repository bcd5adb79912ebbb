//! Which components a kind has, what each name of a component means, and which components each relation reaches.

use std::collections::{BTreeMap, HashMap};

use super::Resolver;
use super::find::word_of;
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::Name;
use crate::knowledge::component::{Item, Many};
use crate::source::Span;

pub(super) fn again(id: &Name, first: Span, what: &str) -> Diagnostic {
    Diagnostic::new(Code::DuplicateId, id.span, format!("{what} `{}` is declared twice", id.value))
        .label("again")
        .also_at(first, "first declared here")
        .help("rename one of the two")
}

impl Resolver<'_> {
    /// Which components a kind has.
    pub(super) fn kinds(&mut self) {
        let mut exact: BTreeMap<&str, &Name> = BTreeMap::new();
        for (at, draft) in self.drafts.iter().enumerate() {
            if let Some(each) = &draft.component.each {
                if let Some(first) = exact.get(each.value.as_str()) {
                    let problem = again(each, first.span, "the kind")
                        .why("a unit of the job sheet is of one component: its ids would be those of both");
                    self.problems.push(problem);
                }
                exact.insert(&each.value, each);
                self.by_kind.entry(each.value.clone()).or_default().push(at);
            }
            for wider in &draft.component.is {
                let of_kind = self.by_kind.entry(wider.value.clone()).or_default();
                if of_kind.last() != Some(&at) {
                    of_kind.push(at);
                }
            }
        }
    }

    /// What each name of a component means.
    pub(super) fn names(&mut self) {
        for draft in &mut self.drafts {
            let component = &draft.component;
            let causes = component.causes.iter().enumerate().map(|(at, cause)| (&cause.id, Item::Cause(at)));
            let conditions = component
                .conditions
                .iter()
                .enumerate()
                .map(|(at, condition)| (&condition.id, Item::Condition(at)));
            let symptoms = component
                .symptoms
                .iter()
                .enumerate()
                .map(|(at, symptom)| (&symptom.finding.id, Item::Symptom(at)));
            let given = component.tests.iter().enumerate().flat_map(|(test, it)| {
                it.gives.iter().enumerate().map(move |(at, gives)| (&gives.finding.id, Item::Given(test, at)))
            });
            let fixes = component.fixes.iter().enumerate().map(|(at, fix)| (&fix.id, Item::Fix(at)));
            let all = causes.chain(conditions).chain(symptoms).chain(given).chain(fixes);
            let mut names: HashMap<String, (Item, Span)> = HashMap::new();
            for (id, item) in all {
                if let Some(&(first, span)) = names.get(&id.value) {
                    let problem = Diagnostic::new(
                        Code::DuplicateId,
                        id.span,
                        format!("`{}` is {} already", id.value, word_of(first)),
                    )
                    .label(word_of(item))
                    .also_at(span, word_of(first))
                    .why("causes, conditions, findings and fixes of a component share one namespace")
                    .help("rename one of the two");
                    self.problems.push(problem);
                } else {
                    names.insert(id.value.clone(), (item, id.span));
                }
            }
            draft.component.names = names.into_iter().map(|(name, (item, _))| (name, item)).collect();
        }
    }

    pub(super) fn sees(&self, from: usize, to: usize) -> bool {
        let packages = (self.drafts[from].component.package, self.drafts[to].component.package);
        self.visible.get(packages.0).is_some_and(|visible| visible.contains(&packages.1))
    }

    /// Which components each relation reaches.
    pub(super) fn relations(&mut self) {
        let mut reached: Vec<Vec<Vec<usize>>> = Vec::with_capacity(self.drafts.len());
        for (at, draft) in self.drafts.iter().enumerate() {
            let mut of_component = Vec::new();
            for relation in &draft.component.relations {
                let kind = &relation.kind;
                let all = self.by_kind.get(&kind.value).map_or(&[][..], Vec::as_slice);
                let seen: Vec<usize> = all.iter().copied().filter(|&to| self.sees(at, to)).collect();
                if seen.is_empty() && !self.incomplete {
                    let problem = self.no_such_kind(at, kind);
                    self.problems.push(problem);
                }
                of_component.push(seen);
            }
            reached.push(of_component);
        }
        for (draft, reached) in self.drafts.iter_mut().zip(reached) {
            for (relation, components) in draft.component.relations.iter_mut().zip(reached) {
                relation.components = components;
            }
        }
        for (at, draft) in self.drafts.iter().enumerate() {
            for relation in &draft.component.relations {
                let Many::Inverse(via) = &relation.many else { continue };
                let names_us = |&to: &usize| {
                    self.drafts[to].component.relations.iter().any(|back| {
                        back.id.value == via.value
                            && (back.components.contains(&at) || back.components.is_empty())
                    })
                };
                if relation.components.is_empty()
                    || relation.components.iter().any(names_us)
                    || self.incomplete
                {
                    continue;
                }
                let kind = &relation.kind.value;
                let own = &draft.component.id.value;
                let valid = relation.components.iter().flat_map(|&to| {
                    self.drafts[to].component.relations.iter().map(|relation| relation.id.value.as_str())
                });
                let message = format!("no `{kind}` has a relation `{}` to `{own}`", via.value);
                let problem = Diagnostic::new(Code::DanglingReference, via.span, message)
                    .why("an inverse relation reaches the units whose relation names this one")
                    .help(format!("declare `{}` among the relations of `{kind}`", via.value))
                    .nearest(&via.value, valid);
                self.problems.push(problem);
            }
        }
    }

    pub(super) fn no_such_kind(&self, from: usize, kind: &Name) -> Diagnostic {
        let message = format!("no component is a `{}`", kind.value);
        let problem = Diagnostic::new(Code::DanglingReference, kind.span, message)
            .why("a relation reaches a kind of unit: the `each` of a component, or one of its `is`");
        if let Some(&other) = self.by_id.get(&kind.value) {
            let other = &self.drafts[other].component;
            let help = match &other.each {
                Some(each) => {
                    format!("units of the component `{}` are of the kind `{}`", kind.value, each.value)
                }
                None => format!(
                    "the job has `{}` once: write `{}/name` where you need it",
                    kind.value, kind.value
                ),
            };
            return problem.also_at(other.id.span, "a component of that id").help(help);
        }
        let kinds = self.by_kind.iter().filter(|(_, of_kind)| of_kind.iter().any(|&to| self.sees(from, to)));
        problem.nearest(&kind.value, kinds.map(|(kind, _)| kind.as_str()))
    }
}
