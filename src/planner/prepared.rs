//! A problem made ready: crews, and candidates that are alike for every fix and stop put into one class.
//!
//! Plans of fixes, proofs and stops see a candidate only through its class, and there are far fewer classes than
//! candidates: most complaints have one culprit.

use std::cell::RefCell;
use std::collections::HashMap;

use super::base_plan::{Hands, Item};
use super::crew::Crew;
use super::problem::{Candidate, Problem, Stop};
use super::remaining::{Remaining, Rest};

/// A problem made ready for planning.
#[derive(Clone, Debug)]
pub(crate) struct Prepared<'a> {
    pub(crate) problem: &'a Problem,
    /// For each candidate, its class.
    pub(crate) class_of: Vec<usize>,
    /// For each class, a candidate that stands for it.
    pub(crate) classes: Vec<Candidate>,
    /// For each class, the position of that candidate.
    pub(crate) example: Vec<usize>,
    /// The person present.
    pub(crate) present: Crew,
    /// Parallel to the stops: the crew of those that send somebody.
    pub(crate) sent: Vec<Option<Crew>>,
    /// For each stop and class, the least that the stop can cost.
    pub(crate) stop_bound: Vec<Vec<f64>>,
    /// For each class, the least that it can cost in all from the start (perfect information).
    pub(crate) bound: Vec<f64>,
    /// No stop costs less than this per unit of weight.
    pub(crate) least_stop: f64,
    /// For each class, the least that any stop can cost.
    pub(crate) least_bound: Vec<f64>,
    /// One stop costs no more than this per unit of weight, whatever is so: whoever is sent may give up at once.
    pub(crate) dearest_stop: f64,
    /// For each fix, the least that the act costs anybody.
    pub(crate) least_cost: Vec<f64>,
    /// What plans are worked out with.
    pub(crate) scratch: RefCell<Scratch>,
}

/// Buffers of plans, and what fixes leave of the classes.
#[derive(Clone, Debug)]
pub(crate) struct Scratch {
    pub(crate) remaining: Remaining,
    pub(crate) own: Hands,
    pub(crate) other: Hands,
    pub(crate) done: Vec<bool>,
    pub(crate) rests: Vec<(Rest, f64)>,
}

impl Scratch {
    /// The rests of items; to be given back to `rests` for the next plan.
    pub(crate) fn rests_of(&mut self, prepared: &Prepared<'_>, items: &[Item]) -> Vec<(Rest, f64)> {
        let mut rests = std::mem::take(&mut self.rests);
        rests.clear();
        for item in items {
            rests.push((self.remaining.rest(&prepared.classes, item.class, item.gone), item.weight));
        }
        rests
    }
}

