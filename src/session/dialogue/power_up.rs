//! An answer to a step of the first power-up, as events.

use super::super::event::What;
use super::super::hear::{Answer, Expecting};
use super::super::prompt::PowerUpStep;
use super::{Dialogue, Turn};

/// What a plain act is answered by.
const PLAIN: [&str; 2] = ["done", "no"];
/// What a plain question is answered by.
const QUESTION: [&str; 2] = ["yes", "no"];

/// What an answer to a step looks like.
pub(super) fn waits_for_step(step: &PowerUpStep) -> Expecting {
    match &step.reading {
        Some((measure, count)) => Expecting::Numbers(measure.clone(), *count),
        None if step.again || step.outcomes == QUESTION => Expecting::YesNo,
        None if step.outcomes == PLAIN => Expecting::Step,
        None => Expecting::Pick(step.outcomes.iter().map(|outcome| outcome.replace('-', " ")).collect()),
    }
}

impl Dialogue {
    /// Takes an answer to a step. Whether something was taken.
    pub(super) fn power_up_step(
        &mut self,
        step: &PowerUpStep,
        answer: &Answer,
        at: i64,
        turn: &mut Turn,
    ) -> bool {
        let (id, by) = (step.step.clone(), self.by());
        let taken = |outcome: String, readings: Vec<f64>| What::StepTaken {
            step: id.clone(),
            outcome,
            readings,
            by: by.clone(),
            words: String::new(),
        };
        let passed_over = || What::StepPassedOver { step: id.clone(), words: String::new() };
        let what = match answer {
            Answer::CannotTell => Some(passed_over()),
            Answer::YesNo { yes, .. } if step.again => {
                Some(What::StepStill { step: id.clone(), still: *yes, by: by.clone() })
            }
            Answer::YesNo { yes: false, .. } if step.outcomes == PLAIN => Some(passed_over()),
            Answer::YesNo { yes, .. } if step.reading.is_none() && step.outcomes.len() == 2 => {
                let plain = step.outcomes == PLAIN || step.outcomes == QUESTION;
                plain.then(|| taken(step.outcomes[usize::from(!yes)].clone(), Vec::new()))
            }
            Answer::Pick(pick) if step.reading.is_none() => {
                step.outcomes.get(*pick).map(|outcome| taken(outcome.clone(), Vec::new()))
            }
            Answer::Numbers(readings) => {
                let form = self.session.model().procedure.steps.iter().find(|form| form.id == step.step);
                let shown = form.and_then(|form| Some((form, form.read(readings)?.1)));
                shown.map(|(form, shown)| taken(form.outcomes[shown].clone(), readings.clone()))
            }
            _ => None,
        };
        self.take_or_ask(what, at, turn)
    }
}
