//! Voltages: what a unit is made for, against what feeds it.

use super::super::list::WireList;
use super::Known;
use crate::diagnostic::{Code, Diagnostic};
use crate::job::Plate;
use crate::knowledge::Flow;

/// How far a nameplate may be from the voltage that feeds it: 480 V feeds a 460 V motor, 208 V a 230 V one no longer
/// well. Judgement; utilization ranges are about as wide (from memory of ANSI C84.1).
const WITHIN: f64 = 0.15;

pub(super) fn check(list: &WireList<'_>, problems: &mut Vec<Diagnostic>) {
    for known in list.potentials_known() {
        let giving = known.iter().filter(|known| known.role.flow == Flow::Gives);
        for (from, given) in giving.filter_map(|known| Some((known, volts(list, known)?))) {
            for to in
                known.iter().filter(|to| to.role.flow == Flow::Takes && to.role.carries == from.role.carries)
            {
                let Some(made_for) = volts(list, to) else { continue };
                if (given / made_for - 1.0).abs() <= WITHIN {
                    continue;
                }
                let (unit, feeding) = (&list.job.units[to.unit].id, &list.job.units[from.unit].id);
                let words = format!(
                    "`{unit}` is made for {made_for} V at its {}, and `{feeding}` gives {given} V",
                    to.role.name.value
                );
                let problem = list.between(Code::VoltsDiffer, to.at, from.at, words);
                problems.push(
                    problem
                        .why("too much destroys coils and boards, too little lets them chatter or overheat")
                        .help("correct the wire, the tap or the nameplate"),
                );
            }
        }
    }
}

fn volts(list: &WireList<'_>, known: &Known<'_>) -> Option<f64> {
    let key = known.role.volts.as_ref()?;
    match list.job.units[known.unit].nameplate.get(&key.value)? {
        Plate::Number(volts) => Some(*volts),
        Plate::Text(_) => None,
    }
}
