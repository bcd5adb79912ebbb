//! The decision graph: a whole plan unrolled from a situation, as a directed graph without rings.
//!
//! In: a model, a situation, an effort, a bound. Out: a [`DecisionGraph`] over petgraph: a node is what is done at a point
//! of the plan in a work state at a place, an edge is an outcome with its chance, a leaf is done, handed over (to whom,
//! with which parts) or left open because it is rarer than the bound.
//!
//! Two kinds of merging, both exact:
//!
//! 1. *Equal states.* A state is the evidence that can still matter, in an order of its own, with work state and place
//!    (`position`). Equal states have equal futures, so they are planned for once.
//! 2. *Equal remaining plans.* Two states in which the same is done, with the same answers leading to the same nodes, are one
//!    node (hash-consing from the leaves, as in a reduced decision diagram: Bryant 1986). Chances and minutes of such a
//!    node are the means of its states by how often each is reached, so the chance of reaching every node and the
//!    expected minutes of the whole are those of the states apart.
//!
//! Expected minutes come by backward induction. Nothing is random, and no clock is read: the same input gives the same graph.
//! Cost: one advice and one sweep per outcome for each state; memory is bounded by [`Bounds::most`] states.

mod course;
mod gate;
mod grow;
mod minutes;
mod outcomes;
mod position;
mod reduce;

use std::collections::BTreeMap;

use petgraph::graph::{DiGraph, NodeIndex};

use super::advice::Step;
use super::advise::PlanError;
use super::effort::Budget;
use super::situation::Situation;
use crate::model::index::{CauseIx, FindingIx, PlaceIx, WorkStateIx};
use crate::model::{Fingerprint, Model};

pub use course::Course;
pub use position::Position;

/// Outcomes found together.
type Found = Vec<(FindingIx, usize)>;

/// How far a graph is unrolled.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Bounds {
    /// The effort of every single advice.
    pub budget: Budget,
    /// A path less likely than this is not followed.
    pub cut: f64,
    /// At most so many states; the likeliest come first, and [`DecisionGraph::full`] says whether it was reached.
    pub most: usize,
}

impl Default for Bounds {
    fn default() -> Self {
        Self { budget: Budget::QUICK, cut: 1e-4, most: 400 }
    }
}

impl Bounds {
    /// For a plan that is worked out while somebody waits at the other end of the line.
    pub const BESIDE_A_CALL: Self = Self { budget: Budget::QUICK, cut: 1e-3, most: 200 };
}

/// What is done at a node.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Deed {
    /// This step.
    Take(Step),
    /// The answer announces this emergency of the practice, which comes before everything else.
    Alarm(usize),
    /// Nothing is planned: what leads here is rarer than the bound. Stop, and plan anew or hand over.
    Open,
}

/// A point of the plan.
#[derive(Clone, PartialEq, Debug)]
pub struct Node {
    /// What is done.
    pub deed: Deed,
    /// In which work state it stands before the step.
    pub work_state: WorkStateIx,
    /// Where the person is before the step.
    pub place: PlaceIx,
    /// What is to be put back by now, as the steps that left it; filled in where it is done ([`Step::PutBack`]) and where
    /// somebody else takes over.
    pub left: Vec<Step>,
    /// What is to be proven gone, where that is done: the complaints of the start and what was found on the way.
    pub complaints: Vec<FindingIx>,
    /// Minutes' worth of the step itself with the way to it; for a leaf, what is still to be expected.
    pub minutes: f64,
    /// Minutes' worth to done from here, by backward induction.
    pub expected: f64,
    /// The chance that the plan comes through here.
    pub reach: f64,
    /// The likeliest causes here, with their chance.
    pub causes: Vec<(CauseIx, f64)>,
    /// How many states it stands for.
    pub states: usize,
}

/// What leads from a node to the next: outcomes of its step.
#[derive(Clone, PartialEq, Debug)]
pub struct Outcome {
    /// What is found, one list for each combination that leads there; an empty list where the step has one way on. Other
    /// outcomes, rarer than the bound, have no list at all.
    pub found: Vec<Vec<(FindingIx, usize)>>,
    /// Its chance, given the node.
    pub chance: f64,
}

/// A plan unrolled.
#[derive(Clone, Debug)]
pub struct DecisionGraph {
    /// Nodes and outcomes.
    pub graph: DiGraph<Node, Outcome>,
    /// Where it begins.
    pub root: NodeIndex,
    /// The situation in which it begins.
    pub start: Situation,
    /// How far it was unrolled.
    pub bounds: Bounds,
    /// Expected minutes by backward induction over the states apart, before equal remaining plans were merged.
    pub apart: f64,
    /// States before equal remaining plans were merged.
    pub states: usize,
    /// The limit on states was reached, so that more is open than the cut alone would leave.
    pub full: bool,
    /// No plan whatever can expect fewer minutes (perfect information, over the samples of the first advice).
    pub bound: f64,
    /// The chance of ending where nothing is planned.
    pub open: f64,
    frame: position::Frame,
    stations: BTreeMap<Fingerprint, NodeIndex>,
}

/// How far the work is: states planned for, and the share of the plan that is settled (ended or cut).
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Progress {
    /// States planned for so far.
    pub states: usize,
    /// The chance of all paths that have come to an end.
    pub settled: f64,
}

impl DecisionGraph {
    /// Unrolls the plan of `start`. `progress` is told now and then how far it is.
    ///
    /// # Errors
    /// The situation cannot be planned for at all. A state further on that cannot is left open.
    pub fn compile(
        model: &Model,
        start: &Situation,
        bounds: Bounds,
        progress: &mut dyn FnMut(Progress),
    ) -> Result<Self, PlanError> {
        let grown = grow::grow(model, start, bounds, progress)?;
        Ok(reduce::reduce(grown, start, bounds))
    }

    /// Minutes' worth that the whole plan takes, expected.
    #[must_use]
    pub fn expected_minutes(&self) -> f64 {
        self.graph[self.root].expected
    }
}
