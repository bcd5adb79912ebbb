//! The plan of a session from where it stands, as a decision graph; and walking along such a plan.
//!
//! Walking saves planning and changes nothing: a node's advice is what planning anew at its position, with the graph's
//! effort, would give. Where the session is at no node of it (something was volunteered, could not be told, was done
//! otherwise), it plans as ever.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::insight::Insight;
use super::state_machine::Session;
use crate::planner::decision_graph::{Bounds, DecisionGraph, Position, Progress};
use crate::planner::{Advice, PlanError};

impl Session {
    /// The whole plan from here, unrolled. Emergencies, and whether the complaint is there now, are taken as settled.
    ///
    /// # Errors
    /// Nothing can be planned here.
    pub fn chart(
        &self,
        bounds: Bounds,
        progress: &mut dyn FnMut(Progress),
    ) -> Result<DecisionGraph, PlanError> {
        let position = self.insight().position();
        DecisionGraph::compile(self.model(), &position.situation, bounds, progress)
    }

    /// The same session, walking along a plan while it is at a node of it. The plan must be of this session's model.
    #[must_use]
    pub fn along(self, chart: Arc<DecisionGraph>) -> Self {
        self.with_chart(Some(chart))
    }

    /// The number of the node of the plan at which it stands, as the exports number it; `None`: the plan was left.
    #[must_use]
    pub fn node(&self) -> Option<usize> {
        let insight = self.insight();
        Some(insight.chart?.at(insight.position())?.0.index() + 1)
    }
}

impl<'a> Insight<'a> {
    /// Where the plan stands.
    pub(crate) fn position(self) -> Position {
        let now = self.state.records.now.iter();
        let taken: BTreeSet<_> = now
            .filter(|(_, at)| self.state.records.reports[**at].implied)
            .map(|(finding, _)| *finding)
            .collect();
        Position::new(self.situation(), taken)
    }

    /// The advice of the node at which it stands.
    pub(crate) fn walked(self) -> Option<&'a Advice> {
        self.chart?.at(self.position()).map(|(_, advice)| advice)
    }
}
