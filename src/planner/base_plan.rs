//! The base plan: fixes, proofs and a stop, without any further test.
//!
//! The order is decision-theoretic troubleshooting's (Heckerman, Breese & Rommelse 1995; from memory): always the fix with
//! the greatest P(it removes at least one cause that is there and wanted) ÷ cost, under the belief that all before it
//! failed. Given the order, where to prove is chosen best by dynamic programming over the cuts ([`super::cuts`]). After each
//! failed proof the plan may stop instead, so it never costs more than stopping at once.
//!
//! Stops that send somebody are dear to value, for they are a plan of their own. So the plan is made without them first;
//! then only those are valued that can still make it cheaper: what leads up to a stop and the bound of the stop
//! itself have to come below the best plan known.
//!
//! Weights are not normalised: all values are Σ weight × minutes' worth, and scale with the weight.
//! Cost: that of the order and O(K × longest run) for K fixes, and as much again for each stop that sends somebody and is
//! not ruled out by its bound. Nothing is allocated but the acts, where they are asked for.

use super::crew::Crew;
use super::cuts::{Choice, Cuts, End, mode_after};
use super::order::{CUTS, Order, Task};
use super::prepared::{Prepared, Scratch};
use super::problem::{Helper, Proof, Stop};
use super::remaining::{Remaining, Rest};
use super::sequence::Sequence;
use super::travel::Mode;
use crate::model::practice::BitSet;

/// At most so many fixes in the plan of the person present, and of somebody who is sent: what is left then is given up.
const LONGEST: usize = 40;
const LONGEST_OF_OTHERS: usize = 16;
/// Weights below this share of the whole are taken for nothing: no fix is planned for them.
pub(crate) const NOTHING: f64 = 1e-9;
/// The slip names the parts of those fixes that the plan reaches with at least this chance; parts of others cost a second
/// trip. A judgement: a van carries what is likely, not everything.
pub(crate) const ON_THE_SLIP: f64 = 0.1;

/// Stopping after some fixes is looked at where those cured by them would have cost so many times the dearest stop.
const CURED: f64 = 1.5;

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

/// Where a plan begins.
#[derive(Clone, Copy)]
pub(crate) struct From<'a> {
    /// Where the work stands.
    pub(crate) mode: Mode,
    /// A fix was done and the complaints not taken since: cured rests may be among the others.
    pub(crate) unproven: bool,
    /// The fixes already done.
    pub(crate) tried: &'a [bool],
}

/// Buffers of one person's plan.
#[derive(Clone, Debug, Default)]
pub(crate) struct Hands {
    pub(crate) order: Order,
    pub(crate) cuts: Cuts,
    sequence: Sequence,
    /// Stops with the least that they can cost.
    bounds: Vec<(f64, usize)>,
}

/// The base plan of the person present.
///
/// `items` are classes with weight; `tried` tells the fixes already done; `unproven` that cured items may be among them.
pub(crate) fn base_plan(prepared: &Prepared<'_>, items: &[Item], from: From<'_>) -> BasePlan {
    let scratch = &mut *prepared.scratch.borrow_mut();
    let rests = scratch.rests_of(prepared, items);
    let (value, first) = own(prepared, scratch, &rests, from);
    let acts = scratch.own.cuts.acts(&prepared.present, &scratch.own.order, first);
    scratch.rests = rests;
    BasePlan { value, acts }
}

/// Its value and its first act alone.
pub(crate) fn base_value(prepared: &Prepared<'_>, items: &[Item], from: From<'_>) -> (f64, Act) {
    let scratch = &mut *prepared.scratch.borrow_mut();
    let rests = scratch.rests_of(prepared, items);
    let (value, first) = own(prepared, scratch, &rests, from);
    let first = match first {
        Choice::Run(0) => Act::Prove,
        Choice::Run(_) => Act::Fix(scratch.own.order.fixes[0]),
        Choice::Stop(stop) => Act::Stop(stop),
        Choice::Nothing => Act::Done,
    };
    scratch.rests = rests;
    (value, first)
}

/// The plan of somebody sent, the minutes until they are there not counted.
pub(crate) fn sent_plan(
    prepared: &Prepared<'_>,
    crew: &Crew,
    helper: &Helper,
    items: &[Item],
    from: From<'_>,
) -> BasePlan {
    let scratch = &mut *prepared.scratch.borrow_mut();
    let rests = scratch.rests_of(prepared, items);
    let (value, first) =
        sent(prepared, &mut scratch.other, &mut scratch.remaining, (crew, helper), &rests, from);
    let acts = scratch.other.cuts.acts(crew, &scratch.other.order, first);
    scratch.rests = rests;
    BasePlan { value, acts }
}

