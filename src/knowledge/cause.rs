//! Causes and conditions.

use super::{Citation, Name, Text};
use crate::quantity::Expression;
use crate::source::{Span, Spanned};

/// Base rates of a cause.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Prior {
    /// At start-up; `None`: `when` excludes the stage.
    pub start_up: Option<f64>,
    /// In ordinary use.
    pub in_service: Option<f64>,
    /// After somebody worked on it.
    pub after_work: Option<f64>,
    /// Where it was written.
    pub span: Span,
}

/// Something wrong that can be put right.
#[derive(Clone, PartialEq, Debug)]
pub struct Cause {
    /// Its name in the component.
    pub id: Name,
    /// Its name for people; the id where the package gives none.
    pub name: Text,
    /// Further words for it.
    pub also: Vec<Text>,
    /// The units that can have it, over [`Component::words_of_when`](super::Component::words_of_when).
    pub when: Option<Spanned<Expression>>,
    /// Base rates.
    pub prior: Prior,
    /// A remark.
    pub note: Option<Text>,
    /// Where it comes from.
    pub sources: Vec<Citation>,
}

/// A state that causes bring about.
#[derive(Clone, PartialEq, Debug)]
pub struct Condition {
    /// Its name in the component.
    pub id: Name,
    /// Its name for people; the id where the package gives none.
    pub name: Text,
    /// The units that can be in it, over [`Component::words_of_when`](super::Component::words_of_when).
    pub when: Option<Spanned<Expression>>,
    /// The chance that it holds with none of the listed causes.
    pub leak: f64,
    /// Where it comes from.
    pub sources: Vec<Citation>,
}
