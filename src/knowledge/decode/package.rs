//! `package.yaml`: what the package is called and uses, and how the firm works.

use std::collections::BTreeMap;

use super::citation::published;
use super::value::wrong_shape;
use super::{Declared, Decoder, Fields, Sort};
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{Instrument, Name, Place, Practice, PublishedSource, Text, Way, WorkState};
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
const KEYS: [&str; 21] = [
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
    "usual-places",
    "enclosures",
    "hazards",
    "work-states",
    "emergencies",
    "labour",
    "hand-over",
    "meanwhile",
    "on-the-spot",
    "ambiguous",
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
/// A package may say anew what only tunes numbers (places, usual places, trust, labour, hand-over, scale); whatever else two packages
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
    for (kind, node) in d.section(&mut f, "usual-places") {
        let place = d.text(node, &kind.value).and_then(|place| d.known(place, Sort::Place));
        into.usual_places.retain(|(other, _)| other.value != kind.value);
        into.usual_places.extend(place.map(|place| (kind.clone(), place)));
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
    if let Some(node) = f.get("on-the-spot", d.problems) {
        for item in d.items(node, "on-the-spot") {
            if let Some(question) = d.on_the_spot(item) {
                d.add(&mut into.on_the_spot, question, |question| &question.id);
            }
        }
    }
    if let Some(node) = f.get("ambiguous", d.problems) {
        for item in d.items(node, "ambiguous") {
            into.ambiguous.extend(d.ambiguous(item));
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
    pub(super) fn named(&mut self, node: &Node, id: &Name, what: &'static str) -> (Text, Vec<Text>) {
        let Value::Map(_) = node.value else {
            return (self.text(node, &id.value).unwrap_or_else(|| id.clone()), Vec::new());
        };
        let mut f = Fields::of(node, what, id.span, self.problems);
        let name = f.get("name", self.problems).and_then(|node| self.text(node, "name"));
        let also = f.get("also", self.problems).map_or_else(Vec::new, |node| self.texts(node, "also"));
        f.finish(self.problems);
        (name.unwrap_or_else(|| id.clone()), also)
    }
}
