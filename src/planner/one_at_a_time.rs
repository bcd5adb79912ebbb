//! Several complaints, one after the other.
//!
//! In: the advice for all complaints together. Out: that advice, or the one for a single complaint. Two independent
//! faults make every single test look worthless: whatever it tells, the other fault is still to be found, so that the
//! base plan behind it is no better than giving up. And giving up is priced as one search by somebody else, while two
//! faults are two searches. Taken one at a time, each complaint is weighed against its own search. The belief stays that
//! of all the evidence; only what counts as done is narrowed.
//!
//! Invariant: the way by single complaints is taken only where the whole would be handed over to nobody in particular.

use super::advice::{Advice, Step};
use super::situation::Situation;
use crate::model::index::FindingIx;

/// The complaints that are not retaken normal since the last fix.
fn open(situation: &Situation) -> Vec<FindingIx> {
    let gone = |complaint: &FindingIx| situation.answered.get(complaint) == Some(&0);
    situation.complaints.iter().copied().filter(|complaint| !gone(complaint)).collect()
}

/// Which advice comes first: what somebody present can do, then whom to send, then that nobody listed can help. Proving
/// leads nowhere while a complaint is seen `failing`.
fn rank(advice: &Advice, failing: bool) -> u8 {
    match &advice.step {
        Step::HandOver(sent) if sent.competence.is_none() => 2,
        Step::HandOver(_) => 1,
        Step::Prove | Step::PutBack | Step::Done if failing => 2,
        _ => 0,
    }
}

/// The better of the advice for all complaints and of taking them one at a time, each advised by `alone`.
///
/// Of the single complaints comes first the one that somebody present can do something about, then the one with the
/// fewest expected minutes. Minutes, bound and reasons of the advice are those of that complaint. Cost: one more advice per open complaint, where nobody listed could help with all.
pub(super) fn better(whole: Advice, situation: &Situation, alone: impl Fn(&Situation) -> Advice) -> Advice {
    let open = open(situation);
    let failing =
        open.iter().any(|complaint| situation.answered.get(complaint).is_some_and(|seen| *seen > 0));
    let rank = |advice: &Advice| rank(advice, failing);
    if open.len() < 2 || !matches!(&whole.step, Step::HandOver(sent) if sent.competence.is_none()) {
        return whole;
    }
    let parts: Vec<Advice> = (open.iter())
        .map(|complaint| alone(&Situation { complaints: vec![*complaint], ..situation.clone() }))
        .collect();
    let first = (parts.into_iter())
        .min_by(|a, b| rank(a).cmp(&rank(b)).then(a.expected_minutes.total_cmp(&b.expected_minutes)));
    match first {
        Some(part) if rank(&part) < 2 => part,
        _ => whole,
    }
}
