//! Which tests can change the plan: what their results do to the classes, and no more than that can they save.
//!
//! In: the belief at the start. Out: the open tests with the most that each may save, the most promising first.
//!
//! At stake in a class is what the plan without tests costs beyond the class's own bound: so much could be saved if it were
//! known. A result r that comes with p_r turns the weights w into w_r, and makes known that a class is more likely than
//! before: (w_r − p_r·w)⁺ × what is at stake. A test whose results leave the shares as they are saves nothing, for
//! the value of the best plan is homogeneous in the weights. It is a measure to look at the tests in good order and to stop
//! looking, not a bound.

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

    /// Σ over outcomes and classes of (w_r − p_r·w)⁺ × what is at stake.
    fn moved(&self, before: &[f64], stake: &[f64], weight: f64) -> f64 {
        let of = |outcome: usize| -> f64 {
            let share = self.whole[outcome] / weight;
            let classes = self.of(outcome).iter().zip(before).zip(stake);
            classes.map(|((then, now), stake)| (then - share * now).max(0.0) * stake).sum()
        };
        (0..self.whole.len()).map(of).sum()
    }
}

/// The open tests, the most promising first, those left out that cost more than they may save. `base`: what the plan
/// without tests costs, per unit of weight.
pub(crate) fn promising(
    prepared: &Prepared<'_>,
    belief: &Belief,
    base: f64,
    rows: &mut Rows,
) -> Vec<Promise> {
    let problem = prepared.problem;
    let weight = belief.weight();
    let mut before = vec![0.0; prepared.classes.len()];
    for particle in &belief.particles {
        before[prepared.class_of[particle.candidate]] += particle.weight;
    }
    let stake: Vec<f64> = prepared.bound.iter().map(|bound| (base - bound).max(0.0)).collect();
    let moved: Vec<f64> = (problem.tests.iter())
        .map(|test| {
            let of = |shown: &Shown| {
                rows.split(prepared, belief, shown);
                rows.moved(&before, &stake, weight)
            };
            test.shows.iter().map(of).sum()
        })
        .collect();
    let mut promises: Vec<Promise> = (0..problem.tests.len())
        .filter(|&test| belief.open(problem, test))
        .filter_map(|test| {
            let (cost, _) = belief.to_test(problem, test);
            let opened: f64 = opened_by(problem, test).map(|other| moved[other]).sum();
            let saves = moved[test] + opened - cost * weight;
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