/// The value of a stop for these items.
pub(crate) fn stop_value(prepared: &Prepared<'_>, stop: usize, items: &[Item], from: From<'_>) -> f64 {
    let scratch = &mut *prepared.scratch.borrow_mut();
    let rests = scratch.rests_of(prepared, items);
    let value = value_of(prepared, &mut scratch.other, &mut scratch.remaining, stop, &rests, from);
    scratch.rests = rests;
    value
}

/// The best stop for these items, if its value is below `below`; the first of equals.
pub(crate) fn best_stop(
    prepared: &Prepared<'_>,
    items: &[Item],
    from: From<'_>,
    below: f64,
) -> Option<(f64, usize)> {
    let scratch = &mut *prepared.scratch.borrow_mut();
    let rests = scratch.rests_of(prepared, items);
    let best = best_of(prepared, &mut scratch.other, &mut scratch.remaining, &rests, from, below);
    scratch.rests = rests;
    best
}

fn value_of(
    prepared: &Prepared<'_>,
    hands: &mut Hands,
    remaining: &mut Remaining,
    stop: usize,
    rests: &[(Rest, f64)],
    from: From<'_>,
) -> f64 {
    match (&prepared.problem.stops[stop], &prepared.sent[stop]) {
        (Stop::Sent(helper), Some(crew)) => {
            let weight: f64 = rests.iter().map(|(_, weight)| weight).sum();
            weight * helper.minutes + sent(prepared, hands, remaining, (crew, helper), rests, from).0
        }
        _ => floor_of(prepared, remaining, stop, rests),
    }
}

/// No less than this does a stop cost; where it sends nobody, this is its value.
fn floor_of(prepared: &Prepared<'_>, remaining: &Remaining, stop: usize, rests: &[(Rest, f64)]) -> f64 {
    let bounds = &prepared.stop_bound[stop];
    let of = |rest: Rest| match bounds.get(rest as usize) {
        Some(bound) => *bound,
        // Something is gone of it already: whoever is sent has to come in any case.
        None => match &prepared.problem.stops[stop] {
            Stop::Costs(costs) => costs[prepared.example[remaining.class(rest)]],
            Stop::Flat(cost) => *cost,
            Stop::Sent(helper) => helper.minutes,
        },
    };
    rests.iter().filter(|(_, weight)| *weight > 0.0).map(|&(rest, weight)| weight * of(rest)).sum()
}

/// The best stop below `below`, those with the least bound first; none is valued whose bound is no better than another's
/// value.
fn best_of(
    prepared: &Prepared<'_>,
    hands: &mut Hands,
    remaining: &mut Remaining,
    rests: &[(Rest, f64)],
    from: From<'_>,
    below: f64,
) -> Option<(f64, usize)> {
    let least = |rest: Rest| prepared.least_bound.get(rest as usize).copied().unwrap_or(prepared.least_stop);
    if rests.iter().map(|&(rest, weight)| weight * least(rest)).sum::<f64>() >= below {
        return None;
    }
    let (mut best, mut found) = (below, None);
    let Hands { bounds, sequence, .. } = hands;
    bounds.clear();
    let mut listed = false;
    for (stop, form) in prepared.problem.stops.iter().enumerate() {
        let (Stop::Sent(helper), Some(crew)) = (form, &prepared.sent[stop]) else {
            let value = floor_of(prepared, remaining, stop, rests);
            if value < best {
                (best, found) = (value, Some((value, stop)));
            }
            continue;
        };
        if !listed {
            sequence.list(prepared, remaining, rests, from.tried);
            listed = true;
        }
        let least = helper.minutes * sequence.whole + sequence.least(crew, helper.last);
        if least < best {
            bounds.push((least, stop));
        }
    }
    bounds.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    for at in 0..hands.bounds.len() {
        let (floor, stop) = hands.bounds[at];
        if floor >= best {
            break;
        }
        let value = value_of(prepared, hands, remaining, stop, rests, from);
        if value < best || (value == best && found.is_some_and(|(_, other)| stop < other)) {
            (best, found) = (value, Some((value, stop)));
        }
    }
    found
}

