//! Which unit is meant.
//!
//! In: a clause, the words of it that a symptom's phrase does not need, and the units that have the symptom. Out: the units
//! that its words fit best, a new name where none of them bears it, and how well the words fit. A word of a unit's name
//! weighs `ln(1 + units/bearers)`: what all fans are called says little.

use super::index::{Index, Known, Named, SymptomKind};
use super::token::{Part, Token};
use crate::model::index::FindingIx;

/// What a word is worth that a unit has for its kind only, beside one of its own name.
const KIND_SHARE: f64 = 0.6;
/// What a word is worth that names a partner of the unit: "EF2 trips" means the drive of that fan.
const PARTNER_SHARE: f64 = 0.3;

/// The units that a clause may mean for one symptom.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Meant {
    /// Findings of the units that fit equally well, in the model's order; empty when a new unit is meant.
    pub findings: Vec<FindingIx>,
    /// A new unit: the caller's name, or none.
    pub new: Option<Option<String>>,
    /// Positions of the words that name it.
    pub tokens: Vec<usize>,
    /// Some word names the unit apart from its kind.
    pub singled_out: bool,
    /// A word beside names something else: another unit, or nothing known.
    pub contradicted: bool,
    /// Another unit is named more fully than this one: by more of the words of one of its names, all of them said.
    pub outnamed: bool,
}

