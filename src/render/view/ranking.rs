//! The likely causes, in three words of certainty or in numbers.

use super::super::Role;
use super::super::page::Page;
use super::prompt::certainty;
use crate::export::words;
use crate::export::{factor, share};
use crate::session::ranking::{Certainty, Factor, Ranked, Ranking};

/// Causes shown at most; the rest are said to be less likely.
const SHOWN: usize = 8;

/// The ranking, most probable first.
pub fn ranking(page: &mut Page, ranking: &Ranking, numbers: bool) {
    if ranking.without.is_some() {
        page.said(Role::Warning, "The answers cannot all be so; one of them is left out here.");
    }
    let worth = |cause: &&Ranked| cause.certainty != Certainty::Unlikely;
    let many = ranking.causes.iter().filter(worth).count().clamp(3, SHOWN);
    for (at, cause) in ranking.causes.iter().take(many).enumerate() {
        page.numbered(at + 1, &ranked(cause, numbers));
    }
    let none = Certainty::of(ranking.none_listed);
    if numbers {
        page.line(&format!("None of the listed causes: {}", share(ranking.none_listed)));
    } else if none != Certainty::Unlikely {
        page.line(&format!("None of the listed causes: {}", certainty(none)));
    }
    let rest = ranking.causes.len().saturating_sub(many);
    if rest > 0 {
        page.said(Role::Aside, &format!("({rest} more, less likely)"));
    }
}

/// A cause with its certainty.
#[must_use]
pub fn ranked(cause: &Ranked, numbers: bool) -> String {
    let word = certainty(cause.certainty);
    match (numbers, cause.bounds) {
        (false, _) => format!("{}: {word}", cause.name),
        (true, None) => format!("{}: {word}, {}", cause.name, share(cause.posterior)),
        (true, Some((low, high))) => {
            format!("{}: {word}, between {} and {} (bounds)", cause.name, share(low), share(high))
        }
    }
}

/// By what factor each answer moved a cause.
pub fn moved(page: &mut Page, cause: &str, factors: &[Factor]) {
    let told: Vec<&Factor> =
        factors.iter().filter(|one| !(1.0 / 1.05..=1.05).contains(&one.factor)).collect();
    if told.is_empty() {
        return;
    }
    page.line(&format!("What moved \"{cause}\":"));
    for one in told {
        let outcome =
            if one.outcome.is_empty() { String::new() } else { format!(": {}", words(&one.outcome)) };
        page.point(&format!("{}{outcome}: {}", one.about, factor(one.factor)));
    }
    // So that what is shown leads from the first odds to the present ones.
    let rest: f64 =
        (factors.iter().map(|one| one.factor)).filter(|one| (1.0 / 1.05..=1.05).contains(one)).product();
    if !(0.99..=1.01).contains(&rest) {
        page.point(&format!("all else: {}", factor(rest)));
    }
}
