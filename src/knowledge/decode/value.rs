//! Single values: texts, ids, numbers, chances, words.

use super::{Decoder, Sort};
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::citation::UNPUBLISHED;
use crate::knowledge::{Name, Text};
use crate::source::{Span, Spanned};
use crate::yaml::{Node, Value};

/// How far above 1 a sum of chances may come out by rounding.
const ROUNDING: f64 = 1e-9;

/// The longest id accepted, in letters.
const LONGEST_ID: usize = 100;

impl Decoder<'_> {
    pub(super) fn say(&mut self, problem: Diagnostic) {
        self.problems.push(problem);
    }

    /// A text.
    pub(super) fn text(&mut self, node: &Node, what: &str) -> Option<Text> {
        if node.is_null() {
            self.say(crate::yaml::nothing(node.span, what));
            return None;
        }
        match &node.value {
            Value::Scalar { text, .. } => Some(Spanned::new(text.trim_end().to_owned(), node.span)),
            Value::Refused => None,
            Value::Map(map) if matches!(map.as_slice(), [(_, only)] if only.is_null()) => {
                let word = &map[0].0.value;
                let message = format!("`{{{word}}}` has to stand in quotes");
                let problem = Diagnostic::new(Code::Unquoted, node.span, message)
                    .why("without quotes, braces are a map")
                    .help(format!("write \"{{{word}}}\""));
                self.say(problem);
                None
            }
            Value::Map(_) | Value::List(_) => {
                self.say(wrong_shape(node, what, "a text"));
                None
            }
        }
    }

    /// One text or a list of texts.
    pub(super) fn texts(&mut self, node: &Node, what: &str) -> Vec<Text> {
        match &node.value {
            Value::List(list) => list.iter().filter_map(|item| self.text(item, what)).collect(),
            _ => self.text(node, what).into_iter().collect(),
        }
    }

    /// A list of texts; a single text counts as a list of one.
    pub(super) fn ids(&mut self, node: &Node, what: &str) -> Vec<Name> {
        let texts = self.texts(node, what);
        texts.into_iter().filter_map(|text| self.checked_id(text)).collect()
    }

    /// An id.
    pub(super) fn id(&mut self, node: &Node, what: &str) -> Option<Name> {
        let text = self.text(node, what)?;
        self.checked_id(text)
    }

    /// The same text, if it is an id.
    pub(super) fn checked_id(&mut self, text: Text) -> Option<Name> {
        let allowed = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.');
        if let Some(wrong) = text.value.chars().find(|&c| !allowed(c)) {
            let better: String = text.value.chars().map(|c| if allowed(c) { c } else { '-' }).collect();
            let mut problem = Diagnostic::new(Code::BadId, text.span, format!("`{}` is no id", text.value))
                .why(format!("an id has letters, digits, `-`, `_` and `.`, but no `{}`", shown(wrong)));
            if text.value.is_ascii() && better.contains(|c: char| c.is_ascii_alphanumeric()) {
                problem = problem.help(format!("write `{}`", better.trim_matches('-')));
            }
            self.say(problem);
            return None;
        }
        if text.value.is_empty() || text.value.len() > LONGEST_ID {
            let problem = Diagnostic::new(Code::BadId, text.span, "an id of this length cannot be used")
                .why(format!("an id has 1 to {LONGEST_ID} letters"));
            self.say(problem);
            return None;
        }
        Some(text)
    }

    /// A key that declares something: an id. Ids that cannot be used are reported and still declared, so that whatever
    /// names them is not reported as well.
    pub(super) fn key(&mut self, key: &Spanned<String>) -> Name {
        let _ = self.checked_id(key.clone());
        key.clone()
    }

    /// A finite number.
    pub(super) fn number(&mut self, node: &Node, what: &str) -> Option<Spanned<f64>> {
        let text = self.text(node, what)?;
        let Some(number) = parse_number(&text.value) else {
            let message = format!("`{}` is no number", text.value);
            let mut problem = Diagnostic::new(Code::BadNumber, text.span, message)
                .why(format!("`{what}` is a finite number, such as `4` or `0.5`"));
            if text.value.contains(',') {
                problem = problem.help("write the decimal point as `.`, and thousands without mark");
            } else if let Some(first) =
                text.value.split(' ').next().filter(|word| parse_number(word).is_some())
            {
                problem = problem.help(format!("write `{first}`, without words or unit"));
            }
            self.say(problem);
            return None;
        };
        Some(Spanned::new(number, text.span))
    }

    /// A finite number, not below 0.
    pub(super) fn amount(&mut self, node: &Node, what: &str) -> Option<Spanned<f64>> {
        let number = self.number(node, what)?;
        if number.value < 0.0 {
            let message = format!("`{what}` cannot be below 0");
            self.say(Diagnostic::new(Code::BadNumber, number.span, message));
            return None;
        }
        Some(number)
    }

    /// `true` or `false`; `yes` and `no` are as good.
    pub(super) fn truth(&mut self, node: &Node, what: &str) -> Option<bool> {
        let text = self.text(node, what)?;
        match text.value.as_str() {
            "true" | "yes" => Some(true),
            "false" | "no" => Some(false),
            _ => {
                let message = format!("`{what}` is `true` or `false`");
                let problem = Diagnostic::new(Code::UnknownWord, text.span, message)
                    .nearest(&text.value, ["true", "false"]);
                self.say(problem);
                None
            }
        }
    }

    /// A probability: a number 0..1, `1 in 80`, `30 %`, or a word of the scale.
    pub(super) fn chance(&mut self, node: &Node, what: &str) -> Option<Spanned<f64>> {
        let text = self.text(node, what)?;
        match parse_chance(&text.value) {
            Some(Ok(chance)) => Some(Spanned::new(chance, text.span)),
            Some(Err(why)) => {
                let problem =
                    Diagnostic::new(Code::NotAChance, text.span, format!("`{}` is no chance", text.value))
                        .why(why)
                        .help("write a number from 0 to 1, `1 in 80`, or `30 %`");
                self.say(problem);
                None
            }
            None => self.word_of_scale(&text),
        }
    }

    fn word_of_scale(&mut self, text: &Text) -> Option<Spanned<f64>> {
        if let Some(&chance) = self.scale.get(&text.value) {
            return Some(Spanned::new(chance, text.span));
        }
        if self.incomplete {
            return None;
        }
        let words = self.scale.keys().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(", ");
        let why = if words.is_empty() {
            "no package in use has a `scale` of words for chances".to_owned()
        } else {
            format!("the words of the `scale` are {words}")
        };
        let problem = Diagnostic::new(Code::NotAChance, text.span, format!("`{}` is no chance", text.value))
            .why(why)
            .help("write a number from 0 to 1, `1 in 80`, `30 %`, or a word of the scale")
            .nearest(&text.value, self.scale.keys().map(String::as_str));
        self.say(problem);
        None
    }

    /// An outcome map: each outcome with its chance, together at most 1.
    pub(super) fn outcome_map(&mut self, node: &Node, what: &'static str) -> Vec<(Name, f64)> {
        let chances = self.outcome_map_unsummed(node, what);
        self.problems.extend(over_one(&chances, node.span));
        chances
    }

    /// The same without looking at the sum.
    pub(super) fn outcome_map_unsummed(&mut self, node: &Node, what: &'static str) -> Vec<(Name, f64)> {
        let entries = match &node.value {
            Value::Scalar { .. } if !node.is_null() => {
                let written = node.text().unwrap_or_default();
                let problem = wrong_shape(node, what, "a map from outcomes to chances")
                    .help(format!("name the outcome: `{{yes: {written}}}`"));
                self.say(problem);
                return Vec::new();
            }
            _ => crate::yaml::entries(node, what, self.problems),
        };
        let mut chances = Vec::with_capacity(entries.len());
        for (outcome, node) in entries {
            let outcome = self.outcome(outcome.clone());
            if is_nothing(&outcome.value) {
                continue;
            }
            if let Some(chance) = self.chance(node, &outcome.value) {
                chances.push((outcome, chance.value));
            }
        }
        chances
    }

    /// An outcome by name: an id, and no word for nothing.
    pub(super) fn outcome(&mut self, name: Name) -> Name {
        if is_nothing(&name.value) {
            let problem = Diagnostic::new(
                Code::NullValue,
                name.span,
                format!("`{}` cannot name an outcome", name.value),
            )
            .why("nothing, `null` and `~` mean nothing")
            .help("name it, `none` or `no` say");
            self.say(problem);
        } else {
            let _ = self.checked_id(name.clone());
        }
        name
    }

    /// A list of outcomes, at least two, each once.
    pub(super) fn outcomes(&mut self, node: &Node) -> Vec<Name> {
        let Value::List(list) = &node.value else {
            if node.value != Value::Refused {
                let problem = wrong_shape(node, "outcomes", "a list")
                    .help("write `[yes, no]`, the normal outcome first; bands only where a test is `measured-in` something");
                self.say(problem);
            }
            return Vec::new();
        };
        let mut outcomes: Vec<Name> = Vec::with_capacity(list.len());
        for item in list {
            let name = match &item.value {
                Value::Scalar { text, .. } => Spanned::new(text.clone(), item.span),
                Value::Refused => continue,
                Value::Map(_) | Value::List(_) => {
                    self.say(wrong_shape(item, "an outcome", "a word"));
                    continue;
                }
            };
            let name = self.outcome(name);
            if let Some(first) = outcomes.iter().find(|other| other.value == name.value) {
                let problem = Diagnostic::new(
                    Code::DuplicateId,
                    name.span,
                    format!("the outcome `{}` twice", name.value),
                )
                .label("again")
                .also_at(first.span, "first here");
                self.say(problem);
                continue;
            }
            outcomes.push(name);
        }
        self.enough_outcomes(&outcomes, node.span);
        outcomes
    }

    pub(super) fn enough_outcomes(&mut self, outcomes: &[Name], span: Span) {
        if outcomes.len() < 2 {
            let problem = Diagnostic::new(Code::TooFewOutcomes, span, "a finding has two outcomes or more")
                .why("the first is the normal one; with one alone there is nothing to find")
                .help("name what it shows when something is wrong");
            self.say(problem);
        }
        // A set of outcomes is kept in 64 bits.
        if outcomes.len() > 64 {
            let message = format!("{} outcomes are more than a finding can have", outcomes.len());
            let problem =
                Diagnostic::new(Code::WrongShape, span, message).why("64 at most").help("group them");
            self.say(problem);
        }
    }

    /// A name that a `package.yaml` declares.
    pub(super) fn declared(&mut self, node: &Node, sort: Sort) -> Option<Name> {
        let name = self.text(node, sort.word())?;
        self.known(name, sort)
    }

    /// A list of such names; one alone counts as a list.
    pub(super) fn declared_list(&mut self, node: &Node, sort: Sort) -> Vec<Name> {
        let names = self.texts(node, sort.word());
        names.into_iter().filter_map(|name| self.known(name, sort)).collect()
    }

    /// The same name, if it is declared.
    pub(super) fn known(&mut self, name: Name, sort: Sort) -> Option<Name> {
        if self.declared.find(sort, &name.value).is_some() {
            return Some(name);
        }
        if self.incomplete {
            return None;
        }
        let message = format!("`{}` is not declared as {}", name.value, sort.word());
        let other = Sort::ALL.into_iter().find(|&other| self.declared.find(other, &name.value).is_some());
        let problem = if let Some(other) = other {
            let at = self.declared.find(other, &name.value).unwrap_or(name.span);
            Diagnostic::new(Code::WrongKind, name.span, message)
                .also_at(at, format!("this is {}", other.word()))
                .why(format!("`{}` is {}, which does not belong here", name.value, other.word()))
        } else {
            let file = if sort == Sort::Source { "sources.yaml" } else { "package.yaml" };
            let help = format!("declare it under `{}` of `{file}`, or name another", sort.key());
            Diagnostic::new(Code::DanglingReference, name.span, message)
                .help(help)
                .nearest(&name.value, self.declared.names(sort).chain(always(sort).iter().copied()))
        };
        self.say(problem);
        None
    }
}

