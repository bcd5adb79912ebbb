//! What applying an event brought about, or why it was refused.

use super::event::{EventNo, LeftId};

/// The event was taken.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Reply {
    /// Its number.
    pub event: EventNo,
    /// What it brought about beside itself.
    pub effects: Vec<Effect>,
}

/// Something that an event brought about beside itself.
#[derive(Clone, PartialEq, Debug)]
pub enum Effect {
    /// Taken to be so along with the answer: finding name, outcome.
    TakenAsSo {
        /// Name of the finding.
        finding: String,
        /// Outcome.
        outcome: String,
    },
    /// An earlier answer of this epoch was replaced.
    Replaced {
        /// The event that gave it.
        event: EventNo,
        /// Name of the finding.
        finding: String,
    },
    /// An answer was withdrawn, because what it hung on is not so.
    Withdrawn {
        /// The event that gave it.
        event: EventNo,
        /// Name of the finding.
        finding: String,
    },
    /// An earlier answer that had been withdrawn counts again.
    Restored {
        /// The event that gave it.
        event: EventNo,
        /// Name of the finding.
        finding: String,
    },
    /// An emergency stops everything.
    Emergency {
        /// Its id.
        id: String,
    },
    /// The work state is not known any more.
    WorkStateUnknown,
    /// A work state was reached.
    WorkState {
        /// Its name.
        name: String,
    },
    /// Something must be put back.
    ToPutBack {
        /// Which.
        item: LeftId,
        /// The text.
        text: String,
    },
    /// The number is in no table of this device: tripped, class unknown.
    ClassUnknown {
        /// The words kept.
        words: String,
    },
    /// The event was taken back.
    Undone {
        /// Its number.
        event: EventNo,
    },
    /// Recorded, but not counted: the complaint is not there just now, and it looked normal.
    NotCounted {
        /// Name of the finding.
        finding: String,
    },
}

/// Why an event was not taken. Nothing has changed.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum Refused {
    /// The session has not begun, or has begun already.
    #[error("a session begins once, with its start")]
    Start,
    /// No such thing.
    #[error("there is no {kind} {id}")]
    Unknown {
        /// `finding`, `test`, …
        kind: &'static str,
        /// The id.
        id: String,
    },
    /// That outcome does not exist.
    #[error("{finding} has no outcome {outcome}")]
    NoOutcome {
        /// Finding id.
        finding: String,
        /// The outcome.
        outcome: String,
    },
    /// The reading cannot be used.
    #[error("{reason}")]
    Reading {
        /// Test id.
        test: String,
        /// Why.
        reason: String,
    },
    /// An emergency is at hand: only its end, or a remark, is taken.
    #[error("an emergency is at hand; nothing goes on until all is clear")]
    Emergency {
        /// Its id.
        id: String,
    },
    /// Not the act whose turn it is.
    #[error("the acts are confirmed one by one, in their order")]
    Order,
    /// The person present may not or cannot confirm that.
    #[error("that is for {competence} to confirm")]
    Competence {
        /// By name.
        competence: String,
    },
    /// It may still be locked out: back to the state at the start first, or hand over.
    #[error("not in this work state")]
    WorkState,
    /// Some complaints are not proven gone.
    #[error("some complaints are not proven gone")]
    NotProven {
        /// Their sentences.
        complaints: Vec<String>,
    },
    /// Something must be put back, or handed over, first.
    #[error("something must be put back or handed over first")]
    ToPutBack {
        /// The texts.
        items: Vec<String>,
    },
    /// Connections of the wire list are unread, or not good.
    #[error("connections are unread or not good")]
    Connections {
        /// So many.
        left: usize,
    },
    /// Nothing can be taken back.
    #[error("there is nothing to take back")]
    NothingToUndo,
    /// It would clear an emergency, which only an all-clear does.
    #[error("an emergency ends by its all-clear only")]
    OnlyAllClear,
    /// That event cannot be changed, or not into this.
    #[error("that entry cannot be changed so")]
    CannotChange,
    /// It is closed.
    #[error("the case is closed")]
    Closed,
    /// The model could not be compiled again.
    #[error("{0}")]
    Compile(String),
}
