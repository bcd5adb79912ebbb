//! Facts about people and work: who came, left, has which instrument; where somebody is; which work state it is in.
//!
//! In: a clause, and the package's words for competences, instruments, places and work states. Out: what it says of them.
//! Invariant: a word for a person alone changes nothing ("send an electrician"); something must say that they are there,
//! or left, unless the line is an introduction ("Joe, electrician, with a clamp meter") or was asked for.

use super::meaning::{Meaning, PersonChange, PersonSaid};
use super::stem::misspelt;
use super::token::{Part, Token, tokens};
use crate::model::index::{CompetenceIx, InstrumentIx, PlaceIx, WorkStateIx};
use crate::model::practice::Practice;

/// Phrases of one kind of thing: the thing's position, and the stems of a phrase.
type Phrases = Vec<(usize, Vec<String>)>;

/// The package's words for people and work, prepared once.
#[derive(Clone, Debug, Default)]
pub(super) struct PeopleWords {
    competences: Phrases,
    instruments: Phrases,
    places: Phrases,
    work_states: Phrases,
}

fn phrases<'a>(all: impl Iterator<Item = (usize, Vec<&'a str>)>) -> Phrases {
    let mut out: Phrases = Vec::new();
    for (at, texts) in all {
        for text in texts {
            let content: Vec<String> =
                tokens(text).into_iter().filter(|t| t.part == Part::Content).map(|t| t.stem).collect();
            if !content.is_empty() && !out.iter().any(|(_, known)| *known == content) {
                out.push((at, content));
            }
        }
    }
    // Longer phrases first: a drive technician is no plain technician.
    out.sort_by_key(|(_, words)| std::cmp::Reverse(words.len()));
    out
}

fn texts<'a>(id: &'a str, name: &'a str, also: &'a [String]) -> Vec<&'a str> {
    [id, name].into_iter().chain(also.iter().map(String::as_str)).collect()
}

impl PeopleWords {
    /// Prepares the words of a practice.
    pub(super) fn new(practice: &Practice) -> Self {
        Self {
            competences: phrases(
                practice.competences.iter().enumerate().map(|(at, c)| (at, texts(&c.id, &c.name, &c.also))),
            ),
            instruments: phrases(
                practice.instruments.iter().enumerate().map(|(at, i)| (at, texts(&i.id, &i.name, &i.also))),
            ),
            places: phrases(
                practice.places.iter().enumerate().map(|(at, p)| (at, texts(&p.id, &p.name, &p.also))),
            ),
            work_states: phrases(
                practice.work_states.iter().enumerate().map(|(at, w)| (at, texts(&w.id, &w.name, &w.also))),
            ),
        }
    }
}

/// The things that the words name, each with the positions of its words; words are used once, longest phrase first.
fn named(phrases: &Phrases, said: &[Token], used: &mut Vec<usize>) -> Vec<(usize, Vec<usize>)> {
    let mut found: Vec<(usize, Vec<usize>)> = Vec::new();
    for (thing, words) in phrases {
        let is = |at: usize, word: &str| {
            said[at].stem == word || said[at].text.len() > 5 && misspelt(&said[at].stem, word).is_some()
        };
        for from in 0..said.len() {
            let mut positions = Vec::with_capacity(words.len());
            let mut at = from;
            for word in words {
                // Small words may stand between: "test and balance".
                while at < said.len() && at > from && said[at].part != Part::Content && !is(at, word) {
                    at += 1;
                }
                if at >= said.len() || used.contains(&at) || !is(at, word) {
                    break;
                }
                positions.push(at);
                at += 1;
            }
            if positions.len() == words.len() {
                used.extend(&positions);
                match found.iter_mut().find(|(known, _)| known == thing) {
                    Some((_, known)) => known.extend(positions),
                    None => found.push((*thing, positions)),
                }
            }
        }
    }
    found.sort_by_key(|(_, positions)| positions.first().copied());
    found
}

fn says(said: &[Token], words: &[&str]) -> bool {
    said.iter().any(|t| words.contains(&t.text.as_str()))
}

fn says_in_row(said: &[Token], row: &[&str]) -> bool {
    said.windows(row.len()).any(|w| w.iter().zip(row).all(|(t, word)| t.text == *word))
}

