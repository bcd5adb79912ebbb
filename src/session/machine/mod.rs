//! The machine form: evidence written one statement a line, and everything that it says, without a session.
//!
//! In: a model and lines (`FINDING=outcome`, `FINDING=a:0.7,b:0.3`, `TEST=3.9,4.0,4.1`, `CAUSE=present`,
//! `fix UNIT/FIX`). Out: [`Evidence`](crate::inference::Evidence), or all problems of the lines with their places; and a
//! [`Standing`]: posteriors, predictions and the next step. Here a plain answer is certain and nothing is asked.
//! Invariant: within an epoch no finding is stated twice.

mod standing;
mod statement;

pub use standing::{Next, RankError, Standing, Verified, next, rank, situation, verify};
pub use statement::{Stated, Statement, statements};
