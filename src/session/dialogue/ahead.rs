//! Planning ahead: the whole plan is worked out beside the call, and walked along once it is needed.
//!
//! It begins when the complaint is known and is waited for when the first step is due, so that what is asked never depends
//! on how fast the machine is.

use std::sync::Arc;

use super::Dialogue;
use crate::planner::decision_graph::{Bounds, Course};
use crate::session::Ahead;

/// A plan that is wanted, and what is on its way.
#[derive(Clone, Debug)]
pub(super) struct Wanted {
    bounds: Bounds,
    coming: Option<Ahead>,
}

impl Dialogue {
    /// The same dialogue, which works out the whole plan of the complaint and walks along it.
    #[must_use]
    pub fn ahead(mut self, bounds: Bounds) -> Self {
        self.wanted = Some(Wanted { bounds, coming: None });
        self.look_ahead();
        self
    }

    /// The same dialogue, walking along a plan while its session is at a node of it.
    #[must_use]
    pub fn along(mut self, course: Arc<Course>) -> Self {
        self.session.walk_along(course);
        self
    }

    /// Begins the plan where it can begin, and takes it up where it is due.
    pub(super) fn look_ahead(&mut self) {
        let Some(due) = self.session.has_to_plan() else { return };
        let Some(Wanted { bounds, coming }) = &mut self.wanted else { return };
        let begun = coming.is_some();
        let ahead = coming.get_or_insert_with(|| self.session.chart_ahead(*bounds)).clone();
        if !due {
            return;
        }
        let bounds = *bounds;
        self.wanted = None;
        let Some(course) = ahead.wait() else { return };
        self.session.walk_along(course);
        // Something was said meanwhile: from where it stands now, then.
        if begun
            && self.session.node().is_none()
            && let Some(course) = self.session.chart_ahead(bounds).wait()
        {
            self.session.walk_along(course);
        }
    }
}
