//! `cases`: the cases that are kept; and how the other commands find one and take it up.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;
use serde_json::{Value, json};

use super::failure::Failure;
use super::open::{self, KnowledgeAt, SheetFile};
use super::options::Options;
use super::streams::Streams;
use super::{ExitStatus, clock};
use crate::export::moment;
use crate::render::{Page, Role};
use crate::session::hear::{Kind, kinds};
use crate::session::{Closing, Event, Packaged, Session};
use crate::store::{CaseId, CaseLine, Cases as Store, DataFolder, StoreError};

/// List the cases that are kept, the one used last first
#[derive(Args, Debug)]
pub(super) struct Cases {
    /// Only those that are not closed
    #[arg(long)]
    open: bool,

    /// Write JSON
    #[arg(long)]
    json: bool,
}

impl Cases {
    pub(super) fn run(self, options: &Options, streams: &Streams) -> Result<ExitStatus, Failure> {
        let (_, store) = store(options)?;
        let mut lines = store.list().map_err(|error| unreadable(&error))?;
        lines.retain(|line| !self.open || line.closed.is_none());
        if self.json {
            let rows: Vec<Value> = lines.iter().map(row).collect();
            open::write_json(streams, &json!({"format": 1, "cases": rows}))?;
            return Ok(ExitStatus::Done);
        }
        let mut page = Page::new(streams.out);
        let zone = clock::zone();
        for line in &lines {
            let job = line.job.as_deref().unwrap_or("no sheet");
            let text = format!("{}, {job}, {}: {}", moment(line.last, &zone), state(line), line.words);
            page.labelled(Role::Heading, line.id.as_str(), text.trim_end_matches([':', ' ']));
        }
        if lines.is_empty() {
            streams.talk("No case is kept.\n");
        }
        streams.result(&page.finish())?;
        Ok(ExitStatus::Done)
    }
}

fn row(line: &CaseLine) -> Value {
    let stamp = |at: i64| jiff::Timestamp::from_millisecond(at).ok().map(|time| time.to_string());
    json!({
        "id": line.id.as_str(),
        "job": line.job,
        "began": stamp(line.created),
        "last": stamp(line.last),
        "events": line.events,
        "words": line.words,
        "state": state(line),
        "handed_over_to": line.handed_over,
    })
}

/// How a case stands, in two words at most.
const fn state(line: &CaseLine) -> &'static str {
    match (line.closed, &line.handed_over) {
        (Some(Closing::Proven), _) => "closed, proven",
        (Some(Closing::HandedOver), _) => "closed, handed over",
        (Some(Closing::Unproven), _) => "closed, not proven",
        (None, Some(_)) => "handed over",
        (None, None) => "open",
    }
}

fn unreadable(error: &StoreError) -> Failure {
    Failure::because("the cases cannot be read", error)
}

/// The folder of the user's data, and the cases in it.
pub(super) fn store(options: &Options) -> Result<(DataFolder, Store), Failure> {
    let folder = DataFolder::find(options.data.as_deref()).map_err(|error| unreadable(&error))?;
    let store = Store::open(&folder).map_err(|error| unreadable(&error))?;
    Ok((folder, store))
}

/// What a case is about: the package and the sheet with which it began, kept beside it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Whence {
    /// The folder of the package; `None`: the built-in one.
    pub(super) knowledge: Option<PathBuf>,
    /// The sheet.
    pub(super) sheet: Sheet,
}

/// The job sheet of a case.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) enum Sheet {
    /// The built-in, invented one.
    Demo,
    /// None: units appear as they are mentioned.
    Without,
    /// This file.
    File(PathBuf),
}

impl Whence {
    /// As text.
    pub(super) fn text(&self) -> String {
        // What is no file is the name of something built in.
        let full = |path: &Path| {
            let whole = std::path::absolute(path).ok().filter(|_| path.exists());
            whole.unwrap_or_else(|| path.to_owned()).display().to_string()
        };
        let sheet = match &self.sheet {
            Sheet::Demo => json!({"demo": true}),
            Sheet::Without => Value::Null,
            Sheet::File(path) => json!({"file": full(path)}),
        };
        json!({"format": 1, "knowledge": self.knowledge.as_deref().map(full), "sheet": sheet}).to_string()
    }

    /// From text; `None` where it says nothing of the kind.
    fn read(text: &str) -> Option<Self> {
        let value: Value = serde_json::from_str(text).ok()?;
        let knowledge = value.get("knowledge")?.as_str().map(PathBuf::from);
        let sheet = match value.get("sheet")? {
            Value::Null => Sheet::Without,
            sheet => match sheet.get("file").and_then(Value::as_str) {
                Some(file) => Sheet::File(file.into()),
                None => Sheet::Demo,
            },
        };
        Some(Self { knowledge, sheet })
    }
}

/// A case, replayed.
#[derive(Debug)]
pub(super) struct TakenUp {
    /// Its id.
    pub(super) case: CaseId,
    /// The session as it stood.
    pub(super) session: Session,
    /// Kinds of units that may still appear.
    pub(super) kinds: Vec<Kind>,
}

/// Finds a case by its id, the beginning of it, or `last`.
pub(super) fn find(store: &Store, id: Option<&str>) -> Result<CaseId, Failure> {
    match id.filter(|id| *id != "last") {
        Some(id) => store
            .find(id)
            .map_err(|error| Failure::because("which case?", &error).hint("`whytrip cases` lists them")),
        None => {
            let latest = store.list().map_err(|error| unreadable(&error))?.into_iter().next();
            latest.map(|line| line.id).ok_or_else(|| Failure::new("no case is kept"))
        }
    }
}

/// Replays a case over the package and the sheet with which it began, or over the package named now.
pub(super) fn take_up(
    store: &Store,
    id: Option<&str>,
    at: &KnowledgeAt,
    streams: &Streams,
) -> Result<TakenUp, Failure> {
    let case = find(store, id)?;
    let events: Vec<Event> = store.events(&case).map_err(|error| unreadable(&error))?;
    let whence = store.knowledge(&case).map_err(|error| unreadable(&error))?;
    let whence = Whence::read(&whence)
        .ok_or_else(|| Failure::new(format!("case {case} does not say what it is about")))?;
    let at = KnowledgeAt { dir: at.dir.clone().or(whence.knowledge) };
    let sheet = match &whence.sheet {
        Sheet::Demo => Some(SheetFile::demo()),
        Sheet::File(path) => Some(SheetFile::at(path)?),
        Sheet::Without => None,
    };
    let (knowledge, read) = open::opened(&at, sheet, streams)?;
    let job = read.map(|(job, _)| job);
    let kinds = if job.is_none() { kinds(&knowledge) } else { vec![] };
    let source = Arc::new(Packaged::new(knowledge, job));
    let session = Session::replay(source, events)
        .map_err(|refused| Failure::because(format!("case {case} cannot be taken up"), &refused))?;
    Ok(TakenUp { case, session, kinds })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_case_is_about_is_read_back() {
        for sheet in [Sheet::Demo, Sheet::Without, Sheet::File("/x/y.yaml".into())] {
            for knowledge in [None, Some(PathBuf::from("/k"))] {
                let whence = Whence { knowledge, sheet: sheet.clone() };
                assert_eq!(Whence::read(&whence.text()), Some(whence));
            }
        }
        assert_eq!(Whence::read("junk"), None);
    }
}
