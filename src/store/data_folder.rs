//! The folder of the user's data: the database and the history of lines.

use std::fs;
use std::path::{Path, PathBuf};

use etcetera::BaseStrategy as _;

use super::error::StoreError;

/// The environment variable that names another folder.
const VARIABLE: &str = "WHYTRIP_DATA";

/// The folder of the user's data; it exists, and on Unix nobody but the user may enter it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct DataFolder {
    path: PathBuf,
}

impl DataFolder {
    /// The folder `given`, else the one in `WHYTRIP_DATA`, else `whytrip` in the user's data folder (XDG base directories);
    /// made where it is missing.
    ///
    /// # Errors
    /// When the system names none, or it cannot be made.
    pub fn find(given: Option<&Path>) -> Result<Self, StoreError> {
        let path = match (given, std::env::var_os(VARIABLE).filter(|v| !v.is_empty())) {
            (Some(given), _) => given.to_owned(),
            (None, Some(named)) => PathBuf::from(named),
            (None, None) => {
                let base = etcetera::choose_base_strategy().map_err(|_| StoreError::NoFolder)?;
                base.data_dir().join("whytrip")
            }
        };
        make_private(&path).map_err(|source| StoreError::Unwritable { path: path.clone(), source })?;
        Ok(Self { path })
    }

    /// The folder itself.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The database of cases.
    #[must_use]
    pub fn database(&self) -> PathBuf {
        self.path.join("cases.db")
    }

    /// The lines typed so far, for the prompt.
    #[must_use]
    pub fn history(&self) -> PathBuf {
        self.path.join("history")
    }
}

/// Makes a folder and those above it; the new ones are the user's alone.
fn make_private(path: &Path) -> std::io::Result<()> {
    if path.is_dir() {
        return Ok(());
    }
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(path)
}

/// Makes an empty file that only the user may read, unless it is there.
pub(super) fn make_private_file(path: &Path) -> std::io::Result<()> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    match options.open(path) {
        Ok(_) => Ok(()),
        Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => Ok(()),
        Err(error) => Err(error),
    }
}
