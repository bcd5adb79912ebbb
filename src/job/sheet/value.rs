//! Single values of a sheet: texts, lists, ids, words out of a few.

use super::Sheet;
use crate::diagnostic::{Code, Diagnostic};
use crate::source::Spanned;
use crate::yaml::{Node, Value, nothing};

impl Sheet<'_> {
    pub(super) fn text(&mut self, node: &Node, what: &str) -> Option<Spanned<String>> {
        if node.is_null() {
            self.say(nothing(node.span, what));
            return None;
        }
        match &node.value {
            Value::Scalar { text, .. } => Some(Spanned::new(text.trim().to_owned(), node.span)),
            Value::Refused => None,
            Value::Map(_) | Value::List(_) => {
                let words = format!("`{what}` is a text, not {}", node.shape());
                self.say(Diagnostic::new(Code::WrongShape, node.span, words));
                None
            }
        }
    }

    pub(super) fn texts(&mut self, node: &Node, what: &str) -> Vec<Spanned<String>> {
        match &node.value {
            Value::List(list) => list.iter().filter_map(|item| self.text(item, what)).collect(),
            _ => self.text(node, what).into_iter().collect(),
        }
    }

    pub(super) fn list<'n>(&mut self, node: Option<&'n Node>, what: &str) -> &'n [Node] {
        let Some(node) = node else { return &[] };
        match &node.value {
            Value::List(list) => list,
            Value::Refused => &[],
            _ => {
                let words = format!("`{what}` is a list, not {}", node.shape());
                self.say(
                    Diagnostic::new(Code::WrongShape, node.span, words).help("begin each item with `- `"),
                );
                &[]
            }
        }
    }

    pub(super) fn id(&mut self, node: &Node, what: &str) -> Option<Spanned<String>> {
        let text = self.text(node, what)?;
        self.is_id(&text).then_some(text)
    }

    pub(super) fn is_id(&mut self, text: &Spanned<String>) -> bool {
        let allowed = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.');
        let fits = (1..=100).contains(&text.value.len()) && text.value.chars().all(allowed);
        if !fits {
            let problem = Diagnostic::new(Code::BadId, text.span, format!("`{}` is no id", text.value));
            self.say(problem.why("an id has 1 to 100 letters, digits, `-`, `_` and `.`"));
        }
        fits
    }

    pub(super) fn unknown_word<'v>(
        &mut self,
        word: &Spanned<String>,
        what: &str,
        valid: impl IntoIterator<Item = &'v str> + Clone,
    ) {
        let words = format!("there is no {what} `{}`", word.value);
        let all: Vec<String> = valid.clone().into_iter().map(|v| format!("`{v}`")).collect();
        let mut problem = Diagnostic::new(Code::UnknownWord, word.span, words).nearest(&word.value, valid);
        problem = match all.len() {
            0 => problem.why(format!("the package knows no {what}")),
            1..=12 => problem.why(format!("known: {}", all.join(", "))),
            _ => problem,
        };
        self.say(problem);
    }
}
