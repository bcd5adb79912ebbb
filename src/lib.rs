//! whytrip: symptom-to-cause troubleshooting for custom-built electrical control panels.
//!
//! The rooms, in the order in which the data flows; a room uses only earlier ones.

pub mod model;

pub mod session;

pub mod store;

pub mod cli;
