//! Bounds that hold, for evidence too entangled for an exact answer.
//!
//! In: evidence, and what may be spent. Out: for every cause an interval that contains its posterior for certain, made of
//! two exact sweeps over simpler problems:
//!
//! - *From above*: reports are left out, one after the other, until the sweep fits: those whose findings have the most
//!   links first, among equals the last told first. Every report's weights are at most their greatest w, so that for any
//!   event x: P(x, e) ≤ P(x, e′)·Π w.
//! - *From below*: only worlds are counted in which all causes but some are absent throughout: a part of a sum of
//!   non-negative terms. Kept are the causes most probable under e′, as many as fit. P(x, e) ≥ P(x, e, others absent).
//!
//! With U and L for a cause there now (c) and not there now (¬c):
//! L(c)/(L(c) + U(¬c)) ≤ P(c | e) ≤ U(c)/(U(c) + L(¬c)), since P(c | e) = P(c, e)/(P(c, e) + P(¬c, e)) grows with the
//! first and falls with the second.

use super::{Evidence, InferenceError, Limits, Told, Workspace};
use crate::model::index::CauseIx;
use crate::model::network::Network;

/// Intervals that contain the truth.
#[derive(Clone, PartialEq, Debug)]
pub struct Bounds {
    /// ln P(e) lies between these.
    pub ln_evidence: (f64, f64),
    /// Per cause, P(there now | e) is at least this.
    pub lower: Vec<f64>,
    /// Per cause, P(there now | e) is at most this.
    pub upper: Vec<f64>,
    /// The entries of the evidence left out for the upper bounds, in the order of leaving out.
    pub left_out: Vec<usize>,
    /// How many causes the lower bounds count with; all others are taken as absent there.
    pub causes_counted: usize,
}

/// Bounds on every posterior. Where the evidence is not too entangled they meet in the exact answer.
///
/// Cost: a few plans, and two sweeps within `limits`.
///
/// # Errors
/// Evidence that does not fit the network or has probability zero as far as can be told.
pub fn bounds(network: &Network, evidence: &Evidence, limits: &Limits) -> Result<Bounds, InferenceError> {
    evidence.check(network)?;
    let mut workspace = Workspace::new(network);

    let (simpler, left_out, ln_greatest) = leave_out(network, evidence, limits, &mut workspace)?;
    let above = workspace.odds_now(network, &simpler, limits)?;
    let ln_above = workspace.last_ln_evidence() + ln_greatest;

    let mut ranked: Vec<CauseIx> = (0..network.causes()).map(CauseIx::new).collect();
    ranked.sort_by(|a, b| above[b.at()].0.total_cmp(&above[a.at()].0).then(a.cmp(b)));
    let fits = |count: usize, workspace: &mut Workspace| {
        let fewer = without(evidence, &ranked[count..]);
        workspace.effort(network, &fewer).is_ok_and(|effort| limits.allow(effort).is_ok())
    };
    // The largest power-of-two share that fits, then half steps up from there.
    let mut count = ranked.len();
    while count > 0 && !fits(count, &mut workspace) {
        count /= 2;
    }
    let mut step = count / 2;
    while step > 0 && count < ranked.len() {
        if count + step <= ranked.len() && fits(count + step, &mut workspace) {
            count += step;
        }
        step /= 2;
    }
    let fewer = without(evidence, &ranked[count..]);
    let (below, ln_below) = match workspace.odds_now(network, &fewer, limits) {
        Ok(below) => (below, workspace.last_ln_evidence()),
        Err(InferenceError::Impossible) => (vec![(0.0, 0.0); network.causes()], f64::NEG_INFINITY),
        Err(other) => return Err(other),
    };

    // Everything relative to the bound from above.
    let share = (ln_below - ln_above).exp().min(1.0);
    let ratio = |part: f64, other: f64| if part > 0.0 { part / (part + other) } else { 0.0 };
    let lower = above.iter().zip(&below).map(|(u, l)| ratio(l.0 * share, u.1)).collect();
    let upper = above.iter().zip(&below).map(|(u, l)| ratio(u.0, l.1 * share)).collect();
    Ok(Bounds { ln_evidence: (ln_below, ln_above), lower, upper, left_out, causes_counted: count })
}

/// Leaves reports out until the sweep fits: what is left, what was left out, and the logarithm of the product of the
/// greatest weights of what was left out.
fn leave_out(
    network: &Network,
    evidence: &Evidence,
    limits: &Limits,
    workspace: &mut Workspace,
) -> Result<(Evidence, Vec<usize>, f64), InferenceError> {
    let links = |told: &Told| match told {
        Told::Finding { among, .. } => among.iter().map(|&f| network.links_into(f).0.len()).sum(),
        _ => 0_usize,
    };
    let mut order: Vec<usize> =
        (0..evidence.told.len()).filter(|&at| matches!(evidence.told[at], Told::Finding { .. })).collect();
    order.sort_by_key(|&at| std::cmp::Reverse((links(&evidence.told[at]), at)));
    let (mut out, mut ln_greatest) = (Vec::new(), 0.0);
    loop {
        let told =
            evidence.told.iter().enumerate().filter(|(at, _)| !out.contains(at)).map(|(_, t)| t.clone());
        let simpler = Evidence { told: told.collect() };
        match workspace.effort(network, &simpler) {
            Ok(effort) if limits.allow(effort).is_ok() => return Ok((simpler, out, ln_greatest)),
            Ok(effort) if out.len() == order.len() => return Err(InferenceError::TooWide(effort)),
            Err(InferenceError::TooWide(effort)) if out.len() == order.len() => {
                return Err(InferenceError::TooWide(effort));
            }
            Err(InferenceError::Impossible | InferenceError::Invalid { .. }) => {
                return Err(InferenceError::Impossible);
            }
            _ => {}
        }
        let next = order[out.len()];
        if let Told::Finding { weights, .. } = &evidence.told[next] {
            ln_greatest += weights.iter().copied().fold(0.0, f64::max).ln();
        }
        out.push(next);
    }
}

/// The evidence, with these causes absent from the start.
fn without(evidence: &Evidence, absent: &[CauseIx]) -> Evidence {
    let mut told: Vec<Told> = absent.iter().map(|&cause| Told::Cause { cause, present: false }).collect();
    told.extend(evidence.told.iter().cloned());
    Evidence { told }
}
