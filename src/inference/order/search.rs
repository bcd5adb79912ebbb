//! The cheapest of several greedy orders.
//!
//! A greedy order is erratic: one more report can make it many times dearer than need be. So where it is dear, others are
//! made by other [`Manner`]s of choosing, as many as cost a small share of what the cheapest so far would: a query that
//! is cheap anyway pays nothing. No chance is involved: the same evidence gives the same order.

use super::super::Effort;
use super::super::number::Number;
use super::greedy::{Key, Ordering};

/// Below so many steps another order is not worth its search.
const WORTH: u64 = 32_000;

/// Steps of a sweep that take as long as the search of one order, per pair of vertices of the part (measured).
const STEPS_PER_PAIR: u64 = 8;

/// Most orders tried.
const MOST: u64 = 300;

/// How to choose the next vertex: what counts, and how much noise is laid over it.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Manner {
    number: u32,
}

impl Manner {
    /// What counts for choosing `v`, the least first: how much larger the table is after it and during it than all that
    /// are `joined` for it, in log2 / 16.
    #[inline]
    pub(super) fn key(self, v: usize, after: i32, during: i32, joined: i32) -> Key {
        let (after, during, grown) = (after + joined, during + joined, after);
        let noise = match self.number {
            0..3 => 0,
            // Up to one, two, three bits.
            number => {
                (mixed(u64::from(number) << 32 | v as u64) % (16 * u64::from(1 + number / 3 % 3))) as i32
            }
        };
        match self.number % 3 {
            1 => (after + grown + noise, during),
            _ => (grown + noise, during),
        }
    }

    /// Whether to make several tables, where they may be.
    pub(super) fn tree(self) -> bool {
        !self.number.is_multiple_of(3)
    }
}

/// The numbers of splitmix64 (Steele, Lea & Flood, OOPSLA 2014; from memory).
fn mixed(seed: u64) -> u64 {
    let mut z = seed.wrapping_add(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

impl<N: Number, const W: usize> Ordering<'_, N, W> {
    /// The cheapest order found, its steps appended.
    pub(super) fn run(mut self) -> Effort {
        let first = self.steps.len();
        let beyond = Effort { width: usize::MAX, states: u64::MAX, steps: u64::MAX };
        let (near, parents) = (self.near.clone(), self.parents.clone());
        let mut best = self.once(u64::MAX).unwrap_or(beyond);
        if best.steps < WORTH {
            return best;
        }
        let mut cheapest = self.steps.split_off(first);
        let price = STEPS_PER_PAIR * (self.members.len() as u64).pow(2);
        let mut number = 1;
        // A third of what the way forward would take may go into the search.
        while u64::from(number) <= MOST.min(best.steps / price / 3) {
            let manner = Manner { number };
            number += 1;
            self.restart(&near, &parents, manner);
            if let Some(effort) = self.once(best.steps)
                && effort.steps < best.steps
            {
                best = effort;
                cheapest = self.steps.split_off(first);
            }
            self.steps.truncate(first);
        }
        self.steps.append(&mut cheapest);
        best
    }
}
