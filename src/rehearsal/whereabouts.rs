//! Where the person is and in which work state, and what the ways between cost.

use crate::model::index::{PlaceIx, WorkStateIx};
use crate::model::practice::{Practice, Terms};

/// Place and work state, and the minutes of the ways so far.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Whereabouts {
    pub(super) place: PlaceIx,
    pub(super) state: WorkStateIx,
    /// The work state before, where nothing was done since it was changed.
    pub(super) came_from: Option<WorkStateIx>,
    pub(super) minutes: f64,
}

impl Whereabouts {
    /// At the panel, energised.
    pub(super) const fn start() -> Self {
        Self { place: PlaceIx(0), state: WorkStateIx(0), came_from: None, minutes: 0.0 }
    }

    /// Goes to a place: half of a place's minutes each way, through the panel.
    pub(super) fn go(&mut self, practice: &Practice, place: PlaceIx) {
        if place != self.place {
            let half = |at: PlaceIx| practice.places.get(at.at()).map_or(0.0, |form| form.minutes / 2.0);
            self.minutes += half(self.place) + half(place);
            self.place = place;
        }
    }

    /// Goes where a step is done and does it.
    pub(super) fn act(&mut self, practice: &Practice, terms: &Terms) {
        self.go(practice, terms.place);
        self.minutes += terms.minutes.unwrap_or(0.0);
        self.came_from = None;
    }

    /// Enters a work state.
    pub(super) fn enter(&mut self, practice: &Practice, state: WorkStateIx) {
        self.act(practice, &practice.work_states[state.at()].enter);
        self.came_from = Some(self.state);
        self.state = state;
    }

    /// Goes back to the state at the start.
    pub(super) fn back(&mut self, practice: &Practice) {
        if self.state != WorkStateIx(0) {
            let terms = practice.work_states[self.state.at()].back.clone();
            self.act(practice, &terms);
            self.came_from = Some(self.state);
            self.state = WorkStateIx(0);
        }
    }
}
