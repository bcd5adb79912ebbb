//! Fixes for no cause, and causes without a fix.

use std::collections::HashSet;

use super::grouped::Grouped;
use super::targets::{Thing, targets};
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{Item, Knowledge};

pub(super) fn check(knowledge: &Knowledge, problems: &mut Vec<Diagnostic>) {
    let mut fixed: HashSet<Thing> = HashSet::new();
    for (at, component) in knowledge.components.iter().enumerate() {
        let mut idle = Grouped::new();
        for fix in &component.fixes {
            let removed = fix.removes.iter().filter(|&&(_, chance)| chance > 0.0);
            let before = fixed.len();
            let mut any = false;
            for thing in removed.flat_map(|(cause, _)| targets(knowledge, at, cause)) {
                any = true;
                fixed.insert(thing);
            }
            debug_assert!(fixed.len() >= before);
            // A measure for the meantime helps without removing anything.
            if !any && !fix.temporary {
                idle.add(&fix.id);
            }
        }
        idle.report(
            Code::FixForNoCause,
            |names| format!("{names}: removes no cause"),
            problems,
            |problem| {
                problem
                    .why("no plan ever has a reason to do it")
                    .help("say what it removes: `removes: {cause: 0.95}`, or `temporary: true`")
            },
        );
    }
    for (at, component) in knowledge.components.iter().enumerate() {
        let mut without = Grouped::new();
        for (cause, it) in component.causes.iter().enumerate() {
            if !fixed.contains(&(at, Item::Cause(cause))) {
                without.add(&it.id);
            }
        }
        without.report(
            Code::CauseWithoutFix,
            |names| format!("no fix removes {names}"),
            problems,
            |problem| {
                problem
                    .why("once it is found, all that is left is to hand over")
                    .help("add a fix, or say in `note` who puts it right")
            },
        );
    }
}
