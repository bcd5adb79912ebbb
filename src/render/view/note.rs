//! The call note on a terminal.

use jiff::tz::TimeZone;

use super::super::Role;
use super::super::page::Page;
use super::step::open;
use super::{closing, ranked};
use crate::export::{moment, note_line};
use crate::session::note::Note;

/// The note, what stands first, then what happened.
pub fn note(page: &mut Page, note: &Note, zone: &TimeZone) {
    for line in &note.notice {
        page.labelled(Role::Notice, "NOTICE", line);
    }
    page.heading("Call note");
    page.labelled(Role::Heading, "Job", note.job.as_deref().unwrap_or("no job sheet"));
    page.labelled(Role::Heading, "Knowledge", &note.knowledge);
    for who in &note.people {
        page.labelled(Role::Heading, "Present", who);
    }
    let (from, to) = note.from_to;
    page.labelled(Role::Heading, "From", &moment(from, zone));
    page.labelled(Role::Heading, "To", &moment(to, zone));
    for complaint in &note.complaints {
        page.labelled(Role::Heading, "Complaint", complaint);
    }
    closing(page, &note.closing);
    if !note.ranking.is_empty() {
        page.heading("Likely causes now");
        for (at, cause) in note.ranking.iter().take(5).enumerate() {
            page.numbered(at + 1, &ranked(cause, true));
        }
    }
    if !note.open.is_empty() {
        page.heading("To be put back");
        open(page, &note.open);
    }
    let state = if note.work_state.is_empty() { "not known" } else { &note.work_state };
    page.labelled(Role::Heading, "Work state", state);
    page.heading("What happened");
    for line in &note.lines {
        page.point(&format!("{} {}", moment(line.at, zone), note_line(line)));
    }
}
