//! `slip`: the hand-over slip of a case.

use clap::Args;

use super::failure::Failure;
use super::open::KnowledgeAt;
use super::options::Options;
use super::record::Form;
use super::streams::Streams;
use super::{ExitStatus, cases};
use crate::export::{slip_json, slip_markdown};
use crate::render::{Role, view};

/// Print the hand-over slip of a case
///
/// Whom to send, with which instruments and parts, for what, what has been found, and what must not be done meanwhile.
#[derive(Args, Debug)]
pub(super) struct Slip {
    /// The id of the case, or the beginning of it; without it, the case used last
    #[arg(value_name = "ID")]
    id: Option<String>,

    #[command(flatten)]
    knowledge: KnowledgeAt,

    #[command(flatten)]
    form: Form,
}

impl Slip {
    pub(super) fn run(self, options: &Options, streams: &Streams) -> Result<ExitStatus, Failure> {
        let (_, store) = cases::store(options)?;
        let slip = cases::take_up(&store, self.id.as_deref(), &self.knowledge, streams)?.session.slip();
        self.form.write(
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
