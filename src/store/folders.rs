//! Package folders on disk.

use std::fs;
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

use crate::knowledge::{Files, FilesError};

/// The folder that holds a package folder and its siblings.
///
/// Nothing outside it is read: names are single parts of a path, and a link that leads out is refused.
#[derive(Clone, Debug)]
pub struct Folders {
    /// The folder of packages, in full.
    root: PathBuf,
    /// The folder of packages, as people named it.
    shown: PathBuf,
}

impl Folders {
    /// The folders beside `package`, and its own name among them.
    ///
    /// # Errors
    /// When there is no such folder.
    pub fn beside(package: &Path) -> io::Result<(Self, String)> {
        let whole = fs::canonicalize(package)?;
        if !whole.is_dir() {
            return Err(io::Error::new(io::ErrorKind::NotADirectory, "this is no folder"));
        }
        let name = whole.file_name().and_then(|name| name.to_str()).map(str::to_owned);
        let (Some(root), Some(name)) = (whole.parent(), name) else {
            return Err(io::Error::new(io::ErrorKind::InvalidInput, "a package is a folder with a name"));
        };
        // As it was typed, where that ends in the folder's name; else in full.
        let typed = package.ends_with(&name).then(|| package.parent()).flatten();
        let shown = typed.unwrap_or(root).to_owned();
        Ok((Self { root: root.to_owned(), shown }, name))
    }

    /// A path of one part below a package, links followed, as long as it stays below the root.
    fn path(&self, package: &str, file: Option<&str>) -> io::Result<PathBuf> {
        let single = |part: &str| Path::new(part).components().count() == 1 && part != ".." && part != ".";
        let parts = std::iter::once(package).chain(file);
        if !parts.clone().all(single) {
            return Err(io::Error::new(io::ErrorKind::InvalidInput, "not a name of a single part"));
        }
        let path = fs::canonicalize(parts.fold(self.root.clone(), |path, part| path.join(part)))?;
        if !path.starts_with(&self.root) {
            return Err(io::Error::new(
                io::ErrorKind::PermissionDenied,
                "it leads out of the folder of packages",
            ));
        }
        Ok(path)
    }
}

impl Files for Folders {
    fn list(&self, package: &str) -> Result<Option<Vec<String>>, FilesError> {
        let path = match self.path(package, None) {
            Ok(path) if path.is_dir() => path,
            Ok(_) => return Ok(None),
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(unreadable(&error)),
        };
        let mut names = vec![];
        for entry in fs::read_dir(path).map_err(|error| unreadable(&error))? {
            let entry = entry.map_err(|error| unreadable(&error))?;
            let is_file = fs::metadata(entry.path()).is_ok_and(|data| data.is_file());
            if let (true, Ok(name)) = (is_file, entry.file_name().into_string()) {
                names.push(name);
            }
        }
        names.sort();
        Ok(Some(names))
    }

    fn read(&self, package: &str, file: &str, limit: u64) -> Result<Vec<u8>, FilesError> {
        let path = self.path(package, Some(file)).map_err(|error| unreadable(&error))?;
        let opened = fs::File::open(path).map_err(|error| unreadable(&error))?;
        let length = opened.metadata().map_err(|error| unreadable(&error))?.len();
        if length > limit {
            return Err(FilesError::TooLarge(length));
        }
        let mut bytes = vec![];
        // It may have grown since.
        opened.take(limit + 1).read_to_end(&mut bytes).map_err(|error| unreadable(&error))?;
        let length = bytes.len() as u64;
        if length > limit { Err(FilesError::TooLarge(length)) } else { Ok(bytes) }
    }

    fn name(&self, package: &str, file: &str) -> String {
        self.shown.join(package).join(file).display().to_string()
    }
}

fn unreadable(error: &io::Error) -> FilesError {
    FilesError::Unreadable(error.to_string())
}
