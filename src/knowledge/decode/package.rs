//! `package.yaml`: what the package is called and uses, and how the firm works.

use std::collections::BTreeMap;

use super::citation::published;
use super::value::wrong_shape;
use super::{Declared, Decoder, Fields, Sort};
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{
    Competence, Emergency, Enclosure, HandOver, Hazard, Instrument, Meanwhile, Name, Place, Practice,
    PublishedSource, Signal, Text, Way, WorkState,
};
use crate::source::{Span, Spanned};
use crate::yaml::entries;
use crate::yaml::{Node, Value};

/// The format that this program reads.
const FORMAT: &str = "1";

/// The place and the work state that are always there.
pub(in crate::knowledge) const PANEL: &str = "panel";
pub(in crate::knowledge) const ENERGISED: &str = "energised";

/// The most members that a set of competences, instruments … can have: they are kept as bits.
const MEMBERS: usize = 128;

/// What a package says of itself.
pub(in crate::knowledge) struct Header {
    pub(in crate::knowledge) id: Name,
    pub(in crate::knowledge) title: Option<Text>,
    pub(in crate::knowledge) uses: Vec<Name>,
    pub(in crate::knowledge) scale: BTreeMap<String, f64>,
    pub(in crate::knowledge) sources: BTreeMap<String, PublishedSource>,
}

/// Every key of `package.yaml`.
const KEYS: [&str; 18] = [
    "format",
    "package",
    "title",
    "use",
    "notice",
    "scale",
    "sources",
    "competences",
    "trust",
    "instruments",
    "places",
    "enclosures",
    "hazards",
    "work-states",
    "emergencies",
    "labour",
    "hand-over",
    "meanwhile",
];

/// Decodes the keys by which a package is known, and looks for keys that mean nothing.
pub(in crate::knowledge) fn header(node: &Node, d: &mut Decoder<'_>) -> Header {
    let at = Span { end: node.span.start, ..node.span };
    let mut f = Fields::of(node, "a package", at, d.problems);
    if let Some(node) = f.require("format", d.problems)
        && let Some(text) = d.text(node, "format")
        && text.value != FORMAT
    {
        let problem =
            Diagnostic::new(Code::UnknownFormat, text.span, format!("format `{}` is not known", text.value))
                .why(format!("this program reads format {FORMAT}"))
                .help(format!("write `format: {FORMAT}`"));
        d.say(problem);
    }
    let id = f.require("package", d.problems).and_then(|node| d.id(node, "package"));
    let title = f.get("title", d.problems).and_then(|node| d.text(node, "title"));
    let uses = f.get("use", d.problems).map_or_else(Vec::new, |node| d.texts(node, "use"));
    let mut scale = BTreeMap::new();
    if let Some(node) = f.get("scale", d.problems) {
        for (word, node) in entries(node, "`scale`", d.problems) {
            if !word.value.starts_with(char::is_alphabetic) {
                let problem = Diagnostic::new(Code::BadId, word.span, format!("`{}` is no word", word.value))
                    .why("it has to begin with a letter, so that nobody takes it for a number");
                d.say(problem);
            }
            if let Some(chance) = d.chance(node, &word.value) {
                scale.insert(word.value.clone(), chance.value);
            }
        }
    }
    let mut sources = BTreeMap::new();
    if let Some(node) = f.get("sources", d.problems) {
        published(node, &mut sources, d);
    }
    for key in KEYS {
        let _ = f.get(key, &mut Vec::new());
    }
    f.finish(d.problems);
    Header { id: id.unwrap_or_else(|| Spanned::new(String::new(), at)), title, uses, scale, sources }
}

/// Notes which names `package.yaml` declares, before anything that may name them is read.
pub(in crate::knowledge) fn declare(node: &Node, package: usize, header: &Header, declared: &mut Declared) {
    for sort in Sort::ALL.into_iter().filter(|&sort| sort != Sort::Source) {
        let Some(Value::Map(map)) = node.get(sort.key()).map(|node| &node.value) else { continue };
        for (name, _) in map {
            declared.add(sort, &name.value, name.span);
        }
    }
    for (sort, name) in [(Sort::Place, PANEL), (Sort::WorkState, ENERGISED)] {
        if declared.find(sort, name).is_none() {
            declared.add(sort, name, Span::top_of(header.id.span.file));
        }
    }
    for (key, source) in &header.sources {
        declared.add(Sort::Source, key, source.key.span);
        declared.cited.insert(key.clone(), (package, source.clone()));
    }
}

