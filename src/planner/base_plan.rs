//! The base plan: fixes, proofs and a stop, without any further test.
//!
//! The order is decision-theoretic troubleshooting's (Heckerman, Breese & Rommelse 1995; from memory): always the fix with
//! the greatest P(it removes at least one cause that is there and wanted) ÷ cost, under the belief that all before it
//! failed. Given the order, where to prove is chosen best by dynamic programming over the cuts: a run of fixes between two
//! proofs shares its ways (one lockout, one trip), and all fixes of a run are paid for before it is seen whether the first
//! of them helped. After each failed proof the plan may stop instead, so it never costs more than stopping at once.
//!
//! Weights are not normalised: all values are Σ weight × minutes' worth, and scale with the weight.
//! Cost: that of the order and O(K × longest run) for K fixes, and as much again for each stop that sends somebody and is
//! not ruled out by its bound.

use super::crew::Crew;
use super::order::Order;
use super::prepared::Prepared;
use super::problem::{Helper, Proof, Stop};
use super::travel::Mode;
use crate::model::practice::BitSet;

/// At most so many fixes between two proofs.
const RUN: usize = 12;
/// At most so many fixes in the plan of the person present, and of somebody who is sent: what is left then is given up.
const LONGEST: usize = 40;
const LONGEST_OF_OTHERS: usize = 16;
/// Weights below this share of the whole are taken for nothing: no fix is planned for them.
pub(crate) const NOTHING: f64 = 1e-9;
/// The slip names the parts of those fixes that the plan reaches with at least this chance; parts of others cost a second
/// trip. A judgement: a van carries what is likely, not everything.
pub(crate) const ON_THE_SLIP: f64 = 0.1;

/// A class of candidates with what is gone of it.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Item {
    pub(crate) class: usize,
    pub(crate) gone: BitSet,
    pub(crate) weight: f64,
}

/// One act of a plan.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Act {
    /// Take a test.
    Test(usize),
    /// Do a fix.
    Fix(usize),
    /// Take the complaints again.
    Prove,
    /// Stop.
    Stop(usize),
    /// Nothing is left to do.
    Done,
}

/// A plan: its value, and its acts with the weight that reaches each.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct BasePlan {
    pub(crate) value: f64,
    pub(crate) acts: Vec<(Act, f64)>,
}

/// What ends a crew's plan.
enum Ends<'a> {
    /// The stops of the problem.
    Stops(&'a Prepared<'a>),
    /// Giving up at a fixed price; the fixes whose parts are needed beyond the slip cost a second trip.
    GivingUp { last: f64, trip: f64 },
}

/// The base plan of the person present.
///
/// `items` are classes with weight; `tried` tells the fixes already done; `unproven` that cured items may be among them.
pub(crate) fn base_plan(
    prepared: &Prepared<'_>,
    items: &[Item],
    mode: Mode,
    unproven: bool,
    tried: &[bool],
) -> BasePlan {
    plan(&prepared.present, &prepared.classes, items, mode, unproven, tried, &Ends::Stops(prepared))
}

/// The plan of somebody sent, the minutes until they are there not counted.
pub(crate) fn sent_plan(
    prepared: &Prepared<'_>,
    crew: &Crew,
    helper: &Helper,
    items: &[Item],
    mode: Mode,
    unproven: bool,
    tried: &[bool],
) -> BasePlan {
    let there = helper.arrive.get(usize::from(mode)).copied().unwrap_or_default();
    let ends = Ends::GivingUp { last: helper.last, trip: helper.minutes };
    plan(crew, &prepared.classes, items, there, unproven, tried, &ends)
}

/// The value of a stop for these items.
pub(crate) fn stop_value(
    prepared: &Prepared<'_>,
    stop: usize,
    items: &[Item],
    mode: Mode,
    unproven: bool,
    tried: &[bool],
) -> f64 {
    match (&prepared.problem.stops[stop], &prepared.sent[stop]) {
        (Stop::Costs(costs), _) => weigh(items, |item| costs[prepared.example[item.class]]),
        (Stop::Flat(cost), _) => weigh(items, |_| *cost),
        (Stop::Sent(helper), Some(crew)) => {
            let weight: f64 = items.iter().map(|item| item.weight).sum();
            weight * helper.minutes + sent_plan(prepared, crew, helper, items, mode, unproven, tried).value
        }
        (Stop::Sent(_), None) => f64::INFINITY,
    }
}

