//! Writing an export whole or not at all.
//!
//! The bytes go to a new file beside it, are synchronised, and take the name in one step; a reader sees the old file or the
//! new one. Without leave to overwrite, the name is first taken by an empty file that nobody else can have made.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use super::error::StoreError;

/// What to do with a file that is there.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Existing {
    /// Leave it, and say so.
    Keep,
    /// Replace it.
    Replace,
}

/// Writes `bytes` to `path`, whole or not at all.
///
/// # Errors
/// [`StoreError::Exists`] when it is there and is to be kept; [`StoreError::Unwritable`] when the disk refuses, and then
/// nothing is left behind.
pub fn write_export(path: &Path, bytes: &[u8], existing: Existing) -> Result<(), StoreError> {
    let unwritable = |source| StoreError::Unwritable { path: path.to_owned(), source };
    if path.is_dir() {
        return Err(unwritable(io::Error::new(io::ErrorKind::IsADirectory, "this is a folder")));
    }
    if existing == Existing::Keep {
        match OpenOptions::new().write(true).create_new(true).open(path) {
            Ok(_) => {}
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
                return Err(StoreError::Exists { path: path.to_owned() });
            }
            Err(error) => return Err(unwritable(error)),
        }
    }
    let written = write_beside(path, bytes)
        .and_then(|beside| fs::rename(&beside, path).inspect_err(|_| drop(fs::remove_file(&beside))));
    written.map_err(|source| {
        if existing == Existing::Keep {
            // The empty file that took the name.
            drop(fs::remove_file(path));
        }
        unwritable(source)
    })
}

/// A new file beside `path` with these bytes, synchronised.
fn write_beside(path: &Path, bytes: &[u8]) -> io::Result<PathBuf> {
    let name =
        path.file_name().ok_or_else(|| io::Error::new(io::ErrorKind::InvalidInput, "it has no name"))?;
    let (mut file, beside) = new_beside(path, name)?;
    let done = file.write_all(bytes).and_then(|()| file.sync_all());
    done.map(|()| beside.clone()).inspect_err(|_| drop(fs::remove_file(&beside)))
}

fn new_beside(path: &Path, name: &std::ffi::OsStr) -> io::Result<(File, PathBuf)> {
    let process = std::process::id();
    for number in 0..100 {
        let mut hidden = std::ffi::OsString::from(".");
        hidden.push(name);
        hidden.push(format!(".{process}-{number}.part"));
        let beside = path.with_file_name(hidden);
        match OpenOptions::new().write(true).create_new(true).open(&beside) {
            Ok(file) => return Ok((file, beside)),
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
        }
    }
    Err(io::Error::new(io::ErrorKind::AlreadyExists, "unfinished files are in the way"))
}
