//! Names to things: which component a relation reaches, and what a reference means there.
//!
//! In: drafts whose references are words. Out: components whose links, needs and removals name what exists, of the
//! right kind, in every component that they can reach. Cost: linear in what is written, one look-up per name.

use std::collections::{BTreeMap, HashMap, HashSet};

use super::component::{Component, Item, Many};
use super::decode::{Draft, Owner, PendingLink, Side, Target, outcome_problems, over_one};
use super::link::{Leads, Reference, Shows, Via};
use super::{Name, Practice};
use crate::diagnostic::{Code, Diagnostic};
use crate::quantity::Measure;
use crate::source::{Span, Spanned};

/// Component by id, and components by kind.
pub(super) type Ids = BTreeMap<String, usize>;
pub(super) type Kinds = BTreeMap<String, Vec<usize>>;

/// What comes out.
pub(super) struct Resolved {
    /// Sorted by package, then by id.
    pub(super) components: Vec<Component>,
    pub(super) by_id: Ids,
    pub(super) by_kind: Kinds,
    /// Per component, `when` and `value` expressions that wait to be checked.
    pub(super) expressions: Vec<Pending>,
}

/// Expressions of a component, and accuracies that are written in a unit of measure.
pub(super) struct Pending {
    pub(super) expressions: Vec<(Item, Spanned<String>)>,
    pub(super) accuracies: Vec<(Item, Spanned<Measure>)>,
}

/// What the resolver knows and fills.
struct Resolver<'a> {
    drafts: Vec<Draft>,
    by_id: Ids,
    by_kind: Kinds,
    /// Per package, the packages that it may name, itself included.
    visible: &'a [HashSet<usize>],
    /// Some file could not be read: components that are not found may be in it.
    incomplete: bool,
    problems: &'a mut Vec<Diagnostic>,
    /// Names that a component of a wider kind lacks, already said.
    lacking: HashSet<(usize, String)>,
}

/// The kinds of things that a reference may name.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Wanted {
    Finding,
    Cause,
    Condition,
    /// What causes something: a cause or a condition.
    Source,
    /// What a cause leads to: a cause or a condition.
    State,
}

impl Wanted {
    const fn admits(self, item: Item) -> bool {
        match item {
            Item::Cause(_) => matches!(self, Self::Cause | Self::Source | Self::State),
            Item::Condition(_) => matches!(self, Self::Condition | Self::Source | Self::State),
            Item::Symptom(_) | Item::Given(..) => matches!(self, Self::Finding),
            Item::Fix(_) => false,
        }
    }

    const fn word(self) -> &'static str {
        match self {
            Self::Finding => "a finding",
            Self::Cause => "a cause",
            Self::Condition => "a condition",
            Self::Source | Self::State => "a cause or condition",
        }
    }
}

const fn word_of(item: Item) -> &'static str {
    match item {
        Item::Cause(_) => "a cause",
        Item::Condition(_) => "a condition",
        Item::Symptom(_) => "a symptom",
        Item::Given(..) => "a finding",
        Item::Fix(_) => "a fix",
    }
}

/// A reference that was found: where, under which name, and what it is on each component reached.
struct Found {
    via: Via,
    name: String,
    /// Component and item; of a choice with `several`, no item.
    targets: Vec<(usize, Option<Item>)>,
}

/// Resolves all drafts.
pub(super) fn resolve(
    mut drafts: Vec<Draft>,
    visible: &[HashSet<usize>],
    practice: &Practice,
    incomplete: bool,
    problems: &mut Vec<Diagnostic>,
) -> Resolved {
    drafts.sort_by(|a, b| {
        let key = |draft: &Draft| (draft.component.package, draft.component.id.value.clone());
        key(a).cmp(&key(b))
    });
    let mut by_id = Ids::new();
    let mut unique: Vec<Draft> = Vec::with_capacity(drafts.len());
    for draft in drafts {
        let id = &draft.component.id;
        if let Some(&first) = by_id.get(&id.value) {
            let first: &Draft = &unique[first];
            problems.push(again(id, first.component.id.span, "the component"));
            continue;
        }
        by_id.insert(id.value.clone(), unique.len());
        unique.push(draft);
    }
    let mut resolver = Resolver {
        drafts: unique,
        by_id,
        by_kind: Kinds::new(),
        visible,
        incomplete,
        problems,
        lacking: HashSet::new(),
    };
    resolver.kinds();
    resolver.names();
    resolver.relations();
    for at in 0..resolver.drafts.len() {
        resolver.component(at);
    }
    resolver.emergencies(practice);
    let Resolver { drafts, by_id, by_kind, .. } = resolver;
    let (components, expressions) = drafts
        .into_iter()
        .map(|draft| {
            let Draft { component, expressions, accuracies, .. } = draft;
            (component, Pending { expressions, accuracies })
        })
        .unzip();
    Resolved { components, by_id, by_kind, expressions }
}

