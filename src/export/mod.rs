//! Finished records: the call note and the hand-over slip, one file per format; and what every front end needs to
//! write them down: numbers rounded for people, times, foreign text made harmless.
//!
//! In: a [`Note`](crate::session::Note) or a [`Slip`](crate::session::Slip). Out: Markdown, JSON (plain text for a
//! terminal is `render`'s). Invariants: the standing notice is in every one of them; cautions stand before what they
//! belong to; JSON holds numbers as they are, with a `format` by which its shape is known.

pub mod chart;
mod check_sheet;
mod clean;
mod json;
mod markdown;
mod note_line;
mod number;
mod record;
mod time;
mod wire;

pub use check_sheet::{check_sheet_json, check_sheet_markdown};
pub use clean::clean;
pub use json::{note_json, ranking_json, slip_json};
pub use markdown::{note_markdown, slip_markdown};
pub use note_line::note_line;
pub use number::{about, factor, minutes, money, share, words};
pub use record::{record_json, record_line, record_markdown, taken_line, wires_lines};
pub use time::moment;
pub use wire::{deviation_text, wire_ends, wire_notes, wire_row};
