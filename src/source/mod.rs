//! Text and positions: files as they were read, and spans of bytes in them.
//!
//! In: the text of a file with the name to show for it. Out: [`SourceFile`], [`Sources`], [`Span`], line and column.
//! Invariants: nothing here opens a file, knows YAML or a word of the trade; a span lies within the text of its file,
//! on character boundaries.

mod file;
mod span;

pub use file::{FileId, LineColumn, SourceFile, Sources};
pub use span::{Span, Spanned};
