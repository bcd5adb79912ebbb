//! The check sheet of the field wiring as Markdown and as JSON.

use serde_json::{Value, json};

use super::json::signal;
use super::markdown::Markdown;
use super::wire::wire_row;
use crate::session::check_sheet::{CheckRow, CheckSheet};
use crate::wiring::End;

/// The sheet as Markdown; each connection is an item to be ticked.
#[must_use]
pub fn check_sheet_markdown(about: &[(&str, String)], sheet: &CheckSheet) -> String {
    let mut out = Markdown::titled("Check sheet of the field wiring");
    for (label, text) in about.iter().filter(|(_, text)| !text.is_empty()) {
        out.item(label, text);
    }
    out.notice(&sheet.notice);
    for caution in &sheet.cautions {
        out.item(signal(caution.signal), &caution.text);
    }
    out.ticks("Before the first reading", sheet.before.iter().cloned());
    out.item("Who", &sheet.competence);
    if !sheet.instruments.is_empty() {
        out.item("With", &sheet.instruments.join(", "));
    }
    out.list("How", sheet.how.iter().cloned());
    if !sheet.danger.is_empty() {
        out.item("Supply and motor conductors exchanged", &sheet.danger);
    }
    for section in &sheet.sections {
        let mut expect = "";
        let rows = section.rows.iter().map(|row| {
            let mut text = format!("{}: {}", row.connection.number, wire_row(&row.connection));
            if expect != row.expect && !row.expect.is_empty() {
                text += &format!(". Expected: {}", row.expect);
            }
            expect = &row.expect;
            text
        });
        out.ticks(&format!("From {} to {}", section.near, section.far), rows);
    }
    out.lines("Not as listed: number, what was found, put right by, read again", 4);
    out.lines("Read by: name, date, signature", 1);
    out.text
}

/// The sheet as JSON, format 1: `connections` holds every one once, by number.
#[must_use]
pub fn check_sheet_json(job: &str, site: &str, sheet: &CheckSheet) -> Value {
    let end = |end: &End| {
        json!({
            "device": end.device,
            "name": end.name,
            "terminal": end.terminal,
            "row": end.row,
            "enclosure": end.at.enclosure,
            "place": end.at.place,
            "by": end.by,
        })
    };
    let row = |row: &CheckRow| {
        let wire = &row.connection;
        json!({
            "number": wire.number,
            "id": wire.id,
            "from": end(&wire.near),
            "to": end(&wire.far),
            "conductor": wire.conductor,
            "polarity_sensitive": wire.polarity_sensitive,
            "through": wire.through,
            "carries": wire.carries.map(crate::knowledge::Carries::word),
            "expect": row.expect,
        })
    };
    json!({
        "format": 1,
        "job": job,
        "site": site,
        "notice": sheet.notice,
        "cautions": sheet.cautions.iter().map(|c| json!({"signal": signal(c.signal), "text": c.text})).collect::<Vec<_>>(),
        "before": sheet.before,
        "competence": sheet.competence,
        "instruments": sheet.instruments,
        "how": sheet.how,
        "danger": sheet.danger,
        "connections": sheet.sections.iter().flat_map(|s| s.rows.iter().map(row)).collect::<Vec<_>>(),
    })
}
