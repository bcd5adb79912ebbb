//! Rows that belong to one other unit by the sheet's relations: the drive's own motor, its own feeder.

use std::collections::BTreeSet;

use super::super::list::WireList;
use super::Known;
use crate::diagnostic::{Code, Diagnostic, ENOUGH};
use crate::knowledge::Flow;

pub(super) fn check(list: &WireList<'_>, problems: &mut Vec<Diagnostic>) {
    for (unit, roles) in list.units() {
        let form = &list.job.units[unit];
        let mut told = BTreeSet::new();
        for (row, terminals) in list.rows(unit) {
            let role = &roles[row];
            let Some(relation) = &role.partner else { continue };
            let Some(partners) = form.relations.get(&relation.value).filter(|p| !p.is_empty()) else {
                continue;
            };
            let others = list.others(unit, &terminals);
            let ours = |other: &&Known<'_>| partners.contains(&list.job.units[other.unit].id);
            let right: BTreeSet<usize> =
                others.iter().filter(ours).map(|other| list.terminals[other.at].potential).collect();
            for other in &others {
                // More than anybody reads: each would be traced through the list.
                if problems.len() >= ENOUGH {
                    return;
                }
                let answers = other.role.carries == role.carries
                    && match role.flow {
                        Flow::Takes => other.role.flow == Flow::Gives,
                        Flow::Gives => other.role.flow == Flow::Takes,
                        Flow::Both => true,
                    };
                let id = &list.job.units[other.unit].id;
                // Two that feed one conductor are told as that.
                if !answers
                    || right.contains(&list.terminals[other.at].potential)
                    || !told.insert((row, other.unit))
                {
                    continue;
                }
                let here = terminals
                    .iter()
                    .copied()
                    .find(|&at| list.terminals[at].potential == list.terminals[other.at].potential);
                let Some(here) = here else { continue };
                let words = format!(
                    "the {} of `{}` leads to `{id}`, but its {} is `{}`",
                    role.name.value,
                    form.id,
                    relation.value,
                    partners.join("`, `")
                );
                let problem = list.between(Code::AgainstRelations, here, other.at, words);
                problems.push(
                    problem.why("the units say one thing and the wires another: one of them is wrong").help(
                        format!("correct the wire, or write `{}: {id}` at `{}`", relation.value, form.id),
                    ),
                );
            }
        }
    }
}
