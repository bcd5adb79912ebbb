//! One problem on one line, for editors and tests: `file:line:column: error[code]: message`.

use std::fmt;

use super::problem::Diagnostic;
use crate::source::Sources;

/// Shows a problem on one line.
#[derive(Clone, Copy, Debug)]
pub struct Short<'a> {
    /// The problem.
    pub problem: &'a Diagnostic,
    /// The files that its spans speak of.
    pub sources: &'a Sources,
}

impl fmt::Display for Short<'_> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { problem, sources } = self;
        if let Some(primary) = &problem.primary {
            write!(out, "{}: ", sources.place(primary.span))?;
        }
        write!(out, "{}[{}]: {}", problem.severity.word(), problem.code.slug(), problem.message)
    }
}
