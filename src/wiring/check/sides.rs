//! What must never be joined on the power side: two supplies, supply and motor side, motor conductors and supply.

use super::super::list::WireList;
use super::Known;
use crate::diagnostic::{Code, Diagnostic, ENOUGH};
use crate::knowledge::{Carries, Flow};

pub(super) fn check(list: &WireList<'_>, problems: &mut Vec<Diagnostic>) {
    for known in list.potentials_known() {
        let pairs = known
            .iter()
            .enumerate()
            .flat_map(|(at, one)| known[at + 1..].iter().filter_map(move |other| pair(list, one, other)));
        let pairs: Vec<Diagnostic> = pairs.take(ENOUGH).collect();
        // Where both sides of one unit are joined, everything else follows from that.
        let joined = pairs.iter().any(|problem| problem.code == Code::SidesJoined);
        problems.extend(pairs.into_iter().filter(|problem| !joined || problem.code == Code::SidesJoined));
    }
}

fn is(known: &Known<'_>, flow: Flow, carries: Carries) -> bool {
    known.role.flow == flow && known.role.carries == carries
}

fn supplies(known: &Known<'_>) -> bool {
    known.role.flow == Flow::Gives
        && matches!(known.role.carries, Carries::Power | Carries::Control | Carries::Direct)
}

fn pair(list: &WireList<'_>, one: &Known<'_>, other: &Known<'_>) -> Option<Diagnostic> {
    let motor_side = |known: &Known<'_>| is(known, Flow::Gives, Carries::Motor);
    let supply_side = |known: &Known<'_>| is(known, Flow::Takes, Carries::Power);
    let ordered = |first: &dyn Fn(&Known<'_>) -> bool, second: &dyn Fn(&Known<'_>) -> bool| {
        if first(one) && second(other) {
            Some((one.at, other.at))
        } else if first(other) && second(one) {
            Some((other.at, one.at))
        } else {
            None
        }
    };
    if one.unit == other.unit {
        let (a, b) = ordered(&motor_side, &supply_side)?;
        let id = &list.job.units[one.unit].id;
        let words = format!("`{}` joins the motor side of `{id}` to its supply side", list.label(a));
        let problem = list.between(Code::SidesJoined, a, b, words);
        return Some(
            problem
                .why("the supply would reach the output of the drive or pass the starter by")
                .help("land the supply on the supply side alone, and the motor on the motor side alone"),
        );
    }
    if let Some((a, b)) = ordered(&motor_side, &supplies) {
        let words = format!(
            "the supply `{}` is on the motor side of `{}`",
            list.label(b),
            list.job.units[list.terminals[a].unit?].id
        );
        let problem = list.between(Code::SupplyOnMotorSide, a, b, words);
        return Some(
            problem
                .why("supply on the motor terminals destroys a drive as soon as it is energised")
                .help("exchange supply and motor conductors at this unit"),
        );
    }
    let motor_lead = |known: &Known<'_>| is(known, Flow::Takes, Carries::Motor);
    if let Some((a, b)) = ordered(&motor_lead, &supply_side) {
        // Only beside a unit that has a motor side: the motor belongs there.
        let unit = list.terminals[b].unit?;
        let roles = &list.component(&list.job.units[unit])?.terminals;
        if roles.iter().any(|role| role.flow == Flow::Gives && role.carries == Carries::Motor) {
            let id = &list.job.units[unit].id;
            let words = format!("the motor conductor of `{}` is on the supply side of `{id}`", list.label(a));
            let problem = list.between(Code::MotorOnSupplySide, a, b, words);
            return Some(
                problem
                    .why("the motor would run across the line, or the supply would reach the output")
                    .help(format!("land it on the motor side of `{id}`")),
            );
        }
        return None;
    }
    if supplies(one) && supplies(other) || motor_side(one) && motor_side(other) {
        let words =
            format!("`{}` and `{}` both feed one conductor", list.label(one.at), list.label(other.at));
        let problem = list.between(Code::TwoSupplies, one.at, other.at, words);
        return Some(
            problem
                .why(
                    "two supplies on one terminal feed back into each other, and one switched off stays live",
                )
                .help("give each its own terminal, or take one of the wires out"),
        );
    }
    None
}
