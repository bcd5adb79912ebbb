//! A line as words: folded, contractions opened, stemmed lightly, filler and negations marked.
//!
//! In: any text. Out: [`Token`]s in order, at most [`MOST_TOKENS`]. Invariant: package phrases and callers' lines go the
//! same way, so that whatever the stemming does, both sides agree.

use std::collections::HashSet;
use std::ops::Range;
use std::sync::LazyLock;

use super::stem::stem;

/// Words of a line that are looked at for meaning; emergencies are sought in all of it.
pub(super) const MOST_TOKENS: usize = 160;

/// What part a word plays.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Part {
    /// It carries meaning.
    Content,
    /// A small word that carries a little: on, off, up, down.
    Particle,
    /// It carries none: the, is, please.
    Filler,
    /// It turns the meaning round: not, no, without.
    Negation,
}

/// One word.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Token {
    /// Lower case, without apostrophes.
    pub text: String,
    /// Its stem.
    pub stem: String,
    /// Its part.
    pub part: Part,
    /// Where it stands in the line, in bytes.
    pub at: Range<usize>,
    /// A comma, a full stop or the like stands before it.
    pub after_stop: bool,
    /// It is written together with the word before, as by a hyphen.
    pub joined: bool,
    /// It ends in a plural `s`.
    pub plural: bool,
}

impl Token {
    /// Whether it counts when phrases are compared.
    pub(super) fn counts(&self) -> bool {
        matches!(self.part, Part::Content | Part::Particle)
    }

    /// Whether it holds a digit.
    pub(super) fn has_digit(&self) -> bool {
        self.text.bytes().any(|b| b.is_ascii_digit())
    }
}

/// The words of `line`.
pub(super) fn tokens(line: &str) -> Vec<Token> {
    let mut out: Vec<Token> = Vec::new();
    let mut chars = line.char_indices().peekable();
    let (mut after_stop, mut joined) = (false, false);
    while let Some((from, first)) = chars.next() {
        if !first.is_alphanumeric() {
            match first {
                ',' | ';' | ':' | '.' | '!' | '?' | '(' | ')' | '\n' | '–' | '—' => {
                    (after_stop, joined) = (true, false)
                }
                '-' if !out.is_empty() && out.last().is_some_and(|t| t.at.end == from) => joined = true,
                '-' => after_stop = true,
                _ => joined = false,
            }
            continue;
        }
        let mut text: String = first.to_lowercase().collect();
        let mut to = from + first.len_utf8();
        while let Some(&(at, c)) = chars.peek() {
            let inside = match c {
                '\'' | '’' | '‘' | '`' | '´' => {
                    line[at + c.len_utf8()..].chars().next().is_some_and(char::is_alphabetic)
                }
                '.' | ',' => {
                    text.bytes().all(|b| b.is_ascii_digit() || b == b'.' || b == b',')
                        && line[at + 1..].bytes().next().is_some_and(|b| b.is_ascii_digit())
                }
                c => c.is_alphanumeric(),
            };
            if !inside {
                break;
            }
            if matches!(c, '.' | ',') {
                text.push(c);
            } else if c.is_alphanumeric() {
                text.extend(c.to_lowercase());
            } else {
                text.push('\'');
            }
            to = at + c.len_utf8();
            chars.next();
        }
        open(&text, &mut |word, possessive| {
            out.push(Token {
                stem: stem(word),
                part: part(word),
                plural: !possessive && word.len() > 3 && word.ends_with('s') && !word.ends_with("ss"),
                text: word.to_owned(),
                at: from..to,
                after_stop,
                joined,
            });
            (after_stop, joined) = (false, false);
        });
    }
    turn_round_by_verb(&mut out);
    idioms(&mut out);
    out
}

/// The stems that count, of a phrase of the package.
pub(super) fn stems(phrase: &str) -> Vec<String> {
    tokens(phrase).into_iter().filter(Token::counts).map(|t| t.stem).collect()
}

/// A word with its contraction opened: `won't` gives `will`, `not`.
fn open(word: &str, push: &mut impl FnMut(&str, bool)) {
    let bare: String = word.chars().filter(|c| *c != '\'').collect();
    let opened: &[&str] = match bare.as_str() {
        "wont" => &["will", "not"],
        "cant" | "cannot" => &["can", "not"],
        "dont" => &["do", "not"],
        "doesnt" | "dosent" | "doesent" => &["does", "not"],
        "didnt" => &["did", "not"],
        "isnt" => &["is", "not"],
        "arent" => &["are", "not"],
        "aint" => &["is", "not"],
        "wasnt" => &["was", "not"],
        "werent" => &["were", "not"],
        "hasnt" => &["has", "not"],
        "havent" => &["have", "not"],
        "hadnt" => &["had", "not"],
        "wouldnt" => &["would", "not"],
        "couldnt" => &["could", "not"],
        "shouldnt" => &["should", "not"],
        "im" => &["i", "am"],
        "ive" => &["i", "have"],
        "dunno" => &["do", "not", "know"],
        _ => &[],
    };
    if !opened.is_empty() {
        return opened.iter().for_each(|word| push(word, false));
    }
    match word.split_once('\'') {
        Some((noun, "s")) => push(noun, true),
        Some((noun, "re")) => [noun, "are"].iter().for_each(|word| push(word, false)),
        Some((noun, "ll")) => [noun, "will"].iter().for_each(|word| push(word, false)),
        Some((noun, "ve")) => [noun, "have"].iter().for_each(|word| push(word, false)),
        _ => push(&bare, false),
    }
}

