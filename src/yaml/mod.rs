//! From bytes to a tree of maps, lists and texts that remembers where each part was written.
//!
//! In: the bytes of one file. Out: a [`Node`] tree, and a diagnostic for everything that is not allowed: a package is
//! untrusted input. Only the plain part of YAML 1.2 is accepted, without anchors, aliases, merge keys, tags, tabs,
//! control characters or further documents. Invariants: every span lies on the text it was read from; the tree is at
//! most [`DEEPEST`] levels deep; no key stands twice in one map; no text holds a control character but line breaks;
//! scalars stay texts, so that `no`, `1e3` and `2026-01-02` mean what the place where they stand says.

mod characters;
mod fields;
mod node;
mod packed;
mod parse;
mod reader;
mod slip;

pub(crate) use fields::{Fields, entries, nothing};
pub use node::{Map, Node, Value};
pub use packed::{pack, unpack};
pub use parse::{LARGEST, parse, too_large};
pub use reader::DEEPEST;
