//! What is known so far, one entry after the other.
//!
//! Time is counted in epochs: the epoch of an entry is the number of fixes before it. Entries about the same finding in
//! the same epoch multiply, as independent reports given the truth; that a second answer *replaces* the first is the
//! business of whoever keeps the answers.

use super::InferenceError;
use crate::model::index::{CauseIx, FindingIx, FixIx};
use crate::model::network::Network;

/// One entry.
#[derive(Clone, PartialEq, Debug)]
pub enum Told {
    /// A report about a finding, or about the highest over several ("one of the fans").
    Finding {
        /// The findings whose highest outcome is reported; usually one. All have as many outcomes as there are weights.
        among: Vec<FindingIx>,
        /// Per outcome, the chance (0..1) of this report if that is the true outcome. They need not sum to 1.
        weights: Vec<f64>,
    },
    /// A cause was seen to be there, or not to be there.
    Cause {
        /// Which.
        cause: CauseIx,
        /// Whether it is there.
        present: bool,
    },
    /// A fix was done: the next epoch begins.
    Fix(FixIx),
}

/// Everything told so far, in order.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Evidence {
    /// The entries.
    pub told: Vec<Told>,
}

impl Evidence {
    /// Nothing known.
    #[must_use]
    pub const fn new() -> Self {
        Self { told: Vec::new() }
    }

    /// Adds: `finding` shows `outcome` for certain. An outcome that the finding does not have is found out by
    /// [`Evidence::check`].
    pub fn plain(&mut self, network: &Network, finding: FindingIx, outcome: usize) -> &mut Self {
        let outcomes = if finding.at() < network.findings() { network.outcomes(finding) } else { 0 };
        let mut weights = vec![0.0; outcomes.max(outcome + 1)];
        weights[outcome] = 1.0;
        self.soft(finding, weights)
    }

    /// Adds a report with a weight per outcome.
    pub fn soft(&mut self, finding: FindingIx, weights: Vec<f64>) -> &mut Self {
        self.among(vec![finding], weights)
    }

    /// Adds a report about the highest outcome over several findings.
    pub fn among(&mut self, among: Vec<FindingIx>, weights: Vec<f64>) -> &mut Self {
        self.told.push(Told::Finding { among, weights });
        self
    }

    /// Adds: the cause was seen to be there (or not).
    pub fn seen(&mut self, cause: CauseIx, present: bool) -> &mut Self {
        self.told.push(Told::Cause { cause, present });
        self
    }

    /// Adds: the fix was done.
    pub fn fixed(&mut self, fix: FixIx) -> &mut Self {
        self.told.push(Told::Fix(fix));
        self
    }

    /// The fixes done, in order. Their number is the current epoch.
    pub fn fixes(&self) -> impl Iterator<Item = FixIx> {
        self.told.iter().filter_map(|t| if let Told::Fix(fix) = t { Some(*fix) } else { None })
    }

    /// The current epoch.
    #[must_use]
    pub fn epoch(&self) -> usize {
        self.fixes().count()
    }

    /// The entries, each with its epoch.
    pub fn by_epoch(&self) -> impl Iterator<Item = (usize, &Told)> {
        let mut epoch = 0;
        self.told.iter().map(move |told| {
            let at = epoch;
            epoch += usize::from(matches!(told, Told::Fix(_)));
            (at, told)
        })
    }

    /// Checks every index, and every weight.
    ///
    /// # Errors
    /// [`InferenceError::Invalid`] with the first entry that does not fit the network.
    pub fn check(&self, network: &Network) -> Result<(), InferenceError> {
        for (entry, told) in self.told.iter().enumerate() {
            let why = match told {
                Told::Fix(fix) if fix.at() >= network.fixes() => "no such fix",
                Told::Cause { cause, .. } if cause.at() >= network.causes() => "no such cause",
                Told::Finding { among, .. } if among.is_empty() => "no finding",
                Told::Finding { among, .. } if among.iter().any(|f| f.at() >= network.findings()) => {
                    "no such finding"
                }
                Told::Finding { among, weights }
                    if among.iter().any(|&f| network.outcomes(f) != weights.len()) =>
                {
                    "the weights are not as many as the outcomes"
                }
                Told::Finding { weights, .. } if weights.iter().any(|w| !(0.0..=1.0).contains(w)) => {
                    "a weight outside 0..1"
                }
                Told::Finding { among, .. } if (1..among.len()).any(|i| among[..i].contains(&among[i])) => {
                    "a finding named twice in one report"
                }
                _ => continue,
            };
            return Err(InferenceError::Invalid { entry, why });
        }
        Ok(())
    }
}
