//! What commands have in common: packages, job sheets, stages, files, JSON.

use std::io::Read as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::{Args, ValueEnum};
use serde_json::Value;

use super::failure::{Failure, quoted};
use super::streams::Streams;
use crate::diagnostic::Diagnostic;
use crate::job::Job;
use crate::knowledge::{Knowledge, Loaded, Options, Stage, embedded, load, load_embedded};
use crate::model::Model;
use crate::model::compile::compile as compile_model;
use crate::planner::Effort;
use crate::render::{Look, Page, Role, problem};
use crate::source::Sources;
use crate::store::Folders;

/// The embedded package that is used where none is named.
pub(super) const PACKAGE: &str = "kitchen-ventilation";
/// The embedded folder of invented job sheets, and the one that is used where none is named.
const DEMO: (&str, &str) = ("demo", "tin-whistle.yaml");
/// The largest file that is read into memory, in bytes; one more is read to know that it is larger.
const LARGEST: u64 = 64 << 20;

/// Where the knowledge is.
#[derive(Args, Clone, Debug, Default)]
pub(super) struct KnowledgeAt {
    /// The folder of a package, or the name of a built-in one; without it, the one that the job sheet names
    #[arg(long = "knowledge", value_name = "DIR", env = "WHYTRIP_KNOWLEDGE", hide_env_values = true)]
    pub(super) dir: Option<PathBuf>,
}

/// A stage, as it is typed.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum StageNamed {
    /// The first energising and what follows it
    StartUp,
    /// Ordinary use
    InService,
    /// After somebody worked on it
    AfterWork,
}

impl From<StageNamed> for Stage {
    fn from(named: StageNamed) -> Self {
        match named {
            StageNamed::StartUp => Self::StartUp,
            StageNamed::InService => Self::InService,
            StageNamed::AfterWork => Self::AfterWork,
        }
    }
}

/// How hard to think, as it is typed.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum EffortNamed {
    /// One step ahead over few samples, without reasons
    Quick,
    /// One step ahead
    First,
    /// Two steps ahead, and a policy carried out behind them
    NearOptimal,
}

impl From<EffortNamed> for Effort {
    fn from(named: EffortNamed) -> Self {
        match named {
            EffortNamed::Quick => Self::Quick,
            EffortNamed::First => Self::First,
            EffortNamed::NearOptimal => Self::NearOptimal,
        }
    }
}

/// The stage asked for, else that of the job sheet, else in-service.
pub(super) fn stage(asked: Option<StageNamed>, job: Option<&Job>) -> Stage {
    asked.map(Stage::from).or_else(|| job.and_then(|job| job.stage)).unwrap_or(Stage::InService)
}

/// Loads the package in that folder, problems and all.
pub(super) fn load_folder(dir: &Path) -> Result<Loaded, Failure> {
    let (folders, package) = Folders::beside(dir)
        .map_err(|error| Failure::because(format!("cannot read {}", quoted(dir.display())), &error))?;
    Ok(load(&folders, &package, &Options::default()))
}

/// The id of the package that was asked for.
pub(super) fn package(knowledge: &Knowledge) -> String {
    knowledge.packages.last().map(|package| package.id.value.clone()).unwrap_or_default()
}

/// A job sheet, not read yet: the name under which it is shown, and its bytes.
#[derive(Clone)]
pub(super) struct SheetFile {
    name: String,
    bytes: Vec<u8>,
}

impl SheetFile {
    /// That file; where there is none, the built-in invented sheet of that name.
    pub(super) fn at(path: &Path) -> Result<Self, Failure> {
        let name = path.display().to_string();
        if path.as_os_str() != "-" && !path.exists() {
            let named = [name.clone(), format!("{name}.yaml")];
            if let Some(sheet) = named.iter().find_map(|name| Self::built_in(name)) {
                return Ok(sheet);
            }
        }
        Ok(Self { name, bytes: bytes(path)? })
    }

    /// The built-in invented sheet of that name.
    pub(super) fn built_in(name: &str) -> Option<Self> {
        let text = embedded::text(DEMO.0, name)?;
        Some(Self { name: format!("{}/{name}", DEMO.0), bytes: text.as_bytes().to_vec() })
    }

