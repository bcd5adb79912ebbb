//! One site: its units with nameplates and relations, fault tables, wires, what can be read with the door shut.
//!
//! In: a job sheet, or what is said of units as they are mentioned in a session without one. Out: a [`Job`], checked
//! against the components of a package. Invariants: unit ids are unique; every unit is of a kind that the package
//! knows; a nameplate value is in the unit of measure that the component declares; a relation names units of the job.

pub(crate) mod implied;
mod mentioned;
mod sheet;
mod unit;
mod wiring;

pub use mentioned::MentionError;
pub use sheet::{package_of, read};
pub use unit::{Plate, PlateError, Unit};
pub use wiring::{FaultClass, Interlock, Made, Strip, Wire, WireSpans};

use std::collections::BTreeMap;

use crate::knowledge::Stage;
use crate::source::Span;

/// One site's equipment.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Job {
    /// Its number in the firm's books; empty in a session without a sheet.
    pub id: String,
    /// The package that it names.
    pub package: Option<String>,
    /// The site, for people.
    pub site: String,
    /// The stage that the sheet states.
    pub stage: Option<Stage>,
    /// The supply, as the sheet describes it.
    pub supply: BTreeMap<String, String>,
    /// Units, in the order of the sheet or of their mention.
    pub units: Vec<Unit>,
    /// Each table of a drive's own fault numbers.
    pub fault_tables: BTreeMap<String, BTreeMap<String, FaultClass>>,
    /// Ids of tests (`UNIT/TEST`) that can be taken with the door shut.
    pub door_shut: Vec<String>,
    /// Interlocks.
    pub interlocks: Vec<Interlock>,
    /// Terminal strips and the like, in the order of the sheet.
    pub strips: Vec<Strip>,
    /// Where `wires` begins, of which the whole list can lack something.
    pub wires_at: Option<Span>,
    /// The wire list.
    pub wires: Vec<Wire>,
    /// Whether there is a sheet, so that what it leaves out is known to be left out.
    pub has_sheet: bool,
}

impl Job {
    /// The unit of that id.
    #[must_use]
    pub fn unit(&self, id: &str) -> Option<&Unit> {
        self.units.iter().find(|unit| unit.id == id)
    }
}
