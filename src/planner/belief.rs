//! What is believed at a point of a plan, and how tests, fixes and proofs change it.
//!
//! Weights are not normalised: what a result leaves over is its chance times the belief after it.

use super::base_plan::{From, Item};
use super::prepared::Prepared;
use super::problem::{Problem, Shown};
use super::remaining::remove;
use super::travel::Mode;
use crate::model::practice::BitSet;

/// The bit of [`Particle::drawn`] that tells that a test was taken.
const KNOWN: u16 = 1 << 15;

/// A candidate with what is gone of it.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Particle {
    pub(crate) candidate: usize,
    pub(crate) gone: BitSet,
    pub(crate) weight: f64,
    /// What is known of the draws of tests that can be taken again: sixteen bits for each, the highest that it was taken,
    /// the others which of its factors drew abnormal.
    pub(crate) drawn: u128,
}

/// A belief, and where the work stands.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Belief {
    pub(crate) particles: Vec<Particle>,
    pub(crate) mode: Mode,
    /// A fix was done, and the complaints have not been taken since.
    pub(crate) unproven: bool,
    /// Fixes done.
    pub(crate) tried: Vec<bool>,
    /// Outcomes of the tests taken.
    pub(crate) taken: Vec<Option<Vec<usize>>>,
}

/// One joint result of a test.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Result {
    /// An outcome per finding; `None` where the result was too unlikely to be split further.
    pub(crate) outcomes: Vec<Option<usize>>,
    pub(crate) particles: Vec<Particle>,
    pub(crate) weight: f64,
}

impl Belief {
    /// The belief with which a problem begins.
    pub(crate) fn start(problem: &Problem) -> Self {
        let particles = (problem.candidates.iter().enumerate())
            .filter(|(_, candidate)| candidate.weight > 0.0)
            .filter(|(_, candidate)| problem.unproven || !candidate.cured(BitSet::default()))
            .map(|(at, candidate)| Particle {
                candidate: at,
                gone: BitSet::default(),
                weight: candidate.weight,
                drawn: 0,
            })
            .collect();
        Self {
            particles,
            mode: problem.start,
            unproven: problem.unproven,
            tried: vec![false; problem.fixes.len()],
            taken: vec![None; problem.tests.len()],
        }
    }

    /// The weight of all.
    pub(crate) fn weight(&self) -> f64 {
        self.particles.iter().map(|particle| particle.weight).sum()
    }

    /// Whether a test can be taken: not yet taken, and all that it needs answered so.
    pub(crate) fn open(&self, problem: &Problem, test: usize) -> bool {
        self.taken[test].is_none()
            && problem.tests[test].needs.iter().all(|need| {
                let answer = self.taken[need.test].as_ref().and_then(|outcomes| outcomes.get(need.finding));
                answer.is_some_and(|outcome| *outcome < 128 && need.outcomes.has(*outcome))
            })
    }

    /// Minutes' worth of going to a test and taking it, and the mode then.
    pub(crate) fn to_test(&self, problem: &Problem, test: usize) -> (f64, Mode) {
        let form = &problem.tests[test];
        let (way, there) = problem.travel.nearest(self.mode, &form.at);
        (way + form.cost, there)
    }

    /// The results of a test. Results below `fine` of the whole weight are not split further, which only gives up
    /// information and so keeps every value one that a real plan attains.
    pub(crate) fn results(&self, problem: &Problem, test: usize, fine: f64) -> Vec<Result> {
        if let Some(slot) = problem.slot(test) {
            return self.results_of_draws(&problem.tests[test].shows[0], slot);
        }
        let floor = fine * self.weight();
        let mut open =
            vec![Result { outcomes: Vec::new(), weight: self.weight(), particles: self.particles.clone() }];
        for shown in &problem.tests[test].shows {
            let mut split = Vec::with_capacity(open.len() * shown.outcomes);
            for result in open {
                if result.weight < floor || result.outcomes.last() == Some(&None) {
                    let mut whole = result;
                    whole.outcomes.push(None);
                    split.push(whole);
                    continue;
                }
                let mut parts: Vec<Result> = (0..shown.outcomes)
                    .map(|outcome| {
                        let mut outcomes = result.outcomes.clone();
                        outcomes.push(Some(outcome));
                        Result {
                            outcomes,
                            particles: Vec::with_capacity(result.particles.len()),
                            weight: 0.0,
                        }
                    })
                    .collect();
                let mut chances = vec![0.0; shown.outcomes];
                for particle in &result.particles {
                    shown.chances(particle.candidate, particle.gone, &mut chances);
                    for (part, chance) in parts.iter_mut().zip(&chances) {
                        if *chance > 0.0 {
                            let weight = particle.weight * chance;
                            part.weight += weight;
                            part.particles.push(Particle { weight, ..*particle });
                        }
                    }
                }
                split.extend(parts.into_iter().filter(|part| part.weight > 0.0));
            }
            open = split;
        }
        open
    }

