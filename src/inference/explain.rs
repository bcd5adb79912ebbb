//! By what factor each entry of the evidence moved each cause.
//!
//! In: evidence. Out: for every entry and cause two factors on the odds of the cause being there now, both of which can be
//! recomputed from posteriors alone:
//!
//! - *in turn*: odds after the entries up to and with this one, over the odds after those before it. Their product over
//!   all entries is the whole way from the prior odds to the odds now. It depends on the order.
//! - *left out*: odds with all entries, over the odds with all but this one. It does not depend on the order and says what
//!   would change if the entry were withdrawn.
//!
//! A fix is an entry in turn; it is never left out (its factor is then 1), as that would move the epochs of others.
//! odds = P/(1 − P); a factor is infinite where the cause becomes certain, 0 where it becomes impossible, and `None` where
//! it cannot be said (the odds before are 0 or infinite, or the evidence without the entry is impossible).

use super::{Evidence, InferenceError, Limits, Told, Workspace};
use crate::model::index::CauseIx;
use crate::model::network::Network;

/// What one entry did to each cause.
#[derive(Clone, PartialEq, Debug)]
pub struct Moved {
    /// Per cause, the factor in turn.
    pub in_turn: Vec<Option<f64>>,
    /// Per cause, the factor against leaving the entry out.
    pub left_out: Vec<Option<f64>>,
}

/// The factors of every entry, in the order of the evidence. Cost: two posteriors per entry.
///
/// # Errors
/// Evidence that does not fit the network or has probability zero; a cost beyond `limits`.
pub fn explain(
    network: &Network,
    evidence: &Evidence,
    limits: &Limits,
) -> Result<Vec<Moved>, InferenceError> {
    evidence.check(network)?;
    let mut workspace = Workspace::new(network);
    let mut odds = |told: Vec<Told>| workspace.odds_now(network, &Evidence { told }, limits);
    let all = odds(evidence.told.clone())?;
    let mut before = odds(Vec::new())?;
    let mut moved = Vec::with_capacity(evidence.told.len());
    for (at, entry) in evidence.told.iter().enumerate() {
        let after = odds(evidence.told[..=at].to_vec())?;
        let without = if matches!(entry, Told::Fix(_)) {
            Some(all.clone())
        } else {
            match odds([&evidence.told[..at], &evidence.told[at + 1..]].concat()) {
                Err(InferenceError::Impossible) => None,
                other => Some(other?),
            }
        };
        let left_out = match without {
            None => vec![None; network.causes()],
            Some(without) => factors(&all, &without),
        };
        moved.push(Moved { in_turn: factors(&after, &before), left_out });
        before = after;
    }
    Ok(moved)
}

/// The factor of one entry on one cause by leaving it out, as [`Moved::left_out`].
///
/// # Errors
/// As [`explain`].
pub fn left_out(
    network: &Network,
    evidence: &Evidence,
    limits: &Limits,
    entry: usize,
    cause: CauseIx,
) -> Result<Option<f64>, InferenceError> {
    evidence.check(network)?;
    let mut workspace = Workspace::new(network);
    let all = workspace.odds_now(network, evidence, limits)?;
    let mut told = evidence.told.clone();
    if entry < told.len() && !matches!(told[entry], Told::Fix(_)) {
        told.remove(entry);
    }
    match workspace.odds_now(network, &Evidence { told }, limits) {
        Err(InferenceError::Impossible) => Ok(None),
        other => Ok(factors(&all, &other?)[cause.at()]),
    }
}

/// P(there now), P(not there now), of each cause: their quotient is the odds, whatever is near 0 or 1.
type Odds = Vec<(f64, f64)>;

fn factors(after: &Odds, before: &Odds) -> Vec<Option<f64>> {
    let factor = |(&(now, gone), &(now_before, gone_before)): (&(f64, f64), &(f64, f64))| {
        (now_before > 0.0 && gone_before > 0.0).then(|| (now / now_before) * (gone_before / gone))
    };
    after.iter().zip(before).map(factor).collect()
}
