//! Poles: plus on minus, the two wires of a data pair crossed, a wire whose ends may not be exchanged not marked so.

use super::super::list::WireList;
use super::Known;
use crate::diagnostic::{Code, Diagnostic, ENOUGH};
use crate::knowledge::Carries;

pub(super) fn check(list: &WireList<'_>, problems: &mut Vec<Diagnostic>) {
    let pole = |at: usize| list.terminals[at].named.as_ref().and_then(|named| named.pole);
    // A hostile list could have any number of pairs; more than are told are not looked at.
    let mut looked = 0;
    for known in list.potentials_known() {
        for (at, one) in known.iter().enumerate() {
            for other in &known[at + 1..] {
                let (Some(a), Some(b)) = (pole(one.at), pole(other.at)) else { continue };
                if one.unit == other.unit || one.role.carries != other.role.carries || a == b {
                    continue;
                }
                // Told where the wire runs from one pole to the other, not at every terminal behind it.
                looked += 1;
                if looked > ENOUGH {
                    return unmarked(list, problems);
                }
                let path = list.path(one.at, other.at);
                if path.len() > 1 && passes_another(list, &path, one.at, other.at) {
                    continue;
                }
                let (label, to) = (list.label(one.at), list.label(other.at));
                let problem = if one.role.carries == Carries::Bus {
                    let words = format!("the data pair is crossed between `{label}` and `{to}`");
                    list.between(Code::BusCrossed, one.at, other.at, words)
                        .why("behind the crossing no device answers, while each by itself is in order")
                        .help("plus to plus and minus to minus along the whole bus")
                } else {
                    let words = format!("the polarity is exchanged between `{label}` and `{to}`");
                    list.between(Code::PolarityExchanged, one.at, other.at, words)
                        .why("reversed polarity destroys what it feeds, or sends a signal the wrong way")
                        .help("plus to plus, minus to minus")
                };
                problems.push(problem);
            }
        }
    }
    unmarked(list, problems);
}

/// Whether a third terminal with a pole lies on the way.
fn passes_another(list: &WireList<'_>, path: &[usize], one: usize, other: usize) -> bool {
    let ends = path.iter().flat_map(|&wire| list.ends[wire]);
    ends.filter(|&at| at != one && at != other)
        .any(|at| list.terminals[at].named.as_ref().is_some_and(|named| named.pole.is_some()))
}

fn unmarked(list: &WireList<'_>, problems: &mut Vec<Diagnostic>) {
    for (at, wire, ends) in list.wires() {
        if wire.polarity_sensitive || !wire.through.is_empty() {
            continue;
        }
        let known = list.known(list.terminals[ends[0]].potential);
        // An alternating conductor on a pole is a mistake of another kind.
        let poled = known.iter().any(|known| known.role.poles.is_some());
        let other = |known: &Known<'_>| {
            known.role.poles.is_none() && !matches!(known.role.carries, Carries::Earth | Carries::Shield)
        };
        if !poled || known.iter().any(other) {
            continue;
        }
        let words = format!(
            "the wire from `{}` to `{}` is not marked as sensitive to polarity",
            list.label(ends[0]),
            list.label(ends[1])
        );
        let problem = match list.landed(at, ends[0]) {
            Some(span) => Diagnostic::new(Code::PolarityUnmarked, span, words),
            None => Diagnostic::nowhere(Code::PolarityUnmarked, words),
        };
        problems.push(
            problem
                .why("such wires are checked twice before anything is energised")
                .help("add `polarity-sensitive: true`"),
        );
    }
}
