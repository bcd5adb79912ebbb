//! `slip`: the hand-over slip of a case.

use clap::Args;

use super::ExitStatus;
use super::failure::Failure;
use super::options::Options;
use super::record::OfCase;
use super::streams::Streams;
use crate::export::{slip_json, slip_markdown};
use crate::render::{Role, view};

/// Print the hand-over slip of a case
///
/// Whom to send, with which instruments and parts, for what, what has been found, and what must not be done meanwhile.
#[derive(Args, Debug)]
pub(super) struct Slip {
    #[command(flatten)]
    of: OfCase,
}

impl Slip {
    pub(super) fn run(self, options: &Options, streams: &Streams) -> Result<ExitStatus, Failure> {
        let slip = self.of.take_up(options, streams)?.session.slip();
        self.of.form.write(
            streams,
            |page| {
                for line in &slip.notice {
                    page.labelled(Role::Notice, "NOTICE", line);
                }
                page.heading("Hand-over slip");
                view::slip(page, &slip);
            },
            || slip_markdown(&slip),
            || slip_json(&slip),
        )?;
        Ok(ExitStatus::Done)
    }
}
