//! What the session waits for, from what it shows.

use super::super::event::{EventNo, What};
use super::super::hear::Expecting;
use super::super::prompt::{Prompt, TestStep};
use super::{Dialogue, Pending};

/// Ways of saying that the work changed something, where the answers cannot all be so.
const CHANGED: &[&str] =
    &["changed", "it changed", "something changed", "something was changed", "work was done"];

/// Whether the line says that the work changed something.
pub(super) fn says_changed(line: &str) -> bool {
    let line = line.trim().trim_end_matches(['.', '!']).to_lowercase();
    CHANGED.contains(&line.as_str())
}

impl Dialogue {
    /// What an answer to this prompt looks like.
    pub(super) fn waits_for(&self, prompt: &Prompt) -> Expecting {
        match prompt {
            Prompt::Complaint => Expecting::OwnWords,
            Prompt::Emergencies(_) | Prompt::Emergency(_) | Prompt::ThereNow(_) => Expecting::YesNo,
            Prompt::WorkState(choices) => {
                Expecting::Pick(choices.iter().map(|choice| choice.name.clone()).collect())
            }
            Prompt::Enter(_) | Prompt::Return(_) | Prompt::Fix(_) | Prompt::PutBack(_) => Expecting::Step,
            Prompt::PowerUp(step) => super::power_up::waits_for_step(step),
            Prompt::HandOver(_) | Prompt::Close(_) | Prompt::PowerUpWaits(_) => Expecting::Step,
            Prompt::Nameplate(_) => Expecting::Words,
            Prompt::Test(step) => self.waits_for_test(step),
            Prompt::Prove(step) => self.waits_for_finding(&step.finding),
            Prompt::Contradiction(doubt) => self.waits_for_finding(&doubt.finding),
            Prompt::HandedOver(_) | Prompt::Closed(_) => Expecting::Person,
        }
    }

    fn waits_for_test(&self, step: &TestStep) -> Expecting {
        if !step.reading.is_empty() {
            return self
                .session
                .model()
                .ids
                .tests
                .get(&step.test)
                .map_or(Expecting::Words, |&t| Expecting::Readings(t));
        }
        let at = match &self.pending {
            Pending::Parts { test, got, .. } if *test == step.test => got.len(),
            _ => 0,
        };
        step.choices.get(at).map_or(Expecting::YesNo, |choice| self.waits_for_finding(&choice.finding))
    }

    fn waits_for_finding(&self, id: &str) -> Expecting {
        self.session
            .model()
            .ids
            .findings
            .get(id)
            .map_or(Expecting::YesNo, |&finding| Expecting::Finding(finding))
    }

    /// What a new answer in place of that event looks like; `None`: it can only be withdrawn.
    pub(super) fn waits_for_change(&self, event: EventNo) -> Option<Expecting> {
        let model = self.session.model();
        match &self.session.events().get(event)?.what {
            What::Volunteered { finding, .. } | What::Proved { finding, .. } => {
                Some(self.waits_for_finding(finding))
            }
            What::Answered { test, .. } => {
                let index = *model.ids.tests.get(test)?;
                let test = &model.tests[index.at()];
                match (&test.reading, test.gives.as_slice()) {
                    (Some(_), _) => Some(Expecting::Readings(index)),
                    (None, [only]) => Some(Expecting::Finding(only.finding)),
                    (None, _) => None,
                }
            }
            What::ThereNow { .. } => Some(Expecting::YesNo),
            What::NameplateTold { .. } => Some(Expecting::Words),
            _ => None,
        }
    }
}
