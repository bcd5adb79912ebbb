//! How many units are connected to a row, against the nameplate.

use std::collections::BTreeSet;

use super::super::list::WireList;
use crate::diagnostic::{Code, Diagnostic};
use crate::job::Plate;

pub(super) fn check(list: &WireList<'_>, problems: &mut Vec<Diagnostic>) {
    for (unit, roles) in list.units() {
        let rows = list.rows(unit);
        for (row, role) in roles.iter().enumerate() {
            let Some(key) = &role.count else { continue };
            let form = &list.job.units[unit];
            let Some(Plate::Number(wanted)) = form.nameplate.get(&key.value) else { continue };
            let terminals = rows.get(&row).map_or(&[][..], Vec::as_slice);
            let others = list.others(unit, terminals);
            let same = others.iter().filter(|other| other.role.carries == role.carries);
            let units: BTreeSet<usize> = same.map(|other| other.unit).collect();
            let count = units.len();
            // Counts are small whole numbers.
            if (count as f64 - wanted).abs() < 0.5 {
                continue;
            }
            let words = format!(
                "{count} units are on the {} of `{}`, but its nameplate says `{}: {wanted}`",
                role.name.value, form.id, key.value
            );
            let ids: Vec<String> = units.iter().map(|&at| format!("`{}`", list.job.units[at].id)).collect();
            let mut problem = list.at_unit(Code::CountDiffers, unit, words);
            if let Some(&at) = terminals.first()
                && let Some(span) = list.terminals[at].span
            {
                problem = problem.also_at(span, "the first of this row");
            }
            problem = if ids.is_empty() {
                problem.why("none is connected in the list")
            } else {
                problem.why(format!("connected are {}", ids.join(", ")))
            };
            problems.push(
                problem.help("correct the list or the nameplate: what is programmed follows the drawing"),
            );
        }
    }
}
