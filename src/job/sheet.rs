//! The job sheet as a file: every problem in one run, with its place and the nearest valid name.

use std::collections::{BTreeMap, BTreeSet};

use super::wiring::{FaultClass, Interlock, Made, Wire};
use super::{Job, Plate, PlateError, Unit};
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{Component, Knowledge, Many, STAGES, Stage};
use crate::quantity::Misread;
use crate::source::{Sources, Span, Spanned};
use crate::yaml::{self, Fields, Node, Value, entries, nothing};

/// Most units that a sheet may list.
const MOST_UNITS: usize = 1000;

/// Keys under a unit that have a meaning of their own; every other one is a relation of its component.
const UNIT_KEYS: [&str; 7] = ["is", "name", "also", "place", "inside", "nameplate", "fault-table"];

/// Reads a job sheet against the components and places of a package, adding the file to `sources` under `name`.
///
/// `None` where the file cannot be read as a job sheet at all. A job that comes with errors leaves out what was wrong.
///
/// Cost: linear in the file.
pub fn read(
    knowledge: &Knowledge,
    sources: &mut Sources,
    name: &str,
    bytes: Vec<u8>,
) -> (Option<Job>, Vec<Diagnostic>) {
    let mut problems = Vec::new();
    let (file, node) = yaml::parse(name, bytes, yaml::LARGEST, sources, &mut problems);
    let node = node.filter(|node| !node.is_null());
    if node.is_none() && problems.is_empty() {
        let problem = Diagnostic::new(Code::EmptyFile, Span::top_of(file), "the job sheet holds nothing");
        problems.push(problem.help("begin with `format: 1` and `job: …`"));
    }
    let job = node.and_then(|node| {
        let mut sheet = Sheet {
            knowledge,
            problems: &mut problems,
            job: Job::default(),
            stated: Vec::new(),
            refused: BTreeSet::new(),
            listed: Vec::new(),
        };
        sheet.whole(&node).then_some(sheet.job)
    });
    problems.sort_by_key(Diagnostic::order);
    (job, problems)
}

struct Sheet<'a> {
    knowledge: &'a Knowledge,
    problems: &'a mut Vec<Diagnostic>,
    job: Job,
    /// Relations as written, to be checked when all units are known: unit, relation, ids.
    stated: Vec<(usize, Spanned<String>, Vec<Spanned<String>>)>,
    /// Ids of units that could not be read: whatever names them is not reported as well.
    refused: BTreeSet<String>,
    /// Fault tables that units name.
    listed: Vec<(usize, Spanned<String>)>,
}

