//! Fixes by chance over cost, each under the belief that those before it failed.
//!
//! Gains are kept up to date fix by fix: only the rests that a fix touches change theirs, so an order of K fixes costs
//! O(rests × fixes per rest + K × (fixes + rests)) in all, without an allocation of its own.

use super::base_plan::NOTHING;
use super::crew::Crew;
use super::problem::{Candidate, Proof};
use super::remaining::{Remaining, Rest};
use super::travel::Mode;

/// After how many failed fixes a plan considers to stop, where that means a plan of everybody who can be sent: ever more
/// rarely.
pub(crate) const CUTS: [usize; 9] = [0, 1, 2, 3, 5, 8, 13, 21, 34];

/// The order ends where the best fix left costs all who wait for it more than this many times what giving up would cost
/// those whom it helps: what follows is better given up.
const DULL: f64 = 2.0;

/// Fixes in greedy order, and what is left after each. Its buffers live from order to order.
#[derive(Clone, Debug, Default)]
pub(crate) struct Order {
    pub(crate) fixes: Vec<usize>,
    /// The weight that is not cured after the first k fixes.
    pub(crate) alive: Vec<f64>,
    /// The weight at the start, cured rests included.
    pub(crate) total: f64,
    /// The rests that are not cured after as many fixes as [`CUTS`] names (or after all of them, where every one counts).
    left: Vec<Vec<(Rest, f64)>>,
    now: Vec<(Rest, f64)>,
    then: Vec<(Rest, f64)>,
    gain: Vec<f64>,
    /// Fixes that gain something and can be done, ascending.
    open: Vec<u32>,
    /// Fixes that are in `open`, or were, or cannot be.
    listed: Vec<bool>,
}

/// What an order is made for.
#[derive(Clone, Copy)]
pub(crate) struct Task<'a> {
    pub(crate) crew: &'a Crew,
    pub(crate) classes: &'a [Candidate],
    pub(crate) mode: Mode,
    /// Fixes already done.
    pub(crate) tried: &'a [bool],
    /// At most so many fixes.
    pub(crate) longest: usize,
    /// What is left is kept after each fix, not only at [`CUTS`].
    pub(crate) each: bool,
    /// What is left is kept at all.
    pub(crate) keep: bool,
    /// No stop costs more than this, per unit of weight.
    pub(crate) dearest: f64,
}

impl Order {
    /// Makes the greedy order for these rests.
    pub(crate) fn make(&mut self, task: &Task<'_>, remaining: &mut Remaining, rests: &[(Rest, f64)]) {
        let crew = task.crew;
        self.fixes.clear();
        self.alive.clear();
        self.now.clear();
        self.gain.clear();
        self.gain.resize(crew.cost.len(), 0.0);
        self.open.clear();
        self.listed.clear();
        self.listed
            .extend(task.tried.iter().zip(&crew.cost).map(|(tried, cost)| *tried || !cost.is_finite()));
        self.total = 0.0;
        let mut alive = 0.0;
        for &(rest, weight) in rests {
            self.total += weight;
            if weight > 0.0 && !remaining.cured(rest) {
                alive += weight;
                self.now.push((rest, weight));
                remaining.open(task.classes, rest);
                self.add(remaining, rest, weight);
            }
        }
        self.alive.push(alive);
        self.keep(task, 0);
        if crew.proof == Proof::Never {
            return;
        }
        let mut here = task.mode;
        while self.fixes.len() < task.longest && self.alive.last().is_some_and(|alive| *alive > 0.0) {
            let Some(at) = self.best(crew, here) else { break };
            let fix = self.open[at] as usize;
            let dull = task.dearest > 0.0 && task.dearest.is_finite();
            if dull && DULL * self.gain[fix] * task.dearest < crew.cost[fix] * self.alive[self.fixes.len()] {
                break;
            }
            self.open.remove(at);
            here = match crew.proof {
                Proof::Takes { to, .. } => to,
                _ => crew.to_fix(here, fix).1,
            };
            self.remove(task, remaining, fix);
            let alive: f64 = self.now.iter().map(|(_, weight)| weight).sum();
            self.fixes.push(fix);
            self.alive.push(if alive <= 1e-15 * self.total { 0.0 } else { alive });
            self.keep(task, self.fixes.len());
        }
    }

    /// Adds what every fix would gain of an opened rest.
    #[inline]
    fn add(&mut self, remaining: &Remaining, rest: Rest, weight: f64) {
        for hit in remaining.hits(rest) {
            self.gain[hit.fix as usize] += weight * hit.chance;
            if !std::mem::replace(&mut self.listed[hit.fix as usize], true) {
                let at = self.open.partition_point(|other| *other < hit.fix);
                self.open.insert(at, hit.fix);
            }
        }
    }

    /// The position in `open` of the fix that is best by gain over cost from here.
    fn best(&self, crew: &Crew, here: Mode) -> Option<usize> {
        let round = matches!(crew.proof, Proof::Takes { .. }) && !self.fixes.is_empty();
        let least = NOTHING * self.total;
        let mut best: Option<(f64, f64, usize)> = None; // (ratio, cost, position)
        for (at, &fix) in self.open.iter().enumerate() {
            let fix = fix as usize;
            let gained = self.gain[fix];
            if gained <= least {
                continue;
            }
            let cost = if round {
                crew.round[fix]
            } else {
                let (way, there) = crew.to_fix(here, fix);
                way + crew.to_proof(there)
            };
            if !cost.is_finite() {
                continue;
            }
            let ratio = gained / cost.max(1e-9);
            if best.is_none_or(|(most, least, _)| ratio > most || (ratio == most && cost < least)) {
                best = Some((ratio, cost, at));
            }
        }
        best.map(|(.., at)| at)
    }

    /// Does a fix: what it touches becomes what it leaves.
    fn remove(&mut self, task: &Task<'_>, remaining: &mut Remaining, fix: usize) {
        self.then.clear();
        for at in 0..self.now.len() {
            let (rest, weight) = self.now[at];
            let Some(&hit) = remaining.hit(rest, fix) else {
                self.then.push((rest, weight));
                continue;
            };
            for hit in remaining.hits(rest) {
                self.gain[hit.fix as usize] -= weight * hit.chance;
            }
            for next in 0..remaining.after(&hit).len() {
                let (rest, chance) = remaining.after(&hit)[next];
                remaining.open(task.classes, rest);
                let weight = weight * chance;
                self.add(remaining, rest, weight);
                self.then.push((rest, weight));
            }
        }
        std::mem::swap(&mut self.now, &mut self.then);
    }

    fn keep(&mut self, task: &Task<'_>, count: usize) {
        let slot = if task.each { Some(count) } else { CUTS.iter().position(|cut| *cut == count) };
        let Some(slot) = slot.filter(|_| task.keep) else { return };
        if self.left.len() <= slot {
            self.left.resize(slot + 1, Vec::new());
        }
        self.left[slot].clone_from(&self.now);
    }

    /// The rests not cured after the first `count` fixes, where they were kept.
    pub(crate) fn left(&self, each: bool, count: usize) -> Option<&[(Rest, f64)]> {
        let slot = if each { Some(count) } else { CUTS.iter().position(|cut| *cut == count) }?;
        self.left.get(slot).map(Vec::as_slice)
    }
}
