//! Links between causes, conditions and findings, resolved to the component level, each standing once.

use super::Name;
use crate::source::Span;

/// On which unit the named thing is to be found, seen from the unit that the reference is written for.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Via {
    /// The same unit.
    Same,
    /// The unit or units of a relation: an index into [`Component::relations`](super::Component::relations).
    Relation(usize),
    /// A component that the job has once: an index into [`Knowledge::components`](super::Knowledge::components).
    Once(usize),
}

/// A name on a unit. Look it up on the component of each unit reached by `via` with
/// [`Component::item`](super::Component::item); a unit whose component lacks the name is not concerned (only possible
/// towards a wider kind, and warned of).
#[derive(Clone, PartialEq, Debug)]
pub struct Reference {
    /// Where.
    pub via: Via,
    /// What, without relation or slash.
    pub name: String,
    /// Where it was written.
    pub span: Span,
}

/// A cause or condition shows a finding.
///
/// At least one of `from` and `to` is of the [`Via::Same`] unit. Outcomes left out have chance 0; none is the normal one.
#[derive(Clone, PartialEq, Debug)]
pub struct Shows {
    /// The cause or condition.
    pub from: Reference,
    /// The finding.
    pub to: Reference,
    /// Chance per abnormal outcome, by name.
    pub chances: Vec<(Name, f64)>,
}

/// A cause or condition brings about a condition, or a cause leads to a cause.
#[derive(Clone, PartialEq, Debug)]
pub struct Leads {
    /// The cause or condition.
    pub from: Reference,
    /// The condition, or the cause led to.
    pub to: Reference,
    /// The chance.
    pub chance: f64,
}
