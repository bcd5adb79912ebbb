//! The ranking: causes by how probable they are now, and by what each answer moved them.

use super::event::EventNo;

/// Three words of certainty.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Certainty {
    /// At least one half.
    Likely,
    /// At least one in twenty.
    Possible,
    /// Less.
    Unlikely,
}

impl Certainty {
    /// The word for a probability: at least 0.5, at least 0.05, less (judgement).
    #[must_use]
    pub fn of(probability: f64) -> Self {
        if probability >= 0.5 {
            Self::Likely
        } else if probability >= 0.05 {
            Self::Possible
        } else {
            Self::Unlikely
        }
    }
}

/// A cause and how probable it is.
#[derive(Clone, PartialEq, Debug)]
pub struct Ranked {
    /// Cause id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// A remark of the package.
    pub note: String,
    /// Probability that it is there now; the middle of the bounds where only these are known.
    pub posterior: f64,
    /// Probability that it was there at first.
    pub at_first: f64,
    /// The word for it.
    pub certainty: Certainty,
    /// Lower and upper bound, where the exact number would cost too much.
    pub bounds: Option<(f64, f64)>,
}

/// All causes, the most probable first.
#[derive(Clone, PartialEq, Debug)]
pub struct Ranking {
    /// The causes; equal ones in the package's order.
    pub causes: Vec<Ranked>,
    /// Probability that none of the listed causes is there; an upper bound where the causes have bounds.
    pub none_listed: f64,
    /// Natural logarithm of the probability of all that was said; an upper bound where the causes have bounds.
    pub ln_evidence: f64,
    /// The answer that was left out, because all that was said cannot be so together.
    pub without: Option<EventNo>,
}

/// By what factor one answer moved one cause.
#[derive(Clone, PartialEq, Debug)]
pub struct Factor {
    /// The event that gave the answer.
    pub event: EventNo,
    /// What was answered: finding name and outcome, or what was done.
    pub about: String,
    /// The outcome.
    pub outcome: String,
    /// Odds of the cause after it, divided by the odds before it, answers in the order in which they were given.
    pub factor: f64,
}
