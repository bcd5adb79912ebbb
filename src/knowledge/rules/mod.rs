//! What has to hold of a whole package, one rule a file.
//!
//! In: knowledge whose names are resolved. Out: diagnostics. Errors are looked for always, all of them in one run; what
//! makes a package only poor is looked for once there is no error, since it would follow from one.

mod cycles;
mod grouped;
mod linked_twice;
mod placeholders;
mod poor_fixes;
mod poor_steps;
mod reveals;
mod stages;
mod targets;

use super::Knowledge;
use crate::diagnostic::Diagnostic;

/// Every rule that stops the work.
pub(super) fn errors(knowledge: &Knowledge, problems: &mut Vec<Diagnostic>) {
    stages::check(knowledge, problems);
    linked_twice::check(knowledge, problems);
    cycles::check(knowledge, problems);
    placeholders::check(knowledge, problems);
}

/// Every rule about what makes a package poor.
pub(super) fn warnings(knowledge: &Knowledge, problems: &mut Vec<Diagnostic>) {
    reveals::check(knowledge, problems);
    poor_fixes::check(knowledge, problems);
    poor_steps::check(knowledge, problems);
}
