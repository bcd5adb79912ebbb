//! The terminals of a kind of unit: which rows it has, by which words a drawing names them, what may be joined to them.
//!
//! In: `terminals` of a component. Out: roles, against which the wire list of a job is checked. Invariant: a role speaks
//! of what a terminal is for, in the trade's words; no maker's numbering is in it.

use super::{Name, Text};
use crate::source::Spanned;

/// What flows over a terminal.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Carries {
    /// The supply: line voltage from a feeder.
    Power,
    /// What a drive or starter gives to its motor.
    Motor,
    /// Alternating control voltage.
    Control,
    /// Direct-current control voltage.
    Direct,
    /// An analog signal.
    Signal,
    /// A data pair.
    Bus,
    /// A sensor pair.
    Sensor,
    /// A dry contact, or the loop that reads one.
    Contact,
    /// Earth.
    Earth,
    /// The shield of a cable.
    Shield,
}

impl Carries {
    /// Every one, by the word that a package uses.
    pub const ALL: [(&'static str, Self); 10] = [
        ("power", Self::Power),
        ("motor", Self::Motor),
        ("control", Self::Control),
        ("direct", Self::Direct),
        ("signal", Self::Signal),
        ("bus", Self::Bus),
        ("sensor", Self::Sensor),
        ("contact", Self::Contact),
        ("earth", Self::Earth),
        ("shield", Self::Shield),
    ];

    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(_, carries)| *carries == self).map_or("", |(word, _)| word)
    }
}

/// Whether a terminal gives what it carries, takes it, or both.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Flow {
    /// It gives: the load side of a feeder, the motor side of a drive.
    Gives,
    /// It takes.
    Takes,
    /// Neither: a data pair, an earth.
    Both,
}

impl Flow {
    /// Every one, by the word that a package uses.
    pub const ALL: [(&'static str, Self); 3] =
        [("gives", Self::Gives), ("takes", Self::Takes), ("both", Self::Both)];
}

/// How many terminals a row has.
#[derive(Clone, PartialEq, Debug)]
pub enum Legs {
    /// So many.
    Fixed(usize),
    /// By the value of a nameplate key; unknown where the nameplate does not say.
    By(Name, Vec<(Name, usize)>),
}

/// A row of terminals of one kind of unit.
#[derive(Clone, PartialEq, Debug)]
pub struct TerminalRole {
    /// Its id.
    pub id: Name,
    /// Its name for people: "supply side".
    pub name: Text,
    /// Words by which drawings name such a terminal, its number or letter left out.
    pub words: Vec<Text>,
    /// A number or letter alone is a terminal of this row.
    pub bare: bool,
    /// What flows.
    pub carries: Carries,
    /// Which way.
    pub flow: Flow,
    /// How many terminals the row has; `None`: any number.
    pub legs: Option<Legs>,
    /// A unit of which nothing is connected here lacks something.
    pub wanted: bool,
    /// What the first and the second pole are called; `None`: the two ends may be exchanged.
    pub poles: Option<[Vec<Text>; 2]>,
    /// Its terminals come in groups: the number in a name is that of a channel, not that of a leg.
    pub grouped: bool,
    /// The relation whose unit is at the other end.
    pub partner: Option<Name>,
    /// The nameplate key that says how many other units are connected here.
    pub count: Option<Name>,
    /// The nameplate key of its voltage.
    pub volts: Option<Name>,
    /// Of a contact: when it is closed.
    pub closed_when: Option<Text>,
    /// Of a loop: when the contact in it is to be closed.
    pub wants: Option<Text>,
    /// Such a name does not say when the contact is closed.
    pub unclear: bool,
    /// Who works at this end, where that is not the electrician's: a competence.
    pub by: Option<Name>,
    /// How many conductors one terminal holds.
    pub holds: usize,
    /// Of a data pair: how many end resistors the whole bus has.
    pub ends: Option<usize>,
    /// What a wrong connection here is: the cause of this component.
    pub found: Vec<(Spanned<Wrong>, Name)>,
}

/// What continuity readings can find at a connection.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Wrong {
    /// There is no continuity, or no conductor.
    Open,
    /// Its two poles are exchanged, or two conductors of one row.
    Exchanged,
    /// It is landed at the place of another connection.
    Crossed,
    /// It is joined to another one.
    Joined,
    /// A supply conductor and a motor conductor of one unit are exchanged.
    Sides,
}

impl Wrong {
    /// Every one, by the word that a package uses.
    pub const ALL: [(&'static str, Self); 5] = [
        ("open", Self::Open),
        ("exchanged", Self::Exchanged),
        ("crossed", Self::Crossed),
        ("joined", Self::Joined),
        ("sides", Self::Sides),
    ];

    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(_, wrong)| *wrong == self).map_or("", |(word, _)| word)
    }
}
