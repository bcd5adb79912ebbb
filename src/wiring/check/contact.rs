//! Contacts, described by when they are closed: the right one in each loop, and none that says only what its rest is.

use super::super::list::WireList;
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::Carries;

pub(super) fn check(list: &WireList<'_>, problems: &mut Vec<Diagnostic>) {
    for (at, _) in list.terminals.iter().enumerate() {
        let Some(role) = list.role(at).filter(|role| role.unclear) else { continue };
        let rows = list.unit(at).and_then(|unit| list.component(unit)).map(|c| &c.terminals);
        let closed = rows.into_iter().flatten().filter_map(|role| role.closed_when.as_ref());
        let closed: Vec<String> = closed.map(|when| format!("`closed when {}`", when.value)).collect();
        let words = format!("`{}` does not say when this contact is closed", list.label(at));
        let mut problem = list.at(Code::ContactUnclear, at, words).why(format!(
            "{}: at rest on the shelf, or with the system armed? The two are opposite",
            role.name.value
        ));
        if !closed.is_empty() {
            problem =
                problem.help(format!("name the terminal by when it is closed: {}", closed.join(" or ")));
        }
        problems.push(problem);
    }
    for known in list.potentials_known() {
        for loops in known.iter().filter(|known| known.role.carries == Carries::Contact) {
            let Some(wants) = &loops.role.wants else { continue };
            for contact in &known {
                let Some(closed) = contact.role.closed_when.as_ref().filter(|when| when.value != wants.value)
                else {
                    continue;
                };
                let words = format!(
                    "`{}` is a contact closed when {}, in a loop that wants one closed when {}",
                    list.label(contact.at),
                    closed.value,
                    wants.value
                );
                let problem = list.between(Code::ContactInWrongLoop, contact.at, loops.at, words);
                problems.push(
                    problem
                        .why("it says the opposite of what it should, and would say that all is well in the real event")
                        .help(format!("land the loop on the contact that is closed when {}", wants.value)),
                );
            }
        }
    }
}
