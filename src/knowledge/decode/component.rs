//! A component file.

use std::collections::HashMap;

use super::band::Bands;
use super::value::{parse_chance, parse_number, wrong_shape};
use super::{Decoder, Fields};
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{
    Accuracy, Act, Cause, Component, Condition, Finding, Fix, Gives, Item, Many, Name, NameplateKey, Prior,
    Proof, Relation, STAGES, Scale, Symptom, Test, Text, Via,
};
use crate::quantity::Measure;
use crate::source::{Span, Spanned};
use crate::yaml::entries;
use crate::yaml::{Node, Value};

/// A component whose references are still words.
pub(in crate::knowledge) struct Draft {
    pub(in crate::knowledge) component: Component,
    pub(in crate::knowledge) links: Vec<PendingLink>,
    /// Needs of tests and fixes: the owner, the finding, the outcome.
    pub(in crate::knowledge) needs: Vec<(Item, Name, Name)>,
    /// Causes that a fix removes.
    pub(in crate::knowledge) removes: Vec<(usize, Name, f64)>,
    /// Where a symptom or test is read.
    pub(in crate::knowledge) at: Vec<(Owner, Name)>,
    /// `when` of causes and conditions, and `value` of findings.
    pub(in crate::knowledge) expressions: Vec<(Item, Spanned<String>)>,
    /// Accuracies of computed values, with the unit of measure in which they are written.
    pub(in crate::knowledge) accuracies: Vec<(Item, Spanned<Measure>)>,
    /// Choice findings with `several`: the finding per outcome, by the name that the package writes.
    pub(in crate::knowledge) several: HashMap<String, Vec<(String, String)>>,
    /// A part of it could not be read: names that are not found may be there.
    pub(in crate::knowledge) incomplete: bool,
}

/// Something that can be read at another unit.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(in crate::knowledge) enum Owner {
    Symptom(usize),
    Test(usize),
}

/// Which end of a link the file is at.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(in crate::knowledge) enum Side {
    /// At the cause or condition: `shows`, `leads-to`.
    Cause,
    /// At the finding or condition: `shown-by`.
    Effect,
}

/// What a link says.
#[derive(Clone, PartialEq, Debug)]
pub(in crate::knowledge) enum Target {
    /// A finding, with chances per outcome.
    Finding(Vec<(Name, f64)>),
    /// A condition, or a cause led to.
    State(f64),
}

/// A link as written: what it hangs on, the reference at its other end, and its chances.
pub(in crate::knowledge) struct PendingLink {
    pub(in crate::knowledge) own: Name,
    pub(in crate::knowledge) own_item: Item,
    pub(in crate::knowledge) other: Name,
    pub(in crate::knowledge) side: Side,
    pub(in crate::knowledge) target: Target,
}