/// Decodes how the firm works, and adds it to what the packages in use say.
///
/// A package may say anew what only tunes numbers (places, trust, labour, hand-over, scale); whatever else two packages
/// declare under one id is an error: nothing of one package is silently replaced by another.
pub(in crate::knowledge) fn practice(node: &Node, into: &mut Practice, d: &mut Decoder<'_>) {
    // Shape and unknown keys have been reported with the header.
    let mut quiet = Vec::new();
    let mut f = Fields::of(node, "a package", node.span, &mut quiet);
    if let Some(node) = f.get("notice", d.problems) {
        into.notice.extend(d.texts(node, "notice"));
    }
    for (id, node) in d.section(&mut f, "instruments") {
        let (name, also) = d.named(node, id, "an instrument");
        d.add(&mut into.instruments, Instrument { id: id.clone(), name, also }, |i| &i.id);
    }
    for (id, node) in d.section(&mut f, "competences") {
        let competence = d.competence(id, node);
        d.add(&mut into.competences, competence, |c| &c.id);
    }
    for (id, node) in d.section(&mut f, "hazards") {
        let hazard = d.hazard(id, node);
        d.add(&mut into.hazards, hazard, |h| &h.id);
    }
    for (id, node) in d.section(&mut f, "places") {
        let place = d.place(id, node);
        match into.places.iter_mut().find(|other| other.id.value == id.value) {
            Some(other) => *other = place,
            None => into.places.push(place),
        }
    }
    for (id, node) in d.section(&mut f, "enclosures") {
        let enclosure = d.enclosure(id, node);
        d.add(&mut into.enclosures, enclosure, |e| &e.id);
    }
    for (id, node) in d.section(&mut f, "work-states") {
        let state = d.work_state(id, node);
        d.add(&mut into.work_states, state, |s| &s.id);
    }
    if let Some(node) = f.get("emergencies", d.problems) {
        for item in d.items(node, "emergencies") {
            if let Some(emergency) = d.emergency(item) {
                d.add(&mut into.emergencies, emergency, |e| &e.id);
            }
        }
    }
    if let Some(node) = f.get("meanwhile", d.problems) {
        for item in d.items(node, "meanwhile") {
            if let Some(meanwhile) = d.meanwhile(item) {
                d.add(&mut into.meanwhile, meanwhile, |m| &m.id);
            }
        }
    }
    for (id, node) in d.section(&mut f, "trust") {
        let trust = d.chance(node, &id.value);
        if d.known(id.clone(), Sort::Competence).is_some()
            && let Some(competence) = into.competences.iter_mut().find(|c| c.id.value == id.value)
        {
            competence.trust = trust.map(|trust| trust.value);
        }
    }
    if let Some(node) = f.get("labour", d.problems) {
        let mut f = Fields::of(node, "labour", node.span, d.problems);
        if let Some(rate) = f.get("per-hour", d.problems).and_then(|node| d.amount(node, "per-hour")) {
            into.labour_per_hour = Some(rate.value);
        }
        if let Some(currency) = f.get("currency", d.problems).and_then(|node| d.text(node, "currency")) {
            into.currency = Some(currency.value);
        }
        f.finish(d.problems);
    }
    for (id, node) in d.section(&mut f, "hand-over") {
        let Some(hand_over) = d.hand_over(node, id.span) else { continue };
        if id.value == "unlisted" {
            into.unlisted = Some(hand_over);
        } else if d.known(id.clone(), Sort::Competence).is_some()
            && let Some(competence) = into.competences.iter_mut().find(|c| c.id.value == id.value)
        {
            competence.hand_over = Some(hand_over);
        }
    }
}

