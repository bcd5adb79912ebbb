//! The word index: every symptom's phrases and every unit's names, by stem.
//!
//! In: a model and the kinds whose units may still appear. Out: for the words of a clause, the symptoms whose phrases they
//! cover, with scores. A word weighs by how few symptoms use it (after the inverse document frequency of Spärck Jones,
//! J. Documentation 28, 1972): `ln(1 + n/df) / ln(1 + n)`, particles a third of that. Symptoms of the same kind on several
//! units are one entry here; which unit is meant is settled apart. Deterministic: everything in the model's order.

mod build;

use std::collections::{BTreeMap, BTreeSet};

use super::stem::{misspelt, stem};
use super::token::{Part, Token};
use crate::model::index::{FindingIx, UnitIx};

/// A stem that the package uses.
#[derive(Clone, Debug)]
pub(super) struct Word {
    stem: String,
    letters: u32,
    /// Weight among the symptoms' phrases; 0 where no phrase uses it.
    pub weight: f64,
    /// Phrases that hold it.
    phrases: Vec<usize>,
    /// How many units or components bear it.
    pub units: usize,
}

/// A phrase of a symptom.
#[derive(Clone, Debug)]
struct Phrase {
    symptom: usize,
    words: Vec<usize>,
    negative: bool,
    weight: f64,
}

/// A symptom, once for all units that have it.
#[derive(Clone, Debug, Default)]
pub(super) struct SymptomKind {
    /// The component.
    pub component: String,
    /// Its name in the component.
    pub name: String,
    /// The report in a sentence, with the unit's name or `{unit}` in it.
    pub say: String,
    /// Outcomes, the first normal.
    pub outcomes: Vec<String>,
    /// Further words for each outcome, parallel to `outcomes`.
    pub also: Vec<Vec<String>>,
    /// The findings of the model, with their units.
    pub findings: Vec<(FindingIx, Option<UnitIx>)>,
    /// New units of the component may appear.
    pub may_appear: bool,
    /// It is no symptom but this outcome of a look or a question, told without being asked.
    pub only: Option<usize>,
    /// Then: words of the question. One of them must be said, or it is asked back.
    pub subject: BTreeSet<usize>,
}

/// What names a unit, or a component.
#[derive(Clone, Debug, Default)]
pub(super) struct Named {
    /// Words of its id, name and further names.
    pub own: BTreeSet<usize>,
    /// Words of its kind.
    pub kind: BTreeSet<usize>,
    /// Each of its names, whole.
    pub names: Vec<Vec<usize>>,
    /// Words of the own names of its partners (a fan's drive, a drive's motor) that it does not bear itself.
    pub partners: BTreeSet<usize>,
    /// Words that alone name the kind: "fan", but not "supply" of "supply fan".
    pub nouns: BTreeSet<usize>,
}

/// A word of a clause, as far as the index knows it.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Known {
    /// The word.
    pub word: usize,
    /// 1, or less when it is misspelt.
    pub quality: f64,
}

/// A phrase that a clause covers, wholly or in part.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Match {
    /// The symptom.
    pub symptom: usize,
    /// The share of the phrase that the clause covers, 0..1.
    pub coverage: f64,
    /// The phrase denies something ("does not run").
    pub negative: bool,
    /// Positions in the clause of the words that it covers.
    pub tokens: Vec<usize>,
    /// Sum of the weights of the words covered.
    pub weight: f64,
}

/// The index.
#[derive(Clone, Debug, Default)]
pub(super) struct Index {
    words: Vec<Word>,
    by_stem: BTreeMap<String, usize>,
    phrases: Vec<Phrase>,
    /// Symptoms, in the model's order, then those of kinds without a unit.
    pub symptoms: Vec<SymptomKind>,
    /// Units; index `UnitIx`.
    pub units: Vec<Named>,
    /// Words of components, by id.
    pub components: BTreeMap<String, Named>,
    /// How people call a unit of a component that may appear, by id.
    pub titles: BTreeMap<String, String>,
}

/// A small number in words, in digits.
fn digit(word: &str) -> Option<&'static str> {
    const WORDS: [(&str, &str); 9] = [
        ("one", "1"),
        ("two", "2"),
        ("three", "3"),
        ("four", "4"),
        ("five", "5"),
        ("six", "6"),
        ("seven", "7"),
        ("eight", "8"),
        ("nine", "9"),
    ];
    WORDS.iter().find(|(name, _)| *name == word).map(|(_, digit)| *digit)
}

impl Index {
    /// The stem stands in the index.
    pub(super) fn knows(&self, stem: &str) -> bool {
        self.by_stem.contains_key(stem)
    }

    /// A word by its number.
    pub(super) fn of(&self, word: usize) -> &Word {
        &self.words[word]
    }

