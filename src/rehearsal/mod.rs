//! Rehearsals: simulated sites with a hidden truth, and calls played against them.
//!
//! In: a model, the causes that are there, who is on the phone, a seed. Out: what a site says ([`Site`]), what came of a call
//! ([`Played`]), and of many ([`trials`]). The truth is told by the model's own story, all draws made once, so that a site
//! answers any test, takes complaints again after fixes, and never contradicts itself. No I/O, no clock; the same seed gives
//! the same calls, whatever the number of threads.

mod caller;
pub mod chance;
mod fast;
mod known;
mod played;
mod readings;
mod safety;
pub mod scenario;
mod scripted;
mod site;
mod tally;
pub mod trials;
mod truth;
mod whereabouts;

pub use caller::Caller;
pub use fast::Player;
pub use played::{Ending, Fate, Move, Played, can_remove, first_ranked};
pub use readings::readings;
pub use safety::{Breach, breaches};
pub use scenario::Scenario;
pub use scripted::{Miss, Rehearsed, Turn, rehearse};
pub use site::{Site, Told};
pub use tally::Tally;
pub use truth::{Story, Truth};
