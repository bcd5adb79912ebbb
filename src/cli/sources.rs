//! `sources`: what a package rests on.

use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use super::ExitStatus;
use super::failure::Failure;
use super::open::{self, KnowledgeAt};
use super::streams::Streams;
use crate::knowledge::bibliography::{Bibliography, Entry, Sourced};
use crate::quantity::function::all;
use crate::render::{Page, view};

/// Print the bibliography of a package and of all that it uses
///
/// Every source with how it was seen and what cites it; then what is common practice, what is judgement, what names no
/// source at all, and the sources of the trade's arithmetic.
#[derive(Args, Debug)]
pub(super) struct Sources {
    /// The folder of a package; without it, the built-in package
    #[arg(value_name = "DIR")]
    dir: Option<PathBuf>,

    /// Write JSON
    #[arg(long)]
    json: bool,
}

impl Sources {
    pub(super) fn run(self, streams: &Streams) -> Result<ExitStatus, Failure> {
        let knowledge = open::knowledge(&KnowledgeAt { dir: self.dir }, streams)?;
        let bibliography = knowledge.bibliography();
        if self.json {
            open::write_json(streams, &answer(&bibliography))?;
        } else {
            let mut page = Page::new(streams.out);
            view::bibliography(&mut page, &bibliography);
            streams.result(&page.finish())?;
        }
        Ok(ExitStatus::Done)
    }
}

fn item(item: &Sourced<'_>) -> Value {
    json!({"kind": item.kind.word(), "id": item.path()})
}

fn source(entry: &Entry<'_>) -> Value {
    let source = entry.source;
    let cited = |(by, place): &(Sourced<'_>, Option<&str>)| json!({"kind": by.kind.word(), "id": by.path(), "where": place});
    json!({
        "package": entry.package,
        "key": source.key.value,
        "title": source.title,
        "author": source.author,
        "publisher": source.publisher,
        "year": source.year,
        "edition": source.edition,
        "where": source.place,
        "url": source.url,
        "seen": source.seen.map(crate::knowledge::Seen::word),
        "note": source.note,
        "supports": source.supports.iter().map(|text| text.value.clone()).collect::<Vec<_>>(),
        "cited_by": entry.cited_by.iter().map(cited).collect::<Vec<_>>(),
    })
}

fn answer(bibliography: &Bibliography<'_>) -> Value {
    let items = |list: &[Sourced<'_>]| list.iter().map(item).collect::<Vec<_>>();
    json!({
        "format": 1,
        "sources": bibliography.sources.iter().map(source).collect::<Vec<_>>(),
        "common_practice": items(&bibliography.common_practice),
        "judgement": items(&bibliography.judgement),
        "unsourced": items(&bibliography.unsourced),
        "arithmetic": all().map(|f| json!({"name": f.name, "source": f.source})).collect::<Vec<_>>(),
    })
}