/// The unit that the words outside `phrase` mean, for a symptom.
pub(super) fn meant(
    index: &Index,
    line: &str,
    tokens: &[Token],
    known: &[Vec<Known>],
    phrase: &[usize],
    symptom: &SymptomKind,
) -> Meant {
    let n = index.units.len().max(1) as f64;
    let weight = |word: usize| (n / index.of(word).units.max(1) as f64).ln_1p();
    let free: Vec<usize> =
        (0..tokens.len()).filter(|at| !phrase.contains(at) && !known[*at].is_empty()).collect();
    let kind = index.components.get(&symptom.component);
    let of_kind =
        |at: usize| known[at].iter().any(|k| kind.is_some_and(|named| named.kind.contains(&k.word)));
    let score = |finding: &(FindingIx, Option<crate::model::index::UnitIx>)| -> f64 {
        free.iter()
            .map(|&at| {
                // A word of the unit's own name says more than the same word for its kind ("supply fan").
                let bears = |k: &Known| match finding.1.map(|unit| &index.units[unit.at()]) {
                    Some(named) if named.own.contains(&k.word) => 1.0,
                    Some(named) if named.kind.contains(&k.word) => KIND_SHARE,
                    Some(named) if named.partners.contains(&k.word) => PARTNER_SHARE,
                    None if kind.is_some_and(|named| named.kind.contains(&k.word)) => KIND_SHARE,
                    _ => 0.0,
                };
                known[at].iter().map(|k| weight(k.word) * k.quality * bears(k)).fold(0.0, f64::max)
            })
            .sum::<f64>()
            + finding.1.map_or(0.0, |unit| 0.5 * fully_named(&index.units[unit.at()], known) as f64)
    };
    let scored: Vec<(f64, FindingIx)> = symptom.findings.iter().map(|f| (score(f), f.0)).collect();
    let best = scored.iter().map(|s| s.0).fold(0.0, f64::max);
    let findings: Vec<FindingIx> = scored.iter().filter(|s| s.0 >= best - 1e-9).map(|s| s.1).collect();
    let explains = |at: usize| {
        known[at].iter().any(|k| {
            of_kind(at)
                || symptom.findings.iter().filter(|f| findings.contains(&f.0)).filter_map(|f| f.1).any(
                    |unit| {
                        let named = &index.units[unit.at()];
                        [&named.own, &named.kind, &named.partners].iter().any(|words| words.contains(&k.word))
                    },
                )
        })
    };
    let full = |unit: &Named| fully_named(unit, known);
    let most = index.units.iter().map(full).max().unwrap_or(0);
    let mine = symptom.findings.iter().filter(|f| findings.contains(&f.0)).filter_map(|f| f.1);
    let outnamed = mine.map(|unit| full(&index.units[unit.at()])).max().unwrap_or(0) < most;
    let named: Vec<usize> = free.iter().copied().filter(|&at| explains(at)).collect();
    // A word that some units with the symptom own, and others have only for their kind, tells them apart all the same.
    let parts = |at: usize| {
        let own = |f: &&(FindingIx, Option<crate::model::index::UnitIx>)| {
            f.1.is_some_and(|unit| known[at].iter().any(|k| index.units[unit.at()].own.contains(&k.word)))
        };
        (1..symptom.findings.len()).contains(&symptom.findings.iter().filter(own).count())
    };
    let owns = |at: usize| {
        (!of_kind(at) || parts(at))
            && known[at].iter().any(|k| index.units.iter().any(|u| u.own.contains(&k.word)))
            && explains(at)
    };
    let singled_out = named.iter().any(|&at| owns(at));
    let noun = |at: usize| known[at].iter().any(|k| kind.is_some_and(|named| named.nouns.contains(&k.word)));
    let caller = callers_name(line, tokens, phrase, &noun, &of_kind);
    let elsewhere = |at: usize| {
        tokens[at].part == Part::Content
            && known[at].iter().any(|k| index.of(k.word).units > 0)
            && !named.contains(&at)
    };
    // Where units may still appear, a word of the kind tells them apart as well: a supply fan is no fryer fan.
    let apart = |at: usize| match symptom.may_appear {
        true => !symptom
            .findings
            .iter()
            .filter(|f| findings.contains(&f.0))
            .filter_map(|f| f.1)
            .any(|unit| known[at].iter().any(|k| index.units[unit.at()].own.contains(&k.word))),
        false => !named.contains(&at),
    };
    let strangers: Vec<usize> = match &caller {
        Some(name) => name.distinguishing.iter().copied().filter(|&at| apart(at)).collect(),
        None => Vec::new(),
    };
    if symptom.may_appear && (symptom.findings.is_empty() || !strangers.is_empty()) {
        let name =
            caller.as_ref().filter(|name| !name.distinguishing.is_empty()).map(|name| name.text.clone());
        let tokens = caller.map_or_else(Vec::new, |name| name.tokens);
        let contradicted = tokens.is_empty() && free.iter().any(|&at| elsewhere(at));
        return Meant {
            findings: Vec::new(),
            new: Some(name),
            tokens,
            singled_out: true,
            contradicted,
            outnamed: false,
        };
    }
    let beside = |at: usize| {
        let next_to = |other: usize| {
            let (from, to) = (at.min(other), at.max(other));
            !tokens[from + 1..=to].iter().any(|t| t.after_stop)
                && tokens[from + 1..to].iter().all(|t| t.part == Part::Filler)
        };
        named.iter().any(|&other| next_to(other))
    };
    let contradicted = free.iter().any(|&at| elsewhere(at) && (named.is_empty() || beside(at)))
        || !strangers.is_empty() && !singled_out;
    Meant { findings, new: None, tokens: named, singled_out, contradicted, outnamed }
}

/// How a caller names a unit.
struct CallersName {
    text: String,
    tokens: Vec<usize>,
    /// Tokens beyond the words of the kind.
    distinguishing: Vec<usize>,
}

