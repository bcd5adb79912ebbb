//! `chart`: the whole plan of a complaint, to print and to carry.

use std::path::PathBuf;
use std::sync::Arc;

use clap::{Args, ValueEnum};

use super::ExitStatus;
use super::failure::{Failure, quoted};
use super::open::{self, KnowledgeAt, SheetFile, StageNamed};
use super::present::Present;
use super::streams::Streams;
use crate::diagnostic::nearest;
use crate::export::chart::{Chart, dot, html, json, markdown, sheet, svg};
use crate::model::Model;
use crate::planner::decision_graph::{Bounds, Progress};
use crate::session::{Event, Packaged, Session, What, Who};

/// Print the whole plan for a complaint: what to ask, measure and do, whatever is found
///
/// The plan is unrolled from the complaint for the person and the instruments named, down to the bound of --cut, and
/// written as a drawing, a page for a phone, a sheet of two pages to print, a text, or data.
#[derive(Args, Debug)]
pub(super) struct Chart_ {
    /// What is complained of: the id of a symptom, UNIT/NAME, with =OUTCOME where it has several
    #[arg(value_name = "SYMPTOM", required = true)]
    complaints: Vec<String>,

    #[command(flatten)]
    knowledge: KnowledgeAt,

    /// The job sheet; without it and with the built-in package, the built-in demo job, which is invented
    #[arg(long, value_name = "FILE")]
    job: Option<PathBuf>,

    /// The stage; else the job sheet's, else in-service
    #[arg(long, value_name = "STAGE")]
    stage: Option<StageNamed>,

    #[command(flatten)]
    present: Present,

    /// The form
    #[arg(long, value_name = "FORM", default_value = "markdown")]
    form: FormNamed,

    /// The same as --form json
    #[arg(long, conflicts_with = "form")]
    json: bool,

    /// Write to a file instead of the standard output
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,

    /// Leave open what is less probable than this
    #[arg(long, value_name = "PROBABILITY", default_value_t = 1e-4)]
    cut: f64,

    /// Plan at most so many states, the likeliest first; a hundred take about a second
    #[arg(long, value_name = "COUNT", default_value_t = 400)]
    most: usize,
}

/// A form, as it is typed.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
enum FormNamed {
    /// Graph description for drawing programs
    Dot,
    /// A drawing
    Svg,
    /// Text
    Markdown,
    /// Data
    Json,
    /// A pocket guide: one page that works on a phone without a network
    Html,
    /// Two pages to print, with the likeliest ways
    Sheet,
}

