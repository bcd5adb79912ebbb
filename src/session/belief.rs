//! What the evidence says, and which answer disagrees with the rest.
//!
//! Evidence of probability zero is no dead end: the answers that stand most in the way are left out, one by one, until the
//! rest can be so together, and are named. The conflict measure is Jensen's, conf(e) = Σ ln P(e_j) − ln P(e)
//! (F. V. Jensen et al., "Analysis in HUGIN of data conflict", UAI 1990), with one term per answer.

use super::event::EventNo;
use super::evidence::Assembled;
use super::insight::Bench;
use super::state::State;
use crate::inference::{Evidence, InferenceError, Posterior, Told};

/// From this conflict on, an answer is named for a check: the answers are e^3, about twenty, times less probable together
/// than they would be apart (judgement).
const LARGE_CONFLICT: f64 = 3.0;

/// An answer is named also when it alone is at odds with the others together: five times less probable given these than by
/// itself (judgement). Answers that confirm each other make the conflict of the whole negative and would hide it.
const LARGE_DISAGREEMENT: f64 = 1.6;

/// The evidence, and what follows from it.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Belief {
    pub(crate) assembled: Assembled,
    pub(crate) posterior: Result<Posterior, InferenceError>,
    /// Answers left out, the one that stands most in the way first.
    pub(crate) without: Vec<EventNo>,
}

/// An answer that disagrees.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Disagreeing {
    pub(crate) event: EventNo,
    pub(crate) ln_gain: f64,
    pub(crate) conflict: f64,
}

impl Belief {
    /// One sweep; more only where the evidence is impossible.
    pub(crate) fn new(bench: &Bench, state: &State) -> Self {
        let mut without: Vec<EventNo> = Vec::new();
        loop {
            let assembled = Assembled::new(&state.records, &without);
            let posterior = bench.posterior(&assembled.evidence);
            if posterior != Err(InferenceError::Impossible) {
                return Self { assembled, posterior, without };
            }
            match most_in_the_way(bench, state, &assembled, &without) {
                Some(event) => without.push(event),
                None => return Self { assembled, posterior, without },
            }
        }
    }

    /// The answer that disagrees most with all the others, where they disagree much. Two sweeps per answer.
    pub(crate) fn disagreeing(&self, bench: &Bench, state: &State) -> Option<Disagreeing> {
        if let Some(&event) = self.without.first() {
            return Some(Disagreeing { event, ln_gain: f64::INFINITY, conflict: f64::INFINITY });
        }
        let ln_all = self.posterior.as_ref().ok()?.ln_evidence;
        let answers = answers(&self.assembled);
        if answers.len() < 2 {
            return None;
        }
        let alone: Vec<f64> = answers
            .iter()
            .map(|&event| ln_of(bench, &only(&self.assembled, event)))
            .collect::<Option<_>>()?;
        let conflict = alone.iter().sum::<f64>() - ln_all;
        let mut most: Option<(f64, Disagreeing)> = None;
        for (&event, ln_alone) in answers.iter().zip(alone) {
            if looked_at_again(state, event) {
                continue;
            }
            let rest = Assembled::new(&state.records, &[event]);
            let Some(ln_rest) = ln_of(bench, &rest.evidence) else { continue };
            let own = ln_rest + ln_alone - ln_all;
            if most.as_ref().is_none_or(|(largest, _)| own > *largest) {
                most = Some((own, Disagreeing { event, ln_gain: ln_rest - ln_all, conflict }));
            }
        }
        let large = |own: f64| {
            own >= LARGE_DISAGREEMENT || conflict >= LARGE_CONFLICT && own >= std::f64::consts::LN_2
        };
        most.filter(|(own, _)| large(*own)).map(|(_, disagreeing)| disagreeing)
    }
}

/// Events that gave evidence other than a fix, in order.
fn answers(assembled: &Assembled) -> Vec<EventNo> {
    let told = assembled.evidence.told.iter().zip(&assembled.from);
    let mut answers: Vec<EventNo> =
        told.filter(|(told, _)| !matches!(told, Told::Fix(_))).map(|(_, &no)| no).collect();
    answers.sort_unstable();
    answers.dedup();
    answers
}

/// One answer alone, with the fixes, so that it keeps its epoch.
fn only(assembled: &Assembled, event: EventNo) -> Evidence {
    let told = assembled.evidence.told.iter().zip(&assembled.from);
    let kept = told.filter(|&(told, &no)| no == event || matches!(told, Told::Fix(_)));
    Evidence { told: kept.map(|(told, _)| told.clone()).collect() }
}

fn ln_of(bench: &Bench, evidence: &Evidence) -> Option<f64> {
    match bench.ln_evidence(evidence) {
        Ok(ln) => Some(ln),
        Err(InferenceError::Impossible) => Some(f64::NEG_INFINITY),
        Err(_) => None,
    }
}

/// Whether somebody was asked once more, and it stands: such an answer is not held against the rest again.
fn looked_at_again(state: &State, event: EventNo) -> bool {
    state.stands.contains(&event) || state.records.confirmed.contains(&event)
}

/// The answer without which the others are possible and most probable; the latest where no single one helps. Answers that
/// were looked at again and stand come last.
fn most_in_the_way(
    bench: &Bench,
    state: &State,
    assembled: &Assembled,
    without: &[EventNo],
) -> Option<EventNo> {
    let all = answers(assembled);
    let doubtful: Vec<EventNo> =
        all.iter().copied().filter(|&event| !looked_at_again(state, event)).collect();
    for candidates in [&doubtful, &all] {
        let mut best: Option<(f64, EventNo)> = None;
        for &event in candidates {
            let left_out: Vec<EventNo> = without.iter().copied().chain([event]).collect();
            let rest = Assembled::new(&state.records, &left_out);
            let Some(ln) = ln_of(bench, &rest.evidence).filter(|ln| ln.is_finite()) else { continue };
            if best.is_none_or(|(most, _)| ln >= most) {
                best = Some((ln, event));
            }
        }
        if let Some((_, event)) = best {
            return Some(event);
        }
    }
    doubtful.last().or(all.last()).copied()
}
