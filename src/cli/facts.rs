//! The facts that `rank` and `outlook` start from: knowledge, job sheet, stage and statements in, a model with what is
//! stated of it out.

use std::path::PathBuf;

use clap::Args;

use super::failure::Failure;
use super::open::{self, KnowledgeAt, SheetFile, StageNamed};
use super::streams::Streams;
use crate::model::Model;
use crate::session::machine::{Stated, statements};
use crate::source::{SourceFile, Sources};

/// What is known, and of which job.
#[derive(Args, Debug)]
pub(super) struct Facts {
    #[command(flatten)]
    knowledge: KnowledgeAt,

    /// The job sheet; without one, only components that every job has once
    #[arg(long, value_name = "FILE")]
    job: Option<PathBuf>,

    /// The stage; else the job sheet's, else in-service
    #[arg(long, value_name = "STAGE")]
    stage: Option<StageNamed>,

    /// A statement; can be repeated
    #[arg(long = "set", value_name = "STATEMENT")]
    set: Vec<String>,

    /// A file of statements, one a line; `-` is the standard input
    #[arg(long, value_name = "FILE")]
    evidence: Option<PathBuf>,
}

impl Facts {
    /// The model of the job, and what is stated of it.
    pub(super) fn read(&self, streams: &Streams) -> Result<(Model, Stated), Failure> {
        let sheet = self.job.as_deref().map(SheetFile::at).transpose()?;
        let (opened, read) = open::opened(&self.knowledge, sheet, streams)?;
        let (job, mut sources) = match read {
            Some((job, sources)) => (Some(job), sources),
            None => (None, opened.sources.clone()),
        };
        let stage = open::stage(self.stage, job.as_ref());
        let model = open::compile(&opened, job.as_ref(), stage, &sources, streams)?;
        let stated = self.stated(&model, &mut sources, streams)?;
        Ok((model, stated))
    }

    /// The statements of the options and of the file.
    fn stated(&self, model: &Model, sources: &mut Sources, streams: &Streams) -> Result<Stated, Failure> {
        let mut files = vec![];
        for set in &self.set {
            files.push(sources.add(SourceFile::new("--set", set.replace(['\n', '\r'], " "))));
        }
        if let Some(path) = &self.evidence {
            let text = open::text(path)?;
            files.push(sources.add(SourceFile::new(path.display().to_string(), text)));
        }
        statements(model, sources, &files).map_err(|problems| {
            streams.talk(&open::problems(&problems, sources, streams.err));
            Failure::new("the evidence cannot be read")
        })
    }
}
