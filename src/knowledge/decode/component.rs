//! A component file.

use std::collections::HashMap;

use super::Decoder;
use super::draft::{Draft, Owner, Side};
use super::gives::{Reading, words};
use crate::diagnostic::{Code, Diagnostic, ENOUGH};
use crate::knowledge::{
    Act, Cause, Component, Condition, Fix, Item, Name, Prior, Proof, STAGES, Symptom, Test, Text, Via,
};
use crate::source::{Span, Spanned};
use crate::yaml::{Fields, Node, Value, entries};

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
            terminals: Vec::new(),
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
    if let Some(node) = f.get("terminals", d.problems) {
        let Component { relations, nameplate, .. } = &draft.component;
        draft.component.terminals = d.terminals(node, relations, nameplate);
    }
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
            if d.problems.len() >= ENOUGH {
                draft.incomplete = true;
                break;
            }
            decode(&mut draft, &name, entry, d);
        }
    }
    f.finish(d.problems);
    named.then_some(draft)
}

/// The list that a node holds; empty without node.
pub(super) fn list<T>(node: Option<&Node>, decode: impl FnOnce(&Node) -> Vec<T>) -> Vec<T> {
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
    let mut finding = d.finding(id, say.clone(), outcomes, leak);
    // A list says that there is something; a map says which outcome it is.
    let mut also = Vec::new();
    if let Some(node) = f.get("also", d.problems) {
        if matches!(node.value, Value::Map(_)) {
            finding.also = d.words_of_outcomes(node, &finding.outcomes, &id.value);
            also.extend(finding.also.iter().skip(1).flatten().cloned());
        } else {
            also = d.texts(node, "also");
        }
    }
    if let Some(node) = f.get("shown-by", d.problems) {
        draft.links_to_findings(id, Item::Symptom(at), node, "shown-by", Side::Effect, d);
    }
    draft.read_at(&mut f, Owner::Symptom(at), d);
    let symptom = Symptom {
        finding,
        say: say.unwrap_or_else(|| id.clone()),
        also,
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
    let (readings, measure, measured) = d.readings(&mut f);
    let mut test = Test {
        id: id.clone(),
        act,
        say,
        say_to_caller: f.get("say-to-caller", d.problems).and_then(|node| d.text(node, "say-to-caller")),
        how: list(f.get("how", d.problems), |node| d.texts(node, "how")),
        expect: f.get("expect", d.problems).and_then(|node| d.text(node, "expect")),
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
    reclosing(test.terms.recloses, &f, id, d);
    let reading = Reading { act, measured, measure };
    if let Some(node) = f.get("gives", d.problems) {
        for key in [
            "outcomes",
            "also",
            "otherwise",
            "shown-by",
            "several",
            "value",
            "accuracy",
            "fault-table",
            "complaint",
        ] {
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
    reclosing(fix.terms.recloses, &f, id, d);
    draft.component.fixes.push(fix);
    f.finish(d.problems);
}

/// What closes a protective device again says what has to be found safe before (29 CFR 1910.334(b)(2)).
fn reclosing(recloses: bool, f: &Fields<'_>, id: &Name, d: &mut Decoder<'_>) {
    if recloses && !f.has("needs") {
        let problem = Diagnostic::new(Code::MissingKey, id.span, "a step that recloses needs `needs`")
            .why("nobody closes a protective device again, or resets a fire or gas device, before it is found safe")
            .help("say what has to be found before: `needs: {finding: outcome}`");
        d.say(problem);
    }
}

impl Decoder<'_> {
    pub(super) fn act(&mut self, f: &mut Fields<'_>, id: &Name) -> (Act, Text) {
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

    pub(super) fn count(&mut self, node: &Node, what: &str) -> Option<usize> {
        let number = self.number(node, what)?;
        if number.value.fract() != 0.0 || !(1.0..=100.0).contains(&number.value) {
            let message = format!("`{what}` is a whole number from 1 to 100");
            self.say(Diagnostic::new(Code::BadNumber, number.span, message));
            return None;
        }
        // In 1..=100 and whole.
        Some(number.value as usize)
    }
}