/// A finite number as YAML's core schema writes it; no words, no hexadecimal.
pub(super) fn parse_number(text: &str) -> Option<f64> {
    let plain = text.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'-' | b'+' | b'e' | b'E'));
    if !plain || !text.bytes().any(|b| b.is_ascii_digit()) {
        return None;
    }
    text.parse::<f64>().ok().filter(|number| number.is_finite())
}

/// A chance that is written with digits: its value, or why it is none. `None` where it is a word.
pub(super) fn parse_chance(text: &str) -> Option<Result<f64, String>> {
    let text = text.trim();
    if text.starts_with(char::is_alphabetic) && !text.ends_with('%') && !is_not_finite(text) {
        return None;
    }
    let range = |chance: f64| {
        if (0.0..=1.0).contains(&chance) { Ok(chance) } else { Err(format!("{chance} is outside 0 to 1")) }
    };
    if let Some(percent) = text.strip_suffix('%') {
        let number = parse_number(percent.trim());
        return Some(match number {
            Some(number) => range(number / 100.0),
            None => Err(format!("`{}` is no number", percent.trim())),
        });
    }
    if let Some((one, many)) = text.split_once(" in ") {
        let numbers = parse_number(one.trim()).zip(parse_number(many.trim()));
        return Some(match numbers {
            Some((_, 0.0)) => Err("nothing happens so many times in 0".to_owned()),
            Some((one, many)) if one >= 0.0 && many > 0.0 => range(one / many),
            _ => Err("this is written as `1 in 80`".to_owned()),
        });
    }
    Some(match parse_number(text) {
        Some(number) => range(number),
        None => Err("a chance is a finite number from 0 to 1".to_owned()),
    })
}

