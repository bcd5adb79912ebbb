//! whytrip: symptom-to-cause troubleshooting for custom-built electrical control panels.
//!
//! The rooms, in the order in which the data flows; a room uses only earlier ones.

pub mod source;

pub mod diagnostic;

pub mod yaml;

pub mod quantity;

pub mod knowledge;

pub mod job;

pub mod wiring;
pub mod model;

pub mod inference;

pub mod planner;

pub mod session;

pub mod rehearsal;

pub mod store;

pub mod export;

pub mod render;

pub mod repl;

pub mod cli;
