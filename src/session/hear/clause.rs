//! Where a line is parted into clauses.

use super::Context;
use super::assent::CONJUNCTIONS;
use super::index::Known;
use super::token::{Part, Token};

/// The clauses of `said`: parted at stops and at "and", "but" and the like, which belong to none.
pub(super) fn clauses(said: &[Token]) -> Vec<std::ops::Range<usize>> {
    let mut out = Vec::new();
    let mut from = 0;
    for (at, word) in said.iter().enumerate() {
        let conjunction = CONJUNCTIONS.contains(&word.text.as_str()) && word.text != "or";
        if at > from && (word.after_stop || conjunction) {
            out.push(from..at);
            from = at;
        }
        if conjunction && from == at {
            from = at + 1;
        }
    }
    if from < said.len() {
        out.push(from..said.len());
    }
    out
}

/// Whether words of two clauses make one phrase ("stops and starts").
pub(super) fn one_phrase(
    said: &[Token],
    known: &[Vec<Known>],
    two: &std::ops::Range<usize>,
    parted: usize,
    context: &Context,
) -> bool {
    let best = |range: std::ops::Range<usize>| {
        let (tokens, known) = (&said[range.clone()], &known[range]);
        let negative = tokens.iter().filter(|t| t.part == Part::Negation).count() % 2 == 1;
        let matches = context.ear.index.matches(known, &|at| tokens[at].counts(), negative, 0.85);
        matches.into_iter().max_by(|a, b| a.weight.total_cmp(&b.weight))
    };
    let Some(whole) = best(two.clone()) else { return false };
    let cut = parted - two.start;
    let spans = whole.tokens.iter().any(|&at| at < cut) && whole.tokens.iter().any(|&at| at >= cut);
    let weight = |m: Option<super::index::Match>| m.map_or(0.0, |m| m.weight);
    spans
        && whole.weight > weight(best(two.start..parted)) + 1e-9
        && whole.weight > weight(best(parted..two.end)) + 1e-9
}
