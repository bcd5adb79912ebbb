//! The connections that are made on site, each once, in the order of the check sheet.
//!
//! In: a [`WireList`]. Out: [`Connection`]s, numbered from 1: by the enclosure of their near end, the panel first, then by
//! that of their far end, then as the list has them. Invariant: every wire that is made on site is one connection, and no
//! other wire is.

use super::list::WireList;
use super::whereabouts::Whereabouts;
use crate::job::Job;
use crate::knowledge::{Carries, Flow, Knowledge, Wrong};

/// One end of a connection.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct End {
    /// The device: a unit, or a terminal strip.
    pub device: String,
    /// Its name for people; its label where it has none.
    pub name: String,
    /// The terminal, as the sheet has it.
    pub terminal: String,
    /// The row of the terminal, by name; empty where nothing is known of it.
    pub row: String,
    /// Where it is.
    pub at: Whereabouts,
    /// The enclosure by name; empty where it is at the unit itself.
    pub enclosure: String,
    /// The place by name.
    pub place: String,
    /// Who works at this end, by name, where the package says so.
    pub by: String,
}

impl End {
    /// Where it is, for people: `the control panel`, `the drive's own enclosure of VFD-3 (on the roof)`.
    #[must_use]
    pub fn place(&self) -> String {
        let beside = if self.at.is_panel() || self.place.is_empty() {
            String::new()
        } else {
            format!(" ({})", self.place)
        };
        match &self.at.unit {
            Some(unit) if self.enclosure.is_empty() => format!("{unit}{beside}"),
            Some(unit) => format!("{} of {unit}{beside}", self.enclosure),
            None => format!("{}{beside}", self.enclosure),
        }
    }

    /// The device with its name for people: `VFD-3 (drive of the broiler fan)`.
    #[must_use]
    pub fn device_name(&self) -> String {
        if self.name == self.device {
            self.device.clone()
        } else {
            format!("{} ({})", self.device, self.name)
        }
    }

    /// `DEVICE:TERMINAL`.
    #[must_use]
    pub fn label(&self) -> String {
        format!("{}:{}", self.device, self.terminal)
    }
}

/// On which side of a drive or starter a conductor is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Side {
    Supply,
    Motor,
}

/// A unit to one side of which a connection leads, perhaps by way of a strip.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct AtSide {
    pub(crate) unit: String,
    pub(crate) side: Side,
    /// What exchanged sides are there: a cause of the unit's component; empty where the package does not say.
    pub(crate) cause: String,
}

/// A connection that is made on site.
#[derive(Clone, PartialEq, Debug)]
pub struct Connection {
    /// Its number on the check sheet, from 1.
    pub number: usize,
    /// `FROM>TO`, by which events name it.
    pub id: String,
    /// The near end: in the panel, where one of them is.
    pub near: End,
    /// The far end.
    pub far: End,
    /// The conductor, in words.
    pub conductor: String,
    /// Its ends, or those of its pair, may not be exchanged.
    pub polarity_sensitive: bool,
    /// A part that stands between its ends, so that they are not joined.
    pub through: String,
    /// What it carries, where that is known.
    pub carries: Option<Carries>,
    /// The other connections that end at the same rows: a neighbour is what it is exchanged with first.
    pub neighbours: Vec<usize>,
    /// The sides of drives and starters that it leads to.
    pub(crate) sides: Vec<AtSide>,
    /// The rows of its ends, by unit and row: those of the far end first.
    pub(crate) rows: Vec<Row>,
}

/// The row of an end, and what a wrong connection there is.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Row {
    pub(crate) unit: String,
    pub(crate) role: String,
    pub(crate) poled: bool,
    /// Cause names of the unit's component.
    pub(crate) found: Vec<(Wrong, String)>,
}

