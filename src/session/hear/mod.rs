//! From what a person types to what it means.
//!
//! In: a line, what the session waits for ([`Expecting`]), the model, and its words ([`Ear`]). Out: [`Heard`].
//! Invariants: pure, no input or output; any text gives an answer and none panics; words of an emergency come before
//! everything else; what is in doubt comes back as a question with choices, never as a guess.

mod answer;
mod assent;
mod cause_seen;
mod clause;
mod emergency;
mod fault_number;
mod index;
mod kinds;
mod line;
mod list;
pub mod meaning;
mod number;
mod on_the_spot;
mod outcome;
mod people;
mod same_unit;
pub mod standing_words;
mod stem;
mod symptom;
mod token;
mod unit;
mod wire;

pub use kinds::kinds;
pub use meaning::{
    About, Alarm, Answer, Choice, Doubt, FaultNumber, Heard, Meaning, PersonChange, PersonSaid, Reported,
    Sure, Unclear,
};
pub use on_the_spot::on_the_spot;
pub use standing_words::{Entry, STANDING_WORDS, Word};
pub(crate) use wire::{WiresHeard, wires};

use crate::model::Model;
use crate::model::index::{FindingIx, TestIx};

/// What the session waits for.
#[derive(Clone, PartialEq, Debug, Default)]
pub enum Expecting {
    /// The caller's own words: what is wrong?
    #[default]
    OwnWords,
    /// Plain answers: the outcome of one finding.
    Finding(FindingIx),
    /// The numbers of a reading.
    Readings(TestIx),
    /// Yes or no to something that is no finding ("all clear?", "locked and tagged?").
    YesNo,
    /// A step to be done: done, did not help, can't.
    Step,
    /// An entry of a list that was shown: choices of an earlier doubt.
    Choose(Vec<Choice>),
    /// An entry of a list of texts.
    Pick(Vec<String>),
    /// A number in a unit of measure, for the nameplate; empty: a bare number.
    Number(String),
    /// So many numbers in a unit of measure, of a reading that is no test.
    Numbers(String, usize),
    /// Words, for the nameplate or the case; taken as they are.
    Words,
    /// Who is at the panel, with what?
    Person,
}

/// A kind of unit that the package knows, with words for it and for its symptoms: in a session without a job sheet,
/// units of it appear as they are mentioned.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Kind {
    /// The component.
    pub component: String,
    /// Words for such a unit: its title and its `also`.
    pub words: Vec<String>,
    /// Its symptoms.
    pub symptoms: Vec<KindSymptom>,
}

/// A symptom of a [`Kind`].
#[derive(Clone, PartialEq, Debug, Default)]
pub struct KindSymptom {
    /// Its name in the component.
    pub name: String,
    /// The report in a sentence, with `{unit}` unfilled.
    pub say: String,
    /// Words and phrases of callers.
    pub also: Vec<String>,
    /// Outcomes; the first is normal.
    pub outcomes: Vec<String>,
    /// Further words for each outcome, parallel to `outcomes`.
    pub outcome_words: Vec<Vec<String>>,
}

/// The words of a model, indexed once; hearing a line is then well under a millisecond.
#[derive(Clone, Debug, Default)]
pub struct Ear {
    index: index::Index,
    emergencies: emergency::Emergencies,
    people: people::PeopleWords,
    causes: cause_seen::CauseWords,
}

impl Ear {
    /// Indexes the words of `model`, and of `kinds` whose units may still appear (none with a job sheet).
    ///
    /// Cost: the words of the model times the logarithm of their number.
    #[must_use]
    pub fn new(model: &Model, kinds: &[Kind]) -> Self {
        Self {
            index: index::Index::new(model, kinds),
            emergencies: emergency::Emergencies::new(&model.practice.emergencies),
            people: people::PeopleWords::new(&model.practice),
            causes: cause_seen::CauseWords::new(model),
        }
    }
}

/// What a line is heard against.
#[derive(Clone, Copy, Debug)]
pub struct Context<'a> {
    /// The model of the session.
    pub model: &'a Model,
    /// Its words.
    pub ear: &'a Ear,
    /// What the session waits for.
    pub expecting: &'a Expecting,
}

/// What `line` means.
#[must_use]
pub fn hear(line: &str, context: &Context) -> Heard {
    let mut said = token::tokens(line);
    let known = |stem: &str| context.ear.index.knows(stem);
    if let Some(found) = context.ear.emergencies.find(&said, &known) {
        let words = match (found.tokens.first(), found.tokens.last()) {
            (Some(&first), Some(&last)) => line[said[first].at.start..said[last].at.end].to_owned(),
            _ => String::new(),
        };
        said.truncate(token::MOST_TOKENS);
        let rest = match line::understand(line, &said, context) {
            Heard::Understood(meanings) => meanings,
            Heard::Unclear(unclear) => unclear.understood,
            _ => Vec::new(),
        };
        return Heard::Emergency(Alarm { emergency: found.emergency, words, plain: found.plain, rest });
    }
    said.truncate(token::MOST_TOKENS);
    if said.is_empty() {
        return if line.trim() == "?" { Heard::Word(Word::Help(String::new())) } else { Heard::Nothing };
    }
    if let Some(meanings) = answer::exact(line, &said, context) {
        return Heard::Understood(meanings);
    }
    if let Some(word) = standing_words::standing_word(line, &said) {
        return Heard::Word(word);
    }
    line::understand(line, &said, context)
}