    /// The results of a test whose draws are followed: each particle is split by the draws that are not known yet.
    fn results_of_draws(&self, shown: &Shown, slot: usize) -> Vec<Result> {
        let shift = 16 * slot;
        let mut parts = [0, 1].map(|outcome| Result {
            outcomes: vec![Some(outcome)],
            particles: Vec::with_capacity(self.particles.len() + 4),
            weight: 0.0,
        });
        let mut add = |particle: Particle, abnormal: bool| {
            for (outcome, part) in parts.iter_mut().enumerate() {
                let told = (outcome == 1) == abnormal;
                let weight = particle.weight * if told { shown.trust } else { 1.0 - shown.trust };
                if weight > 0.0 {
                    part.weight += weight;
                    part.particles.push(Particle { weight, ..particle });
                }
            }
        };
        for particle in &self.particles {
            let factors = &shown.responses[shown.of[particle.candidate] as usize].0;
            let known = (particle.drawn >> shift) as u16;
            let live = |at: &usize| factors[*at].live(particle.gone);
            if known & KNOWN != 0 && factors.iter().all(|factor| !factor.absent) {
                let abnormal = (0..factors.len()).filter(live).any(|at| known >> at & 1 == 1);
                add(*particle, abnormal);
                continue;
            }
            let open: Vec<usize> = (0..factors.len()).filter(live).collect();
            for draw in 0..1u16 << open.len() {
                let (mut weight, mut yes) = (particle.weight, 0);
                for (bit, &at) in open.iter().enumerate() {
                    let normal = factors[at].at_most[0];
                    if draw >> bit & 1 == 1 {
                        weight *= 1.0 - normal;
                        yes |= 1 << at;
                    } else {
                        weight *= normal;
                    }
                }
                if weight > 0.0 {
                    let drawn = particle.drawn & !(0xFFFF << shift) | u128::from(KNOWN | yes) << shift;
                    add(Particle { weight, drawn, ..*particle }, draw != 0);
                }
            }
        }
        parts.into_iter().filter(|part| part.weight > 0.0).collect()
    }

    /// The belief after a result of a test.
    pub(crate) fn after(&self, problem: &Problem, test: usize, result: &Result) -> Self {
        let mut taken = self.taken.clone();
        // An outcome that was not split off counts as known to no need.
        taken[test] = Some(result.outcomes.iter().map(|outcome| outcome.unwrap_or(usize::MAX)).collect());
        Self {
            particles: result.particles.clone(),
            mode: self.to_test(problem, test).1,
            unproven: self.unproven,
            tried: self.tried.clone(),
            taken,
        }
    }

    /// The belief after a fix, before anything is seen.
    pub(crate) fn fixed(&self, problem: &Problem, fix: usize) -> Self {
        let form = &problem.fixes[fix];
        let mut particles = Vec::with_capacity(self.particles.len());
        for particle in &self.particles {
            remove(&problem.candidates[particle.candidate], particle.gone, &form.removes, |gone, chance| {
                let drawn = if particle.drawn == 0 || gone == particle.gone {
                    particle.drawn
                } else {
                    still_drawn(problem, particle, gone)
                };
                particles.push(Particle { gone, weight: particle.weight * chance, drawn, ..*particle });
            });
        }
        let mut tried = self.tried.clone();
        tried[fix] = true;
        Self {
            particles,
            mode: problem.travel.nearest(self.mode, &form.at).1,
            unproven: true,
            tried,
            taken: (self.taken.iter().enumerate())
                .map(|(test, taken)| if problem.tests[test].again { None } else { taken.clone() })
                .collect(),
        }
    }

    /// The belief after a proof that failed.
    pub(crate) fn failed(&self, problem: &Problem, mode: Mode) -> Self {
        let particles = (self.particles.iter().copied())
            .filter(|particle| !problem.candidates[particle.candidate].cured(particle.gone))
            .collect();
        Self { particles, mode, unproven: false, tried: self.tried.clone(), taken: self.taken.clone() }
    }

    /// Equal particles made one, in a fixed order.
    pub(crate) fn gathered(mut self) -> Self {
        let key = |particle: &Particle| (particle.candidate, particle.gone, particle.drawn);
        if !self.particles.windows(2).all(|pair| key(&pair[0]) < key(&pair[1])) {
            self.particles.sort_by_key(key);
            self.particles.dedup_by(|next, kept| {
                let same = key(next) == key(kept);
                if same {
                    kept.weight += next.weight;
                }
                same
            });
        }
        self
    }

