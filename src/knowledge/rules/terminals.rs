//! What a wrong connection is: a cause of the same component.

use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{Item, Knowledge};

/// Checks the causes that rows of terminals name.
pub(super) fn check(knowledge: &Knowledge, problems: &mut Vec<Diagnostic>) {
    for component in &knowledge.components {
        for (_, cause) in component.terminals.iter().flat_map(|role| &role.found) {
            if matches!(component.item(&cause.value), Some(Item::Cause(_))) {
                continue;
            }
            let words = format!("`{}` has no cause `{}`", component.id.value, cause.value);
            let causes = component.causes.iter().map(|cause| &*cause.id.value);
            problems.push(
                Diagnostic::new(Code::DanglingReference, cause.span, words).nearest(&cause.value, causes),
            );
        }
    }
}
