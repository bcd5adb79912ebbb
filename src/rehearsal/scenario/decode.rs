//! The text of a scenario, key by key.

use std::sync::Arc;

use super::check::check;
use super::{Pair, Reach, Scenario};
use crate::diagnostic::{Code, Diagnostic};
use crate::job::{self, Job};
use crate::knowledge::{Knowledge, STAGES, Stage};
use crate::session::Who;
use crate::source::{Sources, Span, Spanned};
use crate::yaml::{self, Fields, Node, Value, entries, nothing};

/// Finds a job sheet by the name that a scenario gives: its shown name and its bytes.
pub type Sheets<'a> = dyn Fn(&str) -> Option<(String, Vec<u8>)> + 'a;

/// Reads one scenario against a package, adding its files to `sources`; every problem in one run.
///
/// `None` where it cannot be read as a scenario at all. One that comes with errors is not to be played.
pub fn read(
    knowledge: &Arc<Knowledge>,
    sources: &mut Sources,
    name: &str,
    bytes: Vec<u8>,
    sheets: &Sheets<'_>,
) -> (Option<Scenario>, Vec<Diagnostic>) {
    let mut problems = Vec::new();
    let (file, node) = yaml::parse(name, bytes, yaml::LARGEST, sources, &mut problems);
    let node = node.filter(|node| !node.is_null());
    if node.is_none() && problems.is_empty() {
        let problem = Diagnostic::new(Code::EmptyFile, Span::top_of(file), "the scenario holds nothing");
        problems.push(problem.help("begin with `format: 1` and `scenario: …`"));
    }
    let mut reader = Reader { knowledge, sources, sheets, problems };
    let scenario = node.and_then(|node| reader.whole(&node));
    let mut problems = reader.problems;
    if let Some(scenario) = &scenario
        && !problems.iter().any(Diagnostic::is_error)
    {
        check(knowledge, scenario, &mut problems);
    }
    problems.sort_by_key(Diagnostic::order);
    (scenario, problems)
}

/// The package that a scenario names, else the one that its job sheet names.
#[must_use]
pub fn package_of(bytes: &[u8], sheets: &Sheets<'_>) -> Option<String> {
    let (mut sources, mut problems) = (Sources::new(), Vec::new());
    let (_, node) = yaml::parse("file", bytes.to_vec(), yaml::LARGEST, &mut sources, &mut problems);
    let node = node?;
    let told = |key: &str| node.get(key).and_then(Node::text).map(str::trim);
    match told("package") {
        Some(package) => Some(package.to_owned()),
        None => job::package_of(&sheets(told("job")?)?.1),
    }
}

struct Reader<'a> {
    knowledge: &'a Arc<Knowledge>,
    sources: &'a mut Sources,
    sheets: &'a Sheets<'a>,
    problems: Vec<Diagnostic>,
}

