//! The plan of a session from where it stands, as a decision graph; and walking along such a plan.
//!
//! Walking saves planning and loosens nothing: the step of a node passes the same gates as any other, and `why` plans anew
//! where the plan planned. Where the session is at no node of it (something was volunteered, could not be told, was
//! corrected, somebody else is there), it plans as ever; it is on the plan again as soon as it stands where the plan goes.

use std::collections::BTreeSet;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use std::thread::JoinHandle;

use super::insight::Insight;
use super::prompt::{OnChart, Prompt};
use super::state_machine::Session;
use super::work::Standing;
use crate::planner::PlanError;
use crate::planner::decision_graph::{Bounds, Course, DecisionGraph, Position, Progress};

/// A plan that is being worked out beside the call.
#[derive(Clone, Debug)]
pub struct Ahead(Arc<Coming>);

#[derive(Debug)]
struct Coming {
    hand: Mutex<Option<JoinHandle<Option<Course>>>>,
    come: OnceLock<Option<Arc<Course>>>,
}

impl Ahead {
    /// Waits for it; `None` where nothing can be planned. What it is does not depend on how long that takes.
    #[must_use]
    pub fn wait(&self) -> Option<Arc<Course>> {
        let join = || {
            let hand = self.0.hand.lock().unwrap_or_else(PoisonError::into_inner).take()?;
            hand.join().ok().flatten().map(Arc::new)
        };
        self.0.come.get_or_init(join).clone()
    }
}

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

    /// The same on a thread of its own, as a plan to walk along.
    #[must_use]
    pub fn chart_ahead(&self, bounds: Bounds) -> Ahead {
        let (bench, situation) = (Arc::clone(self.bench()), self.insight().position().situation);
        let hand = std::thread::spawn(move || {
            let graph = DecisionGraph::compile(&bench.model, &situation, bounds, &mut |_| {}).ok()?;
            Some(Course::of(&bench.model, &graph))
        });
        Ahead(Arc::new(Coming { hand: Mutex::new(Some(hand)), come: OnceLock::new() }))
    }

    /// Whether there is something to plan for: `Some(false)` while it is still to be asked whether it is there now.
    #[must_use]
    pub fn has_to_plan(&self) -> Option<bool> {
        let state = self.insight().state;
        let first = state.emergencies_asked && state.emergencies.is_empty();
        let open = state.handed_over.is_none() && state.closed.is_none() && state.power_up.is_none();
        (first && open && !state.complaints.is_empty()).then_some(state.there.is_some())
    }

    /// The same session, walking along a plan while it is at a node of it.
    #[must_use]
    pub fn along(mut self, course: Arc<Course>) -> Self {
        self.walk_along(course);
        self
    }

    /// Walks along a plan from now on, while it is at a node of it. A plan of another model is never used.
    pub fn walk_along(&mut self, course: Arc<Course>) {
        self.set_course(Some(course));
    }

    /// Whether there is a plan to walk along, used or not.
    #[must_use]
    pub fn has_course(&self) -> bool {
        self.course().is_some()
    }

    /// The number of the node of the plan at which it stands, as the exports number it; `None`: the plan was left.
    #[must_use]
    pub fn node(&self) -> Option<usize> {
        self.insight().walked().map(|(number, _)| *number)
    }
}

impl Insight<'_> {
    /// Where the plan stands.
    pub(crate) fn position(self) -> Position {
        let now = self.state.records.now.iter();
        let taken: BTreeSet<_> = now
            .filter(|(_, at)| self.state.records.reports[**at].implied)
            .map(|(finding, _)| *finding)
            .collect();
        Position::new(self.situation(), taken)
    }

    /// Where it is on the plan, for a prompt that a plan can give. The acts within a change of work state are one node.
    pub(crate) fn on_chart(self, prompt: &Prompt) -> Option<OnChart> {
        self.course?;
        if matches!(self.state.work.standing, Standing::Entering(..) | Standing::Leaving(..)) {
            return None;
        }
        match (prompt, self.walked()) {
            (
                Prompt::Test(_)
                | Prompt::Fix(_)
                | Prompt::Enter(_)
                | Prompt::Return(_)
                | Prompt::Prove(_)
                | Prompt::HandOver(_)
                | Prompt::PutBack(_)
                | Prompt::Close(_),
                Some((number, _)),
            ) => Some(OnChart::At(*number)),
            (
                Prompt::Test(_) | Prompt::Fix(_) | Prompt::Enter(_) | Prompt::Return(_) | Prompt::HandOver(_),
                None,
            ) => Some(OnChart::Left),
            _ => None,
        }
    }
}
