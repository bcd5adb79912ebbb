//! A problem made ready: crews, and candidates that are alike for every fix and stop put into one class.
//!
//! Plans of fixes, proofs and stops see a candidate only through its class, and there are far fewer classes than
//! candidates: most complaints have one culprit.

use std::collections::BTreeMap;

use super::crew::Crew;
use super::problem::{Candidate, Problem, Stop};

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
}

impl<'a> Prepared<'a> {
    /// Makes ready. O(candidates × log candidates + classes × fixes).
    pub(crate) fn new(problem: &'a Problem) -> Self {
        let singly = problem.stops.iter().any(|stop| matches!(stop, Stop::Costs(_)));
        let mut known: BTreeMap<Signature, usize> = BTreeMap::new();
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
        let learned = |mut crew: Crew| {
            crew.learn(&classes);
            crew
        };
        let present = learned(Crew::present(problem));
        let sent: Vec<Option<Crew>> = (problem.stops.iter())
            .map(|stop| match stop {
                Stop::Sent(helper) => Some(learned(Crew::sent(helper))),
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
                            helper.minutes + crew.perfect(class, None, helper.last)
                        }
                        (Stop::Sent(helper), None) => helper.minutes,
                    })
                    .collect()
            })
            .collect();
        let bound = (classes.iter().enumerate())
            .map(|(at, class)| {
                let stop = stop_bound.iter().map(|bounds| bounds[at]).fold(f64::INFINITY, f64::min);
                if class.cured(Default::default()) && !problem.unproven {
                    return 0.0;
                }
                present.perfect(class, Some(problem.start), stop)
            })
            .collect();
        let least_stop = (problem.stops.iter())
            .map(|stop| match stop {
                Stop::Costs(costs) => costs.iter().copied().fold(f64::INFINITY, f64::min),
                Stop::Flat(cost) => *cost,
                Stop::Sent(helper) => helper.minutes,
            })
            .fold(f64::INFINITY, f64::min);
        Self { problem, class_of, classes, example, present, sent, stop_bound, bound, least_stop }
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
#[derive(PartialEq, Eq, PartialOrd, Ord)]
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
