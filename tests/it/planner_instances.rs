//! Random small problems of known classes, and the planner held against their exact optimum.
//!
//! Costs are log-uniform: tests .5–12, fixes 2–50, stop 60–200. *One fault*: 4–8 causes with Dirichlet(1) weights, 3–6
//! tests, P(abnormal) .6–.99 on a random subset and .01–.2 elsewhere (or 1 and 0); fix i cures cause i with .7–1, a quarter
//! of them one to three others with .5–1; cured or not is seen at once. *Work states*: 4–5 causes, half of the tests and
//! most fixes need a lockout, the proof is an act of its own. *Two faults*: sets of one or two of four causes.

use proptest::prelude::*;
use whytrip::model::practice::BitSet;
use whytrip::planner::Budget;
use whytrip::planner::closed_loop::exactly;
use whytrip::planner::lookahead::plan;
use whytrip::planner::optimum::optimum;
use whytrip::planner::policy::Policy;
use whytrip::planner::problem::{
    Candidate, Factor, FixForm, Problem, Proof, Response, Shown, Stop, TestForm,
};
use whytrip::planner::travel::Travel;

/// Chance that repeats: SplitMix64.
pub struct Chance(pub u64);

impl Chance {
    pub fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ z >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ z >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ z >> 31) >> 11) as f64 / (1u64 << 53) as f64
    }
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }
    pub fn log_between(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp()
    }
    pub fn below(&mut self, n: usize) -> usize {
        (self.unit() * n as f64) as usize
    }
    pub fn yes(&mut self, p: f64) -> bool {
        self.unit() < p
    }
}

fn extra_cures(chance: &mut Chance, own: u8, causes: usize, most: usize) -> Vec<(u8, f64)> {
    let mut cures = vec![(own, chance.between(0.7, 1.0))];
    for _ in 0..1 + chance.below(most) {
        let other = chance.below(causes) as u8;
        if cures.iter().all(|(cause, _)| *cause != other) {
            cures.push((other, chance.between(0.5, 1.0)));
        }
    }
    cures
}

fn one_fault_test(chance: &mut Chance, causes: usize) -> Vec<Vec<f64>> {
    let certain = chance.yes(0.25);
    (0..causes)
        .map(|_| {
            let shows = chance.yes(0.5);
            let p = match (certain, shows) {
                (true, _) => f64::from(u8::from(shows)),
                (false, true) => chance.between(0.6, 0.99),
                (false, false) => chance.between(0.01, 0.2),
            };
            vec![1.0 - p, p]
        })
        .collect()
}

fn dirichlet(chance: &mut Chance, n: usize) -> Vec<f64> {
    let draws: Vec<f64> = (0..n).map(|_| -(1.0 - chance.unit()).ln()).collect();
    let sum: f64 = draws.iter().sum();
    draws.iter().map(|draw| draw / sum).collect()
}

pub fn one_fault(seed: u64) -> Problem {
    let mut chance = Chance(seed);
    let causes = 4 + chance.below(5);
    let tests = 3 + chance.below(4);
    let weights = dirichlet(&mut chance, causes);
    Problem {
        candidates: weights
            .iter()
            .enumerate()
            .map(|(at, weight)| Candidate::fault(*weight, at as u8))
            .collect(),
        tests: (0..tests)
            .map(|_| TestForm {
                cost: chance.log_between(0.5, 12.0),
                shows: vec![Shown::table(&one_fault_test(&mut chance, causes))],
                ..TestForm::default()
            })
            .collect(),
        fixes: (0..causes as u8)
            .map(|own| {
                let removes = match chance.yes(0.25) {
                    true => extra_cures(&mut chance, own, causes, 3),
                    false => vec![(own, chance.between(0.7, 1.0))],
                };
                FixForm { cost: chance.log_between(2.0, 50.0), removes, ..FixForm::default() }
            })
            .collect(),
        proof: Proof::AtOnce,
        stops: vec![Stop::Flat(chance.log_between(60.0, 200.0))],
        travel: Travel::nowhere(),
        start: 0,
        unproven: false,
        least_saving: 0.0,
    }
}

/// A test that shows what the rows say while the cause is there, and is abnormal by this chance when it is gone.
fn until_cured(rows: Vec<Vec<f64>>, afterwards: f64) -> Shown {
    let mut shown = Shown::table(&rows);
    for (cause, response) in shown.responses.iter_mut().enumerate() {
        let roots = BitSet::default().with(cause);
        response.0[0].roots = roots;
        response.0.push(Factor { roots, at_most: vec![1.0 - afterwards, 1.0], absent: true });
    }
    shown
}

