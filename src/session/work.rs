//! The work state, as far as it was confirmed.
//!
//! In: all events, those taken back included, because nothing that is unsaid changes the equipment. Out: what is known.
//! Invariants: a work state other than that at the start is reached only by confirming all its acts in their order, and
//! left only by confirming the acts of the way back; an undo, a change of an answer, a change of person and taking the
//! session up again leave it unknown.

use super::event::What;
use crate::model::index::WorkStateIx;
use crate::model::practice::Practice;

/// The state at the start: energised.
pub(crate) const START: WorkStateIx = WorkStateIx(0);

/// How far the way into a work state, or back, has got.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Standing {
    /// Not known; to be asked before any step that depends on it.
    Unknown,
    /// Confirmed.
    Known(WorkStateIx),
    /// Said to be so, not confirmed act by act.
    Said(WorkStateIx),
    /// On the way into it: so many acts are confirmed.
    Entering(WorkStateIx, usize),
    /// On the way back from it: so many acts are confirmed.
    Leaving(WorkStateIx, usize),
}

/// The work state.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Work {
    pub(crate) standing: Standing,
    /// The state that the equipment may be in at worst: the last one entered, even in part, and not left.
    pub(crate) last: WorkStateIx,
    /// Anything was ever done or said about it: before that, nobody is told that it is not known any more. It is asked where
    /// a step depends on it, all the same.
    pub(crate) ever: bool,
}

impl Default for Work {
    /// Energised, which is the state to be careful about.
    fn default() -> Self {
        Self { standing: Standing::Known(START), last: START, ever: false }
    }
}

impl Work {
    /// The state, where it is confirmed.
    pub(crate) fn known(self) -> Option<WorkStateIx> {
        match self.standing {
            Standing::Known(state) => Some(state),
            _ => None,
        }
    }

    /// Whether this act is the one whose turn it is.
    pub(crate) fn takes_step(self, state: WorkStateIx, step: usize) -> bool {
        match self.standing {
            Standing::Known(START) => state != START && step == 0,
            Standing::Said(said) => said == state && state != START && step == 0,
            Standing::Entering(entering, done) => entering == state && step == done,
            _ => false,
        }
    }

    /// Whether this act of the way back is the one whose turn it is.
    pub(crate) fn takes_back_step(self, state: WorkStateIx, step: usize) -> bool {
        match self.standing {
            Standing::Known(known) | Standing::Said(known) => known == state && state != START && step == 0,
            // Half way in, the way out is the whole way back.
            Standing::Entering(entering, _) => entering == state && step == 0,
            Standing::Leaving(leaving, done) => leaving == state && step == done,
            Standing::Unknown => false,
        }
    }

    /// The state after one more event.
    pub(crate) fn after(self, what: &What, practice: &Practice) -> Self {
        let of_work =
            matches!(what, What::WorkStateTold { .. } | What::WorkStep { .. } | What::BackStep { .. });
        Self { ever: self.ever || of_work, ..self.moved(what, practice) }
    }

    fn moved(self, what: &What, practice: &Practice) -> Self {
        let of =
            |id: &str| practice.work_states.iter().position(|state| state.id == id).map(WorkStateIx::new);
        match what {
            What::Undo
            | What::Change { .. }
            | What::Person { .. }
            | What::Resumed { .. }
            | What::WorkBrokenOff => Self { standing: Standing::Unknown, ..self },
            // A power-up keeps its own account of locks and voltage.
            What::StepTaken { .. } => Self::default(),
            What::WorkStateTold { state } => match of(state) {
                Some(START) if self.last == START => {
                    Self { standing: Standing::Known(START), last: START, ..self }
                }
                // Said to be back: the way back is gone through, so that nothing is energised without it.
                Some(START) => Self { standing: Standing::Leaving(self.last, 0), ..self },
                Some(state) => match self.standing {
                    Standing::Known(known) if known == state => self,
                    _ => Self { standing: Standing::Said(state), last: state, ..self },
                },
                None => self,
            },
            What::WorkStep { state, step, .. } => match of(state) {
                Some(state) if self.takes_step(state, *step) => {
                    let all = practice.work_states[state.at()].steps.len();
                    let standing = if step + 1 < all {
                        Standing::Entering(state, step + 1)
                    } else {
                        Standing::Known(state)
                    };
                    Self { standing, last: state, ..self }
                }
                _ => self,
            },
            What::BackStep { state, step, .. } => match of(state) {
                Some(state) if self.takes_back_step(state, *step) => {
                    let all = practice.work_states[state.at()].back_steps.len();
                    if step + 1 < all {
                        Self { standing: Standing::Leaving(state, step + 1), last: state, ..self }
                    } else {
                        Self::default()
                    }
                }
                _ => self,
            },
            _ => self,
        }
    }
}