/// Decodes a component file of the package at `package`; `None` where it does not even say which component it is.
pub(in crate::knowledge) fn component(node: &Node, package: usize, d: &mut Decoder<'_>) -> Option<Draft> {
    let at = Span { end: node.span.start, ..node.span };
    let mut f = Fields::of(node, "a component file", at, d.problems);
    let id = f.require("component", d.problems).and_then(|node| d.id(node, "component"));
    // What cannot be named is read all the same, for its problems.
    let named = id.is_some();
    let id = id.unwrap_or_else(|| Spanned::new(String::new(), at));
    let title = f.get("title", d.problems).and_then(|node| d.text(node, "title"));
    let mut draft = Draft {
        component: Component {
            package,
            title: title.unwrap_or_else(|| id.clone()),
            id,
            also: list(f.get("also", d.problems), |node| d.texts(node, "also")),
            is: Vec::new(),
            each: None,
            relations: Vec::new(),
            nameplate: Vec::new(),
            causes: Vec::new(),
            conditions: Vec::new(),
            symptoms: Vec::new(),
            tests: Vec::new(),
            fixes: Vec::new(),
            shows: Vec::new(),
            leads: Vec::new(),
            names: HashMap::new(),
        },
        links: Vec::new(),
        needs: Vec::new(),
        removes: Vec::new(),
        at: Vec::new(),
        expressions: Vec::new(),
        accuracies: Vec::new(),
        several: HashMap::new(),
        incomplete: !named,
    };
    draft.component.is = list(f.get("is", d.problems), |node| d.ids(node, "is"));
    draft.component.each = f.get("each", d.problems).and_then(|node| d.id(node, "each"));
    draft.component.relations = list(f.get("relations", d.problems), |node| d.relations(node));
    draft.component.nameplate = list(f.get("nameplate", d.problems), |node| d.nameplate(node));
    type Section = fn(&mut Draft, &Name, &Node, &mut Decoder<'_>);
    let sections: [(&'static str, &str, Section); 5] = [
        ("causes", "the list of causes", cause),
        ("conditions", "the list of conditions", condition),
        ("symptoms", "the list of symptoms", symptom),
        ("tests", "the list of tests", test),
        ("fixes", "the list of fixes", fix),
    ];
    for (key, what, decode) in sections {
        let Some(node) = f.get(key, d.problems) else {
            draft.incomplete |= f.has(key);
            continue;
        };
        draft.incomplete |= !matches!(node.value, Value::Map(_));
        for (name, entry) in entries(node, what, d.problems) {
            let name = d.key(name);
            decode(&mut draft, &name, entry, d);
        }
    }
    f.finish(d.problems);
    named.then_some(draft)
}

/// The list that a node holds; empty without node.
fn list<T>(node: Option<&Node>, decode: impl FnOnce(&Node) -> Vec<T>) -> Vec<T> {
    node.map_or_else(Vec::new, decode)
}

fn cause(draft: &mut Draft, id: &Name, node: &Node, d: &mut Decoder<'_>) {
    let item = Item::Cause(draft.component.causes.len());
    let mut f = Fields::of(node, "a cause", id.span, d.problems);
    let name = f.get("name", d.problems).and_then(|node| d.text(node, "name"));
    let prior = f.require("prior", d.problems).and_then(|node| d.prior(node));
    let cause = Cause {
        id: id.clone(),
        name: name.unwrap_or_else(|| id.clone()),
        also: list(f.get("also", d.problems), |node| d.texts(node, "also")),
        when: None,
        prior: prior.unwrap_or(Prior {
            start_up: Some(0.0),
            in_service: Some(0.0),
            after_work: Some(0.0),
            span: id.span,
        }),
        note: f.get("note", d.problems).and_then(|node| d.text(node, "note")),
        sources: list(f.get("sources", d.problems), |node| d.sources(node)),
    };
    draft.expression(&mut f, "when", item, d);
    if let Some(node) = f.get("shows", d.problems) {
        draft.links_to_findings(id, item, node, "shows", Side::Cause, d);
    }
    if let Some(node) = f.get("leads-to", d.problems) {
        draft.links_to_states(id, item, node, "leads-to", Side::Cause, d);
    }
    draft.component.causes.push(cause);
    f.finish(d.problems);
}

fn condition(draft: &mut Draft, id: &Name, node: &Node, d: &mut Decoder<'_>) {
    let item = Item::Condition(draft.component.conditions.len());
    let mut f = Fields::of(node, "a condition", id.span, d.problems);
    let name = f.get("name", d.problems).and_then(|node| d.text(node, "name"));
    let leak = f.get("otherwise", d.problems).and_then(|node| d.chance(node, "otherwise"));
    let condition = Condition {
        id: id.clone(),
        name: name.unwrap_or_else(|| id.clone()),
        when: None,
        leak: leak.map_or(0.0, |leak| leak.value),
        sources: list(f.get("sources", d.problems), |node| d.sources(node)),
    };
    draft.expression(&mut f, "when", item, d);
    if let Some(node) = f.get("shows", d.problems) {
        draft.links_to_findings(id, item, node, "shows", Side::Cause, d);
    }
    if let Some(node) = f.get("leads-to", d.problems) {
        draft.links_to_states(id, item, node, "leads-to", Side::Cause, d);
    }
    if let Some(node) = f.get("shown-by", d.problems) {
        draft.links_to_states(id, item, node, "shown-by", Side::Effect, d);
    }
    draft.component.conditions.push(condition);
    f.finish(d.problems);
}

fn symptom(draft: &mut Draft, id: &Name, node: &Node, d: &mut Decoder<'_>) {
    let at = draft.component.symptoms.len();
    let mut f = Fields::of(node, "a symptom", id.span, d.problems);
    let say = f.get("say", d.problems).and_then(|node| d.text(node, "say"));
    let outcomes = match f.get("outcomes", d.problems) {
        Some(node) => d.outcomes(node),
        None => words(["no", "yes"], id.span),
    };
    let leak = f.get("otherwise", d.problems);
    let finding = d.finding(id, say.clone(), outcomes, leak);
    if let Some(node) = f.get("shown-by", d.problems) {
        draft.links_to_findings(id, Item::Symptom(at), node, "shown-by", Side::Effect, d);
    }
    draft.read_at(&mut f, Owner::Symptom(at), d);
    let symptom = Symptom {
        finding,
        say: say.unwrap_or_else(|| id.clone()),
        also: list(f.get("also", d.problems), |node| d.texts(node, "also")),
        ask: f.get("ask", d.problems).and_then(|node| d.text(node, "ask")),
        say_to_caller: f.get("say-to-caller", d.problems).and_then(|node| d.text(node, "say-to-caller")),
        at: Via::Same,
        terms: d.terms(&mut f),
        proof: f.get("proof", d.problems).map_or(Proof { under: None, minutes: 0.0 }, |node| d.proof(node)),
        sources: list(f.get("sources", d.problems), |node| d.sources(node)),
    };
    draft.component.symptoms.push(symptom);
    f.finish(d.problems);
}

fn test(draft: &mut Draft, id: &Name, node: &Node, d: &mut Decoder<'_>) {
    let at = draft.component.tests.len();
    let mut f = Fields::of(node, "a test", id.span, d.problems);
    let (act, say) = d.act(&mut f, id);
    let measure = f.get("measured-in", d.problems).and_then(|node| d.measure(node));
    let measured = f.has("measured-in");
    let readings = f.get("readings", d.problems).and_then(|node| d.count(node, "readings")).unwrap_or(1);
    let mut test = Test {
        id: id.clone(),
        act,
        say,
        say_to_caller: f.get("say-to-caller", d.problems).and_then(|node| d.text(node, "say-to-caller")),
        how: list(f.get("how", d.problems), |node| d.texts(node, "how")),
        expect: f.get("expect", d.problems).and_then(|node| d.text(node, "expect")),
        measured_in: measure.as_ref().map(|(text, _)| text.clone()),
        readings,
        gives: Vec::new(),
        needs: Vec::new(),
        trust: f.get("trust", d.problems).and_then(|node| d.chance(node, "trust")).map(|trust| trust.value),
        at: Via::Same,
        terms: d.terms(&mut f),
        sources: list(f.get("sources", d.problems), |node| d.sources(node)),
    };
    draft.read_at(&mut f, Owner::Test(at), d);
    if let Some(node) = f.get("needs", d.problems) {
        // The owner of a need is a test; its first finding stands for it.
        draft.needs(Item::Given(at, 0), node, d);
    }
    let reading = Reading { act, measured, measure: measure.map(|(_, measure)| measure) };
    if let Some(node) = f.get("gives", d.problems) {
        for key in ["outcomes", "otherwise", "shown-by", "several", "value", "accuracy", "fault-table"] {
            if let Some(span) = f.key_span(key) {
                let problem = Diagnostic::new(Code::ConflictingKeys, span, format!("`{key}` beside `gives`"))
                    .why("a test that gives several findings says such things of each of them")
                    .help(format!("move `{key}` into `gives`"));
                d.say(problem);
                let _ = f.get(key, &mut Vec::new());
            }
        }
        for (name, node) in entries(node, "`gives`", d.problems) {
            let name = d.key(name);
            let mut inner = Fields::of(node, "a finding of a test", name.span, d.problems);
            let text = inner.get("name", d.problems).and_then(|node| d.text(node, "name"));
            draft.given(&mut test, at, &name, text, &reading, &mut inner, d);
            inner.finish(d.problems);
        }
    } else if !f.has("gives") {
        draft.given(&mut test, at, id, None, &reading, &mut f, d);
    }
    draft.component.tests.push(test);
    f.finish(d.problems);
}

fn fix(draft: &mut Draft, id: &Name, node: &Node, d: &mut Decoder<'_>) {
    let at = draft.component.fixes.len();
    let mut f = Fields::of(node, "a fix", id.span, d.problems);
    let fix = Fix {
        id: id.clone(),
        steps: list(f.get("do", d.problems), |node| d.texts(node, "do")),
        say_to_caller: f.get("say-to-caller", d.problems).and_then(|node| d.text(node, "say-to-caller")),
        not_for: list(f.get("not-for", d.problems), |node| d.texts(node, "not-for")),
        removes: Vec::new(),
        needs: Vec::new(),
        parts: list(f.get("parts", d.problems), |node| d.parts(node)),
        temporary: f
            .get("temporary", d.problems)
            .and_then(|node| d.truth(node, "temporary"))
            .unwrap_or(false),
        terms: d.terms(&mut f),
        sources: list(f.get("sources", d.problems), |node| d.sources(node)),
    };
    if let Some(node) = f.get("removes", d.problems) {
        for (cause, chance) in entries(node, "`removes`", d.problems) {
            if let Some(chance) = d.chance(chance, &cause.value) {
                draft.removes.push((at, cause.clone(), chance.value));
            }
        }
    }
    if let Some(node) = f.get("needs", d.problems) {
        draft.needs(Item::Fix(at), node, d);
    }
    draft.component.fixes.push(fix);
    f.finish(d.problems);
}

/// What the findings of a test have in common.
struct Reading {
    act: Act,
    /// Whether it says in which unit of measure it is read, a known one or not.
    measured: bool,
    measure: Option<Measure>,
}

impl Draft {
    /// One finding of a test, or with `several` one per abnormal outcome.
    #[expect(clippy::too_many_arguments, reason = "the parts of one declaration, from two maps")]
    fn given(
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
        if !several {
            let finding = d.finding(id, text, outcomes, leak);
            if let Some(node) = shown_by {
                self.links_to_findings(id, item, node, "shown-by", Side::Effect, d);
            }
            test.gives.push(Gives { finding, scale, fault_table, several: None });
            return;
        }
        if let Some(node) = shown_by {
            self.links_to_findings(id, item, node, "shown-by", Side::Effect, d);
        }
        let leaks = leak.map_or_else(Vec::new, |node| d.separate_chances(node));
        let mut parts = Vec::new();
        for outcome in outcomes.iter().skip(1) {
            let name = format!("{}.{}", id.value, outcome.value);
            let leak =
                leaks.iter().find(|(name, _)| name.value == outcome.value).map_or(0.0, |&(_, chance)| chance);
            parts.push((outcome.value.clone(), name.clone()));
            let finding = Finding {
                id: Spanned::new(name, outcome.span),
                name: text.clone().map(|text| text.map(|text| format!("{text}: {}", outcome.value))),
                outcomes: words(["no", "yes"], outcome.span),
                leak: vec![0.0, leak],
            };
            test.gives.push(Gives { finding, scale: None, fault_table, several: Some(id.clone()) });
        }
        d.known_outcomes(&leaks, &outcomes, &id.value);
        self.several.insert(id.value.clone(), parts);
    }

    fn links_to_findings(
        &mut self,
        own: &Name,
        own_item: Item,
        node: &Node,
        key: &'static str,
        side: Side,
        d: &mut Decoder<'_>,
    ) {
        let what = if key == "shows" { "`shows`" } else { "`shown-by`" };
        for (other, node) in entries(node, what, d.problems) {
            // Chances of a finding with `several` do not exclude one another; which it is shows when names are resolved.
            let chances = d.outcome_map_unsummed(node, key);
            if !chances.is_empty() {
                let target = Target::Finding(chances);
                self.links.push(PendingLink {
                    own: own.clone(),
                    own_item,
                    other: other.clone(),
                    side,
                    target,
                });
            }
        }
    }

    fn links_to_states(
        &mut self,
        own: &Name,
        own_item: Item,
        node: &Node,
        key: &'static str,
        side: Side,
        d: &mut Decoder<'_>,
    ) {
        let what = if key == "leads-to" { "`leads-to`" } else { "`shown-by`" };
        for (other, node) in entries(node, what, d.problems) {
            let chance = match &node.value {
                Value::Map(map) => match map.as_slice() {
                    [(yes, node)] if yes.value == "yes" => d.chance(node, "yes"),
                    _ => {
                        let problem = wrong_shape(node, &other.value, "a chance, or `{yes: chance}`")
                            .why("a cause or condition is there or not: it has no outcomes");
                        d.say(problem);
                        None
                    }
                },
                _ => d.chance(node, &other.value),
            };
            if let Some(chance) = chance {
                let target = Target::State(chance.value);
                self.links.push(PendingLink {
                    own: own.clone(),
                    own_item,
                    other: other.clone(),
                    side,
                    target,
                });
            }
        }
    }

    fn needs(&mut self, owner: Item, node: &Node, d: &mut Decoder<'_>) {
        for (finding, outcome) in entries(node, "`needs`", d.problems) {
            if let Some(outcome) = d.text(outcome, &finding.value) {
                self.needs.push((owner, finding.clone(), outcome));
            }
        }
    }

    fn read_at(&mut self, f: &mut Fields<'_>, owner: Owner, d: &mut Decoder<'_>) {
        if let Some(place) = f.get("at", d.problems).and_then(|node| d.id(node, "at")) {
            self.at.push((owner, place));
        }
    }

    fn expression(&mut self, f: &mut Fields<'_>, key: &'static str, item: Item, d: &mut Decoder<'_>) {
        if let Some(text) = f.get(key, d.problems).and_then(|node| d.text(node, key)) {
            self.expressions.push((item, text));
        }
    }
}

/// Outcomes that nobody wrote.
fn words<const N: usize>(words: [&str; N], span: Span) -> Vec<Name> {
    words.into_iter().map(|word| Spanned::new(word.to_owned(), span)).collect()
}

impl Decoder<'_> {
    /// A finding with its leak.
    fn finding(
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
        Finding { id: id.clone(), name, outcomes, leak: chances }
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

    fn separate_chances(&mut self, node: &Node) -> Vec<(Name, f64)> {
        self.outcome_map_unsummed(node, "otherwise")
    }

    fn act(&mut self, f: &mut Fields<'_>, id: &Name) -> (Act, Text) {
        let acts = [("ask", Act::Ask), ("read", Act::Read), ("look", Act::Look), ("do", Act::Try)];
        let mut found: Option<(&str, Act, Option<Text>)> = None;
        for (key, act) in acts {
            let node = f.get(key, self.problems);
            let Some(span) = f.key_span(key) else { continue };
            let text = node.and_then(|node| self.text(node, key));
            if let Some((first, ..)) = &found {
                let problem =
                    Diagnostic::new(Code::ConflictingKeys, span, format!("`{key}` beside `{first}`"))
                        .why("a test is one act: a question, a reading, a look, or something tried")
                        .help("keep one; what else is to be done belongs under `how`");
                self.say(problem);
            } else {
                found = Some((key, act, text));
            }
        }
        match found {
            Some((_, act, text)) => (act, text.unwrap_or_else(|| id.clone())),
            // A bare package may leave the sentence out: then it is a question by its id, and a warning.
            None => (Act::Ask, id.clone()),
        }
    }

    fn prior(&mut self, node: &Node) -> Option<Prior> {
        let span = node.span;
        let Value::Map(map) = &node.value else {
            let chance = self.chance(node, "prior")?.value;
            return Some(Prior {
                start_up: Some(chance),
                in_service: Some(chance),
                after_work: Some(chance),
                span,
            });
        };
        let mut prior = Prior { start_up: None, in_service: None, after_work: None, span };
        for (stage, node) in map {
            let chance = self.chance(node, &stage.value).map(|chance| chance.value);
            // A stage whose chance could not be read is not missing as well.
            let chance = Some(chance.unwrap_or(0.0));
            match stage.value.as_str() {
                "start-up" => prior.start_up = chance,
                "in-service" => prior.in_service = chance,
                "after-work" => prior.after_work = chance,
                _ => {
                    let message = format!("`{}` is no stage", stage.value);
                    let problem = Diagnostic::new(Code::UnknownWord, stage.span, message)
                        .why("the stages are `start-up`, `in-service` and `after-work`")
                        .nearest(&stage.value, STAGES);
                    self.say(problem);
                    return None;
                }
            }
        }
        Some(prior)
    }

    fn proof(&mut self, node: &Node) -> Proof {
        let mut f = Fields::of(node, "a proof", node.span, self.problems);
        let under = f.get("under", self.problems).and_then(|node| self.text(node, "under"));
        let minutes = f.get("minutes", self.problems).and_then(|node| self.amount(node, "minutes"));
        f.finish(self.problems);
        Proof { under, minutes: minutes.map_or(0.0, |minutes| minutes.value) }
    }

    fn count(&mut self, node: &Node, what: &str) -> Option<usize> {
        let number = self.number(node, what)?;
        if number.value.fract() != 0.0 || !(1.0..=100.0).contains(&number.value) {
            let message = format!("`{what}` is a whole number from 1 to 100");
            self.say(Diagnostic::new(Code::BadNumber, number.span, message));
            return None;
        }
        // In 1..=100 and whole.
        Some(number.value as usize)
    }

    fn measure(&mut self, node: &Node) -> Option<(Spanned<String>, Measure)> {
        let text = self.text(node, "measured-in")?;
        let measure = Measure::named(&text.value);
        if measure.is_none() {
            self.say(unknown_measure(&text.value, text.span));
        }
        measure.map(|measure| (text, measure))
    }

    /// Two standard deviations: a share, or an amount in the value's own measure.
    fn accuracy(
        &mut self,
        node: &Node,
        measure: Option<Measure>,
        computed: bool,
    ) -> (Accuracy, Option<Spanned<Measure>>) {
        const NONE: (Accuracy, Option<Spanned<Measure>>) = (Accuracy::Exact, None);
        self.accuracy_or(node, measure, computed).unwrap_or(NONE)
    }

    fn accuracy_or(
        &mut self,
        node: &Node,
        measure: Option<Measure>,
        computed: bool,
    ) -> Option<(Accuracy, Option<Spanned<Measure>>)> {
        let text = self.text(node, "accuracy")?;
        let written = text.value.trim();
        if written.ends_with('%') {
            match parse_chance(written) {
                Some(Ok(share)) => return Some((Accuracy::Relative(share), None)),
                Some(Err(why)) => {
                    let message = format!("`{written}` is no accuracy");
                    self.say(
                        Diagnostic::new(Code::BadNumber, text.span, message)
                            .why(why)
                            .help("write `2 %` or `0.5 V`"),
                    );
                    return None;
                }
                None => {}
            }
        }
        let digits = written
            .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+')))
            .unwrap_or(written.len());
        let (number, unit) = (parse_number(&written[..digits]), written[digits..].trim());
        let Some(number) = number.filter(|&number| number >= 0.0) else {
            let problem = Diagnostic::new(Code::BadNumber, text.span, format!("`{written}` is no accuracy"))
                .help("write `2 %`, or an amount with its unit of measure: `0.5 V`");
            self.say(problem);
            return None;
        };
        if unit.is_empty() {
            return Some((Accuracy::Absolute(number), None));
        }
        let Some(own) = Measure::named(unit) else {
            self.say(unknown_measure(unit, text.span));
            return None;
        };
        if computed {
            // In which unit the result is, its expression tells.
            return Some((Accuracy::Absolute(number), Some(Spanned::new(own, text.span))));
        }
        let Some(measure) = measure else { return Some((Accuracy::Absolute(number), None)) };
        match difference(number, own, measure) {
            Some(number) => Some((Accuracy::Absolute(number), None)),
            None => {
                let message = format!("an accuracy in {own}, of a reading in {measure}");
                let problem = Diagnostic::new(Code::WrongDimension, text.span, message)
                    .why(format!("{own} measures {}, {measure} measures {}", own.quantity, measure.quantity))
                    .help(format!("write it in {measure}, or as a share: `2 %`"));
                self.say(problem);
                None
            }
        }
    }

    fn relations(&mut self, node: &Node) -> Vec<Relation> {
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
            ) {
                let message = format!("`{}` cannot name a relation", id.value);
                let problem = Diagnostic::new(Code::BadId, id.span, message)
                    .why("the word has a meaning of its own in expressions or on a job sheet");
                self.say(problem);
            }
            let kind = Spanned::new(kind.to_owned(), text.span);
            if own && many != Many::One {
                let problem =
                    Diagnostic::new(Code::WrongShape, text.span, "only a relation to one unit can be `own`")
                        .why(
                            "a partner of its own is one that the unit must have, and that no other unit has",
                        );
                self.say(problem);
            }
            relations.push(Relation { id, kind, many, own, components: Vec::new() });
        }
        relations
    }

    fn nameplate(&mut self, node: &Node) -> Vec<NameplateKey> {
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
            };
            f.finish(self.problems);
            keys.push(key);
        }
        keys
    }
}

