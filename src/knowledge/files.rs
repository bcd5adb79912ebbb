//! Where packages come from: folders of files, by name.

use std::collections::BTreeMap;

/// A set of package folders beside one another.
///
/// Names are single parts of a path, never a path: the loader asks for nothing else.
pub trait Files {
    /// The names of the files in the folder of a package; `None` where there is no such folder.
    ///
    /// # Errors
    /// When the folder is there and cannot be read.
    fn list(&self, package: &str) -> Result<Option<Vec<String>>, FilesError>;

    /// The bytes of a file, at most `limit` of them.
    ///
    /// # Errors
    /// [`FilesError::TooLarge`] when it has more, without reading it; [`FilesError::Unreadable`] when it cannot be read.
    fn read(&self, package: &str, file: &str, limit: u64) -> Result<Vec<u8>, FilesError>;

    /// How the file is called when people are told about it.
    fn name(&self, package: &str, file: &str) -> String {
        format!("{package}/{file}")
    }
}

/// Why a file or folder could not be read.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum FilesError {
    /// It has so many bytes.
    #[error("the file has {0} bytes")]
    TooLarge(u64),
    /// In the words of the system.
    #[error("{0}")]
    Unreadable(String),
}

/// Package folders in memory.
#[derive(Clone, Default, Debug)]
pub struct InMemory {
    packages: BTreeMap<String, BTreeMap<String, Vec<u8>>>,
}

impl InMemory {
    /// No package.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a file to a package, or replaces it.
    pub fn add(&mut self, package: impl Into<String>, file: impl Into<String>, bytes: impl Into<Vec<u8>>) {
        self.packages.entry(package.into()).or_default().insert(file.into(), bytes.into());
    }

    /// The same, as a chain.
    #[must_use]
    pub fn with(mut self, package: &str, file: &str, bytes: impl Into<Vec<u8>>) -> Self {
        self.add(package, file, bytes);
        self
    }
}

impl Files for InMemory {
    fn list(&self, package: &str) -> Result<Option<Vec<String>>, FilesError> {
        Ok(self.packages.get(package).map(|files| files.keys().cloned().collect()))
    }

    fn read(&self, package: &str, file: &str, limit: u64) -> Result<Vec<u8>, FilesError> {
        let bytes = self.packages.get(package).and_then(|files| files.get(file));
        let bytes = bytes.ok_or_else(|| FilesError::Unreadable("no such file".to_owned()))?;
        let length = bytes.len() as u64;
        if length > limit { Err(FilesError::TooLarge(length)) } else { Ok(bytes.clone()) }
    }
}
