//! Connections of the wire list and what is wrong with them, in words.

use super::clean::clean;
use crate::session::prompt::WireDeviation;
use crate::wiring::{Connection, Deviation, End};

/// Both ends, with the names of their devices.
#[must_use]
pub fn wire_ends(connection: &Connection) -> String {
    format!("{} to {}", end(&connection.near), end(&connection.far))
}

fn end(end: &End) -> String {
    let label = clean(&end.label()).into_owned();
    if end.name == end.device { label } else { format!("{label} ({})", clean(&end.name)) }
}

/// Both terminals and what goes with the connection, in a line.
#[must_use]
pub fn wire_row(connection: &Connection) -> String {
    let mut parts = vec![format!("{} to {}", connection.near.label(), connection.far.label())];
    parts.extend(wire_notes(connection));
    clean(&parts.join("; ")).into_owned()
}

/// Conductor, part between the ends, polarity.
#[must_use]
pub fn wire_notes(connection: &Connection) -> Vec<String> {
    let mut parts = Vec::new();
    if !connection.conductor.is_empty() {
        parts.push(connection.conductor.clone());
    }
    if !connection.through.is_empty() {
        parts.push(format!("through: {}", connection.through));
    }
    if connection.polarity_sensitive {
        parts.push("ends may not be exchanged".to_owned());
    }
    for end in [&connection.near, &connection.far].into_iter().filter(|end| !end.by.is_empty()) {
        parts.push(format!("at {}: {}", end.device, end.by));
    }
    parts
}

/// What is wrong, in a sentence.
#[must_use]
pub fn deviation_text(wrong: &WireDeviation) -> String {
    let number = |at: usize| wrong.wires.get(at).map_or(0, |wire| wire.number);
    let label = |at: usize| {
        wrong.wires.get(at).map_or_else(String::new, |wire| {
            clean(&format!("{}, {} to {}", wire.number, wire.near.label(), wire.far.label())).into_owned()
        })
    };
    match &wrong.deviation {
        Deviation::Open(_) => format!("Open: {}", label(0)),
        Deviation::Missing(_) => format!("Not there: {}", label(0)),
        Deviation::Exchanged(..) => format!("Exchanged pair: {}, and {}", label(0), label(1)),
        Deviation::SidesExchanged(..) => format!(
            "Supply and motor conductors of {} are exchanged: {}, and {}",
            clean(&wrong.unit),
            label(0),
            label(1)
        ),
        Deviation::TurnedOn(all) => {
            let numbers: Vec<String> = (0..all.len()).map(|at| number(at).to_string()).collect();
            format!("Turned on by one: {}", numbers.join(" at "))
        }
        Deviation::Misplaced(..) => format!(
            "Crossed: the conductor of {} is at the place of {}; read {} as well",
            label(0),
            label(1),
            number(1)
        ),
        Deviation::SidesMisplaced(..) => format!(
            "Crossed between supply and motor side of {}: the conductor of {} is at the place of {}",
            clean(&wrong.unit),
            label(0),
            label(1)
        ),
        Deviation::Joined(..) => format!("Joined: {}, and {}", label(0), label(1)),
    }
}