/// Puts what is always there first, and looks at sizes.
pub(in crate::knowledge) fn complete(practice: &mut Practice, at: Span, problems: &mut Vec<Diagnostic>) {
    let name = |word: &str| Spanned::new(word.to_owned(), at);
    let panel = practice.places.iter().position(|place| place.id.value == PANEL);
    match panel {
        Some(place) => practice.places[..=place].rotate_right(1),
        None => {
            let place = Place {
                id: name(PANEL),
                name: name("at the panel"),
                minutes: 0.0,
                also: Vec::new(),
                competence: None,
                hazards: Vec::new(),
            };
            practice.places.insert(0, place);
        }
    }
    match practice.work_states.iter().position(|state| state.id.value == ENERGISED) {
        Some(state) => practice.work_states[..=state].rotate_right(1),
        None => {
            let state = WorkState {
                id: name(ENERGISED),
                name: name(ENERGISED),
                enter: Way::default(),
                back: Way::default(),
                also: Vec::new(),
            };
            practice.work_states.insert(0, state);
        }
    }
    let sizes = [
        ("competences", practice.competences.len()),
        ("instruments", practice.instruments.len()),
        ("enclosures", practice.enclosures.len()),
        ("work-states", practice.work_states.len()),
    ];
    for (key, size) in sizes {
        if size > MEMBERS {
            let message = format!("{size} `{key}` are more than a firm can have");
            problems.push(Diagnostic::new(Code::WrongShape, at, message).why(format!("{MEMBERS} at most")));
        }
    }
}

