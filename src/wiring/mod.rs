//! The wire list of a job: which terminals are joined, what is wrong with the list, and what is found at the wires.
//!
//! In: a checked package, whose components say what their terminals are for, and a job with its wires. Out: mistakes of
//! the list as diagnostics, the connections to be checked on site, and what continuity readings say of them. Invariants:
//! every field-wired connection is a connection to be checked exactly once; nothing of a maker's numbering is known here:
//! terminals are called as the sheet calls them; no text of the trade but what the package says.

mod check;
mod connection;
mod list;
mod name;
mod reading;
mod whereabouts;

pub use check::check;
pub use connection::{Connection, End, connections};
pub use list::{Terminal, WireList};
pub(crate) use name::tokens;
pub use reading::{Deviation, Reading, causes, deviations, ruled_out};
pub use whereabouts::Whereabouts;