/// The best stop for these items, if its value is below `below`; the first of equals.
pub(crate) fn best_stop(
    prepared: &Prepared<'_>,
    items: &[Item],
    mode: Mode,
    unproven: bool,
    tried: &[bool],
    below: f64,
) -> Option<(f64, usize)> {
    best_of(prepared, 0..prepared.problem.stops.len(), items, mode, unproven, tried, below)
}

/// The best of these stops.
fn best_of(
    prepared: &Prepared<'_>,
    stops: impl Iterator<Item = usize>,
    items: &[Item],
    mode: Mode,
    unproven: bool,
    tried: &[bool],
    below: f64,
) -> Option<(f64, usize)> {
    let mut best = below;
    let mut found = None;
    let whole = items.iter().all(|item| item.gone.is_empty());
    for stop in stops {
        if whole && weigh(items, |item| prepared.stop_bound[stop][item.class]) >= best {
            continue;
        }
        let value = stop_value(prepared, stop, items, mode, unproven, tried);
        if value < best {
            best = value;
            found = Some((value, stop));
        }
    }
    found
}

/// Σ weight × cost.
pub(crate) fn weigh(items: &[Item], cost: impl Fn(&Item) -> f64) -> f64 {
    items.iter().filter(|item| item.weight > 0.0).map(|item| item.weight * cost(item)).sum()
}

fn plan(
    crew: &Crew,
    classes: &[super::problem::Candidate],
    items: &[Item],
    mode: Mode,
    unproven: bool,
    tried: &[bool],
    ends: &Ends<'_>,
) -> BasePlan {
    let longest = if matches!(ends, Ends::Stops(_)) { LONGEST } else { LONGEST_OF_OTHERS };
    let order = Order::new(crew, classes, items, mode, tried, longest);
    let steps = order.fixes.len();
    if order.total <= 0.0 || (order.alive[0] <= 0.0 && !unproven) {
        return BasePlan { value: 0.0, acts: vec![(Act::Done, order.total)] };
    }
    let beyond = beyond_the_slip(crew, &order, ends);
    // Backward over "the first k fixes failed, as a proof has shown".
    let mut value = vec![f64::INFINITY; steps + 1];
    let mut choice = vec![Choice::Nothing; steps + 1];
    let mut done: Vec<bool> = tried.to_vec();
    for &fix in &order.fixes {
        done[fix] = true;
    }
    // Fixes from the k-th on until a proof: the best cut, and its value. At least `least` fixes.
    let run = |k: usize, start: Mode, weight: f64, value: &[f64], least: usize| {
        let (mut best, mut until) = (f64::INFINITY, k);
        let (mut minutes, mut here) = (0.0, start);
        for (j, behind) in value.iter().enumerate().skip(k) {
            if j > k {
                let (cost, there) = crew.to_fix(here, order.fixes[j - 1]);
                minutes += cost;
                here = there;
            }
            if let (true, Ends::GivingUp { trip, .. }) = (j > k && beyond == Some(j - 1), ends) {
                minutes += trip;
            }
            if j - k < least {
                continue;
            }
            let whole =
                weight * (minutes + crew.to_proof(here)) + if order.alive[j] > 0.0 { *behind } else { 0.0 };
            if whole < best {
                best = whole;
                until = j;
            }
            if j == k + RUN || (crew.proof == Proof::AtOnce && j > k) {
                break; // where it is seen after every fix, a run has one
            }
        }
        (best, until)
    };
    for k in (0..=steps).rev() {
        if k < steps {
            done[order.fixes[k]] = false;
        }
        if order.alive[k] <= 0.0 {
            value[k] = 0.0;
            continue;
        }
        let start = match crew.proof {
            Proof::Takes { to, .. } if k > 0 || unproven => to,
            Proof::AtOnce if k > 0 => mode_after(crew, &order, k, mode),
            _ => mode,
        };
        let (best, until) = run(k, start, order.alive[k], &value, 1);
        value[k] = best;
        choice[k] = if best.is_finite() { Choice::Run(until) } else { Choice::Nothing };
        if k == 0 && !unproven {
            // The start itself: stops are weighed below, from the mode at the start.
            break;
        }
        if stops_after(k, ends)
            && let Some((stop, which)) =
                end(ends, || order.left(crew, classes, k), order.alive[k], start, false, &done, value[k])
        {
            value[k] = stop;
            choice[k] = Choice::Stop(which);
        }
    }
    let (mut whole, mut first) = if unproven {
        let (best, until) = run(0, mode, order.total, &value, 0);
        (best, if best.is_finite() { Choice::Run(until) } else { Choice::Nothing })
    } else {
        (value[0], choice[0])
    };
    if let Some((stop, which)) = end(ends, || items.to_vec(), order.total, mode, unproven, tried, whole) {
        whole = stop;
        first = Choice::Stop(which);
    }
    BasePlan { value: whole, acts: acts(crew, &order, &choice, first) }
}

