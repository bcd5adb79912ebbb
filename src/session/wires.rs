//! The connections of the wire list: what was read of them, what is wrong by that, which causes it shows.
//!
//! In: the entries that stand. Out: the latest reading per connection, the walk through them, entries of causes seen.
//! Invariants: a later reading of a connection replaces an earlier one; the walk is complete only when every connection is
//! good; a connection that the list no longer has is passed over.

use super::event::{What, WireFound};
use super::log::Entry;
use super::prompt::{Walk, WireAsked, WireDeviation};
use crate::knowledge::Carries;
use crate::model::Model;
use crate::wiring::{Connection, Deviation, Reading, causes, deviations, ruled_out};

/// The latest reading of each connection.
pub(crate) fn readings(model: &Model, entries: &[Entry]) -> Vec<Reading> {
    let mut readings = vec![Reading::Unread; model.connections.len()];
    for entry in entries {
        take(&model.connections, &mut readings, &entry.what);
    }
    readings
}

/// Takes the event, where it is a reading of a connection that is there.
fn take(connections: &[Connection], readings: &mut [Reading], what: &What) {
    let What::WireRead { wire, found, .. } = what else { return };
    let position = |id: &str| connections.iter().position(|connection| connection.id == id);
    let Some(at) = position(wire) else { return };
    readings[at] = match found {
        WireFound::Good => Reading::Good,
        WireFound::Open => Reading::Open,
        WireFound::Missing => Reading::Missing,
        WireFound::At(other) => position(other).map_or(Reading::Open, Reading::At),
        WireFound::Joined(other) => position(other).map_or(Reading::Open, Reading::Joined),
    };
}

/// The entries as evidence: what the connections show stands as causes seen, present or absent.
pub(crate) fn evidence(model: &Model, entries: Vec<Entry>) -> Vec<Entry> {
    if !entries.iter().any(|entry| matches!(entry.what, What::WireRead { .. })) {
        return entries;
    }
    let connections = &model.connections;
    let mut readings = vec![Reading::Unread; connections.len()];
    let (mut present, mut absent): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
    let mut told = Vec::with_capacity(entries.len());
    let mut entries = entries.into_iter().peekable();
    while let Some(entry) = entries.next() {
        if !matches!(entry.what, What::WireRead { .. }) {
            told.push(entry);
            continue;
        }
        take(connections, &mut readings, &entry.what);
        // Readings one after the other are weighed together, at the last of them.
        if entries.peek().is_some_and(|next| matches!(next.what, What::WireRead { .. })) {
            continue;
        }
        let now = causes(connections, &deviations(connections, &readings));
        let mut gone = ruled_out(connections, &readings);
        // What was put right is gone, whether a good conductor alone would show that or not.
        gone.extend(present.iter().filter(|cause| !now.contains(cause)).cloned());
        gone.retain(|cause| !now.contains(cause));
        let seen = |cause: &String, present: bool| Entry {
            what: What::CauseSeen { cause: cause.clone(), present, words: String::new() },
            ..entry.clone()
        };
        told.extend(now.iter().filter(|cause| !present.contains(cause)).map(|cause| seen(cause, true)));
        told.extend(gone.iter().filter(|cause| !absent.contains(cause)).map(|cause| seen(cause, false)));
        (present, absent) = (now, gone);
    }
    told
}

/// A reading in words: the connection, what was found. `None`: the list no longer has it.
pub(crate) fn words(model: &Model, wire: &str, found: &WireFound) -> Option<(String, String)> {
    let connection = model.connections.iter().find(|connection| connection.id == wire)?;
    let number = |id: &String| {
        let other = model.connections.iter().find(|connection| connection.id == *id);
        other.map_or_else(|| id.clone(), |other| other.number.to_string())
    };
    let (near, far) = (connection.near.label(), connection.far.label());
    let text = match found {
        WireFound::Good => "good".to_owned(),
        WireFound::Open => "open".to_owned(),
        WireFound::Missing => "not there".to_owned(),
        WireFound::At(other) => format!("at the place of connection {}", number(other)),
        WireFound::Joined(other) => format!("joined to connection {}", number(other)),
    };
    Some((format!("Connection {}, {near} to {far}", connection.number), text))
}

/// What is expected at a connection, where the package says so.
pub(crate) fn expected<'a>(
    connection: &Connection,
    expects: &'a [(Option<Carries>, String)],
) -> Option<&'a str> {
    let kind = connection.carries.filter(|_| connection.through.is_empty());
    let known = connection.carries.is_some() || !connection.through.is_empty();
    expects.iter().find(|(carries, _)| known && *carries == kind).map(|(_, text)| text.as_str())
}

/// The walk through the connections as it stands; `None` where the job has no wire list.
pub(crate) fn walk(
    model: &Model,
    readings: &[Reading],
    expects: &[(Option<Carries>, String)],
) -> Option<Walk> {
    let connections = &model.connections;
    if connections.is_empty() {
        return None;
    }
    let at = |wanted: fn(&Reading) -> bool| readings.iter().position(wanted);
    let next = at(|reading| *reading == Reading::Unread).or_else(|| at(|reading| *reading != Reading::Good));
    let next = next.map(|at| {
        let connection = &connections[at];
        let expect = expected(connection, expects);
        let before = at.checked_sub(1).map(|before| expected(&connections[before], expects));
        WireAsked {
            connection: connection.clone(),
            expect: expect.unwrap_or_default().to_owned(),
            as_before: before == Some(expect) && readings[at] == Reading::Unread,
            again: readings[at] != Reading::Unread,
        }
    });
    Some(Walk {
        good: readings.iter().filter(|reading| **reading == Reading::Good).count(),
        of: connections.len(),
        next,
        wrong: wrong(model, readings),
    })
}

/// What is wrong by the readings.
pub(crate) fn wrong(model: &Model, readings: &[Reading]) -> Vec<WireDeviation> {
    let connections = &model.connections;
    let found = deviations(connections, readings);
    found.into_iter().map(|deviation| described(model, deviation)).collect()
}

fn described(model: &Model, deviation: Deviation) -> WireDeviation {
    let connections = &model.connections;
    let shown = causes(connections, std::slice::from_ref(&deviation));
    let names = shown.iter().filter_map(|id| model.ids.causes.get(id));
    let units = |id: &str| model.units.iter().find(|unit| unit.id == id).map(|unit| unit.name.clone());
    WireDeviation {
        wires: deviation.connections().into_iter().map(|at| connections[at].clone()).collect(),
        causes: names.map(|cause| model.causes[cause.at()].name.clone()).collect(),
        unit: match &deviation {
            Deviation::SidesExchanged(_, _, unit) | Deviation::SidesMisplaced(_, _, unit) => {
                units(unit).unwrap_or_else(|| unit.clone())
            }
            _ => String::new(),
        },
        danger: if deviation.is_dangerous() {
            model
                .procedure
                .steps
                .iter()
                .map(|step| step.danger.clone())
                .find(|text| !text.is_empty())
                .unwrap_or_default()
        } else {
            String::new()
        },
        deviation,
    }
}
