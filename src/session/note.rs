//! The call note: who, when, what was said, found, done and proven, and what is open.

use super::prompt::{ClosingView, Left};
use super::ranking::Ranked;

/// A note that a stranger can use.
#[derive(Clone, PartialEq, Debug)]
pub struct Note {
    /// Package id.
    pub knowledge: String,
    /// Job id, where there is a sheet.
    pub job: Option<String>,
    /// Who was present, in order: name and competences by name.
    pub people: Vec<String>,
    /// First and last time, in milliseconds since 1970-01-01 UTC.
    pub from_to: (i64, i64),
    /// What happened, in order.
    pub lines: Vec<NoteLine>,
    /// Complaints, in sentences.
    pub complaints: Vec<String>,
    /// What it probably is, now.
    pub ranking: Vec<Ranked>,
    /// Chance that none of the listed causes is there.
    pub none_listed: f64,
    /// What was proven, and what stays.
    pub closing: ClosingView,
    /// What is to be put back.
    pub open: Vec<Left>,
    /// The work state, as far as it is known; empty: not known.
    pub work_state: String,
    /// The standing notice.
    pub notice: Vec<String>,
}

/// Kinds of lines in a note.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum NoteKind {
    /// What a person said of themselves, of the emergencies, of the state.
    Said,
    /// A finding.
    Found,
    /// Something done.
    Done,
    /// A proof.
    Proven,
    /// Work state.
    WorkState,
    /// An emergency.
    Emergency,
    /// Something left or put back.
    Left,
    /// A remark.
    Remark,
}

/// One line of a note.
#[derive(Clone, PartialEq, Debug)]
pub struct NoteLine {
    /// The event.
    pub event: usize,
    /// When, in milliseconds since 1970-01-01 UTC.
    pub at: i64,
    /// What kind of line.
    pub kind: NoteKind,
    /// What it is about: the name of a finding, a fix, a unit, a person.
    pub about: String,
    /// The outcome, or the act.
    pub text: String,
    /// The person's own words, where they were kept.
    pub words: String,
    /// It no longer counts: withdrawn, replaced, of an earlier state of the equipment.
    pub superseded: bool,
}
