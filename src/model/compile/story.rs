//! The numbers: causes, conditions and findings of every instance, and the links between them.

use super::site::Site;
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{Component, Item, Name, Reference};
use crate::model::index::{CauseIx, ConditionIx, FindingIx, FixIx};
use crate::model::network::{NetworkBuilder, Source};
use crate::quantity::{Evaluated, Expression, Value};
use crate::source::{Span, Spanned};

/// Where the items of one instance ended up.
#[derive(Default)]
pub(super) struct Indices {
    /// Per cause of the component; `None`: it cannot be there on this unit or at this stage.
    pub causes: Vec<Option<CauseIx>>,
    /// Per condition of the component.
    pub conditions: Vec<Option<ConditionIx>>,
    /// Per symptom.
    pub symptoms: Vec<FindingIx>,
    /// Per test, per finding that it gives.
    pub given: Vec<Vec<FindingIx>>,
    /// Per fix.
    pub fixes: Vec<FixIx>,
}

impl Indices {
    /// The finding that an item is.
    pub(super) fn finding(&self, item: Item) -> Option<FindingIx> {
        match item {
            Item::Symptom(at) => self.symptoms.get(at).copied(),
            Item::Given(test, at) => self.given.get(test)?.get(at).copied(),
            Item::Cause(_) | Item::Condition(_) | Item::Fix(_) => None,
        }
    }
}

/// One arrow between two items of the same sort, for the search for circles.
pub(super) struct Arrow {
    pub from: usize,
    pub to: usize,
    pub span: Span,
}

/// The network in the making.
pub(super) struct Story {
    pub builder: NetworkBuilder,
    /// Per instance.
    pub indices: Vec<Indices>,
    /// Between conditions.
    pub brings: Vec<Arrow>,
    /// Between causes.
    pub leads: Vec<Arrow>,
}

/// Evaluates every `when`, numbers the items of every instance, and draws the links.
pub(super) fn story(site: &Site<'_>, problems: &mut Vec<Diagnostic>) -> Story {
    let mut story = Story {
        builder: NetworkBuilder::new(),
        indices: Vec::with_capacity(site.instances.len()),
        brings: Vec::new(),
        leads: Vec::new(),
    };
    for at in 0..site.instances.len() {
        let component = site.instances[at].component;
        let indices = number(&mut story.builder, site, at, component, problems);
        story.indices.push(indices);
    }
    for at in 0..site.instances.len() {
        link(&mut story, site, at);
    }
    story
}

fn number(
    builder: &mut NetworkBuilder,
    site: &Site<'_>,
    at: usize,
    component: &Component,
    problems: &mut Vec<Diagnostic>,
) -> Indices {
    let mut indices = Indices::default();
    for cause in &component.causes {
        let prior = cause.prior.at(site.stage).filter(|_| applies(site, at, cause.when.as_ref(), problems));
        indices.causes.push(prior.map(|prior| builder.cause(prior)));
    }
    for condition in &component.conditions {
        let there = applies(site, at, condition.when.as_ref(), problems);
        indices.conditions.push(there.then(|| builder.condition(condition.leak)));
    }
    let mut finding = |f: &crate::knowledge::Finding| builder.finding(f.outcomes.len(), abnormal(&f.leak));
    indices.symptoms = component.symptoms.iter().map(|symptom| finding(&symptom.finding)).collect();
    for test in &component.tests {
        indices.given.push(test.gives.iter().map(|gives| finding(&gives.finding)).collect());
    }
    indices.fixes.extend(component.fixes.iter().map(|_| builder.fix()));
    indices
}

/// The chances of the abnormal outcomes.
fn abnormal(chances: &[f64]) -> &[f64] {
    chances.get(1..).unwrap_or_default()
}

/// Whether a `when` lets its item exist here; what is not known lets it.
fn applies(
    site: &Site<'_>,
    at: usize,
    when: Option<&Spanned<Expression>>,
    problems: &mut Vec<Diagnostic>,
) -> bool {
    let Some(when) = when else { return true };
    match when.value.evaluate(&|name| site.fact(at, name)) {
        Evaluated::Known(value) => value != Value::Truth(false),
        Evaluated::Unknown(_) => true,
        Evaluated::Failed(why) => {
            let words = format!("`when` has no value for `{}`", site.instances[at].id);
            problems.push(Diagnostic::new(Code::BadExpression, when.span, words).why(why));
            true
        }
    }
}

