//! Connections of the wire list: the one that is asked for, and what is wrong with them.

use super::super::Role;
use super::super::page::Page;
use super::all;
use crate::export::{deviation_text, wire_ends, wire_notes};
use crate::session::prompt::{Walk, WireAsked, WireDeviation};

/// How far the walk is, what is wrong so far where the whole question is shown, and the connection whose turn it is.
pub(super) fn walk(page: &mut Page, walk: &Walk, whole: bool) {
    if whole && !walk.wrong.is_empty() {
        page.said(Role::Step, "Wrong so far:");
        for one in &walk.wrong {
            wrong(page, one);
        }
    }
    let Some(asked) = &walk.next else { return };
    if asked.again {
        page.said(Role::Aside, "(not good so far: read it again once it is put right)");
    }
    connection(page, asked, walk, whole);
}

fn connection(page: &mut Page, asked: &WireAsked, walk: &Walk, whole: bool) {
    let connection = &asked.connection;
    let label = format!("Connection {} of {}", connection.number, walk.of);
    page.labelled(Role::Step, &label, &wire_ends(connection));
    let parts = wire_notes(connection);
    if !parts.is_empty() {
        page.under(&parts.join("; "));
    }
    if !asked.expect.is_empty() && (whole || !asked.as_before) {
        page.under(&format!("Expected: {}", asked.expect));
    }
}

/// What is wrong, and which causes that is.
pub(super) fn wrong(page: &mut Page, wrong: &WireDeviation) {
    let text = deviation_text(wrong);
    if wrong.deviation.is_dangerous() {
        if !wrong.danger.is_empty() {
            page.labelled(Role::Danger, "DANGER", &wrong.danger);
        }
        page.said(Role::Danger, &text);
    } else {
        page.point(&text);
    }
    if !wrong.causes.is_empty() {
        page.under(&format!("That is: {}", all(&wrong.causes)));
    }
}
