//! What was read at the first power-up, held beside the same reading today.

use crate::model::Model;
use crate::session::event::{Answer, Event, What};
use crate::session::log::entries;

/// A reading of an earlier power-up of the same job.
#[derive(Clone, PartialEq, Debug)]
pub struct Baseline {
    /// The step that took it.
    pub step: String,
    /// The numbers, in the step's measure.
    pub readings: Vec<f64>,
    /// When, in milliseconds since 1970-01-01 UTC.
    pub at: i64,
}

/// The same reading then and now.
#[derive(Clone, PartialEq, Debug)]
pub struct ThenAndNow {
    /// What is read.
    pub about: String,
    /// Unit of measure.
    pub measured_in: String,
    /// The numbers of the baseline.
    pub then: Vec<f64>,
    /// When that was, in milliseconds since 1970-01-01 UTC.
    pub at: i64,
    /// The numbers of today.
    pub now: Vec<f64>,
}

/// The latest baseline of what an event has read: of the same step, or of a step that shows what the test gives.
pub(crate) fn then_and_now(model: &Model, baselines: &[Baseline], what: &What) -> Option<ThenAndNow> {
    let steps = &model.procedure.steps;
    let (step, now) = match what {
        What::StepTaken { step, readings, .. } if !readings.is_empty() => {
            (steps.iter().find(|form| form.id == *step)?, &readings[..])
        }
        What::Answered { test, answer: Answer::Readings(readings), .. } => {
            let test = &model.tests[model.ids.tests.get(test)?.at()];
            // What is read beside it, such as the speed, is not compared.
            let first = test.reading.as_ref()?.parts.first()?;
            let same = |step: &&crate::model::procedure::Step| {
                let form = step.reading.as_ref();
                let alike =
                    form.is_some_and(|(unit, count)| first.measured_in == *unit && first.count == *count);
                let shows =
                    |(finding, _): &(_, usize)| test.gives.iter().any(|gives| gives.finding == *finding);
                alike && step.raises.first().is_some_and(|raised| raised.iter().any(shows))
            };
            (steps.iter().find(same)?, readings.get(..first.count)?)
        }
        _ => return None,
    };
    let before = baselines.iter().rev().find(|baseline| step.baseline && baseline.step == step.id)?;
    Some(ThenAndNow {
        about: step.say.clone(),
        measured_in: step.reading.as_ref()?.0.clone(),
        then: before.readings.clone(),
        at: before.at,
        now: now.to_vec(),
    })
}

/// The readings of power-up steps that stand in a log.
#[must_use]
pub fn taken(log: &[Event]) -> Vec<Baseline> {
    let taken = entries(log).into_iter().filter_map(|entry| match entry.what {
        What::StepTaken { step, readings, .. } if !readings.is_empty() => {
            Some(Baseline { step, readings, at: entry.at })
        }
        _ => None,
    });
    taken.collect()
}
