//! Cases and their events.

use std::path::{Path, PathBuf};

use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension as _, TransactionBehavior, params};

use super::data_folder::DataFolder;
use super::error::StoreError;
use super::record::Record;
use super::schema;
use super::short_id::CaseId;
use crate::session::power_up::baseline::Baseline;
use crate::session::{Closing, Event, What};

/// Letters of an id, and how many draws before it grows by one.
const LETTERS: usize = 4;
const DRAWS: usize = 8;

/// The cases in a data folder.
#[derive(Debug)]
pub struct Cases {
    db: Connection,
    path: PathBuf,
}

/// A case in one line.
#[derive(Clone, PartialEq, Debug)]
pub struct CaseLine {
    /// Its id.
    pub id: CaseId,
    /// Fingerprint of the knowledge that it began with.
    pub knowledge: String,
    /// When it began, in milliseconds since 1970-01-01 UTC.
    pub created: i64,
    /// When the last event came, in the same measure.
    pub last: i64,
    /// How many events it has.
    pub events: usize,
    /// The job, where there is a sheet.
    pub job: Option<String>,
    /// The first complaint in the caller's words; empty where there is none yet.
    pub words: String,
    /// How it ended, where it has.
    pub closed: Option<Closing>,
    /// The competence that it was handed over to, where that came last.
    pub handed_over: Option<String>,
}

impl Cases {
    /// Opens the cases of a data folder, making the database where it is missing.
    ///
    /// # Errors
    /// When it cannot be written, is damaged, newer, or in use by somebody who does not let go.
    pub fn open(folder: &DataFolder) -> Result<Self, StoreError> {
        let path = folder.database();
        Ok(Self { db: schema::open(&path)?, path })
    }

