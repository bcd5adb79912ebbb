//! Who made a wire, against where its ends are: within one enclosure the shop, between two the field.

use super::super::list::WireList;
use crate::diagnostic::{Code, Diagnostic};
use crate::job::Made;

pub(super) fn check(list: &WireList<'_>, problems: &mut Vec<Diagnostic>) {
    for (_, wire, ends) in list.wires() {
        let [from, to] = ends.map(|end| &list.terminals[end]);
        let (same, made) = (from.at == to.at, wire.by);
        let part = !wire.through.is_empty();
        let words = match made {
            Made::Factory if !same => format!(
                "the wire from `{}` to `{}` leaves its enclosure and is marked as made by the factory",
                list.label(ends[0]),
                list.label(ends[1])
            ),
            // A jumper or resistor at a device on site is field work, and so is what is at the device itself.
            Made::Field if same && !part && from.at.is_panel() => format!(
                "the wire from `{}` to `{}` stays in the panel and is marked as made on site",
                list.label(ends[0]),
                list.label(ends[1])
            ),
            _ => continue,
        };
        let problem = match wire.spans {
            Some(spans) => Diagnostic::new(Code::MadeElsewhere, spans.by, words),
            None => Diagnostic::nowhere(Code::MadeElsewhere, words),
        };
        problems.push(
            problem.why("the check sheet lists what is made on site, each connection once").help(if same {
                "write `by: factory`"
            } else {
                "write `by: field`"
            }),
        );
    }
}