    /// What the index knows of each token: itself, joined with its neighbour, cut in two, or misspelt.
    pub(super) fn look_up(&self, tokens: &[Token]) -> Vec<Vec<Known>> {
        let mut known: Vec<Vec<Known>> = vec![Vec::new(); tokens.len()];
        let exact = |word| Known { word, quality: 1.0 };
        for at in 0..tokens.len() {
            if let Some(&word) = self.by_stem.get(&tokens[at].stem) {
                known[at].push(exact(word));
            }
            // "Drive two" is drive 2; "two drives" are not.
            let of_unit = at > 0
                && !tokens[at].after_stop
                && !tokens[at - 1].plural
                && known[at - 1].iter().any(|k| self.of(k.word).units > 0);
            if let Some(&word) = digit(&tokens[at].text).filter(|_| of_unit).and_then(|d| self.by_stem.get(d))
            {
                known[at].push(exact(word));
            }
            if let Some(next) = tokens.get(at + 1).filter(|n| !n.after_stop) {
                let joined = stem(&format!("{}{}", tokens[at].text, next.text));
                if let Some(&word) = self.by_stem.get(&joined) {
                    known[at].push(exact(word));
                    known[at + 1].push(exact(word));
                }
            }
        }
        for (token, known) in tokens.iter().zip(&mut known) {
            if !known.is_empty() || token.part != Part::Content || token.text.len() > 40 {
                continue;
            }
            let halves = (2..token.text.len().saturating_sub(1)).find_map(|cut| {
                let (a, b) = (token.text.get(..cut)?, token.text.get(cut..)?);
                let (a, b) = (self.by_stem.get(&stem(a))?, self.by_stem.get(&stem(b))?);
                (cut > 2 || token.has_digit()).then_some([*a, *b])
            });
            match halves {
                Some(halves) => known.extend(halves.map(exact)),
                None => known.extend(self.nearest(&token.stem)),
            }
        }
        known
    }

    /// The known words that `said` may be a slip of: the nearest, all of them when several are.
    fn nearest(&self, said: &str) -> Vec<Known> {
        if said.len() < 3 || said.len() > 24 {
            return Vec::new();
        }
        let (mine, mut found) = (letters(said), Vec::<Known>::new());
        for (word, entry) in self.words.iter().enumerate() {
            if entry.stem.len().abs_diff(said.len()) > 2 || (entry.letters ^ mine).count_ones() > 4 {
                continue;
            }
            if let Some(quality) = misspelt(said, &entry.stem) {
                found.push(Known { word, quality });
            }
        }
        let best = found.iter().map(|k| k.quality).fold(0.0, f64::max);
        found.retain(|k| k.quality >= best);
        found
    }

    /// The phrases that a clause covers by at least `least`, one per symptom: the best by coverage, then by weight.
    /// `usable` says which tokens of the clause may be used, `negative` whether the clause denies.
    pub(super) fn matches(
        &self,
        known: &[Vec<Known>],
        usable: &dyn Fn(usize) -> bool,
        negative: bool,
        least: f64,
    ) -> Vec<Match> {
        let mut touched: BTreeMap<usize, f64> = BTreeMap::new();
        for (_, known) in known.iter().enumerate().filter(|(at, _)| usable(*at)) {
            for k in known {
                for &phrase in &self.words[k.word].phrases {
                    *touched.entry(phrase).or_default() += self.words[k.word].weight * k.quality;
                }
            }
        }
        let mut best: BTreeMap<usize, Match> = BTreeMap::new();
        for (phrase, reach) in touched {
            let phrase = &self.phrases[phrase];
            if reach < least * phrase.weight {
                continue;
            }
            let (mut covered, mut tokens) = (0.0, Vec::new());
            for &word in &phrase.words {
                let hit =
                    known.iter().enumerate().filter(|(at, _)| usable(*at)).find_map(|(at, known)| {
                        known.iter().find(|k| k.word == word).map(|k| (at, k.quality))
                    });
                if let Some((at, quality)) = hit {
                    covered += self.words[word].weight * quality;
                    if !tokens.contains(&at) {
                        tokens.push(at);
                    }
                }
            }
            let coverage = covered / phrase.weight.max(1e-9);
            if coverage < least {
                continue;
            }
            let found = Match {
                symptom: phrase.symptom,
                coverage,
                negative: phrase.negative,
                tokens,
                weight: covered,
            };
            // A longer phrase that is covered nearly as well says more; one that denies when the clause does, too.
            let rank =
                |m: &Match| m.coverage + 0.25 * m.weight + if m.negative == negative { 0.15 } else { 0.0 };
            match best.get(&phrase.symptom) {
                Some(old) if rank(old) >= rank(&found) => {}
                _ => {
                    best.insert(phrase.symptom, found);
                }
            }
        }
        best.into_values().collect()
    }
}

/// Which letters a word holds, as bits.
fn letters(word: &str) -> u32 {
    word.chars().fold(0, |bits, c| bits | 1 << (c as u32 % 32))
}
