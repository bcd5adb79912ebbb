//! The words that are always at hand, one table for hearing, help and completion.

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
    /// The person cannot tell.
    CannotTell,
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
        also: &["not sure", "don't know", "dunno", "no idea", "skip", "unsure"],
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
    Entry { word: "again", takes: "", also: &["repeat", "say again", "pardon"], help: "the question again" },
    Entry { word: "help", takes: "[WORD]", also: &["?", "commands"], help: "what can be typed here" },
    Entry {
        word: "quit",
        takes: "",
        also: &["bye", "exit", "leave", "hang up", "goodbye"],
        help: "leave; everything is saved",
    },
];
