//! Where to prove: given an order of fixes, the cuts between runs, by dynamic programming backward over "the first k fixes
//! failed, as a proof has shown".
//!
//! A run of fixes between two proofs shares its ways (one lockout, one trip), and all fixes of a run are paid for before it
//! is seen whether the first of them helped. Where every fix is seen at once, a run has one.

use super::base_plan::Act;
use super::crew::Crew;
use super::order::Order;
use super::problem::Proof;
use super::travel::Mode;

/// At most so many fixes between two proofs.
const RUN: usize = 12;

/// What the plan does at a point.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Choice {
    Nothing,
    /// Fixes up to this position, then a proof.
    Run(usize),
    Stop(usize),
}

/// What stopping costs at a point.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct End {
    pub(crate) value: f64,
    pub(crate) stop: usize,
}

impl End {
    /// There is no stop here.
    pub(crate) const NONE: Self = Self { value: f64::INFINITY, stop: usize::MAX };
}

/// The cuts of one order. Its buffers live from order to order.
#[derive(Clone, Debug, Default)]
pub(crate) struct Cuts {
    /// After each number of failed fixes, the cheapest stop.
    pub(crate) ends: Vec<End>,
    value: Vec<f64>,
    choice: Vec<Choice>,
    /// The most that a stop can gain: 0, or less.
    gain: f64,
}

impl Cuts {
    /// Chooses the cuts. `slip`: from which fix on parts are missing, and what fetching them costs.
    pub(crate) fn cut(
        &mut self,
        crew: &Crew,
        order: &Order,
        mode: Mode,
        unproven: bool,
        slip: Option<(usize, f64)>,
    ) {
        let steps = order.fixes.len();
        self.gain = self.ends.iter().map(|end| end.value).fold(0.0, f64::min);
        self.value.clear();
        self.value.resize(steps + 1, f64::INFINITY);
        self.choice.clear();
        self.choice.resize(steps + 1, Choice::Nothing);
        for k in (0..=steps).rev() {
            if order.alive[k] <= 0.0 {
                self.value[k] = 0.0;
                continue;
            }
            let start = match crew.proof {
                Proof::Takes { to, .. } if k > 0 || unproven => to,
                Proof::AtOnce if k > 0 => mode_after(crew, order, k, mode),
                _ => mode,
            };
            let (best, until) = self.run(crew, order, k, (start, order.alive[k]), 1, slip);
            self.value[k] = best;
            self.choice[k] = if best.is_finite() { Choice::Run(until) } else { Choice::Nothing };
            // At the start itself stops are weighed from where the work stands.
            if (k > 0 || unproven) && self.ends[k].value < best {
                self.value[k] = self.ends[k].value;
                self.choice[k] = Choice::Stop(self.ends[k].stop);
            }
        }
    }

    /// The plan from the start: its value and what it does first. `at_once`: what stopping there costs.
    pub(crate) fn begin(
        &self,
        crew: &Crew,
        order: &Order,
        mode: Mode,
        unproven: bool,
        slip: Option<(usize, f64)>,
        at_once: Option<(f64, usize)>,
    ) -> (f64, Choice) {
        let (whole, first) = if unproven {
            let (best, until) = self.run(crew, order, 0, (mode, order.total), 0, slip);
            (best, if best.is_finite() { Choice::Run(until) } else { Choice::Nothing })
        } else {
            (self.value[0], self.choice[0])
        };
        match at_once {
            Some((value, stop)) if value < whole => (value, Choice::Stop(stop)),
            _ => (whole, first),
        }
    }

    /// Fixes from the k-th on until a proof, from that mode and with that weight: the best cut, and its value. At least
    /// `least` fixes.
    fn run(
        &self,
        crew: &Crew,
        order: &Order,
        k: usize,
        (start, weight): (Mode, f64),
        least: usize,
        slip: Option<(usize, f64)>,
    ) -> (f64, usize) {
        let (mut best, mut until) = (f64::INFINITY, k);
        let (mut minutes, mut here) = (0.0, start);
        let longest = if crew.proof == Proof::AtOnce { 1 } else { RUN };
        for j in k..=order.fixes.len().min(k + longest) {
            if j > k {
                let (cost, there) = crew.to_fix(here, order.fixes[j - 1]);
                minutes += cost;
                here = there;
                if let Some((at, trip)) = slip
                    && at == j - 1
                {
                    minutes += trip;
                }
                if weight * minutes + self.gain >= best {
                    break; // it only grows
                }
            }
            if j - k < least {
                continue;
            }
            let behind = if order.alive[j] > 0.0 { self.value[j] } else { 0.0 };
            let whole = weight * (minutes + crew.to_proof(here)) + behind;
            if whole < best {
                best = whole;
                until = j;
            }
        }
        (best, until)
    }

    /// The acts of a plan that begins so, each with the weight that reaches it.
    pub(crate) fn acts(&self, crew: &Crew, order: &Order, first: Choice) -> Vec<(Act, f64)> {
        let mut acts = Vec::new();
        let (mut at, mut next, mut weight) = (0, first, order.total);
        if first == Choice::Nothing {
            return vec![(Act::Done, weight)];
        }
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
                    next = self.choice[until];
                }
                Choice::Stop(stop) => {
                    acts.push((Act::Stop(stop), weight));
                    return acts;
                }
                Choice::Nothing => return acts,
            }
        }
    }
}

/// Where the first `count` fixes end.
pub(crate) fn mode_after(crew: &Crew, order: &Order, count: usize, start: Mode) -> Mode {
    order.fixes[..count].iter().fold(start, |here, &fix| crew.to_fix(here, fix).1)
}
