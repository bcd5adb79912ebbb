//! Relations between units, and what a nameplate says.

use super::Decoder;
use super::component::list;
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{Many, NameplateKey, Relation};
use crate::source::Spanned;
use crate::yaml::{Fields, Node, entries};

const RELATION_HELP: &str = "write `kind`, `own kind` (not shared), `kind?` (optional), `own kind?` (both), `kind*` (all of that kind), or `kind* via relation` (those that name this unit)";

impl Decoder<'_> {
    pub(super) fn relations(&mut self, node: &Node) -> Vec<Relation> {
        let mut relations = Vec::new();
        for (id, node) in entries(node, "`relations`", self.problems) {
            let id = self.key(id);
            let Some(text) = self.text(node, &id.value) else { continue };
            let (own, written) = match text.value.trim().strip_prefix("own ") {
                Some(rest) => (true, rest.trim()),
                None => (false, text.value.trim()),
            };
            let (kind, many) = if let Some((kind, rest)) = written.split_once('*') {
                let rest = rest.trim();
                match rest.strip_prefix("via ") {
                    Some(via) => (kind.trim(), Many::Inverse(Spanned::new(via.trim().to_owned(), text.span))),
                    None if rest.is_empty() => (kind.trim(), Many::All),
                    None => {
                        let problem = Diagnostic::new(
                            Code::WrongShape,
                            text.span,
                            format!("`{written}` is no relation"),
                        )
                        .help(RELATION_HELP);
                        self.say(problem);
                        continue;
                    }
                }
            } else if let Some(kind) = written.strip_suffix('?') {
                (kind.trim(), Many::Optional)
            } else if let Some((kind, _)) = written.split_once(" via ") {
                let problem =
                    Diagnostic::new(Code::WrongShape, text.span, "an inverse relation reaches many units")
                        .help(format!("write `{kind}* via …`"));
                self.say(problem);
                continue;
            } else {
                (written, Many::One)
            };
            if self.checked_id(Spanned::new(kind.to_owned(), text.span)).is_none() {
                continue;
            }
            if matches!(
                id.value.as_str(),
                "unit"
                    | "stage"
                    | "reading"
                    | "readings"
                    | "is"
                    | "name"
                    | "also"
                    | "place"
                    | "inside"
                    | "nameplate"
                    | "fault-table"
                    | "terminals"
            ) {
                let message = format!("`{}` cannot name a relation", id.value);
                let problem = Diagnostic::new(Code::BadId, id.span, message)
                    .why("the word has a meaning of its own in expressions or on a job sheet");
                self.say(problem);
            }
            let kind = Spanned::new(kind.to_owned(), text.span);
            if own && !matches!(many, Many::One | Many::Optional) {
                let problem =
                    Diagnostic::new(Code::WrongShape, text.span, "only a relation to one unit can be `own`")
                        .why("a partner of its own is one that no other unit has");
                self.say(problem);
            }
            relations.push(Relation { id, kind, many, own, components: Vec::new() });
        }
        relations
    }

    pub(super) fn nameplate(&mut self, node: &Node) -> Vec<NameplateKey> {
        let mut keys = Vec::new();
        for (id, node) in entries(node, "`nameplate`", self.problems) {
            let snake = id.value.starts_with(|c: char| c.is_ascii_lowercase())
                && id.value.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
            if !snake {
                let better = id.value.to_lowercase().replace(['-', ' ', '.'], "_");
                let problem =
                    Diagnostic::new(Code::BadId, id.span, format!("`{}` is no nameplate key", id.value))
                        .why("it is used in expressions, where `-` means minus")
                        .help(format!("write `{better}`"));
                self.say(problem);
            }
            let mut f = Fields::of(node, "a nameplate key", id.span, self.problems);
            let measure = f.get("measured-in", self.problems).and_then(|node| self.measure(node));
            let key = NameplateKey {
                id: id.clone(),
                measured_in: measure.map(|(text, _)| text),
                ask: f.get("ask", self.problems).and_then(|node| self.text(node, "ask")),
                about: f.get("about", self.problems).and_then(|node| self.text(node, "about")),
                one_of: list(f.get("one-of", self.problems), |node| self.texts(node, "one-of")),
                signed: f
                    .get("signed", self.problems)
                    .and_then(|node| self.truth(node, "signed"))
                    .unwrap_or(false),
            };
            f.finish(self.problems);
            keys.push(key);
        }
        keys
    }
}
