//! The dialogue: a person's lines in, events into the session, and what to show, as data.
//!
//! In: a typed line, the time, and what the session waits for. Out: a [`Turn`]: the events that were taken (already
//! applied; whoever keeps the case stores them before the next prompt), what there is to say about them, and whether the
//! question stands. Between a line and the session stands [`hear`](super::hear); here its meanings become events, doubts
//! become questions, and the standing words (why, ranking, undo …) become views. No I/O, no clock, no text of the trade.

mod said;

pub use said::{AnswerLine, Said, Turn};
