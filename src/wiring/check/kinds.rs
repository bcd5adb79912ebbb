//! What does not go together on one conductor: direct on alternating voltage, mains on a signal.

use super::super::list::WireList;
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::Carries;

pub(super) fn check(list: &WireList<'_>, problems: &mut Vec<Diagnostic>) {
    for known in list.potentials_known() {
        // Each kind against the first terminal on the conductor: once, not for every pair.
        let Some(first) = known.first() else { continue };
        let mut told = vec![first.role.carries];
        for other in &known[1..] {
            let (one, two) = (first.role.carries, other.role.carries);
            if told.contains(&two) || goes(one, two) {
                continue;
            }
            told.push(two);
            let (a, b) = (list.label(first.at), list.label(other.at));
            let direct = (one == Carries::Direct) != (two == Carries::Direct);
            let alternating = |carries| matches!(carries, Carries::Power | Carries::Motor | Carries::Control);
            let problem = if direct && (alternating(one) || alternating(two)) {
                let words =
                    format!("direct and alternating voltage meet at `{b}`, on the conductor of `{a}`");
                list.between(Code::DirectOnAlternating, other.at, first.at, words)
                    .why("each destroys what the other feeds")
            } else {
                let names = (&first.role.name.value, &other.role.name.value);
                let words = format!("`{b}` ({}) is on one conductor with `{a}` ({})", names.1, names.0);
                list.between(Code::KindsJoined, other.at, first.at, words).why(format!(
                    "one carries {}, the other {}",
                    one.word(),
                    two.word()
                ))
            };
            problems
                .push(problem.help("look up both terminals on the drawing: one of them is the wrong one"));
        }
    }
}

/// Whether two kinds may be on one conductor. Supply and motor have a rule of their own.
fn goes(one: Carries, two: Carries) -> bool {
    use Carries::{Contact, Control, Direct, Earth, Motor, Power, Shield, Signal};
    let pair = |a: &[Carries], b: &[Carries]| {
        a.contains(&one) && b.contains(&two) || a.contains(&two) && b.contains(&one)
    };
    one == two
        || pair(&[Power], &[Motor])
        // A contact stands in series with what it switches.
        || pair(&[Contact], &[Control, Direct])
        // The common of a control circuit may be bonded.
        || pair(&[Earth], &[Shield, Control, Direct, Signal])
}
