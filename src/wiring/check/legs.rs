//! Legs of one row: two on one conductor, or in another order than those that feed them.

use std::collections::{BTreeMap, BTreeSet};

use super::super::list::WireList;
use crate::diagnostic::{Code, Diagnostic, ENOUGH};
use crate::knowledge::{Carries, Flow};

pub(super) fn check(list: &WireList<'_>, problems: &mut Vec<Diagnostic>) {
    for known in list.potentials_known() {
        for (at, one) in known.iter().enumerate() {
            for other in &known[at + 1..] {
                let row = one.unit == other.unit && one.role.id.value == other.role.id.value;
                let free = matches!(one.role.carries, Carries::Earth | Carries::Shield);
                if problems.len() >= ENOUGH {
                    return;
                }
                if !row || free || !different(list, one.at, other.at) {
                    continue;
                }
                let (a, b) = (list.label(one.at), list.label(other.at));
                let words = format!("`{a}` and `{b}` are on one conductor");
                let problem = list.between(Code::LegsJoined, other.at, one.at, words);
                let why = match one.role.carries {
                    Carries::Contact => "the loop would be bridged, so that its contact is not seen",
                    Carries::Power | Carries::Motor => {
                        "two legs joined are a short circuit, or one leg is missing"
                    }
                    _ => "its two ends would be shorted",
                };
                problems.push(problem.why(why).help("give each leg its own conductor"));
            }
        }
    }
    order(list, problems);
}

/// Whether two terminals of one row are different legs, poles or channels.
fn different(list: &WireList<'_>, one: usize, other: usize) -> bool {
    let (Some(one), Some(other)) = (&list.terminals[one].named, &list.terminals[other].named) else {
        return false;
    };
    match (one.pole, other.pole) {
        // The commons of several channels may be joined.
        (Some(a), Some(b)) => a != b,
        _ if one.group.is_some() || other.group.is_some() => one.group == other.group && one.leg != other.leg,
        _ => one.leg.is_some() && other.leg.is_some() && one.leg != other.leg,
    }
}

/// Three legs that are fed in another order.
fn order(list: &WireList<'_>, problems: &mut Vec<Diagnostic>) {
    for (unit, roles) in list.units() {
        for (row, terminals) in list.rows(unit) {
            let role = &roles[row];
            let wanted = role.flow == Flow::Takes && matches!(role.carries, Carries::Power | Carries::Motor);
            if !wanted || terminals.len() < 3 {
                continue;
            }
            let mut fed: BTreeMap<usize, Vec<(usize, usize, usize)>> = BTreeMap::new();
            for &at in &terminals {
                let leg = list.terminals[at].named.as_ref().and_then(|named| named.leg);
                for giving in list.others(unit, &[at]) {
                    let named = list.terminals[giving.at].named.as_ref();
                    let same = giving.role.flow == Flow::Gives && giving.role.carries == role.carries;
                    if let (true, Some(leg), Some(of)) = (same, leg, named.and_then(|named| named.leg)) {
                        fed.entry(giving.unit).or_default().push((leg, of, at));
                    }
                }
            }
            for (feeding, mut legs) in fed {
                legs.sort_unstable();
                let of: BTreeSet<usize> = legs.iter().map(|leg| leg.1).collect();
                if of.len() < legs.len() {
                    continue;
                }
                let Some(&(_, _, at)) = legs.iter().find(|(leg, of, _)| leg != of) else { continue };
                let feeding = &list.job.units[feeding].id;
                let words = format!(
                    "the legs of `{}` are in another order at its {} than at `{feeding}`",
                    list.job.units[unit].id, role.name.value
                );
                let why = match role.carries {
                    Carries::Motor => "a three-phase motor turns the other way when two legs are exchanged",
                    _ => "a conductor that changes its place is the hardest to check by colour",
                };
                let problem = list.at(Code::LegOrder, at, words);
                problems.push(
                    problem.why(why).help("land leg 1 on 1, 2 on 2, 3 on 3, and set the direction once"),
                );
            }
        }
    }
}
