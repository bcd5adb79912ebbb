//! `rehearse FILE|DIR…`: scripted scenarios, one after the other.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use serde_json::{Value, json};

use super::Rehearse;
use crate::cli::ExitStatus;
use crate::cli::failure::{Failure, quoted};
use crate::cli::open::{self, SheetFile};
use crate::cli::streams::Streams;
use crate::diagnostic::Diagnostic;
use crate::knowledge::{Knowledge, embedded};
use crate::rehearsal::{Ending, Miss, Rehearsed, Scenario, rehearse, scenario};
use crate::render::Page;

/// The embedded folder of scenarios.
const SCENARIOS: &str = "scenarios";

/// A scenario's file, not read yet.
struct File {
    name: String,
    bytes: Vec<u8>,
    /// The folder in which it lies; `None`: built in.
    folder: Option<PathBuf>,
}

impl File {
    /// A sheet beside the scenario, else a built-in one of that name.
    fn sheet(&self, name: &str) -> Option<(String, Vec<u8>)> {
        let beside = self.folder.as_ref().map(|folder| folder.join(name)).filter(|path| path.is_file());
        match beside {
            Some(path) => SheetFile::at(&path).ok(),
            None => SheetFile::built_in(name),
        }
        .map(SheetFile::parts)
    }

    /// The built-in package that the scenario, else its sheet, names; else the one that is used where none is named.
    fn package(&self) -> String {
        let named = scenario::package_of(&self.bytes, &|name| self.sheet(name));
        let known = named.filter(|name| embedded::packages().any(|package| package == name));
        known.unwrap_or_else(|| open::PACKAGE.to_owned())
    }
}

impl Rehearse {
    pub(super) fn scripted(&self, streams: &Streams) -> Result<ExitStatus, Failure> {
        let files = files(&self.paths)?;
        let mut loaded: BTreeMap<String, Arc<Knowledge>> = BTreeMap::new();
        let mut scenarios = Vec::new();
        let mut broken = 0;
        for file in files {
            let package = file.package();
            let knowledge = match loaded.get(&package) {
                Some(knowledge) => Arc::clone(knowledge),
                None => {
                    let knowledge = open::knowledge_named(&self.knowledge, &package, streams)?;
                    Arc::clone(loaded.entry(package).or_insert(knowledge))
                }
            };
            match read(file, &knowledge, streams)? {
                Some(scenario) => scenarios.push((scenario, knowledge)),
                None => broken += 1,
            }
        }
        if broken > 0 {
            return Err(Failure::new(format!("{broken} of the scenarios cannot be read")));
        }
        let mut played = Vec::new();
        for (scenario, knowledge) in &scenarios {
            let rehearsed = rehearse(scenario, knowledge).map_err(|refused| {
                Failure::because(format!("scenario {} cannot begin", quoted(&scenario.id)), &refused)
            })?;
            played.push((scenario, rehearsed));
        }
        let missed = played.iter().filter(|(_, rehearsed)| !rehearsed.misses.is_empty()).count();
        if self.json {
            let rows: Vec<Value> = played.iter().map(|(scenario, played)| row(scenario, played)).collect();
            let whole =
                json!({"format": 1, "scenarios": rows, "reached": played.len() - missed, "missed": missed});
            open::write_json(streams, &whole)?;
        } else {
            let mut page = Page::new(streams.out);
            for (scenario, rehearsed) in &played {
                self.shown(&mut page, scenario, rehearsed);
            }
            page.gap();
            page.line(&format!("{} of {} reached their goals", played.len() - missed, played.len()));
            streams.result(&page.finish())?;
        }
        Ok(if missed == 0 { ExitStatus::Done } else { ExitStatus::No })
    }

    fn shown(&self, page: &mut Page, scenario: &Scenario, rehearsed: &Rehearsed) {
        let played = &rehearsed.played;
        let word = if rehearsed.misses.is_empty() { "reached" } else { "MISSED" };
        page.line(&format!(
            "{}: {word}; {} of {} found, {} questions, {}, {}",
            scenario.id,
            played.fates.iter().filter(|fate| fate.found()).count(),
            played.fates.len(),
            played.questions,
            crate::export::minutes(played.minutes),
            ending(rehearsed),
        ));
        for miss in &rehearsed.misses {
            page.under(&words(miss));
        }
        if self.lines {
            for turn in &rehearsed.turns {
                page.under(&format!("{} > {}", turn.asked, turn.typed));
            }
        }
    }
}

