//! The form of the database, and how an older one becomes the present one.
//!
//! `user_version` holds the form. Each migration runs in one transaction; a database of a later form is refused.

use std::path::Path;
use std::time::Duration;

use rusqlite::{Connection, OpenFlags, TransactionBehavior};

use super::data_folder::make_private_file;
use super::error::StoreError;

/// "whtr" in the database's header: it belongs to this program.
const APPLICATION_ID: i64 = 0x7768_7472;

/// How long to wait for another process that writes.
const PATIENCE: Duration = Duration::from_secs(3);

/// One statement batch per form, the first makes form 1.
const MIGRATIONS: &[&str] = &["
    CREATE TABLE cases (
        id        TEXT NOT NULL PRIMARY KEY,
        knowledge TEXT NOT NULL,
        created   TEXT NOT NULL
    ) STRICT, WITHOUT ROWID;
    CREATE TABLE events (
        case_id TEXT    NOT NULL REFERENCES cases (id),
        seq     INTEGER NOT NULL CHECK (seq >= 0),
        at      TEXT    NOT NULL,
        format  INTEGER NOT NULL,
        kind    TEXT    NOT NULL,
        body    TEXT    NOT NULL CHECK (json_valid(body)),
        PRIMARY KEY (case_id, seq)
    ) STRICT, WITHOUT ROWID;
    CREATE TRIGGER events_stay BEFORE UPDATE ON events BEGIN SELECT RAISE(ABORT, 'events are append-only'); END;
    CREATE TRIGGER events_last BEFORE DELETE ON events BEGIN SELECT RAISE(ABORT, 'events are append-only'); END;
    CREATE TRIGGER cases_stay BEFORE UPDATE ON cases BEGIN SELECT RAISE(ABORT, 'cases are append-only'); END;
    CREATE TRIGGER cases_last BEFORE DELETE ON cases BEGIN SELECT RAISE(ABORT, 'cases are append-only'); END;
"];

/// Opens the database at `path`, making or migrating it.
pub(super) fn open(path: &Path) -> Result<Connection, StoreError> {
    let failed = |source| StoreError::of(path, source);
    make_private_file(path).map_err(|source| StoreError::Unwritable { path: path.to_owned(), source })?;
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let mut db = Connection::open_with_flags(path, flags).map_err(failed)?;
    db.busy_timeout(PATIENCE).map_err(failed)?;
    let known = MIGRATIONS.len() as i64;
    // One transaction, so that what another process makes meanwhile is seen whole or not at all.
    let reading = db.transaction().map_err(failed)?;
    let form = checked_form(&reading, path, known)?;
    reading.finish().map_err(failed)?;
    // The log is synchronised with every transaction: FULL, for NORMAL may lose the last ones of a WAL at a power cut.
    db.execute_batch("PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;")
        .map_err(failed)?;
    if form < known {
        let migration = db.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
        // Another process may have been quicker.
        let form = checked_form(&migration, path, known)?;
        for batch in MIGRATIONS.iter().skip(usize::try_from(form).unwrap_or(0)) {
            migration.execute_batch(batch).map_err(failed)?;
        }
        migration.pragma_update(None, "application_id", APPLICATION_ID).map_err(failed)?;
        migration.pragma_update(None, "user_version", known).map_err(failed)?;
        migration.commit().map_err(failed)?;
    }
    Ok(db)
}

/// The form of the database, 0 for a new one.
fn checked_form(db: &Connection, path: &Path, known: i64) -> Result<i64, StoreError> {
    let pragma = |name: &str| {
        db.pragma_query_value(None, name, |row| row.get::<_, i64>(0))
            .map_err(|source| StoreError::of(path, source))
    };
    let (form, application) = (pragma("user_version")?, pragma("application_id")?);
    let new = form == 0 && application == 0 && {
        let count = db.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get::<_, i64>(0));
        count.map_err(|source| StoreError::of(path, source))? == 0
    };
    if !new && application != APPLICATION_ID {
        return Err(StoreError::Damaged { path: path.to_owned() });
    }
    if form > known {
        return Err(StoreError::Newer { path: path.to_owned(), found: form, known });
    }
    Ok(form)
}
