//! What `note`, `slip` and `record` have in common: the case, the form of what is printed of it and where it goes.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use serde_json::Value;

use super::cases::{self, TakenUp};
use super::failure::Failure;
use super::open::{self, KnowledgeAt};
use super::options::Options;
use super::streams::Streams;
use crate::render::{Look, Page};
use crate::store::{Existing, write_export};

/// The form of a record and where it goes.
#[derive(Args, Debug)]
pub(super) struct Form {
    /// The form
    #[arg(long, value_name = "FORM", default_value = "text")]
    format: Format,

    /// Write JSON: the same as `--format json`
    #[arg(long, conflicts_with = "format")]
    json: bool,

    /// Write to a file, whole or not at all; a file that is there is left as it is
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,

    /// Overwrite the file
    #[arg(long, requires = "output")]
    force: bool,
}

/// A case that is kept, and the form in which a record of it is printed.
#[derive(Args, Debug)]
pub(super) struct OfCase {
    /// The id of the case, or the beginning of it; without it, the case used last
    #[arg(value_name = "ID")]
    id: Option<String>,

    #[command(flatten)]
    knowledge: KnowledgeAt,

    #[command(flatten)]
    pub(super) form: Form,
}

impl OfCase {
    /// Replays the case.
    pub(super) fn take_up(&self, options: &Options, streams: &Streams) -> Result<TakenUp, Failure> {
        let (_, store) = cases::store(options)?;
        cases::take_up(&store, self.id.as_deref(), &self.knowledge, streams)
    }
}

/// A form of a record.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
enum Format {
    /// Text for people
    Text,
    /// Markdown
    Markdown,
    /// JSON
    Json,
}

impl Form {
    /// Writes the record in its form.
    pub(super) fn write(
        &self,
        streams: &Streams,
        text: impl FnOnce(&mut Page),
        markdown: impl FnOnce() -> String,
        json: impl FnOnce() -> Value,
    ) -> Result<(), Failure> {
        let record = match if self.json { Format::Json } else { self.format } {
            Format::Text => {
                let look = if self.output.is_some() {
                    Look { width: streams.out.width, ..Look::TEXT }
                } else {
                    streams.out
                };
                let mut page = Page::new(look);
                text(&mut page);
                page.finish()
            }
            Format::Markdown => markdown(),
            Format::Json => open::json_text(&json())?,
        };
        match &self.output {
            None => Ok(streams.result(&record)?),
            Some(path) => {
                let existing = if self.force { Existing::Replace } else { Existing::Keep };
                write_export(path, record.as_bytes(), existing).map_err(|error| {
                    Failure::because("the record was not written", &error).hint("`--force` overwrites")
                })?;
                streams.talk(&format!("{} written\n", crate::export::clean(&path.display().to_string())));
                Ok(())
            }
        }
    }
}
