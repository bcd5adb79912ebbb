//! `check`: all problems of packages and job sheets.

use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::{Value, json};

use super::ExitStatus;
use super::failure::{Failure, quoted};
use super::open::{self, KnowledgeAt, SheetFile};
use super::streams::Streams;
use crate::diagnostic::{Diagnostic, Label, Short};
use crate::knowledge::Stage;
use crate::knowledge::ambiguity::{AmbiguityGroup, ambiguity_groups};
use crate::model::compile::compile;
use crate::render::{Page, Role, problem};
use crate::source::{Sources, Span};

/// Check packages and job sheets: all problems in one run
///
/// A folder is checked as a package with all that it uses; a file beside a `package.yaml` stands for its package; any
/// other file is a job sheet, checked against the package of `--knowledge`, else the one that it names. Each problem says what, where, why and what
/// to do; `whytrip meaning CODE` says more. Warnings never stop anything.
///
/// Exit status: 0 without errors, 1 with errors, 2 where something could not be read at all.
#[derive(Args, Debug)]
pub(super) struct Check {
    /// Folders of packages, and job sheets
    #[arg(value_name = "DIR|FILE", required = true)]
    paths: Vec<PathBuf>,

    #[command(flatten)]
    knowledge: KnowledgeAt,

    /// One problem a line, for editors: `file:line:column: severity[code]: message`
    #[arg(long, conflicts_with = "json")]
    short: bool,

    /// Write JSON
    #[arg(long)]
    json: bool,
}

/// What was found in one package or sheet.
struct Found {
    problems: Vec<Diagnostic>,
    sources: Sources,
    groups: Vec<AmbiguityGroup>,
}

impl Check {
    pub(super) fn run(self, streams: &Streams) -> Result<ExitStatus, Failure> {
        let mut found = vec![];
        for path in &self.paths {
            found.push(self.one(path, streams)?);
        }
        let all = || found.iter().flat_map(|found| &found.problems);
        let errors = all().filter(|problem| problem.is_error()).count();
        let warnings = all().count() - errors;
        if self.json {
            let rows: Vec<Value> = found
                .iter()
                .flat_map(|f| f.problems.iter().map(|problem| row(problem, &f.sources)))
                .collect();
            let groups: Vec<Value> = (found.iter().flat_map(|found| &found.groups))
                .map(|group| json!({"causes": group.causes, "reason": group.reason}))
                .collect();
            let answer = json!({"format": 1, "errors": errors, "warnings": warnings, "problems": rows, "ambiguity_groups": groups});
            open::write_json(streams, &answer)?;
        } else {
            let mut text = String::new();
            for Found { problems, sources, .. } in &found {
                for one in problems {
                    if self.short {
                        let line = Short { problem: one, sources }.to_string();
                        text += &format!("{}\n", crate::export::clean(&line.replace('\n', " ")));
                    } else {
                        text += &problem(one, sources, streams.out);
                    }
                }
            }
            streams.result(&text)?;
            let groups: Vec<&AmbiguityGroup> = found.iter().flat_map(|found| &found.groups).collect();
            if !self.short && !groups.is_empty() {
                let mut page = Page::new(streams.out);
                page.line("Causes that no test tells apart:");
                for group in groups {
                    let reason = group.reason.as_deref().unwrap_or("no reason is given");
                    page.under(&format!("{}: {reason}", group.causes.join(", ")));
                }
                streams.result(&page.finish())?;
            }
            let mut page = Page::new(streams.err);
            let role = if errors > 0 { Role::Danger } else { Role::Good };
            page.said(role, &format!("{}, {}", counted(errors, "error"), counted(warnings, "warning")));
            streams.talk(&page.finish());
        }
        Ok(if errors > 0 { ExitStatus::No } else { ExitStatus::Done })
    }

    /// The problems of one package or sheet.
    fn one(&self, path: &Path, streams: &Streams) -> Result<Found, Failure> {
        let kind = std::fs::metadata(path)
            .map_err(|error| Failure::because(format!("cannot read {}", quoted(path.display())), &error))?;
        let folder = if kind.is_dir() {
            Some(path.to_owned())
        } else {
            path.parent()
                .map(|parent| if parent.as_os_str().is_empty() { Path::new(".") } else { parent })
                .and_then(|parent| parent.join("package.yaml").is_file().then(|| parent.to_owned()))
        };
        match folder {
            Some(folder) => {
                let loaded = open::load_folder(&folder)?;
                let mut problems = loaded.diagnostics;
                let mut groups = Vec::new();
                if let Some(knowledge) = &loaded.knowledge {
                    groups = ambiguity_groups(knowledge);
                    problems.extend(crate::knowledge::ambiguity::check(knowledge));
                    for stage in [Stage::StartUp, Stage::InService, Stage::AfterWork] {
                        let more = compile(knowledge, None, stage).err().unwrap_or_default();
                        problems.extend(
                            more.into_iter().filter(|one| !problems.contains(one)).collect::<Vec<_>>(),
                        );
                    }
                }
                Ok(Found { problems, sources: loaded.sources, groups })
            }
            None => {
                let sheet = SheetFile::at(path)?;
                let opened = open::knowledge_for(&self.knowledge, &sheet, streams)?;
                let mut sources = opened.sources.clone();
                let (name, bytes) = sheet.parts();
                let (job, mut problems) = crate::job::read(&opened, &mut sources, &name, bytes);
                if let Some(job) = job.filter(|_| !problems.iter().any(Diagnostic::is_error)) {
                    problems.extend(crate::wiring::check(&opened, &job));
                    let stage = open::stage(None, Some(&job));
                    problems.extend(compile(&opened, Some(&job), stage).err().unwrap_or_default());
                }
                Ok(Found { problems, sources, groups: Vec::new() })
            }
        }
    }
}

/// `1 error`, `2 errors`.
fn counted(number: usize, noun: &str) -> String {
    format!("{number} {noun}{}", if number == 1 { "" } else { "s" })
}

/// A problem as JSON; lines and columns count from 1, columns in characters, spans in bytes.
fn row(problem: &Diagnostic, sources: &Sources) -> Value {
    let place = |span: Span| {
        sources.get(span.file).map(|file| {
            let (from, to) = (file.line_column(span.start), file.line_column(span.end));
            json!({
                "file": file.name(),
                "line": from.line,
                "column": from.column,
                "end_line": to.line,
                "end_column": to.column,
                "start": span.start,
                "end": span.end,
            })
        })
    };
    let label = |label: &Label| json!({"at": place(label.span), "text": label.text});
    json!({
        "code": problem.code.slug(),
        "severity": problem.severity.word(),
        "message": problem.message,
        "at": problem.primary.as_ref().map(|primary| place(primary.span)),
        "label": problem.primary.as_ref().map(|primary| primary.text.clone()),
        "see_also": problem.secondary.iter().map(label).collect::<Vec<_>>(),
        "notes": problem.notes,
        "help": problem.help,
        "suggestions": problem.suggestions,
    })
}
