//! The log worked through: which entries stand once every undo and every change is done.
//!
//! In: all events, in order. Out: the entries that stand, each at its own place in time. Invariant: nothing is ever
//! removed from the log; an undo and a change are events like any other.

use super::event::{Event, EventNo, What};

/// An event that stands.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Entry {
    /// Its number, which places it in time.
    pub(crate) no: EventNo,
    /// The number of its latest change, or its own: a corrected answer counts as the latest word in its epoch.
    pub(crate) said: EventNo,
    /// When, in milliseconds since 1970-01-01 UTC.
    pub(crate) at: i64,
    /// What.
    pub(crate) what: What,
}

/// Whether an undo can take it back. What ends or begins something in the world cannot be unsaid.
pub(crate) fn can_be_undone(what: &What) -> bool {
    match what {
        What::Started { .. }
        | What::PowerUpBegan
        | What::EmergencyRaised { .. }
        | What::AllClear { .. }
        | What::Resumed { .. }
        | What::HandedOver { .. }
        | What::Closed { .. }
        | What::Undo => false,
        What::EmergenciesAnswered { present } => present.is_empty(),
        _ => true,
    }
}

/// Whether it is an answer, which a change may replace by another.
pub(crate) fn is_answer(what: &What) -> bool {
    matches!(
        what,
        What::Volunteered { .. }
            | What::OneOf { .. }
            | What::Answered { .. }
            | What::CauseSeen { .. }
            | What::ThereNow { .. }
            | What::Proved { .. }
            | What::NameplateTold { .. }
            | What::NameplateUnknown { .. }
            | What::UnitMentioned { .. }
            | What::UnitRelated { .. }
            | What::Note { .. }
    )
}

/// Whether a change may withdraw it.
pub(crate) fn can_be_withdrawn(what: &What) -> bool {
    is_answer(what)
        || matches!(
            what,
            What::FixDone { .. } | What::FixNotDone { .. } | What::StepNotDone { .. } | What::Left { .. }
        )
}

/// Numbers of the events that no undo took back, in order.
fn standing(log: &[Event]) -> Vec<EventNo> {
    let mut standing: Vec<EventNo> = Vec::with_capacity(log.len());
    for (no, event) in log.iter().enumerate() {
        if event.what == What::Undo {
            if let Some(at) = standing.iter().rposition(|&no| can_be_undone(&log[no].what)) {
                standing.remove(at);
            }
        } else {
            standing.push(no);
        }
    }
    standing
}

/// The event that an undo would take back.
pub(crate) fn undoable(log: &[Event]) -> Option<EventNo> {
    standing(log).into_iter().rev().find(|&no| can_be_undone(&log[no].what))
}

/// The entries that stand, in their order in time. O(n) for n events, but for undos and changes.
pub(crate) fn entries(log: &[Event]) -> Vec<Entry> {
    let mut entries: Vec<Entry> = Vec::with_capacity(log.len());
    for no in standing(log) {
        let event = &log[no];
        match &event.what {
            What::Change { event: target, to } => {
                let Ok(at) = entries.binary_search_by_key(target, |entry| entry.no) else { continue };
                match to {
                    Some(what) => {
                        entries[at].what = (**what).clone();
                        entries[at].said = no;
                    }
                    None => {
                        entries.remove(at);
                    }
                }
            }
            what => entries.push(Entry { no, said: no, at: event.at, what: what.clone() }),
        }
    }
    entries
}
