//! Repeats of one warning in one component, said once.

use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::Name;
use crate::source::Span;

/// How many are named.
const NAMED: usize = 5;

/// The names that a warning is about.
pub(super) struct Grouped<'a> {
    names: Vec<&'a Name>,
    /// Where ids stand that are not to be named.
    without: &'a [Span],
}

impl<'a> Grouped<'a> {
    pub(super) const fn new() -> Self {
        Self::without(&[])
    }

    pub(super) const fn without(without: &'a [Span]) -> Self {
        Self { names: Vec::new(), without }
    }

    pub(super) fn add(&mut self, name: &'a Name) {
        if !self.without.contains(&name.span) {
            self.names.push(name);
        }
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
