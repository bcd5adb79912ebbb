//! What is asked back.
//!
//! In: parts of a line that are in doubt. Out: questions with choices, one at a time. Invariant: nothing that was typed is
//! lost: a line that fits no choice gets the choices again; what is put aside for an answer to the session's question, or
//! is none of the choices, is kept with the case in its words, and that is said.

use super::super::event::What;
use super::super::hear::{About, Answer, Doubt, Heard, Meaning, Reported, Unclear, Word};
use super::super::prompt::{Prompt, View};
use super::{Dialogue, Pending, Said, Turn};

impl Dialogue {
    /// Takes what was understood, and asks back about the rest.
    pub(super) fn unclear(&mut self, mut unclear: Unclear, view: &View, at: i64, turn: &mut Turn) {
        let understood = std::mem::take(&mut unclear.understood);
        if !understood.is_empty() {
            self.mean(understood, view, at, turn);
        }
        let further = std::mem::take(&mut unclear.further);
        if unclear.choices.is_empty() {
            turn.said.push(asked(&unclear));
        } else {
            self.doubts.insert(0, unclear);
        }
        for unclear in further {
            if unclear.choices.is_empty() {
                turn.said.push(asked(&unclear));
            } else {
                self.doubts.push(unclear);
            }
        }
    }

    /// A line that settles no choice while choices stand: whether that is all there is to it.
    pub(super) fn kept_asking(&mut self, line: &str, heard: &Heard, at: i64, turn: &mut Turn) -> bool {
        let Pending::Doubt(unclear) = &self.pending else { return false };
        let words = unclear.words.clone();
        let bare = |meanings: &[Meaning]| {
            let yes = |meaning: &Meaning| matches!(meaning, Meaning::Answer(Answer::YesNo { .. }));
            meanings.iter().all(yes) || is_assent(line)
        };
        match heard {
            // "Yes" to a list says of nothing which.
            Heard::Understood(meanings) if bare(meanings) => self.put_off(),
            Heard::Understood(_) => {
                self.pending = Pending::Nothing;
                self.keep_words(&words, at, turn);
                return false;
            }
            Heard::Nothing => self.put_off(),
            Heard::Unclear(new) if new.choices.is_empty() && new.understood.is_empty() => {
                turn.said.push(asked(new));
                self.put_off();
            }
            // Undo does away with what was said.
            Heard::Word(Word::Undo) => return false,
            Heard::Unclear(_) | Heard::Emergency(_) | Heard::Word(_) => {
                self.put_off();
                return false;
            }
        }
        true
    }

    /// The choices that stand wait until there is room for them.
    pub(super) fn put_off(&mut self) {
        if let Pending::Doubt(unclear) = std::mem::take(&mut self.pending) {
            self.doubts.insert(0, unclear);
        }
    }

    /// Asks what waits to be asked back, where nothing else is asked.
    pub(super) fn next_doubt(&mut self, turn: &mut Turn) {
        let prompt = self.session.view().prompt;
        let busy = matches!(prompt, Prompt::Emergency(_) | Prompt::Closed(_)) || turn.leave;
        if self.asks() || busy || self.doubts.is_empty() {
            return;
        }
        let unclear = self.doubts.remove(0);
        turn.said.push(asked(&unclear));
        self.pending = Pending::Doubt(unclear);
    }

    /// Keeps words with the case that nothing was taken of, and says so.
    pub(super) fn keep_words(&mut self, words: &str, at: i64, turn: &mut Turn) {
        let text = words.trim().to_owned();
        if !text.is_empty() && self.take(What::Note { text: text.clone() }, at, turn) {
            turn.said.push(Said::Kept(text));
        }
    }

    /// "The fan runs but moves no air": once it is settled of which unit the one is said, so is the other.
    pub(super) fn same_unit(&mut self, settled: &[Meaning]) -> Vec<Vec<Meaning>> {
        let model = self.session.model();
        let unit = |meaning: &Meaning| match meaning {
            Meaning::Symptom(Reported { about: About::Finding(finding), .. }) => {
                model.findings[finding.at()].unit
            }
            _ => None,
        };
        let [only] = settled else { return Vec::new() };
        let Some(of) = unit(only) else { return Vec::new() };
        let mut taken = Vec::new();
        self.doubts.retain(|unclear| {
            let of_it = |choice: &&super::super::hear::Choice| {
                matches!(choice.means.as_slice(), [meaning] if unit(meaning) == Some(of))
            };
            let mut fitting = unclear.choices.iter().filter(of_it);
            match (unclear.doubt, fitting.next(), fitting.next()) {
                (Doubt::WhichUnit, Some(one), None) => {
                    taken.push(one.means.clone());
                    false
                }
                _ => true,
            }
        });
        taken
    }
}

/// The question back.
fn asked(unclear: &Unclear) -> Said {
    Said::Unclear {
        words: unclear.words.clone(),
        doubt: unclear.doubt,
        choices: unclear.choices.iter().map(|choice| choice.text.clone()).collect(),
    }
}

/// Whether a line is a yes and nothing more, whatever it may name besides.
fn is_assent(line: &str) -> bool {
    let line = line.trim().trim_end_matches(['.', '!']).to_lowercase();
    matches!(line.as_str(), "y" | "yes" | "yeah" | "yep" | "ok" | "okay")
}
