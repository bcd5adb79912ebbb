//! What one person can do about a problem, and what perfect information would be worth to them.
//!
//! A **crew** is one person's fixes, proof and ways, as flat tables: minutes from every mode to every group of fixes that
//! are done at the same places. The person present has one; so has everybody who can be sent.

use super::problem::{Candidate, FixForm, Helper, Problem, Proof};
use super::remaining::Remaining;
use super::travel::{Mode, Travel};
use crate::model::practice::BitSet;

/// At most so many pairs of fix and cause are drawn out in full for the bound; the others count as certain, which keeps
/// it a bound.
const DRAWN_PAIRS: usize = 6;

/// One person's fixes, proof and ways.
#[derive(Clone, Debug)]
pub(crate) struct Crew {
    /// For each fix, minutes' worth of the act; infinite where it is not theirs.
    pub(crate) cost: Vec<f64>,
    /// For each fix, the group of its places.
    group: Vec<u16>,
    /// For each group, its modes; the first group has none, which means any.
    places: Vec<Vec<Mode>>,
    /// For each pair of modes, the way.
    minutes: Vec<f64>,
    /// For each mode and group, the way and the mode then.
    ways: Vec<(f64, Mode)>,
    /// For each mode, minutes through the proof.
    proofs: Vec<f64>,
    /// For each fix, minutes' worth of it from where a proof ends, and through the next proof.
    pub(crate) round: Vec<f64>,
    /// For each fix, whether it needs parts that have to be brought.
    pub(crate) parts: Vec<bool>,
    pub(crate) proof: Proof,
}

impl Crew {
    /// The person present.
    pub(crate) fn present(problem: &Problem) -> Self {
        Self::new(problem.fixes.iter().map(Some), problem.proof, &problem.travel)
    }

    /// Somebody sent.
    pub(crate) fn sent(helper: &Helper) -> Self {
        Self::new(helper.fixes.iter().map(Option::as_ref), helper.proof, &helper.travel)
    }

