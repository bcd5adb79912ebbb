//! `completions`: a script by which a shell completes the commands.

use clap::Args;

use super::ExitStatus;
use super::failure::Failure;
use super::streams::Streams;

/// Print a script that makes a shell complete commands and options
///
/// For example, in bash: `source <(whytrip completions bash)`.
#[derive(Args, Debug)]
pub(super) struct Completions {
    /// The shell
    #[arg(value_name = "SHELL")]
    shell: clap_complete::Shell,
}

impl Completions {
    pub(super) fn run(self, streams: &Streams) -> Result<ExitStatus, Failure> {
        let mut script = Vec::new();
        clap_complete::generate(self.shell, &mut super::program(), "whytrip", &mut script);
        streams.result(&String::from_utf8_lossy(&script))?;
        Ok(ExitStatus::Done)
    }
}
