//! The words that are always at hand, one table for hearing, help and completion.
//!
//! "Can't tell" stands in the table and is heard as an answer. Invariant: a word that is an answer to the present question is heard as that, and not as the word.

use super::token::{Token, tokens};

/// A word that is always at hand.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Word {
    /// Why this step.
    Why,
    /// How likely the causes are now.
    Ranking,
    /// The ranking in numbers from now on, or in words again.
    Numbers,
    /// What has been said so far, with the numbers that `change` takes.
    Answers,
    /// Withdraw the last answer or act.
    Undo,
    /// Change an earlier answer.
    Change {
        /// Its number in the list of answers; `None`: ask which.
        number: Option<usize>,
        /// The new answer, as typed; empty: ask for it.
        to: String,
    },
    /// What if an earlier answer were otherwise: its number in the list of answers; `None`: show the list.
    WhatIf(Option<usize>),
    /// Keep a remark with the case; empty: show the call note so far.
    Note(String),
    /// What can be typed here; a topic or nothing.
    Help(String),
    /// The step or the fix is done.
    Done,
    /// The fix did not help.
    DidNotHelp,
    /// What was lifted, pulled or slowed is put back: its number or words; empty: show the list.
    PutBack(String),
    /// Stop here and hand over to somebody else.
    HandOver,
    /// Reckon something of the trade: a function and its numbers; empty: what can be reckoned.
    Reckon(String),
    /// What is left of the power-up.
    WhatIsLeft,
    /// Say the question again.
    Again,
    /// Leave; everything is saved.
    Quit,
}

/// How a standing word is written and what it does.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Entry {
    /// The word as the help shows it.
    pub word: &'static str,
    /// What follows it, as the help shows it.
    pub takes: &'static str,
    /// Other ways of saying it.
    pub also: &'static [&'static str],
    /// What it does, in a line.
    pub help: &'static str,
}

/// Every standing word, in the order of the help.
pub const STANDING_WORDS: &[Entry] = &[
    Entry {
        word: "can't tell",
        takes: "",
        also: &["not sure", "don't know", "dunno", "no idea", "skip"],
        help: "nobody there can say; the next best question comes",
    },
    Entry {
        word: "done",
        takes: "",
        also: &["did it", "finished", "it's done"],
        help: "the step shown is done",
    },
    Entry {
        word: "did not help",
        takes: "",
        also: &["didn't help", "no change", "still the same", "no better", "same as before", "did nothing"],
        help: "the fix is done and the trouble is still there",
    },
    Entry {
        word: "why",
        takes: "",
        also: &["why that", "why this", "what for", "explain"],
        help: "why this step: what it separates, what it costs, what follows",
    },
    Entry {
        word: "ranking",
        takes: "",
        also: &["causes", "likely causes", "what is likely", "what could it be"],
        help: "the likely causes so far, and what moved them",
    },
    Entry {
        word: "numbers",
        takes: "",
        also: &["in numbers", "percent"],
        help: "the ranking with numbers, or without again",
    },
    Entry {
        word: "answers",
        takes: "",
        also: &["what i said", "so far", "summary"],
        help: "what has been said so far, numbered",
    },
    Entry {
        word: "undo",
        takes: "",
        also: &["take that back", "scratch that", "that was wrong"],
        help: "withdraw the last answer or act",
    },
    Entry { word: "change", takes: "3 [ANSWER]", also: &["correct"], help: "change answer 3, or any other" },
    Entry {
        word: "what if",
        takes: "3",
        also: &["what if not", "what if otherwise"],
        help: "what would be advised if answer 3 were another; nothing is changed",
    },
    Entry {
        word: "note",
        takes: "[REMARK]",
        also: &["call note", "remark"],
        help: "keep a remark with the case; alone, show the call note",
    },
    Entry {
        word: "put back",
        takes: "[NUMBER]",
        also: &["what is lifted", "what to put back"],
        help: "something lifted, pulled or slowed is put back; alone, list what is not",
    },
    Entry {
        word: "hand over",
        takes: "",
        also: &["handover", "send someone", "send somebody"],
        help: "stop here; whom to send, with what",
    },
    Entry {
        word: "reckon",
        takes: "[NAME NUMBERS]",
        also: &["calculate", "calculator"],
        help: "the trade's arithmetic, as in `unbalance 462 463 455`; alone, what can be reckoned",
    },
    Entry {
        word: "what is left",
        takes: "",
        also: &["what's left", "whats left", "how much is left"],
        help: "the steps of a power-up that are still to be confirmed",
    },
    Entry { word: "again", takes: "", also: &["repeat", "say again", "pardon"], help: "the question again" },
    Entry { word: "help", takes: "[WORD]", also: &["?", "commands"], help: "what can be typed here" },
    Entry {
        word: "quit",
        takes: "",
        also: &["bye", "exit", "leave", "hang up", "goodbye"],
        help: "leave; everything is saved",
    },
];

