//! What can be completed at this prompt.

use crate::export::words as readable;
use crate::session::dialogue::Dialogue;
use crate::session::hear::STANDING_WORDS;
use crate::session::prompt::{Prompt, View};

/// Answers that fit the question first, then the standing words, then units and symptoms.
pub(super) fn words(dialogue: &Dialogue, view: &View) -> Vec<String> {
    let mut words: Vec<String> = match &view.prompt {
        Prompt::Test(step) => step
            .choices
            .get(dialogue.part())
            .map(|choice| choice.outcomes.iter().map(|outcome| readable(outcome)).collect())
            .unwrap_or_default(),
        Prompt::Prove(step) => step.outcomes.iter().map(|outcome| readable(outcome)).collect(),
        Prompt::WorkState(choices) => choices.iter().map(|choice| choice.name.clone()).collect(),
        Prompt::PowerUp(step) if step.walk.as_ref().is_some_and(|list| list.next.is_some()) => {
            ["good", "open", "not there", "rest good"].map(str::to_owned).to_vec()
        }
        Prompt::PowerUp(step) if step.reading.is_none() => {
            step.outcomes.iter().map(|outcome| readable(outcome)).collect()
        }
        Prompt::PowerUp(_) | Prompt::Complaint => vec![],
        _ => vec!["yes".to_owned(), "no".to_owned()],
    };
    words.extend(STANDING_WORDS.iter().map(|entry| entry.word.to_owned()));
    let model = dialogue.session().model();
    words.extend(model.units.iter().map(|unit| unit.name.clone()));
    words.extend(model.findings.iter().filter_map(|finding| finding.symptom.as_ref()).map(|s| s.say.clone()));
    words
}
