//! Plain data in, terminal text out: widths, wrapping, colours.
//!
//! Invariants: nothing is decided here and nothing is computed beyond rounding for people; colour never carries meaning
//! alone; text that came from a package, a sheet or a person is cleaned before it reaches a terminal.

mod clean;
mod look;
mod number;
mod page;
mod problem;
mod wrap;

pub use clean::clean;
pub use look::{Look, Role};
pub use number::{factor, minutes, money, share};
pub use page::Page;
pub use problem::problem;
pub use wrap::wrap;