impl<'a> Prepared<'a> {
    /// Makes ready. O(candidates × log candidates + classes × fixes).
    pub(crate) fn new(problem: &'a Problem) -> Self {
        let singly = problem.stops.iter().any(|stop| matches!(stop, Stop::Costs(_)));
        let mut known: HashMap<Signature, usize> = HashMap::new();
        let (mut class_of, mut classes, mut example) = (Vec::new(), Vec::new(), Vec::new());
        for (at, candidate) in problem.candidates.iter().enumerate() {
            let signature = Signature::of(candidate, singly.then_some(at));
            let class = *known.entry(signature).or_insert_with(|| {
                let mut standing = candidate.clone();
                let wanted = standing.wanted();
                standing.causes = wanted;
                standing.held.retain(|(cause, _)| wanted.has((*cause).into()));
                classes.push(standing);
                example.push(at);
                classes.len() - 1
            });
            class_of.push(class);
        }
        let remaining = Remaining::new(problem, &classes);
        let present = Crew::present(problem);
        let sent: Vec<Option<Crew>> = (problem.stops.iter())
            .map(|stop| match stop {
                Stop::Sent(helper) => Some(Crew::sent(helper)),
                Stop::Costs(_) | Stop::Flat(_) => None,
            })
            .collect();
        let stop_bound: Vec<Vec<f64>> = (problem.stops.iter().zip(&sent))
            .map(|(stop, crew)| {
                (classes.iter().zip(&example))
                    .map(|(class, &at)| match (stop, crew) {
                        (Stop::Costs(costs), _) => costs[at],
                        (Stop::Flat(cost), _) => *cost,
                        (Stop::Sent(helper), Some(crew)) => {
                            helper.minutes + crew.perfect(&remaining, class, None, helper.last)
                        }
                        (Stop::Sent(helper), None) => helper.minutes,
                    })
                    .collect()
            })
            .collect();
        let least_of = |at: usize| stop_bound.iter().map(|bounds| bounds[at]).fold(f64::INFINITY, f64::min);
        let least_bound: Vec<f64> = (0..classes.len()).map(least_of).collect();
        let dearest_stop = (problem.stops.iter())
            .map(|stop| match stop {
                Stop::Costs(costs) => costs.iter().copied().fold(f64::NEG_INFINITY, f64::max),
                Stop::Flat(cost) => *cost,
                Stop::Sent(helper) => helper.minutes + helper.last,
            })
            .fold(f64::INFINITY, f64::min);
        let least_cost = (0..problem.fixes.len())
            .map(|fix| {
                let others = sent.iter().flatten().map(|crew| crew.cost[fix]);
                others.fold(present.cost[fix], f64::min)
            })
            .collect();
        let bound = (classes.iter().enumerate())
            .map(|(at, class)| {
                let stop = least_bound[at];
                if class.cured(Default::default()) && !problem.unproven {
                    return 0.0;
                }
                present.perfect(&remaining, class, Some(problem.start), stop)
            })
            .collect();
        let least_stop = (problem.stops.iter())
            .map(|stop| match stop {
                Stop::Costs(costs) => costs.iter().copied().fold(f64::INFINITY, f64::min),
                Stop::Flat(cost) => *cost,
                Stop::Sent(helper) => helper.minutes,
            })
            .fold(f64::INFINITY, f64::min);
        let scratch = Scratch {
            remaining,
            own: Hands::default(),
            other: Hands::default(),
            done: Vec::new(),
            rests: Vec::new(),
        };
        let scratch = RefCell::new(scratch);
        Self {
            problem,
            class_of,
            classes,
            example,
            present,
            sent,
            stop_bound,
            bound,
            least_stop,
            least_bound,
            dearest_stop,
            least_cost,
            scratch,
        }
    }

    /// For each fix, the weight of which it removes something.
    pub(crate) fn gains(&self, items: &[Item]) -> Vec<f64> {
        let mut gains = vec![0.0; self.problem.fixes.len()];
        let remaining = &mut self.scratch.borrow_mut().remaining;
        for item in items {
            let rest = remaining.rest(&self.classes, item.class, item.gone);
            remaining.open(&self.classes, rest);
            for hit in remaining.hits(rest) {
                gains[hit.fix as usize] += item.weight * hit.chance;
            }
        }
        gains
    }

    /// The perfect-information bound of the whole problem, per unit of weight.
    pub(crate) fn perfect(&self) -> f64 {
        let (mut sum, mut mass) = (0.0, 0.0);
        for (candidate, &class) in self.problem.candidates.iter().zip(&self.class_of) {
            if candidate.weight > 0.0 {
                sum += candidate.weight * self.bound[class];
                mass += candidate.weight;
            }
        }
        if mass > 0.0 { sum / mass } else { 0.0 }
    }
}

/// What fixes and stops can see of a candidate.
#[derive(PartialEq, Eq, Hash)]
struct Signature {
    culprits: u128,
    unlisted: bool,
    held: Vec<(u8, u128)>,
    singly: Option<usize>,
}

impl Signature {
    fn of(candidate: &Candidate, singly: Option<usize>) -> Self {
        let wanted = candidate.wanted();
        let mut held: Vec<(u8, u128)> = (candidate.held.iter())
            .filter(|(cause, _)| wanted.has((*cause).into()))
            .map(|(cause, by)| (*cause, by.0))
            .collect();
        held.sort_unstable();
        Self { culprits: candidate.culprits.0, unlisted: candidate.unlisted, held, singly }
    }
}
