//! `attend`: take a call.

use std::io;
use std::path::PathBuf;
use std::sync::Arc;

use clap::Args;

use super::cases::{Sheet, TakenUp, Whence};
use super::failure::{Failure, quoted};
use super::open::{self, EffortNamed, KnowledgeAt, SheetFile, StageNamed};
use super::options::Options;
use super::present::Present;
use super::streams::Streams;
use super::{ExitStatus, cases, clock};
use crate::diagnostic::nearest;
use crate::export::chart::{NoCourse, read_course};
use crate::knowledge::{Knowledge, Stage};
use crate::model::practice::Practice;
use crate::planner::decision_graph::Bounds;
use crate::render::{Page, Role};
use crate::repl::{self, Broken, Ended, Keep, Lines, Manner, Refusal};
use crate::session::dialogue::Dialogue;
use crate::session::hear::kinds;
use crate::session::{Event, Packaged, Session, What, Who};
use crate::store::{CaseId, Cases as Store};

/// The competence of somebody of whom nothing is said.
const ANYONE: &str = "anyone";

/// Take a call: from what the caller says to the proven fix
///
/// Asks one question at a time; answer as you would speak. At any time: why, ranking, undo, change, can't tell, note,
/// help. Every answer is saved before the next question; Ctrl-D leaves, and `--resume` goes on. Without a terminal, lines
/// are read as they come and no prompt is printed.
#[derive(Args, Clone, Debug)]
pub(super) struct Attend {
    /// The job sheet of the site; without it, the built-in demo job, which is invented
    #[arg(long, value_name = "FILE", conflicts_with_all = ["no_sheet", "resume"])]
    job: Option<PathBuf>,

    /// Without a job sheet: units appear as they are mentioned
    #[arg(long, conflicts_with = "resume")]
    no_sheet: bool,

    #[command(flatten)]
    knowledge: KnowledgeAt,

    /// The stage; else the job sheet's, else in-service
    #[arg(long, value_name = "STAGE", conflicts_with = "resume")]
    stage: Option<StageNamed>,

    #[command(flatten)]
    present: Present,

    /// The name of that person
    #[arg(long, value_name = "NAME")]
    name: Option<String>,

    /// Go on with a case: its id, or `last`
    #[arg(long, value_name = "ID")]
    resume: Option<String>,

    /// How hard to think before each step
    #[arg(long, value_name = "EFFORT", default_value = "first")]
    effort: EffortNamed,

    /// Walk along a whole plan: one that `chart --json` wrote to FILE, or without FILE one that is worked out for the
    /// complaint. Left as soon as something else is said, and taken up again where it fits
    #[arg(long, value_name = "FILE", num_args = 0..=1)]
    along: Option<Option<PathBuf>>,

    /// Write the prompt and each line that was read as well, for the record of a call from a pipe
    #[arg(long, env = "WHYTRIP_ECHO", value_parser = clap::builder::FalseyValueParser::new(), hide_env = true)]
    echo: bool,
}

impl Attend {
    pub(super) fn run(self, options: &Options, streams: &Streams) -> Result<ExitStatus, Failure> {
        self.talk(options, streams, false)
    }

    /// The same as a first power-up.
    pub(super) fn power_up(self, options: &Options, streams: &Streams) -> Result<ExitStatus, Failure> {
        self.talk(options, streams, true)
    }

