//! Causes that somebody saw: "the fuse is blown, I have it in my hand".
//!
//! In: a clause in which no symptom was heard. Out: the cause whose name it says, where the words tell of sight; else the
//! causes that it may mean, to be asked back. Invariant: a cause is never taken from a guess ("maybe a fuse").

use std::collections::{BTreeMap, BTreeSet};

use super::meaning::{Choice, Doubt, Meaning, Sure, Unclear};
use super::symptom::{Clause, Said};
use super::token::{Part, stems, tokens};
use crate::model::Model;
use crate::model::index::CauseIx;

/// Share of a cause's name that must be said.
const ENOUGH: f64 = 0.7;
/// Causes shown at most.
const MOST_CHOICES: usize = 6;
/// Words of somebody who looked.
const SIGHT: &[&str] = &["see", "saw", "seen", "found", "looked", "hand", "checked", "opened"];

/// The words of the causes' names, prepared once.
#[derive(Clone, Debug, Default)]
pub(super) struct CauseWords {
    /// Per cause: stems of its name apart from its unit's, and of its unit's names.
    each: Vec<(Vec<String>, BTreeSet<String>)>,
    /// In how many names a stem stands.
    uses: BTreeMap<String, usize>,
}

impl CauseWords {
    /// Prepares the causes of a model.
    pub(super) fn new(model: &Model) -> Self {
        let mut words = Self::default();
        for cause in &model.causes {
            let unit = cause.unit.map(|unit| &model.units[unit.at()]);
            let mut of_unit = BTreeSet::new();
            if let Some(unit) = unit {
                let named = [&unit.id, &unit.name].into_iter().chain(&unit.also).chain(&unit.kind_words);
                named.for_each(|name| of_unit.extend(stems(name)));
            }
            let mut name: Vec<String> = Vec::new();
            for token in tokens(&cause.name).into_iter().filter(|t| t.part == Part::Content) {
                if !of_unit.contains(&token.stem) && !name.contains(&token.stem) {
                    name.push(token.stem);
                }
            }
            name.iter().for_each(|stem| *words.uses.entry(stem.clone()).or_default() += 1);
            words.each.push((name, of_unit));
        }
        words
    }

    /// The causes that a clause names, the best fitting ones.
    fn named(&self, clause: &Clause) -> Vec<usize> {
        let n = self.each.len() as f64;
        let weight = |stem: &String| (n / self.uses.get(stem).copied().unwrap_or(1) as f64).ln_1p();
        let says = |stem: &String| clause.tokens.iter().any(|t| t.stem == *stem);
        let score = |(name, unit): &(Vec<String>, BTreeSet<String>)| {
            let said: Vec<&String> = name.iter().filter(|stem| says(stem)).collect();
            let all: f64 = name.iter().map(weight).sum();
            let covered: f64 = said.iter().map(|stem| weight(stem)).sum();
            let of_unit = unit.iter().filter(|stem| says(stem)).count();
            let enough = said.len() + of_unit > 1 && covered >= ENOUGH * all && !said.is_empty();
            if enough { covered / all + 0.2 * of_unit as f64 } else { 0.0 }
        };
        let scores: Vec<f64> = self.each.iter().map(score).collect();
        let best = scores.iter().copied().fold(0.0, f64::max);
        (0..scores.len()).filter(|&at| best > 0.0 && scores[at] >= best - 1e-9).collect()
    }

    /// What `clause` says of a cause.
    pub(super) fn seen(&self, model: &Model, clause: &Clause) -> Said {
        let named = self.named(clause);
        let sight = tokens(clause.line).iter().any(|t| SIGHT.contains(&t.text.as_str()));
        let present = !clause.negative();
        let says = |at: usize| Meaning::Cause { cause: CauseIx::new(at), present };
        match named.as_slice() {
            [] => Said::Nothing,
            [one] if sight && clause.sure == Sure::Plain => Said::Symptoms(vec![says(*one)]),
            several => {
                let text = |at: usize| match present {
                    true => format!("somebody saw it: {}", model.causes[at].name),
                    false => format!("somebody looked, and it is not so: {}", model.causes[at].name),
                };
                let choices = several.iter().map(|&at| Choice { text: text(at), means: vec![says(at)] });
                Said::Doubtful(Unclear {
                    understood: Vec::new(),
                    further: Vec::new(),
                    words: clause.words(),
                    doubt: if several.len() > 1 { Doubt::SeveralFit } else { Doubt::FitsPoorly },
                    choices: choices.take(MOST_CHOICES).collect(),
                })
            }
        }
    }
}
