//! Sources: what a package declares that it cites, and the `sources` of an item.

use std::collections::BTreeMap;

use super::value::wrong_shape;
use super::{Decoder, Fields, Sort};
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::citation::{Citation, PublishedSource, Seen, UNPUBLISHED};
use crate::knowledge::{Name, Text};
use crate::source::Span;
use crate::yaml::{Node, Value, entries};

/// Decodes `sources.yaml`: one map, `sources`.
pub(in crate::knowledge) fn sources_file(
    node: &Node,
    into: &mut BTreeMap<String, PublishedSource>,
    d: &mut Decoder<'_>,
) {
    let at = Span { end: node.span.start, ..node.span };
    let mut f = Fields::of(node, "a list of sources", at, d.problems);
    if let Some(node) = f.require("sources", d.problems) {
        published(node, into, d);
    }
    f.finish(d.problems);
}

/// Decodes a map of sources. What is declared already, in the other file of the same package, is an error.
pub(super) fn published(node: &Node, into: &mut BTreeMap<String, PublishedSource>, d: &mut Decoder<'_>) {
    for (key, node) in entries(node, "`sources`", d.problems) {
        let key = d.key(key);
        let source = d.published(node, &key);
        if UNPUBLISHED.contains(&key.value.as_str()) {
            let message = format!("`{}` is no published source", key.value);
            let problem = Diagnostic::new(Code::BadId, key.span, message)
                .why("it can be cited without being declared, and means that there is none");
            d.say(problem);
        }
        if let Some(before) = into.get(&key.value) {
            let problem = Diagnostic::new(
                Code::DuplicateId,
                key.span,
                format!("the source `{}` is there twice", key.value),
            )
            .also_at(before.key.span, "the other one")
            .help("keep one of them, in `sources.yaml`");
            d.say(problem);
            continue;
        }
        into.insert(key.value, source);
    }
}

impl Decoder<'_> {
    fn published(&mut self, node: &Node, key: &Name) -> PublishedSource {
        if !matches!(node.value, Value::Map(_)) {
            let title = self.text(node, &key.value).map_or_else(|| key.value.clone(), |title| title.value);
            return PublishedSource::titled(key.clone(), title);
        }
        let mut f = Fields::of(node, "a source", key.span, self.problems);
        let title = f.require("title", self.problems).and_then(|node| self.text(node, "title"));
        let mut text =
            |key| f.get(key, self.problems).and_then(|node| self.text(node, key)).map(|text| text.value);
        let source = PublishedSource {
            key: key.clone(),
            title: title.map_or_else(|| key.value.clone(), |title| title.value),
            author: text("author"),
            publisher: text("publisher"),
            year: text("year"),
            edition: text("edition"),
            place: text("where"),
            url: text("url"),
            note: text("note"),
            seen: f.get("seen", self.problems).and_then(|node| self.seen(node)),
            supports: f
                .get("supports", self.problems)
                .map_or_else(Vec::new, |node| self.texts(node, "supports")),
        };
        f.finish(self.problems);
        source
    }

    fn seen(&mut self, node: &Node) -> Option<Seen> {
        let word = self.text(node, "seen")?;
        let seen = Seen::ALL.into_iter().find(|seen| seen.word() == word.value);
        if seen.is_none() {
            let words = Seen::ALL.map(Seen::word);
            let message = format!("`{}` does not say how the source was seen", word.value);
            let problem = Diagnostic::new(Code::UnknownWord, word.span, message)
                .why(format!("it is one of {}", words.map(|word| format!("`{word}`")).join(", ")))
                .nearest(&word.value, words);
            self.say(problem);
        }
        seen
    }

    /// The `sources` of an item: keys of published ones, each alone or as `{key: where in it}`, or one of
    /// [`UNPUBLISHED`].
    pub(super) fn sources(&mut self, node: &Node) -> Vec<Citation> {
        let items = match &node.value {
            Value::List(list) => list.as_slice(),
            _ => std::slice::from_ref(node),
        };
        items.iter().filter_map(|item| self.citation(item)).collect()
    }

    fn citation(&mut self, node: &Node) -> Option<Citation> {
        let (key, place): (Name, Option<Text>) = match &node.value {
            Value::Map(map) => {
                let [(key, place)] = map.as_slice() else {
                    self.say(wrong_shape(node, "sources", "a key, or one `key: where in it` in braces"));
                    return None;
                };
                (key.clone(), Some(self.text(place, &key.value)?))
            }
            _ => (self.text(node, "sources")?, None),
        };
        let place = place.map(|place| place.value);
        if UNPUBLISHED.contains(&key.value.as_str()) {
            let short = key.value.clone();
            return Some(Citation { key, place, declared_by: None, short });
        }
        let key = self.known(key, Sort::Source)?;
        let (declared_by, source) = self.declared.cited.get(&key.value)?;
        let short = source.short(place.as_deref());
        Some(Citation { declared_by: Some(*declared_by), short, key, place })
    }
}
