//! Names to things: which component a relation reaches, and what a reference means there.
//!
//! In: drafts whose references are words. Out: components whose links, needs and removals name what exists, of the
//! right kind, in every component that they can reach. Cost: linear in what is written, one look-up per name.

mod find;
mod kinds;
mod procedure;

use std::collections::{BTreeMap, HashSet};

use super::component::{Component, Item};
use super::decode::{Draft, Owner, PendingLink, ProcedureDraft, Side, Target, outcome_problems, over_one};
use super::link::{Leads, Reference, Shows, Via};
use super::{Name, Practice};
use crate::diagnostic::{Code, Diagnostic, ENOUGH};
use crate::quantity::Measure;
use crate::source::Spanned;
use find::{Found, Wanted, word_of};
use kinds::again;
pub(super) use procedure::StepExpressions;

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
    pub(super) procedure: super::Procedure,
    /// Per step, expressions that wait to be checked.
    pub(super) of_steps: Vec<StepExpressions>,
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

/// Resolves all drafts.
pub(super) fn resolve(
    mut drafts: Vec<Draft>,
    procedures: Vec<ProcedureDraft>,
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
    let (procedure, of_steps) = resolver.procedure(procedures);
    let Resolver { drafts, by_id, by_kind, .. } = resolver;
    let (components, expressions) = drafts
        .into_iter()
        .map(|draft| {
            let Draft { component, expressions, accuracies, .. } = draft;
            (component, Pending { expressions, accuracies })
        })
        .unzip();
    Resolved { components, by_id, by_kind, expressions, procedure, of_steps }
}

impl Resolver<'_> {
    /// Everything that one component refers to.
    fn component(&mut self, at: usize) {
        let draft = &mut self.drafts[at];
        let links = std::mem::take(&mut draft.links);
        let needs = std::mem::take(&mut draft.needs);
        let removes = std::mem::take(&mut draft.removes);
        let places = std::mem::take(&mut draft.at);
        for link in links {
            if self.problems.len() >= ENOUGH {
                break;
            }
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

    /// Findings that announce an emergency, and other emergencies that it names; kinds of units that have a usual place.
    fn emergencies(&mut self, practice: &Practice) {
        let ids: Vec<&str> =
            practice.emergencies.iter().map(|emergency| emergency.id.value.as_str()).collect();
        for other in practice.emergencies.iter().flat_map(|emergency| &emergency.cleared_with) {
            if !ids.contains(&other.value.as_str()) && !self.incomplete {
                let message = format!("there is no emergency `{}`", other.value);
                let problem = Diagnostic::new(Code::DanglingReference, other.span, message)
                    .nearest(&other.value, ids.iter().copied());
                self.problems.push(problem);
            }
        }
        let kinds = || self.drafts.iter().filter_map(|draft| draft.component.each.as_ref());
        let mut unknown = Vec::new();
        for (kind, _) in practice.usual_places.iter().filter(|_| !self.incomplete) {
            if !kinds().any(|each| each.value == kind.value) {
                let message = format!("there is no kind of unit `{}`", kind.value);
                let problem = Diagnostic::new(Code::DanglingReference, kind.span, message);
                unknown.push(problem.nearest(&kind.value, kinds().map(|each| &*each.value)));
            }
        }
        self.problems.extend(unknown);
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