/// Draws the links that are written in the component of one instance.
fn link(story: &mut Story, site: &Site<'_>, at: usize) {
    let component = site.instances[at].component;
    let mut chances = Vec::new();
    for shows in &component.shows {
        let sources = sources(&story.indices, site, at, &shows.from);
        if sources.is_empty() {
            continue;
        }
        for (instance, item) in items(site, at, &shows.to) {
            let declared = site.instances[instance].component.finding(item);
            let (Some(finding), Some(declared)) = (story.indices[instance].finding(item), declared) else {
                continue;
            };
            by_outcome(&mut chances, &declared.outcomes, &shows.chances);
            for &source in &sources {
                story.builder.show(source, finding, &chances);
            }
        }
    }
    for leads in &component.leads {
        let sources = sources(&story.indices, site, at, &leads.from);
        for (instance, item) in items(site, at, &leads.to) {
            let indices = &story.indices[instance];
            match item {
                Item::Condition(condition) => {
                    let Some(condition) = indices.conditions[condition] else { continue };
                    for &source in &sources {
                        story.builder.bring(source, condition, leads.chance);
                        if let Source::Condition(from) = source {
                            let span = leads.from.span;
                            story.brings.push(Arrow { from: from.at(), to: condition.at(), span });
                        }
                    }
                }
                Item::Cause(cause) => {
                    let Some(cause) = indices.causes[cause] else { continue };
                    for &source in &sources {
                        if let Source::Cause(leader) = source {
                            story.builder.lead(leader, cause, leads.chance);
                            let span = leads.from.span;
                            story.leads.push(Arrow { from: leader.at(), to: cause.at(), span });
                        }
                    }
                }
                Item::Symptom(_) | Item::Given(..) | Item::Fix(_) => {}
            }
        }
    }
    for (fix, number) in component.fixes.iter().zip(story.indices[at].fixes.clone()) {
        // One act has one draw per cause, however many ways lead there: the best of them.
        let mut removes: Vec<(CauseIx, f64)> = Vec::new();
        for (reference, chance) in &fix.removes {
            for (instance, item) in items(site, at, reference) {
                let Item::Cause(cause) = item else { continue };
                let Some(cause) = story.indices[instance].causes[cause] else { continue };
                match removes.iter_mut().find(|(there, _)| *there == cause) {
                    Some((_, there)) => *there = there.max(*chance),
                    None => removes.push((cause, *chance)),
                }
            }
        }
        for (cause, chance) in removes {
            story.builder.remove(number, cause, chance);
        }
    }
}

/// The items that a reference from `at` speaks of. A unit of a wider kind that has no such name is not concerned.
pub(super) fn items<'a>(
    site: &'a Site<'_>,
    at: usize,
    reference: &'a Reference,
) -> impl Iterator<Item = (usize, Item)> + 'a {
    site.reached(at, reference.via).iter().filter_map(move |&instance| {
        site.instances[instance].component.item(&reference.name).map(|item| (instance, item))
    })
}

fn sources(indices: &[Indices], site: &Site<'_>, at: usize, reference: &Reference) -> Vec<Source> {
    items(site, at, reference)
        .filter_map(|(instance, item)| match item {
            Item::Cause(cause) => indices[instance].causes[cause].map(Source::Cause),
            Item::Condition(condition) => indices[instance].conditions[condition].map(Source::Condition),
            Item::Symptom(_) | Item::Given(..) | Item::Fix(_) => None,
        })
        .collect()
}

/// The chances of outcomes 1, 2, … in `into`.
fn by_outcome(into: &mut Vec<f64>, outcomes: &[Name], chances: &[(Name, f64)]) {
    into.clear();
    into.extend(abnormal_names(outcomes).iter().map(|outcome| {
        chances.iter().find(|(name, _)| name.value == outcome.value).map_or(0.0, |&(_, chance)| chance)
    }));
}

fn abnormal_names(outcomes: &[Name]) -> &[Name] {
    outcomes.get(1..).unwrap_or_default()
}
