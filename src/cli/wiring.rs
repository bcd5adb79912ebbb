//! `wiring`: the check sheet of the field wiring.

use std::path::PathBuf;

use clap::Args;

use super::ExitStatus;
use super::failure::Failure;
use super::open::{self, KnowledgeAt, SheetFile};
use super::record::Form;
use super::streams::Streams;
use crate::export::{check_sheet_json, check_sheet_markdown};
use crate::knowledge::Stage;
use crate::render::view;
use crate::session::check_sheet::check_sheet;

/// Print the check sheet of the field wiring, by enclosure
///
/// Every connection that is made on site, once: from, to, conductor, polarity, what a meter is expected to show, a box to
/// tick; before them the cautions and what has to be confirmed first. What is found is entered in `whytrip power-up`, by the
/// numbers of this sheet. A wire list with errors is not printed: `whytrip check` lists them.
#[derive(Args, Debug)]
pub(super) struct Wiring {
    /// The job sheet; without it, the built-in invented job
    #[arg(long, value_name = "FILE")]
    job: Option<PathBuf>,

    #[command(flatten)]
    knowledge: KnowledgeAt,

    #[command(flatten)]
    form: Form,
}

impl Wiring {
    pub(super) fn run(self, streams: &Streams) -> Result<ExitStatus, Failure> {
        let file = self.job.as_deref().map_or_else(|| Ok(SheetFile::demo()), SheetFile::at)?;
        let (knowledge, (job, sources)) = open::with_sheet(&self.knowledge, file, streams)?;
        open::sound_wires(&knowledge, &job, &sources, streams)?;
        let model = open::compile(&knowledge, Some(&job), Stage::StartUp, &sources, streams)?;
        let sheet = check_sheet(&model).ok_or_else(|| {
            Failure::new("there is nothing to check: no wire of this sheet is made on site")
                .hint("list them under `wires`; `knowledge/FORMAT.md` says how")
        })?;
        let about = [("Job", job.id.clone()), ("Site", job.site.clone())];
        self.form.write(
            streams,
            |page| view::check_sheet(page, &about, &sheet),
            || check_sheet_markdown(&about, &sheet),
            || check_sheet_json(&job.id, &job.site, &sheet),
        )?;
        Ok(ExitStatus::Done)
    }
}
