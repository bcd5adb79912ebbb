//! What continuity readings say of the connections: missing, open, exchanged, crossed, joined.
//!
//! In: one [`Reading`] per connection, the latest word on it. Out: [`Deviation`]s. A conductor that is found at the place of
//! another one is a step of a permutation: two that are found at each other's place are an exchanged pair, several that lead
//! round are turned on, one that leads nowhere back is misplaced. Invariants: a deviation is told once; every connection
//! without a good reading is unread or in a deviation.

use super::connection::{Connection, Row, Side};
use crate::knowledge::Wrong;

/// The latest word on a connection.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Reading {
    /// Nobody has read it.
    #[default]
    Unread,
    /// Continuity from end to end, and to nothing else.
    Good,
    /// No continuity.
    Open,
    /// There is no conductor.
    Missing,
    /// Its conductor is found at the place of that connection (its position).
    At(usize),
    /// Good, but joined to that connection as well.
    Joined(usize),
}

/// What is wrong, as the readings have it. Numbers are positions in the list of connections.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Deviation {
    /// No continuity.
    Open(usize),
    /// No conductor.
    Missing(usize),
    /// Two conductors are at each other's place.
    Exchanged(usize, usize),
    /// A supply conductor and a motor conductor of this unit are at each other's place.
    SidesExchanged(usize, usize, String),
    /// Three or more are each at the place of the next.
    TurnedOn(Vec<usize>),
    /// The first is at the place of the second, whose own conductor is not at the place of the first.
    Misplaced(usize, usize),
    /// A conductor of the supply side and the motor side of this unit: misplaced from one to the other.
    SidesMisplaced(usize, usize, String),
    /// Two are joined.
    Joined(usize, usize),
}

impl Deviation {
    /// The connections that it concerns.
    #[must_use]
    pub fn connections(&self) -> Vec<usize> {
        match self {
            Self::Open(at) | Self::Missing(at) => vec![*at],
            Self::Exchanged(a, b)
            | Self::SidesExchanged(a, b, _)
            | Self::Misplaced(a, b)
            | Self::SidesMisplaced(a, b, _)
            | Self::Joined(a, b) => vec![*a, *b],
            Self::TurnedOn(all) => all.clone(),
        }
    }

    /// Whether voltage on it destroys something: supply on the motor side.
    #[must_use]
    pub const fn is_dangerous(&self) -> bool {
        matches!(self, Self::SidesExchanged(..) | Self::SidesMisplaced(..))
    }
}

/// The deviations that these readings show, by the connection that comes first. Cost: linear.
#[must_use]
pub fn deviations(connections: &[Connection], readings: &[Reading]) -> Vec<Deviation> {
    let reading = |at: usize| readings.get(at).copied().unwrap_or_default();
    let goes_to = |at: usize| match reading(at) {
        Reading::At(to) if to < connections.len() && to != at => Some(to),
        _ => None,
    };
    let mut found = Vec::new();
    let mut told = vec![false; connections.len()];
    for at in 0..connections.len() {
        if told[at] {
            continue;
        }
        let deviation = match reading(at) {
            Reading::Open => Deviation::Open(at),
            Reading::Missing => Deviation::Missing(at),
            Reading::Joined(to) if to < connections.len() && to != at => {
                // Said from both ends, told once.
                if reading(to) == Reading::Joined(at) {
                    told[to] = true;
                }
                Deviation::Joined(at, to)
            }
            Reading::At(to) if to < connections.len() && to != at => {
                let ring = ring(at, &goes_to);
                for &member in &ring {
                    told[member] = true;
                }
                match ring.as_slice() {
                    [a, b] => match sides(connections, *a, *b) {
                        Some(unit) => Deviation::SidesExchanged(*a, *b, unit),
                        None => Deviation::Exchanged(*a, *b),
                    },
                    [] => match sides(connections, at, to) {
                        Some(unit) => Deviation::SidesMisplaced(at, to, unit),
                        None => Deviation::Misplaced(at, to),
                    },
                    _ => Deviation::TurnedOn(ring),
                }
            }
            // What leads to no other connection is no continuity where it belongs.
            Reading::At(_) => Deviation::Open(at),
            Reading::Unread | Reading::Good | Reading::Joined(_) => continue,
        };
        told[at] = true;
        found.push(deviation);
    }
    found
}

/// The ring that leads from `at` back to it; empty where it does not.
fn ring(at: usize, goes_to: &impl Fn(usize) -> Option<usize>) -> Vec<usize> {
    let mut ring = vec![at];
    let mut next = goes_to(at);
    while let Some(here) = next {
        if here == at {
            return ring;
        }
        if ring.contains(&here) {
            break;
        }
        ring.push(here);
        next = goes_to(here);
    }
    Vec::new()
}

