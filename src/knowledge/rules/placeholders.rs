//! Placeholders of texts: `{unit}`, `{unit.key}`, `{relation}`, `{relation.key}`; a doubled brace stands for itself.

use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::texts::{component_texts, practice_texts};
use crate::knowledge::{Component, Knowledge, Many, Text};
use crate::source::Span;

pub(super) fn check(knowledge: &Knowledge, problems: &mut Vec<Diagnostic>) {
    for text in practice_texts(&knowledge.practice) {
        for name in placeholders(text) {
            let name = name.unwrap_or("");
            let problem = Diagnostic::new(
                Code::BadPlaceholder,
                place(knowledge, text, name),
                format!("`{{{name}}}` stands for nothing here"),
            )
            .why("this text belongs to the whole firm, not to a unit")
            .help("write the words out, or double the brace");
            problems.push(problem);
        }
    }
    for component in &knowledge.components {
        for text in component_texts(component) {
            if text.value.contains(['{', '}']) {
                text_of_component(knowledge, component, text, problems);
            }
        }
    }
}

fn text_of_component(
    knowledge: &Knowledge,
    component: &Component,
    text: &Text,
    problems: &mut Vec<Diagnostic>,
) {
    for placeholder in placeholders(text) {
        let span = place(knowledge, text, placeholder.unwrap_or_default());
        let Some(name) = placeholder else {
            let problem = Diagnostic::new(Code::BadPlaceholder, span, "a brace without its partner")
                .help("close it, or double it where the text shall have a brace");
            problems.push(problem);
            continue;
        };
        let (owner, key) = name.split_once('.').map_or((name, None), |(owner, key)| (owner, Some(key)));
        let mut owners: Vec<&str> =
            component.relations.iter().map(|relation| relation.id.value.as_str()).collect();
        owners.push("unit");
        let relation = component.relations.iter().find(|relation| relation.id.value == owner);
        if relation.is_none() && owner != "unit" {
            let valid = owners.into_iter();
            let message = format!("`{{{name}}}` stands for nothing");
            let id = &component.id.value;
            let problem = Diagnostic::new(Code::BadPlaceholder, span, message)
                .why(format!("`{owner}` is neither `unit` nor a relation of `{id}`"))
                .nearest(owner, valid);
            problems.push(problem);
            continue;
        }
        let Some(key) = key else { continue };
        if let Some(relation) =
            relation.filter(|relation| !matches!(relation.many, Many::One | Many::Optional))
        {
            let message = format!("`{{{name}}}`: `{}` reaches many units", relation.id.value);
            let problem =
                Diagnostic::new(Code::BadPlaceholder, span, message).why("a nameplate value needs one unit");
            problems.push(problem);
            continue;
        }
        let own = [component];
        let reached: Vec<&Component> = match relation {
            Some(relation) => relation.components.iter().map(|&at| &knowledge.components[at]).collect(),
            None => own.to_vec(),
        };
        let keys: Vec<&str> = reached
            .iter()
            .flat_map(|component| &component.nameplate)
            .map(|key| key.id.value.as_str())
            .collect();
        if !reached.is_empty() && !keys.contains(&key) {
            let message = format!("`{{{name}}}` stands for nothing");
            let problem = Diagnostic::new(Code::BadPlaceholder, span, message)
                .why(format!("`{key}` is not on the nameplate of `{}`", reached[0].id.value))
                .nearest(key, keys);
            problems.push(problem);
        }
    }
}

/// Where a placeholder stands: exact where the text is written as it is, else the whole text.
fn place(knowledge: &Knowledge, text: &Text, name: &str) -> Span {
    let written = knowledge.sources.text(text.span);
    let needle = format!("{{{name}}}");
    match written.find(&needle) {
        Some(at) if !name.is_empty() => text.span.part(at, needle.len()),
        _ => text.span,
    }
}

/// The names between single braces, `None` for a brace without partner.
fn placeholders(text: &Text) -> Vec<Option<&str>> {
    let mut found = Vec::new();
    let mut rest = text.value.as_str();
    while let Some(at) = rest.find(['{', '}']) {
        let brace = &rest[at..];
        if brace.starts_with("{{") || brace.starts_with("}}") {
            rest = &brace[2..];
            continue;
        }
        match brace[1..].find(['{', '}']) {
            Some(end) if brace.starts_with('{') && brace.as_bytes()[end + 1] == b'}' => {
                found.push(Some(&brace[1..=end]));
                rest = &brace[end + 2..];
            }
            _ => {
                found.push(None);
                rest = &brace[1..];
            }
        }
    }
    found
}
