//! Scripted scenarios: a site with hidden faults, who rings and in which words, and what has to be reached.
//!
//! In: the text of one file, a package, and whoever can find a job sheet. Out: a [`Scenario`], and a diagnostic for every
//! problem, with its place and the nearest valid name. Invariant: every id of a scenario that comes without errors is one of
//! the model that its opening words lead to.

mod check;
mod decode;

use std::sync::Arc;

pub use decode::{Sheets, package_of, read};

use crate::job::Job;
use crate::knowledge::{Knowledge, Stage};
use crate::planner::Effort;
use crate::session::dialogue::Dialogue;
use crate::session::hear::kinds;
use crate::session::{Event, Packaged, Prompt, Refused, Session, What, Who};
use crate::source::Spanned;

/// A name with a value, both with their places.
pub type Pair = (Spanned<String>, Spanned<String>);

/// One scripted case.
#[derive(Clone, PartialEq, Debug)]
pub struct Scenario {
    /// Its id.
    pub id: String,
    /// What it is about.
    pub about: String,
    /// The site; `None`: without a sheet.
    pub job: Option<Job>,
    /// The stage.
    pub stage: Stage,
    /// Who is on the phone.
    pub who: Who,
    /// The chance that they cannot tell what a test shows.
    pub cannot_tell: f64,
    /// The chance that they tell something else than what is so.
    pub errs: f64,
    /// The seed of all that is drawn.
    pub seed: u64,
    /// The causes that are there.
    pub hidden: Vec<Spanned<String>>,
    /// The opening words, line by line.
    pub says: Vec<Spanned<String>>,
    /// What findings show while a cause behind them is there.
    pub shows: Vec<Pair>,
    /// What is read at tests meanwhile, as it is typed.
    pub reads: Vec<Pair>,
    /// What nameplates say (`UNIT/key`).
    pub nameplate: Vec<Pair>,
    /// Tests that they cannot tell, and fixes that they cannot do.
    pub cannot: Vec<Spanned<String>>,
    /// Fixes that succeed with every hidden cause that they remove; where there is none, success is drawn.
    pub cured_by: Vec<Spanned<String>>,
    /// What has to be reached.
    pub reach: Reach,
}

/// What has to be reached.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Reach {
    /// Causes that have to be found; all hidden ones where nothing is said.
    pub found: Vec<Spanned<String>>,
    /// The competence to which it has to be handed over, or `unlisted`.
    pub hand_over: Option<Spanned<String>>,
    /// It has to end with the proof.
    pub proven: bool,
    /// At most so many questions.
    pub questions: Option<u32>,
    /// At most so many minutes.
    pub minutes: Option<f64>,
    /// Tests, fixes and work states that must never be asked for.
    pub never: Vec<Spanned<String>>,
}

impl Scenario {
    /// A dialogue of quick effort in which the opening words have been said, one after the other.
    ///
    /// # Errors
    /// When the session cannot begin.
    pub fn opened(&self, knowledge: &Arc<Knowledge>) -> Result<Dialogue, Refused> {
        let package = knowledge.packages.last().map(|package| package.id.value.clone()).unwrap_or_default();
        let what = What::Started {
            knowledge: package,
            job: self.job.as_ref().map(|job| job.id.clone()),
            stage: self.stage,
            who: self.who.clone(),
        };
        let kinds = if self.job.is_none() { kinds(knowledge) } else { Vec::new() };
        let source = Arc::new(Packaged::new(Arc::clone(knowledge), self.job.clone()));
        let session = Session::start(source, Event { at: 0, what })?.with_effort(Effort::Quick);
        let mut dialogue = Dialogue::new(session, kinds);
        if matches!(dialogue.view().prompt, Prompt::Emergencies(_)) {
            dialogue.line("no", 0);
        }
        for line in &self.says {
            dialogue.line(&line.value, 0);
        }
        Ok(dialogue)
    }
}
