//! A procedure: steps with gates, per unit, to be gone through once at a first power-up.
//!
//! In: the files that begin with `procedure`. Out: steps whose names are resolved to the component level; the units come
//! with a job sheet. Invariants: step ids are unique over all files in use; no step waits for itself in the end; an
//! energising step waits for something.

use super::finding::Act;
use super::link::Reference;
use super::{Carries, Citation, Name, Terms, Text};
use crate::quantity::Expression;
use crate::source::Spanned;

/// The steps of all packages in use, by package, then in the order of their files.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Procedure {
    /// Its title for people; empty: there is no procedure.
    pub title: String,
    /// Steps.
    pub steps: Vec<ProcedureStep>,
}

/// Another step, as a step names it.
#[derive(Clone, PartialEq, Debug)]
pub struct StepRef {
    /// The relation through which its units are reached; `None`: of the same unit where both are of one component, else
    /// every instance.
    pub relation: Option<usize>,
    /// The step: an index into [`Procedure::steps`].
    pub step: usize,
}

/// What a step reads.
#[derive(Clone, PartialEq, Debug)]
pub struct StepReading {
    /// Unit of measure.
    pub measured_in: String,
    /// How many numbers.
    pub count: usize,
    /// The value over the readings; `None`: the first reading.
    pub value: Option<Spanned<Expression>>,
    /// Per outcome, its intervals [from, to).
    pub bands: Vec<Vec<(f64, f64)>>,
}

/// One step.
#[derive(Clone, PartialEq, Debug)]
pub struct ProcedureStep {
    /// Its id.
    pub id: Name,
    /// The component of which each unit has such a step; `None`: the job has one.
    pub of: Option<usize>,
    /// The units that have it.
    pub when: Option<Spanned<Expression>>,
    /// How it is done.
    pub act: Act,
    /// The act in a sentence.
    pub say: Text,
    /// How to do it.
    pub how: Vec<Text>,
    /// What is expected.
    pub expect: Option<Text>,
    /// What it reads.
    pub reading: Option<StepReading>,
    /// Outcomes; the first goes on, the others stop.
    pub outcomes: Vec<Name>,
    /// What an outcome proves, and what it does not.
    pub proves: Vec<(Name, Text)>,
    /// Steps that are confirmed before it.
    pub after: Vec<StepRef>,
    /// Steps before which it is confirmed.
    pub gate_for: Vec<StepRef>,
    /// It brings voltage to something, or sets something in motion.
    pub energises: bool,
    /// A real state that has to hold until those steps are confirmed; it is asked again when it may have changed.
    pub holds_until: Vec<StepRef>,
    /// A work state of which it is a part: whoever has reached that, act by act, has confirmed it.
    pub reached_by: Option<Name>,
    /// The question by which it is asked again; `None`: the step itself.
    pub again: Option<Text>,
    /// Where to begin again when it turns out not to hold any more: an energising step all that lies between, another real
    /// state what was given up of it since.
    pub redo: Vec<StepRef>,
    /// What an outcome shows: outcome, finding, outcome of the finding.
    pub raises: Vec<(Name, Reference, Name)>,
    /// Steps whose leftovers it puts back.
    pub puts_back: Vec<StepRef>,
    /// Its reading is kept as the site's baseline.
    pub baseline: bool,
    /// It goes through the wire list, connection by connection.
    pub walks: bool,
    /// Of such a step: what is expected at a connection that carries that; `None`: at a part between two ends.
    pub expects: Vec<(Option<Carries>, Text)>,
    /// Of such a step: what is said where supply and motor conductors of one unit are exchanged.
    pub danger: Option<Text>,
    /// Cost and limits.
    pub terms: Terms,
    /// Where it comes from.
    pub sources: Vec<Citation>,
}