    /// The one that is used where none is named.
    pub(super) fn demo() -> Self {
        Self::built_in(DEMO.1).unwrap_or_else(|| Self { name: DEMO.1.to_owned(), bytes: vec![] })
    }

    /// Name and bytes.
    pub(super) fn parts(self) -> (String, Vec<u8>) {
        (self.name, self.bytes)
    }
}

/// The knowledge, without errors; warnings are not mentioned.
pub(super) fn knowledge(at: &KnowledgeAt, streams: &Streams) -> Result<Arc<Knowledge>, Failure> {
    knowledge_named(at, PACKAGE, streams)
}

/// The knowledge for a sheet: what was asked for, else the package that the sheet names.
pub(super) fn knowledge_for(
    at: &KnowledgeAt,
    sheet: &SheetFile,
    streams: &Streams,
) -> Result<Arc<Knowledge>, Failure> {
    let named = crate::job::package_of(&sheet.bytes);
    // Another name is told when the sheet is read, with its place.
    let known = named.filter(|name| embedded::packages().any(|package| package == name));
    knowledge_named(at, known.as_deref().unwrap_or(PACKAGE), streams)
}

/// Knowledge, with what was read for it.
type Opened<T> = Result<(Arc<Knowledge>, T), Failure>;

/// The knowledge for a sheet that may be missing, and the sheet.
pub(super) fn opened(
    at: &KnowledgeAt,
    sheet: Option<SheetFile>,
    streams: &Streams,
) -> Opened<Option<(Job, Sources)>> {
    let Some(sheet) = sheet else { return Ok((knowledge(at, streams)?, None)) };
    let (knowledge, read) = with_sheet(at, sheet, streams)?;
    Ok((knowledge, Some(read)))
}

/// The knowledge for a sheet, and the sheet.
pub(super) fn with_sheet(at: &KnowledgeAt, sheet: SheetFile, streams: &Streams) -> Opened<(Job, Sources)> {
    let knowledge = knowledge_for(at, &sheet, streams)?;
    let read = read_sheet(sheet, &knowledge, streams)?;
    Ok((knowledge, read))
}

/// What was asked for, a folder or the name of a built-in package, else `package`, which is built in.
pub(super) fn knowledge_named(
    at: &KnowledgeAt,
    package: &str,
    streams: &Streams,
) -> Result<Arc<Knowledge>, Failure> {
    let loaded = match &at.dir {
        Some(dir) => match embedded::packages().find(|name| dir.as_os_str() == *name && !dir.exists()) {
            Some(built_in) => load_embedded(built_in),
            None => load_folder(dir)?,
        },
        None => load_embedded(package),
    };
    let Loaded { knowledge, diagnostics, sources } = loaded;
    knowledge.map(Arc::new).ok_or_else(|| {
        let errors: Vec<Diagnostic> = diagnostics.into_iter().filter(Diagnostic::is_error).collect();
        streams.talk(&problems(&errors, &sources, streams.err));
        Failure::new("the knowledge has errors and cannot be used")
            .hint("`whytrip check DIR` lists all problems")
    })
}

/// All built-in invented jobs of the package, in the order of their names.
pub(super) fn demo_jobs(knowledge: &Knowledge, streams: &Streams) -> Result<Vec<(Job, Sources)>, Failure> {
    let names = embedded::files_of(DEMO.0).unwrap_or_default();
    let sheets = names.iter().filter_map(|name| SheetFile::built_in(name));
    // A package of a firm's own may stand on a built-in one whose sheets it can use.
    let fits = |sheet: &SheetFile| {
        let named = crate::job::package_of(&sheet.bytes).unwrap_or_else(|| PACKAGE.to_owned());
        knowledge.packages.iter().any(|package| package.id.value == named)
    };
    sheets.filter(fits).map(|sheet| read_sheet(sheet, knowledge, streams)).collect()
}