fn again(id: &Name, first: Span, what: &str) -> Diagnostic {
    Diagnostic::new(Code::DuplicateId, id.span, format!("{what} `{}` is declared twice", id.value))
        .label("again")
        .also_at(first, "first declared here")
        .help("rename one of the two")
}

impl Resolver<'_> {
    /// Which components a kind has.
    fn kinds(&mut self) {
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
    fn names(&mut self) {
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

    fn sees(&self, from: usize, to: usize) -> bool {
        let packages = (self.drafts[from].component.package, self.drafts[to].component.package);
        self.visible.get(packages.0).is_some_and(|visible| visible.contains(&packages.1))
    }

    /// Which components each relation reaches.
    fn relations(&mut self) {
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

    fn no_such_kind(&self, from: usize, kind: &Name) -> Diagnostic {
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

    /// Everything that one component refers to.
    fn component(&mut self, at: usize) {
        let draft = &mut self.drafts[at];
        let links = std::mem::take(&mut draft.links);
        let needs = std::mem::take(&mut draft.needs);
        let removes = std::mem::take(&mut draft.removes);
        let places = std::mem::take(&mut draft.at);
        for link in links {
            self.link(at, &link);
        }
        for (owner, finding, outcome) in needs {
            let Some(found) = self.find(at, &finding, Wanted::Finding) else { continue };
            let Some((name, outcome)) = self.needed(&found, outcome) else { continue };
            let need = (Reference { via: found.via, name, span: finding.span }, outcome);
            let component = &mut self.drafts[at].component;
            match owner {
                Item::Fix(fix) => component.fixes[fix].needs.push(need),
                Item::Given(test, _) => component.tests[test].needs.push(need),
                Item::Cause(_) | Item::Condition(_) | Item::Symptom(_) => {}
            }
        }
        for (fix, cause, chance) in removes {
            let Some(found) = self.find(at, &cause, Wanted::Cause) else { continue };
            let reference = Reference { via: found.via, name: found.name, span: cause.span };
            self.drafts[at].component.fixes[fix].removes.push((reference, chance));
        }
        for (owner, place) in places {
            let Some(via) = self.place(at, &place) else { continue };
            let component = &mut self.drafts[at].component;
            match owner {
                Owner::Symptom(symptom) => component.symptoms[symptom].at = via,
                Owner::Test(test) => component.tests[test].at = via,
            }
        }
    }

    /// Where something is read: a relation to one unit, or a component that the job has once.
    fn place(&mut self, at: usize, place: &Name) -> Option<Via> {
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
    fn once(&mut self, at: usize, written: &Name, id: &str) -> Option<Via> {
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
    fn find(&mut self, at: usize, written: &Name, wanted: Wanted) -> Option<Found> {
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

    fn wrong_kind(
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

    fn dangling(
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
            #[expect(clippy::iter_over_hash_type, reason = "sorted by `nearest`")]
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

    /// The finding and outcome that a need is about, of a choice with `several` its own.
    fn needed(&mut self, found: &Found, outcome: Name) -> Option<(String, Name)> {
        let &(component, item) = found.targets.first()?;
        let draft = &self.drafts[component];
        let Some(item) = item else {
            let parts = draft.several.get(&found.name)?;
            if let Some((_, name)) = parts.iter().find(|(part, _)| *part == outcome.value) {
                return Some((name.clone(), outcome.map(|_| "yes".to_owned())));
            }
            let problem = no_outcome(&outcome, &found.name, parts.iter().map(|(part, _)| part.as_str()));
            self.problems.push(problem);
            return None;
        };
        let finding = draft.component.finding(item)?;
        if finding.outcomes.iter().any(|other| other.value == outcome.value) {
            return Some((found.name.clone(), outcome));
        }
        if !finding.outcomes.is_empty() {
            let all = finding.outcomes.iter().map(|outcome| outcome.value.as_str());
            let problem = no_outcome(&outcome, &found.name, all);
            self.problems.push(problem);
        }
        None
    }

    /// One link, put where it belongs.
    fn link(&mut self, at: usize, link: &PendingLink) {
        let wanted = match (&link.target, link.side, link.own_item) {
            (_, Side::Effect, _) => Wanted::Source,
            (Target::Finding(_), Side::Cause, _) => Wanted::Finding,
            (Target::State(_), Side::Cause, Item::Condition(_)) => Wanted::Condition,
            (Target::State(_), Side::Cause, _) => Wanted::State,
        };
        let Some(found) = self.find(at, &link.other, wanted) else { return };
        let other = Reference { via: found.via, name: found.name.clone(), span: link.other.span };
        let own = Reference { via: Via::Same, name: link.own.value.clone(), span: link.own.span };
        let chances = match &link.target {
            Target::State(chance) => {
                let (from, to) = match link.side {
                    Side::Cause => (own, other),
                    Side::Effect => (other, own),
                };
                self.drafts[at].component.leads.push(Leads { from, to, chance: *chance });
                return;
            }
            Target::Finding(chances) => chances,
        };
        let (from, to, findings) = match link.side {
            Side::Cause => (own, other, found.targets),
            Side::Effect => {
                let several = self.drafts[at].several.contains_key(&link.own.value);
                (other, own, vec![(at, (!several).then_some(link.own_item))])
            }
        };
        let mut several: Option<Vec<(String, String)>> = None;
        for (component, item) in findings {
            let draft = &self.drafts[component];
            if let Some(finding) = item.and_then(|item| draft.component.finding(item)) {
                let problems =
                    outcome_problems(chances.iter().map(|(name, _)| name), &finding.outcomes, &to.name);
                if !problems.is_empty() {
                    self.problems.extend(problems);
                    return;
                }
            } else if let Some(parts) = draft.several.get(&to.name) {
                several = Some(parts.clone());
            }
        }
        let Some(parts) = several else {
            self.problems.extend(over_one(chances, link.other.span));
            self.drafts[at].component.shows.push(Shows { from, to, chances: chances.clone() });
            return;
        };
        for (outcome, chance) in chances {
            let Some((_, name)) = parts.iter().find(|(part, _)| *part == outcome.value) else {
                let problem = no_outcome(outcome, &to.name, parts.iter().map(|(part, _)| part.as_str()));
                self.problems.push(problem);
                continue;
            };
            let to = Reference { name: name.clone(), ..to.clone() };
            let yes = Spanned::new("yes".to_owned(), outcome.span);
            self.drafts[at].component.shows.push(Shows {
                from: from.clone(),
                to,
                chances: vec![(yes, *chance)],
            });
        }
    }

    /// Findings that announce an emergency.
    fn emergencies(&mut self, practice: &Practice) {
        for (component, finding) in practice.emergencies.iter().flat_map(|emergency| &emergency.shown_by) {
            let Some(&at) = self.by_id.get(&component.value) else {
                if !self.incomplete {
                    let message = format!("there is no component `{}`", component.value);
                    let problem = Diagnostic::new(Code::DanglingReference, component.span, message)
                        .nearest(&component.value, self.by_id.keys().map(String::as_str));
                    self.problems.push(problem);
                }
                continue;
            };
            let target = &self.drafts[at].component;
            match target.item(&finding.value) {
                Some(item) if Wanted::Finding.admits(item) => {}
                Some(item) => {
                    let message = format!("`{}` is {}, not a finding", finding.value, word_of(item));
                    self.problems.push(Diagnostic::new(Code::WrongKind, finding.span, message));
                }
                None if self.drafts[at].incomplete => {}
                None => {
                    let name = Spanned::new(format!("{}/{}", component.value, finding.value), finding.span);
                    let problem =
                        self.dangling(at, &name, Via::Once(at), &finding.value, &[at], Wanted::Finding);
                    self.problems.push(problem);
                }
            }
        }
    }
}

fn no_outcome<'a>(outcome: &Name, finding: &str, valid: impl Iterator<Item = &'a str> + Clone) -> Diagnostic {
    let all = valid.clone().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ");
    Diagnostic::new(
        Code::UnknownOutcome,
        outcome.span,
        format!("`{finding}` has no outcome `{}`", outcome.value),
    )
    .why(format!("its outcomes are {all}"))
    .nearest(&outcome.value, valid)
}

/// The name of an item where it is declared.
pub(super) fn id_of(component: &Component, item: Item) -> Option<&Name> {
    match item {
        Item::Cause(at) => component.causes.get(at).map(|cause| &cause.id),
        Item::Condition(at) => component.conditions.get(at).map(|condition| &condition.id),
        Item::Symptom(at) => component.symptoms.get(at).map(|symptom| &symptom.finding.id),
        Item::Given(test, at) => component.given(test, at).map(|gives| &gives.finding.id),
        Item::Fix(at) => component.fixes.get(at).map(|fix| &fix.id),
    }
}
