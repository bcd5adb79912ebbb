//! What one person can do about a problem, and what perfect information would be worth to them.
//!
//! A **crew** is one person's fixes, proof and ways. The person present has one; so has everybody who can be sent.

use super::base_plan::Item;
use super::problem::{Candidate, FixForm, Helper, Problem, Proof};
use super::travel::{Mode, Travel};
use crate::model::practice::BitSet;

/// At most so many pairs of fix and cause are drawn out in full for the bound; the others count as certain, which keeps
/// it a bound.
const DRAWN_PAIRS: usize = 6;

/// One person's fixes, proof and ways.
#[derive(Clone, Debug)]
pub(crate) struct Crew {
    /// Parallel to the problem's fixes; `None`: not theirs.
    pub(crate) fixes: Vec<Option<FixForm>>,
    /// For each cause, the fixes that remove it, with their chance.
    pub(crate) by_cause: Vec<Vec<(usize, f64)>>,
    /// For each fix, the causes that it removes.
    pub(crate) removes: Vec<BitSet>,
    /// For each fix, minutes' worth of it from where a proof ends, and through the next proof.
    pub(crate) round: Vec<f64>,
    pub(crate) proof: Proof,
    pub(crate) travel: Travel,
    /// For each class of the problem, whole: the fixes that remove something of it, with the chance that they do.
    whole: Vec<Vec<(usize, f64)>>,
}

impl Crew {
    /// The person present.
    pub(crate) fn present(problem: &Problem) -> Self {
        Self::new(problem.fixes.iter().cloned().map(Some).collect(), problem.proof, problem.travel.clone())
    }

    /// Somebody sent.
    pub(crate) fn sent(helper: &Helper) -> Self {
        Self::new(helper.fixes.clone(), helper.proof, helper.travel.clone())
    }

    fn new(fixes: Vec<Option<FixForm>>, proof: Proof, travel: Travel) -> Self {
        let mut by_cause = vec![Vec::new(); 128];
        for (at, fix) in fixes.iter().enumerate() {
            for &(cause, chance) in fix.iter().flat_map(|fix| &fix.removes) {
                if chance > 0.0 && proof != Proof::Never {
                    by_cause[usize::from(cause)].push((at, chance));
                }
            }
        }
        let removes = (fixes.iter())
            .map(|fix| {
                let causes = fix.iter().flat_map(|form| &form.removes).filter(|(_, chance)| *chance > 0.0);
                causes.fold(BitSet::default(), |set, (cause, _)| set.with((*cause).into()))
            })
            .collect();
        let mut crew = Self { fixes, by_cause, removes, round: Vec::new(), proof, travel, whole: Vec::new() };
        if let Proof::Takes { to, .. } = proof {
            crew.round = (0..crew.fixes.len())
                .map(|fix| {
                    let (cost, there) = crew.to_fix(to, fix);
                    cost + crew.to_proof(there)
                })
                .collect();
        }
        crew
    }

    /// Learns the classes of the problem.
    pub(crate) fn learn(&mut self, classes: &[Candidate]) {
        self.whole = classes.iter().map(|class| self.hits_of(class, BitSet::default())).collect();
    }

    /// The fixes that remove something wanted of an item, with the chance that they do.
    pub(crate) fn hits(&self, classes: &[Candidate], item: &Item, mut each: impl FnMut(usize, f64)) {
        if item.gone.is_empty() {
            for &(fix, chance) in &self.whole[item.class] {
                each(fix, chance);
            }
        } else {
            for (fix, chance) in self.hits_of(&classes[item.class], item.gone) {
                each(fix, chance);
            }
        }
    }

    /// P(a fix removes at least one cause) = 1 − Π(1 − q), over the causes that do not break again.
    fn hits_of(&self, class: &Candidate, gone: BitSet) -> Vec<(usize, f64)> {
        let mut misses: Vec<(usize, f64)> = Vec::new();
        for cause in class.causes.minus(gone).iter() {
            if class.blocked(cause as u8, gone) {
                continue;
            }
            for &(fix, chance) in &self.by_cause[cause] {
                match misses.iter_mut().find(|(other, _)| *other == fix) {
                    Some((_, miss)) => *miss *= 1.0 - chance,
                    None => misses.push((fix, 1.0 - chance)),
                }
            }
        }
        misses.into_iter().map(|(fix, miss)| (fix, 1.0 - miss)).collect()
    }

