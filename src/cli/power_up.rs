//! `power-up`: a first power-up, step by step.

use clap::Args;

use super::ExitStatus;
use super::attend::Attend;
use super::failure::Failure;
use super::options::Options;
use super::streams::Streams;

/// Power up a panel for the first time, one step after the other
///
/// The steps come from the package and the job sheet, in the order of the law: off, locked, waited for, proven dead,
/// checked, then one supply after the other. Nothing is energised before each of its gates is confirmed by somebody of the
/// right competence. A step that stops opens the search for its cause; the step itself proves the cure. Every answer is
/// saved; `--resume` goes on, and asks again whatever must hold.
#[derive(Args, Debug)]
pub(super) struct PowerUp {
    #[command(flatten)]
    attend: Attend,
}

impl PowerUp {
    pub(super) fn run(self, options: &Options, streams: &Streams) -> Result<ExitStatus, Failure> {
        self.attend.power_up(options, streams)
    }
}