/// The standing word that `line` is, if it is one.
pub(super) fn standing_word(line: &str, said: &[Token]) -> Option<Word> {
    let is = |phrase: &str| {
        let phrase = tokens(phrase);
        phrase.len() == said.len() && phrase.iter().zip(said).all(|(p, s)| p.text == s.text)
    };
    let rest_after =
        |at: usize| said.get(at).map_or("", |t| line[t.at.end..].trim_start_matches([':', ',', ' ']).trim());
    if line.trim() == "?" {
        return Some(Word::Help(String::new()));
    }
    let first = said.first()?;
    let entry = STANDING_WORDS.iter().find(|e| is(e.word) || e.also.iter().any(|a| is(a)));
    if let Some(entry) = entry {
        return Some(match entry.word {
            // An answer: `assent` hears it, with all its other forms.
            "can't tell" => return None,
            "done" => Word::Done,
            "did not help" => Word::DidNotHelp,
            "why" => Word::Why,
            "ranking" => Word::Ranking,
            "numbers" => Word::Numbers,
            "answers" => Word::Answers,
            "undo" => Word::Undo,
            "change" => Word::Change { number: None, to: String::new() },
            "what if" => Word::WhatIf(None),
            "note" => Word::Note(String::new()),
            "put back" => Word::PutBack(String::new()),
            "hand over" => Word::HandOver,
            "reckon" => Word::Reckon(String::new()),
            "what is left" => Word::WhatIsLeft,
            "again" => Word::Again,
            "help" => Word::Help(String::new()),
            _ => Word::Quit,
        });
    }
    let second = said.get(1).map(|t| t.text.as_str());
    let number = |at: usize| said.get(at).and_then(|t| t.text.parse::<usize>().ok());
    match (first.text.as_str(), second) {
        ("note" | "remark", Some(_)) => Some(Word::Note(rest_after(0).to_owned())),
        ("reckon" | "calculate", Some(_)) => Some(Word::Reckon(rest_after(0).to_owned())),
        ("help", Some(_)) => Some(Word::Help(rest_after(0).to_owned())),
        ("change" | "correct", Some(second)) => {
            let at = 1 + usize::from(matches!(second, "number" | "answer"));
            let to = rest_after(at);
            let to = to.strip_prefix("to ").unwrap_or(to).trim();
            number(at).map(|n| Word::Change { number: Some(n), to: to.to_owned() })
        }
        ("what", Some("if")) if said.len() <= 4 => number(said.len() - 1).map(|n| Word::WhatIf(Some(n))),
        ("put", Some("back")) => Some(Word::PutBack(rest_after(1).to_owned())),
        ("put", Some(_)) if said.last().is_some_and(|t| t.text == "back") => {
            let last = said.last()?;
            Some(Word::PutBack(line[first.at.end..last.at.start].trim().to_owned()))
        }
        _ => None,
    }
}