fn ending(rehearsed: &Rehearsed) -> String {
    match (rehearsed.played.ending, &rehearsed.handed_to) {
        (Ending::Proven, _) => "proven".to_owned(),
        (Ending::HandedOver(_), Some(to)) => format!("handed over to {to}"),
        _ => "without an end".to_owned(),
    }
}

/// A miss in words.
fn words(miss: &Miss) -> String {
    match miss {
        Miss::NotFound(cause) => format!("not found: {cause}"),
        Miss::NotHandedOver(to) => format!("not handed over to {to}"),
        Miss::NotProven => "not proven".to_owned(),
        Miss::Questions(asked, most) => format!("{asked} questions, at most {most} are allowed"),
        Miss::Minutes(taken, most) => {
            let (taken, most) = (crate::export::minutes(*taken), crate::export::minutes(*most));
            format!("{taken}, at most {most} are allowed")
        }
        Miss::Never(step) => format!("asked for {step}, which must never be"),
        Miss::Unsafe(breach) => format!("unsafe: {}", breach.words()),
        Miss::Stuck(asked) => format!("no end; the last question was {asked}"),
    }
}

fn row(scenario: &Scenario, rehearsed: &Rehearsed) -> Value {
    let played = &rehearsed.played;
    let causes = scenario.hidden.iter().zip(&played.fates).map(|(cause, fate)| {
        json!({
            "cause": cause.value,
            "found": fate.found(),
            "fixed": fate.fixed,
            "right_hand": fate.right_hand,
        })
    });
    let turns = rehearsed.turns.iter().map(|turn| json!({"asked": turn.asked, "typed": turn.typed}));
    json!({
        "scenario": scenario.id,
        "about": scenario.about,
        "reached": rehearsed.misses.is_empty(),
        "misses": rehearsed.misses.iter().map(words).collect::<Vec<_>>(),
        "causes": causes.collect::<Vec<_>>(),
        "questions": played.questions,
        "minutes": played.minutes,
        "proven": played.ending == Ending::Proven,
        "handed_to": rehearsed.handed_to,
        "unsafe_steps": played.breaches.len(),
        "turns": turns.collect::<Vec<_>>(),
    })
}

/// The files that were named, those of folders in the order of their names; without any, the built-in ones.
fn files(paths: &[PathBuf]) -> Result<Vec<File>, Failure> {
    let mut files = Vec::new();
    if paths.is_empty() {
        for name in embedded::files_of(SCENARIOS).unwrap_or_default() {
            let text = embedded::text(SCENARIOS, &name).unwrap_or_default();
            files.push(File {
                name: format!("{SCENARIOS}/{name}"),
                bytes: text.as_bytes().to_vec(),
                folder: None,
            });
        }
    }
    for path in paths {
        let mut found = Vec::new();
        if path.is_dir() {
            let failed = |error| Failure::because(format!("cannot read {}", quoted(path.display())), &error);
            for entry in std::fs::read_dir(path).map_err(failed)? {
                let path = entry.map_err(failed)?.path();
                if path.extension().is_some_and(|ext| ext == "yaml") {
                    found.push(path);
                }
            }
            found.sort();
        } else {
            found.push(path.clone());
        }
        for path in found {
            let folder = path.parent().unwrap_or(Path::new("")).to_owned();
            let (name, bytes) = (path.display().to_string(), open::bytes(&path)?);
            files.push(File { name, bytes, folder: Some(folder) });
        }
    }
    if files.is_empty() {
        return Err(Failure::new("there is no scenario to play"));
    }
    Ok(files)
}

/// A scenario without errors; `None` where its problems were told.
fn read(file: File, knowledge: &Arc<Knowledge>, streams: &Streams) -> Result<Option<Scenario>, Failure> {
    let mut sources = knowledge.sources.clone();
    let sheet = |name: &str| file.sheet(name);
    let (scenario, problems) =
        scenario::read(knowledge, &mut sources, &file.name, file.bytes.clone(), &sheet);
    let errors: Vec<Diagnostic> = problems.into_iter().filter(Diagnostic::is_error).collect();
    streams.talk(&open::problems(&errors, &sources, streams.err));
    Ok(scenario.filter(|_| errors.is_empty()))
}
