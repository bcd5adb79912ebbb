//! Rows of a unit: without feed, with nothing connected, with a leg missing.

use std::collections::BTreeSet;

use super::super::list::WireList;
use crate::diagnostic::{Code, Diagnostic};
use crate::job::{Plate, Unit};
use crate::knowledge::{Carries, Flow, Legs, TerminalRole};

pub(super) fn check(list: &WireList<'_>, problems: &mut Vec<Diagnostic>) {
    for (unit, roles) in list.units() {
        let rows = list.rows(unit);
        for (row, role) in roles.iter().enumerate() {
            // Earth and shields have a rule of their own.
            if matches!(role.carries, Carries::Earth | Carries::Shield) {
                continue;
            }
            let terminals = rows.get(&row).map_or(&[][..], Vec::as_slice);
            // Exchanged sides are told as that, not once more as a missing feed.
            if terminals.iter().any(|&at| exchanged(list, list.terminals[at].potential)) {
                continue;
            }
            let reached: Vec<usize> =
                terminals.iter().copied().filter(|&at| reaches(list, unit, role, at)).collect();
            if reached.is_empty() {
                if role.wanted || !terminals.is_empty() {
                    problems.push(nothing(list, unit, role, terminals));
                }
                continue;
            }
            missing(list, unit, role, terminals, &reached, problems);
        }
    }
}

/// Whether something is at the other end: for what takes, something that gives; for what gives, something that takes.
fn reaches(list: &WireList<'_>, unit: usize, role: &TerminalRole, at: usize) -> bool {
    list.others(unit, &[at]).iter().any(|other| {
        let other = other.role;
        // A contact stands in series with what it switches.
        let series = other.carries == Carries::Contact
            && matches!(role.carries, Carries::Contact | Carries::Control | Carries::Direct);
        let answers = match role.flow {
            Flow::Takes => other.flow != Flow::Takes,
            Flow::Gives => other.flow != Flow::Gives,
            Flow::Both => true,
        };
        other.carries == role.carries && answers || series
    })
}

/// Whether supply and motor meet on a potential.
fn exchanged(list: &WireList<'_>, potential: usize) -> bool {
    let known = list.known(potential);
    let there = |flow: Flow, carries: Carries| {
        known.iter().any(|known| known.role.flow == flow && known.role.carries == carries)
    };
    there(Flow::Gives, Carries::Power) && there(Flow::Gives, Carries::Motor)
        || there(Flow::Takes, Carries::Power) && there(Flow::Takes, Carries::Motor)
}

fn nothing(list: &WireList<'_>, unit: usize, role: &TerminalRole, terminals: &[usize]) -> Diagnostic {
    let id = &list.job.units[unit].id;
    let name = &role.name.value;
    let (code, words, help) = match role.flow {
        Flow::Takes => (
            Code::WithoutFeed,
            format!("`{id}` has no feed at its {name}"),
            format!("list the wires that lead to the {name} of `{id}`"),
        ),
        Flow::Gives | Flow::Both => (
            Code::NothingConnected,
            format!("nothing is connected to the {name} of `{id}`"),
            format!("list the wires from the {name} of `{id}`"),
        ),
    };
    let problem = match terminals.first() {
        Some(&at) => list.at(code, at, words).why("its wires lead to nothing that belongs there"),
        None => list.at_unit(code, unit, words).why("no wire of the list ends there"),
    };
    problem.help(help)
}

/// A row of which only some legs are connected.
fn missing(
    list: &WireList<'_>,
    unit: usize,
    role: &TerminalRole,
    terminals: &[usize],
    reached: &[usize],
    problems: &mut Vec<Diagnostic>,
) {
    let Some(legs) = legs(&list.job.units[unit], role) else { return };
    if role.grouped {
        return;
    }
    let mark = |&at: &usize| {
        let named = list.terminals[at].named.as_ref();
        named
            .and_then(|named| named.pole.or(named.leg))
            .map_or_else(|| list.terminals[at].name.clone(), |n| n.to_string())
    };
    let there: BTreeSet<String> = reached.iter().map(mark).collect();
    if there.len() >= legs {
        return;
    }
    let id = &list.job.units[unit].id;
    let words =
        format!("only {} of {legs} legs are connected at the {} of `{id}`", there.len(), role.name.value);
    let open = terminals.iter().find(|at| !reached.contains(at));
    let problem = match open.or_else(|| reached.first()) {
        Some(&at) => list.at(Code::LegMissing, at, words),
        None => list.at_unit(Code::LegMissing, unit, words),
    };
    let why = match role.carries {
        Carries::Power | Carries::Motor => "on two of three legs a motor hums and burns, and a drive trips",
        _ => "with one wire alone no current flows",
    };
    problems.push(problem.why(why).help(format!("list the wires of all {legs}")));
}

/// How many legs the row of this unit has.
fn legs(unit: &Unit, role: &TerminalRole) -> Option<usize> {
    match role.legs.as_ref()? {
        Legs::Fixed(count) => Some(*count),
        Legs::By(key, counts) => {
            let value = match unit.nameplate.get(&key.value)? {
                Plate::Text(text) => text.clone(),
                Plate::Number(number) => number.to_string(),
            };
            counts.iter().find(|(name, _)| name.value == value).map(|(_, count)| *count)
        }
    }
}
