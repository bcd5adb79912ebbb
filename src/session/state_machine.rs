//! The session itself: takes events, and answers what stands.

use std::sync::Arc;

use super::event::{Event, EventNo, What};
use super::note::Note;
use super::prompt::{Left, View};
use super::ranking::{Factor, Ranking};
use super::reply::{Refused, Reply};
use super::slip::Slip;
use super::source::ModelSource;
use super::why::WhyNow;
use crate::model::Model;
use crate::model::index::{FindingIx, WorkStateIx};
use crate::model::practice::Person;

/// One piece of troubleshooting.
#[derive(Clone, Debug)]
pub struct Session {
    source: Arc<dyn ModelSource>,
    model: Arc<Model>,
    log: Vec<Event>,
}

impl Session {
    /// Begins with the first event, which must be [`What::Started`].
    ///
    /// # Errors
    /// When it is another event, or the model cannot be compiled.
    pub fn start(source: Arc<dyn ModelSource>, started: Event) -> Result<Self, Refused> {
        let What::Started { stage, .. } = &started.what else { return Err(Refused::Start) };
        let model = source.compile(*stage, &super::Mentioned::default()).map_err(Refused::Compile)?;
        Ok(Self { source, model: Arc::new(model), log: vec![started] })
    }

    /// The state after `events`, all of which were taken once before.
    ///
    /// # Errors
    /// When the first is no start, or the model cannot be compiled. Ids that the package no longer knows are passed over.
    pub fn replay(
        source: Arc<dyn ModelSource>,
        events: impl IntoIterator<Item = Event>,
    ) -> Result<Self, Refused> {
        let mut events = events.into_iter();
        let mut session = Self::start(source, events.next().ok_or(Refused::Start)?)?;
        session.log.extend(events);
        Ok(session)
    }

    /// Takes one event.
    ///
    /// # Errors
    /// Why it was not taken; nothing has changed then.
    pub fn apply(&mut self, event: Event) -> Result<Reply, Refused> {
        self.log.push(event);
        Ok(Reply { event: self.log.len() - 1, effects: Vec::new() })
    }

    /// What to show now. The first call in a state may plan; further calls are free.
    #[must_use]
    pub fn view(&self) -> View {
        View { notice: Vec::new(), lay: true, prompt: super::Prompt::Complaint, doubt: None }
    }

    /// All causes, the most probable first.
    #[must_use]
    pub fn ranking(&self) -> Ranking {
        Ranking { causes: Vec::new(), none_listed: 1.0, ln_evidence: 0.0, without: None }
    }

    /// By what factor each answer moved the cause of that id; empty when there is no such cause.
    #[must_use]
    pub fn factors(&self, _cause: &str) -> Vec<Factor> {
        Vec::new()
    }

    /// Why the present step; `None` where nothing was planned (an emergency, an act of a lockout).
    #[must_use]
    pub fn why(&self) -> Option<WhyNow> {
        None
    }

    /// The call note.
    #[must_use]
    pub fn note(&self) -> Note {
        todo!()
    }

    /// The hand-over slip: for the advised competence, or for the best one should somebody be sent now.
    #[must_use]
    pub fn slip(&self) -> Slip {
        todo!()
    }

    /// The log, whole.
    #[must_use]
    pub fn events(&self) -> &[Event] {
        &self.log
    }

    /// The entries that count, in order, with undo and changes worked in: number, what.
    #[must_use]
    pub fn entries(&self) -> Vec<(EventNo, &What)> {
        Vec::new()
    }

    /// The event that an undo would take back.
    #[must_use]
    pub fn undoable(&self) -> Option<EventNo> {
        None
    }

    /// The model of now.
    #[must_use]
    pub fn model(&self) -> &Model {
        &self.model
    }

    /// Package id and job id.
    #[must_use]
    pub fn about(&self) -> (&str, Option<&str>) {
        (self.source.knowledge(), self.source.job())
    }

    /// Those present, as one: all their competences and instruments.
    #[must_use]
    pub fn person(&self) -> Person {
        Person { competences: Default::default(), instruments: Default::default() }
    }

    /// What is known in the present epoch: finding, outcome (the most weighty), the event that said so.
    #[must_use]
    pub fn known(&self) -> Vec<(FindingIx, usize, EventNo)> {
        Vec::new()
    }

    /// Complaints, in the order in which they came up.
    #[must_use]
    pub fn complaints(&self) -> Vec<FindingIx> {
        Vec::new()
    }

    /// What is to be put back still.
    #[must_use]
    pub fn open(&self) -> Vec<Left> {
        Vec::new()
    }

    /// The work state, where it is known.
    #[must_use]
    pub fn work_state(&self) -> Option<WorkStateIx> {
        None
    }

    /// The number of fixes done.
    #[must_use]
    pub fn epoch(&self) -> usize {
        0
    }

    /// It is closed.
    #[must_use]
    pub fn closed(&self) -> bool {
        false
    }
}
