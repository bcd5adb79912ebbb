//! The check sheet of the field wiring as text, to be printed and ticked.

use super::super::Role;
use super::super::page::Page;
use super::all;
use super::step::cautions;
use crate::export::wire_row;
use crate::session::check_sheet::CheckSheet;

/// The sheet: cautions and what comes first, then every connection with a box, then who has read it.
pub fn check_sheet(page: &mut Page, about: &[(&str, String)], sheet: &CheckSheet) {
    page.heading("Check sheet of the field wiring");
    for (label, text) in about.iter().filter(|(_, text)| !text.is_empty()) {
        page.labelled(Role::Heading, label, text);
    }
    page.gap();
    for line in &sheet.notice {
        page.labelled(Role::Notice, "NOTICE", line);
    }
    cautions(page, &sheet.cautions);
    page.heading("Before the first reading");
    for line in &sheet.before {
        page.ticked("", line);
    }
    page.labelled(Role::Heading, "Who", &sheet.competence);
    if !sheet.instruments.is_empty() {
        page.labelled(Role::Heading, "With", &all(&sheet.instruments));
    }
    for line in &sheet.how {
        page.point(line);
    }
    if !sheet.danger.is_empty() {
        page.labelled(
            Role::Danger,
            "DANGER",
            &format!("Supply and motor conductors exchanged? {}", sheet.danger),
        );
    }
    for section in &sheet.sections {
        page.heading(&format!("From {} to {}", section.near, section.far));
        let (mut devices, mut expect) = (None, "");
        for row in &section.rows {
            let pair = (&row.connection.near, &row.connection.far);
            let now = Some((&pair.0.device, &pair.1.device));
            if devices != now {
                page.line(&format!("{} to {}", pair.0.device_name(), pair.1.device_name()));
                devices = now;
            }
            if expect != row.expect {
                page.under(&format!("Expected: {}", row.expect));
                expect = &row.expect;
            }
            page.ticked(&row.connection.number.to_string(), &wire_row(&row.connection));
        }
    }
    page.heading("Not as listed (number, what was found, put right by, read again)");
    for _ in 0..4 {
        page.line("__________________________________________________________________");
    }
    page.heading("Read by (name, date, signature)");
    page.line("__________________________________________________________________");
}
