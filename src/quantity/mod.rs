//! Numbers of the trade: units of measure, readings as a person types them, and expressions over them.
//!
//! In: text (a nameplate value, an answer to a question, an expression of a package). Out: finite `f64` numbers in a
//! stated unit of measure, or a typed reason why not. Invariants: no number that leaves this room is NaN or infinite;
//! nothing is guessed, what could mean two things is refused with both meanings.

pub mod expression;
pub mod function;
pub mod measure;
pub mod reading;
pub mod reckon;

pub use expression::{Evaluated, Expression, ExpressionError, Kind, Value, Vocabulary};
pub use measure::{Measure, Quantity};
pub use reading::{Misread, Wanted, entry, readings};
