//! Problems in somebody's text as data: many at once, each with a code, a place, a reason and what to do.
//!
//! In: what a later room has to say about a span of a source file. Out: [`Diagnostic`], [`Code`] with its page of
//! explanation, the nearest valid names, and a plain one-line form. Invariants: nothing here opens a file, prints, or
//! knows colours; a diagnostic holds no rendered snippet, only spans.

mod code;
mod problem;
mod short;
mod suggestion;

pub use code::Code;
pub use problem::{Diagnostic, ENOUGH, Label, Severity, too_many};
pub use short::Short;
pub use suggestion::nearest;