    /// A fingerprint: equal for beliefs that differ in nothing that matters to a plan. Weights count by their share, to
    /// eleven digits. `opens` tells the tests whose outcomes another one needs.
    pub(crate) fn fingerprint(&self, weight: f64, opens: &[bool]) -> u128 {
        let mut hash = Fingerprint::default();
        hash.add(u64::from(self.mode) << 1 | u64::from(self.unproven));
        for (at, tried) in self.tried.iter().enumerate() {
            if *tried {
                hash.add(at as u64);
            }
        }
        hash.add(u64::MAX);
        for (at, taken) in self.taken.iter().enumerate() {
            if let Some(outcomes) = taken {
                hash.add(at as u64);
                if opens[at] {
                    outcomes.iter().for_each(|outcome| hash.add(*outcome as u64));
                }
            }
        }
        hash.add(u64::MAX);
        for particle in &self.particles {
            let share = (particle.weight / weight * 1e11).round() as u64;
            if share > 0 {
                hash.add(particle.candidate as u64);
                hash.add(particle.gone.0 as u64);
                hash.add((particle.gone.0 >> 64) as u64);
                hash.add(particle.drawn as u64);
                hash.add((particle.drawn >> 64) as u64);
                hash.add(share);
            }
        }
        hash.value()
    }

    /// Whether no particle is of a fix or of followed draws: as things stand.
    pub(crate) fn untouched(&self) -> bool {
        self.particles.iter().all(|particle| particle.gone.is_empty() && particle.drawn == 0)
    }

    /// Where a plan from here begins.
    pub(crate) fn from(&self) -> From<'_> {
        From { mode: self.mode, unproven: self.unproven, tried: &self.tried }
    }

    /// The classes of the particles, merged.
    pub(crate) fn items(&self, prepared: &Prepared<'_>) -> Vec<Item> {
        merge(prepared, &self.particles)
    }
}

/// Particles by class and what is gone, in the order of the classes.
pub(crate) fn merge(prepared: &Prepared<'_>, particles: &[Particle]) -> Vec<Item> {
    if particles.iter().all(|particle| particle.gone.is_empty()) {
        let mut weights = vec![0.0; prepared.classes.len()];
        for particle in particles {
            weights[prepared.class_of[particle.candidate]] += particle.weight;
        }
        return (weights.into_iter().enumerate())
            .filter(|(_, weight)| *weight > 0.0)
            .map(|(class, weight)| Item { class, gone: BitSet::default(), weight })
            .collect();
    }
    let mut items: Vec<Item> = (particles.iter())
        .map(|particle| {
            let class = prepared.class_of[particle.candidate];
            let gone = BitSet(particle.gone.0 & prepared.classes[class].causes.0);
            Item { class, gone, weight: particle.weight }
        })
        .collect();
    items.sort_by_key(|item| (item.class, item.gone));
    items.dedup_by(|next, kept| {
        let same = next.class == kept.class && next.gone == kept.gone;
        if same {
            kept.weight += next.weight;
        }
        same
    });
    items
}

/// What was drawn, less the draws that no longer count: those of causes that are gone.
fn still_drawn(problem: &Problem, particle: &Particle, gone: BitSet) -> u128 {
    let mut drawn = particle.drawn;
    for test in 0..problem.tests.len() {
        let Some(slot) = problem.slot(test) else { continue };
        let shown = &problem.tests[test].shows[0];
        for (at, factor) in shown.responses[shown.of[particle.candidate] as usize].0.iter().enumerate() {
            if !factor.live(gone) && !factor.absent {
                drawn &= !(1 << (16 * slot + at));
            }
        }
    }
    drawn
}

/// Two 64-bit hashes side by side, the same on every machine.
struct Fingerprint([u64; 2]);

impl Default for Fingerprint {
    fn default() -> Self {
        Self([0x9E37_79B9_7F4A_7C15, 0xC2B2_AE3D_27D4_EB4F])
    }
}

impl Fingerprint {
    fn add(&mut self, word: u64) {
        for (hash, odd) in self.0.iter_mut().zip([0xBF58_476D_1CE4_E5B9, 0x94D0_49BB_1331_11EB]) {
            *hash = (*hash ^ word).wrapping_mul(odd);
            *hash ^= *hash >> 29;
        }
    }

    fn value(&self) -> u128 {
        u128::from(self.0[0]) << 64 | u128::from(self.0[1])
    }
}