    /// Minutes from `mode` through the proof; infinite where there is none.
    pub(crate) fn to_proof(&self, mode: Mode) -> f64 {
        match self.proof {
            Proof::AtOnce => 0.0,
            Proof::Takes { cost, from, .. } => self.travel.minutes(mode, from) + cost,
            Proof::Never => f64::INFINITY,
        }
    }

    /// Minutes' worth of going from `mode` to a fix and doing it, and the mode then. Infinite where it is not theirs.
    pub(crate) fn to_fix(&self, mode: Mode, fix: usize) -> (f64, Mode) {
        self.fixes[fix].as_ref().map_or((f64::INFINITY, mode), |form| {
            let (way, there) = self.travel.nearest(mode, &form.at);
            (way + form.cost, there)
        })
    }

    /// The least that `candidate` can cost this person when everything is known, success draws included:
    ///
    /// E over draws of min(cheapest set of succeeding fixes that covers the culprits, then one proof; `stop`).
    ///
    /// Shared ways are counted once, and only those that no set can do without, so it is a lower bound for every policy.
    pub(crate) fn perfect(&self, candidate: &Candidate, start: Option<Mode>, stop: f64) -> f64 {
        if candidate.cured(BitSet::default()) {
            return stop.min(start.map_or(0.0, |mode| self.to_proof(mode)));
        }
        if candidate.unlisted || self.proof == Proof::Never {
            return stop;
        }
        let culprits: Vec<usize> = candidate.culprits.iter().collect();
        let mut pairs: Vec<(usize, usize, f64)> = Vec::new(); // (position of the culprit, fix, chance)
        let mut ways = 0.0f64;
        for (position, &cause) in culprits.iter().enumerate() {
            let mut nearest = f64::INFINITY;
            for &(fix, chance) in &self.by_cause[cause] {
                let way = self.way_through(start, fix);
                if way.is_finite() {
                    nearest = nearest.min(way);
                    pairs.push((position, fix, chance));
                }
            }
            ways = ways.max(nearest);
        }
        if !ways.is_finite() {
            return stop;
        }
        let cost = |fix: usize| self.fixes[fix].as_ref().map_or(f64::INFINITY, |form| form.cost);
        if culprits.len() == 1 {
            return self.one_culprit(
                pairs.iter().map(|&(_, fix, chance)| (self.way_through(start, fix) + cost(fix), chance)),
                stop,
            );
        }
        // Cheap pairs are drawn out; the others are taken as certain.
        pairs.sort_by(|a, b| cost(a.1).total_cmp(&cost(b.1)).then(a.cmp_indices(b)));
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

    /// The ways that a fix cannot do without, and the proof after it.
    fn way_through(&self, start: Option<Mode>, fix: usize) -> f64 {
        let Some(form) = &self.fixes[fix] else { return f64::INFINITY };
        let ends =
            |mode: Mode| start.map_or(0.0, |from| self.travel.minutes(from, mode)) + self.to_proof(mode);
        match form.at.is_empty() {
            false => form.at.iter().map(|&mode| ends(mode)).fold(f64::INFINITY, f64::min),
            true => match (start, self.proof) {
                (Some(mode), _) => self.to_proof(mode),
                (None, Proof::Takes { cost, .. }) => cost,
                (None, _) => 0.0,
            },
        }
    }

    /// Fixes for the only culprit, in order of cost, each tried where the cheaper ones would fail.
    fn one_culprit(&self, fixes: impl Iterator<Item = (f64, f64)>, stop: f64) -> f64 {
        let mut fixes: Vec<(f64, f64)> = fixes.collect();
        fixes.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.total_cmp(&a.1)));
        let (mut expected, mut open) = (0.0, 1.0);
        for (cost, chance) in fixes {
            expected += open * chance * cost.min(stop);
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

/// An order of pairs by their indices, for ties.
trait ByIndices {
    fn cmp_indices(&self, other: &Self) -> std::cmp::Ordering;
}

impl ByIndices for (usize, usize, f64) {
    fn cmp_indices(&self, other: &Self) -> std::cmp::Ordering {
        (self.1, self.0).cmp(&(other.1, other.0))
    }
}
