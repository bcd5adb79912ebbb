//! Exact probabilities: what the evidence says about causes, conditions and findings.
//!
//! In: a [`Network`] and [`Evidence`]. Out: posteriors, predictions, candidates, samples. No name, cost, clock or
//! string comes in here.
//!
//! # Sources
//!
//! Noisy-OR: Pearl, *Probabilistic Reasoning in Intelligent Systems*, 1988. Noisy-MAX: Díez, "Parameter adjustment in
//! Bayes networks: the generalized noisy OR-gate", UAI 1993. A link's chance excludes the leak, as in Henrion, "Some
//! practical issues in constructing belief networks", 1987; Díez's includes it. Not done: inclusion and exclusion over the
//! abnormal findings (Heckerman, "A tractable inference algorithm for diagnosing multiple diseases", UAI 1989), which
//! subtracts numbers that are nearly alike and loses every digit at a dozen findings. All from memory.

pub mod bounds;
mod candidate;
mod cluster;
pub mod conflict;
mod engine;
pub mod enumerate;
pub mod evidence;
pub mod explain;
mod graph;
mod layers;
mod number;
mod order;
mod predict;
pub mod random;
pub mod reading;
mod sample;
mod sweep;
mod table;
mod untouched;
mod workspace;

pub use bounds::{Bounds, bounds};
pub use candidate::candidates;
pub use conflict::{Conflict, conflict};
pub use evidence::{Evidence, Told};
pub use explain::{Moved, explain};
pub use sample::sample;
pub(crate) use sample::sample_of;
pub use workspace::{Touched, TouchedCause, TouchedCondition, Workspace};

use crate::model::index::{CauseIx, FindingIx};
use crate::model::network::{Network, Source};

/// What a computation may cost before it is refused.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Limits {
    /// Table entries held at once (8 bytes each); the way back takes as many again.
    pub states: u64,
    /// Multiplications.
    pub steps: u64,
}

impl Default for Limits {
    /// Generous for a session: 256 MB at most, well under a second. A call of a dozen uncertain answers with a fix
    /// between needs a few million entries.
    fn default() -> Self {
        Self { states: 1 << 24, steps: 1 << 28 }
    }
}

/// What a computation costs, known before it starts.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct Effort {
    /// Most axes open at once.
    pub width: usize,
    /// Table entries held at once.
    pub states: u64,
    /// Multiplications.
    pub steps: u64,
}

/// Why there is no answer.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum InferenceError {
    /// The evidence has probability zero: an answer was wrong, or the work changed something.
    #[error("the evidence is impossible: its probability is zero")]
    Impossible,
    /// The findings are too entangled for an exact answer within the limits.
    #[error("too entangled: {} axes open at once, {} table entries, {} multiplications", .0.width, .0.states, .0.steps)]
    TooWide(Effort),
    /// An entry that does not fit the network.
    #[error("entry {entry} of the evidence: {why}")]
    Invalid {
        /// Which entry, from 0.
        entry: usize,
        /// What is wrong.
        why: &'static str,
    },
}

/// What the evidence says about causes and conditions.
#[derive(Clone, PartialEq, Debug)]
pub struct Posterior {
    /// Natural logarithm of the probability (weight) of the evidence.
    pub ln_evidence: f64,
    /// Per cause, the probability that it is there now.
    pub now: Vec<f64>,
    /// Per cause, the probability that it was there at first.
    pub at_first: Vec<f64>,
    /// Per condition, the probability that it holds now.
    pub conditions_now: Vec<f64>,
    /// The probability that none of the listed causes is there now.
    pub none_listed: f64,
}

/// A set of causes that could together be the truth; the empty one is *none of the listed causes*.
#[derive(Clone, PartialEq, Debug)]
pub struct Candidate {
    /// The causes that are there now, ascending.
    pub causes: Vec<CauseIx>,
    /// Its probability given the evidence.
    pub probability: f64,
}

/// One way in which everything could be, drawn with its probability given the evidence.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct World {
    /// The causes that are there now, ascending.
    pub causes_now: Vec<CauseIx>,
    /// The conditions that hold now, ascending: index of each.
    pub conditions_now: Vec<crate::model::index::ConditionIx>,
    /// For each finding that the evidence speaks of, ascending: what each source that is there now (`None`: the leak)
    /// drew for it, where that is abnormal.
    pub draws: Vec<(FindingIx, Vec<Draw>)>,
}

/// Who drew (`None`: the leak), and which outcome.
pub type Draw = (Option<Source>, usize);

/// What an exact answer would cost.
///
/// # Errors
/// Evidence that does not fit the network, or with a report that can never be.
pub fn effort(network: &Network, evidence: &Evidence) -> Result<Effort, InferenceError> {
    Workspace::new(network).effort(network, evidence)
}

/// Posteriors of all causes and conditions. For query after query, keep a [`Workspace`].
///
/// # Errors
/// Evidence that does not fit the network or has probability zero; a cost beyond `limits`.
pub fn posterior(
    network: &Network,
    evidence: &Evidence,
    limits: &Limits,
) -> Result<Posterior, InferenceError> {
    Workspace::new(network).posterior(network, evidence, limits)
}

/// Per finding and outcome, the probability that it would show now.
///
/// # Errors
/// As [`posterior`].
pub fn predictions(
    network: &Network,
    evidence: &Evidence,
    limits: &Limits,
) -> Result<Vec<Vec<f64>>, InferenceError> {
    Workspace::new(network).predictions(network, evidence, limits)
}
