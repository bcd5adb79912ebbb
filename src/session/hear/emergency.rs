//! Emergencies, sought in every line before anything else.
//!
//! In: the package's words and its phrases that hold such words without being the emergency. Out: the first emergency of
//! the practice whose words stand in the line. Invariant, to the safe side: words count unless one of the package's `not`
//! phrases holds them, or a negation stands before them with nothing between but a few harmless words ("no sign of
//! smoke"); a stop ends the reach of a negation ("no, smoke").

use super::stem::{misspelt, stem};
use super::token::{Part, Token, tokens};
use crate::model::practice::Emergency;

/// Words between the words of a phrase that are let pass, in all.
const LOOSE: usize = 4;

/// Between a negation and what it denies: anything else, and the negation is not believed.
const HARMLESS: &[&str] =
    &["any", "a", "an", "the", "sign", "signs", "of", "more", "longer", "visible", "such", "kind", "or"];

/// The same, after "not" and its like only: "no" may answer a question ("no I see smoke").
const HARMLESS_AFTER_NOT: &[&str] = &[
    "see", "seen", "smell", "smelling", "smelled", "feel", "notice", "noticed", "got", "get", "have", "has",
    "been", "is",
];

#[derive(Clone, Debug)]
struct Phrase {
    stems: Vec<String>,
    /// The words stand in this order and close together.
    in_order: bool,
}

#[derive(Clone, Debug, Default)]
struct Listened {
    words: Vec<Phrase>,
    not: Vec<Vec<String>>,
}

/// The words of all emergencies, prepared once.
#[derive(Clone, Debug, Default)]
pub(super) struct Emergencies {
    each: Vec<Listened>,
}

/// Words of an emergency in a line.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Found {
    /// Which emergency.
    pub emergency: usize,
    /// Positions of its words among the tokens.
    pub tokens: Vec<usize>,
    /// Spelt as in the package.
    pub plain: bool,
}

impl Emergencies {
    /// Prepares the words of `emergencies`.
    pub(super) fn new(emergencies: &[Emergency]) -> Self {
        let each = emergencies.iter().map(|e| Listened {
            words: e.words.iter().filter_map(|w| phrase(w)).collect(),
            not: e.not.iter().map(|n| telling(&tokens(n)).map(|(_, t)| t.stem.clone()).collect()).collect(),
        });
        Self { each: each.collect() }
    }

    /// The first emergency that `line` announces: those spelt right go first.
    ///
    /// `known` says whether a stem is a word of the package, so that it is no slip of a word of an emergency.
    /// Cost: words of the line times words of the emergencies.
    pub(super) fn find(&self, line: &[Token], known: &dyn Fn(&str) -> bool) -> Option<Found> {
        let masks: Vec<Vec<bool>> = self.each.iter().map(|e| mask(line, &e.not)).collect();
        [true, false].into_iter().find_map(|plain| {
            self.each.iter().zip(&masks).enumerate().find_map(|(emergency, (e, mask))| {
                let tokens = e.words.iter().find_map(|phrase| stands_in(phrase, line, mask, plain, known))?;
                Some(Found { emergency, tokens, plain })
            })
        })
    }
}

/// The words that matter when a `not` phrase is sought: all but articles and forms of `be`.
fn telling(tokens: &[Token]) -> impl Iterator<Item = (usize, &Token)> {
    let small = |t: &Token| {
        matches!(t.text.as_str(), "a" | "an" | "the" | "is" | "are" | "was" | "were" | "of" | "any")
    };
    tokens.iter().enumerate().filter(move |(_, t)| !small(t))
}

fn phrase(words: &str) -> Option<Phrase> {
    let tokens = tokens(words);
    let content: Vec<String> =
        tokens.iter().filter(|t| t.part == Part::Content).map(|t| t.stem.clone()).collect();
    if content.len() > 1 || tokens.len() == 1 {
        let stems = if content.is_empty() { vec![stem(&tokens.first()?.text)] } else { content };
        return Some(Phrase { stems, in_order: false });
    }
    let stems: Vec<String> = tokens
        .iter()
        .filter(|t| !matches!(t.text.as_str(), "a" | "an" | "the"))
        .map(|t| t.stem.clone())
        .collect();
    (!stems.is_empty()).then_some(Phrase { stems, in_order: true })
}

/// Tokens that a `not` phrase covers.
fn mask(line: &[Token], not: &[Vec<String>]) -> Vec<bool> {
    let mut masked = vec![false; line.len()];
    let telling: Vec<(usize, &Token)> = telling(line).collect();
    for phrase in not.iter().filter(|p| !p.is_empty()) {
        for window in telling.windows(phrase.len()) {
            let same = window.iter().zip(phrase).all(|((_, t), stem)| t.stem == *stem);
            let (first, last) = (window[0].0, window[window.len() - 1].0);
            if same && !line[first + 1..=last].iter().any(|t| t.after_stop) {
                masked[first..=last].iter_mut().for_each(|m| *m = true);
            }
        }
    }
    masked
}

fn stands_in(
    phrase: &Phrase,
    line: &[Token],
    masked: &[bool],
    plain: bool,
    known: &dyn Fn(&str) -> bool,
) -> Option<Vec<usize>> {
    let is = |at: usize, stem: &str| {
        let said = &line[at];
        !masked[at]
            && (said.stem == stem
                || !plain
                    && stem.len() >= 4
                    && said.text.len() >= 5
                    && !known(&said.stem)
                    && misspelt(&said.stem, stem).is_some())
    };
    let first = &phrase.stems[0];
    for from in (0..line.len()).filter(|&at| !phrase.in_order || is(at, first)) {
        if !phrase.in_order && !phrase.stems.iter().any(|s| is(from, s)) {
            continue;
        }
        let reach = (from + phrase.stems.len() + if phrase.in_order { 2 } else { LOOSE }).min(line.len());
        let mut found: Vec<usize> = Vec::with_capacity(phrase.stems.len());
        for stem in &phrase.stems {
            let begin = if phrase.in_order { found.last().map_or(from, |at| at + 1) } else { from };
            let Some(at) = (begin..reach).find(|&at| is(at, stem) && !found.contains(&at)) else { break };
            found.push(at);
        }
        if found.len() == phrase.stems.len() && !denied(line, &found, masked) {
            found.sort_unstable();
            return Some(found);
        }
    }
    None
}

/// Whether a negation reaches the words at `found`.
fn denied(line: &[Token], found: &[usize], masked: &[bool]) -> bool {
    let first = found.iter().copied().min().unwrap_or(0);
    let last = found.iter().copied().max().unwrap_or(0);
    // Inside: "gas, no smell" is not denied for a stop parts it; "smells of no gas" is.
    let inside = (first + 1..last).any(|at| line[at].part == Part::Negation && !line[at + 1].after_stop);
    if inside && !line[first + 1..=last].iter().any(|t| t.after_stop) {
        return true;
    }
    let mut at = first;
    let mut after_not_only = false;
    while at > 0 {
        if line[at].after_stop {
            return false;
        }
        at -= 1;
        let word = &line[at];
        if word.part == Part::Negation {
            // Two negations, or "no" that answers a question, are not believed.
            let doubled = at > 0 && line[at - 1].part == Part::Negation && !line[at].after_stop;
            let answers = after_not_only && word.text == "no";
            return !doubled && !answers && word.text != "hardly" && word.text != "barely";
        }
        let after_not = HARMLESS_AFTER_NOT.contains(&word.text.as_str());
        after_not_only |= after_not;
        let harmless = after_not || HARMLESS.contains(&word.text.as_str()) || masked[at];
        if !harmless {
            return false;
        }
    }
    false
}
