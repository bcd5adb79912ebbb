//! A plan to walk along: at which point of it a position stands, and what is done there.
//!
//! In: a graph that was compiled here, or the same read from a file. Out: for a position, the number of its node and its
//! step; nothing where the plan has been left. A position is found by the fingerprint of its key (`position`), so the plan
//! is found again whenever the same things are known again, in whatever order they were told. It fits the model that it was
//! compiled for and no other: [`Course::model`] says which. Cost of a look: O(evidence · log states).

use std::collections::BTreeMap;

use super::position::{Frame, Position};
use super::{DecisionGraph, Deed};
use crate::model::index::FindingIx;
use crate::model::{Fingerprint, Model};
use crate::planner::advice::Step;
use crate::planner::effort::Budget;
use crate::planner::situation::Situation;

/// A plan to walk along.
#[derive(Clone, Debug)]
pub struct Course {
    /// Of the model that it was compiled for.
    pub model: Fingerprint,
    /// What is complained of at its start; what is found on the way comes to that.
    pub complaints: Vec<FindingIx>,
    /// The effort of every single advice.
    pub budget: Budget,
    /// Per node, in the order of its numbers, what is done there; `None` where nothing is planned.
    pub steps: Vec<Option<Step>>,
    /// By the fingerprint of its key, the node of each state planned for, counted from 0.
    pub stations: BTreeMap<Fingerprint, usize>,
    frame: Frame,
}

impl Course {
    /// A course from its parts. Nodes that no step is known of are no part of it.
    #[must_use]
    pub fn new(
        model: &Model,
        of: Fingerprint,
        complaints: Vec<FindingIx>,
        budget: Budget,
        steps: Vec<Option<Step>>,
        stations: BTreeMap<Fingerprint, usize>,
    ) -> Self {
        let frame = Frame::of(model, &complaints);
        Self { model: of, complaints, budget, steps, stations, frame }
    }

    /// The course of a graph that was compiled for this model.
    #[must_use]
    pub fn of(model: &Model, graph: &DecisionGraph) -> Self {
        let steps = graph.graph.node_weights().map(|node| match &node.deed {
            Deed::Take(step) => Some(step.clone()),
            Deed::Alarm(_) | Deed::Open => None,
        });
        Self {
            model: Fingerprint::of(model),
            complaints: graph.start.complaints.clone(),
            budget: graph.bounds.budget,
            steps: steps.collect(),
            stations: graph.stations.iter().map(|(mark, node)| (*mark, node.index())).collect(),
            frame: graph.frame.clone(),
        }
    }

    /// The number of the node at which a position stands, from 1 as the exports count, and what is done there; `None` when
    /// the plan has been left.
    #[must_use]
    pub fn at(&self, position: Position) -> Option<(usize, &Step)> {
        if !self.complaints.iter().all(|finding| position.situation.complaints.contains(finding)) {
            return None;
        }
        let key = position.canonical(&self.frame).key(&self.frame);
        let node = *self.stations.get(&key.mark())?;
        Some((node + 1, self.steps.get(node)?.as_ref()?))
    }

    /// The situation as the plan takes it: what is believed is certain, and what cannot matter is left out.
    #[must_use]
    pub fn taken(&self, position: Position) -> Situation {
        position.canonical(&self.frame).situation
    }
}
