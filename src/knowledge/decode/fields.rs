//! The keys of one map: each asked for by name, and every one that nobody asked for an error.

use crate::diagnostic::{Code, Diagnostic};
use crate::source::{Span, Spanned};
use crate::yaml::{Map, Node, Value};

/// The keys of one map.
pub(in crate::knowledge) struct Fields<'n> {
    /// What the map describes, with its article: "a cause".
    what: &'static str,
    /// Where its name stands, for what is missing.
    at: Span,
    entries: &'n [(Spanned<String>, Node)],
    asked: Vec<&'static str>,
}

impl<'n> Fields<'n> {
    /// The keys of `node`, which describes `what` and is named at `at`; without keys, where it is no map.
    pub(in crate::knowledge) fn of(
        node: &'n Node,
        what: &'static str,
        at: Span,
        problems: &mut Vec<Diagnostic>,
    ) -> Self {
        Self { what, at, entries: entries(node, what, problems), asked: Vec::new() }
    }

    /// The value under `key`. Nothing, `null` or `~` is an error, and counts as left out.
    pub(in crate::knowledge) fn get(
        &mut self,
        key: &'static str,
        problems: &mut Vec<Diagnostic>,
    ) -> Option<&'n Node> {
        self.asked.push(key);
        let (name, node) = self.entries.iter().find(|(name, _)| name.value == key)?;
        if node.is_null() {
            problems.push(nothing(name.span.to(node.span), key));
            return None;
        }
        (node.value != Value::Refused).then_some(node)
    }

    /// The same, and an error where the key is not there at all.
    pub(in crate::knowledge) fn require(
        &mut self,
        key: &'static str,
        problems: &mut Vec<Diagnostic>,
    ) -> Option<&'n Node> {
        if !self.has(key) && !self.entries.is_empty() {
            let problem = Diagnostic::new(Code::MissingKey, self.at, format!("{} needs `{key}`", self.what))
                .label(format!("without `{key}`"))
                .help(format!("add `{key}`"));
            problems.push(problem);
        }
        self.get(key, problems)
    }

    /// Whether the key is there, whatever its value.
    pub(in crate::knowledge) fn has(&self, key: &str) -> bool {
        self.entries.iter().any(|(name, _)| name.value == key)
    }

    /// Where the key stands.
    pub(in crate::knowledge) fn key_span(&self, key: &str) -> Option<Span> {
        self.entries.iter().find(|(name, _)| name.value == key).map(|(name, _)| name.span)
    }

    /// Reports every key that nobody asked for.
    pub(in crate::knowledge) fn finish(self, problems: &mut Vec<Diagnostic>) {
        for (name, _) in self.entries {
            if self.asked.contains(&name.value.as_str()) {
                continue;
            }
            let mut valid: Vec<&str> = self.asked.clone();
            valid.sort_unstable();
            valid.dedup();
            let all = valid.iter().map(|key| format!("`{key}`")).collect::<Vec<_>>().join(", ");
            let message = format!("{} has no key `{}`", self.what, name.value);
            let problem = Diagnostic::new(Code::UnknownKey, name.span, message)
                .label("not known here")
                .why(format!("its keys are {all}"))
                .nearest(&name.value, valid);
            problems.push(problem);
        }
    }
}

/// The entries of a map; an error where it is none.
pub(in crate::knowledge) fn entries<'n>(
    node: &'n Node,
    what: &str,
    problems: &mut Vec<Diagnostic>,
) -> &'n [(Spanned<String>, Node)] {
    match &node.value {
        Value::Map(map) => {
            let map: &Map = map;
            map
        }
        Value::Refused => &[],
        Value::Scalar { .. } | Value::List(_) => {
            let message = format!("{what} is written as a map, not as {}", node.shape());
            problems.push(
                Diagnostic::new(Code::WrongShape, node.span, message).help("write `key: value` lines below it"),
            );
            &[]
        }
    }
}

/// Says that there is no value under a key.
pub(super) fn nothing(span: Span, key: &str) -> Diagnostic {
    Diagnostic::new(Code::NullValue, span, format!("`{key}` has no value"))
        .why("nothing, `null` and `~` mean nothing here")
        .help("write a value, or leave the key out")
}
