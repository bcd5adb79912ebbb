//! What has to hold of a whole package, one rule a file.
//!
//! In: knowledge whose names are resolved. Out: diagnostics. All of them in one run, errors and what makes a
//! package only poor. But where an error lost a name or a link, nothing is said of what hangs on links ("no fix removes
//! it"): it would follow from the error, and mislead.

mod cycles;
mod grouped;
mod linked_twice;
mod placeholders;
mod poor_fixes;
mod poor_steps;
mod reveals;
mod sources;
mod stages;
mod targets;
mod terminals;

pub(super) use targets::targets;

use super::Knowledge;
use crate::diagnostic::{Code, Diagnostic};
use crate::source::Span;

/// Every rule that stops the work.
pub(super) fn errors(knowledge: &Knowledge, problems: &mut Vec<Diagnostic>) {
    stages::check(knowledge, problems);
    linked_twice::check(knowledge, problems);
    cycles::check(knowledge, problems);
    placeholders::check(knowledge, problems);
    terminals::check(knowledge, problems);
}

/// Every rule about what makes a package poor.
pub(super) fn warnings(knowledge: &Knowledge, problems: &mut Vec<Diagnostic>) {
    let links_lost = problems.iter().any(|problem| problem.is_error() && !leaves_links(problem.code));
    let mut found = Vec::new();
    reveals::check(knowledge, &mut found);
    poor_fixes::check(knowledge, &mut found);
    let errors = problems.iter().filter(|problem| problem.is_error());
    let errors: Vec<Span> = errors.filter_map(|problem| Some(problem.primary.as_ref()?.span)).collect();
    poor_steps::check(knowledge, &errors, &mut found);
    sources::check(knowledge, &mut found);
    problems.extend(found.into_iter().filter(|problem| !(links_lost && hangs_on_links(problem.code))));
}

/// Whether a package with such an error still has all of its names and links.
const fn leaves_links(code: Code) -> bool {
    use Code::{
        BadExpression, BadPlaceholder, BandGap, BandOverlap, ChancesOverOne, HazardWithoutCaution,
        LinkedTwice, MissingStage, UnknownMeasure, WrongDimension,
    };
    matches!(
        code,
        BadExpression
            | BadPlaceholder
            | BandGap
            | BandOverlap
            | ChancesOverOne
            | HazardWithoutCaution
            | LinkedTwice
            | MissingStage
            | UnknownMeasure
            | WrongDimension
    )
}

/// Whether such a warning speaks of links that are not there.
const fn hangs_on_links(code: Code) -> bool {
    use Code::{CauseWithoutFix, FixForNoCause, NeverRevealed, TellsNothing, UnusedSource};
    matches!(code, CauseWithoutFix | FixForNoCause | NeverRevealed | TellsNothing | UnusedSource)
}