fn part(word: &str) -> Part {
    match word {
        "not" | "no" | "never" | "without" | "nothing" | "none" | "neither" | "nor" | "hardly" | "barely"
        | "nobody" => Part::Negation,
        "on" | "off" | "up" | "down" | "out" | "in" | "over" | "under" | "back" | "away" | "after"
        | "before" | "while" | "when" | "always" | "again" | "still" | "longer" | "more" | "other"
        | "only" | "little" | "suddenly" | "keep" | "keeps" | "kept" | "too" | "very" | "all" | "both"
        | "like" | "get" | "gets" | "see" | "try" | "tries" | "trying" | "tried" => Part::Particle,
        word if IS_FILLER.contains(word) => Part::Filler,
        _ => Part::Content,
    }
}

/// Small words of talk that say nothing about the trouble.
const FILLER: &[&str] = &[
    "a",
    "an",
    "the",
    "is",
    "are",
    "was",
    "were",
    "be",
    "been",
    "being",
    "am",
    "do",
    "does",
    "did",
    "doing",
    "has",
    "have",
    "had",
    "having",
    "will",
    "would",
    "can",
    "could",
    "should",
    "shall",
    "may",
    "to",
    "of",
    "at",
    "by",
    "for",
    "from",
    "with",
    "into",
    "onto",
    "it",
    "its",
    "this",
    "that",
    "these",
    "those",
    "they",
    "them",
    "their",
    "there",
    "theres",
    "here",
    "i",
    "me",
    "my",
    "we",
    "us",
    "our",
    "you",
    "your",
    "he",
    "she",
    "him",
    "her",
    "his",
    "who",
    "which",
    "what",
    "so",
    "as",
    "if",
    "or",
    "and",
    "but",
    "also",
    "plus",
    "then",
    "than",
    "just",
    "now",
    "already",
    "yet",
    "really",
    "quite",
    "somehow",
    "actually",
    "basically",
    "ok",
    "okay",
    "well",
    "um",
    "uh",
    "er",
    "hmm",
    "oh",
    "hi",
    "hello",
    "hey",
    "please",
    "thanks",
    "thank",
    "kind",
    "kinda",
    "sort",
    "bit",
    "getting",
    "got",
    "seem",
    "seems",
    "look",
    "looks",
    "looking",
    "think",
    "guess",
    "believe",
    "anymore",
    "any",
    "some",
    "one",
    "ones",
    "every",
    "each",
    "today",
    "yesterday",
    "morning",
    "tonight",
    "since",
    "because",
    "whenever",
    "about",
    "s",
    "t",
    "said",
    "tell",
    "told",
    "yes",
    "yeah",
    "yep",
    "whole",
    "lot",
    "lots",
    "damn",
    "stupid",
    "thing",
    "thingy",
    "guys",
    "guy",
    "sir",
    "man",
    "mate",
    "even",
    "much",
    "completely",
    "totally",
    "probably",
    "maybe",
    "perhaps",
    "might",
    "likely",
    "suppose",
    "possibly",
    "pretty",
    "sure",
    "certainly",
    "definitely",
    "absolutely",
    "want",
    "wants",
    "another",
];

/// The same, to look up; nothing depends on its order.
static IS_FILLER: LazyLock<HashSet<&str>> = LazyLock::new(|| FILLER.iter().copied().collect());

/// `stopped running`, `fails to start`: the first verb turns the second round.
fn turn_round_by_verb(tokens: &mut [Token]) {
    for at in 0..tokens.len() {
        if !matches!(tokens[at].stem.as_str(), "stop" | "quit" | "fail" | "refus" | "ceas" | "unabl") {
            continue;
        }
        let (verb, after_to) = match tokens.get(at + 1).map(|t| t.text.as_str()) {
            Some("to") => (tokens.get(at + 2), true),
            _ => (tokens.get(at + 1), false),
        };
        let turned = verb.is_some_and(|v| {
            !v.after_stop
                && v.part == Part::Content
                && (after_to || v.text.len() > 4 && v.text.ends_with("ing"))
        });
        if turned {
            tokens[at].part = Part::Negation;
        }
    }
}

/// Negations that deny nothing of what follows: `no idea why`, `not only`, `no doubt`.
fn idioms(tokens: &mut [Token]) {
    for at in 0..tokens.len() {
        if tokens[at].part != Part::Negation {
            continue;
        }
        let next = |by: usize| tokens.get(at + by).map_or("", |t| t.text.as_str());
        let asks =
            |by: usize| matches!(next(by), "why" | "how" | "what" | "where" | "when" | "who" | "which");
        let empty = match (tokens[at].text.as_str(), next(1)) {
            ("not", "know" | "sure" | "certain" | "clear" | "tell" | "understand") if asks(2) => 3,
            ("no", "idea" | "clue") if asks(2) => 3,
            ("not", "only" | "just" | "to") | ("no", "doubt" | "matter" | "wonder" | "kidding") => 2,
            _ => 0,
        };
        for token in tokens.iter_mut().skip(at).take(empty) {
            token.part = Part::Filler;
        }
    }
}
