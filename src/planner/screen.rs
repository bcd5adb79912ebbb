//! Which tests can change the plan: what their results do to the classes, and no more than that can they save.
//!
//! In: the belief at the start. Out: the open tests with the most that each may save, the most promising first.
//!
//! A plan without tests costs Σ weight × (its cost in that class), so the value of the best one is concave in the weights. A
//! result r that comes with p_r turns the weights w into w_r; by concavity it saves at most Σ over classes of
//! |w_r − p_r·w| / 2 times the spread of costs over the classes. A test whose results leave the shares as they are saves nothing.
//! The spread is taken as that between the dearest stop and the cheapest cure: a plan may spread further, so this is a
//! measure to look at the tests in good order and to stop looking, not a proof.

use super::belief::Belief;
use super::prepared::Prepared;
use super::problem::{Problem, Shown};

/// A test and what it may save, not normalised.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Promise {
    pub(crate) test: usize,
    pub(crate) saves: f64,
}

/// Results of a test with one finding, by class.
#[derive(Clone, Debug, Default)]
pub(crate) struct Rows {
    /// For each outcome, the weight of every class.
    weights: Vec<f64>,
    /// For each outcome, its weight.
    pub(crate) whole: Vec<f64>,
    classes: usize,
    chances: Vec<f64>,
}

impl Rows {
    /// What a finding splits the belief into. Nothing may be gone of any particle.
    pub(crate) fn split(&mut self, prepared: &Prepared<'_>, belief: &Belief, shown: &Shown) {
        let outcomes = shown.outcomes;
        self.classes = prepared.classes.len();
        self.weights.clear();
        self.weights.resize(outcomes * self.classes, 0.0);
        self.whole.clear();
        self.whole.resize(outcomes, 0.0);
        self.chances.clear();
        self.chances.resize(outcomes * shown.responses.len(), f64::NAN);
        for particle in &belief.particles {
            let row = outcomes * shown.of[particle.candidate] as usize;
            if self.chances[row].is_nan() {
                shown.chances(particle.candidate, particle.gone, &mut self.chances[row..row + outcomes]);
            }
            let class = prepared.class_of[particle.candidate];
            for (outcome, chance) in self.chances[row..row + outcomes].iter().enumerate() {
                self.weights[outcome * self.classes + class] += particle.weight * chance;
            }
        }
        for outcome in 0..outcomes {
            self.whole[outcome] = self.of(outcome).iter().sum();
        }
    }

    /// The weight of every class with an outcome.
    pub(crate) fn of(&self, outcome: usize) -> &[f64] {
        &self.weights[outcome * self.classes..(outcome + 1) * self.classes]
    }

    /// Σ over outcomes and classes of |w_r − p_r·w| / 2.
    fn moved(&self, before: &[f64], weight: f64) -> f64 {
        let of = |outcome: usize| -> f64 {
            let share = self.whole[outcome] / weight;
            let moved = self.of(outcome).iter().zip(before).map(|(then, now)| (then - share * now).abs());
            moved.sum()
        };
        (0..self.whole.len()).map(of).sum::<f64>() / 2.0
    }
}

/// The open tests, the most promising first, those left out that cost more than they may save.
pub(crate) fn promising(prepared: &Prepared<'_>, belief: &Belief, rows: &mut Rows) -> Vec<Promise> {
    let problem = prepared.problem;
    let weight = belief.weight();
    let mut before = vec![0.0; prepared.classes.len()];
    for particle in &belief.particles {
        before[prepared.class_of[particle.candidate]] += particle.weight;
    }
    let spread = spread(prepared, &before);
    let moved: Vec<f64> = (problem.tests.iter())
        .map(|test| {
            let of = |shown: &Shown| {
                rows.split(prepared, belief, shown);
                rows.moved(&before, weight)
            };
            test.shows.iter().map(of).sum()
        })
        .collect();
    let mut promises: Vec<Promise> = (0..problem.tests.len())
        .filter(|&test| belief.open(problem, test))
        .filter_map(|test| {
            let (cost, _) = belief.to_test(problem, test);
            let opened: f64 = opened_by(problem, test).map(|other| moved[other]).sum();
            let saves = spread * (moved[test] + opened).min(weight) - cost * weight;
            (saves > 0.0).then_some(Promise { test, saves })
        })
        .collect();
    promises.sort_by(|a, b| b.saves.total_cmp(&a.saves).then(a.test.cmp(&b.test)));
    promises
}

/// Tests that need an answer of this one.
pub(crate) fn opened_by(problem: &Problem, test: usize) -> impl Iterator<Item = usize> {
    (problem.tests.iter().enumerate())
        .filter(move |(_, other)| other.needs.iter().any(|need| need.test == test))
        .map(|(at, _)| at)
}

/// Between the dearest class at its cheapest stop, and the cheapest class at its bound.
fn spread(prepared: &Prepared<'_>, before: &[f64]) -> f64 {
    let (mut least, mut most) = (f64::INFINITY, 0.0f64);
    for (class, _) in before.iter().enumerate().filter(|(_, weight)| **weight > 0.0) {
        least = least.min(prepared.bound[class]);
        let stop = prepared.stop_bound.iter().map(|bounds| bounds[class]).fold(f64::INFINITY, f64::min);
        most = most.max(stop).max(prepared.bound[class]);
    }
    let flat = prepared.problem.stops.iter().filter_map(|stop| match stop {
        super::problem::Stop::Flat(cost) => Some(*cost),
        _ => None,
    });
    (flat.fold(most, f64::max) - least).max(0.0)
}
