//! One link written at both ends: `shows` at the cause and `shown-by` at the finding, or the same for conditions.

use std::collections::HashMap;

use super::targets::{Thing, targets};
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{Knowledge, Reference, Via};
use crate::source::Span;

pub(super) fn check(knowledge: &Knowledge, problems: &mut Vec<Diagnostic>) {
    // Links by their two things, as the end at the cause writes them.
    let mut at_cause: HashMap<(Thing, Thing), Span> = HashMap::new();
    let mut at_effect: Vec<(Thing, Thing, &Reference, &Reference)> = Vec::new();
    for (at, component) in knowledge.components.iter().enumerate() {
        let shows = component.shows.iter().map(|link| (&link.from, &link.to));
        let leads = component.leads.iter().map(|link| (&link.from, &link.to));
        for (from, to) in shows.chain(leads) {
            // Both ends at the same unit: what stands later in the file is looked at as the other end.
            for source in targets(knowledge, at, from) {
                for target in targets(knowledge, at, to) {
                    if from.via == Via::Same && from_own_end(from, to) {
                        at_cause.entry((source, target)).or_insert(to.span);
                    } else {
                        at_effect.push((source, target, from, to));
                    }
                }
            }
        }
    }
    for (source, target, from, to) in at_effect {
        let Some(&other) = at_cause.get(&(source, target)) else { continue };
        let message = format!("the link from `{}` to `{}` is written at both ends", from.name, to.name);
        let problem = Diagnostic::new(Code::LinkedTwice, from.span, message)
            .label("here at what it shows in")
            .also_at(other, "and here at the cause")
            .why("two chances for one link: nobody can say which of them holds")
            .help("remove one of the two");
        problems.push(problem);
    }
}

/// Whether a link is written at its cause: there the reference is the target, and its text stands after the cause's id.
fn from_own_end(from: &Reference, to: &Reference) -> bool {
    to.via != Via::Same || from.span < to.span
}