pub fn work_states(seed: u64) -> Problem {
    let mut chance = Chance(seed);
    let causes = 4 + chance.below(2);
    let tests = 2 + chance.below(2);
    let weights = dirichlet(&mut chance, causes);
    let mode = |chance: &mut Chance, p: f64| vec![u16::from(chance.yes(p))];
    let (lock, back) = (chance.between(5.0, 15.0), chance.between(2.0, 8.0));
    Problem {
        candidates: weights
            .iter()
            .enumerate()
            .map(|(at, weight)| Candidate::fault(*weight, at as u8))
            .collect(),
        tests: (0..tests)
            .map(|_| TestForm {
                cost: chance.log_between(0.5, 12.0),
                at: mode(&mut chance, 0.5),
                shows: vec![until_cured(one_fault_test(&mut chance, causes), chance.between(0.01, 0.1))],
                needs: Vec::new(),
                again: false,
            })
            .collect(),
        fixes: (0..causes as u8)
            .map(|own| FixForm {
                cost: chance.log_between(2.0, 50.0),
                at: mode(&mut chance, 0.7),
                removes: match chance.yes(0.1) {
                    true => extra_cures(&mut chance, own, causes, 1),
                    false => vec![(own, chance.between(0.7, 1.0))],
                },
                parts: false,
            })
            .collect(),
        proof: Proof::Takes { cost: chance.between(1.0, 5.0), from: 0, to: 0 },
        stops: vec![Stop::Flat(chance.log_between(60.0, 200.0))],
        travel: Travel::new(2, &[(0, 1, lock), (1, 0, back)]),
        start: 0,
        unproven: false,
        least_saving: 0.0,
    }
}

/// Sets of one or two of four causes, every one of them a culprit; tests are noisy-ORs whose draws count while their cause
/// is there.
pub fn two_faults(seed: u64) -> Problem {
    let mut chance = Chance(seed);
    let priors: Vec<f64> = (0..4).map(|_| chance.log_between(0.02, 0.3)).collect();
    let mut candidates = Vec::new();
    for set in 1u32..16 {
        if set.count_ones() <= 2 {
            let there = |cause: usize| set >> cause & 1 == 1;
            let weight = (0..4).map(|c| if there(c) { priors[c] } else { 1.0 - priors[c] }).product();
            let causes = BitSet(set.into());
            candidates.push(Candidate { weight, causes, culprits: causes, ..Candidate::default() });
        }
    }
    let tests = 2 + chance.below(2);
    let forms = (0..tests)
        .map(|_| {
            let sure = chance.below(4);
            let strengths: Vec<f64> = (0..4)
                .map(|cause| if cause == sure || chance.yes(0.4) { chance.between(0.6, 0.99) } else { 0.0 })
                .collect();
            let leak = chance.between(0.01, 0.1);
            let responses = (candidates.iter())
                .map(|candidate| {
                    let own = candidate.causes.iter().map(|cause| Factor {
                        roots: BitSet::default().with(cause),
                        at_most: vec![1.0 - strengths[cause], 1.0],
                        absent: false,
                    });
                    let leak =
                        Factor { roots: BitSet::default(), at_most: vec![1.0 - leak, 1.0], absent: false };
                    Response(own.chain([leak]).collect())
                })
                .collect();
            TestForm {
                cost: chance.log_between(0.5, 12.0),
                shows: vec![Shown {
                    outcomes: 2,
                    of: (0..candidates.len() as u32).collect(),
                    responses,
                    trust: 1.0,
                }],
                again: true,
                ..TestForm::default()
            }
        })
        .collect();
    let fixes = (0..4u8)
        .map(|own| FixForm {
            cost: chance.log_between(2.0, 50.0),
            removes: match chance.yes(0.5) {
                true => extra_cures(&mut chance, own, 4, 1),
                false => vec![(own, chance.between(0.7, 1.0))],
            },
            ..FixForm::default()
        })
        .collect();
    Problem {
        candidates,
        tests: forms,
        fixes,
        proof: Proof::AtOnce,
        stops: vec![Stop::Flat(chance.log_between(60.0, 200.0))],
        travel: Travel::nowhere(),
        start: 0,
        unproven: false,
        least_saving: 0.0,
    }
}

/// A name, and the problem that a seed gives.
pub type Class = (&'static str, fn(u64) -> Problem);

/// The classes by name.
pub const CLASSES: [Class; 3] =
    [("one fault", one_fault), ("two faults", two_faults), ("work states", work_states)];
/// So many problems of each, seeds from 0.
pub const COUNT: u64 = 200;

/// Excess of a policy at the near-optimal effort, asked anew at every point, over the optimum. Exact.
pub fn excess_of(problem: &Problem, policy: Policy, best: f64) -> f64 {
    exactly(problem, policy, Budget::NEAR_OPTIMAL.expansions, 1_000_000).unwrap().value / best - 1.0
}

pub fn percentile(values: &[f64], percent: usize) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted[(sorted.len() * percent).div_ceil(100) - 1]
}

/// Beliefs that the exact solver may value here.
const SOLVED: usize = 2_500;

pub fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// The plan's value is attained by a plan, so it is never below the optimum, which is never below perfect information.
///
/// `false`: too large to be solved here.
fn holds(problem: &Problem) -> bool {
    let Some(best) = optimum(problem, SOLVED) else { return false };
    let first = plan(problem, 0);
    let further = plan(problem, 500);
    let close = 1e-9 * best.value;
    assert!(best.value <= first.value + close, "{} {}", best.value, first.value);
    assert!(best.value <= further.value + close);
    assert!(further.value <= first.value + close, "looking further is no worse");
    assert!(first.bound <= best.value + close, "bound {} optimum {}", first.bound, best.value);
    let stop = first.stop.unwrap().1;
    assert!(first.value <= stop + close);
    assert_eq!(plan(problem, 500), further, "the same again");
    true
}