/// The words around a word of the kind ("fryer fan", "fan 2", "fan over the fryer"), or a tag ("EF2").
fn callers_name(
    line: &str,
    tokens: &[Token],
    phrase: &[usize],
    noun: &dyn Fn(usize) -> bool,
    of_kind: &dyn Fn(usize) -> bool,
) -> Option<CallersName> {
    let free = |at: usize| tokens.get(at).is_some_and(|t| t.part == Part::Content) && !phrase.contains(&at);
    let last = |is: &dyn Fn(usize) -> bool| (0..tokens.len()).rev().find(|&at| is(at));
    let noun = last(noun).or_else(|| last(&|at| of_kind(at) && !phrase.contains(&at)));
    let Some(noun) = noun else {
        let parted = |at: usize| {
            let next = tokens.get(at + 1).filter(|next| next.joined && free(at + 1))?;
            Some(format!("{}{}", tokens[at].text, next.text)).filter(|tag| is_tag(tag))
        };
        if let Some(at) = (0..tokens.len()).find(|&at| free(at) && parted(at).is_some()) {
            let (first, last) = (tokens[at].at.start, tokens[at + 1].at.end);
            return Some(CallersName {
                text: line.get(first..last).unwrap_or(&tokens[at].text).to_uppercase(),
                tokens: vec![at, at + 1],
                distinguishing: vec![at, at + 1],
            });
        }
        let tag = (0..tokens.len()).find(|&at| free(at) && is_tag(&tokens[at].text))?;
        return Some(CallersName {
            text: tokens[tag].text.to_uppercase(),
            tokens: vec![tag],
            distinguishing: vec![tag],
        });
    };
    let mut from = noun;
    let hyphened = |at: usize| tokens[at].joined || tokens.get(at + 1).is_some_and(|t| t.joined);
    while from > 0
        && !tokens[from].after_stop
        && (free(from - 1) || hyphened(from - 1))
        && !ADJECTIVES.contains(&tokens[from - 1].text.as_str())
    {
        from -= 1;
    }
    let counts = tokens[from].text.bytes().all(|b| b.is_ascii_digit()) && tokens[noun].plural;
    from += usize::from(counts && from < noun);
    let mut name: Vec<usize> = (from..=noun).collect();
    let next = |at: usize| tokens.get(at).filter(|t| !t.after_stop && !phrase.contains(&at));
    if next(noun + 1).is_some_and(|t| t.has_digit() || t.text.len() == 1 && t.part == Part::Content) {
        name.push(noun + 1);
    } else if next(noun + 1).is_some_and(|t| {
        matches!(t.text.as_str(), "over" | "above" | "by" | "at" | "in" | "on" | "for" | "near" | "of")
    }) {
        let mut at = noun + 2;
        while next(at).is_some_and(|t| matches!(t.text.as_str(), "the" | "a" | "my" | "our")) {
            at += 1;
        }
        let mut to = at;
        while next(to).is_some() && free(to) {
            to += 1;
        }
        if to > at {
            name.extend(noun + 1..to);
        }
    }
    let distinguishing =
        name.iter().copied().filter(|&at| at != noun && tokens[at].part == Part::Content).collect();
    let mut text = String::new();
    for &at in &name {
        if !text.is_empty() {
            text.push(if tokens[at].joined { '-' } else { ' ' });
        }
        text.push_str(line.get(tokens[at].at.clone()).unwrap_or(&tokens[at].text));
    }
    Some(CallersName { text, tokens: name, distinguishing })
}

/// Adjectives that name no unit.
const ADJECTIVES: &[&str] = &[
    "big", "small", "old", "new", "bad", "good", "same", "right", "wrong", "first", "second", "last",
    "broken", "poor", "only", "lousy", "actual", "entire", "dear", "bloody", "freaking", "problem",
];

/// The number of words of the longest name of the unit whose words are all said, wherever; 0: none.
fn fully_named(unit: &Named, known: &[Vec<Known>]) -> usize {
    let said = |word: &usize| known.iter().flatten().any(|k| k.word == *word);
    unit.names.iter().filter(|name| name.iter().all(said)).map(Vec::len).max().unwrap_or(0)
}

/// Letters and a number, as on a label: `EF2`, `MUA1`.
fn is_tag(word: &str) -> bool {
    let letters = word.bytes().take_while(u8::is_ascii_alphabetic).count();
    let digits = word.len() - letters;
    (1..=5).contains(&letters)
        && (1..=3).contains(&digits)
        && word.bytes().skip(letters).all(|b| b.is_ascii_digit())
}
