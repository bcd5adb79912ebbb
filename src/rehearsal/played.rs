//! What came of a rehearsed call.

use super::safety::Breach;
use crate::model::index::{CauseIx, CompetenceIx};

/// How a call ended.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Ending {
    /// All complaints were proven gone.
    Proven,
    /// Handed over to that competence; `None`: to somebody whom the package does not list.
    HandedOver(Option<CompetenceIx>),
    /// It did not come to an end within the steps that a call may take.
    Endless,
}

/// What became of one hidden cause.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Fate {
    /// The cause.
    pub cause: CauseIx,
    /// A fix that removes it was done.
    pub fixed: bool,
    /// At the end it was among the first of the ranking, as many as causes were there.
    pub ranked: bool,
    /// It was handed over to somebody who may do a fix that removes it.
    pub right_hand: bool,
}

impl Fate {
    /// Found: its fix done, or at the top of the ranking.
    #[must_use]
    pub const fn found(&self) -> bool {
        self.fixed || self.ranked
    }
}

/// What came of a call.
#[derive(Clone, PartialEq, Debug)]
pub struct Played {
    /// How it ended.
    pub ending: Ending,
    /// The hidden causes.
    pub fates: Vec<Fate>,
    /// Questions: tests taken, the opening and proofs not counted.
    pub questions: u32,
    /// Minutes of steps, ways, changes of work state and proofs; waiting for whoever is sent is not in it.
    pub minutes: f64,
    /// Steps offered that should not have been.
    pub breaches: Vec<Breach>,
}

impl Played {
    /// Every hidden cause was found.
    #[must_use]
    pub fn found(&self) -> bool {
        self.fates.iter().all(Fate::found)
    }

    /// Every hidden cause was found, or is in the right hands.
    #[must_use]
    pub fn found_or_right_hand(&self) -> bool {
        self.fates.iter().all(|fate| fate.found() || fate.right_hand)
    }
}