/// What a whole line says of a person. `asked`: who is there was the question.
pub(super) fn person(words: &PeopleWords, line: &str, said: &[Token], asked: bool) -> Option<PersonSaid> {
    let mut used = Vec::new();
    let instruments = named(&words.instruments, said, &mut used);
    let competences = named(&words.competences, said, &mut used);
    let has = says(
        said,
        &[
            "have", "has", "got", "with", "brought", "without", "carry", "carries", "grabbed", "found",
            "holding",
        ],
    );
    let denied = |positions: &[usize]| {
        let first = positions.iter().copied().min().unwrap_or(0);
        said[..first].iter().rev().take(4).take_while(|t| t.text != "with").any(|t| t.part == Part::Negation)
    };
    let away = [
        "need",
        "needs",
        "send",
        "call",
        "called",
        "calling",
        "coming",
        "wait",
        "waiting",
        "tomorrow",
        "later",
        "soon",
        "want",
        "could",
        "should",
        "will",
        "must",
        "find",
        "get",
        "ask",
        "asked",
        "yesterday",
        "earlier",
        "was",
    ];
    let elsewhere = says(said, &away)
        || says_in_row(said, &["on", "the", "way"])
        || says_in_row(said, &["on", "his", "way"])
        || says_in_row(said, &["on", "her", "way"]);
    let leaves = says(said, &["left", "leaves", "leaving"])
        || says_in_row(said, &["is", "gone"])
        || says_in_row(said, &["went", "home"])
        || says_in_row(said, &["has", "gone"]);
    let speaks = says_in_row(said, &["i", "am"])
        || says_in_row(said, &["this", "is"])
        || says_in_row(said, &["my", "name", "is"])
        || says(said, &["speaking"])
        || says_in_row(said, &["i", "have"])
        || says_in_row(said, &["i", "got"])
        || says_in_row(said, &["we", "have"]);
    let comes = says(said, &["here", "arrived", "arrives", "came", "joined", "joins"])
        || says_in_row(said, &["takes", "over"])
        || says_in_row(said, &["taking", "over"])
        || says_in_row(said, &["with", "me"])
        || says_in_row(said, &["with", "us"])
        || says_in_row(said, &["on", "site"])
        || says_in_row(said, &["showed", "up"])
        || says_in_row(said, &["on", "the", "phone"])
        || says_in_row(said, &["on", "the", "line"])
        || says_in_row(said, &["is", "there"]);
    let introduced = introduction(line, said, &competences);
    let change = if leaves && !competences.is_empty() {
        PersonChange::Leaves
    } else if comes && !(competences.is_empty()) && !says_in_row(said, &["i", "am"]) {
        PersonChange::Comes
    } else {
        PersonChange::Speaks
    };
    if !competences.is_empty() {
        let denies = competences.iter().all(|(_, at)| denied(at)) || says_in_row(said, &["not", "here"]);
        let there = change != PersonChange::Speaks || asked || speaks || introduced.is_some();
        if denies || !there || elsewhere && change != PersonChange::Leaves && !asked {
            return None;
        }
    } else if !(asked
        || has
            && (speaks
                || !instruments.is_empty() && says(said, &["i", "we", "he", "she", "with", "without", "no"])))
        || instruments.is_empty()
    {
        return None;
    }
    // "the meter" that something else is said of is no claim to have one.
    if competences.is_empty() && !asked && says(said, &["reads", "shows", "says", "read"]) {
        return None;
    }
    let (without, at_hand): (Vec<_>, Vec<_>) = instruments.into_iter().partition(|(_, at)| denied(at));
    let name = introduced.or_else(|| name(line, said, &used, asked));
    Some(PersonSaid {
        name,
        competences: competences.into_iter().map(|(c, _)| CompetenceIx::new(c)).collect(),
        instruments: at_hand.into_iter().map(|(i, _)| InstrumentIx::new(i)).collect(),
        without: without.into_iter().map(|(i, _)| InstrumentIx::new(i)).collect(),
        change,
    })
}