    /// Where the database is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    fn failed(&self, source: rusqlite::Error) -> StoreError {
        StoreError::of(&self.path, source)
    }

    /// Begins a case with its first event; durable when this returns.
    ///
    /// # Errors
    /// When the disk refuses; nothing has changed then.
    pub fn create(&mut self, knowledge: &str, first: &Event) -> Result<CaseId, StoreError> {
        let record = Record::of(first)?;
        for draw in 0.. {
            let id = CaseId::draw(LETTERS + draw / DRAWS);
            let path = self.path.clone();
            let failed = |source| StoreError::of(&path, source);
            let step = self.db.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
            let new = step
                .prepare_cached(
                    "INSERT INTO cases (id, knowledge, created) VALUES (?1, ?2, ?3) ON CONFLICT DO NOTHING",
                )
                .and_then(|mut insert| insert.execute(params![id.as_str(), knowledge, record.at]))
                .map_err(failed)?;
            if new == 1 {
                insert(&step, &id, 0, &record).map_err(failed)?;
                step.commit().map_err(failed)?;
                return Ok(id);
            }
        }
        Err(StoreError::Database { path: self.path.clone(), source: rusqlite::Error::QueryReturnedNoRows })
    }

    /// Adds event number `seq` to a case; durable when this returns.
    ///
    /// # Errors
    /// [`StoreError::Continued`] when the case has that event already, or lacks the one before it: somebody else wrote.
    pub fn append(&mut self, case: &CaseId, seq: usize, event: &Event) -> Result<(), StoreError> {
        self.append_all(case, seq, std::slice::from_ref(event))
    }

    /// Adds events from number `seq` on, in one transaction: those that one line of the person brought.
    ///
    /// # Errors
    /// As [`Cases::append`]; then none of them is there.
    pub fn append_all(&mut self, case: &CaseId, seq: usize, events: &[Event]) -> Result<(), StoreError> {
        let records = events.iter().map(Record::of).collect::<Result<Vec<_>, _>>()?;
        if records.is_empty() {
            return Ok(());
        }
        let path = self.path.clone();
        let failed = |source| StoreError::of(&path, source);
        let step = self.db.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
        let next: i64 = step
            .prepare_cached("SELECT coalesce(max(seq) + 1, 0) FROM events WHERE case_id = ?1")
            .and_then(|mut select| select.query_row([case.as_str()], |row| row.get(0)))
            .map_err(failed)?;
        if next == 0 {
            return Err(StoreError::NoCase { wanted: case.to_string() });
        }
        if usize::try_from(next).ok() != Some(seq) {
            return Err(StoreError::Continued { case: case.to_string() });
        }
        for (at, record) in records.iter().enumerate() {
            insert(&step, case, seq + at, record).map_err(failed)?;
        }
        step.commit().map_err(failed)
    }

    /// All events of a case, in order.
    ///
    /// # Errors
    /// When there is no such case, or an entry is of a later version.
    pub fn events(&self, case: &CaseId) -> Result<Vec<Event>, StoreError> {
        let mut select = self
            .db
            .prepare_cached("SELECT seq, at, format, kind, body FROM events WHERE case_id = ?1 ORDER BY seq")
            .map_err(|e| self.failed(e))?;
        let rows = select
            .query_map([case.as_str()], |row| {
                let seq: i64 = row.get(0)?;
                Ok((
                    seq,
                    Record { at: row.get(1)?, format: row.get(2)?, kind: row.get(3)?, body: row.get(4)? },
                ))
            })
            .map_err(|e| self.failed(e))?;
        let mut events = Vec::new();
        for (at, row) in rows.enumerate() {
            let (seq, record) = row.map_err(|e| self.failed(e))?;
            let entry = |why: String| StoreError::Entry { case: case.to_string(), seq: at, why };
            if usize::try_from(seq).ok() != Some(at) {
                return Err(entry("an entry before it is missing".into()));
            }
            events.push(record.event().map_err(entry)?);
        }
        if events.is_empty() {
            return Err(StoreError::NoCase { wanted: case.to_string() });
        }
        Ok(events)
    }

    /// The readings that power-ups of a job have taken, the latest last; those taken back are left out.
    ///
    /// # Errors
    /// When the database cannot be read.
    pub fn baselines(&self, job: &str) -> Result<Vec<Baseline>, StoreError> {
        let mut found = Vec::new();
        for line in self.list()?.iter().filter(|line| line.job.as_deref() == Some(job)) {
            found.extend(crate::session::power_up::baseline::taken(&self.events(&line.id)?));
        }
        found.sort_by(|a, b| a.at.cmp(&b.at).then_with(|| a.step.cmp(&b.step)));
        Ok(found)
    }

    /// The fingerprint of the knowledge that a case began with.
    ///
    /// # Errors
    /// When there is no such case.
    pub fn knowledge(&self, case: &CaseId) -> Result<String, StoreError> {
        let found = self
            .db
            .query_row("SELECT knowledge FROM cases WHERE id = ?1", [case.as_str()], |row| row.get(0))
            .optional()
            .map_err(|e| self.failed(e))?;
        found.ok_or_else(|| StoreError::NoCase { wanted: case.to_string() })
    }

    /// The case whose id is, or alone begins with, what was typed; capitals and blanks do not matter.
    ///
    /// # Errors
    /// When none does, or several do.
    pub fn find(&self, typed: &str) -> Result<CaseId, StoreError> {
        let wanted = CaseId::typed(typed);
        let no_case = || StoreError::NoCase { wanted: typed.trim().to_owned() };
        if wanted.is_empty() {
            return Err(no_case());
        }
        let mut select = self
            .db
            .prepare_cached(
                "SELECT id FROM cases WHERE substr(id, 1, length(?1)) = ?1 ORDER BY length(id), id LIMIT 6",
            )
            .map_err(|e| self.failed(e))?;
        let ids = select
            .query_map([&wanted], |row| row.get::<_, String>(0))
            .and_then(Iterator::collect::<Result<Vec<_>, _>>)
            .map_err(|e| self.failed(e))?;
        match ids.as_slice() {
            [] => Err(no_case()),
            [only] => Ok(CaseId(only.clone())),
            [first, ..] if *first == wanted => Ok(CaseId(wanted)),
            _ => Err(StoreError::SeveralCases { wanted, cases: ids }),
        }
    }

    /// Every case in a line, the one used last first.
    ///
    /// # Errors
    /// When the database cannot be read. An entry of a later version leaves its part of the line empty.
    pub fn list(&self) -> Result<Vec<CaseLine>, StoreError> {
        let mut select = self
            .db
            .prepare_cached(
                "SELECT c.id, c.knowledge, c.created,
                        (SELECT count(*) FROM events e WHERE e.case_id = c.id),
                        (SELECT at FROM events e WHERE e.case_id = c.id ORDER BY seq DESC LIMIT 1) AS last,
                        (SELECT body FROM events e WHERE e.case_id = c.id AND e.seq = 0),
                        (SELECT body FROM events e WHERE e.case_id = c.id AND e.kind IN ('volunteered', 'one-of')
                         ORDER BY e.seq LIMIT 1),
                        (SELECT body FROM events e WHERE e.case_id = c.id
                         AND e.kind IN ('closed', 'handed-over', 'resumed') ORDER BY e.seq DESC LIMIT 1)
                 FROM cases c ORDER BY last DESC, c.id",
            )
            .map_err(|e| self.failed(e))?;
        let lines = select.query_map([], |row| {
            let what = |at: usize| -> rusqlite::Result<Option<What>> {
                let body: Option<String> = row.get(at)?;
                Ok(body.and_then(|body| super::record::what(&body).ok()))
            };
            let time = |at: usize| -> rusqlite::Result<i64> {
                let text: Option<String> = row.get(at)?;
                Ok(text.and_then(|t| t.parse::<Timestamp>().ok()).map_or(0, Timestamp::as_millisecond))
            };
            let (start, complaint, end) = (what(5)?, what(6)?, what(7)?);
            Ok(CaseLine {
                id: CaseId(row.get(0)?),
                knowledge: row.get(1)?,
                created: time(2)?,
                last: time(4)?,
                events: usize::try_from(row.get::<_, i64>(3)?).unwrap_or(0),
                job: match start {
                    Some(What::Started { job, .. }) => job,
                    _ => None,
                },
                words: match complaint {
                    Some(What::Volunteered { words, .. } | What::OneOf { words, .. }) => words,
                    _ => String::new(),
                },
                closed: match &end {
                    Some(What::Closed { how }) => Some(*how),
                    _ => None,
                },
                handed_over: match end {
                    Some(What::HandedOver { competence, .. }) => Some(competence),
                    _ => None,
                },
            })
        });
        lines.and_then(Iterator::collect::<Result<Vec<_>, _>>).map_err(|e| self.failed(e))
    }
}

fn insert(db: &Connection, case: &CaseId, seq: usize, record: &Record) -> rusqlite::Result<()> {
    let seq = i64::try_from(seq).unwrap_or(i64::MAX);
    db.prepare_cached(
        "INSERT INTO events (case_id, seq, at, format, kind, body) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
    )?
    .execute(params![case.as_str(), seq, record.at, record.format, record.kind, record.body])
    .map(|_| ())
}
