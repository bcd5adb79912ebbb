//! What a package rests on: every source with what cites it, and what has none.
//!
//! In: [`Knowledge`]. Out: [`Bibliography`], in the order of the packages and files. Invariant: each item that can have
//! `sources` stands in at least one of its lists, so that nothing is silently without origin.

use std::collections::BTreeMap;

use super::citation::{COMMON_PRACTICE, Citation, PublishedSource};
use super::{Knowledge, Name};

/// A kind of item that can have `sources`.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum ItemKind {
    /// A hazard of a package.
    Hazard,
    /// A work state of a package.
    WorkState,
    /// A measure for the meantime of a package.
    Meanwhile,
    /// A question on the spot.
    OnTheSpot,
    /// A cause of a component.
    Cause,
    /// A condition of a component.
    Condition,
    /// A symptom of a component.
    Symptom,
    /// A test of a component.
    Test,
    /// A fix of a component.
    Fix,
    /// A step of a procedure.
    Step,
}

impl ItemKind {
    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Hazard => "hazard",
            Self::WorkState => "work state",
            Self::Meanwhile => "meanwhile",
            Self::OnTheSpot => "on-the-spot",
            Self::Cause => "cause",
            Self::Condition => "condition",
            Self::Symptom => "symptom",
            Self::Test => "test",
            Self::Fix => "fix",
            Self::Step => "step",
        }
    }
}

/// An item that can have `sources`.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Sourced<'a> {
    /// What it is.
    pub kind: ItemKind,
    /// The component that it belongs to; `None`: a matter of the package.
    pub component: Option<&'a Name>,
    /// Its name.
    pub id: &'a Name,
    /// What it cites.
    pub sources: &'a [Citation],
}

impl Sourced<'_> {
    /// `component/name`, or the name alone.
    #[must_use]
    pub fn path(&self) -> String {
        match self.component {
            Some(component) => format!("{}/{}", component.value, self.id.value),
            None => self.id.value.clone(),
        }
    }
}

/// A source with what rests on it.
#[derive(Clone, PartialEq, Debug)]
pub struct Entry<'a> {
    /// The id of the package that declares it.
    pub package: &'a str,
    /// The source.
    pub source: &'a PublishedSource,
    /// The items that cite it, each with the place that it names.
    pub cited_by: Vec<(Sourced<'a>, Option<&'a str>)>,
}

/// What all packages in use rest on.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Bibliography<'a> {
    /// Published sources, by package, then by key.
    pub sources: Vec<Entry<'a>>,
    /// Items that cite common practice.
    pub common_practice: Vec<Sourced<'a>>,
    /// Items that say that they are judgement.
    pub judgement: Vec<Sourced<'a>>,
    /// Items that say nothing.
    pub unsourced: Vec<Sourced<'a>>,
}

impl Knowledge {
    /// Every item that can have `sources`: those of the packages, then those of the components in their order.
    pub fn sourced(&self) -> Vec<Sourced<'_>> {
        let mut all = Vec::new();
        let practice = &self.practice;
        let mut add = |kind, component, id, sources| all.push(Sourced { kind, component, id, sources });
        for hazard in &practice.hazards {
            add(ItemKind::Hazard, None, &hazard.id, hazard.sources.as_slice());
        }
        for state in practice.work_states.iter().filter(|state| !state.enter.steps.is_empty()) {
            add(ItemKind::WorkState, None, &state.id, &state.enter.sources);
        }
        for meanwhile in &practice.meanwhile {
            add(ItemKind::Meanwhile, None, &meanwhile.id, &meanwhile.sources);
        }
        for question in &practice.on_the_spot {
            add(ItemKind::OnTheSpot, None, &question.id, &question.sources);
        }
        for component in &self.components {
            let mut add = |kind, id, sources| add(kind, Some(&component.id), id, sources);
            component.causes.iter().for_each(|it| add(ItemKind::Cause, &it.id, it.sources.as_slice()));
            component.conditions.iter().for_each(|it| add(ItemKind::Condition, &it.id, &it.sources));
            component.symptoms.iter().for_each(|it| add(ItemKind::Symptom, &it.finding.id, &it.sources));
            component.tests.iter().for_each(|it| add(ItemKind::Test, &it.id, &it.sources));
            component.fixes.iter().for_each(|it| add(ItemKind::Fix, &it.id, &it.sources));
        }
        for step in &self.procedure.steps {
            all.push(Sourced { kind: ItemKind::Step, component: None, id: &step.id, sources: &step.sources });
        }
        all
    }

    /// What the packages rest on. Cost: one walk over all items.
    #[must_use]
    pub fn bibliography(&self) -> Bibliography<'_> {
        let mut out = Bibliography::default();
        let mut at = BTreeMap::new();
        for (number, package) in self.packages.iter().enumerate() {
            for (key, source) in &package.sources {
                at.insert((number, key.as_str()), out.sources.len());
                out.sources.push(Entry { package: &package.id.value, source, cited_by: Vec::new() });
            }
        }
        let ways_back = self.practice.work_states.iter().map(|state| Sourced {
            kind: ItemKind::WorkState,
            component: None,
            id: &state.id,
            sources: &state.back.sources,
        });
        let items = self.sourced();
        for item in items.iter().copied().chain(ways_back) {
            for citation in item.sources {
                match citation.declared_by {
                    Some(package) => {
                        if let Some(&entry) = at.get(&(package, citation.key.value.as_str())) {
                            out.sources[entry].cited_by.push((item, citation.place.as_deref()));
                        }
                    }
                    None if citation.key.value == COMMON_PRACTICE => out.common_practice.push(item),
                    None => out.judgement.push(item),
                }
            }
        }
        out.unsourced = items.into_iter().filter(|item| item.sources.is_empty()).collect();
        out
    }
}