/// Whether a line names a competence at all: worth asking back when nothing else in it was understood.
pub(super) fn names_somebody(words: &PeopleWords, said: &[Token]) -> Option<CompetenceIx> {
    named(&words.competences, said, &mut Vec::new()).first().map(|(c, _)| CompetenceIx::new(*c))
}

fn capitalised(line: &str, token: &Token) -> bool {
    line[token.at.clone()].chars().next().is_some_and(char::is_uppercase)
}

/// `Joe, electrician, …`: a name, a stop, a competence.
fn introduction(line: &str, said: &[Token], competences: &[(usize, Vec<usize>)]) -> Option<String> {
    let first = competences.first()?.1.first().copied()?;
    let stop = (1..=first).find(|&at| said[at].after_stop)?;
    let between_empty = said[stop..first].iter().all(|t| t.part == Part::Filler);
    let names = &said[..stop];
    let plausible = stop <= 3
        && between_empty
        && names.iter().all(|t| t.part == Part::Content && !t.has_digit() && capitalised(line, t));
    plausible.then(|| line[names[0].at.start..names[stop - 1].at.end].to_owned())
}

/// A name from "this is Joe", "my name is Joe", "Joe here", "Joe is here".
fn name(line: &str, said: &[Token], used: &[usize], asked: bool) -> Option<String> {
    let fits = |at: usize| {
        said.get(at).is_some_and(|t| {
            t.part == Part::Content && !t.has_digit() && !used.contains(&at) && capitalised(line, t)
        })
    };
    let after = |row: &[&str]| {
        said.windows(row.len())
            .position(|w| w.iter().zip(row).all(|(t, word)| t.text == *word))
            .map(|at| at + row.len())
    };
    let from = after(&["this", "is"])
        .or_else(|| after(&["name", "is"]))
        .or_else(|| after(&["i", "am"]))
        .filter(|&at| fits(at));
    let from = from.or_else(|| {
        let begins = fits(0)
            && (asked
                || said
                    .get(1)
                    .is_some_and(|t| matches!(t.text.as_str(), "here" | "is" | "has" | "speaking")));
        begins.then_some(0)
    })?;
    let mut to = from;
    while to < from + 3 && fits(to) && (to == from || !said[to].after_stop) {
        to += 1;
    }
    Some(line[said[from].at.start..said[to - 1].at.end].to_owned())
}

/// Where a clause says that somebody is or goes.
pub(super) fn place(words: &PeopleWords, said: &[Token]) -> Option<PlaceIx> {
    let who = says(said, &["i", "we", "he", "she", "they"]);
    let goes = says(
        said,
        &[
            "going", "go", "goes", "went", "heading", "headed", "climbing", "walking", "am", "are", "up",
            "at", "is",
        ],
    );
    let starts = said
        .first()
        .is_some_and(|t| matches!(t.text.as_str(), "going" | "heading" | "on" | "at" | "in" | "back"));
    let denied = said.iter().any(|t| t.part == Part::Negation)
        || says(said, &["can", "could", "should", "need", "want"]);
    let found = named(&words.places, said, &mut Vec::new());
    let [(place, positions)] = found.as_slice() else { return None };
    // Nothing else may be told in the clause.
    let others = (0..said.len()).filter(|at| !positions.contains(at) && said[*at].part == Part::Content);
    let movement =
        |t: &Token| matches!(t.stem.as_str(), "go" | "head" | "climb" | "walk" | "stand" | "stay" | "right");
    let nothing_else = others.into_iter().all(|at| movement(&said[at]));
    (!denied && nothing_else && (who && goes || starts)).then(|| PlaceIx::new(*place))
}

/// Which work state a clause says it is in.
pub(super) fn work_state(words: &PeopleWords, said: &[Token]) -> Option<Meaning> {
    let found = named(&words.work_states, said, &mut Vec::new());
    let [(state, _)] = found.as_slice() else { return None };
    let planned = says(
        said,
        &[
            "will", "should", "need", "going", "want", "can", "could", "before", "after", "if", "who",
            "when", "until",
        ],
    );
    if planned {
        return None;
    }
    let negative = said.iter().filter(|t| t.part == Part::Negation).count() % 2 == 1;
    Some(Meaning::WorkState((!negative).then(|| WorkStateIx::new(*state))))
}
