//! What an event brought about beside itself: the difference between two states, in the model's names.

use super::event::{Answer, Event, EventNo, What};
use super::left_open::LeftFate;
use super::log::undoable;
use super::records::{Fate, Report};
use super::reply::Effect;
use super::state::State;
use super::work::Standing;
use crate::model::Model;
use crate::model::observe::Seen;

/// From `old` to `new` by the event `no`, the last of `log`.
pub(crate) fn effects(model: &Model, log: &[Event], old: &State, new: &State) -> Vec<Effect> {
    let no = log.len().saturating_sub(1);
    let what = log.last().map(|event| &event.what);
    let mut effects = Vec::new();
    if what == Some(&What::Undo) {
        effects.extend(undoable(&log[..no]).map(|event| Effect::Undone { event }));
    }
    effects.extend(reported(model, no, new));
    effects.extend(what.and_then(|what| class_unknown(model, what)));
    effects.extend(turned(model, no, old, new));
    for at in new.emergencies.difference(&old.emergencies) {
        effects.push(Effect::Emergency { id: model.practice.emergencies[*at].id.clone() });
    }
    // A power-up keeps its own account of locks and voltage; a step of it says nothing of the whole.
    let step = matches!(what, Some(What::StepTaken { .. }));
    if old.work.standing != new.work.standing && !step {
        match new.work.standing {
            Standing::Unknown if new.work.ever => effects.push(Effect::WorkStateUnknown),
            Standing::Known(at) => {
                effects.push(Effect::WorkState { name: model.practice.work_states[at.at()].name.clone() });
            }
            _ => {}
        }
    }
    for thing in new.things.iter().filter(|thing| thing.fate == LeftFate::Open && thing.left.id.event == no) {
        effects.push(Effect::ToPutBack { item: thing.left.id, text: thing.left.text.clone() });
    }
    effects
}

fn name(model: &Model, report: &Report) -> String {
    model.findings[report.finding.at()].name.clone()
}

/// What the event reported beside what it said.
fn reported(model: &Model, no: EventNo, new: &State) -> Vec<Effect> {
    let mut effects = Vec::new();
    for report in new.records.reports.iter().filter(|report| report.said == no) {
        if report.fate == Fate::NotCounted && !report.implied {
            effects.push(Effect::NotCounted { finding: name(model, report) });
        }
        if report.implied && matches!(report.fate, Fate::Counts | Fate::NotCounted) {
            let outcome = super::steps::outcome_name(model, report.finding, report.outcome);
            effects.push(Effect::TakenAsSo { finding: name(model, report), outcome });
        }
    }
    effects
}

/// What became of earlier answers.
fn turned(model: &Model, no: EventNo, old: &State, new: &State) -> Vec<Effect> {
    let mut effects = Vec::new();
    let stood = |fate: Fate| matches!(fate, Fate::Counts | Fate::NotCounted);
    for report in new.records.reports.iter().filter(|report| report.said != no && !report.implied) {
        let same =
            |other: &&Report| other.no == report.no && other.finding == report.finding && !other.implied;
        let Some(before) = old.records.reports.iter().find(same) else { continue };
        let (event, finding) = (report.no, name(model, report));
        match (before.fate, report.fate) {
            (before, Fate::Replaced) if stood(before) => effects.push(Effect::Replaced { event, finding }),
            (before, Fate::Withdrawn) if stood(before) => effects.push(Effect::Withdrawn { event, finding }),
            (Fate::Withdrawn | Fate::Replaced, after) if stood(after) => {
                effects.push(Effect::Restored { event, finding });
            }
            _ => {}
        }
    }
    effects
}

fn class_unknown(model: &Model, what: &What) -> Option<Effect> {
    let What::Answered { test, answer: Answer::FaultNumber(number), words, .. } = what else { return None };
    let observed = model.fault(*model.ids.tests.get(test)?, number).ok()?;
    if !observed.iter().any(|observed| matches!(observed.seen, Seen::Abnormal { .. })) {
        return None;
    }
    let words = if words.is_empty() { number } else { words };
    Some(Effect::ClassUnknown { words: words.clone() })
}
