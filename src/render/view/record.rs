//! The commissioning record on a terminal.

use jiff::tz::TimeZone;

use super::super::Role;
use super::super::page::Page;
use super::step::open;
use crate::export::{moment, record_line, taken_line, wires_lines};
use crate::session::power_up::record::Record;

/// The record: who, when, every step with its limit, what deviated, what is open, who signs.
pub fn record(page: &mut Page, record: &Record, zone: &TimeZone) {
    for line in &record.notice {
        page.labelled(Role::Notice, "NOTICE", line);
    }
    page.heading(&format!("Commissioning record: {}", record.title));
    page.labelled(Role::Heading, "Job", record.job.as_deref().unwrap_or("no job sheet"));
    page.labelled(Role::Heading, "Knowledge", &record.knowledge);
    for who in &record.people {
        page.labelled(Role::Heading, "Present", who);
    }
    page.labelled(Role::Heading, "From", &moment(record.from_to.0, zone));
    page.labelled(Role::Heading, "To", &moment(record.from_to.1, zone));
    page.labelled(Role::Heading, "State", if record.complete { "complete" } else { "NOT complete" });
    page.heading("Steps");
    for (at, step) in record.steps.iter().enumerate() {
        page.numbered(at + 1, &record_line(step, zone));
    }
    if !record.deviations.is_empty() {
        page.heading("Deviations");
        for deviation in &record.deviations {
            let cured = if deviation.cured { "confirmed later" } else { "OPEN" };
            page.point(&format!("{}: {}; {cured}", deviation.say, taken_line(&deviation.taken, "", zone)));
        }
    }
    let wires = wires_lines(record);
    if !wires.is_empty() {
        page.heading("Field wiring");
        for line in &wires {
            page.point(line);
        }
    }
    if !record.done.is_empty() {
        page.heading("Done about them");
        for done in &record.done {
            page.point(done);
        }
    }
    if !record.open.is_empty() {
        page.heading("Temporary measures, open");
        open(page, &record.open);
    }
    if !record.settled.is_empty() {
        page.heading("Temporary measures, closed");
        for (text, to) in &record.settled {
            let line = if to.is_empty() {
                format!("put back: {text}")
            } else {
                format!("handed over to {to}: {text}")
            };
            page.point(&line);
        }
    }
    page.heading("To sign");
    for who in &record.signatures {
        page.point(&format!("{who}: name, date, signature"));
    }
}
