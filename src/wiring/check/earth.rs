//! Earth and shields: every unit that wants an earth has one; a shield is landed at one end, not at none and not at two.

use super::super::list::WireList;
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{Carries, Flow, TerminalRole};

pub(super) fn check(list: &WireList<'_>, problems: &mut Vec<Diagnostic>) {
    for (unit, roles) in list.units() {
        let rows = list.rows(unit);
        // A cable that is pulled on site has its shield listed at each unit that has a terminal for it.
        let cable = field_cable(list, unit);
        let wanted = |role: &TerminalRole| role.wanted || cable && role.carries == Carries::Shield;
        for (row, role) in roles.iter().enumerate().filter(|(_, role)| wanted(role)) {
            let terminals = rows.get(&row).map_or(&[][..], Vec::as_slice);
            let id = &list.job.units[unit].id;
            let others = list.others(unit, terminals);
            let earthed =
                others.iter().any(|o| o.role.carries == Carries::Earth && o.role.flow == Flow::Gives);
            let landed = others.iter().any(|o| o.role.carries == Carries::Shield);
            let (code, words, why) = match role.carries {
                Carries::Earth if role.flow == Flow::Takes && !earthed => (
                    Code::EarthMissing,
                    format!("`{id}` has no earth: its {} leads to no earth of a feeder", role.name.value),
                    "a fault to its case would not trip anything, and the case would stay live",
                ),
                Carries::Shield if !landed => (
                    Code::ShieldEnds,
                    format!("the shield of the cable at `{id}` is not listed"),
                    "a shield that is not carried through picks noise up instead of keeping it away",
                ),
                _ => continue,
            };
            let problem = match terminals.first() {
                Some(&at) => list.at(code, at, words),
                None => list.at_unit(code, unit, words),
            };
            problems
                .push(problem.why(why).help(format!("list the wire at the {} of `{id}`", role.name.value)));
        }
    }
    for known in list.potentials_known() {
        let Some(shield) = known.iter().find(|known| known.role.carries == Carries::Shield) else { continue };
        // A shield potential that runs into earth at several points holds the earth's wires as well: count the landings.
        let landings = landings(list, list.terminals[shield.at].potential);
        if landings == 1 {
            continue;
        }
        let words = if landings == 0 {
            format!("the shield at `{}` is earthed nowhere", list.label(shield.at))
        } else {
            format!("the shield at `{}` is earthed at {landings} points", list.label(shield.at))
        };
        let why = if landings == 0 {
            "without earth a shield keeps nothing away"
        } else {
            "between two earths a current flows through the shield, as noise on the pair"
        };
        let problem = list.at(Code::ShieldEnds, shield.at, words);
        problems.push(problem.why(why).help("land the shield on earth at one end of the cable alone"));
    }
}

/// Whether a data or signal wire that is made on site ends at this unit.
fn field_cable(list: &WireList<'_>, unit: usize) -> bool {
    list.field_wires().any(|(_, wire, ends)| {
        let shielded = |end: usize| {
            let role = list.role(end).filter(|_| list.terminals[end].unit == Some(unit));
            role.is_some_and(|role| matches!(role.carries, Carries::Bus | Carries::Signal))
        };
        wire.through.is_empty() && ends.into_iter().any(shielded)
    })
}

/// How many wires run from a shield of the potential to an earth.
fn landings(list: &WireList<'_>, potential: usize) -> usize {
    let carries = |at: usize| list.role(at).map(|role| role.carries);
    let mine = list
        .wires()
        .filter(|(_, wire, ends)| wire.through.is_empty() && list.terminals[ends[0]].potential == potential);
    let crossing = mine.filter(|(_, _, ends)| {
        let kinds = ends.map(carries);
        kinds.contains(&Some(Carries::Shield)) && kinds.iter().any(|kind| *kind != Some(Carries::Shield))
    });
    // By way of a strip: every wire from a shield to something else leads to earth, if there is an earth at all.
    let earthed = list.known(potential).iter().any(|known| known.role.carries == Carries::Earth);
    if earthed { crossing.count() } else { 0 }
}
