//! What can be wrong with an expression.

use std::ops::Range;

use super::vocabulary::Kind;

/// Longest expression accepted, in bytes.
pub(super) const LONGEST: usize = 2000;

/// What is wrong with an expression, and where in its text (a range of bytes).
#[derive(Clone, PartialEq, Debug)]
pub struct ExpressionError {
    /// Where.
    pub range: Range<usize>,
    /// What.
    pub problem: Problem,
}

/// What is wrong with an expression.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum Problem {
    /// It does not parse.
    #[error("this is no expression: {0}")]
    Syntax(String),
    /// It is too long.
    #[error("an expression has {LONGEST} characters at most")]
    TooLong,
    /// A name that is not in the vocabulary.
    #[error("there is no value `{name}` here")]
    UnknownName {
        /// The name.
        name: String,
        /// All valid names.
        valid: Vec<String>,
    },
    /// A function that does not exist.
    #[error("there is no function `{name}`")]
    UnknownFunction {
        /// The name.
        name: String,
        /// All valid names.
        valid: Vec<String>,
    },
    /// A call with other arguments than the function takes.
    #[error("`{name}` takes {takes}")]
    Arguments {
        /// The function.
        name: String,
        /// What it takes.
        takes: String,
    },
    /// A value of another kind than wanted.
    #[error("{what} must be {wanted}, but is {got}")]
    WrongKind {
        /// What has the wrong kind.
        what: String,
        /// What it must be.
        wanted: String,
        /// What it is.
        got: Kind,
    },
    /// A text that the compared value never is.
    #[error("`{name}` is never \"{text}\"")]
    NeverThat {
        /// The value.
        name: String,
        /// The text.
        text: String,
        /// What it may be.
        valid: Vec<String>,
    },
    /// A part of CEL that packages do not use.
    #[error("{0} cannot be used here")]
    Unsupported(String),
}

impl Problem {
    /// The word that was not found with the words that would be valid, for a suggestion.
    #[must_use]
    pub fn choice(&self) -> Option<(&str, &[String])> {
        match self {
            Self::UnknownName { name, valid } | Self::UnknownFunction { name, valid } => Some((name, valid)),
            Self::NeverThat { text, valid, .. } => Some((text, valid)),
            _ => None,
        }
    }
}