/// The connections of a job that are made on site.
#[must_use]
pub fn connections(knowledge: &Knowledge, job: &Job) -> Vec<Connection> {
    let list = WireList::new(knowledge, job);
    let mut all: Vec<Connection> =
        list.field_wires().map(|(at, _, ends)| connection(&list, at, ends)).collect();
    let mut order: Vec<Whereabouts> = vec![Whereabouts::panel()];
    for connection in &all {
        for at in [&connection.near.at, &connection.far.at] {
            if !order.contains(at) {
                order.push(at.clone());
            }
        }
    }
    let place = |at: &Whereabouts| order.iter().position(|known| known == at);
    // Stable: the order of the list within one pair of enclosures.
    all.sort_by_key(|connection| (place(&connection.near.at), place(&connection.far.at)));
    let rows: Vec<Vec<Row>> = all.iter().map(|connection| connection.rows.clone()).collect();
    for (at, connection) in all.iter_mut().enumerate() {
        connection.number = at + 1;
        let near = |other: &usize| {
            *other != at
                && rows[*other]
                    .iter()
                    .any(|row| rows[at].iter().any(|own| row.unit == own.unit && row.role == own.role))
        };
        connection.neighbours = (0..rows.len()).filter(near).map(|other| other + 1).collect();
    }
    all
}

fn connection(list: &WireList<'_>, wire: usize, ends: [usize; 2]) -> Connection {
    let form = &list.job.wires[wire];
    let panel = |end: usize| list.terminals[end].at.is_panel();
    let [near, far] = if panel(ends[1]) && !panel(ends[0]) { [ends[1], ends[0]] } else { ends };
    let potential = list.terminals[near].potential;
    let mut sides = Vec::new();
    for known in list.known(potential).iter().filter(|_| form.through.is_empty()) {
        let side = match (known.role.flow, known.role.carries) {
            (Flow::Takes, Carries::Power) => Side::Supply,
            (Flow::Gives, Carries::Motor) => Side::Motor,
            _ => continue,
        };
        let cause = known.role.found.iter().find(|(wrong, _)| wrong.value == Wrong::Sides);
        sides.push(AtSide {
            unit: list.job.units[known.unit].id.clone(),
            side,
            cause: cause.map_or_else(String::new, |(_, cause)| cause.value.clone()),
        });
    }
    let row = |end: usize| {
        let role = list.role(end)?;
        Some(Row {
            unit: list.unit(end)?.id.clone(),
            role: role.id.value.clone(),
            poled: role.poles.is_some(),
            found: role.found.iter().map(|(wrong, cause)| (wrong.value, cause.value.clone())).collect(),
        })
    };
    Connection {
        number: 0,
        id: format!("{}>{}", list.label(ends[0]), list.label(ends[1])),
        near: end(list, near),
        far: end(list, far),
        conductor: form.conductor.clone(),
        polarity_sensitive: form.polarity_sensitive,
        through: form.through.clone(),
        carries: carries(list, [near, far], potential),
        neighbours: Vec::new(),
        sides,
        rows: [far, near].into_iter().filter_map(row).collect(),
    }
}

/// What a connection carries: by its own ends, a shield before the earth that it is landed on; else by what it leads to.
fn carries(list: &WireList<'_>, ends: [usize; 2], potential: usize) -> Option<Carries> {
    let own: Vec<Carries> =
        ends.into_iter().filter_map(|end| list.role(end)).map(|role| role.carries).collect();
    let shield = own.iter().find(|carries| **carries == Carries::Shield);
    shield.or_else(|| own.first()).copied().or_else(|| list.carries(potential))
}

fn end(list: &WireList<'_>, at: usize) -> End {
    let terminal = &list.terminals[at];
    let strip = list.job.strips.iter().find(|strip| strip.id == terminal.device).map(|strip| &strip.name);
    let name = list.unit(at).map(|unit| &unit.name).or(strip).filter(|name| !name.is_empty());
    End {
        device: terminal.device.clone(),
        name: name.unwrap_or(&terminal.device).clone(),
        terminal: terminal.name.clone(),
        row: list.role(at).map_or_else(String::new, |role| role.name.value.clone()),
        by: list.role(at).and_then(|role| role.by.as_ref()).map_or_else(String::new, |by| {
            let known = list.knowledge.practice.competences.iter().find(|known| known.id.value == by.value);
            known.map_or(&by.value, |known| &known.name.value).clone()
        }),
        enclosure: terminal.at.enclosure.as_deref().map_or_else(String::new, |id| {
            let known = list.knowledge.practice.enclosures.iter().find(|known| known.id.value == *id);
            known.map_or(id, |known| &known.name.value).to_owned()
        }),
        place: {
            let id = terminal.at.place.as_str();
            let known = list.knowledge.practice.places.iter().find(|known| known.id.value == id);
            known.map_or(id, |known| &known.name.value).to_owned()
        },
        at: terminal.at.clone(),
    }
}