impl Sheet<'_> {
    fn say(&mut self, problem: Diagnostic) {
        self.problems.push(problem);
    }

    /// Whether there is a job at all.
    fn whole(&mut self, node: &Node) -> bool {
        let at = Span { end: node.span.start, ..node.span };
        let mut f = Fields::of(node, "a job sheet", at, self.problems);
        if !matches!(node.value, Value::Map(_)) {
            return false;
        }
        if let Some(format) = f.require("format", self.problems).and_then(|n| self.text(n, "format"))
            && format.value != "1"
        {
            let words = format!("format `{}` is not known", format.value);
            self.say(Diagnostic::new(Code::UnknownFormat, format.span, words).help("write `format: 1`"));
        }
        self.job.has_sheet = true;
        if let Some(id) = f.require("job", self.problems).and_then(|n| self.id(n, "job")) {
            self.job.id = id.value;
        }
        if let Some(site) = f.get("site", self.problems).and_then(|n| self.text(n, "site")) {
            self.job.site = site.value;
        }
        if let Some(stage) = f.get("stage", self.problems).and_then(|n| self.text(n, "stage")) {
            self.job.stage = Stage::named(&stage.value);
            if self.job.stage.is_none() {
                self.unknown_word(&stage, "stage", STAGES);
            }
        }
        if let Some(node) = f.get("supply", self.problems) {
            for (key, value) in entries(node, "the supply", self.problems) {
                if let Some(value) = self.text(value, &key.value) {
                    self.job.supply.insert(key.value.clone(), value.value);
                }
            }
        }
        let units = f.require("units", self.problems);
        let (tables, shut) = (f.get("fault-tables", self.problems), f.get("door-shut", self.problems));
        let (interlocks, wires) = (f.get("interlocks", self.problems), f.get("wires", self.problems));
        f.finish(self.problems);
        if let Some(node) = units {
            self.units(node);
        }
        if let Some(node) = tables {
            self.fault_tables(node);
        }
        self.use_tables(tables);
        self.relations();
        for node in self.list(shut, "door-shut") {
            self.door_shut(node);
        }
        for node in self.list(interlocks, "interlocks") {
            self.interlock(node);
        }
        let mut wired = BTreeMap::new();
        for node in self.list(wires, "wires") {
            self.wire(node, &mut wired);
        }
        true
    }

    fn text(&mut self, node: &Node, what: &str) -> Option<Spanned<String>> {
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

    fn texts(&mut self, node: &Node, what: &str) -> Vec<Spanned<String>> {
        match &node.value {
            Value::List(list) => list.iter().filter_map(|item| self.text(item, what)).collect(),
            _ => self.text(node, what).into_iter().collect(),
        }
    }

    fn list<'n>(&mut self, node: Option<&'n Node>, what: &str) -> &'n [Node] {
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

    fn id(&mut self, node: &Node, what: &str) -> Option<Spanned<String>> {
        let text = self.text(node, what)?;
        self.is_id(&text).then_some(text)
    }

    fn is_id(&mut self, text: &Spanned<String>) -> bool {
        let allowed = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.');
        let fits = (1..=100).contains(&text.value.len()) && text.value.chars().all(allowed);
        if !fits {
            let problem = Diagnostic::new(Code::BadId, text.span, format!("`{}` is no id", text.value));
            self.say(problem.why("an id has 1 to 100 letters, digits, `-`, `_` and `.`"));
        }
        fits
    }

    fn unknown_word<'v>(
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

    fn units(&mut self, node: &Node) {
        let listed = entries(node, "the list of units", self.problems);
        if listed.len() > MOST_UNITS {
            let words =
                format!("{} units are more than the {MOST_UNITS} that a sheet may list", listed.len());
            self.say(Diagnostic::new(Code::BadNumber, listed[MOST_UNITS].0.span, words));
        }
        for (id, node) in listed.iter().take(MOST_UNITS) {
            // A key that is no id is reported, and the unit read all the same.
            let fits = self.is_id(id);
            let clash = self.knowledge.components.iter().any(|c| c.each.is_none() && c.id.value == id.value);
            if clash {
                let words = format!("`{}` is the name of a component that every job has once", id.value);
                self.say(Diagnostic::new(Code::DuplicateId, id.span, words).help("give the unit another id"));
            }
            let unit = self.unit(id, node);
            match unit.filter(|_| fits && !clash) {
                Some(unit) => self.job.units.push(unit),
                None => {
                    self.refused.insert(id.value.clone());
                }
            }
        }
    }

    fn unit(&mut self, id: &Spanned<String>, node: &Node) -> Option<Unit> {
        let mut f = Fields::of(node, "a unit", id.span, self.problems);
        let kind = f.require("is", self.problems).and_then(|n| self.text(n, "is"));
        let name = f.get("name", self.problems).and_then(|n| self.text(n, "name"));
        let also = f.get("also", self.problems).map_or_else(Vec::new, |n| self.texts(n, "also"));
        let place = f.get("place", self.problems).and_then(|n| self.text(n, "place"));
        let inside = f.get("inside", self.problems).and_then(|n| self.text(n, "inside"));
        let nameplate = f.get("nameplate", self.problems);
        let table = f.get("fault-table", self.problems).and_then(|n| self.text(n, "fault-table"));
        let practice = &self.knowledge.practice;
        if let Some(place) =
            place.as_ref().filter(|p| practice.places.iter().all(|known| known.id.value != p.value))
        {
            self.unknown_word(place, "place", practice.places.iter().map(|p| &*p.id.value));
        }
        let doors = &practice.enclosures;
        if let Some(door) = inside.as_ref().filter(|d| doors.iter().all(|known| known.id.value != d.value)) {
            self.unknown_word(door, "enclosure", doors.iter().map(|d| &*d.id.value));
        }
        let kind = kind?;
        let Some(component) = self.knowledge.of_kind(&kind.value) else {
            let words = format!("there is no kind of unit `{}`", kind.value);
            let problem = Diagnostic::new(Code::UnknownWord, kind.span, words)
                .why("a unit is of a kind that some component of the package names in `each`")
                .nearest(&kind.value, self.knowledge.unit_kinds());
            self.say(problem);
            return None;
        };
        let component = &self.knowledge.components[component];
        let at = self.job.units.len();
        // What is left are relations, whose names the component says.
        let Value::Map(map) = &node.value else { return None };
        for (key, node) in map.iter().filter(|(key, _)| !UNIT_KEYS.contains(&&*key.value)) {
            self.relation(component, at, key, node);
        }
        let mut unit = Unit {
            id: id.value.clone(),
            kind: kind.value,
            name: name.map_or_else(String::new, |name| name.value),
            also: also.into_iter().map(|word| word.value).collect(),
            place: place.map(|place| place.value),
            inside: inside.map(|door| door.value),
            span: Some(id.span),
            ..Unit::default()
        };
        if let Some(node) = nameplate {
            for (key, node) in entries(node, "a nameplate", self.problems) {
                if let Some(value) = self.plate(component, key, node) {
                    unit.nameplate.insert(key.value.clone(), value);
                }
            }
        }
        self.listed.extend(table.map(|table| (at, table)));
        Some(unit)
    }

    fn relation(&mut self, component: &Component, at: usize, key: &Spanned<String>, node: &Node) {
        let Some(relation) = component.relations.iter().find(|r| r.id.value == key.value) else {
            let relations = component.relations.iter().map(|r| &*r.id.value);
            let valid: Vec<&str> = UNIT_KEYS.into_iter().chain(relations).collect();
            let all = valid.iter().map(|key| format!("`{key}`")).collect::<Vec<_>>().join(", ");
            let words = format!("a `{}` has no key `{}`", component.id.value, key.value);
            let problem = Diagnostic::new(Code::UnknownKey, key.span, words)
                .label("not known here")
                .why(format!("its keys are {all}"))
                .nearest(&key.value, valid);
            self.say(problem);
            return;
        };
        let ids = self.texts(node, &key.value);
        match relation.many {
            Many::Inverse(ref inverse) => {
                let words = format!("`{}` follows from what the other units say", key.value);
                let kind = &relation.kind.value;
                let problem = Diagnostic::new(Code::ConflictingKeys, key.span, words)
                    .why(format!("it is every `{kind}` whose `{}` is this unit", inverse.value))
                    .help(format!("write `{}: …` at each of them instead", inverse.value));
                self.say(problem);
            }
            Many::One | Many::Optional if ids.len() > 1 => {
                let words = format!("`{}` is one unit, not {}", key.value, ids.len());
                self.say(Diagnostic::new(Code::WrongShape, node.span, words));
            }
            Many::One | Many::Optional | Many::All => self.stated.push((at, key.clone(), ids)),
        }
    }

    fn plate(&mut self, component: &Component, key: &Spanned<String>, node: &Node) -> Option<Plate> {
        let text = self.text(node, &key.value)?;
        let Some(declared) = component.nameplate.iter().find(|k| k.id.value == key.value) else {
            let valid = component.nameplate.iter().map(|k| &*k.id.value);
            let all: Vec<String> = valid.clone().map(|k| format!("`{k}`")).collect();
            let words = format!("the nameplate of a `{}` has no `{}`", component.id.value, key.value);
            let problem = Diagnostic::new(Code::UnknownKey, key.span, words).nearest(&key.value, valid);
            self.say(match all.as_slice() {
                [] => problem.why("the component declares no nameplate"),
                all => problem.why(format!("it has {}", all.join(", "))),
            });
            return None;
        };
        let why = match Plate::read(declared, &text.value) {
            Ok(value) => return Some(value),
            Err(why) => why,
        };
        let code = match &why {
            PlateError::Misread(Misread::WrongQuantity { .. }) => Code::WrongDimension,
            PlateError::NotOneOf(_) => Code::UnknownWord,
            PlateError::NoMeasure => Code::UnknownMeasure,
            _ => Code::BadNumber,
        };
        let words = format!("`{}` is no value of `{}`", text.value, key.value);
        let mut problem = Diagnostic::new(code, text.span, words).why(why.to_string());
        if let PlateError::NotOneOf(valid) = &why {
            problem = problem.nearest(&text.value, valid.iter().map(String::as_str));
        }
        if let Some(measured_in) = declared.measured_in.as_ref().filter(|_| code == Code::BadNumber) {
            problem = problem
                .help(format!("write one number, in {} or with another unit of measure", measured_in.value));
        }
        self.say(problem);
        None
    }

    /// Checks the relations, now that all units are known.
    fn relations(&mut self) {
        for (at, key, ids) in std::mem::take(&mut self.stated) {
            let Some(component) = self.job.units.get(at).and_then(|unit| self.knowledge.of_kind(&unit.kind))
            else {
                continue;
            };
            let component = &self.knowledge.components[component];
            let Some(relation) = component.relations.iter().find(|r| r.id.value == key.value) else {
                continue;
            };
            let mut partners: Vec<String> = Vec::new();
            for id in ids {
                if self.refused.contains(&id.value) {
                    continue;
                }
                let Some(other) = self.job.unit(&id.value) else {
                    let words = format!("there is no unit `{}`", id.value);
                    let fitting = self.job.units.iter().filter(|unit| self.fits(unit, relation));
                    let problem = Diagnostic::new(Code::DanglingReference, id.span, words)
                        .why(format!("`{}` is a unit of kind `{}`", key.value, relation.kind.value))
                        .nearest(&id.value, fitting.map(|unit| &*unit.id));
                    self.say(problem);
                    continue;
                };
                if !self.fits(other, relation) {
                    let words =
                        format!("`{}` is a `{}`, not a `{}`", id.value, other.kind, relation.kind.value);
                    let fitting = self.job.units.iter().filter(|unit| self.fits(unit, relation));
                    let ids: Vec<String> = fitting.map(|unit| format!("`{}`", unit.id)).collect();
                    let mut problem = Diagnostic::new(Code::WrongKind, id.span, words);
                    if let Some(span) = other.span {
                        problem = problem.also_at(span, "listed here");
                    }
                    if !ids.is_empty() {
                        problem = problem.help(format!("name one of {}", ids.join(", ")));
                    }
                    self.say(problem);
                    continue;
                }
                if partners.contains(&id.value) {
                    let words = format!("`{}` is named twice", id.value);
                    self.say(Diagnostic::new(Code::DuplicateId, id.span, words));
                    continue;
                }
                partners.push(id.value);
            }
            self.job.units[at].relations.insert(key.value, partners);
        }
    }

    fn fits(&self, unit: &Unit, relation: &crate::knowledge::Relation) -> bool {
        self.knowledge.of_kind(&unit.kind).is_some_and(|component| relation.components.contains(&component))
    }

    fn fault_tables(&mut self, node: &Node) {
        for (name, node) in entries(node, "the list of fault tables", self.problems) {
            let mut table = BTreeMap::new();
            for (number, node) in entries(node, "a fault table", self.problems) {
                let mut f = Fields::of(node, "a fault number", number.span, self.problems);
                let class = f.require("class", self.problems).and_then(|n| self.text(n, "class"));
                let label = f.get("label", self.problems).and_then(|n| self.text(n, "label"));
                f.finish(self.problems);
                if let Some(class) = class {
                    let label = label.map_or_else(String::new, |label| label.value);
                    table.insert(number.value.clone(), FaultClass { class: class.value, label });
                }
            }
            self.job.fault_tables.insert(name.value.clone(), table);
        }
    }

    /// Checks which units use which table, and the classes in it against theirs.
    fn use_tables(&mut self, tables: Option<&Node>) {
        let written: Vec<(Spanned<String>, &Node)> = match tables.map(|node| &node.value) {
            Some(Value::Map(map)) => map.iter().map(|(name, node)| (name.clone(), node)).collect(),
            _ => Vec::new(),
        };
        let mut users: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        for (at, name) in std::mem::take(&mut self.listed) {
            let Some(component) = self.job.units.get(at).and_then(|unit| self.knowledge.of_kind(&unit.kind))
            else {
                continue;
            };
            if !self.job.fault_tables.contains_key(&name.value) {
                let words = format!("there is no fault table `{}`", name.value);
                let valid = self.job.fault_tables.keys().map(String::as_str);
                let problem =
                    Diagnostic::new(Code::DanglingReference, name.span, words).nearest(&name.value, valid);
                self.say(problem);
                continue;
            }
            if classes(&self.knowledge.components[component]).is_empty() {
                let words =
                    format!("a `{}` shows no fault numbers", self.knowledge.components[component].id.value);
                self.say(Diagnostic::new(Code::WrongKind, name.span, words).help("leave `fault-table` out"));
            }
            users.entry(name.value.clone()).or_default().push(component);
            self.job.units[at].fault_table = Some(name.value);
        }
        for (name, node) in written {
            let Some(users) = users.get(&name.value) else {
                let words = format!("no unit uses the fault table `{}`", name.value);
                self.say(Diagnostic::new(Code::UnusedTable, name.span, words));
                continue;
            };
            let valid: Vec<&str> =
                users.iter().flat_map(|&component| classes(&self.knowledge.components[component])).collect();
            let Value::Map(numbers) = &node.value else { continue };
            for (_, entry) in numbers {
                let Some(class) = entry.get("class").filter(|class| !class.is_null()) else { continue };
                if let Some(text) = class.text().filter(|text| !valid.contains(&text.trim())) {
                    let written = Spanned::new(text.trim().to_owned(), class.span);
                    self.unknown_word(&written, "fault class", valid.iter().copied());
                }
            }
        }
    }

    fn door_shut(&mut self, node: &Node) {
        let Some(written) = self.text(node, "door-shut") else { return };
        let (owner, test) = written.value.split_once('/').unwrap_or((&written.value, ""));
        if self.refused.contains(owner) {
            return;
        }
        let component = match self.job.unit(owner) {
            Some(unit) => self.knowledge.of_kind(&unit.kind).map(|at| &self.knowledge.components[at]),
            None => self.knowledge.component(owner).filter(|component| component.each.is_none()),
        };
        let Some(component) = component else {
            let words = format!("there is no unit `{owner}`");
            let valid = self.job.units.iter().map(|unit| &*unit.id);
            let problem = Diagnostic::new(Code::DanglingReference, written.span, words)
                .why("`door-shut` lists tests as `UNIT/TEST`")
                .nearest(owner, valid);
            self.say(problem);
            return;
        };
        let symptoms = component.symptoms.iter().map(|symptom| &*symptom.finding.id.value);
        let tests = component.tests.iter().map(|test| &*test.id.value);
        let valid: Vec<&str> = tests.chain(symptoms).collect();
        if !valid.contains(&test) {
            let words = format!("a `{}` has no test `{test}`", component.id.value);
            let problem = Diagnostic::new(Code::DanglingReference, written.span, words)
                .why("`door-shut` lists tests as `UNIT/TEST`")
                .nearest(test, valid);
            self.say(problem);
            return;
        }
        if self.job.door_shut.contains(&written.value) {
            let words = format!("`{}` is listed twice", written.value);
            self.say(Diagnostic::new(Code::DuplicateId, written.span, words));
            return;
        }
        self.job.door_shut.push(written.value);
    }

    fn interlock(&mut self, node: &Node) {
        let at = Span { end: node.span.start, ..node.span };
        let mut f = Fields::of(node, "an interlock", at, self.problems);
        let name = f.require("name", self.problems).and_then(|n| self.text(n, "name"));
        let between = f.require("between", self.problems).map_or_else(Vec::new, |n| self.texts(n, "between"));
        let note = f.get("note", self.problems).and_then(|n| self.text(n, "note"));
        f.finish(self.problems);
        for id in &between {
            self.known_unit(id);
        }
        self.job.interlocks.push(Interlock {
            name: name.map_or_else(String::new, |name| name.value),
            between: between.into_iter().map(|id| id.value).collect(),
            note: note.map_or_else(String::new, |note| note.value),
        });
    }

    fn known_unit(&mut self, id: &Spanned<String>) {
        if self.job.unit(&id.value).is_none() && !self.refused.contains(&id.value) {
            let words = format!("there is no unit `{}`", id.value);
            let valid = self.job.units.iter().map(|unit| &*unit.id);
            let problem = Diagnostic::new(Code::DanglingReference, id.span, words).nearest(&id.value, valid);
            self.say(problem);
        }
    }

    fn wire(&mut self, node: &Node, wired: &mut BTreeMap<(String, String), Span>) {
        let at = Span { end: node.span.start, ..node.span };
        let mut f = Fields::of(node, "a wire", at, self.problems);
        let from = f.require("from", self.problems).and_then(|n| self.terminal(n, "from"));
        let to = f.require("to", self.problems).and_then(|n| self.terminal(n, "to"));
        let by = f.require("by", self.problems).and_then(|n| self.text(n, "by"));
        let conductor = f.get("conductor", self.problems).and_then(|n| self.text(n, "conductor"));
        let polarity =
            f.get("polarity-sensitive", self.problems).and_then(|n| self.text(n, "polarity-sensitive"));
        f.finish(self.problems);
        let made = by.as_ref().and_then(|by| match by.value.as_str() {
            "factory" => Some(Made::Factory),
            "field" => Some(Made::Field),
            _ => {
                self.unknown_word(by, "maker of a connection", ["factory", "field"]);
                None
            }
        });
        let polarity_sensitive = polarity.is_some_and(|word| match word.value.as_str() {
            "true" | "yes" => true,
            "false" | "no" => false,
            _ => {
                let words = "`polarity-sensitive` is `true` or `false`";
                self.say(Diagnostic::new(Code::UnknownWord, word.span, words));
                false
            }
        });
        let (Some(from), Some(to)) = (from, to) else { return };
        if from.value == to.value {
            let words = format!("both ends of this wire are at `{}`", from.value);
            self.say(Diagnostic::new(Code::WireTwice, to.span, words));
        }
        let mut ends = [from.value.clone(), to.value.clone()];
        ends.sort();
        let [one, other] = ends;
        if let Some(&first) = wired.get(&(one.clone(), other.clone())) {
            let words = format!("a wire between `{}` and `{}` is listed twice", from.value, to.value);
            self.say(Diagnostic::new(Code::WireTwice, from.span, words).also_at(first, "first listed here"));
        } else {
            wired.insert((one, other), from.span);
        }
        let Some(by) = made else { return };
        let conductor = conductor.map_or_else(String::new, |words| words.value);
        self.job.wires.push(Wire { from: from.value, to: to.value, by, conductor, polarity_sensitive });
    }

    /// `DEVICE:TERMINAL`, where a device that looks like the id of a unit but is none is a slip.
    fn terminal(&mut self, node: &Node, what: &str) -> Option<Spanned<String>> {
        let text = self.text(node, what)?;
        let Some((device, terminal)) = text.value.split_once(':') else {
            let words = format!("`{}` names no terminal", text.value);
            let problem = Diagnostic::new(Code::WrongShape, text.span, words)
                .help("write `DEVICE:TERMINAL`, such as `X1:3`");
            self.say(problem);
            return None;
        };
        if device.trim().is_empty() || terminal.trim().is_empty() {
            let words = format!("`{}` names no device or no terminal", text.value);
            self.say(
                Diagnostic::new(Code::WrongShape, text.span, words)
                    .help("write `DEVICE:TERMINAL`, such as `X1:3`"),
            );
            return None;
        }
        let device = device.trim();
        let family = |id: &str| id.trim_end_matches(|c: char| c.is_ascii_digit() || c == '-').to_owned();
        let units = &self.job.units;
        if self.job.unit(device).is_none()
            && !self.refused.contains(device)
            && let Some(unit) = units.iter().find(|unit| family(&unit.id) == family(device))
        {
            let words = format!("`{device}` is no unit of this sheet");
            let problem = Diagnostic::new(Code::UnknownDevice, text.span, words)
                .why(format!("it is labelled like `{}`, which is one", unit.id))
                .nearest(device, units.iter().map(|unit| &*unit.id));
            self.say(problem);
        }
        Some(text)
    }
}

/// The general classes that fault numbers of a component can belong to.
fn classes(component: &Component) -> Vec<&str> {
    let mut classes = Vec::new();
    for gives in component.tests.iter().flat_map(|test| &test.gives).filter(|gives| gives.fault_table) {
        match &gives.several {
            // One finding for each outcome of a log: `NAME.OUTCOME`.
            Some(log) => classes
                .extend(gives.finding.id.value.strip_prefix(&*log.value).and_then(|n| n.strip_prefix('.'))),
            None => classes.extend(gives.finding.outcomes.iter().skip(1).map(|outcome| &*outcome.value)),
        }
    }
    classes
}
