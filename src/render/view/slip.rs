//! The hand-over slip on a terminal.

use super::super::Role;
use super::super::page::Page;
use super::all;
use super::prompt::certainty;
use super::step::{cautions, open};
use crate::export::words;
use crate::export::{about, share};
use crate::session::ranking::Certainty;
use crate::session::slip::Slip;

/// Whom to send, with what, for what, and what must not be done meanwhile.
pub fn slip(page: &mut Page, slip: &Slip) {
    cautions(page, &slip.cautions);
    if !slip.name.is_empty() {
        page.labelled(Role::Heading, "Send", &slip.name);
    }
    if !slip.say.is_empty() {
        page.labelled(Role::Heading, "Say", &slip.say);
    }
    if !slip.instruments.is_empty() {
        page.labelled(Role::Heading, "With", &all(&slip.instruments));
    }
    if !slip.parts.is_empty() {
        page.labelled(Role::Heading, "Parts", &all(&slip.parts));
    }
    if slip.minutes > 0.0 {
        page.labelled(Role::Heading, "There in", &about(slip.minutes));
    }
    if !slip.candidates.is_empty() {
        page.said(Role::Heading, "It could be:");
        for (causes, chance) in &slip.candidates {
            let word = certainty(Certainty::of(*chance));
            let names = if causes.is_empty() { "none of the listed causes".to_owned() } else { all(causes) };
            page.point(&format!("{names} ({word}, {})", share(*chance)));
        }
    }
    if !slip.not_meanwhile.is_empty() {
        page.said(Role::Warning, "Not meanwhile:");
        for text in &slip.not_meanwhile {
            page.point(text);
        }
    }
    if !slip.found.is_empty() {
        page.said(Role::Heading, "Found:");
        for (name, outcome) in &slip.found {
            page.point(&format!("{name}: {}", words(outcome)));
        }
    }
    if !slip.done.is_empty() {
        page.said(Role::Heading, "Done:");
        for text in &slip.done {
            page.point(text);
        }
    }
    if !slip.open.is_empty() {
        page.said(Role::Warning, "Temporary, or to be put back:");
        open(page, &slip.open);
    }
    let state = if slip.work_state.is_empty() { "not known" } else { &slip.work_state };
    page.labelled(Role::Heading, "Work state", state);
}
