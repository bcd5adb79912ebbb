//! One piece of troubleshooting as a pure state machine.

pub mod hear;
