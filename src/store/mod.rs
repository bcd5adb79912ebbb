//! Everything that touches the disk: cases and their events in a small database, folders, exports.

mod folders;

pub use folders::Folders;
