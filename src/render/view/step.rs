//! What goes with every step: cautions before it, who, where, with what.

use super::super::Role;
use super::super::page::Page;
use super::all;
use crate::export::about;
use crate::model::practice::Signal;
use crate::session::prompt::{Caution, Conditions, Left};

/// The signal word and its style.
pub(super) const fn signal(signal: Signal) -> (&'static str, Role) {
    match signal {
        Signal::Danger => ("DANGER", Role::Danger),
        Signal::Warning => ("WARNING", Role::Warning),
        Signal::Caution => ("CAUTION", Role::Caution),
        Signal::Notice => ("NOTICE", Role::Notice),
    }
}

/// Cautions, one a line, in their order.
pub(super) fn cautions(page: &mut Page, cautions: &[Caution]) {
    for caution in cautions {
        let (word, role) = signal(caution.signal);
        page.labelled(role, word, &caution.text);
    }
}

/// Where to go and what to have, in one line, where there is something to say.
pub(super) fn place(page: &mut Page, conditions: &Conditions) {
    let mut parts = vec![];
    if conditions.travel && !conditions.place.is_empty() {
        parts.push(conditions.place.clone());
    }
    if let Some(door) = &conditions.inside {
        parts.push(format!("{door} open"));
    }
    if !conditions.instruments.is_empty() {
        parts.push(format!("with {}", all(&conditions.instruments)));
    }
    if let Some(time) = conditions.minutes.filter(|&time| time >= 5.0) {
        parts.push(about(time));
    }
    if !parts.is_empty() {
        page.said(Role::Aside, &format!("({})", parts.join("; ")));
    }
}

/// What will have to be put back.
pub(super) fn leaves(page: &mut Page, conditions: &Conditions) {
    if !conditions.leaves.is_empty() {
        page.line(&format!("Afterwards: {}", conditions.leaves.join("; ")));
    }
}

/// What is to be put back, numbered.
pub(super) fn open(page: &mut Page, open: &[Left]) {
    for (at, left) in open.iter().enumerate() {
        let meanwhile = if left.temporary { " (a measure for the meantime)" } else { "" };
        page.numbered(at + 1, &format!("{}{meanwhile}", left.text));
    }
}
