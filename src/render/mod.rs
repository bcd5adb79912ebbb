//! Plain data in, terminal text out: widths, wrapping, colours.
//!
//! Invariants: nothing is decided here and nothing is computed beyond rounding for people; colour never carries meaning
//! alone; text that came from a package, a sheet or a person is cleaned before it reaches a terminal.

mod look;
mod page;
mod problem;
pub mod view;
mod wrap;

pub use look::{Look, Role};
pub use page::Page;
pub use problem::problem;
pub use wrap::wrap;