    fn new<'a>(fixes: impl Iterator<Item = Option<&'a FixForm>>, proof: Proof, travel: &Travel) -> Self {
        let mut places: Vec<&[Mode]> = vec![&[]];
        let (mut cost, mut group, mut parts) = (Vec::new(), Vec::new(), Vec::new());
        for form in fixes {
            let at: &[Mode] = form.map_or(&[], |form| &form.at);
            let known = places.iter().position(|other| *other == at);
            let at = known.unwrap_or_else(|| {
                places.push(at);
                places.len() - 1
            });
            cost.push(form.map_or(f64::INFINITY, |form| form.cost));
            group.push(at as u16);
            parts.push(form.is_some_and(|form| form.parts));
        }
        let modes = 0..travel.modes() as Mode;
        let minutes =
            modes.clone().flat_map(|from| modes.clone().map(move |to| travel.minutes(from, to))).collect();
        let proofs = (modes.clone())
            .map(|mode| match proof {
                Proof::AtOnce => 0.0,
                Proof::Takes { cost, from, .. } => travel.minutes(mode, from) + cost,
                Proof::Never => f64::INFINITY,
            })
            .collect();
        let ways = modes.flat_map(|mode| places.iter().map(move |at| travel.nearest(mode, at))).collect();
        let places = places.into_iter().map(<[Mode]>::to_vec).collect();
        let mut crew = Self { cost, group, places, minutes, ways, proofs, round: Vec::new(), parts, proof };
        if let Proof::Takes { to, .. } = proof {
            crew.round = (0..crew.cost.len())
                .map(|fix| {
                    let (cost, there) = crew.to_fix(to, fix);
                    cost + crew.to_proof(there)
                })
                .collect();
        }
        crew
    }

    /// Minutes from `mode` through the proof; infinite where there is none.
    #[inline]
    pub(crate) fn to_proof(&self, mode: Mode) -> f64 {
        self.proofs[usize::from(mode)]
    }

    /// Minutes' worth of going from `mode` to a fix and doing it, and the mode then. Infinite where it is not theirs.
    #[inline]
    pub(crate) fn to_fix(&self, mode: Mode, fix: usize) -> (f64, Mode) {
        let (way, there) = self.ways[usize::from(mode) * self.places.len() + usize::from(self.group[fix])];
        (way + self.cost[fix], there)
    }

    /// The least that `candidate` can cost this person when everything is known, success draws included:
    ///
    /// E over draws of min(cheapest set of succeeding fixes that covers the culprits, then one proof; `stop`).
    ///
    /// Shared ways are counted once, and only those that no set can do without, so it is a lower bound for every policy.
    pub(crate) fn perfect(
        &self,
        remaining: &Remaining,
        candidate: &Candidate,
        start: Option<Mode>,
        stop: f64,
    ) -> f64 {
        if candidate.cured(BitSet::default()) {
            return stop.min(start.map_or(0.0, |mode| self.to_proof(mode)));
        }
        if candidate.unlisted || self.proof == Proof::Never {
            return stop;
        }
        let mut culprits = candidate.culprits.iter();
        if let (Some(only), None) = (culprits.next(), culprits.next()) {
            return self.one_culprit(remaining.fixes_of(only), start, stop);
        }
        let culprits: Vec<usize> = candidate.culprits.iter().collect();
        let mut pairs: Vec<(usize, usize, f64)> = Vec::new(); // (position of the culprit, fix, chance)
        let mut ways = 0.0f64;
        for (position, &cause) in culprits.iter().enumerate() {
            let mut nearest = f64::INFINITY;
            for &(fix, chance) in remaining.fixes_of(cause) {
                let way = self.way_through(start, fix as usize);
                if way.is_finite() {
                    nearest = nearest.min(way);
                    pairs.push((position, fix as usize, chance));
                }
            }
            ways = ways.max(nearest);
        }
        if !ways.is_finite() {
            return stop;
        }
        // Cheap pairs are drawn out; the others are taken as certain.
        let cost = |fix: usize| self.cost[fix];
        pairs.sort_by(|a, b| cost(a.1).total_cmp(&cost(b.1)).then((a.1, a.0).cmp(&(b.1, b.0))));
        let uncertain: Vec<usize> =
            (0..pairs.len()).filter(|&at| pairs[at].2 < 1.0).take(DRAWN_PAIRS).collect();
        let mut expected = 0.0;
        for draw in 0..1u32 << uncertain.len() {
            let mut chance = 1.0;
            let mut covers: Vec<(usize, u32)> = Vec::new(); // (fix, culprits that it removes in this draw)
            for (at, &(position, fix, q)) in pairs.iter().enumerate() {
                let works = match uncertain.iter().position(|&u| u == at) {
                    Some(bit) => {
                        let works = draw >> bit & 1 == 1;
                        chance *= if works { q } else { 1.0 - q };
                        works
                    }
                    None => true,
                };
                if works && position < 32 {
                    match covers.iter_mut().find(|(other, _)| *other == fix) {
                        Some((_, set)) => *set |= 1 << position,
                        None => covers.push((fix, 1 << position)),
                    }
                }
            }
            expected += chance * stop.min(ways + cheapest_cover(&covers, culprits.len().min(10), cost));
        }
        expected
    }

    /// The ways that a fix cannot do without, and the proof after it; infinite where it is not theirs.
    fn way_through(&self, start: Option<Mode>, fix: usize) -> f64 {
        if !self.cost[fix].is_finite() {
            return f64::INFINITY;
        }
        let modes = self.proofs.len();
        let at = &self.places[usize::from(self.group[fix])];
        match start {
            Some(mode) if at.is_empty() => self.to_proof(mode),
            Some(start) => (at.iter())
                .map(|&mode| {
                    self.minutes[usize::from(start) * modes + usize::from(mode)] + self.to_proof(mode)
                })
                .fold(f64::INFINITY, f64::min),
            None if at.is_empty() => match self.proof {
                Proof::Takes { cost, .. } => cost,
                _ => 0.0,
            },
            None => at.iter().map(|&mode| self.to_proof(mode)).fold(f64::INFINITY, f64::min),
        }
    }

    /// Fixes for the only culprit, in order of cost, each tried where the cheaper ones would fail.
    fn one_culprit(&self, fixes: &[(u32, f64)], start: Option<Mode>, stop: f64) -> f64 {
        let mut sorted: Vec<(f64, f64)> = (fixes.iter())
            .map(|&(fix, chance)| {
                let fix = fix as usize;
                (self.way_through(start, fix) + self.cost[fix], chance)
            })
            .collect();
        sorted.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.total_cmp(&a.1)));
        let (mut expected, mut open) = (0.0, 1.0);
        for (cost, chance) in sorted {
            if cost >= stop {
                break;
            }
            expected += open * chance * cost;
            open *= 1.0 - chance;
        }
        if open > 0.0 { expected + open * stop } else { expected }
    }
}

/// The least cost of fixes that together remove the first `culprits` culprits; infinite where they cannot.
fn cheapest_cover(covers: &[(usize, u32)], culprits: usize, cost: impl Fn(usize) -> f64) -> f64 {
    let all = (1usize << culprits) - 1;
    let mut least = vec![f64::INFINITY; all + 1];
    least[0] = 0.0;
    for &(fix, set) in covers {
        let minutes = cost(fix);
        for have in (0..=all).rev() {
            let then = (have | set as usize) & all;
            if least[have] + minutes < least[then] {
                least[then] = least[have] + minutes;
            }
        }
    }
    least[all]
}
