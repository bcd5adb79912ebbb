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

/// Kinds of lines in a note. `about`, `text` and `words` of the line are given in brackets, where they are not the name of
/// a finding, its outcome and the person's words.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum NoteKind {
    /// Somebody is present (who).
    Person,
    /// Something said of the equipment (a unit's name).
    Said,
    /// A finding.
    Found,
    /// A test whose answer the person cannot tell (its sentence).
    CannotTell,
    /// A cause was seen (its name).
    Seen,
    /// A cause was seen to be absent (its name).
    SeenAbsent,
    /// The complaints are there now.
    ThereNow,
    /// The complaints are not there now: what looks normal is no evidence.
    NotThereNow,
    /// A step of the power-up (its sentence, outcome and readings, by whom).
    Step,
    /// Something done (its steps).
    Done,
    /// Something was not done (its sentence).
    NotDone,
    /// A complaint taken again (finding, outcome, minutes watched).
    Proven,
    /// Work state (its name, the act that was confirmed or empty, by whom).
    WorkState,
    /// A nameplate value (unit, value, key).
    Nameplate,
    /// No emergency at the start.
    NoEmergency,
    /// An emergency (its question).
    Emergency,
    /// An emergency is over (the question that was answered with yes).
    AllClear,
    /// Something left in another state (what).
    Left,
    /// Something put back (what).
    PutBack,
    /// Something that stays as it is, handed over (what, to whom).
    LeftHandedOver,
    /// Work changed something that nobody described.
    WorkChanged,
    /// A remark (text).
    Remark,
    /// Handed over (competence, name).
    HandedOver,
    /// Closed, every complaint proven gone.
    ClosedProven,
    /// Closed, handed over.
    ClosedHandedOver,
    /// Closed, not proven.
    ClosedUnproven,
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
