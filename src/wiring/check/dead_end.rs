//! A terminal of a strip on which a single conductor ends: the way on is missing.

use super::super::list::WireList;
use crate::diagnostic::{Code, Diagnostic};

pub(super) fn check(list: &WireList<'_>, problems: &mut Vec<Diagnostic>) {
    let mut landed = vec![0_usize; list.terminals.len()];
    for end in list.ends.iter().flatten() {
        landed[*end] += 1;
    }
    for (at, terminal) in list.terminals.iter().enumerate() {
        // What is no strip of a sheet that lists them is told as unknown.
        let strips = &list.job.strips;
        let strip = strips.is_empty() || strips.iter().any(|strip| strip.id == terminal.device);
        if terminal.unit.is_some() || landed[at] != 1 || !strip {
            continue;
        }
        let words = format!("the conductor ends at `{}`", list.label(at));
        let problem = match terminal.span {
            Some(span) => Diagnostic::new(Code::DeadEnd, span, words),
            None => Diagnostic::nowhere(Code::DeadEnd, words),
        };
        problems.push(
            problem
                .why("a terminal strip passes a conductor on")
                .help("list the wire that goes on from there"),
        );
    }
}
