//! The commands: clap on one side, the library on the other.
//!
//! In: the arguments. Out: text on the two streams and an [`ExitStatus`]. Invariant: nothing is decided here; what a
//! command does, the library can do.

mod exit_status;

pub use exit_status::ExitStatus;

use clap::Parser as _;

/// Find out why a control panel will not do its job, and what to do next
#[derive(clap::Parser, Debug)]
#[command(name = "whytrip", version)]
struct Arguments {}

/// Runs the program with these arguments (the first is its name).
#[must_use]
pub fn run(arguments: impl IntoIterator<Item = std::ffi::OsString>) -> ExitStatus {
    match Arguments::try_parse_from(arguments) {
        Ok(Arguments {}) => ExitStatus::Done,
        Err(error) => {
            // A reader that went away is no reason to complain.
            let _ = error.print();
            if error.exit_code() == 0 { ExitStatus::Done } else { ExitStatus::Unable }
        }
    }
}
