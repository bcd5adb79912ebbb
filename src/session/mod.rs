//! A session: one piece of troubleshooting as a pure state machine over append-only events.
//!
//! In: events (what a person said or did, understood; `hear` makes them from a typed line) and a model. Out: what to show
//! next ([`View`]), the ranking with its reasons, the call note, the hand-over slip. No I/O and no clock; the same
//! events over the same package give the same state ([`Session::replay`]).

pub mod check_sheet;
pub mod dialogue;
pub mod event;
pub mod hear;
pub mod machine;
pub mod note;
pub mod power_up;
pub mod prompt;
pub mod ranking;
pub mod reply;
pub mod slip;
pub mod source;
mod belief;
mod chart;
mod effects;
mod evidence;
mod flow;
mod handing_over;
mod insight;
mod left_open;
mod log;
mod note_taking;
mod otherwise;
mod packaged;
mod people;
mod rank;
mod readings;
mod records;
mod refusal;
mod state;
mod state_machine;
mod steps;
mod wires;
mod work;
pub mod why;

pub(crate) use crate::model::trust;

pub use chart::Ahead;
pub use event::{Answer, Closing, Event, EventNo, LeftId, What, Who, WireFound};
pub use note::Note;
pub use otherwise::Otherwise;
pub use packaged::Packaged;
pub use prompt::{Prompt, View};
pub use ranking::{Certainty, Factor, Ranked, Ranking};
pub use reply::{Effect, Refused, Reply};
pub use slip::Slip;
pub use source::{Mentioned, ModelSource};
pub use state_machine::{LEAST_LEAK, Session};
pub(crate) use steps::{cautions, instruments};
pub use why::WhyNow;
