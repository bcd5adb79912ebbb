//! Events: what happened in a session, as plain data, in the order in which it happened.
//!
//! In: what a person said or did, already understood. Out: one entry of the append-only log each. Ids are texts, so that
//! a log outlives a recompiled package. Invariant: an event carries its own time; nothing here reads a clock.

use crate::model::catalog::Stage;

/// The position of an event in the log, from 0; it never changes.
pub type EventNo = usize;

/// The form of the events of this version, stored beside them.
pub const EVENT_FORMAT: u32 = 1;

/// One entry of the log.
#[derive(Clone, PartialEq, Debug)]
pub struct Event {
    /// When, in milliseconds since 1970-01-01 UTC.
    pub at: i64,
    /// What happened.
    pub what: What,
}

/// A person who is present, on the phone or at the panel.
#[derive(Clone, PartialEq, Debug)]
pub struct Who {
    /// The name, or empty.
    pub name: String,
    /// Ids of competences.
    pub competences: Vec<String>,
    /// Ids of instruments at hand; `None`: what such a person carries.
    pub instruments: Option<Vec<String>>,
}

/// What a test answered.
#[derive(Clone, PartialEq, Debug)]
pub enum Answer {
    /// Findings (id) with their outcomes (name).
    Outcomes(Vec<(String, String)>),
    /// The numbers read, in the test's own measure and order.
    Readings(Vec<f64>),
    /// A fault number or words as the device shows them, looked up in its own table.
    FaultNumber(String),
    /// The person cannot tell; no evidence.
    CantTell,
}

/// One thing left in another state than it was found in.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct LeftId {
    /// The event that left it.
    pub event: EventNo,
    /// Which of the things that this event left, from 0.
    pub at: usize,
}

/// What a continuity reading of a connection found. Other connections are named by their ids.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum WireFound {
    /// Continuity from end to end, and to nothing else.
    Good,
    /// No continuity.
    Open,
    /// There is no conductor.
    Missing,
    /// Its conductor is at the place of that connection.
    At(String),
    /// Good, but joined to that connection as well.
    Joined(String),
}

/// How a case is closed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Closing {
    /// Every complaint was proven gone.
    Proven,
    /// It was handed over.
    HandedOver,
    /// It ends unproven: the caller rang off, the customer declined.
    Unproven,
}

