//! What a test gives: findings with their outcomes, leaks, bands and links.

use super::Decoder;
use super::band::Bands;
use super::draft::{Draft, Side};
use super::value::wrong_shape;
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{Accuracy, Act, Finding, Gives, Item, Name, Scale, Test, Text};
use crate::quantity::Measure;
use crate::source::{Span, Spanned};
use crate::yaml::{Fields, Node, Value};

/// What the findings of a test have in common.
pub(super) struct Reading {
    pub(super) act: Act,
    /// Whether it says in which unit of measure it is read, a known one or not.
    pub(super) measured: bool,
    pub(super) measure: Option<Measure>,
}

impl Draft {
    /// One finding of a test, or with `several` one per abnormal outcome.
    #[expect(clippy::too_many_arguments, reason = "the parts of one declaration, from two maps")]
    pub(super) fn given(
        &mut self,
        test: &mut Test,
        at: usize,
        id: &Name,
        text: Option<Text>,
        reading: &Reading,
        f: &mut Fields<'_>,
        d: &mut Decoder<'_>,
    ) {
        let item = Item::Given(at, test.gives.len());
        let fault_table =
            f.get("fault-table", d.problems).and_then(|node| d.truth(node, "fault-table")).unwrap_or(false);
        let several = f.get("several", d.problems).and_then(|node| d.truth(node, "several")).unwrap_or(false);
        let node = f.get("outcomes", d.problems);
        let mut scale = None;
        let outcomes = if reading.measured {
            let value = f.get("value", d.problems).and_then(|node| d.text(node, "value"));
            let accuracy = f.get("accuracy", d.problems);
            let accuracy = accuracy.map_or(Accuracy::Exact, |node| {
                let (accuracy, unit) = d.accuracy(node, reading.measure, value.is_some());
                self.accuracies.extend(unit.map(|unit| (item, unit)));
                accuracy
            });
            let bands: Bands = match node {
                Some(node) => d.bands(node),
                None => {
                    if !f.has("outcomes") {
                        let problem = Diagnostic::new(Code::MissingKey, id.span, "a reading needs `outcomes`")
                            .help("say which values are normal: `outcomes: {normal: 0.9 .. 1.1, low: \"< 0.9\", high: \">= 1.1\"}`");
                        d.say(problem);
                    }
                    Bands::new()
                }
            };
            d.check_bands(&bands);
            if let Some(value) = value {
                self.expressions.push((item, value));
            }
            let intervals =
                bands.iter().map(|(_, bands)| bands.iter().map(|band| band.value).collect()).collect();
            scale = Some(Scale { value: None, accuracy, bands: intervals });
            bands.into_iter().map(|(name, _)| name).collect()
        } else {
            d.only_for_readings(f);
            // Asked for, so that they are not unknown as well.
            let _ = (f.get("value", &mut Vec::new()), f.get("accuracy", &mut Vec::new()));
            match node {
                Some(node) => d.outcomes(node),
                None => {
                    if reading.act == Act::Read && !f.has("outcomes") {
                        let problem = Diagnostic::new(
                            Code::MissingKey,
                            id.span,
                            "a reading needs `measured-in` or `outcomes`",
                        )
                        .help("say in which unit it is read, or list what can be read");
                        d.say(problem);
                    }
                    words(["yes", "no"], id.span)
                }
            }
        };
        let leak = f.get("otherwise", d.problems);
        let shown_by = f.get("shown-by", d.problems);
        let also = f.get("also", d.problems).map(|node| d.words_of_outcomes(node, &outcomes, &id.value));
        let complaint = f.get("complaint", d.problems).and_then(|node| d.id(node, "complaint"));
        let complaint = complaint.and_then(|name| self.symptom_of_that_name(&name, d));
        if !several {
            let mut finding = d.finding(id, text, outcomes, leak);
            finding.also = also.unwrap_or(finding.also);
            if let Some(node) = shown_by {
                self.links_to_findings(id, item, node, "shown-by", Side::Effect, d);
            }
            test.gives.push(Gives { finding, scale, fault_table, complaint, several: None });
            return;
        }
        if let Some(node) = shown_by {
            self.links_to_findings(id, item, node, "shown-by", Side::Effect, d);
        }
        let leaks = leak.map_or_else(Vec::new, |node| d.separate_chances(node));
        let mut parts = Vec::new();
        for (at, outcome) in outcomes.iter().enumerate().skip(1) {
            let words_of_it = also.as_ref().map_or_else(Vec::new, |also| also[at].clone());
            let name = format!("{}.{}", id.value, outcome.value);
            let leak =
                leaks.iter().find(|(name, _)| name.value == outcome.value).map_or(0.0, |&(_, chance)| chance);
            parts.push((outcome.value.clone(), name.clone()));
            let finding = Finding {
                id: Spanned::new(name, outcome.span),
                name: text.clone().map(|text| text.map(|text| format!("{text}: {}", outcome.value))),
                outcomes: words(["no", "yes"], outcome.span),
                also: vec![Vec::new(), words_of_it],
                leak: vec![0.0, leak],
            };
            test.gives.push(Gives {
                finding,
                scale: None,
                fault_table,
                complaint,
                several: Some(id.clone()),
            });
        }
        d.known_outcomes(&leaks, &outcomes, &id.value);
        self.several.insert(id.value.clone(), parts);
    }
}

