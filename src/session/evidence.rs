//! The evidence that inference reads, put together from the records.

use super::event::EventNo;
use super::records::{Fate, Records};
use crate::inference::{Evidence, Told};

/// Evidence, and for each of its entries the event that it came from.
#[derive(Clone, PartialEq, Debug, Default)]
pub(crate) struct Assembled {
    pub(crate) evidence: Evidence,
    pub(crate) from: Vec<EventNo>,
}

impl Assembled {
    /// All that counts, epoch by epoch, without what the events in `leaving_out` said.
    pub(crate) fn new(records: &Records, leaving_out: &[EventNo]) -> Self {
        let mut assembled = Self::default();
        for epoch in 0..=records.epoch() {
            let counts = |fate: Fate, at: usize, no: EventNo| {
                fate == Fate::Counts && at == epoch && !leaving_out.contains(&no)
            };
            for report in records.reports.iter().filter(|report| counts(report.fate, report.epoch, report.no))
            {
                assembled.push(
                    Told::Finding { among: vec![report.finding], weights: report.weights.clone() },
                    report.no,
                );
            }
            for group in records.groups.iter().filter(|group| counts(group.fate, group.epoch, group.no)) {
                assembled.push(
                    Told::Finding { among: group.open.clone(), weights: group.weights.clone() },
                    group.no,
                );
            }
            for seen in records.seen.iter().filter(|seen| counts(seen.fate, seen.epoch, seen.no)) {
                assembled.push(Told::Cause { cause: seen.cause, present: seen.present }, seen.no);
            }
            if let Some(&(no, fix)) = records.fixes.get(epoch) {
                assembled.push(Told::Fix(fix), no);
            }
        }
        assembled
    }

    fn push(&mut self, told: Told, from: EventNo) {
        self.evidence.told.push(told);
        self.from.push(from);
    }
}
