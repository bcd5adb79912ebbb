//! A lower bound on a plan of fixes one after another, cheaper than the plan: what comes first is waited for by all the rest.
//!
//! Fix f costs c and removes something of a weight of at most g, whatever went before. Done in any order, with the rest given
//! up at `last`, fixes cost at least Σ c × (weight not yet removed) + last × (weight left), and a first proof. Of all
//! orders the one by g ÷ c costs least (Smith 1956; from memory), and of all sets of fixes one that comes first in
//! that order. Perfect information alone knows nothing of the waiting, and bounds a spread belief badly.
//!
//! Where several fixes touch the same weight their g overlap. That only makes the bound smaller, but for the point where all seems
//! removed: there the sweep stops.

use super::crew::Crew;
use super::prepared::Prepared;
use super::problem::Proof;
use super::remaining::{Remaining, Rest};

/// The fixes that touch a belief, in Smith's order by the least that each costs anybody.
#[derive(Clone, Debug, Default)]
pub(crate) struct Sequence {
    gain: Vec<f64>,
    /// (gain ÷ cost, cost, gain, fix), the greatest ratio first.
    fixes: Vec<(f64, f64, f64, u32)>,
    /// The weight of all, and that of what is not cured.
    pub(crate) whole: f64,
    alive: f64,
}

impl Sequence {
    /// Lists the fixes that touch these rests.
    pub(crate) fn list(
        &mut self,
        prepared: &Prepared<'_>,
        remaining: &mut Remaining,
        rests: &[(Rest, f64)],
        tried: &[bool],
    ) {
        self.gain.clear();
        self.gain.resize(tried.len(), 0.0);
        (self.whole, self.alive) = (0.0, 0.0);
        for &(rest, weight) in rests {
            self.whole += weight;
            if weight > 0.0 && !remaining.cured(rest) {
                self.alive += weight;
                remaining.open(&prepared.classes, rest);
                for hit in remaining.hits(rest) {
                    self.gain[hit.fix as usize] += weight * hit.chance;
                }
            }
        }
        self.fixes.clear();
        for (fix, &gain) in self.gain.iter().enumerate() {
            if gain > 0.0 && !tried[fix] {
                let cost = prepared.least_cost[fix];
                self.fixes.push((gain / cost.max(1e-9), cost, gain, fix as u32));
            }
        }
        self.fixes.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.3.cmp(&b.3)));
    }

    /// The least that a crew's plan can cost, giving up at `last`.
    pub(crate) fn least(&self, crew: &Crew, last: f64) -> f64 {
        let proof = match crew.proof {
            Proof::Takes { cost, .. } => cost * self.alive,
            Proof::AtOnce => 0.0,
            Proof::Never => return last * self.alive,
        };
        let (mut best, mut minutes, mut left) = (last * self.alive, proof, self.alive);
        for &(_, cost, gain, fix) in &self.fixes {
            if !crew.cost[fix as usize].is_finite() {
                continue;
            }
            minutes += cost * left;
            left = (left - gain).max(0.0);
            best = best.min(minutes + last * left);
            if left <= 0.0 {
                break;
            }
        }
        best
    }
}
