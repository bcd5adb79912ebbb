//! `note`: the call note of a case.

use clap::Args;

use super::failure::Failure;
use super::options::Options;
use super::record::OfCase;
use super::streams::Streams;
use super::{ExitStatus, clock};
use crate::export::{note_json, note_markdown};
use crate::render::view;

/// Print the call note of a case
///
/// Who was present, what was said, found, done and proven, what it probably is, and what is open: a note that a
/// stranger can use.
#[derive(Args, Debug)]
pub(super) struct Note {
    #[command(flatten)]
    of: OfCase,
}

impl Note {
    pub(super) fn run(self, options: &Options, streams: &Streams) -> Result<ExitStatus, Failure> {
        let note = self.of.take_up(options, streams)?.session.note();
        let zone = clock::zone();
        self.of.form.write(
            streams,
            |page| view::note(page, &note, &zone),
            || note_markdown(&note, &zone),
            || note_json(&note),
        )?;
        Ok(ExitStatus::Done)
    }
}
