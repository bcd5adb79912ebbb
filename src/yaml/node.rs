//! The tree that a file is read into.

use crate::source::{Span, Spanned};

/// The entries of a map, in the order of the file.
pub type Map = Vec<(Spanned<String>, Node)>;

/// A part of a file, and where it was written.
#[derive(Clone, PartialEq, Debug)]
pub struct Node {
    /// Where, without comments and trailing blanks. A map in block form begins at its first key.
    pub span: Span,
    /// What.
    pub value: Value,
}

/// What a part of a file is.
#[derive(Clone, PartialEq, Debug)]
pub enum Value {
    /// A text; nothing at all is an empty plain one.
    Scalar {
        /// The text, escapes and folding undone.
        text: String,
        /// Whether it was written without quotes and not as a block.
        plain: bool,
    },
    /// Keys and their values.
    Map(Map),
    /// A list.
    List(Vec<Node>),
    /// Something that was refused and has its diagnostic: nothing further is to be said about it.
    Refused,
}

impl Node {
    /// The text, where it is one.
    #[must_use]
    pub fn text(&self) -> Option<&str> {
        match &self.value {
            Value::Scalar { text, .. } => Some(text),
            _ => None,
        }
    }

    /// Whether it is nothing, `null` or `~`.
    #[must_use]
    pub fn is_null(&self) -> bool {
        matches!(&self.value, Value::Scalar { text, plain: true } if matches!(text.as_str(), "" | "~" | "null" | "Null" | "NULL"))
    }

    /// The value under a key, where it is a map with that key.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&Self> {
        match &self.value {
            Value::Map(map) => map.iter().find(|(name, _)| name.value == key).map(|(_, node)| node),
            _ => None,
        }
    }

    /// What it is, in words for a message.
    #[must_use]
    pub fn shape(&self) -> &'static str {
        match &self.value {
            Value::Scalar { .. } if self.is_null() => "nothing",
            Value::Scalar { .. } => "a text",
            Value::Map(_) => "a map",
            Value::List(_) => "a list",
            Value::Refused => "refused",
        }
    }
}
