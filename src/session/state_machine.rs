//! The session itself: takes events, and answers what stands.

use std::sync::Arc;

use super::effects::effects;
use super::event::{Event, EventNo, What, Who};
use super::insight::{Bench, Cells, Insight};
use super::log;
use super::note::Note;
use super::prompt::{Left, View};
use super::ranking::{Factor, Ranking};
use super::records::Fate;
use super::reply::{Refused, Reply};
use super::slip::Slip;
use super::source::ModelSource;
use super::state::{State, Subject, subject};
use super::why::WhyNow;
use crate::model::index::{FindingIx, WorkStateIx};
use crate::model::practice::Person;
use crate::model::{Fingerprint, Model};
use crate::planner::Effort;
use crate::planner::decision_graph::Course;

/// In a session, an abnormal outcome that nothing listed explains by itself is still possible: its least leak.
pub const LEAST_LEAK: f64 = 0.001;

/// One piece of troubleshooting.
#[derive(Clone, Debug)]
pub struct Session {
    source: Arc<dyn ModelSource>,
    /// What the model was compiled for.
    subject: Subject,
    bench: Arc<Bench>,
    log: Vec<Event>,
    state: State,
    cells: Cells,
    effort: Effort,
    /// A plan to walk along, and whether it is of the model of now.
    course: Option<(Arc<Course>, bool)>,
}

/// Sessions are equal when their logs and what follows from them are.
impl PartialEq for Session {
    fn eq(&self, other: &Self) -> bool {
        self.log == other.log && self.state == other.state && self.subject == other.subject
    }
}

impl Session {
    /// Begins with the first event, which must be [`What::Started`].
    ///
    /// # Errors
    /// When it is another event, or the model cannot be compiled.
    pub fn start(source: Arc<dyn ModelSource>, started: Event) -> Result<Self, Refused> {
        Self::replay(source, [started])
    }

    /// The state after `events`, all of which were taken once before.
    ///
    /// # Errors
    /// When the first is no start, or the model cannot be compiled. Ids that the package no longer knows are passed over.
    pub fn replay(
        source: Arc<dyn ModelSource>,
        events: impl IntoIterator<Item = Event>,
    ) -> Result<Self, Refused> {
        let log: Vec<Event> = events.into_iter().collect();
        if !matches!(log.first(), Some(Event { what: What::Started { .. }, .. })) {
            return Err(Refused::Start);
        }
        let subject = subject(&log::entries(&log));
        let bench = compiled(&*source, &subject)?;
        let state = State::new(&bench.model, &log);
        Ok(Self {
            source,
            subject,
            bench,
            log,
            state,
            cells: Cells::default(),
            effort: Effort::default(),
            course: None,
        })
    }

    /// The same session with that effort for every advice from now on. Effort is no event: it changes what is advised, not
    /// what is known.
    #[must_use]
    pub fn with_effort(self, effort: Effort) -> Self {
        Self { effort, cells: Cells::default(), ..self }
    }

    pub(crate) fn set_course(&mut self, course: Option<Arc<Course>>) {
        self.course = course.map(|course| {
            let fits = Fingerprint::of(&self.bench.model) == course.model;
            (course, fits)
        });
        self.cells = Cells::default();
    }

    pub(crate) fn course(&self) -> Option<&Arc<Course>> {
        self.course.as_ref().map(|(course, _)| course)
    }

    pub(crate) const fn bench(&self) -> &Arc<Bench> {
        &self.bench
    }

    /// Takes one event. O(n) in the number of events; compiles the model anew only when the event changes what it is for.
    ///
    /// # Errors
    /// Why it was not taken; nothing has changed then.
    pub fn apply(&mut self, event: Event) -> Result<Reply, Refused> {
        self.insight().check(&event.what)?;
        if event.what == What::Undo && log::undoable(&self.log).is_none() {
            return Err(Refused::NothingToUndo);
        }
        self.log.push(event);
        match self.next() {
            Ok((bench, state, subject)) => {
                let effects = effects(&bench.model, &self.log, &self.state, &state);
                let course = self.course.take();
                let other_model = !Arc::ptr_eq(&bench, &self.bench);
                (self.bench, self.state, self.subject, self.cells) =
                    (bench, state, subject, Cells::default());
                match course {
                    Some((course, _)) if other_model => self.set_course(Some(course)),
                    course => self.course = course,
                }
                Ok(Reply { event: self.log.len() - 1, effects })
            }
            Err(refused) => {
                self.log.pop();
                Err(refused)
            }
        }
    }

    /// Model and state after the log as it is now.
    fn next(&self) -> Result<(Arc<Bench>, State, Subject), Refused> {
        let subject = subject(&log::entries(&self.log));
        let bench = if subject == self.subject {
            Arc::clone(&self.bench)
        } else {
            compiled(&*self.source, &subject)?
        };
        let state = State::new(&bench.model, &self.log);
        let cleared = self.state.emergencies.difference(&state.emergencies).next().is_some();
        if cleared && !matches!(self.log.last(), Some(Event { what: What::AllClear { .. }, .. })) {
            return Err(Refused::OnlyAllClear);
        }
        Ok((bench, state, subject))
    }