/// The unit of which one conductor is on the supply side and the other on the motor side.
fn sides(connections: &[Connection], a: usize, b: usize) -> Option<String> {
    let on = |at: usize, side: Side| connections[at].sides.iter().filter(move |own| own.side == side);
    let meet = |supply: usize, motor: usize| {
        on(supply, Side::Supply).find(|own| on(motor, Side::Motor).any(|other| other.unit == own.unit))
    };
    meet(a, b).or_else(|| meet(b, a)).map(|own| own.unit.clone())
}

/// The causes that deviations are, as `unit/cause`, by what the rows of the connections say.
#[must_use]
pub fn causes(connections: &[Connection], deviations: &[Deviation]) -> Vec<String> {
    let mut causes: Vec<String> = Vec::new();
    for deviation in deviations {
        for cause in causes_of(connections, deviation) {
            if !causes.contains(&cause) {
                causes.push(cause);
            }
        }
    }
    causes
}

fn causes_of(connections: &[Connection], deviation: &Deviation) -> Vec<String> {
    let first = |at: usize, wrong: Wrong| {
        let mut causes = connections[at].rows.iter().flat_map(|row| {
            row.found.iter().filter(|found| found.0 == wrong).map(|found| format!("{}/{}", row.unit, found.1))
        });
        causes.next()
    };
    match deviation {
        Deviation::Open(at) | Deviation::Missing(at) => first(*at, Wrong::Open).into_iter().collect(),
        Deviation::Joined(a, b) => {
            first(*a, Wrong::Joined).or_else(|| first(*b, Wrong::Joined)).into_iter().collect()
        }
        Deviation::SidesExchanged(a, b, unit) | Deviation::SidesMisplaced(a, b, unit) => {
            let sides = [*a, *b].into_iter().flat_map(|at| &connections[at].sides);
            let own = sides.filter(|own| own.unit == *unit && !own.cause.is_empty()).take(1);
            own.map(|own| format!("{unit}/{}", own.cause)).collect()
        }
        Deviation::Exchanged(a, b) => {
            in_a_row(connections, *a, *b).unwrap_or_else(|| crossed(connections, &[*a, *b]))
        }
        Deviation::Misplaced(a, _) => crossed(connections, &[*a]),
        Deviation::TurnedOn(all) => crossed(connections, all),
    }
}

/// Of two that end at one row of one unit: what exchanged conductors are there; nothing where they are alike at both ends.
/// `None`: they belong to different units.
fn in_a_row(connections: &[Connection], a: usize, b: usize) -> Option<Vec<String>> {
    let same =
        |row: &&Row| connections[b].rows.iter().any(|other| other.unit == row.unit && other.role == row.role);
    let rows = &connections[a].rows;
    let shared: Vec<&Row> = rows.iter().filter(same).collect();
    let cause = shared.iter().find_map(|row| {
        let found = row.found.iter().find(|found| found.0 == Wrong::Exchanged)?;
        Some(format!("{}/{}", row.unit, found.1))
    });
    match cause {
        Some(cause) => Some(vec![cause]),
        None if !shared.is_empty() && shared.len() == rows.len() => Some(Vec::new()),
        None => None,
    }
}

fn crossed(connections: &[Connection], all: &[usize]) -> Vec<String> {
    let mut causes = Vec::new();
    for row in all.iter().flat_map(|&at| &connections[at].rows) {
        for found in row.found.iter().filter(|found| found.0 == Wrong::Crossed) {
            let cause = format!("{}/{}", row.unit, found.1);
            if !causes.contains(&cause) {
                causes.push(cause);
            }
        }
    }
    causes
}

/// The causes that cannot be there once these connections are good: of which every connection that could show them is.
///
/// Only what is a matter of where conductors are landed: exchanged sides, exchanged poles, crossed places. A good conductor
/// does not rule out an open fuse behind it, nor exchanged legs: continuity shows which conductor it is, not in which order
/// the unit behind it wants them.
#[must_use]
pub fn ruled_out(connections: &[Connection], readings: &[Reading]) -> Vec<String> {
    let mut causes: Vec<(String, bool)> = Vec::new();
    for (at, connection) in connections.iter().enumerate() {
        let good = readings.get(at) == Some(&Reading::Good);
        let rows = connection.rows.iter().flat_map(|row| {
            let landed = row
                .found
                .iter()
                .filter(|(wrong, _)| *wrong == Wrong::Crossed || *wrong == Wrong::Exchanged && row.poled);
            landed.map(|(_, cause)| format!("{}/{cause}", row.unit))
        });
        let sides = connection.sides.iter().filter(|own| !own.cause.is_empty());
        for cause in rows.chain(sides.map(|own| format!("{}/{}", own.unit, own.cause))) {
            match causes.iter_mut().find(|(known, _)| *known == cause) {
                Some((_, all)) => *all &= good,
                None => causes.push((cause, good)),
            }
        }
    }
    causes.into_iter().filter(|(_, all)| *all).map(|(cause, _)| cause).collect()
}
