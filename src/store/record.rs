//! Events as the database holds them: form 1.
//!
//! The session's own types do not say how they are stored; these do, and are converted by hand, so that the session may
//! change without the files. A later form gets types of its own beside these.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::error::StoreError;
use crate::knowledge::Stage as SessionStage;
use crate::session::event::EVENT_FORMAT;
use crate::session::{
    Answer as SessionAnswer, Closing as SessionClosing, Event, LeftId, What, Who as SessionWho,
    WireFound as SessionWireFound,
};

/// A row of the table of events, but for the case and the number.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Record {
    /// When, RFC 3339 in UTC.
    pub at: String,
    /// The form of the body.
    pub format: u32,
    /// The kind of event, the body's `kind`.
    pub kind: String,
    /// What happened, in JSON.
    pub body: String,
}

impl Record {
    /// The row of an event.
    pub(super) fn of(event: &Event) -> Result<Self, StoreError> {
        if !finite(&event.what) {
            return Err(StoreError::NotFinite);
        }
        let at = Timestamp::from_millisecond(event.at).map_err(|_| StoreError::NotFinite)?;
        // Always three digits of a second, so that texts sort as times do.
        let at = format!("{at:.3}");
        let body = serde_json::to_value(Body::from(&event.what)).map_err(|_| StoreError::NotFinite)?;
        let kind = body.get("kind").and_then(serde_json::Value::as_str).unwrap_or_default().to_owned();
        Ok(Self { at, format: EVENT_FORMAT, kind, body: body.to_string() })
    }

    /// The event of a row.
    pub(super) fn event(&self) -> Result<Event, String> {
        if self.format > EVENT_FORMAT {
            return Err(format!("it has form {}, {EVENT_FORMAT} is known", self.format));
        }
        let at = self.at.parse::<Timestamp>().map_err(|error| error.to_string())?.as_millisecond();
        Ok(Event { at, what: what(&self.body)? })
    }
}

/// What a body says.
pub(super) fn what(body: &str) -> Result<What, String> {
    serde_json::from_str::<Body>(body).map(Into::into).map_err(|error| error.to_string())
}

/// JSON holds finite numbers only.
fn finite(what: &What) -> bool {
    match what {
        What::Answered { answer: SessionAnswer::Readings(values), .. } => {
            values.iter().all(|v| v.is_finite())
        }
        What::Proved { minutes, .. } => minutes.is_finite(),
        What::StepTaken { readings, .. } => readings.iter().all(|number| number.is_finite()),
        What::Change { to: Some(to), .. } => finite(to),
        _ => true,
    }
}