/// The plan of somebody sent: ends at giving up.
fn sent(
    prepared: &Prepared<'_>,
    hands: &mut Hands,
    remaining: &mut Remaining,
    (crew, helper): (&Crew, &Helper),
    rests: &[(Rest, f64)],
    from: From<'_>,
) -> (f64, Choice) {
    let mode = helper.arrive.get(usize::from(from.mode)).copied().unwrap_or_default();
    let task = Task {
        crew,
        classes: &prepared.classes,
        mode,
        tried: from.tried,
        longest: LONGEST_OF_OTHERS,
        each: false,
        keep: false,
        dearest: helper.last,
    };
    let Hands { order, cuts, .. } = hands;
    order.make(&task, remaining, rests);
    if order.total <= 0.0 || (order.alive[0] <= 0.0 && !from.unproven) {
        return (0.0, Choice::Nothing);
    }
    let slip = beyond_the_slip(crew, order).map(|at| (at, helper.minutes));
    cuts.ends.clear();
    cuts.ends.extend(order.alive.iter().map(|alive| End { value: alive * helper.last, stop: usize::MAX }));
    cuts.cut(crew, order, mode, from.unproven, slip);
    cuts.begin(crew, order, mode, from.unproven, slip, Some((order.total * helper.last, usize::MAX)))
}

/// The plan of the person present.
fn own(
    prepared: &Prepared<'_>,
    scratch: &mut Scratch,
    rests: &[(Rest, f64)],
    from: From<'_>,
) -> (f64, Choice) {
    let Scratch { own: Hands { order, cuts, .. }, other, remaining, done, .. } = scratch;
    let crew = &prepared.present;
    let dear = prepared.sent.iter().any(Option::is_some);
    let task = Task {
        crew,
        classes: &prepared.classes,
        mode: from.mode,
        tried: from.tried,
        longest: LONGEST,
        each: !dear,
        keep: true,
        dearest: prepared.dearest_stop,
    };
    order.make(&task, remaining, rests);
    if order.total <= 0.0 || (order.alive[0] <= 0.0 && !from.unproven) {
        return (0.0, Choice::Nothing);
    }
    // Without anybody sent.
    cuts.ends.clear();
    cuts.ends.resize(order.alive.len(), End::NONE);
    for count in 0..order.alive.len() {
        for (stop, form) in prepared.problem.stops.iter().enumerate() {
            let value = match form {
                Stop::Flat(cost) => order.alive[count] * cost,
                Stop::Costs(_) => match order.left(!dear, count) {
                    Some(left) => floor_of(prepared, remaining, stop, left),
                    None => continue,
                },
                Stop::Sent(_) => continue,
            };
            if value < cuts.ends[count].value {
                cuts.ends[count] = End { value, stop };
            }
        }
    }
    cuts.cut(crew, order, from.mode, from.unproven, None);
    let (without, _) = cuts.begin(crew, order, from.mode, from.unproven, None, None);
    // Somebody sent at once, or after so many fixes.
    let at_once = best_of(prepared, other, remaining, rests, from, without);
    if dear {
        let known = at_once.map_or(without, |(value, _)| value);
        let stopping = known.min(order.alive[0] * prepared.dearest_stop);
        let mut better = false;
        let mut before = match crew.proof {
            Proof::Takes { cost, .. } => cost * order.alive[0],
            _ => 0.0,
        };
        done.clear();
        done.extend_from_slice(from.tried);
        for count in 0..order.alive.len() {
            if count > 0 {
                let fix = order.fixes[count - 1];
                before += crew.cost[fix] * order.alive[count - 1];
                done[fix] = true;
            }
            if order.alive[count] <= 0.0 || !CUTS.contains(&count) || (count == 0 && !from.unproven) {
                continue;
            }
            // Those who are still there cost about what all cost at once, less what the cured ones would.
            let cured = order.alive[0] - order.alive[count];
            if stopping - CURED * cured * prepared.dearest_stop + before >= known {
                continue;
            }
            let Some(left) = order.left(false, count) else { continue };
            let mode = match crew.proof {
                Proof::Takes { to, .. } => to,
                _ => mode_after(crew, order, count, from.mode),
            };
            let start = From { mode, unproven: false, tried: done };
            let below = cuts.ends[count].value.min(known - before);
            if let Some((value, stop)) = best_of(prepared, other, remaining, left, start, below) {
                cuts.ends[count] = End { value, stop };
                better = true;
            }
        }
        if better {
            cuts.cut(crew, order, from.mode, from.unproven, None);
        }
    }
    cuts.begin(crew, order, from.mode, from.unproven, None, at_once)
}

/// The position of the first fix whose parts the slip does not name.
fn beyond_the_slip(crew: &Crew, order: &Order) -> Option<usize> {
    (order.fixes.iter().enumerate())
        .find(|&(at, &fix)| order.alive[at] < ON_THE_SLIP * order.alive[0] && crew.parts[fix])
        .map(|(at, _)| at)
}
