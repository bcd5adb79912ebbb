//! Who may do what, where, and how to get there: the modes of a practice and the ways that a person may take.

use super::advice::Way;
use super::travel::{Mode, Travel};
use crate::model::index::{PlaceIx, WorkStateIx};
use crate::model::practice::{BitSet, Person, Practice, Terms};

/// The modes of a practice: work state × place.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Modes {
    places: usize,
    states: usize,
}

impl Modes {
    pub(crate) fn of(practice: &Practice) -> Self {
        Self { places: practice.places.len().max(1), states: practice.work_states.len().max(1) }
    }

    pub(crate) fn count(self) -> usize {
        self.places * self.states
    }

    pub(crate) fn mode(self, state: WorkStateIx, place: PlaceIx) -> Mode {
        (state.at() * self.places + place.at()) as Mode
    }

    pub(crate) fn state(self, mode: Mode) -> WorkStateIx {
        WorkStateIx::new(usize::from(mode) / self.places)
    }

    pub(crate) fn place(self, mode: Mode) -> PlaceIx {
        PlaceIx::new(usize::from(mode) % self.places)
    }

    /// The modes in which a step of these terms can be done.
    pub(crate) fn at(self, terms: &Terms) -> Vec<Mode> {
        match terms.work_state {
            Some(state) => vec![self.mode(state, terms.place)],
            None => (0..self.states).map(|state| self.mode(WorkStateIx::new(state), terms.place)).collect(),
        }
    }

    /// The ways that `person` may take: to places, half of a place's minutes each way; into a work state and back, by
    /// steps that have competence, instruments and doors like any other. All minutes times `factor`.
    pub(crate) fn travel(self, practice: &Practice, person: &Person, factor: f64) -> Travel {
        let mut edges = Vec::new();
        for state in 0..self.states {
            let panel = self.mode(WorkStateIx::new(state), PlaceIx(0));
            for (place, there) in practice.places.iter().enumerate().skip(1) {
                let mode = self.mode(WorkStateIx::new(state), PlaceIx::new(place));
                let minutes = there.minutes / 2.0 * factor;
                edges.push((panel, mode, minutes));
                edges.push((mode, panel, minutes));
            }
        }
        for (state, work) in practice.work_states.iter().enumerate().skip(1) {
            let start = WorkStateIx(0);
            let state = WorkStateIx::new(state);
            if let Some(minutes) = work.enter.minutes.filter(|_| practice.allows(person, &work.enter)) {
                let from = work.enter.work_state.filter(|from| *from != state).unwrap_or(start);
                let place = work.enter.place;
                edges.push((self.mode(from, place), self.mode(state, place), minutes * factor));
            }
            if let Some(minutes) = work.back.minutes.filter(|_| practice.allows(person, &work.back)) {
                let place = work.back.place;
                edges.push((self.mode(state, place), self.mode(start, place), minutes * factor));
            }
        }
        Travel::new(self.count(), &edges)
    }

    /// A way as steps; places that are only passed are left out.
    pub(crate) fn steps(self, from: Mode, way: &[Mode]) -> Vec<Way> {
        let mut steps: Vec<Way> = Vec::new();
        let mut here = from;
        for &next in way {
            let (old, new) = (self.state(here), self.state(next));
            let step = match (old == new, new.at()) {
                (true, _) => Way::Go(self.place(next)),
                (false, 0) => Way::Return(old),
                (false, _) => Way::Enter(new),
            };
            if matches!((steps.last(), step), (Some(Way::Go(_)), Way::Go(_))) {
                steps.pop();
            }
            steps.push(step);
            here = next;
        }
        steps
    }
}

/// Somebody who may do everything with everything: to see what is withheld from the person present.
pub(crate) fn anybody() -> Person {
    Person { competences: BitSet(u128::MAX), instruments: BitSet(u128::MAX) }
}