impl Draft {
    /// The position of a symptom of this component.
    fn symptom_of_that_name(&self, name: &Name, d: &mut Decoder<'_>) -> Option<usize> {
        let symptoms = &self.component.symptoms;
        let at = symptoms.iter().position(|symptom| symptom.finding.id.value == name.value);
        if at.is_none() && !self.incomplete {
            let message = format!("there is no symptom `{}` in this component", name.value);
            let problem = Diagnostic::new(Code::DanglingReference, name.span, message)
                .why("it is what somebody complains of who tells this finding unasked")
                .nearest(&name.value, symptoms.iter().map(|symptom| symptom.finding.id.value.as_str()));
            d.say(problem);
        }
        at
    }
}

/// Outcomes that nobody wrote.
pub(super) fn words<const N: usize>(words: [&str; N], span: Span) -> Vec<Name> {
    words.into_iter().map(|word| Spanned::new(word.to_owned(), span)).collect()
}

impl Decoder<'_> {
    /// A finding with its leak.
    pub(super) fn finding(
        &mut self,
        id: &Name,
        name: Option<Text>,
        outcomes: Vec<Name>,
        leak: Option<&Node>,
    ) -> Finding {
        let mut chances = vec![0.0; outcomes.len()];
        if let Some(node) = leak {
            let map = self.outcome_map(node, "otherwise");
            self.known_outcomes(&map, &outcomes, &id.value);
            for (outcome, chance) in map {
                if let Some(at) = outcomes.iter().position(|other| other.value == outcome.value) {
                    chances[at] = chance;
                }
            }
            if let Some(first) = chances.first_mut() {
                *first = 0.0;
            }
        }
        let also = vec![Vec::new(); outcomes.len()];
        Finding { id: id.clone(), name, outcomes, also, leak: chances }
    }

    /// Further words per outcome, parallel to `outcomes`. The same word for two outcomes would leave every such answer in
    /// doubt, so it is reported.
    pub(super) fn words_of_outcomes(
        &mut self,
        node: &Node,
        outcomes: &[Name],
        finding: &str,
    ) -> Vec<Vec<Text>> {
        let mut also = vec![Vec::new(); outcomes.len()];
        if !matches!(node.value, Value::Map(_)) {
            let problem = wrong_shape(node, "also", "a map from outcomes to words")
                .help("say which outcome the words mean: `{yes: [words]}`");
            self.say(problem);
            return also;
        }
        for (name, node) in crate::yaml::entries(node, "`also`", self.problems) {
            let texts = self.texts(node, &name.value);
            match outcomes.iter().position(|outcome| outcome.value == name.value) {
                Some(at) => also[at].extend(texts),
                None if outcomes.is_empty() => {}
                None => self.say(no_such_outcome(name, outcomes, outcomes, finding)),
            }
        }
        let same = |a: &str, b: &str| a.replace('-', " ").eq_ignore_ascii_case(&b.replace('-', " "));
        for at in 0..outcomes.len() {
            for word in &also[at] {
                let named = |other: usize| same(&outcomes[other].value, &word.value);
                let said = |other: usize| also[other].iter().any(|text| same(&text.value, &word.value));
                let twice = (0..outcomes.len())
                    .find(|&other| other != at && (named(other) || other < at && said(other)));
                if let Some(other) = twice {
                    let (mine, theirs) = (&outcomes[at].value, &outcomes[other].value);
                    let message = format!("`{}` stands for `{mine}` and for `{theirs}`", word.value);
                    let problem = Diagnostic::new(Code::WordTwice, word.span, message)
                        .why(format!("who answers so has not said which: `{finding}` would be asked again"))
                        .help("leave it to one of them, or say more in each");
                    self.problems.push(problem);
                }
            }
        }
        also
    }

    /// Reports outcomes that a finding does not have, and chances for its normal one.
    pub(in crate::knowledge) fn known_outcomes(
        &mut self,
        map: &[(Name, f64)],
        outcomes: &[Name],
        finding: &str,
    ) {
        let problems = outcome_problems(map.iter().map(|(name, _)| name), outcomes, finding);
        self.problems.extend(problems);
    }

    pub(super) fn separate_chances(&mut self, node: &Node) -> Vec<(Name, f64)> {
        self.outcome_map_unsummed(node, "otherwise")
    }
}

/// Outcomes that a finding does not have, and chances given for its normal one.
pub(in crate::knowledge) fn outcome_problems<'a>(
    named: impl Iterator<Item = &'a Name>,
    outcomes: &[Name],
    finding: &str,
) -> Vec<Diagnostic> {
    let mut problems = Vec::new();
    for name in named {
        match outcomes.iter().position(|outcome| outcome.value == name.value) {
            Some(0) => {
                let message = format!("`{}` is the normal outcome of `{finding}`", name.value);
                let problem = Diagnostic::new(Code::UnknownOutcome, name.span, message)
                    .why("nothing causes what is normal: it is what the other outcomes leave of 1")
                    .help("name another outcome, or list the normal one first");
                problems.push(problem);
            }
            Some(_) => {}
            None if outcomes.is_empty() => {}
            None => {
                problems.push(no_such_outcome(name, outcomes, outcomes.get(1..).unwrap_or(&[]), finding));
            }
        }
    }
    problems
}

/// An outcome that a finding does not have; `near`: those that may have been meant.
fn no_such_outcome(name: &Name, outcomes: &[Name], near: &[Name], finding: &str) -> Diagnostic {
    let all: Vec<String> = outcomes.iter().map(|outcome| format!("`{}`", outcome.value)).collect();
    let message = format!("`{finding}` has no outcome `{}`", name.value);
    Diagnostic::new(Code::UnknownOutcome, name.span, message)
        .why(format!("its outcomes are {}", all.join(", ")))
        .nearest(&name.value, near.iter().map(|outcome| outcome.value.as_str()))
}
