//! More conductors on a terminal than it holds.

use super::super::list::WireList;
use crate::diagnostic::{Code, Diagnostic};

/// So many conductors a terminal of a strip holds where the sheet does not say: one in, and two where it goes on.
const STRIP: usize = 3;

pub(super) fn check(list: &WireList<'_>, problems: &mut Vec<Diagnostic>) {
    let mut landed: Vec<Vec<usize>> = vec![Vec::new(); list.terminals.len()];
    for (at, _, ends) in list.wires() {
        for end in ends {
            landed[end].push(at);
        }
    }
    for (at, wires) in landed.into_iter().enumerate() {
        let device = &list.terminals[at].device;
        let strip = list.job.strips.iter().find(|strip| strip.id == *device);
        let holds = match (list.role(at), strip) {
            (Some(role), _) => role.holds,
            (None, Some(strip)) => strip.holds.unwrap_or(STRIP),
            // Of a device that nothing is known of, nothing is asked.
            (None, None) => continue,
        };
        if wires.len() <= holds {
            continue;
        }
        let words = format!("{} conductors on `{}`, which holds {holds}", wires.len(), list.label(at));
        let over = list.landed(wires[holds], at).or(list.terminals[at].span);
        let problem = match over {
            Some(span) => Diagnostic::new(Code::TerminalFull, span, words),
            None => Diagnostic::nowhere(Code::TerminalFull, words),
        };
        problems.push(
            problem
                .why("under one screw too many conductors work loose and get hot")
                .help("spread them over a strip with links"),
        );
    }
}
