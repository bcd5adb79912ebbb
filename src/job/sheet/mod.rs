//! The job sheet as a file: every problem in one run, with its place and the nearest valid name.

mod fault_table;
mod relation;
mod unit;
mod value;
mod wiring;

use std::collections::{BTreeMap, BTreeSet};

use super::Job;
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{Knowledge, STAGES, Stage};
use crate::source::{Sources, Span, Spanned};
use crate::yaml::{self, Fields, Node, Value, entries};

/// Most wires that a sheet may list.
const MOST_WIRES: usize = 2000;

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

/// The package that a file names under `package`, a job sheet or the like; `None` also where it cannot be read.
#[must_use]
pub fn package_of(bytes: &[u8]) -> Option<String> {
    let (mut sources, mut problems) = (Sources::new(), Vec::new());
    let (_, node) = yaml::parse("file", bytes.to_vec(), yaml::LARGEST, &mut sources, &mut problems);
    Some(node?.get("package")?.text()?.trim().to_owned())
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
    /// The package that the sheet is for must be in use.
    fn package(&mut self, named: Spanned<String>) {
        let knowledge = self.knowledge;
        let mut in_use: Vec<&str> = knowledge.packages.iter().map(|package| &*package.id.value).collect();
        if !in_use.contains(&&*named.value) {
            let words = format!("this sheet is for the package `{}`, which is not in use", named.value);
            for built_in in crate::knowledge::embedded::packages() {
                in_use.push(built_in);
            }
            let problem = Diagnostic::new(Code::UnknownWord, named.span, words)
                .nearest(&named.value, in_use)
                .help("name the folder of that package: `--knowledge DIR`");
            self.problems.push(problem);
        }
        self.job.package = Some(named.value);
    }

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
        if let Some(package) = f.get("package", self.problems).and_then(|n| self.text(n, "package")) {
            self.package(package);
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
        let (strips, wires_at) = (f.get("strips", self.problems), f.key_span("wires"));
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
        if let Some(node) = strips {
            self.strips(node);
        }
        self.job.wires_at = wires_at;
        let mut wired = BTreeMap::new();
        let wires = self.list(wires, "wires");
        if let Some(first) = wires.get(MOST_WIRES) {
            let words = format!("{} wires are more than the {MOST_WIRES} that a sheet may list", wires.len());
            self.say(Diagnostic::new(Code::BadNumber, first.span, words));
        }
        for node in wires.iter().take(MOST_WIRES) {
            self.wire(node, &mut wired);
        }
        true
    }
}
