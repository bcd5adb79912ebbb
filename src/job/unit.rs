//! One piece of equipment, and what is printed on it.

use std::collections::BTreeMap;

use crate::knowledge::NameplateKey;
use crate::quantity::{self, Measure, Misread};
use crate::source::Span;

/// One piece of equipment of a job.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Unit {
    /// Its id: the label on the drawing, or one made up for a unit that a caller has named.
    pub id: String,
    /// The kind that it is; a component has one instance for each such unit.
    pub kind: String,
    /// Its name for people; empty: its id.
    pub name: String,
    /// Further words for it.
    pub also: Vec<String>,
    /// Where it is; `None`: at the panel.
    pub place: Option<String>,
    /// Behind which door; `None`: that of the panel.
    pub inside: Option<String>,
    /// What is known of its nameplate.
    pub nameplate: BTreeMap<String, Plate>,
    /// The units that it belongs with, by relation.
    pub relations: BTreeMap<String, Vec<String>>,
    /// The table of its own fault numbers.
    pub fault_table: Option<String>,
    /// What its terminals are called, by row, where they bear other names than the package expects.
    pub terminals: BTreeMap<String, Vec<String>>,
    /// Where the sheet has it.
    pub span: Option<Span>,
}

/// One value of a nameplate.
#[derive(Clone, PartialEq, Debug)]
pub enum Plate {
    /// A number in the unit of measure that the component declares.
    Number(f64),
    /// A text.
    Text(String),
}

/// Why a text is no value of a nameplate key.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum PlateError {
    /// No such key.
    #[error("there is no such nameplate value")]
    UnknownKey,
    /// No such unit.
    #[error("there is no such unit")]
    UnknownUnit,
    /// Not one number in the right unit of measure.
    #[error(transparent)]
    Misread(#[from] Misread),
    /// Not a positive number.
    #[error("a nameplate value is above zero")]
    NotPositive,
    /// None of the values that the key can have.
    #[error("it is one of: {}", .0.join(", "))]
    NotOneOf(Vec<String>),
    /// The package states a unit of measure that nobody knows.
    #[error("the package measures it in a unit that nobody knows")]
    NoMeasure,
}

impl Plate {
    /// `text` as a value of `key`: `4.6`, `4.6 A`, `induction`.
    ///
    /// # Errors
    /// See [`PlateError`].
    pub fn read(key: &NameplateKey, text: &str) -> Result<Self, PlateError> {
        let text = text.trim();
        let Some(measured_in) = &key.measured_in else {
            let options = key.one_of.iter().map(|option| &option.value);
            if key.one_of.is_empty() {
                return Ok(Self::Text(text.to_owned()));
            }
            let found = options.clone().find(|option| option.eq_ignore_ascii_case(text));
            return match found {
                Some(option) => Ok(Self::Text(option.clone())),
                None => Err(PlateError::NotOneOf(options.cloned().collect())),
            };
        };
        let measure = Measure::named(measured_in).ok_or(PlateError::NoMeasure)?;
        let number = quantity::readings(text, measure, 1)?[0];
        // A nameplate divides readings: zero and less are slips, except on a scale with a zero of its own, and where the
        // key says so: the end of a sensor's range.
        if number <= 0.0 && !key.signed && measure.quantity != quantity::Quantity::Temperature {
            return Err(PlateError::NotPositive);
        }
        let wanted = |option: &str| quantity::readings(option, measure, 1).is_ok_and(|v| v[0] == number);
        if !key.one_of.is_empty() && !key.one_of.iter().any(|option| wanted(option)) {
            return Err(PlateError::NotOneOf(key.one_of.iter().map(|o| o.value.clone()).collect()));
        }
        Ok(Self::Number(number))
    }
}

impl std::fmt::Display for Plate {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Number(number) => number.fmt(f),
            Self::Text(text) => text.fmt(f),
        }
    }
}
