//! The commissioning record: who, when, what was confirmed and read against which limits, what deviated, what is open.

use std::collections::BTreeMap;

use crate::session::event::{Event, EventNo, What, WireFound};
use crate::session::insight::Insight;
use crate::session::people::described;
use crate::session::prompt::Left;
use crate::session::wires;
use crate::wiring::Reading;

/// The commissioning record.
#[derive(Clone, PartialEq, Debug)]
pub struct Record {
    /// The title of the procedure.
    pub title: String,
    /// Package id.
    pub knowledge: String,
    /// Job id, where there is a sheet.
    pub job: Option<String>,
    /// Those who were present.
    pub people: Vec<String>,
    /// When it began, and the last entry, in milliseconds since 1970-01-01 UTC.
    pub from_to: (i64, i64),
    /// Every step, in the order of the procedure.
    pub steps: Vec<RecordStep>,
    /// What deviated, in the order in which it was found.
    pub deviations: Vec<Deviation>,
    /// The connections of the wire list: how many are good, of how many.
    pub wires: (usize, usize),
    /// What was wrong with connections, in the order in which it was found: in words, and whether it is good now.
    pub wires_wrong: Vec<(String, bool)>,
    /// What was done about causes, in order.
    pub done: Vec<String>,
    /// What is open still.
    pub open: Vec<Left>,
    /// What was left and put back, or handed over: text, to whom (empty: put back).
    pub settled: Vec<(String, String)>,
    /// Whether every step is confirmed and nothing is open.
    pub complete: bool,
    /// Who signs, by name: each competence that a step asks for.
    pub signatures: Vec<String>,
    /// The standing notice.
    pub notice: Vec<String>,
}

/// A step in the record.
#[derive(Clone, PartialEq, Debug)]
pub struct RecordStep {
    /// Step id.
    pub id: String,
    /// The act.
    pub say: String,
    /// The limit.
    pub expect: String,
    /// The latest answer that stands: outcome, readings, by whom, when.
    pub taken: Option<Taken>,
    /// Unit of measure of the readings.
    pub measured_in: String,
    /// Confirmed, and nothing changed since.
    pub confirmed: bool,
    /// Its reading is the site's baseline.
    pub baseline: bool,
}

/// How a step was answered.
#[derive(Clone, PartialEq, Debug)]
pub struct Taken {
    /// Outcome.
    pub outcome: String,
    /// Readings.
    pub readings: Vec<f64>,
    /// Who.
    pub by: String,
    /// When, in milliseconds since 1970-01-01 UTC.
    pub at: i64,
}

/// An outcome that stopped the power-up.
#[derive(Clone, PartialEq, Debug)]
pub struct Deviation {
    /// The act.
    pub say: String,
    /// How it was answered.
    pub taken: Taken,
    /// Whether the step was confirmed later.
    pub cured: bool,
}

impl Insight<'_> {
    /// The record; `None` where the session is no power-up.
    pub(crate) fn record(self, about: (&str, Option<&str>), log: &[Event]) -> Option<Record> {
        let (model, state) = (self.model, self.state);
        let power_up = state.power_up.as_ref()?;
        let mut latest: BTreeMap<&str, (EventNo, Taken)> = BTreeMap::new();
        let mut stopped: Vec<(&str, Taken)> = Vec::new();
        let mut people: Vec<String> = Vec::new();
        for entry in &state.entries {
            match &entry.what {
                What::StepTaken { step, outcome, readings, by, .. } => {
                    let taken = Taken {
                        outcome: outcome.clone(),
                        readings: readings.clone(),
                        by: by.clone(),
                        at: entry.at,
                    };
                    let form = model.procedure.steps.iter().find(|form| form.id == *step);
                    if form.is_some_and(|form| form.outcomes.first() != Some(outcome)) {
                        stopped.push((step, taken.clone()));
                    }
                    latest.insert(step, (entry.no, taken));
                }
                What::Started { who, .. } | What::Person { who, .. } | What::Resumed { who: Some(who) } => {
                    let who = described(who, &model.practice);
                    if !who.is_empty() && !people.contains(&who) {
                        people.push(who);
                    }
                }
                _ => {}
            }
        }
        let steps = model.procedure.steps.iter().enumerate().map(|(at, step)| RecordStep {
            id: step.id.clone(),
            say: step.say.clone(),
            expect: step.expect.clone(),
            taken: latest.get(step.id.as_str()).map(|(_, taken)| taken.clone()),
            measured_in: step.reading.as_ref().map(|reading| reading.0.clone()).unwrap_or_default(),
            confirmed: power_up.satisfied(at),
            baseline: step.baseline,
        });
        let steps: Vec<RecordStep> = steps.collect();
        let deviations = stopped.into_iter().filter_map(|(id, taken)| {
            let step = steps.iter().find(|step| step.id == id)?;
            Some(Deviation { say: step.say.clone(), taken, cured: step.confirmed })
        });
        let mut signatures: Vec<String> = Vec::new();
        for step in &model.procedure.steps {
            let name = &model.practice.competences[step.terms.competence.at()].name;
            if !signatures.contains(name) {
                signatures.push(name.clone());
            }
        }
        let good = |at: usize| state.wires.get(at) == Some(&Reading::Good);
        let wires_wrong = state.entries.iter().filter_map(|entry| {
            let What::WireRead { wire, found, .. } = &entry.what else { return None };
            let at = model.connections.iter().position(|connection| connection.id == *wire)?;
            let (about, text) = wires::words(model, wire, found).filter(|_| *found != WireFound::Good)?;
            Some((format!("{about}: {text}"), good(at)))
        });
        let closing = self.closing();
        let open = state.open();
        let settled = state.things.iter().filter_map(|thing| thing.settled());
        Some(Record {
            title: model.procedure.title.clone(),
            knowledge: about.0.to_owned(),
            job: about.1.map(str::to_owned),
            people,
            from_to: (log.first().map_or(0, |event| event.at), log.last().map_or(0, |event| event.at)),
            deviations: deviations.collect(),
            wires: ((0..state.wires.len()).filter(|&at| good(at)).count(), state.wires.len()),
            wires_wrong: wires_wrong.collect(),
            done: closing.done,
            settled: settled.collect(),
            complete: steps.iter().all(|step| step.confirmed) && open.is_empty(),
            steps,
            open,
            signatures,
            notice: model.practice.notice.clone(),
        })
    }
}
