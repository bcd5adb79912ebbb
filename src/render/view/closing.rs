//! How a case stands at its end.

use super::super::Role;
use super::super::page::Page;
use crate::export::{minutes, share};
use crate::session::prompt::ClosingView;

/// What was proven, what not, what stays.
pub fn closing(page: &mut Page, view: &ClosingView) {
    for (say, under, watched) in &view.proven {
        let mut text = say.clone();
        if !under.is_empty() {
            text += &format!("; {under}");
        }
        if *watched > 0.0 {
            text += &format!("; watched for {}", minutes(*watched));
        }
        page.labelled(Role::Good, "Proven gone", &text);
    }
    for say in &view.unproven {
        page.labelled(Role::Warning, "Not proven", say);
    }
    for text in &view.done {
        page.labelled(Role::Heading, "Done", text);
    }
    for (text, to) in &view.handed_over {
        page.labelled(Role::Heading, "Handed over", &format!("{text} (to {to})"));
    }
    // While a complaint stands, these are among its likely causes and are told there.
    for (name, chance) in view.stay.iter().filter(|_| view.unproven.is_empty()) {
        page.labelled(
            Role::Notice,
            "Shows in no complaint, but may be there",
            &format!("{name} ({})", share(*chance)),
        );
    }
}