    pub(crate) fn insight(&self) -> Insight<'_> {
        Insight {
            bench: &self.bench,
            model: &self.bench.model,
            state: &self.state,
            cells: &self.cells,
            effort: self.effort,
            course: self.course.as_ref().filter(|(_, fits)| *fits).map(|(course, _)| &**course),
        }
    }

    /// What to show now. The first call in a state may plan; further calls are free of planning.
    #[must_use]
    pub fn view(&self) -> View {
        self.insight().view()
    }

    /// All causes, the most probable first.
    #[must_use]
    pub fn ranking(&self) -> Ranking {
        self.insight().ranking()
    }

    /// By what factor each answer moved the cause of that id; empty when there is no such cause.
    #[must_use]
    pub fn factors(&self, cause: &str) -> Vec<Factor> {
        self.odds(cause).map(|(_, factors)| factors).unwrap_or_default()
    }

    /// The odds of the cause of that id before anything was said, and by what factor each answer moved them since: their
    /// product is the odds of the ranking. `None` where there is no such cause, or it would cost too much.
    #[must_use]
    pub fn odds(&self, cause: &str) -> Option<(f64, Vec<Factor>)> {
        self.insight().factors(*self.bench.model.ids.causes.get(cause)?)
    }

    /// Why the present step; `None` where nothing was planned (an emergency, no complaint yet).
    #[must_use]
    pub fn why(&self) -> Option<WhyNow> {
        let mut why = self.insight().why()?;
        // What would follow is not foretold but tried.
        for (answer, follows) in std::mem::take(&mut why.answers).into_iter().zip(&mut why.follows) {
            if let Some((_, step, minutes)) = self.tried(answer).and_then(|then| then.insight().would_do()) {
                *follows = (step, minutes);
            }
        }
        Some(why)
    }

    /// The call note.
    #[must_use]
    pub fn note(&self) -> Note {
        self.insight().note(self.about(), &self.log)
    }

    /// The commissioning record; `None` where this is no power-up. It holds as it stands: what is not confirmed is said.
    #[must_use]
    pub fn record(&self) -> Option<super::power_up::record::Record> {
        self.insight().record(self.about(), &self.log)
    }

    /// The steps of the power-up that are left, by sentence; none where this is no power-up.
    #[must_use]
    pub fn steps_left(&self) -> Vec<String> {
        self.insight().steps_left()
    }

    /// The hand-over slip: for the advised competence, or for the best one should somebody be sent now.
    #[must_use]
    pub fn slip(&self) -> Slip {
        self.insight().slip()
    }

    /// The log, whole.
    #[must_use]
    pub fn events(&self) -> &[Event] {
        &self.log
    }

    /// The entries that count, in order, with undo and changes worked in: number, what.
    #[must_use]
    pub fn entries(&self) -> Vec<(EventNo, &What)> {
        self.state.entries.iter().map(|entry| (entry.no, &entry.what)).collect()
    }

    /// The event that an undo would take back; none of a closed case.
    #[must_use]
    pub fn undoable(&self) -> Option<EventNo> {
        if self.state.closed.is_some() {
            return None;
        }
        log::undoable(&self.log)
    }

    /// The model of now: of this stage, with all that was mentioned, every leak at least [`LEAST_LEAK`].
    #[must_use]
    pub fn model(&self) -> &Model {
        &self.bench.model
    }

    /// Package id and job id.
    #[must_use]
    pub fn about(&self) -> (&str, Option<&str>) {
        (self.source.knowledge(), self.source.job())
    }

    /// Those present, as one: all their competences and instruments.
    #[must_use]
    pub fn person(&self) -> Person {
        self.state.present.person
    }

    /// Those present, one by one.
    #[must_use]
    pub fn people(&self) -> &[Who] {
        &self.state.people
    }

    /// What is known in the present epoch: finding, outcome (the weightiest), the event that said so.
    #[must_use]
    pub fn known(&self) -> Vec<(FindingIx, usize, EventNo)> {
        let records = &self.state.records;
        records.now.iter().map(|(&f, &at)| (f, records.reports[at].outcome, records.reports[at].no)).collect()
    }

    /// All that an event reported: finding, outcome, whether it was only taken to be so with the answer, whether it counts.
    #[must_use]
    pub fn reported(&self, event: EventNo) -> Vec<(FindingIx, usize, bool, bool)> {
        let reports = self.state.records.reports.iter().filter(|report| report.no == event);
        reports
            .map(|report| (report.finding, report.outcome, report.implied, report.fate == Fate::Counts))
            .collect()
    }

    /// Complaints, in the order in which they came up.
    #[must_use]
    pub fn complaints(&self) -> &[FindingIx] {
        &self.state.complaints
    }

    /// What is to be put back still.
    #[must_use]
    pub fn open(&self) -> Vec<Left> {
        self.state.open()
    }

    /// The latest reading of each connection of the wire list.
    #[must_use]
    pub fn wires(&self) -> &[crate::wiring::Reading] {
        &self.state.wires
    }

    /// What is wrong with connections, by the readings so far.
    #[must_use]
    pub fn wrong_wires(&self) -> Vec<super::prompt::WireDeviation> {
        super::wires::wrong(&self.bench.model, &self.state.wires)
    }

    /// The work state, where it is confirmed.
    #[must_use]
    pub fn work_state(&self) -> Option<WorkStateIx> {
        self.state.work.known()
    }

    /// The number of fixes done.
    #[must_use]
    pub fn epoch(&self) -> usize {
        self.state.records.epoch()
    }

    /// It is closed.
    #[must_use]
    pub fn closed(&self) -> bool {
        self.state.closed.is_some()
    }
}

fn compiled(source: &dyn ModelSource, subject: &Subject) -> Result<Arc<Bench>, Refused> {
    let mut model = source.compile(subject.0, &subject.1).map_err(Refused::Compile)?;
    model.network = model.network.with_least_leak(LEAST_LEAK);
    Ok(Arc::new(Bench::new(model)))
}
