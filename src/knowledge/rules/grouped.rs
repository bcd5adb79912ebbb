//! Repeats of one warning in one component, said once.

use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::Name;

/// How many are named.
const NAMED: usize = 5;

/// The names that a warning is about.
pub(super) struct Grouped<'a> {
    names: Vec<&'a Name>,
}

impl<'a> Grouped<'a> {
    pub(super) const fn new() -> Self {
        Self { names: Vec::new() }
    }

    pub(super) fn add(&mut self, name: &'a Name) {
        self.names.push(name);
    }

    /// One diagnostic for all, at the first, or none.
    pub(super) fn report(
        self,
        code: Code,
        message: impl FnOnce(&str) -> String,
        problems: &mut Vec<Diagnostic>,
        finish: impl FnOnce(Diagnostic) -> Diagnostic,
    ) {
        let Some((first, rest)) = self.names.split_first() else { return };
        let mut listed = self
            .names
            .iter()
            .take(NAMED)
            .map(|name| format!("`{}`", name.value))
            .collect::<Vec<_>>()
            .join(", ");
        if self.names.len() > NAMED {
            listed.push_str(&format!(" and {} more", self.names.len() - NAMED));
        }
        let mut problem = Diagnostic::new(code, first.span, message(&listed));
        for name in rest.iter().take(NAMED - 1) {
            problem = problem.also_at(name.span, "and here");
        }
        problems.push(finish(problem));
    }
}
