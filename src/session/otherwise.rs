//! What if an answer had been another: each other outcome of it, tried on a copy of the session.
//!
//! Nothing is foretold here: the copy takes the change as the session would, ranks and plans. Cost: one replay, one sweep and
//! one advice per outcome.

use super::event::{Answer, Event, EventNo, What};
use super::insight::Insight;
use super::state_machine::Session;
use crate::planner::Step;

/// What would be, had an answer been this one.
#[derive(Clone, PartialEq, Debug)]
pub struct Otherwise {
    /// The finding, by name.
    pub about: String,
    /// The outcome.
    pub outcome: String,
    /// What would be advised then, in a sentence of the package; empty for taking the complaints again and for being done.
    pub step: String,
    /// Minutes' worth to done from there, expected; `None` where nothing would be complained of or planned.
    pub minutes: Option<f64>,
    /// Whether that is another step than the present one.
    pub changes: bool,
    /// The most probable cause then, with its chance.
    pub likeliest: Option<(String, f64)>,
    /// By what factor all that was said would be more probable than it is now: below 1, the other answers speak against it.
    pub fits: f64,
}

impl Session {
    /// The other outcomes of an answer; none where the event is no answer with outcomes.
    #[must_use]
    pub fn otherwise(&self, event: EventNo) -> Vec<Otherwise> {
        let entries = self.entries();
        let Some((_, what)) = entries.into_iter().find(|(no, _)| *no == event) else { return Vec::new() };
        let (now, ln_now) = (self.insight().would_do(), self.ranking().ln_evidence);
        let alternatives = self.alternatives(event, what);
        let tried = alternatives.into_iter().filter_map(|(about, outcome, to)| {
            let trial = self.tried(What::Change { event, to: Some(Box::new(to)) })?;
            let then = trial.insight().would_do();
            let ranking = trial.ranking();
            Some(Otherwise {
                about,
                outcome,
                changes: then.as_ref().map(|one| &one.0) != now.as_ref().map(|one| &one.0),
                step: then.as_ref().map(|one| one.1.clone()).unwrap_or_default(),
                minutes: then.map(|one| one.2),
                likeliest: ranking.causes.first().map(|cause| (cause.name.clone(), cause.posterior)),
                fits: (ranking.ln_evidence - ln_now).exp(),
            })
        });
        tried.collect()
    }

    /// The same session after one more event; `None` where it would be refused.
    pub(crate) fn tried(&self, what: What) -> Option<Self> {
        let mut trial = self.clone();
        let at = self.events().last().map_or(0, |event| event.at);
        trial.apply(Event { at, what }).ok()?;
        Some(trial)
    }

    /// Per other outcome: the finding's name, the outcome, the event that would say so.
    fn alternatives(&self, event: EventNo, what: &What) -> Vec<(String, String, What)> {
        let model = self.model();
        let mut found = Vec::new();
        for (finding, was, implied, _) in self.reported(event) {
            if implied {
                continue;
            }
            let form = &model.findings[finding.at()];
            for (at, outcome) in form.outcomes.iter().enumerate().filter(|(at, _)| *at != was) {
                let (id, outcome, words) = (form.id.clone(), outcome.clone(), String::new());
                let shown = super::steps::outcome_name(model, finding, at);
                let to = match what {
                    What::Volunteered { sure, .. } => {
                        What::Volunteered { finding: id, outcome, sure: *sure, words }
                    }
                    What::Proved { minutes, .. } => {
                        What::Proved { finding: id, outcome, minutes: *minutes, words }
                    }
                    What::Answered { test, answer, sure, .. } => {
                        let mut all = match answer {
                            Answer::Outcomes(all) => all.clone(),
                            _ => Vec::new(),
                        };
                        all.retain(|(other, _)| *other != id);
                        all.push((id, outcome));
                        let answer = Answer::Outcomes(all);
                        What::Answered { test: test.clone(), answer, sure: *sure, words }
                    }
                    _ => continue,
                };
                found.push((form.name.clone(), shown, to));
            }
        }
        found
    }
}

impl Insight<'_> {
    /// What is to be done: the step, a sentence for it, and the expected minutes; `None` where nothing is complained of.
    pub(crate) fn would_do(self) -> Option<(Step, String, f64)> {
        if self.state.complaints.is_empty() {
            return None;
        }
        let advice = self.advice()?;
        let step = match self.walked() {
            Some((_, step)) => step,
            None => advice.why.aim.as_ref().unwrap_or(&advice.step),
        };
        Some((step.clone(), self.step_name(step), advice.expected_minutes))
    }
}
