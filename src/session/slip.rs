//! The hand-over slip: what the next person needs to know before they set out.

use super::prompt::{Caution, Left};

/// Whom to send, with what, for what.
#[derive(Clone, PartialEq, Debug)]
pub struct Slip {
    /// Competence id, or `unlisted`.
    pub competence: String,
    /// Its name.
    pub name: String,
    /// What to say when sending them.
    pub say: String,
    /// Minutes until such a person is there.
    pub minutes: f64,
    /// Instruments, by name.
    pub instruments: Vec<String>,
    /// Parts.
    pub parts: Vec<String>,
    /// What it could be: causes by name, chance.
    pub candidates: Vec<(Vec<String>, f64)>,
    /// What must not be done meanwhile.
    pub not_meanwhile: Vec<String>,
    /// What has been found, in order: name, outcome.
    pub found: Vec<(String, String)>,
    /// What has been done.
    pub done: Vec<String>,
    /// What is temporary or to be put back.
    pub open: Vec<Left>,
    /// The work state, as far as it is known; empty: not known.
    pub work_state: String,
    /// Cautions that go with the causes' fixes.
    pub cautions: Vec<Caution>,
    /// The standing notice.
    pub notice: Vec<String>,
}