#[derive(Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case", rename_all_fields = "kebab-case", deny_unknown_fields)]
enum Body {
    Started { knowledge: String, job: Option<String>, stage: Stage, who: Who },
    EmergenciesAnswered { present: Vec<String> },
    EmergencyRaised { emergency: String, words: String },
    AllClear { emergency: String },
    Volunteered { finding: String, outcome: String, sure: bool, words: String },
    OneOf { findings: Vec<String>, outcome: String, sure: bool, words: String },
    ThereNow { there: bool },
    Answered { test: String, answer: Answer, sure: bool, words: String },
    CauseSeen { cause: String, present: bool, words: String },
    Stands { event: usize },
    WorkStateTold { state: String },
    WorkStep { state: String, step: usize, by: String },
    BackStep { state: String, step: usize, by: String },
    WorkBrokenOff {},
    FixDone { fix: String, words: String },
    FixNotDone { fix: String, words: String },
    StepNotDone { test: String, words: String },
    Proved { finding: String, outcome: String, minutes: f64, words: String },
    Person { who: Who, others_stay: bool },
    UnitMentioned { unit: String, component: String, name: String },
    UnitRelated { unit: String, relation: String, other: String },
    NameplateTold { unit: String, key: String, value: String },
    NameplateUnknown { unit: String, key: String },
    Left { item: String },
    Meanwhile { measure: String },
    PutBack { item: Item },
    LeftHandedOver { item: Item, to: String },
    WorkChanged {},
    PowerUpBegan {},
    StepTaken { step: String, outcome: String, readings: Vec<f64>, by: String, words: String },
    StepStill { step: String, still: bool, by: String },
    WireRead { wire: String, found: WireFound, by: String },
    StepPassedOver { step: String, words: String },
    Note { text: String },
    Undo {},
    Change { event: usize, to: Option<Box<Body>> },
    HandedOver { competence: String, to: String },
    Resumed { who: Option<Who> },
    Closed { how: Closing },
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Stage {
    StartUp,
    InService,
    AfterWork,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
struct Who {
    name: String,
    competences: Vec<String>,
    instruments: Option<Vec<String>>,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Answer {
    Outcomes(Vec<(String, String)>),
    Readings(Vec<f64>),
    FaultNumber(String),
    CannotTell,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum WireFound {
    Good,
    Open,
    Missing,
    At(String),
    Joined(String),
}

impl From<&SessionWireFound> for WireFound {
    fn from(found: &SessionWireFound) -> Self {
        match found {
            SessionWireFound::Good => Self::Good,
            SessionWireFound::Open => Self::Open,
            SessionWireFound::Missing => Self::Missing,
            SessionWireFound::At(other) => Self::At(other.clone()),
            SessionWireFound::Joined(other) => Self::Joined(other.clone()),
        }
    }
}

impl From<WireFound> for SessionWireFound {
    fn from(found: WireFound) -> Self {
        match found {
            WireFound::Good => Self::Good,
            WireFound::Open => Self::Open,
            WireFound::Missing => Self::Missing,
            WireFound::At(other) => Self::At(other),
            WireFound::Joined(other) => Self::Joined(other),
        }
    }
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Item {
    event: usize,
    at: usize,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Closing {
    Proven,
    HandedOver,
    Unproven,
}

impl From<&What> for Body {
    fn from(what: &What) -> Self {
        match what {
            What::Started { knowledge, job, stage, who } => Self::Started {
                knowledge: knowledge.clone(),
                job: job.clone(),
                stage: (*stage).into(),
                who: who.into(),
            },
            What::EmergenciesAnswered { present } => Self::EmergenciesAnswered { present: present.clone() },
            What::EmergencyRaised { emergency, words } => {
                Self::EmergencyRaised { emergency: emergency.clone(), words: words.clone() }
            }
            What::AllClear { emergency } => Self::AllClear { emergency: emergency.clone() },
            What::Volunteered { finding, outcome, sure, words } => Self::Volunteered {
                finding: finding.clone(),
                outcome: outcome.clone(),
                sure: *sure,
                words: words.clone(),
            },
            What::OneOf { findings, outcome, sure, words } => Self::OneOf {
                findings: findings.clone(),
                outcome: outcome.clone(),
                sure: *sure,
                words: words.clone(),
            },
            What::ThereNow { there } => Self::ThereNow { there: *there },
            What::Answered { test, answer, sure, words } => Self::Answered {
                test: test.clone(),
                answer: answer.into(),
                sure: *sure,
                words: words.clone(),
            },
            What::CauseSeen { cause, present, words } => {
                Self::CauseSeen { cause: cause.clone(), present: *present, words: words.clone() }
            }
            What::Stands { event } => Self::Stands { event: *event },
            What::WorkStateTold { state } => Self::WorkStateTold { state: state.clone() },
            What::WorkStep { state, step, by } => {
                Self::WorkStep { state: state.clone(), step: *step, by: by.clone() }
            }
            What::BackStep { state, step, by } => {
                Self::BackStep { state: state.clone(), step: *step, by: by.clone() }
            }
            What::WorkBrokenOff => Self::WorkBrokenOff {},
            What::FixDone { fix, words } => Self::FixDone { fix: fix.clone(), words: words.clone() },
            What::FixNotDone { fix, words } => Self::FixNotDone { fix: fix.clone(), words: words.clone() },
            What::StepNotDone { test, words } => {
                Self::StepNotDone { test: test.clone(), words: words.clone() }
            }
            What::Proved { finding, outcome, minutes, words } => Self::Proved {
                finding: finding.clone(),
                outcome: outcome.clone(),
                minutes: *minutes,
                words: words.clone(),
            },
            What::Person { who, others_stay } => Self::Person { who: who.into(), others_stay: *others_stay },
            What::UnitMentioned { unit, component, name } => {
                Self::UnitMentioned { unit: unit.clone(), component: component.clone(), name: name.clone() }
            }
            What::UnitRelated { unit, relation, other } => {
                Self::UnitRelated { unit: unit.clone(), relation: relation.clone(), other: other.clone() }
            }
            What::NameplateTold { unit, key, value } => {
                Self::NameplateTold { unit: unit.clone(), key: key.clone(), value: value.clone() }
            }
            What::NameplateUnknown { unit, key } => {
                Self::NameplateUnknown { unit: unit.clone(), key: key.clone() }
            }
            What::Left { item } => Self::Left { item: item.clone() },
            What::Meanwhile { measure } => Self::Meanwhile { measure: measure.clone() },
            What::PutBack { item } => Self::PutBack { item: (*item).into() },
            What::LeftHandedOver { item, to } => {
                Self::LeftHandedOver { item: (*item).into(), to: to.clone() }
            }
            What::WorkChanged => Self::WorkChanged {},
            What::PowerUpBegan => Self::PowerUpBegan {},
            What::StepTaken { step, outcome, readings, by, words } => Self::StepTaken {
                step: step.clone(),
                outcome: outcome.clone(),
                readings: readings.clone(),
                by: by.clone(),
                words: words.clone(),
            },
            What::StepStill { step, still, by } => {
                Self::StepStill { step: step.clone(), still: *still, by: by.clone() }
            }
            What::WireRead { wire, found, by } => {
                Self::WireRead { wire: wire.clone(), found: found.into(), by: by.clone() }
            }
            What::StepPassedOver { step, words } => {
                Self::StepPassedOver { step: step.clone(), words: words.clone() }
            }
            What::Note { text } => Self::Note { text: text.clone() },
            What::Undo => Self::Undo {},
            What::Change { event, to } => {
                Self::Change { event: *event, to: to.as_deref().map(|what| Box::new(Body::from(what))) }
            }
            What::HandedOver { competence, to } => {
                Self::HandedOver { competence: competence.clone(), to: to.clone() }
            }
            What::Resumed { who } => Self::Resumed { who: who.as_ref().map(Into::into) },
            What::Closed { how } => Self::Closed { how: (*how).into() },
        }
    }
}

impl From<Body> for What {
    fn from(body: Body) -> Self {
        match body {
            Body::Started { knowledge, job, stage, who } => {
                Self::Started { knowledge, job, stage: stage.into(), who: who.into() }
            }
            Body::EmergenciesAnswered { present } => Self::EmergenciesAnswered { present },
            Body::EmergencyRaised { emergency, words } => Self::EmergencyRaised { emergency, words },
            Body::AllClear { emergency } => Self::AllClear { emergency },
            Body::Volunteered { finding, outcome, sure, words } => {
                Self::Volunteered { finding, outcome, sure, words }
            }
            Body::OneOf { findings, outcome, sure, words } => Self::OneOf { findings, outcome, sure, words },
            Body::ThereNow { there } => Self::ThereNow { there },
            Body::Answered { test, answer, sure, words } => {
                Self::Answered { test, answer: answer.into(), sure, words }
            }
            Body::CauseSeen { cause, present, words } => Self::CauseSeen { cause, present, words },
            Body::Stands { event } => Self::Stands { event },
            Body::WorkStateTold { state } => Self::WorkStateTold { state },
            Body::WorkStep { state, step, by } => Self::WorkStep { state, step, by },
            Body::BackStep { state, step, by } => Self::BackStep { state, step, by },
            Body::WorkBrokenOff {} => Self::WorkBrokenOff,
            Body::FixDone { fix, words } => Self::FixDone { fix, words },
            Body::FixNotDone { fix, words } => Self::FixNotDone { fix, words },
            Body::StepNotDone { test, words } => Self::StepNotDone { test, words },
            Body::Proved { finding, outcome, minutes, words } => {
                Self::Proved { finding, outcome, minutes, words }
            }
            Body::Person { who, others_stay } => Self::Person { who: who.into(), others_stay },
            Body::UnitMentioned { unit, component, name } => Self::UnitMentioned { unit, component, name },
            Body::UnitRelated { unit, relation, other } => Self::UnitRelated { unit, relation, other },
            Body::NameplateTold { unit, key, value } => Self::NameplateTold { unit, key, value },
            Body::NameplateUnknown { unit, key } => Self::NameplateUnknown { unit, key },
            Body::Left { item } => Self::Left { item },
            Body::Meanwhile { measure } => Self::Meanwhile { measure },
            Body::PutBack { item } => Self::PutBack { item: item.into() },
            Body::LeftHandedOver { item, to } => Self::LeftHandedOver { item: item.into(), to },
            Body::WorkChanged {} => Self::WorkChanged,
            Body::PowerUpBegan {} => Self::PowerUpBegan,
            Body::StepTaken { step, outcome, readings, by, words } => {
                Self::StepTaken { step, outcome, readings, by, words }
            }
            Body::StepStill { step, still, by } => Self::StepStill { step, still, by },
            Body::WireRead { wire, found, by } => Self::WireRead { wire, found: found.into(), by },
            Body::StepPassedOver { step, words } => Self::StepPassedOver { step, words },
            Body::Note { text } => Self::Note { text },
            Body::Undo {} => Self::Undo,
            Body::Change { event, to } => Self::Change { event, to: to.map(|body| Box::new((*body).into())) },
            Body::HandedOver { competence, to } => Self::HandedOver { competence, to },
            Body::Resumed { who } => Self::Resumed { who: who.map(Into::into) },
            Body::Closed { how } => Self::Closed { how: how.into() },
        }
    }
}

impl From<SessionStage> for Stage {
    fn from(stage: SessionStage) -> Self {
        match stage {
            SessionStage::StartUp => Self::StartUp,
            SessionStage::InService => Self::InService,
            SessionStage::AfterWork => Self::AfterWork,
        }
    }
}

impl From<Stage> for SessionStage {
    fn from(stage: Stage) -> Self {
        match stage {
            Stage::StartUp => Self::StartUp,
            Stage::InService => Self::InService,
            Stage::AfterWork => Self::AfterWork,
        }
    }
}

impl From<&SessionWho> for Who {
    fn from(who: &SessionWho) -> Self {
        Self {
            name: who.name.clone(),
            competences: who.competences.clone(),
            instruments: who.instruments.clone(),
        }
    }
}

impl From<Who> for SessionWho {
    fn from(who: Who) -> Self {
        Self { name: who.name, competences: who.competences, instruments: who.instruments }
    }
}

impl From<&SessionAnswer> for Answer {
    fn from(answer: &SessionAnswer) -> Self {
        match answer {
            SessionAnswer::Outcomes(all) => Self::Outcomes(all.clone()),
            SessionAnswer::Readings(values) => Self::Readings(values.clone()),
            SessionAnswer::FaultNumber(number) => Self::FaultNumber(number.clone()),
            SessionAnswer::CantTell => Self::CannotTell,
        }
    }
}

impl From<Answer> for SessionAnswer {
    fn from(answer: Answer) -> Self {
        match answer {
            Answer::Outcomes(all) => Self::Outcomes(all),
            Answer::Readings(values) => Self::Readings(values),
            Answer::FaultNumber(number) => Self::FaultNumber(number),
            Answer::CannotTell => Self::CantTell,
        }
    }
}

impl From<LeftId> for Item {
    fn from(id: LeftId) -> Self {
        Self { event: id.event, at: id.at }
    }
}

impl From<Item> for LeftId {
    fn from(item: Item) -> Self {
        Self { event: item.event, at: item.at }
    }
}

impl From<SessionClosing> for Closing {
    fn from(how: SessionClosing) -> Self {
        match how {
            SessionClosing::Proven => Self::Proven,
            SessionClosing::HandedOver => Self::HandedOver,
            SessionClosing::Unproven => Self::Unproven,
        }
    }
}

impl From<Closing> for SessionClosing {
    fn from(how: Closing) -> Self {
        match how {
            Closing::Proven => Self::Proven,
            Closing::HandedOver => Self::HandedOver,
            Closing::Unproven => Self::Unproven,
        }
    }
}