/// A job sheet without errors, and the files that spans speak of from now on.
fn read_sheet(sheet: SheetFile, knowledge: &Knowledge, streams: &Streams) -> Result<(Job, Sources), Failure> {
    let (name, bytes) = sheet.parts();
    let mut sources = knowledge.sources.clone();
    let (job, diagnostics) = crate::job::read(knowledge, &mut sources, &name, bytes);
    let errors: Vec<Diagnostic> = diagnostics.into_iter().filter(Diagnostic::is_error).collect();
    match job.filter(|_| errors.is_empty()) {
        Some(job) => Ok((job, sources)),
        None => {
            streams.talk(&problems(&errors, &sources, streams.err));
            Err(Failure::new(format!("the job sheet {} cannot be used", quoted(&name))))
        }
    }
}

/// Says in a line that the wire list of a job has mistakes.
pub(super) fn mention_wires(knowledge: &Knowledge, job: &Job, streams: &Streams) {
    let errors = crate::wiring::check(knowledge, job).iter().filter(|problem| problem.is_error()).count();
    if errors > 0 {
        let noun = if errors == 1 { "mistake" } else { "mistakes" };
        let mut page = Page::new(streams.err);
        page.said(
            Role::Warning,
            &format!("The wire list of this sheet has {errors} {noun}: `whytrip check FILE` lists them."),
        );
        streams.talk(&page.finish());
    }
}

/// Whether the wire list of a job is without mistakes that stop the work; what is only poor is told and stops nothing.
pub(super) fn sound_wires(
    knowledge: &Knowledge,
    job: &Job,
    sources: &Sources,
    streams: &Streams,
) -> Result<(), Failure> {
    let found = crate::wiring::check(knowledge, job);
    if !found.is_empty() {
        streams.talk(&problems(&found, sources, streams.err));
    }
    if found.iter().any(Diagnostic::is_error) {
        return Err(Failure::new("the wire list has mistakes; nobody should touch a wire by it").hint(
            "correct the list: `whytrip check FILE` lists all of them, `whytrip meaning CODE` explains one",
        ));
    }
    Ok(())
}

/// The model of that knowledge for that job at that stage.
pub(super) fn compile(
    knowledge: &Knowledge,
    job: Option<&Job>,
    stage: Stage,
    sources: &Sources,
    streams: &Streams,
) -> Result<Model, Failure> {
    compile_model(knowledge, job, stage).map(|compiled| compiled.model).map_err(|diagnostics| {
        streams.talk(&problems(&diagnostics, sources, streams.err));
        Failure::new("this job cannot be put together from this knowledge")
    })
}

/// Problems as text, one after the other.
pub(super) fn problems(all: &[Diagnostic], sources: &Sources, look: Look) -> String {
    all.iter().map(|one| problem(one, sources, look)).collect()
}

/// The bytes of a file; `-` is the standard input.
pub(super) fn bytes(path: &Path) -> Result<Vec<u8>, Failure> {
    let failed =
        |error: std::io::Error| Failure::because(format!("cannot read {}", quoted(path.display())), &error);
    let mut bytes = vec![];
    if path.as_os_str() == "-" {
        std::io::stdin().lock().take(LARGEST).read_to_end(&mut bytes).map_err(failed)?;
    } else {
        let file = std::fs::File::open(path).map_err(failed)?;
        file.take(LARGEST).read_to_end(&mut bytes).map_err(failed)?;
    }
    Ok(bytes)
}

/// The text of a file; `-` is the standard input.
pub(super) fn text(path: &Path) -> Result<String, Failure> {
    String::from_utf8(bytes(path)?)
        .map_err(|error| Failure::because(format!("{} is no text", quoted(path.display())), &error))
}

/// JSON, indented, with a line end.
pub(super) fn json_text(value: &Value) -> Result<String, Failure> {
    let text =
        serde_json::to_string_pretty(value).map_err(|error| Failure::because("cannot write JSON", &error))?;
    Ok(text + "\n")
}

/// Writes JSON, indented, with a line end.
pub(super) fn write_json(streams: &Streams, value: &Value) -> Result<(), Failure> {
    Ok(streams.result(&json_text(value)?)?)
}

/// The standing notice of the base package, with a line before it.
pub(super) fn standing_notice(look: Look) -> String {
    let loaded = load_embedded(crate::knowledge::BASE);
    let mut page = Page::new(look);
    for line in loaded.knowledge.iter().flat_map(|knowledge| &knowledge.practice.notice) {
        page.labelled(Role::Notice, "NOTICE", line);
    }
    format!("\n{}", page.finish())
}
