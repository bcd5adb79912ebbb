//! A procedure file: steps whose references are still words.

use super::component::list;
use super::{Decoder, Sort};
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{Act, Carries, Citation, Name, StepReading, Terms, Text};
use crate::source::{Span, Spanned};
use crate::yaml::{Fields, Node, entries};

/// A procedure file as it is read.
pub(in crate::knowledge) struct ProcedureDraft {
    /// The package that declares it.
    pub(in crate::knowledge) package: usize,
    pub(in crate::knowledge) title: Option<Text>,
    pub(in crate::knowledge) steps: Vec<StepDraft>,
}

/// A step whose references are still words.
pub(in crate::knowledge) struct StepDraft {
    pub(in crate::knowledge) id: Name,
    pub(in crate::knowledge) of: Option<Name>,
    pub(in crate::knowledge) when: Option<Spanned<String>>,
    pub(in crate::knowledge) act: Act,
    pub(in crate::knowledge) say: Text,
    pub(in crate::knowledge) how: Vec<Text>,
    pub(in crate::knowledge) expect: Option<Text>,
    pub(in crate::knowledge) reading: Option<StepReading>,
    pub(in crate::knowledge) value: Option<Spanned<String>>,
    pub(in crate::knowledge) outcomes: Vec<Name>,
    pub(in crate::knowledge) proves: Vec<(Name, Text)>,
    pub(in crate::knowledge) after: Vec<Name>,
    pub(in crate::knowledge) gate_for: Vec<Name>,
    pub(in crate::knowledge) energises: bool,
    pub(in crate::knowledge) holds_until: Vec<Name>,
    pub(in crate::knowledge) reached_by: Option<Name>,
    pub(in crate::knowledge) again: Option<Text>,
    pub(in crate::knowledge) redo: Vec<Name>,
    pub(in crate::knowledge) raises: Vec<(Name, Name, Name)>,
    pub(in crate::knowledge) puts_back: Vec<Name>,
    pub(in crate::knowledge) baseline: bool,
    pub(in crate::knowledge) walks: bool,
    pub(in crate::knowledge) expects: Vec<(Option<Carries>, Text)>,
    pub(in crate::knowledge) danger: Option<Text>,
    pub(in crate::knowledge) terms: Terms,
    pub(in crate::knowledge) sources: Vec<Citation>,
}

/// Whether a file is a procedure, not a component.
pub(in crate::knowledge) fn is_procedure(node: &Node) -> bool {
    matches!(&node.value, crate::yaml::Value::Map(map) if map.iter().any(|(key, _)| key.value == "procedure"))
}

/// Decodes a procedure file of the package at `package`.
pub(in crate::knowledge) fn procedure(node: &Node, package: usize, d: &mut Decoder<'_>) -> ProcedureDraft {
    let at = Span { end: node.span.start, ..node.span };
    let mut f = Fields::of(node, "a procedure file", at, d.problems);
    if let Some(kind) = f.require("procedure", d.problems).and_then(|node| d.id(node, "procedure"))
        && kind.value != "power-up"
    {
        let problem =
            Diagnostic::new(Code::UnknownWord, kind.span, format!("no procedure is called `{}`", kind.value))
                .why("the only procedure is `power-up`")
                .nearest(&kind.value, ["power-up"]);
        d.say(problem);
    }
    let title = f.get("title", d.problems).and_then(|node| d.text(node, "title"));
    let mut steps = Vec::new();
    if let Some(node) = f.require("steps", d.problems) {
        for (id, node) in entries(node, "the list of steps", d.problems) {
            let id = d.key(id);
            steps.push(step(&id, node, d));
        }
    }
    f.finish(d.problems);
    ProcedureDraft { package, title, steps }
}

