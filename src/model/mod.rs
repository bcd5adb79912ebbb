//! The compiled form of a package and a job: dense, immutable.
//!
//! In: a checked package (`knowledge`) and a job sheet (`job`). Out: a [`Model`]: the numbers of the story
//! ([`network`]), what people read and what steps cost ([`catalog`], [`practice`]), and the structure as a graph.
//! Invariant: every index in a model is in range; every link of the network runs between items of the same model.

pub mod catalog;
pub mod compile;
pub mod fingerprint;
pub mod graph;
pub mod index;
pub mod needs;
pub mod network;
pub mod observe;
pub mod practice;
pub mod procedure;
pub mod trust;
pub mod verify;

pub use catalog::Model;
pub use compile::{Compiled, compile};
pub use fingerprint::Fingerprint;
