//! `note`: the call note of a case.

use clap::Args;

use super::failure::Failure;
use super::open::KnowledgeAt;
use super::options::Options;
use super::record::Form;
use super::streams::Streams;
use super::{ExitStatus, cases, clock};
use crate::export::{note_json, note_markdown};
use crate::render::view;

/// Print the call note of a case
///
/// Who was present, what was said, found, done and proven, what it probably is, and what is open: a note that a
/// stranger can use.
#[derive(Args, Debug)]
pub(super) struct Note {
    /// The id of the case, or the beginning of it; without it, the case used last
    #[arg(value_name = "ID")]
    id: Option<String>,

    #[command(flatten)]
    knowledge: KnowledgeAt,

    #[command(flatten)]
    form: Form,
}

impl Note {
    pub(super) fn run(self, options: &Options, streams: &Streams) -> Result<ExitStatus, Failure> {
        let (_, store) = cases::store(options)?;
        let note = cases::take_up(&store, self.id.as_deref(), &self.knowledge, streams)?.session.note();
        let zone = clock::zone();
        self.form.write(
            streams,
            |page| view::note(page, &note, &zone),
            || note_markdown(&note, &zone),
            || note_json(&note),
        )?;
        Ok(ExitStatus::Done)
    }
}
