//! What to do next: expected minutes to done, and the step that makes them fewest.
//!
//! In: a model and a situation (who is present, where, what is known), or a [`problem`] given directly. Out: an
//! [`Advice`]: a step, its expected minutes, the reasons as numbers, the next best steps, and a bound
//! that no plan can beat. No text, no clock, no randomness: the same input gives the same advice.
//!
//! Invariants: nothing is offered beyond the competence and instruments of the person present; nothing that needs a work
//! state without the steps into it; nothing answered since the last fix is asked again; the value of an advice is that of
//! a plan that can be carried out, so bound ≤ expected minutes ≤ handing over at once.

mod acts;
pub mod advice;
mod allowed;
mod advise;
mod base_plan;
mod begun;
mod belief;
mod candidates;
mod compose;
mod crew;
mod cuts;
pub mod closed_loop;
pub mod decision_graph;
pub mod effort;
mod hands;
pub mod lookahead;
pub mod optimum;
mod one_at_a_time;
mod order;
pub mod outlook;
pub mod policy;
mod prepared;
pub mod problem;
mod related;
mod remaining;
pub mod situation;
mod screen;
mod sequence;
mod standing;
pub mod travel;
mod why;

pub use advice::{Advice, Branch, Sent, Step, Way, Why, Withheld};
pub use advise::{PlanError, advise, advise_from};
pub use base_plan::Act;
pub use decision_graph::DecisionGraph;
pub use effort::{Budget, Effort};
pub use situation::Situation;
