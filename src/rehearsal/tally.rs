//! Calls counted: rates found, medians of questions and minutes.

use std::collections::BTreeMap;

use super::played::{Ending, Played};

/// What came of many calls.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Tally {
    /// Calls played.
    pub calls: u32,
    /// Calls in which every hidden cause was found.
    pub found: u32,
    /// Calls in which every hidden cause was found or is in the right hands.
    pub found_or_right_hand: u32,
    /// Calls proven.
    pub proven: u32,
    /// Calls handed over.
    pub handed_over: u32,
    /// Calls without an end.
    pub endless: u32,
    /// Steps offered that should not have been.
    pub breaches: u32,
    /// Sites on which the causes showed in no complaint, so that nobody rang.
    pub silent: u32,
    questions: BTreeMap<u32, u32>,
    minutes: Vec<f64>,
}

impl Tally {
    /// Counts one call.
    pub fn add(&mut self, played: &Played) {
        self.calls += 1;
        self.found += u32::from(played.found());
        self.found_or_right_hand += u32::from(played.found_or_right_hand());
        match played.ending {
            Ending::Proven => self.proven += 1,
            Ending::HandedOver(_) => self.handed_over += 1,
            Ending::Endless => self.endless += 1,
        }
        self.breaches += played.breaches.len() as u32;
        *self.questions.entry(played.questions).or_insert(0) += 1;
        self.minutes.push(played.minutes);
    }

    /// Adds what came of other calls.
    pub fn merge(&mut self, other: &Self) {
        self.calls += other.calls;
        self.found += other.found;
        self.found_or_right_hand += other.found_or_right_hand;
        self.proven += other.proven;
        self.handed_over += other.handed_over;
        self.endless += other.endless;
        self.breaches += other.breaches;
        self.silent += other.silent;
        for (questions, calls) in &other.questions {
            *self.questions.entry(*questions).or_insert(0) += calls;
        }
        self.minutes.extend(&other.minutes);
    }

    /// The share of calls in which every hidden cause was found; with `hands`, a right hand-over counts. 1 without calls.
    #[must_use]
    pub fn rate(&self, hands: bool) -> f64 {
        let found = if hands { self.found_or_right_hand } else { self.found };
        if self.calls == 0 { 1.0 } else { f64::from(found) / f64::from(self.calls) }
    }

    /// The median of questions, the lower of two; `None` without calls.
    #[must_use]
    pub fn median_questions(&self) -> Option<u32> {
        let mut before = 0;
        let half = self.calls.div_ceil(2);
        self.questions.iter().find_map(|(questions, calls)| {
            before += calls;
            (before >= half).then_some(*questions)
        })
    }

    /// The median of minutes, the lower of two; `None` without calls.
    #[must_use]
    pub fn median_minutes(&self) -> Option<f64> {
        let mut sorted = self.minutes.clone();
        sorted.sort_by(f64::total_cmp);
        sorted.get(sorted.len().checked_sub(1)? / 2).copied()
    }
}