#[test]
fn planner_lies_between_optimum_and_stopping() {
    for class in [one_fault, work_states, two_faults] {
        let solved = (0..40).filter(|seed| holds(&class(*seed))).count();
        assert!(solved >= 4, "only {solved} were small enough");
    }
}

/// The optima of all problems, as the exact solver found them.
fn optima() -> Vec<(String, Vec<f64>)> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/planner/optima.txt");
    let text = std::fs::read_to_string(path).unwrap();
    (CLASSES.iter())
        .map(|(name, _)| {
            let own = text.lines().filter_map(|line| line.strip_prefix(name)?.strip_prefix(": "));
            ((*name).to_owned(), own.map(|value| value.parse().unwrap()).collect())
        })
        .collect()
}

/// The written optima are those of the solver: every tenth is solved again.
#[test]
fn planner_optima_are_the_solvers() {
    let mut solved = 0;
    for ((_, class), (name, best)) in CLASSES.into_iter().zip(optima()) {
        assert_eq!(best.len() as u64, COUNT, "{name}");
        for seed in (0..COUNT).step_by(10) {
            if let Some(again) = optimum(&class(seed), 30_000) {
                let written = best[seed as usize];
                assert!((again.value - written).abs() < 1e-9 * written, "{name} {seed}");
                solved += 1;
            }
        }
    }
    assert!(solved > 30, "{solved}");
}

/// Roll-out with two steps, asked anew at every point and without the exact solver, is this near the optimum.
#[test]
fn planner_excess_over_the_optimum() {
    let limits = [(0.05, 0.3), (0.05, 0.3), (0.1, 0.8)];
    for (((name, class), (_, best)), (most, high)) in CLASSES.into_iter().zip(optima()).zip(limits) {
        let excess: Vec<f64> = (0..COUNT)
            .map(|seed| 100.0 * excess_of(&class(seed), Policy::RolloutTwoSteps, best[seed as usize]))
            .collect();
        let (mean, tail) = (mean(&excess), percentile(&excess, 95));
        println!("{name}: {mean:.4} / {tail:.3} %");
        assert!(excess.iter().all(|excess| *excess > -1e-7), "{name}: better than the best");
        assert!(mean <= most, "{name}: mean {mean}");
        assert!(tail <= high, "{name}: 95th percentile {tail}");
    }
}

/// The same problem with everything numbered otherwise.
fn renumbered(problem: &Problem) -> Problem {
    let n = problem.candidates.len();
    let cause = |at: u8| 127 - at;
    let set = |set: BitSet| set.iter().fold(BitSet::default(), |all, at| all.with(127 - at));
    let mut other = problem.clone();
    other.candidates = (problem.candidates.iter().rev())
        .map(|candidate| Candidate {
            causes: set(candidate.causes),
            culprits: set(candidate.culprits),
            held: candidate.held.iter().map(|(held, by)| (cause(*held), set(*by))).collect(),
            ..candidate.clone()
        })
        .collect();
    other.tests.reverse();
    for test in &mut other.tests {
        for shown in &mut test.shows {
            shown.of.reverse();
            for factor in shown.responses.iter_mut().flat_map(|response| &mut response.0) {
                factor.roots = set(factor.roots);
            }
        }
    }
    assert_eq!(other.candidates.len(), n);
    other.fixes.reverse();
    for fix in &mut other.fixes {
        fix.removes = fix.removes.iter().rev().map(|(at, q)| (cause(*at), *q)).collect();
    }
    other
}

proptest! {
    #![proptest_config(crate::support::cases(40))]

    #[test]
    fn planner_value_does_not_hang_on_numbering(seed in any::<u64>(), class in 0..3u8) {
        let problem = match class { 0 => one_fault(seed), 1 => work_states(seed), _ => two_faults(seed) };
        let other = renumbered(&problem);
        let (a, b) = (plan(&problem, 0), plan(&other, 0));
        prop_assert!((a.value - b.value).abs() <= 1e-9 * a.value.abs().max(1.0), "{} {}", a.value, b.value);
        prop_assert!((a.bound - b.bound).abs() <= 1e-9 * a.bound.abs().max(1.0));
    }

    #[test]
    fn planner_bounds_hold(seed in any::<u64>(), class in 0..3u8) {
        let problem = match class { 0 => one_fault(seed), 1 => work_states(seed), _ => two_faults(seed) };
        let chosen = plan(&problem, 0);
        prop_assert!(chosen.value.is_finite());
        prop_assert!(chosen.bound <= chosen.value * (1.0 + 1e-12));
        prop_assert!(chosen.value <= chosen.base * (1.0 + 1e-12));
        prop_assert!(chosen.value <= chosen.stop.unwrap().1 * (1.0 + 1e-12));
    }
}
