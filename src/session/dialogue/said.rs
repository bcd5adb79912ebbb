//! What there is to say after a line.

use super::super::hear::Doubt;
use super::super::note::{Note, NoteLine};
use super::super::otherwise::Otherwise;
use super::super::power_up::baseline::ThenAndNow;
use super::super::prompt::{Left, PowerUpStep, WireDeviation};
use super::super::ranking::{Factor, Ranking};
use super::super::reply::{Effect, Refused};
use super::super::slip::Slip;
use super::super::why::WhyNow;
use crate::quantity::reckon::{Reckoned, Unreckoned};

/// What a line brought.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Turn {
    /// What there is to say, in order.
    pub said: Vec<Said>,
    /// The question is wanted again, whole.
    pub again: bool,
    /// The person wants to leave; everything is saved already.
    pub leave: bool,
}

/// An answer given so far, with the number by which to change it.
#[derive(Clone, PartialEq, Debug)]
pub struct AnswerLine {
    /// The number that `change` takes, from 1.
    pub number: usize,
    /// Its line in the note; its `event` gave it.
    pub line: NoteLine,
}

/// What answers a question of the dialogue's own.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Own {
    /// One of so many choices.
    Choice(usize),
    /// The number of an answer in the list.
    Number,
    /// Yes or no.
    YesNo,
    /// A new answer: one of these outcomes, or whatever was asked for where there are none.
    New(Vec<String>),
}

/// Questions that come before any weighing.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum First {
    /// The safety of people.
    Safety,
    /// Without a complaint there is nothing to look for.
    Complaint,
    /// What looks normal while the trouble is away proves nothing.
    ThereNow,
}

/// One thing to say.
#[derive(Clone, PartialEq, Debug)]
pub enum Said {
    /// The answer to a question that can come at any time.
    OnTheSpot {
        /// What is said.
        lines: Vec<String>,
        /// What must not be done meanwhile, by the present slip.
        not_meanwhile: Vec<String>,
    },
    /// Connections were read: their numbers, and whether all of them are good.
    WiresRead {
        /// Numbers.
        numbers: Vec<usize>,
        /// All of these are good.
        all_good: bool,
    },
    /// What is wrong with connections, by the readings so far.
    WireWrong(Box<WireDeviation>),
    /// There is no such connection.
    NoConnection {
        /// As it was typed.
        name: String,
        /// How many there are.
        of: usize,
    },
    /// Taken down: what it is about, and what was understood.
    Taken {
        /// The finding, the fix, the person …
        about: String,
        /// What was understood of it.
        outcome: String,
    },
    /// The same of something told without being asked.
    Told {
        /// The finding.
        about: String,
        /// What was understood of it.
        outcome: String,
    },
    /// One of several was told, without saying which.
    OneOf {
        /// Names of the findings.
        among: Vec<String>,
        /// What was understood.
        outcome: String,
    },
    /// A cause was seen.
    Seen {
        /// Its name.
        cause: String,
        /// It is there.
        present: bool,
    },
    /// Who is here now.
    Here {
        /// The name, or empty.
        name: String,
        /// Competences by name.
        competences: Vec<String>,
        /// Instruments by name.
        instruments: Vec<String>,
    },
    /// It brought something about beside itself.
    Brought(Effect),
    /// It was not taken.
    Refused(Refused),
    /// Words are in doubt: the choices stand in the order in which they can be picked; there may be none.
    Unclear {
        /// The words.
        words: String,
        /// Why.
        doubt: Doubt,
        /// What they may mean.
        choices: Vec<String>,
    },
    /// Which of these? Picked by number or words.
    Which(Vec<String>),
    /// What would be, were this answer otherwise.
    WhatIf {
        /// The answer.
        line: AnswerLine,
        /// Its other outcomes.
        otherwise: Vec<Otherwise>,
    },
    /// The likely causes, with what moved the first of them.
    Ranking {
        /// The causes.
        ranking: Ranking,
        /// Per cause named first in the ranking, what moved it.
        moved: Vec<(String, Vec<Factor>)>,
        /// In numbers.
        numbers: bool,
    },
    /// Numbers are shown from now on, or words again.
    Numbers(bool),
    /// Why this step; `None`: nothing was weighed.
    Why(Option<WhyNow>),
    /// Why the question comes before any weighing.
    WhyFirst(First),
    /// Why this step of the power-up, and what its outcomes prove.
    WhyStep(Box<PowerUpStep>),
    /// The steps of the power-up that are left.
    StepsLeft(Vec<String>),
    /// The same reading at the first power-up and today.
    ThenAndNow(ThenAndNow),
    /// What an outcome of a step proves, and what it does not.
    Proves(String),
    /// What was answered so far.
    Answers(Vec<AnswerLine>),
    /// There is no answer of that number.
    NoAnswer(usize),
    /// What to answer instead of this?
    ChangeTo(AnswerLine),
    /// The call note so far.
    Note(Box<Note>),
    /// A remark was kept.
    Kept(String),
    /// What is to be put back.
    Open(Vec<Left>),
    /// Something is back as it was.
    IsBack(String),
    /// Whom to send, should it be handed over now; yes hands it over.
    HandOver(Box<Slip>),
    /// Nobody can say what is wrong: what may be noticed.
    WhatYouNotice,
    /// None of the choices was meant: nothing was taken.
    NoneOfThem,
    /// It was kept, but it is no complaint yet.
    NoComplaintYet,
    /// What can be typed; about a topic, or nothing.
    Help(String),
    /// Something of the trade's arithmetic was reckoned.
    Reckoned(Box<Reckoned>),
    /// It cannot be reckoned.
    NotReckoned(Unreckoned),
    /// What can be reckoned.
    Functions,
    /// Nothing in the line fits the question.
    NotUnderstood,
}
