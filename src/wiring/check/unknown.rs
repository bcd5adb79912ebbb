//! Terminals whose names say nothing that is known of their unit.

use super::super::list::WireList;
use crate::diagnostic::Code;
use crate::diagnostic::Diagnostic;

pub(super) fn check(list: &WireList<'_>, problems: &mut Vec<Diagnostic>) {
    for (at, terminal) in list.terminals.iter().enumerate() {
        let Some(unit) = list.unit(at).filter(|_| terminal.named.is_none()) else { continue };
        let Some(component) = list.component(unit).filter(|component| !component.terminals.is_empty()) else {
            continue;
        };
        let words = component.terminals.iter().flat_map(|role| &role.words).map(|word| &*word.value);
        let listed = unit.terminals.values().flatten().map(String::as_str);
        let valid: Vec<&str> = words.chain(listed).collect();
        let all: Vec<String> = component
            .terminals
            .iter()
            .filter(|role| !role.unclear)
            .map(|role| format!("`{}` ({})", role.id.value, role.name.value))
            .collect();
        // Compared without number or letter, as words are.
        let bare = terminal.name.trim_end_matches(|c: char| !c.is_alphabetic());
        let bare = bare.rsplit_once(' ').filter(|(_, last)| last.len() == 1).map_or(bare, |(first, _)| first);
        let message = format!("`{}` is no terminal of a `{}`", list.label(at), component.id.value);
        problems.push(
            list.at(Code::UnknownTerminal, at, message)
                .why(format!("its rows are {}", all.join(", ")))
                .help(format!(
                    "say at `{}` which row it is: `terminals: {{{}: [\"{}\"]}}`",
                    unit.id,
                    component.terminals.first().map_or("ROW", |role| &role.id.value),
                    terminal.name
                ))
                .nearest(bare, valid),
        );
    }
}
