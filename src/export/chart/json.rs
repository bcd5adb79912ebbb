//! The plan as JSON, format 1.

use serde_json::{Value, json};

use super::super::json::caution;
use super::{Card, Chart};

/// The plan as data: numbers in full, one entry per card.
#[must_use]
pub fn json(chart: &Chart) -> Value {
    json!({
        "format": 1,
        "notice": chart.notice,
        "title": chart.title,
        "about": chart.about,
        "expected_minutes": chart.expected,
        "bound_minutes": chart.bound,
        "cut": chart.cut,
        "open": chart.open,
        "full": chart.full,
        "states": chart.states,
        "start": 1,
        "nodes": chart.cards.iter().map(node).collect::<Vec<Value>>(),
        "course": chart.course,
    })
}

fn node(card: &Card) -> Value {
    let likely = card.likely.iter().map(|(name, chance)| json!({"cause": name, "probability": chance}));
    let answers = card.answers.iter().map(|answer| {
        let found = answer.found.iter().map(|one| {
            one.iter().map(|(id, outcome)| json!({"finding": id, "outcome": outcome})).collect::<Vec<Value>>()
        });
        json!({
            "say": answer.say,
            "found": found.collect::<Vec<_>>(),
            "probability": answer.chance,
            "to": answer.to,
        })
    });
    json!({
        "number": card.number,
        "kind": card.kind.name(),
        "id": card.id,
        "head": card.head,
        "cautions": card.cautions.iter().map(caution).collect::<Vec<_>>(),
        "lines": card.lines,
        "notes": card.notes,
        "conditions": card.conditions,
        "work_state": card.work_state,
        "minutes": card.minutes,
        "expected_minutes": card.expected,
        "reach": card.reach,
        "likely": likely.collect::<Vec<_>>(),
        "answers": answers.collect::<Vec<_>>(),
    })
}