    fn talk(self, options: &Options, streams: &Streams, power_up: bool) -> Result<ExitStatus, Failure> {
        let (folder, store) = cases::store(options)?;
        let (dialogue, mut kept) = match &self.resume {
            Some(id) => self.gone_on(store, id, streams)?,
            None => self.begun(store, streams, power_up)?,
        };
        let job = dialogue.session().about().1.map(str::to_owned);
        let baselines = match &job {
            Some(job) => kept
                .store
                .baselines(job)
                .map_err(|error| Failure::because("the cases cannot be read", &error))?,
            None => vec![],
        };
        let dialogue = self.planned(dialogue.with_baselines(baselines), streams)?;
        let mut lines = if streams.interactive {
            Lines::terminal(Some(folder.history()), streams.out)?
        } else {
            Lines::pipe(io::BufReader::new(io::stdin()))
        };
        let mut dialogue = dialogue;
        let echo = self.echo && !streams.interactive;
        let manner = Manner { look: streams.out, echo, zone: clock::zone(), clock: &clock::now };
        let already = kept.events;
        let ended =
            repl::converse(&mut dialogue, already, &mut kept, &mut lines, &manner, &mut io::stdout().lock());
        let ended = ended.map_err(|broken| match broken {
            Broken::Talk(error) => Failure::from(error),
            Broken::Store(error) => Failure::because("the last answer could not be saved", error.as_ref()),
        })?;
        let Some(id) = kept.case else { return Ok(ExitStatus::Done) };
        let power_up = dialogue.session().record().is_some();
        streams.talk(&match ended {
            Ended::Closed if power_up => format!(
                "Case {id} is closed. `whytrip record {id}` prints its record.
"
            ),
            Ended::Closed => format!("Case {id} is closed. `whytrip note {id}` prints its note.\n"),
            Ended::Left => format!("Case {id} is saved. `whytrip attend --resume {id}` goes on.\n"),
        });
        Ok(ExitStatus::Done)
    }

    /// With a plan to walk along, where one is wanted.
    fn planned(&self, dialogue: Dialogue, streams: &Streams) -> Result<Dialogue, Failure> {
        match &self.along {
            None => Ok(dialogue),
            Some(None) => Ok(dialogue.ahead(Bounds::BESIDE_A_CALL)),
            Some(Some(path)) => {
                let failed = |error: &dyn std::error::Error| {
                    Failure::because(format!("cannot walk along {}", quoted(path.display())), error)
                };
                let text = std::fs::read_to_string(path).map_err(|error| failed(&error))?;
                match read_course(dialogue.session().model(), &text) {
                    Ok(course) => Ok(dialogue.along(Arc::new(course))),
                    Err(why @ NoCourse::Model) => {
                        let mut page = Page::new(streams.err);
                        let said = format!(
                            "{} is left aside: {why}. Steps are planned as ever.",
                            quoted(path.display())
                        );
                        page.said(Role::Aside, &said);
                        streams.talk(&page.finish());
                        Ok(dialogue)
                    }
                    Err(why) => {
                        Err(failed(&why).hint("`whytrip chart SYMPTOM --json --out FILE` writes one"))
                    }
                }
            }
        }
    }

    /// A new call.
    fn begun(&self, store: Store, streams: &Streams, power_up: bool) -> Result<(Dialogue, Kept), Failure> {
        let (sheet, file) = if self.no_sheet {
            (Sheet::Without, None)
        } else if let Some(path) = &self.job {
            (Sheet::File(path.clone()), Some(SheetFile::at(path)?))
        } else {
            (Sheet::Demo, Some(SheetFile::demo()))
        };
        let (knowledge, read) = open::opened(&self.knowledge, file, streams)?;
        if let (Sheet::File(_), Some((job, sources))) = (&sheet, &read) {
            // A first power-up goes by the list; in a call it is one thing of many, and nothing waits for it.
            if power_up {
                open::sound_wires(&knowledge, job, sources, streams)?;
            } else {
                open::mention_wires(&knowledge, job, streams);
            }
        }
        let job = read.map(|(job, _)| job);
        if let (Sheet::Demo, Some(job)) = (&sheet, &job) {
            let mut page = Page::new(streams.err);
            page.said(
                Role::Aside,
                &format!("No job sheet was named. This is the demo job, invented: {}", job.site),
            );
            streams.talk(&page.finish());
        }
        let who = self.person(&knowledge)?;
        let job_id = job.as_ref().map(|job| job.id.clone());
        if power_up && job_id.is_none() {
            return Err(Failure::new("a power-up needs a job sheet").hint("name it: `--job FILE`"));
        }
        let stage = if power_up { Stage::StartUp } else { open::stage(self.stage, job.as_ref()) };
        let started = What::Started { knowledge: open::package(&knowledge), job: job_id, stage, who };
        let kinds = if job.is_none() { kinds(&knowledge) } else { vec![] };
        let source = Arc::new(Packaged::new(knowledge, job));
        let mut session = Session::start(source, Event { at: clock::now(), what: started })
            .map_err(|refused| Failure::because("the call cannot begin", &refused))?;
        if power_up {
            session.apply(Event { at: clock::now(), what: What::PowerUpBegan }).map_err(|_| {
                Failure::new("the package has no procedure for a first power-up")
                    .hint("`knowledge/FORMAT.md` says how one is written")
            })?;
        }
        let whence = Whence { knowledge: self.knowledge.dir.clone(), sheet }.text();
        let session = session.with_effort(self.effort.into());
        Ok((Dialogue::new(session, kinds), Kept { store, case: None, whence, events: 0 }))
    }