fn is_not_finite(text: &str) -> bool {
    let plain = text.trim_start_matches(['-', '+', '.']).to_lowercase();
    matches!(plain.as_str(), "nan" | "inf" | "infinity")
}

/// Says that something else was expected.
pub(super) fn wrong_shape(node: &Node, what: &str, wanted: &str) -> Diagnostic {
    Diagnostic::new(Code::WrongShape, node.span, format!("`{what}` is {wanted}, not {}", node.shape()))
}

/// Says that chances of outcomes add up to more than 1, if they do.
pub(in crate::knowledge) fn over_one(chances: &[(Name, f64)], span: Span) -> Option<Diagnostic> {
    let sum: f64 = chances.iter().map(|(_, chance)| chance).sum();
    (sum > 1.0 + ROUNDING).then(|| {
        let terms = chances.iter().map(|(_, chance)| chance.to_string()).collect::<Vec<_>>().join(" + ");
        Diagnostic::new(Code::ChancesOverOne, span, "these chances add up to more than 1")
            .why(format!("{terms} = {}", round(sum)))
            .help("outcomes exclude one another: what they leave of 1 is the chance of the normal outcome")
    })
}

/// Names of a sort that nobody has to declare.
const fn always(sort: Sort) -> &'static [&'static str] {
    match sort {
        Sort::Source => &UNPUBLISHED,
        _ => &[],
    }
}

