//! Reading a file whole, within a limit.

use std::fs::File;
use std::io::Read as _;
use std::path::Path;

use super::error::StoreError;

/// The bytes of a file, at most `limit` of them.
///
/// # Errors
/// When it cannot be read, is no file, or is larger; a larger one is not read.
pub fn read_limited(path: &Path, limit: u64) -> Result<Vec<u8>, StoreError> {
    let unreadable = |source| StoreError::Unreadable { path: path.to_owned(), source };
    let file = File::open(path).map_err(unreadable)?;
    let data = file.metadata().map_err(unreadable)?;
    let too_large = |size| StoreError::TooLarge { path: path.to_owned(), size, limit };
    if data.is_dir() {
        return Err(unreadable(std::io::Error::new(std::io::ErrorKind::IsADirectory, "this is a folder")));
    }
    if data.len() > limit {
        return Err(too_large(data.len()));
    }
    let mut bytes = Vec::with_capacity(usize::try_from(data.len()).unwrap_or(0));
    // It may grow while it is read, or be a pipe.
    file.take(limit.saturating_add(1)).read_to_end(&mut bytes).map_err(unreadable)?;
    match bytes.len() as u64 {
        size if size > limit => Err(too_large(size)),
        _ => Ok(bytes),
    }
}
