//! Ambiguity groups (IEEE 1522, the term): causes that no test tells apart, because each can show exactly what the others can.
//!
//! In: knowledge. Out: the groups with the reason that a package gives for each, and warnings for those without a reason and
//! for reasons without a group. What a cause can show are the abnormal outcomes of findings that it reaches over conditions
//! and causes that it leads to; how often it shows them does not count, because a frequency is no answer.

use std::collections::{BTreeMap, BTreeSet};

use super::rules::targets;
use super::{Item, Knowledge};
use crate::diagnostic::{Code, Diagnostic};

/// A cause, as the places of its component and of itself there.
type At = (usize, usize);

/// Causes that no test tells apart.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct AmbiguityGroup {
    /// `component/cause`, in the order of the knowledge; two at least.
    pub causes: Vec<String>,
    /// Why that is acceptable, where a package says so.
    pub reason: Option<String>,
    at: Vec<At>,
}

/// The abnormal outcomes that a cause can show: finding (component and item), outcome.
type Signature = BTreeSet<((usize, Item), String)>;

/// All groups, in the order of their first causes. Linear in links times causes.
#[must_use]
pub fn ambiguity_groups(knowledge: &Knowledge) -> Vec<AmbiguityGroup> {
    let mut shows: BTreeMap<(usize, Item), Signature> = BTreeMap::new();
    let mut leads: BTreeMap<(usize, Item), Vec<(usize, Item)>> = BTreeMap::new();
    for (at, component) in knowledge.components.iter().enumerate() {
        for link in &component.shows {
            let shown = link.chances.iter().filter(|(_, chance)| *chance > 0.0);
            let shown: Vec<&str> = shown.map(|(outcome, _)| outcome.value.as_str()).collect();
            for source in targets(knowledge, at, &link.from) {
                for finding in targets(knowledge, at, &link.to) {
                    let all = shown.iter().map(|outcome| (finding, (*outcome).to_owned()));
                    shows.entry(source).or_default().extend(all);
                }
            }
        }
        for link in component.leads.iter().filter(|link| link.chance > 0.0) {
            for source in targets(knowledge, at, &link.from) {
                leads.entry(source).or_default().extend(targets(knowledge, at, &link.to));
            }
        }
    }
    let mut by_signature: BTreeMap<Signature, Vec<At>> = BTreeMap::new();
    for (component, it) in knowledge.components.iter().enumerate() {
        for cause in 0..it.causes.len() {
            let mut signature = Signature::new();
            let (mut open, mut seen) = (vec![(component, Item::Cause(cause))], BTreeSet::new());
            while let Some(thing) = open.pop() {
                if seen.insert(thing) {
                    signature.extend(shows.get(&thing).into_iter().flatten().cloned());
                    open.extend(leads.get(&thing).into_iter().flatten());
                }
            }
            if !signature.is_empty() {
                by_signature.entry(signature).or_default().push((component, cause));
            }
        }
    }
    let mut groups: Vec<Vec<At>> = by_signature.into_values().filter(|group| group.len() > 1).collect();
    groups.sort();
    let groups = groups.into_iter().map(|at| {
        let causes: Vec<String> = at.iter().map(|&at| name(knowledge, at)).collect();
        let said =
            knowledge.practice.ambiguous.iter().find(|said| {
                causes.iter().all(|cause| said.causes.iter().any(|known| known.value == *cause))
            });
        AmbiguityGroup { reason: said.map(|said| said.reason.value.clone()), causes, at }
    });
    groups.collect()
}

/// Warnings: groups that nothing explains, and explanations of causes that are told apart or are not there.
#[must_use]
pub fn check(knowledge: &Knowledge) -> Vec<Diagnostic> {
    let groups = ambiguity_groups(knowledge);
    let mut problems = Vec::new();
    for group in groups.iter().filter(|group| group.reason.is_none()) {
        let spans: Vec<_> = group
            .at
            .iter()
            .map(|&(component, cause)| knowledge.components[component].causes[cause].id.span)
            .collect();
        let names = group.causes.iter().map(|cause| format!("`{cause}`")).collect::<Vec<_>>().join(", ");
        let mut problem = Diagnostic::new(Code::ToldApartByNothing, spans[0], format!("nothing tells {names} apart"))
            .why("each shows exactly what the others show: no answer moves one against the other")
            .help("write what only one of them shows, or give the reason in `package.yaml`: `ambiguous: [{causes: [...], reason: ...}]`");
        for span in &spans[1..] {
            problem = problem.also_at(*span, "and here");
        }
        problems.push(problem);
    }
    for said in &knowledge.practice.ambiguous {
        let of_group = |group: &AmbiguityGroup| {
            group.causes.iter().filter(|cause| said.causes.iter().any(|known| known.value == **cause)).count()
                > 1
        };
        if !groups.iter().any(of_group) {
            let problem = Diagnostic::new(
                Code::ToldApartByNothing,
                said.reason.span,
                "a reason for causes that are told apart",
            )
            .why("no two of the causes that it names show exactly the same")
            .help("take it out, or name the causes as `component/cause`");
            problems.push(problem);
        }
    }
    problems
}

fn name(knowledge: &Knowledge, (component, cause): At) -> String {
    let it = &knowledge.components[component];
    format!("{}/{}", it.id.value, it.causes[cause].id.value)
}