/// After how many failed fixes a plan considers to stop: after each, but ever more rarely where that means a plan of
/// everybody who can be sent.
fn stops_after(fixes: usize, ends: &Ends<'_>) -> bool {
    let dear = matches!(ends, Ends::Stops(prepared) if prepared.sent.iter().any(Option::is_some));
    !dear || matches!(fixes, 0..=3 | 5 | 8 | 13 | 21 | 34)
}

/// What the plan does at a point.
#[derive(Clone, Copy, PartialEq, Debug)]
enum Choice {
    Nothing,
    /// Fixes up to this position, then a proof.
    Run(usize),
    Stop(usize),
}

/// The acts of a plan, each with the weight that reaches it.
fn acts(crew: &Crew, order: &Order, choice: &[Choice], first: Choice) -> Vec<(Act, f64)> {
    let mut acts = Vec::new();
    let (mut at, mut next, mut weight) = (0, first, order.total);
    loop {
        match next {
            Choice::Run(until) => {
                acts.extend(order.fixes[at..until].iter().map(|&fix| (Act::Fix(fix), weight)));
                if crew.proof != Proof::AtOnce {
                    acts.push((Act::Prove, weight));
                }
                at = until;
                weight = order.alive[until];
                if weight <= 0.0 {
                    return acts;
                }
                next = choice[until];
            }
            Choice::Stop(stop) => {
                acts.push((Act::Stop(stop), weight));
                return acts;
            }
            Choice::Nothing => return acts,
        }
    }
}

/// The end of a plan at a point, if it is cheaper than `below`.
fn end(
    ends: &Ends<'_>,
    items: impl Fn() -> Vec<Item>,
    weight: f64,
    mode: Mode,
    unproven: bool,
    tried: &[bool],
    below: f64,
) -> Option<(f64, usize)> {
    match ends {
        Ends::Stops(prepared) if prepared.least_stop * weight >= below => None,
        Ends::Stops(prepared) => best_stop(prepared, &items(), mode, unproven, tried, below),
        Ends::GivingUp { last, .. } => Some((weight * last, usize::MAX)).filter(|(value, _)| *value < below),
    }
}

/// The position of the first fix whose parts the slip does not name.
fn beyond_the_slip(crew: &Crew, order: &Order, ends: &Ends<'_>) -> Option<usize> {
    let Ends::GivingUp { .. } = ends else { return None };
    (order.fixes.iter().enumerate())
        .find(|&(at, &fix)| {
            order.alive[at] < ON_THE_SLIP * order.alive[0]
                && crew.fixes[fix].as_ref().is_some_and(|form| form.parts)
        })
        .map(|(at, _)| at)
}

fn mode_after(crew: &Crew, order: &Order, k: usize, start: Mode) -> Mode {
    order.fixes[..k].iter().fold(start, |here, &fix| crew.to_fix(here, fix).1)
}
