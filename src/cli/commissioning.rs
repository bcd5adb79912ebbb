//! `record`: the commissioning record of a first power-up.

use clap::Args;

use super::failure::Failure;
use super::options::Options;
use super::record::OfCase;
use super::streams::Streams;
use super::{ExitStatus, clock};
use crate::export::{record_json, record_markdown};
use crate::render::view;

/// Print the commissioning record of a first power-up
///
/// Who, when, every step with its readings and limits, what deviated, temporary measures open and closed, and who signs.
/// Exit status 1: it is not complete.
#[derive(Args, Debug)]
pub(super) struct Commissioning {
    #[command(flatten)]
    of: OfCase,
}

impl Commissioning {
    pub(super) fn run(self, options: &Options, streams: &Streams) -> Result<ExitStatus, Failure> {
        let taken_up = self.of.take_up(options, streams)?;
        let record = taken_up.session.record().ok_or_else(|| {
            Failure::new(format!("case {} is no power-up", taken_up.case))
                .hint("`whytrip note` prints its note")
        })?;
        let zone = clock::zone();
        self.of.form.write(
            streams,
            |page| view::record(page, &record, &zone),
            || record_markdown(&record, &zone),
            || record_json(&record),
        )?;
        Ok(if record.complete { ExitStatus::Done } else { ExitStatus::No })
    }
}
