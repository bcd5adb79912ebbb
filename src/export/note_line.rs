//! A line of a call note, in words.

use super::number::{minutes, words};
use crate::session::note::{NoteKind, NoteLine};

/// The line without its time: what it is about, and what came of it.
#[must_use]
pub fn note_line(line: &NoteLine) -> String {
    let (about, text) = (line.about.trim_end_matches('?'), words(&line.text));
    let then = |label: &str| format!("{label}: {about}");
    let mut said = match line.kind {
        NoteKind::Person => then("present"),
        NoteKind::Said if text.is_empty() => about.to_owned(),
        NoteKind::Said | NoteKind::Found => format!("{about}: {text}"),
        NoteKind::CannotTell => then("cannot tell"),
        NoteKind::Seen => then("seen"),
        NoteKind::SeenAbsent => then("ruled out by sight"),
        NoteKind::ThereNow => "the complaint is there now".to_owned(),
        NoteKind::NotThereNow => "the complaint is not there now".to_owned(),
        NoteKind::Step => format!("{about}: {}", line.text),
        NoteKind::Done => then("done"),
        NoteKind::NotDone => then("not done"),
        NoteKind::Proven => format!("taken again: {about}: {text}"),
        NoteKind::WorkState if text.is_empty() => then("work state"),
        NoteKind::WorkState => format!("{about}: {}", line.text),
        NoteKind::Nameplate => format!("nameplate of {about}, {}: {}", words(&line.words), line.text),
        NoteKind::NoEmergency => "no emergency".to_owned(),
        NoteKind::Emergency => then("EMERGENCY"),
        NoteKind::AllClear => then("all clear"),
        NoteKind::Left => then("to be put back"),
        NoteKind::PutBack => then("put back"),
        NoteKind::LeftHandedOver => format!("stays so, handed over to {}: {about}", line.text),
        NoteKind::WorkChanged => "the work changed something; earlier answers no longer count".to_owned(),
        NoteKind::Remark => format!("remark: {}", line.text),
        NoteKind::HandedOver if text.is_empty() => then("handed over"),
        NoteKind::HandedOver => format!("handed over: {about}, {}", line.text),
        NoteKind::ClosedProven => "closed, every complaint proven gone".to_owned(),
        NoteKind::ClosedHandedOver => "closed, handed over".to_owned(),
        NoteKind::ClosedUnproven => "closed, not proven".to_owned(),
    };
    match line.kind {
        NoteKind::WorkState | NoteKind::Step if !line.words.is_empty() => {
            said += &format!(" (confirmed by {})", line.words)
        }
        NoteKind::Nameplate => {}
        NoteKind::Proven => match line.words.parse::<f64>() {
            Ok(time) if time > 0.0 => said += &format!(", watched for {}", minutes(time)),
            _ => {}
        },
        _ if !line.words.is_empty() => said += &format!(" (\"{}\")", line.words),
        _ => {}
    }
    if line.superseded {
        said += " (no longer counts)";
    }
    said
}
