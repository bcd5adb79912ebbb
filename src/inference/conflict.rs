//! Whether the evidence hangs together.
//!
//! In: evidence. Out: Jensen's conflict measure conf(e) = Σ ln P(e_j) − ln P(e) (F. V. Jensen, B. Chamberlain,
//! T. Nordahl & F. Jensen, *Analysis in HUGIN of data conflict*, UAI 1990): above 0 the entries are less likely together
//! than if they had nothing to do with one another. And the entry that disagrees most: the one without which the measure
//! is lowest.

use super::{Evidence, InferenceError, Limits, Told, Workspace};
use crate::model::network::Network;

/// How far the evidence contradicts itself.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Conflict {
    /// conf(e), in nats; infinite where the entries are possible each but not together.
    pub measure: f64,
    /// The entry (its place in [`Evidence::told`]) without which the measure is lowest, and that measure. `None` if
    /// fewer than two entries are reports.
    pub disagrees: Option<(usize, f64)>,
}

/// Measures the conflict. Fixes are no reports: they stay in place throughout, so that every entry keeps its epoch.
/// Cost: one sweep for the whole, two per entry.
///
/// # Errors
/// Evidence that does not fit the network; an entry that is impossible on its own; a cost beyond `limits`.
pub fn conflict(network: &Network, evidence: &Evidence, limits: &Limits) -> Result<Conflict, InferenceError> {
    evidence.check(network)?;
    let mut workspace = Workspace::new(network);
    let mut ln = |keep: &dyn Fn(usize) -> bool| {
        let told = evidence.told.iter().enumerate();
        let told =
            told.filter(|(at, t)| matches!(t, Told::Fix(_)) || keep(*at)).map(|(_, t)| t.clone()).collect();
        match workspace.ln_evidence(network, &Evidence { told }, limits) {
            Err(InferenceError::Impossible) => Ok(f64::NEG_INFINITY),
            other => other,
        }
    };
    let reports: Vec<usize> =
        (0..evidence.told.len()).filter(|&at| !matches!(evidence.told[at], Told::Fix(_))).collect();
    let mut alone = Vec::with_capacity(reports.len());
    for &at in &reports {
        let ln_alone = ln(&|other| other == at)?;
        if ln_alone == f64::NEG_INFINITY {
            return Err(InferenceError::Impossible);
        }
        alone.push(ln_alone);
    }
    let sum: f64 = alone.iter().sum();
    let measure = sum - ln(&|_| true)?;
    let mut disagrees: Option<(usize, f64)> = None;
    if reports.len() > 1 {
        for (&at, &ln_alone) in reports.iter().zip(&alone) {
            let without = sum - ln_alone - ln(&|other| other != at)?;
            if disagrees.is_none_or(|(_, least)| without < least) {
                disagrees = Some((at, without));
            }
        }
    }
    Ok(Conflict { measure, disagrees })
}