const RELATION_HELP: &str = "write `kind`, `own kind` (not shared), `kind?` (optional), `kind*` (all of that kind), or `kind* via relation` (those that name this unit)";

fn unknown_measure(written: &str, span: Span) -> Diagnostic {
    let message = format!("`{written}` is no unit of measure that is known");
    let problem = Diagnostic::new(Code::UnknownMeasure, span, message).nearest(written, Measure::symbols());
    if !problem.suggestions.is_empty() {
        return problem;
    }
    let all = Measure::symbols().map(|symbol| format!("`{symbol}`")).collect::<Vec<_>>().join(", ");
    problem.help(format!("known are {all}"))
}

/// A difference of two values, in another unit; `None` where the kinds differ.
pub(in crate::knowledge) fn difference(number: f64, from: Measure, to: Measure) -> Option<f64> {
    // Of temperatures, the zero of one scale is not that of the other.
    let (there, zero) = from.convert(number, &to).zip(from.convert(0.0, &to))?;
    Some(if zero == 0.0 { there } else { (there - zero).abs() })
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
                let all = outcomes
                    .iter()
                    .map(|outcome| format!("`{}`", outcome.value))
                    .collect::<Vec<_>>()
                    .join(", ");
                let message = format!("`{finding}` has no outcome `{}`", name.value);
                let problem = Diagnostic::new(Code::UnknownOutcome, name.span, message)
                    .why(format!("its outcomes are {all}"))
                    .nearest(&name.value, outcomes.iter().skip(1).map(|outcome| outcome.value.as_str()));
                problems.push(problem);
            }
        }
    }
    problems
}