impl Chart_ {
    pub(super) fn run(self, streams: &Streams) -> Result<ExitStatus, Failure> {
        if !(self.cut > 0.0 && self.cut <= 1.0) {
            return Err(Failure::new(format!("--cut {} is no probability", self.cut))
                .hint("say one above 0, up to 1"));
        }
        let file = match (&self.job, &self.knowledge.dir) {
            (Some(path), _) => Some(SheetFile::at(path)?),
            (None, Some(_)) => None,
            (None, None) => Some(SheetFile::demo()),
        };
        let (knowledge, read) = open::opened(&self.knowledge, file, streams)?;
        let job = read.map(|(job, _)| job);
        let stage = open::stage(self.stage, job.as_ref());
        let practice = &knowledge.practice;
        let named = |given: &str, ids: Vec<&str>, kind: &str| match ids.contains(&given) {
            true => Ok(given.to_owned()),
            false => Err(unknown(kind, given, &ids)),
        };
        let competences: Vec<&str> = practice.competences.iter().map(|one| one.id.value.as_str()).collect();
        let instruments: Vec<&str> = practice.instruments.iter().map(|one| one.id.value.as_str()).collect();
        let who: Vec<String> = match (self.present.who.as_slice(), competences.first()) {
            ([], Some(first)) => vec![(*first).to_owned()],
            (named, _) => named.to_vec(),
        };
        let who = Who {
            name: String::new(),
            competences: who
                .iter()
                .map(|id| named(id, competences.clone(), "competence"))
                .collect::<Result<_, _>>()?,
            instruments: match self.present.instruments.is_empty() {
                true => None,
                false => Some(
                    (self.present.instruments.iter())
                        .map(|id| named(id, instruments.clone(), "instrument"))
                        .collect::<Result<_, _>>()?,
                ),
            },
        };
        let started = What::Started {
            knowledge: open::package(&knowledge),
            job: job.as_ref().map(|job| job.id.clone()),
            stage,
            who,
        };
        let source = Arc::new(Packaged::new(knowledge, job));
        let refused = |refused| Failure::because("the plan cannot begin", &refused);
        let mut session = Session::start(source, Event { at: 0, what: started }).map_err(refused)?;
        let mut told = vec![What::EmergenciesAnswered { present: Vec::new() }];
        for complaint in &self.complaints {
            told.push(volunteered(session.model(), complaint)?);
        }
        told.push(What::ThereNow { there: true });
        for what in told {
            session.apply(Event { at: 0, what }).map_err(refused)?;
        }
        let bounds = Bounds { cut: self.cut, most: self.most.max(1), ..Bounds::default() };
        let graph = {
            let bar = streams.progress();
            let mut tell = |progress: Progress| {
                bar.tell(progress.settled, &format!("{} states", progress.states));
            };
            session
                .chart(bounds, &mut tell)
                .map_err(|error| Failure::because("nothing can be planned", &error))?
        };
        if graph.full {
            streams.talk(&format!(
                "The plan is larger than {} states: its rarest ways are left open. --most allows more.\n",
                bounds.most
            ));
        }
        let chart = Chart::new(session.model(), &graph, session.about());
        let form = if self.json { FormNamed::Json } else { self.form };
        let text = match form {
            FormNamed::Dot => dot(&chart),
            FormNamed::Svg => svg(&chart),
            FormNamed::Markdown => markdown(&chart),
            FormNamed::Json => open::json_text(&json(&chart))?,
            FormNamed::Html => html(&chart),
            FormNamed::Sheet => sheet(&chart),
        };
        match &self.out {
            None => streams.result(&text)?,
            Some(path) => std::fs::write(path, text).map_err(|error| {
                Failure::because(format!("cannot write {}", quoted(path.display())), &error)
            })?,
        }
        Ok(ExitStatus::Done)
    }
}

/// A complaint by the id of its symptom.
fn volunteered(model: &Model, complaint: &str) -> Result<What, Failure> {
    let (id, outcome) =
        complaint.split_once('=').map_or((complaint, None), |(id, outcome)| (id, Some(outcome)));
    let symptoms: Vec<&str> =
        model.findings.iter().filter(|one| one.symptom.is_some()).map(|one| one.id.as_str()).collect();
    let Some(finding) = model.ids.findings.get(id).filter(|_| symptoms.contains(&id)) else {
        return Err(unknown("symptom", id, &symptoms));
    };
    let abnormal: Vec<&str> =
        model.findings[finding.at()].outcomes.iter().skip(1).map(String::as_str).collect();
    let outcome = match outcome {
        None => abnormal.first().copied().unwrap_or_default(),
        Some(named) if abnormal.contains(&named) => named,
        Some(named) => return Err(unknown("abnormal outcome", named, &abnormal)),
    };
    Ok(What::Volunteered {
        finding: id.to_owned(),
        outcome: outcome.to_owned(),
        sure: true,
        words: String::new(),
    })
}

fn unknown(kind: &str, given: &str, ids: &[&str]) -> Failure {
    let near = nearest(given, ids.iter().copied());
    let hint = if near.is_empty() { ids.join(", ") } else { near.join(", ") };
    Failure::new(format!("there is no {kind} {}", quoted(given))).hint(format!("known: {hint}"))
}