/// What happened.
#[derive(Clone, PartialEq, Debug)]
pub enum What {
    /// The session began. Always the first event, and only the first.
    Started {
        /// Package id.
        knowledge: String,
        /// Job id, where there is a sheet.
        job: Option<String>,
        /// The stage.
        stage: Stage,
        /// Who is present.
        who: Who,
    },
    /// The emergencies were asked: ids of those present, mostly none.
    EmergenciesAnswered {
        /// Ids.
        present: Vec<String>,
    },
    /// Words announced an emergency.
    EmergencyRaised {
        /// Its id.
        emergency: String,
        /// The words.
        words: String,
    },
    /// Somebody on site says that an emergency is over, or has ruled it out.
    AllClear {
        /// Its id.
        emergency: String,
    },
    /// A finding, told without being asked: a symptom in the caller's words, mostly.
    Volunteered {
        /// Finding id.
        finding: String,
        /// Outcome.
        outcome: String,
        /// `false`: "I think so".
        sure: bool,
        /// The words.
        words: String,
    },
    /// One or more of several findings of the same kind, without saying which ("one of the fans is dead"): the highest
    /// outcome over those not answered singly.
    OneOf {
        /// Finding ids.
        findings: Vec<String>,
        /// Outcome.
        outcome: String,
        /// `false`: "I think so".
        sure: bool,
        /// The words.
        words: String,
    },
    /// Whether the complaints are there just now.
    ThereNow {
        /// They are.
        there: bool,
    },
    /// A test was answered.
    Answered {
        /// Test id.
        test: String,
        /// The answer.
        answer: Answer,
        /// `false`: "I think so".
        sure: bool,
        /// The words.
        words: String,
    },
    /// A cause was seen, or seen to be absent: "the fuse is blown, I have it in my hand".
    CauseSeen {
        /// Cause id.
        cause: String,
        /// It is there.
        present: bool,
        /// The words.
        words: String,
    },
    /// The answer that an offer of a check named was looked at again and stands.
    Stands {
        /// The event that gave the answer.
        event: EventNo,
    },
    /// What the person says the work state is now.
    WorkStateTold {
        /// Work state id.
        state: String,
    },
    /// One act on the way into a work state, confirmed.
    WorkStep {
        /// Work state id.
        state: String,
        /// Which act, from 0.
        step: usize,
        /// Who confirmed: name or competence.
        by: String,
    },
    /// One act on the way back, confirmed.
    BackStep {
        /// The work state that is left.
        state: String,
        /// Which act, from 0.
        step: usize,
        /// Who confirmed: name or competence.
        by: String,
    },
    /// The way into a work state, or back, was broken off.
    WorkBrokenOff,
    /// A fix was done.
    FixDone {
        /// Fix id.
        fix: String,
        /// Remark, or empty.
        words: String,
    },
    /// A fix was not done: refused, not possible, no part.
    FixNotDone {
        /// Fix id.
        fix: String,
        /// Why.
        words: String,
    },
    /// A step (test or prove) will not be done by this person now.
    StepNotDone {
        /// Test id.
        test: String,
        /// Why.
        words: String,
    },
    /// A complaint was taken again under its load and for its time.
    Proved {
        /// Finding id.
        finding: String,
        /// Outcome; the first is "gone".
        outcome: String,
        /// Minutes for which it was watched.
        minutes: f64,
        /// The words.
        words: String,
    },
    /// Who is present changed.
    Person {
        /// Who came.
        who: Who,
        /// Those who were there stay.
        others_stay: bool,
    },
    /// A unit was mentioned that no job sheet lists.
    UnitMentioned {
        /// Its id.
        unit: String,
        /// Its component.
        component: String,
        /// The caller's name for it.
        name: String,
    },
    /// How a unit belongs with another one was told, where no job sheet says it.
    UnitRelated {
        /// Unit id.
        unit: String,
        /// Relation of its component.
        relation: String,
        /// The other unit's id.
        other: String,
    },
    /// A nameplate value was read out.
    NameplateTold {
        /// Unit id.
        unit: String,
        /// Key.
        key: String,
        /// The value as told: a number, or a word.
        value: String,
    },
    /// A nameplate value cannot be told.
    NameplateUnknown {
        /// Unit id.
        unit: String,
        /// Key.
        key: String,
    },
    /// Something was lifted, pulled, put in local, simulated or slowed.
    Left {
        /// What has to be put back.
        item: String,
    },
    /// A measure for the meantime was taken.
    Meanwhile {
        /// Its id.
        measure: String,
    },
    /// Something was put back.
    PutBack {
        /// Which.
        item: LeftId,
    },
    /// Something stays as it is and was handed over, by name.
    LeftHandedOver {
        /// Which.
        item: LeftId,
        /// To whom.
        to: String,
    },
    /// The work changed something that nobody described: stage after-work, epoch 0 again; what was taken before no
    /// longer counts.
    WorkChanged,
    /// A remark for the note.
    Note {
        /// The text.
        text: String,
    },
    /// The latest event that can be taken back is taken back.
    Undo,
    /// An earlier answer is replaced, or withdrawn.
    Change {
        /// The event that gave it.
        event: EventNo,
        /// What should have been said; `None`: nothing.
        to: Option<Box<What>>,
    },
    /// The session is a first power-up.
    PowerUpBegan,
    /// A step of the power-up was taken.
    StepTaken {
        /// Step id.
        step: String,
        /// Outcome; the first goes on.
        outcome: String,
        /// The numbers read, in the step's own measure and order.
        readings: Vec<f64>,
        /// Who: name or competence.
        by: String,
        /// The words.
        words: String,
    },
    /// A real state that was confirmed before was asked again.
    StepStill {
        /// Step id.
        step: String,
        /// It still is so.
        still: bool,
        /// Who: name or competence.
        by: String,
    },
    /// A connection of the wire list was read.
    WireRead {
        /// The connection's id.
        wire: String,
        /// What was found.
        found: WireFound,
        /// Who: name or competence.
        by: String,
    },
    /// A step cannot be taken now by those present.
    StepPassedOver {
        /// Step id.
        step: String,
        /// Why.
        words: String,
    },
    /// The case was handed over, everything that is open included.
    HandedOver {
        /// Competence id, or `unlisted`.
        competence: String,
        /// Name, or empty.
        to: String,
    },
    /// The session is taken up again.
    Resumed {
        /// Who is present now; `None`: the same.
        who: Option<Who>,
    },
    /// The case is closed.
    Closed {
        /// How.
        how: Closing,
    },
}
