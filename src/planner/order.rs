//! Fixes by chance over cost, each under the belief that those before it failed.
//!
//! Gains are kept up to date fix by fix: only the items that a fix touches change theirs, so an order of K fixes costs
//! O(items × fixes per item + K × fixes) in all.

use super::base_plan::{Item, NOTHING};
use super::crew::Crew;
use super::problem::{Candidate, Proof};
use super::travel::Mode;
use crate::model::practice::BitSet;

/// Fixes in greedy order, and what is left after each.
pub(crate) struct Order {
    pub(crate) fixes: Vec<usize>,
    /// The weight that is not cured after the first k fixes.
    pub(crate) alive: Vec<f64>,
    /// The weight at the start, cured items included.
    pub(crate) total: f64,
    /// The items that are not cured at the start.
    start: Vec<Item>,
}

impl Order {
    /// The greedy order from `mode`, at most `longest` fixes.
    pub(crate) fn new(
        crew: &Crew,
        classes: &[Candidate],
        items: &[Item],
        mode: Mode,
        tried: &[bool],
        longest: usize,
    ) -> Self {
        let total: f64 = items.iter().map(|item| item.weight).sum();
        let start: Vec<Item> = (items.iter().copied())
            .filter(|item| item.weight > 0.0 && !classes[item.class].cured(item.gone))
            .collect();
        let alive: f64 = start.iter().map(|item| item.weight).sum();
        let mut left = start.clone();
        let mut order = Self { fixes: Vec::new(), alive: vec![alive], total, start };
        let mut gain = vec![0.0; crew.fixes.len()];
        let mut open: Vec<bool> = tried.iter().map(|tried| !tried).collect();
        for item in &left {
            crew.hits(classes, item, |fix, chance| gain[fix] += item.weight * chance);
        }
        let mut here = mode;
        while order.fixes.len() < longest && order.alive.last().is_some_and(|alive| *alive > 0.0) {
            let first = order.fixes.is_empty();
            let mut best: Option<(f64, f64, usize)> = None; // (ratio, cost, fix)
            for (fix, &gained) in gain.iter().enumerate() {
                if !open[fix] || gained <= NOTHING * total {
                    continue;
                }
                let cost = match crew.proof {
                    Proof::Takes { .. } if !first => crew.round[fix],
                    _ => {
                        let (way, there) = crew.to_fix(here, fix);
                        way + crew.to_proof(there)
                    }
                };
                if !cost.is_finite() {
                    continue;
                }
                let ratio = gained / cost.max(1e-9);
                if best.is_none_or(|(most, least, _)| ratio > most || (ratio == most && cost < least)) {
                    best = Some((ratio, cost, fix));
                }
            }
            let Some((_, _, fix)) = best else { break };
            here = match crew.proof {
                Proof::Takes { to, .. } => to,
                _ => crew.to_fix(here, fix).1,
            };
            open[fix] = false;
            left = after(crew, classes, &left, fix, |item, sign| {
                crew.hits(classes, item, |fix, chance| gain[fix] += sign * item.weight * chance);
            });
            let alive: f64 = left.iter().map(|item| item.weight).sum();
            order.fixes.push(fix);
            order.alive.push(if alive <= 1e-15 * total { 0.0 } else { alive });
        }
        order
    }

    /// The items not cured after the first `count` fixes.
    pub(crate) fn left(&self, crew: &Crew, classes: &[Candidate], count: usize) -> Vec<Item> {
        (self.fixes.iter().take(count))
            .fold(self.start.clone(), |items, &fix| after(crew, classes, &items, fix, |_, _| {}))
    }
}

/// The items not cured after a fix. `changed` sees each item that goes (−1) and each that comes (+1).
fn after(
    crew: &Crew,
    classes: &[Candidate],
    items: &[Item],
    fix: usize,
    mut changed: impl FnMut(&Item, f64),
) -> Vec<Item> {
    let Some(form) = &crew.fixes[fix] else { return items.to_vec() };
    let mut then = Vec::with_capacity(items.len() + 4);
    for item in items {
        let class = &classes[item.class];
        if class.causes.minus(item.gone).0 & crew.removes[fix].0 == 0 {
            then.push(*item);
            continue;
        }
        changed(item, -1.0);
        remove(class, *item, &form.removes, |after| {
            if !class.cured(after.gone) {
                changed(&after, 1.0);
                then.push(after);
            }
        });
    }
    then
}

/// What a fix makes of an item: one item for each way in which its success draws can fall. A led-to cause is only removed
/// if, by then, nothing that it was led to by stands; one act may remove both.
pub(crate) fn remove(class: &Candidate, item: Item, removes: &[(u8, f64)], mut each: impl FnMut(Item)) {
    let there = class.causes.minus(item.gone);
    let hit: Vec<(u8, f64)> = removes
        .iter()
        .copied()
        .filter(|(cause, q)| *q > 0.0 && there.has((*cause).into()))
        .take(16)
        .collect();
    for draw in 0..1u32 << hit.len() {
        let mut weight = item.weight;
        let mut works = BitSet::default();
        for (bit, &(cause, q)) in hit.iter().enumerate() {
            if draw >> bit & 1 == 1 {
                weight *= q;
                works = works.with(cause.into());
            } else {
                weight *= 1.0 - q;
            }
        }
        if weight <= 0.0 {
            continue;
        }
        // Causes that something led to go only with or after it.
        let mut gone = item.gone;
        while let Some(cause) =
            works.minus(gone).iter().find(|&cause| !class.blocked(cause as u8, gone.with(cause)))
        {
            gone = gone.with(cause);
        }
        each(Item { gone, weight, ..item });
    }
}