impl Decoder<'_> {
    /// The ids of a section with their nodes.
    fn section<'n>(
        &mut self,
        f: &mut Fields<'n>,
        key: &'static str,
    ) -> impl Iterator<Item = (&'n Name, &'n Node)> + use<'n> {
        let node = f.get(key, self.problems);
        let found = node.map_or(&[][..], |node| entries(node, key, self.problems));
        for (id, _) in found {
            let _ = self.checked_id(id.clone());
        }
        found.iter().map(|(id, node)| (id, node))
    }

    /// The items of a list.
    fn items<'n>(&mut self, node: &'n Node, what: &str) -> &'n [Node] {
        match &node.value {
            Value::List(list) => list,
            Value::Refused => &[],
            Value::Scalar { .. } | Value::Map(_) => {
                self.say(wrong_shape(node, what, "a list").help("write each as an item: `- id: …`"));
                &[]
            }
        }
    }

    /// Adds something that only one package may declare.
    fn add<T>(&mut self, list: &mut Vec<T>, item: T, id: impl Fn(&T) -> &Name) {
        let name = id(&item).clone();
        if let Some(first) = list.iter().find(|other| id(other).value == name.value) {
            let problem = Diagnostic::new(
                Code::DuplicateId,
                name.span,
                format!("`{}` is declared already", name.value),
            )
            .label("again")
            .also_at(id(first).span, "first declared here")
            .why("two packages that are used together cannot each have their own")
            .help("use the one that is there, or choose another id");
            self.say(problem);
        } else {
            list.push(item);
        }
    }

    /// Name and words of something written as a text or as a map.
    fn named(&mut self, node: &Node, id: &Name, what: &'static str) -> (Text, Vec<Text>) {
        let Value::Map(_) = node.value else {
            return (self.text(node, &id.value).unwrap_or_else(|| id.clone()), Vec::new());
        };
        let mut f = Fields::of(node, what, id.span, self.problems);
        let name = f.get("name", self.problems).and_then(|node| self.text(node, "name"));
        let also = f.get("also", self.problems).map_or_else(Vec::new, |node| self.texts(node, "also"));
        f.finish(self.problems);
        (name.unwrap_or_else(|| id.clone()), also)
    }

    fn competence(&mut self, id: &Name, node: &Node) -> Competence {
        let mut competence = Competence {
            id: id.clone(),
            name: id.clone(),
            covers: Vec::new(),
            carries: Vec::new(),
            also: Vec::new(),
            trust: None,
            hand_over: None,
        };
        if !matches!(node.value, Value::Map(_)) {
            competence.name = self.text(node, &id.value).unwrap_or_else(|| id.clone());
            return competence;
        }
        let mut f = Fields::of(node, "a competence", id.span, self.problems);
        if let Some(name) = f.get("name", self.problems).and_then(|node| self.text(node, "name")) {
            competence.name = name;
        }
        if let Some(node) = f.get("covers", self.problems) {
            competence.covers = self.declared_list(node, Sort::Competence);
        }
        if let Some(node) = f.get("carries", self.problems) {
            competence.carries = self.declared_list(node, Sort::Instrument);
        }
        competence.also = f.get("also", self.problems).map_or_else(Vec::new, |node| self.texts(node, "also"));
        f.finish(self.problems);
        competence
    }

    fn place(&mut self, id: &Name, node: &Node) -> Place {
        let mut place = Place {
            id: id.clone(),
            name: id.clone(),
            minutes: 0.0,
            also: Vec::new(),
            competence: None,
            hazards: Vec::new(),
        };
        let minutes = if matches!(node.value, Value::Map(_)) {
            let mut f = Fields::of(node, "a place", id.span, self.problems);
            if let Some(name) = f.get("name", self.problems).and_then(|node| self.text(node, "name")) {
                place.name = name;
            }
            place.also = f.get("also", self.problems).map_or_else(Vec::new, |node| self.texts(node, "also"));
            let competence = f.get("competence", self.problems);
            place.competence = competence.and_then(|node| self.declared(node, Sort::Competence));
            let hazards = f.get("hazards", self.problems);
            place.hazards = hazards.map_or_else(Vec::new, |node| self.declared_list(node, Sort::Hazard));
            let minutes = f.require("minutes", self.problems).and_then(|node| self.amount(node, "minutes"));
            f.finish(self.problems);
            minutes
        } else {
            self.amount(node, &id.value)
        };
        if let Some(minutes) = minutes {
            place.minutes = minutes.value;
            if id.value == PANEL && minutes.value != 0.0 {
                let problem = Diagnostic::new(Code::BadNumber, minutes.span, "the panel is 0 minutes away")
                    .why("every other place is counted from the panel and back");
                self.say(problem);
            }
        }
        place
    }

    fn enclosure(&mut self, id: &Name, node: &Node) -> Enclosure {
        let mut f = Fields::of(node, "an enclosure", id.span, self.problems);
        let name = f.get("name", self.problems).and_then(|node| self.text(node, "name"));
        let opened_by = f.require("opened-by", self.problems);
        let hazards = f.get("hazards", self.problems);
        let (place, own) = (f.get("place", self.problems), f.get("own", self.problems));
        let enclosure = Enclosure {
            id: id.clone(),
            name: name.unwrap_or_else(|| id.clone()),
            opened_by: opened_by.map_or_else(Vec::new, |node| self.declared_list(node, Sort::Competence)),
            hazards: hazards.map_or_else(Vec::new, |node| self.declared_list(node, Sort::Hazard)),
            place: place.and_then(|node| self.declared(node, Sort::Place)),
            own: own.and_then(|node| self.truth(node, "own")) == Some(true),
        };
        f.finish(self.problems);
        enclosure
    }

    fn hazard(&mut self, id: &Name, node: &Node) -> Hazard {
        let mut f = Fields::of(node, "a hazard", id.span, self.problems);
        let signal = f.require("signal", self.problems).and_then(|node| self.signal(node));
        if !f.has("caution") && matches!(node.value, Value::Map(_)) {
            let problem = Diagnostic::new(
                Code::HazardWithoutCaution,
                id.span,
                format!("`{}` has no caution", id.value),
            )
            .why("a hazard is shown before every step that has it: there must be something to show")
            .help("add `caution`: what can happen, and how it is avoided");
            self.say(problem);
        }
        let caution = f.get("caution", self.problems).and_then(|node| self.text(node, "caution"));
        if let Some(caution) = caution.as_ref().filter(|caution| caution.value.trim().is_empty()) {
            let message = format!("the caution of `{}` is empty", id.value);
            self.say(Diagnostic::new(Code::HazardWithoutCaution, caution.span, message));
        }
        let hazard = Hazard {
            id: id.clone(),
            signal: signal.unwrap_or(Signal::Danger),
            caution: caution.unwrap_or_else(|| id.clone()),
            sources: f.get("sources", self.problems).map_or_else(Vec::new, |node| self.sources(node)),
        };
        f.finish(self.problems);
        hazard
    }

    fn signal(&mut self, node: &Node) -> Option<Signal> {
        let word = self.text(node, "signal")?;
        let signal = match word.value.as_str() {
            "danger" => Signal::Danger,
            "warning" => Signal::Warning,
            "caution" => Signal::Caution,
            "notice" => Signal::Notice,
            _ => {
                let problem = Diagnostic::new(
                    Code::UnknownWord,
                    word.span,
                    format!("`{}` is no signal word", word.value),
                )
                .why("the signal words of ANSI Z535 are `danger`, `warning`, `caution` and `notice`")
                .nearest(&word.value, ["danger", "warning", "caution", "notice"]);
                self.say(problem);
                return None;
            }
        };
        Some(signal)
    }

    fn work_state(&mut self, id: &Name, node: &Node) -> WorkState {
        let mut f = Fields::of(node, "a work state", id.span, self.problems);
        let name = f.get("name", self.problems).and_then(|node| self.text(node, "name"));
        let also = f.get("also", self.problems).map_or_else(Vec::new, |node| self.texts(node, "also"));
        let enter = self.way(&mut f);
        let back = match f.get("back", self.problems) {
            Some(node) => {
                let mut f = Fields::of(node, "the way back", node.span, self.problems);
                let back = self.way(&mut f);
                f.finish(self.problems);
                back
            }
            None => Way::default(),
        };
        if id.value != ENERGISED
            && enter.steps.is_empty()
            && matches!(node.value, Value::Map(_))
            && !f.has("steps")
        {
            let problem = Diagnostic::new(Code::MissingKey, id.span, "a work state needs `steps`")
                .why("nobody is led into a state without being told how")
                .help("list the acts, in order");
            self.say(problem);
        }
        f.finish(self.problems);
        WorkState { id: id.clone(), name: name.unwrap_or_else(|| id.clone()), enter, back, also }
    }

    fn way(&mut self, f: &mut Fields<'_>) -> Way {
        let steps = f.get("steps", self.problems).map_or_else(Vec::new, |node| self.texts(node, "steps"));
        let sources = f.get("sources", self.problems).map_or_else(Vec::new, |node| self.sources(node));
        Way { steps, terms: self.terms(f), sources }
    }

    fn emergency(&mut self, node: &Node) -> Option<Emergency> {
        let mut f = Fields::of(node, "an emergency", node.span, self.problems);
        let id = f.require("id", self.problems).and_then(|node| self.id(node, "id"));
        let mut texts = |key, f: &mut Fields<'_>| {
            f.get(key, self.problems).map_or_else(Vec::new, |node| self.texts(node, key))
        };
        let words = texts("words", &mut f);
        let not = texts("not", &mut f);
        let act = texts("do", &mut f);
        let shown_by = texts("shown-by", &mut f);
        let cleared_with = texts("cleared-with", &mut f);
        if act.is_empty() && !f.has("do") && matches!(node.value, Value::Map(_)) {
            let at = id.as_ref().map_or(node.span, |id| id.span);
            self.say(
                Diagnostic::new(Code::MissingKey, at, "an emergency needs `do`").help("say what to do first"),
            );
        }
        let shown_by =
            shown_by.into_iter().filter_map(|reference| self.component_finding(reference)).collect();
        let ask = f.get("ask", self.problems).and_then(|node| self.text(node, "ask"));
        let all_clear = f.get("all-clear", self.problems).and_then(|node| self.text(node, "all-clear"));
        f.finish(self.problems);
        Some(Emergency { id: id?, words, not, ask, act, all_clear, shown_by, cleared_with })
    }

    /// `component/finding`, each half on its own.
    fn component_finding(&mut self, reference: Text) -> Option<(Name, Name)> {
        let Some((component, finding)) = reference.value.split_once('/') else {
            let message = format!("`{}` names no component", reference.value);
            let problem = Diagnostic::new(Code::DanglingReference, reference.span, message)
                .help("write `component/finding`");
            self.say(problem);
            return None;
        };
        let at = reference.span;
        Some((Spanned::new(component.to_owned(), at), Spanned::new(finding.to_owned(), at)))
    }

    fn meanwhile(&mut self, node: &Node) -> Option<Meanwhile> {
        let mut f = Fields::of(node, "a measure for the meantime", node.span, self.problems);
        let id = f.require("id", self.problems).and_then(|node| self.id(node, "id"));
        let act = f.require("do", self.problems).and_then(|node| self.text(node, "do"));
        let put_back = f.get("put-back", self.problems).and_then(|node| self.text(node, "put-back"));
        let sources = f.get("sources", self.problems).map_or_else(Vec::new, |node| self.sources(node));
        f.finish(self.problems);
        Some(Meanwhile { id: id?, act: act?, put_back, sources })
    }

    fn hand_over(&mut self, node: &Node, at: Span) -> Option<HandOver> {
        let mut f = Fields::of(node, "a hand-over", at, self.problems);
        let minutes = f.require("minutes", self.problems).and_then(|node| self.amount(node, "minutes"));
        let say = f.get("say", self.problems).and_then(|node| self.text(node, "say"));
        let not_meanwhile = f.get("not-meanwhile", self.problems);
        let not_meanwhile = not_meanwhile.map_or_else(Vec::new, |node| self.texts(node, "not-meanwhile"));
        f.finish(self.problems);
        Some(HandOver { minutes: minutes?.value, say, not_meanwhile })
    }
}
