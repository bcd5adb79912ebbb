//! Records as JSON, format 1. Inner types do not serialise themselves, so that the shape is decided here alone.

use serde_json::{Value, json};

use crate::model::practice::Signal;
use crate::session::note::{Note, NoteKind};
use crate::session::prompt::{Caution, ClosingView, Left};
use crate::session::ranking::{Ranked, Ranking};
use crate::session::slip::Slip;

/// The call note.
#[must_use]
pub fn note_json(note: &Note) -> Value {
    let lines: Vec<Value> = note
        .lines
        .iter()
        .map(|line| {
            json!({
                "event": line.event,
                "at": stamp(line.at),
                "kind": kind(line.kind),
                "about": line.about,
                "text": line.text,
                "words": line.words,
                "superseded": line.superseded,
            })
        })
        .collect();
    json!({
        "format": 1,
        "notice": note.notice,
        "knowledge": note.knowledge,
        "job": note.job,
        "people": note.people,
        "from": stamp(note.from_to.0),
        "to": stamp(note.from_to.1),
        "complaints": note.complaints,
        "lines": lines,
        "none_listed": note.none_listed,
        "causes": note.ranking.iter().map(ranked).collect::<Vec<_>>(),
        "closing": closing(&note.closing),
        "to_put_back": open(&note.open),
        "work_state": known(&note.work_state),
    })
}

/// The hand-over slip.
#[must_use]
pub fn slip_json(slip: &Slip) -> Value {
    let candidates = slip.candidates.iter().map(|(causes, p)| json!({"causes": causes, "probability": p}));
    let found = slip.found.iter().map(|(name, outcome)| json!({"finding": name, "outcome": outcome}));
    json!({
        "format": 1,
        "notice": slip.notice,
        "cautions": slip.cautions.iter().map(caution).collect::<Vec<_>>(),
        "competence": slip.competence,
        "name": slip.name,
        "say": slip.say,
        "minutes": slip.minutes,
        "instruments": slip.instruments,
        "parts": slip.parts,
        "candidates": candidates.collect::<Vec<_>>(),
        "not_meanwhile": slip.not_meanwhile,
        "found": found.collect::<Vec<_>>(),
        "done": slip.done,
        "to_put_back": open(&slip.open),
        "work_state": known(&slip.work_state),
    })
}

/// The ranking.
#[must_use]
pub fn ranking_json(ranking: &Ranking) -> Value {
    json!({
        "format": 1,
        "log_evidence_probability": ranking.ln_evidence,
        "none_listed": ranking.none_listed,
        "causes": ranking.causes.iter().map(ranked).collect::<Vec<_>>(),
    })
}

fn ranked(cause: &Ranked) -> Value {
    let bounds = cause.bounds.map(|(low, high)| json!([low, high]));
    json!({
        "id": cause.id,
        "name": cause.name,
        "posterior": cause.posterior,
        "at_first": cause.at_first,
        "bounds": bounds,
    })
}

fn closing(view: &ClosingView) -> Value {
    let proven =
        view.proven.iter().map(|(say, under, m)| json!({"complaint": say, "under": under, "minutes": m}));
    let stay = view.stay.iter().map(|(name, p)| json!({"cause": name, "probability": p}));
    let handed = view.handed_over.iter().map(|(text, to)| json!({"text": text, "to": to}));
    json!({
        "proven": proven.collect::<Vec<_>>(),
        "unproven": view.unproven,
        "done": view.done,
        "stay": stay.collect::<Vec<_>>(),
        "handed_over": handed.collect::<Vec<_>>(),
    })
}

fn open(left: &[Left]) -> Vec<Value> {
    left.iter().map(|left| json!({"text": left.text, "temporary": left.temporary})).collect()
}

pub(super) fn caution(caution: &Caution) -> Value {
    json!({"signal": signal(caution.signal), "text": caution.text})
}

fn known(state: &str) -> Option<&str> {
    (!state.is_empty()).then_some(state)
}

/// A signal word of ANSI Z535.
#[must_use]
pub(super) const fn signal(signal: Signal) -> &'static str {
    match signal {
        Signal::Danger => "DANGER",
        Signal::Warning => "WARNING",
        Signal::Caution => "CAUTION",
        Signal::Notice => "NOTICE",
    }
}

const fn kind(kind: NoteKind) -> &'static str {
    match kind {
        NoteKind::Person => "person",
        NoteKind::Said => "said",
        NoteKind::Found => "found",
        NoteKind::CannotTell => "cannot-tell",
        NoteKind::Seen => "seen",
        NoteKind::SeenAbsent => "seen-absent",
        NoteKind::ThereNow => "there-now",
        NoteKind::NotThereNow => "not-there-now",
        NoteKind::Step => "step",
        NoteKind::Done => "done",
        NoteKind::NotDone => "not-done",
        NoteKind::Proven => "proven",
        NoteKind::WorkState => "work-state",
        NoteKind::Nameplate => "nameplate",
        NoteKind::NoEmergency => "no-emergency",
        NoteKind::Emergency => "emergency",
        NoteKind::AllClear => "all-clear",
        NoteKind::Left => "left",
        NoteKind::PutBack => "put-back",
        NoteKind::LeftHandedOver => "left-handed-over",
        NoteKind::WorkChanged => "work-changed",
        NoteKind::Remark => "remark",
        NoteKind::HandedOver => "handed-over",
        NoteKind::ClosedProven => "closed-proven",
        NoteKind::ClosedHandedOver => "closed-handed-over",
        NoteKind::ClosedUnproven => "closed-unproven",
    }
}

/// RFC 3339, UTC.
fn stamp(at: i64) -> Option<String> {
    jiff::Timestamp::from_millisecond(at).ok().map(|time| time.to_string())
}
