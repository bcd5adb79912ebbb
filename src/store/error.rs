//! What can go wrong on the disk, with what to do about it.

use std::io;
use std::path::{Path, PathBuf};

/// Why the disk did not do what was asked.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// The system names no folder for the user's data.
    #[error("there is no folder for your data: set WHYTRIP_DATA to a folder that you may write")]
    NoFolder,
    /// The folder or a file in it cannot be written.
    #[error("cannot write {}: {source}; name another folder with WHYTRIP_DATA", path.display())]
    Unwritable {
        /// Where.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// A file cannot be read.
    #[error("cannot read {}: {source}", path.display())]
    Unreadable {
        /// Which.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// A file is larger than what is accepted.
    #[error("{} has {size} bytes; at most {limit} are read", path.display())]
    TooLarge {
        /// Which.
        path: PathBuf,
        /// Its size.
        size: u64,
        /// What is accepted.
        limit: u64,
    },
    /// The file is there, and may not be overwritten.
    #[error("{} is there already and was left as it is", path.display())]
    Exists {
        /// Which.
        path: PathBuf,
    },
    /// Another process writes and does not let go.
    #[error("{} is in use by another program; close it and try again, nothing is lost", path.display())]
    InUse {
        /// The database.
        path: PathBuf,
    },
    /// The database was written by a later version.
    #[error(
        "{} has form {found}, this program knows {known}; it was left as it is: use the newer program, or another folder",
        path.display()
    )]
    Newer {
        /// The database.
        path: PathBuf,
        /// Its form.
        found: i64,
        /// The latest form that is known.
        known: i64,
    },
    /// The file is no database of this program, or is damaged.
    #[error(
        "{} is damaged or is no database of this program; it was left as it is: move it away with the files of the same \
         name that end in -wal and -shm, keep them for recovery, and start again",
        path.display()
    )]
    Damaged {
        /// The database.
        path: PathBuf,
    },
    /// An entry of a case cannot be understood.
    #[error("entry {seq} of case {case} cannot be read by this program ({why}); the case was left as it is")]
    Entry {
        /// The case.
        case: String,
        /// Which entry, from 0.
        seq: usize,
        /// Why.
        why: String,
    },
    /// Somebody else went on with the case.
    #[error("case {case} was continued elsewhere in the meantime; resume it to go on from there")]
    Continued {
        /// The case.
        case: String,
    },
    /// No case begins so.
    #[error("there is no case {wanted}")]
    NoCase {
        /// What was asked for.
        wanted: String,
    },
    /// Several cases begin so.
    #[error("{wanted} could be {}", cases.join(", "))]
    SeveralCases {
        /// What was asked for.
        wanted: String,
        /// The cases, at most a handful.
        cases: Vec<String>,
    },
    /// A number in an event that no file can hold.
    #[error("an event holds a number that is not finite")]
    NotFinite,
    /// Anything else that the database says.
    #[error("{}: {source}", path.display())]
    Database {
        /// The database.
        path: PathBuf,
        /// What it says.
        source: rusqlite::Error,
    },
}

impl StoreError {
    /// An error of the database at `path`, told apart by what to do about it.
    pub(super) fn of(path: &Path, source: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode as Code;
        let path = path.to_owned();
        let Some(code) = source.sqlite_error_code() else { return Self::Database { path, source } };
        let io = |kind: io::ErrorKind, text: &str| io::Error::new(kind, text.to_owned());
        match code {
            Code::DatabaseBusy | Code::DatabaseLocked => Self::InUse { path },
            Code::NotADatabase | Code::DatabaseCorrupt => Self::Damaged { path },
            Code::ReadOnly => {
                Self::Unwritable { path, source: io(io::ErrorKind::ReadOnlyFilesystem, "it is read-only") }
            }
            Code::CannotOpen | Code::PermissionDenied => {
                Self::Unwritable { path, source: io(io::ErrorKind::PermissionDenied, "it cannot be opened") }
            }
            Code::DiskFull => {
                Self::Unwritable { path, source: io(io::ErrorKind::StorageFull, "the disk is full") }
            }
            _ => Self::Database { path, source },
        }
    }
}
