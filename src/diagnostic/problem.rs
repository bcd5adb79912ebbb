//! One problem: what, where, why, and what to do.

use super::code::Code;
use crate::source::Span;

/// So many problems are listed, and the search for more ends: nobody reads on, and a hostile file could go on for ever.
pub const ENOUGH: usize = 1000;

/// Says at `span`, the last problem that is listed, that the search ended.
#[must_use]
pub fn too_many(span: Span) -> Diagnostic {
    Diagnostic::new(Code::TooMany, span, "further problems are not looked for")
        .why(format!("{ENOUGH} have been found"))
        .help("mend these first")
}

/// Whether a problem stops the work.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Severity {
    /// What was written cannot be used.
    Error,
    /// What was written can be used, but is poor.
    Warning,
}

impl Severity {
    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warning => "warning",
        }
    }
}

/// A place with a few words about it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Label {
    /// Where.
    pub span: Span,
    /// What is there; may be empty.
    pub text: String,
}

/// One problem in an author's or a technician's text.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Diagnostic {
    /// Which kind of problem.
    pub code: Code,
    /// Whether it stops the work.
    pub severity: Severity,
    /// One short clause naming the thing in backticks: lower case, no full stop.
    pub message: String,
    /// The offending text. `None` only where there is no text at all, for example a folder without a file.
    pub primary: Option<Label>,
    /// The other half of a conflict ("first declared here").
    pub secondary: Vec<Label>,
    /// Why: the rule, with the numbers involved.
    pub notes: Vec<String>,
    /// What to do, imperative.
    pub help: Vec<String>,
    /// The nearest valid names, best first, at most three.
    pub suggestions: Vec<String>,
}

impl Diagnostic {
    /// An error of that code at `span`; a code that only warns makes a warning.
    pub fn new(code: Code, span: Span, message: impl Into<String>) -> Self {
        let primary = Some(Label { span, text: String::new() });
        Self { primary, ..Self::nowhere(code, message) }
    }

    /// The same without a place.
    pub fn nowhere(code: Code, message: impl Into<String>) -> Self {
        Self {
            code,
            severity: code.severity(),
            message: message.into(),
            primary: None,
            secondary: Vec::new(),
            notes: Vec::new(),
            help: Vec::new(),
            suggestions: Vec::new(),
        }
    }

    /// Words at the offending text.
    #[must_use]
    pub fn label(mut self, text: impl Into<String>) -> Self {
        if let Some(primary) = &mut self.primary {
            primary.text = text.into();
        }
        self
    }

    /// One more place that matters.
    #[must_use]
    pub fn also_at(mut self, span: Span, text: impl Into<String>) -> Self {
        self.secondary.push(Label { span, text: text.into() });
        self
    }

    /// A reason.
    #[must_use]
    pub fn why(mut self, note: impl Into<String>) -> Self {
        self.notes.push(note.into());
        self
    }

    /// What to do.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help.push(help.into());
        self
    }

    /// The names among `valid` that are nearest to `written`, if any is near.
    #[must_use]
    pub fn nearest<'a>(mut self, written: &str, valid: impl IntoIterator<Item = &'a str>) -> Self {
        self.suggestions = super::nearest(written, valid);
        self
    }

    /// Where it sorts: by file, position, then code, so that a run lists problems in reading order.
    #[must_use]
    pub fn order(&self) -> (Option<Span>, Code, String) {
        (self.primary.as_ref().map(|label| label.span), self.code, self.message.clone())
    }

    /// Whether it stops the work.
    #[must_use]
    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }
}
