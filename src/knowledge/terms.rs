//! What a step costs and asks for, as the package writes it.

use super::{Name, Text};
use crate::source::Spanned;

/// Cost and limits of an act; every name exists in [`Practice`](super::Practice).
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Terms {
    /// Minutes of the act itself; `None`: not said, so that no plan uses it.
    pub minutes: Option<Spanned<f64>>,
    /// The place, or the word `unit`: where the job sheet says that the unit is; `None`: at the panel, or at the unit where it is read.
    pub place: Option<Name>,
    /// The work state that it needs; `None`: any.
    pub work_state: Option<Name>,
    /// The enclosure whose door must be open, or the word `unit`: the one that the job sheet gives the unit.
    pub inside: Option<Name>,
    /// The competence; `None`: anyone.
    pub competence: Option<Name>,
    /// Instruments, all needed.
    pub instruments: Vec<Name>,
    /// Hazards.
    pub hazards: Vec<Name>,
    /// What has to be put back afterwards.
    pub leaves: Vec<Text>,
    /// It closes a protective device again, or resets a fire or gas device: its `needs` have to be answered, not taken.
    pub recloses: bool,
}