fn step(id: &Name, node: &Node, d: &mut Decoder<'_>) -> StepDraft {
    let mut f = Fields::of(node, "a step of a procedure", id.span, d.problems);
    let (act, say) = d.act(&mut f, id);
    let (reading, outcomes) = reading(&mut f, act, id, d);
    let mut value = f.get("value", d.problems).and_then(|node| d.text(node, "value"));
    if reading.is_none() {
        d.only_for_readings(&f);
        value = None;
    }
    let mut raises = Vec::new();
    for (outcome, node) in
        f.get("raises", d.problems).map_or(&[][..], |node| entries(node, "`raises`", d.problems))
    {
        for (finding, shown) in entries(node, "what an outcome raises", d.problems) {
            if let Some(shown) = d.text(shown, &finding.value) {
                raises.push((outcome.clone(), finding.clone(), shown));
            }
        }
    }
    let mut proves = Vec::new();
    for (outcome, node) in
        f.get("proves", d.problems).map_or(&[][..], |node| entries(node, "`proves`", d.problems))
    {
        proves.extend(d.text(node, &outcome.value).map(|text| (outcome.clone(), text)));
    }
    for outcome in raises.iter().map(|raise| &raise.0).chain(proves.iter().map(|prove| &prove.0)) {
        if !outcomes.iter().any(|known| known.value == outcome.value) {
            let message = format!("`{}` has no outcome `{}`", id.value, outcome.value);
            let problem = Diagnostic::new(Code::UnknownOutcome, outcome.span, message)
                .nearest(&outcome.value, outcomes.iter().map(|known| known.value.as_str()));
            d.say(problem);
        }
    }
    let mut refs = |key: &'static str| list(f.get(key, d.problems), |node| d.texts(node, key));
    let (after, gate_for, holds_until) = (refs("after"), refs("gate-for"), refs("holds-until"));
    let (redo, puts_back) = (refs("redo"), refs("puts-back"));
    let energises =
        f.get("energises", d.problems).and_then(|node| d.truth(node, "energises")).unwrap_or(false);
    if energises && after.is_empty() {
        let problem = Diagnostic::new(
            Code::UngatedStep,
            id.span,
            format!("`{}` energises and waits for nothing", id.value),
        )
        .why("nothing is energised before what makes it safe is confirmed")
        .help("name the steps that come first: `after: [prove-dead, nobody-near]`");
        d.say(problem);
    }
    let (walks, expects) = walk(&mut f, d);
    let draft = StepDraft {
        id: id.clone(),
        of: f.get("of", d.problems).and_then(|node| d.id(node, "of")),
        when: f.get("when", d.problems).and_then(|node| d.text(node, "when")),
        act,
        say,
        how: list(f.get("how", d.problems), |node| d.texts(node, "how")),
        expect: f.get("expect", d.problems).and_then(|node| d.text(node, "expect")),
        reading,
        value,
        outcomes,
        proves,
        after,
        gate_for,
        energises,
        holds_until,
        reached_by: f.get("reached-by", d.problems).and_then(|node| d.declared(node, Sort::WorkState)),
        again: f.get("again", d.problems).and_then(|node| d.text(node, "again")),
        redo,
        raises,
        puts_back,
        walks,
        expects,
        danger: f.get("danger", d.problems).and_then(|node| d.text(node, "danger")),
        baseline: f.get("baseline", d.problems).and_then(|node| d.truth(node, "baseline")).unwrap_or(false),
        terms: d.terms(&mut f),
        sources: list(f.get("sources", d.problems), |node| d.sources(node)),
    };
    f.finish(d.problems);
    draft
}

/// What a step reads, and its outcomes: bands where it reads, else a list; an act that is only done has `done` and `no`.
fn reading(f: &mut Fields<'_>, act: Act, id: &Name, d: &mut Decoder<'_>) -> (Option<StepReading>, Vec<Name>) {
    let measured = f.get("measured-in", d.problems).and_then(|node| d.measure(node));
    let count = f.get("readings", d.problems).and_then(|node| d.count(node, "readings")).unwrap_or(1);
    let node = f.get("outcomes", d.problems);
    if f.has("measured-in") {
        let Some(node) = node else {
            let problem = Diagnostic::new(Code::MissingKey, id.span, "a reading needs `outcomes`")
                .why("what is read has a limit")
                .help("write `outcomes: {within: 0.9 .. 1.1, off: [\"< 0.9\", \">= 1.1\"]}`");
            d.say(problem);
            return (None, Vec::new());
        };
        let bands = d.bands(node);
        d.check_bands(&bands);
        let (outcomes, bands): (Vec<Name>, Vec<_>) = bands
            .into_iter()
            .map(|(name, all)| (name, all.into_iter().map(|one| one.value).collect()))
            .unzip();
        let reading =
            measured.map(|(text, _)| StepReading { measured_in: text.value, count, value: None, bands });
        return (reading, outcomes);
    }
    let words = if act == Act::Try { ["done", "no"] } else { ["yes", "no"] };
    let outcomes = match node {
        Some(node) => d.outcomes(node),
        None => super::gives::words(words, id.span),
    };
    (None, outcomes)
}

/// Whether a step goes through the wire list, and what is expected at each kind of connection.
fn walk(f: &mut Fields<'_>, d: &mut Decoder<'_>) -> (bool, Vec<(Option<Carries>, Text)>) {
    let word = f.get("walks", d.problems).and_then(|node| d.text(node, "walks"));
    let walks = word.is_some_and(|word| d.one_of(&word, "list to walk", &[("wires", ())]).is_some());
    let mut expects = Vec::new();
    for (word, node) in
        f.get("expects", d.problems).map_or(&[][..], |node| entries(node, "`expects`", d.problems))
    {
        let all: Vec<(&str, Option<Carries>)> = Carries::ALL
            .iter()
            .map(|&(word, carries)| (word, Some(carries)))
            .chain([("part", None)])
            .collect();
        let carries = d.one_of(word, "kind of connection", &all);
        expects.extend(carries.zip(d.text(node, &word.value)));
    }
    (walks, expects)
}
