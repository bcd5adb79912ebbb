//! Kinds of value, and the names that an expression may use.

use std::collections::BTreeMap;
use std::fmt;

/// The kind of a value.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Kind {
    /// A double.
    Number,
    /// A list of doubles.
    Numbers,
    /// A text.
    Text,
    /// A list of texts.
    Texts,
    /// True or false.
    Truth,
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Number => "a number",
            Self::Numbers => "a list of numbers",
            Self::Text => "a text",
            Self::Texts => "a list of texts",
            Self::Truth => "true or false",
        })
    }
}

/// A value.
#[derive(Clone, PartialEq, Debug)]
pub enum Value {
    /// A double, never NaN or infinite.
    Number(f64),
    /// A list of doubles.
    Numbers(Vec<f64>),
    /// A text.
    Text(String),
    /// True or false.
    Truth(bool),
}

/// The names that an expression may use, with their kinds: `stage`, `reading`, `unit.amps`.
#[derive(Clone, Default, Debug)]
pub struct Vocabulary {
    pub(super) names: BTreeMap<String, (Kind, Vec<String>)>,
}

impl Vocabulary {
    /// No names.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// One more name.
    pub fn add(&mut self, name: impl Into<String>, kind: Kind) {
        self.names.insert(name.into(), (kind, Vec::new()));
    }

    /// One more name, for a text that is one of `options`.
    pub fn add_choice(&mut self, name: impl Into<String>, options: impl IntoIterator<Item = String>) {
        self.names.insert(name.into(), (Kind::Text, options.into_iter().collect()));
    }

    /// All names, in order.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.names.keys().map(String::as_str)
    }
}
