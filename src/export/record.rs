//! The commissioning record: its lines in words, as Markdown, as JSON.

use jiff::tz::TimeZone;
use serde_json::{Value, json};

use super::markdown::Markdown;
use super::number::words;
use super::time::moment;
use crate::session::power_up::record::{Record, RecordStep, Taken};

/// What came of a step, in words: readings and outcome, by whom, when.
#[must_use]
pub fn taken_line(taken: &Taken, measured_in: &str, zone: &TimeZone) -> String {
    let read =
        taken.readings.iter().map(|number| format!("{number} {measured_in}")).collect::<Vec<_>>().join(", ");
    let read = if read.is_empty() { read } else { format!("{read}: ") };
    let by = if taken.by.is_empty() { String::new() } else { format!(" ({})", taken.by) };
    format!("{read}{}{by}, {}", words(&taken.outcome), moment(taken.at, zone))
}

/// A step of the record, in words.
#[must_use]
pub fn record_line(step: &RecordStep, zone: &TimeZone) -> String {
    let limit = if step.expect.is_empty() { String::new() } else { format!(" [{}]", step.expect) };
    let came = match &step.taken {
        Some(taken) if step.confirmed => taken_line(taken, &step.measured_in, zone),
        Some(taken) => format!("{}; NOT CONFIRMED now", taken_line(taken, &step.measured_in, zone)),
        None if step.confirmed => "no longer needed".to_owned(),
        None => "NOT DONE".to_owned(),
    };
    format!("{}{limit}: {came}", step.say.trim_end_matches(['.', '?']))
}

/// The field wiring in words: how many connections are good, what was wrong; nothing where there is no wire list.
#[must_use]
pub fn wires_lines(record: &Record) -> Vec<String> {
    let (good, of) = record.wires;
    if of == 0 {
        return Vec::new();
    }
    let wrong = record.wires_wrong.iter().map(|(text, mended)| {
        let now = if *mended { "put right, good" } else { "OPEN" };
        format!("{text}; {now}")
    });
    std::iter::once(format!("{good} of {of} connections good")).chain(wrong).collect()
}

/// The commissioning record; times in the given zone.
#[must_use]
pub fn record_markdown(record: &Record, zone: &TimeZone) -> String {
    let mut out = Markdown::titled(&format!("Commissioning record: {}", record.title));
    out.notice(&record.notice);
    out.item("Job", record.job.as_deref().unwrap_or("no job sheet")).item("Knowledge", &record.knowledge);
    out.item("People", &record.people.join("; "));
    let (from, to) = record.from_to;
    out.item("From", &moment(from, zone)).item("To", &moment(to, zone));
    out.item("State", if record.complete { "complete" } else { "NOT complete" });
    out.list("Steps", record.steps.iter().map(|step| record_line(step, zone)));
    let deviations = record.deviations.iter().map(|deviation| {
        let cured = if deviation.cured { "confirmed later" } else { "OPEN" };
        format!("{}: {}; {cured}", deviation.say, taken_line(&deviation.taken, "", zone))
    });
    out.list("Deviations", deviations);
    out.list("Field wiring", wires_lines(record).into_iter());
    out.list("Done about them", record.done.iter().cloned());
    out.left("Temporary measures, open", &record.open);
    let settled = record.settled.iter().map(|(text, to)| {
        if to.is_empty() { format!("put back: {text}") } else { format!("handed over to {to}: {text}") }
    });
    out.list("Temporary measures, closed", settled);
    out.list("To sign", record.signatures.iter().map(|who| format!("{who}: name, date, signature")));
    out.text
}

/// The commissioning record, format 1.
#[must_use]
pub fn record_json(record: &Record) -> Value {
    let stamp = |at: i64| jiff::Timestamp::from_millisecond(at).ok().map(|time| time.to_string());
    let taken = |taken: &Taken| json!({"outcome": taken.outcome, "readings": taken.readings, "by": taken.by, "at": stamp(taken.at)});
    let steps = record.steps.iter().map(|step| {
        json!({
            "id": step.id,
            "say": step.say,
            "expect": step.expect,
            "measured_in": step.measured_in,
            "confirmed": step.confirmed,
            "baseline": step.baseline,
            "taken": step.taken.as_ref().map(taken),
        })
    });
    let deviations = record.deviations.iter().map(
        |deviation| json!({"say": deviation.say, "taken": taken(&deviation.taken), "cured": deviation.cured}),
    );
    let settled = record.settled.iter().map(|(text, to)| {
        let to = (!to.is_empty()).then_some(to);
        json!({"text": text, "handed_over_to": to})
    });
    json!({
        "format": 1,
        "title": record.title,
        "knowledge": record.knowledge,
        "job": record.job,
        "people": record.people,
        "from": stamp(record.from_to.0),
        "to": stamp(record.from_to.1),
        "complete": record.complete,
        "steps": steps.collect::<Vec<Value>>(),
        "deviations": deviations.collect::<Vec<Value>>(),
        "wires": {
            "good": record.wires.0,
            "of": record.wires.1,
            "wrong": record.wires_wrong.iter().map(|(text, good)| json!({"text": text, "good_now": good})).collect::<Vec<Value>>(),
        },
        "done": record.done,
        "open": record.open.iter().map(|left| left.text.clone()).collect::<Vec<String>>(),
        "settled": settled.collect::<Vec<Value>>(),
        "to_sign": record.signatures,
        "notice": record.notice,
    })
}
