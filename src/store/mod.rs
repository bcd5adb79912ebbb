//! Everything that touches the disk: cases and their events in a small database, exports, folders.
//!
//! In: events of a session, files to read, bytes to write. Out: the same, durable: an event that [`Cases::append`] has
//! taken survives a kill and a power cut. Invariants: cases are append-only, and triggers of the database keep them so;
//! one transaction per event; nobody but the user reads the data folder; nothing is overwritten unless told; a database
//! that is newer, damaged or in use is left as it is, and the error says what to do.

mod cases;
mod data_folder;
mod error;
mod export;
mod folders;
mod read;
mod record;
mod schema;
mod short_id;

pub use cases::{CaseLine, Cases};
pub use data_folder::DataFolder;
pub use error::StoreError;
pub use export::{Existing, write_export};
pub use folders::Folders;
pub use read::read_limited;
pub use short_id::CaseId;