    /// A case taken up again.
    fn gone_on(&self, store: Store, id: &str, streams: &Streams) -> Result<(Dialogue, Kept), Failure> {
        let TakenUp { case, mut session, kinds } =
            cases::take_up(&store, Some(id), &self.knowledge, streams)?;
        let events = session.events().len();
        let who = match self.nobody_named() {
            true => None,
            false => Some(self.who(&session.model().practice)?),
        };
        session
            .apply(Event { at: clock::now(), what: What::Resumed { who } })
            .map_err(|refused| Failure::because(format!("case {case} cannot go on"), &refused))?;
        let session = session.with_effort(self.effort.into());
        Ok((Dialogue::new(session, kinds), Kept { store, case: Some(case), whence: String::new(), events }))
    }

    fn nobody_named(&self) -> bool {
        self.present.who.is_empty() && self.present.instruments.is_empty() && self.name.is_none()
    }

    /// Who is at the panel, by the package's practice.
    fn person(&self, knowledge: &Knowledge) -> Result<Who, Failure> {
        let practice = &knowledge.practice;
        let competences: Vec<&str> = practice.competences.iter().map(|c| c.id.value.as_str()).collect();
        let instruments: Vec<&str> = practice.instruments.iter().map(|i| i.id.value.as_str()).collect();
        self.named(&competences, &instruments)
    }

    /// Who is at the panel, by the model's practice.
    fn who(&self, practice: &Practice) -> Result<Who, Failure> {
        let competences: Vec<&str> = practice.competences.iter().map(|c| c.id.as_str()).collect();
        let instruments: Vec<&str> = practice.instruments.iter().map(|i| i.id.as_str()).collect();
        self.named(&competences, &instruments)
    }

    fn named(&self, competences: &[&str], instruments: &[&str]) -> Result<Who, Failure> {
        let one_of = |what: &str, typed: &str, valid: &[&str]| {
            let id = typed.trim().to_lowercase().replace(' ', "-");
            if valid.contains(&id.as_str()) {
                return Ok(id);
            }
            let near = nearest(&id, valid.iter().copied());
            let hint = near
                .first()
                .map_or_else(|| format!("known: {}", valid.join(", ")), |near| format!("nearest: `{near}`"));
            Err(Failure::new(format!("there is no {what} {}", quoted(typed))).hint(hint))
        };
        let mut ids = vec![];
        for typed in &self.present.who {
            ids.push(one_of("competence", typed, competences)?);
        }
        if ids.is_empty() {
            ids.extend(
                competences.iter().find(|id| **id == ANYONE).or(competences.first()).map(ToString::to_string),
            );
        }
        let mut at_hand = vec![];
        for typed in &self.present.instruments {
            at_hand.push(one_of("instrument", typed, instruments)?);
        }
        let instruments = (!self.present.instruments.is_empty()).then_some(at_hand);
        Ok(Who { name: self.name.clone().unwrap_or_default(), competences: ids, instruments })
    }
}

/// Where the events of this call are kept.
struct Kept {
    store: Store,
    case: Option<CaseId>,
    whence: String,
    /// How many are kept already.
    events: usize,
}

impl Keep for Kept {
    fn keep(&mut self, events: &[Event]) -> Result<(), Refusal> {
        let mut rest = events;
        if self.case.is_none() {
            let Some((first, others)) = events.split_first() else { return Ok(()) };
            self.case = Some(self.store.create(&self.whence, first)?);
            self.events = 1;
            rest = others;
        }
        if let Some(case) = &self.case {
            self.store.append_all(case, self.events, rest)?;
        }
        self.events += rest.len();
        Ok(())
    }
}