impl Reader<'_> {
    fn whole(&mut self, node: &Node) -> Option<Scenario> {
        let at = Span { end: node.span.start, ..node.span };
        let mut f = Fields::of(node, "a scenario", at, &mut self.problems);
        if !matches!(node.value, Value::Map(_)) {
            return None;
        }
        let mut required = |key| f.require(key, &mut self.problems);
        let (format, id, who) = (required("format"), required("scenario"), required("who"));
        let (hidden, says) = (required("hidden"), required("says"));
        let mut optional = |key| f.get(key, &mut self.problems);
        let (about, job, stage, seed) =
            (optional("about"), optional("job"), optional("stage"), optional("seed"));
        let package = optional("package");
        let (shows, reads, nameplate) = (optional("shows"), optional("reads"), optional("nameplate"));
        let (cannot, cured, reach) = (optional("cannot"), optional("cured-by"), optional("reach"));
        f.finish(&mut self.problems);

        if let Some(format) = format.and_then(|node| self.text(node, "format"))
            && format.value != "1"
        {
            let words = format!("format `{}` is not known", format.value);
            self.problems
                .push(Diagnostic::new(Code::UnknownFormat, format.span, words).help("write `format: 1`"));
        }
        if let Some(package) = package.and_then(|node| self.text(node, "package")) {
            let in_use = Arc::clone(self.knowledge);
            let known: Vec<&str> = in_use.packages.iter().map(|package| &*package.id.value).collect();
            if !known.contains(&&*package.value) {
                self.unknown(&package, "package", &known);
            }
        }
        let job = job.and_then(|node| self.text(node, "job")).and_then(|name| self.sheet(&name));
        let stage = stage.and_then(|node| self.text(node, "stage")).and_then(|word| {
            let stage = Stage::named(&word.value);
            if stage.is_none() {
                self.unknown(&word, "stage", &STAGES);
            }
            stage
        });
        let (who, cannot_tell, errs) = who.map(|node| self.who(node)).unwrap_or_default();
        let who = Who { name: String::new(), competences: who.0, instruments: who.1 };
        Some(Scenario {
            id: id.and_then(|node| self.text(node, "scenario")).map(|id| id.value).unwrap_or_default(),
            about: about.and_then(|node| self.text(node, "about")).map(|text| text.value).unwrap_or_default(),
            stage: stage.or(job.as_ref().and_then(|job| job.stage)).unwrap_or(Stage::InService),
            job,
            who,
            cannot_tell,
            errs,
            seed: seed.and_then(|node| self.number(node, "seed")).map_or(1, |seed| seed.max(0.0) as u64),
            hidden: self.texts(hidden, "hidden"),
            says: self.texts(says, "says"),
            shows: self.pairs(shows, "`shows`"),
            reads: self.pairs(reads, "`reads`"),
            nameplate: self.pairs(nameplate, "`nameplate`"),
            cannot: self.texts(cannot, "cannot"),
            cured_by: self.texts(cured, "cured-by"),
            reach: reach.map(|node| self.reach(node)).unwrap_or_default(),
        })
    }

    /// Competences and instruments, the chances that they cannot tell and that they err.
    #[allow(clippy::type_complexity)]
    fn who(&mut self, node: &Node) -> ((Vec<String>, Option<Vec<String>>), f64, f64) {
        let mut f = Fields::of(node, "who is on the phone", node.span, &mut self.problems);
        let competence = f.require("competence", &mut self.problems);
        let mut optional = |key| f.get(key, &mut self.problems);
        let (instruments, cannot, errs) =
            (optional("instruments"), optional("cannot-tell"), optional("errs"));
        f.finish(&mut self.problems);
        let practice = &Arc::clone(self.knowledge).practice;
        let known: Vec<&str> = practice.competences.iter().map(|form| &*form.id.value).collect();
        let competences = self.among(competence, "competence", &known);
        let known: Vec<&str> = practice.instruments.iter().map(|form| &*form.id.value).collect();
        let instruments = instruments.map(|node| match &node.value {
            Value::List(list) if list.is_empty() => Vec::new(),
            _ => self.among(Some(node), "instrument", &known),
        });
        let mut chance = |node: Option<&Node>, what: &str| {
            node.and_then(|node| self.number(node, what)).map_or(0.0, |chance| chance.clamp(0.0, 1.0))
        };
        let (cannot, errs) = (chance(cannot, "cannot-tell"), chance(errs, "errs"));
        ((competences, instruments), cannot, errs)
    }

    fn reach(&mut self, node: &Node) -> Reach {
        let mut f = Fields::of(node, "what has to be reached", node.span, &mut self.problems);
        let mut optional = |key| f.get(key, &mut self.problems);
        let (found, hand_over, proven) = (optional("found"), optional("hand-over"), optional("proven"));
        let (questions, minutes, never) = (optional("questions"), optional("minutes"), optional("never"));
        f.finish(&mut self.problems);
        let proven = proven.and_then(|node| self.text(node, "proven"));
        if let Some(word) = proven.as_ref().filter(|word| !["yes", "no"].contains(&&*word.value)) {
            self.unknown(word, "answer to `proven`", &["yes", "no"]);
        }
        Reach {
            found: self.texts(found, "found"),
            hand_over: hand_over.and_then(|node| self.text(node, "hand-over")),
            proven: proven.is_some_and(|word| word.value == "yes"),
            questions: questions
                .and_then(|node| self.number(node, "questions"))
                .map(|most| most.max(0.0) as u32),
            minutes: minutes.and_then(|node| self.number(node, "minutes")),
            never: self.texts(never, "never"),
        }
    }

    fn sheet(&mut self, name: &Spanned<String>) -> Option<Job> {
        let Some((shown, bytes)) = (self.sheets)(&name.value) else {
            let words = format!("there is no job sheet `{}`", name.value);
            let problem = Diagnostic::new(Code::FileUnreadable, name.span, words);
            self.problems.push(
                problem.help("name a file beside the scenario, or one of the built-in invented sheets"),
            );
            return None;
        };
        let (job, problems) = job::read(self.knowledge, self.sources, &shown, bytes);
        self.problems.extend(problems.into_iter().filter(Diagnostic::is_error));
        job
    }

    fn among(&mut self, node: Option<&Node>, what: &str, known: &[&str]) -> Vec<String> {
        let named = self.texts(node, what);
        for word in named.iter().filter(|word| !known.contains(&&*word.value)) {
            self.unknown(word, what, known);
        }
        named.into_iter().map(|word| word.value).collect()
    }

    fn unknown(&mut self, word: &Spanned<String>, what: &str, known: &[&str]) {
        let words = format!("there is no {what} `{}`", word.value);
        let all: Vec<String> = known.iter().map(|name| format!("`{name}`")).collect();
        let problem = Diagnostic::new(Code::UnknownWord, word.span, words)
            .why(format!("known: {}", all.join(", ")))
            .nearest(&word.value, known.iter().copied());
        self.problems.push(problem);
    }

    fn text(&mut self, node: &Node, what: &str) -> Option<Spanned<String>> {
        if node.is_null() {
            self.problems.push(nothing(node.span, what));
            return None;
        }
        match node.text() {
            Some(text) => Some(Spanned::new(text.trim().to_owned(), node.span)),
            None if node.value == Value::Refused => None,
            None => {
                let words = format!("`{what}` is a text, not {}", node.shape());
                self.problems.push(Diagnostic::new(Code::WrongShape, node.span, words));
                None
            }
        }
    }

    fn texts(&mut self, node: Option<&Node>, what: &str) -> Vec<Spanned<String>> {
        match node.map(|node| (node, &node.value)) {
            None => Vec::new(),
            Some((_, Value::List(list))) => list.iter().filter_map(|item| self.text(item, what)).collect(),
            Some((node, _)) => self.text(node, what).into_iter().collect(),
        }
    }

    /// A number that is not negative.
    fn number(&mut self, node: &Node, what: &str) -> Option<f64> {
        let text = self.text(node, what)?;
        let number = text.value.parse::<f64>().ok().filter(|number| number.is_finite() && *number >= 0.0);
        if number.is_none() {
            let words = format!("`{}` is no number for `{what}`", text.value);
            self.problems
                .push(Diagnostic::new(Code::BadNumber, text.span, words).help("write a number from 0 on"));
        }
        number
    }

    fn pairs(&mut self, node: Option<&Node>, what: &str) -> Vec<Pair> {
        let Some(node) = node else { return Vec::new() };
        let mut pairs = Vec::new();
        for (name, node) in entries(node, what, &mut self.problems) {
            if let Some(value) = self.text(node, &name.value) {
                pairs.push((name.clone(), value));
            }
        }
        pairs
    }
}