/// Whether a word means nothing.
fn is_nothing(word: &str) -> bool {
    matches!(word, "" | "~" | "null")
}

/// A sum without the noise of its last digits.
fn round(sum: f64) -> f64 {
    (sum * 1e9).round() / 1e9
}

fn shown(character: char) -> String {
    if character == ' ' { "blank".to_owned() } else { character.to_string() }
}

#[cfg(test)]
mod tests {
    use super::{parse_chance, parse_number};

    #[test]
    fn chances_are_numbers_shares_or_odds() {
        for (text, chance) in [
            ("0.3", 0.3),
            ("1 in 80", 0.0125),
            ("30 %", 0.3),
            ("1e-3", 0.001),
            ("0", 0.0),
            ("1", 1.0),
            ("2 in 4", 0.5),
        ] {
            assert_eq!(parse_chance(text), Some(Ok(chance)), "{text}");
        }
        for text in [
            "1 in 0", "-0.1", "1.2", "120 %", ".nan", "nan", ".inf", "-1 in -2", "x %", "1 in x", "0,3",
            "1e999", "",
        ] {
            assert!(matches!(parse_chance(text), Some(Err(_))), "{text}");
        }
        assert_eq!(parse_chance("often"), None);
    }

    #[test]
    fn numbers_are_finite_and_decimal() {
        for text in ["inf", "nan", "0x10", "1_000", "1e999", "", ".", "e", "1 2"] {
            assert_eq!(parse_number(text), None, "{text}");
        }
        assert_eq!(parse_number("-1.5e2"), Some(-150.0));
    }
}
