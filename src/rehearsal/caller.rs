//! Who is on the phone: what they may do, with what, and how far what they say can be relied on.

use crate::model::index::CompetenceIx;
use crate::model::practice::{BitSet, Person, Practice};

/// A person at a simulated site.
#[derive(Clone, PartialEq, Debug)]
pub struct Caller {
    /// A name for reports: "technician", "phone support".
    pub name: String,
    /// Competences and instruments.
    pub person: Person,
    /// How far the session believes a plain answer of theirs, 0..1.
    pub trust: f64,
    /// The chance that they cannot tell what a test shows.
    pub cannot_tell: f64,
    /// The chance that they tell something else than what is so.
    pub errs: f64,
}

impl Caller {
    /// A person of that competence with what such a person carries, who tells what is so.
    #[must_use]
    pub fn of(practice: &Practice, name: &str, competence: CompetenceIx) -> Self {
        let form = &practice.competences[competence.at()];
        Self {
            name: name.to_owned(),
            person: practice.person(competence),
            trust: form.trust,
            cannot_tell: 0.0,
            errs: 0.0,
        }
    }

    /// A qualified electrician on site with what one carries: the technician of the reports.
    #[must_use]
    pub fn technician(practice: &Practice) -> Option<Self> {
        Some(Self::of(practice, "technician", practice.competence("electrician")?))
    }

    /// Anybody on the phone beside the panel, without an instrument: what phone support has to do with.
    #[must_use]
    pub fn on_the_phone(practice: &Practice) -> Option<Self> {
        let mut caller = Self::of(practice, "phone support", practice.competence("anyone")?);
        caller.person.instruments = BitSet::default();
        Some(caller)
    }
}
