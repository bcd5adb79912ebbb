//! The dialogue: a person's lines in, events into the session, and what to show, as data.
//!
//! In: a typed line, the time, and what the session waits for. Out: a [`Turn`]: what there is to say; the events are in
//! the session already, and whoever keeps the case stores them before the next prompt. Between a line and the session
//! stands [`hear`](super::hear); here its meanings become events, doubts become questions, and the standing words (why,
//! ranking, undo …) become views. Invariants: no I/O, no clock, no text of the trade; a line that is not understood
//! changes nothing; what was understood of a line is taken in the order of its words.

mod ahead;
mod answer;
mod change;
mod doubt;
mod entry;
mod on_the_spot;
mod power_up;
mod present;
mod said;
mod volunteered;
mod waiting;
mod wires;
mod word;

use std::sync::OnceLock;

pub use said::{AnswerLine, First, Own, Said, Turn};

use super::event::{Event, What};
use super::hear::{Alarm, Answer, Ear, Expecting, Heard, Kind, Meaning, Unclear, Word, hear};
use super::power_up::baseline::{Baseline, then_and_now};
use super::prompt::{Prompt, View};
use super::slip::Slip;
use super::state_machine::Session;
use crate::quantity::reckon::is_reckoning;

/// A session and the person who talks with it.
#[derive(Clone, Debug)]
pub struct Dialogue {
    session: Session,
    kinds: Vec<Kind>,
    /// Made when the first line is heard, so that the first question does not wait for it.
    ear: OnceLock<Ear>,
    /// Number of units and findings for which `ear` was made; it is made anew when units appear.
    heard_of: (usize, usize),
    pending: Pending,
    /// Rankings in numbers.
    numbers: bool,
    /// What else a line said that announced an emergency; taken when all is clear.
    held: Vec<Meaning>,
    /// What else is to be asked back, in its order.
    doubts: Vec<Unclear>,
    /// What was read at earlier power-ups of the job.
    baselines: Vec<Baseline>,
    /// The whole plan is to be worked out, once there is something to plan for.
    wanted: Option<ahead::Wanted>,
}

/// A question of the dialogue itself, which the session knows nothing of.
#[derive(Clone, PartialEq, Debug, Default)]
enum Pending {
    /// None: the session's own question stands.
    #[default]
    Nothing,
    /// Which of its choices was meant?
    Doubt(Unclear),
    /// Which emergency is it? (ids, questions)
    WhichEmergency(Vec<(String, String)>),
    /// Which answer is to be changed?
    WhichAnswer(Vec<AnswerLine>),
    /// What to answer instead?
    ChangeTo(AnswerLine),
    /// Hand over now?
    HandOver(Box<Slip>),
    /// A reading of several quantities of which some are still wanted: the test, and what was typed so far.
    Entry { test: String, typed: String },
    /// A test that gives several findings: those answered so far.
    Parts { test: String, got: Vec<(String, String)>, sure: bool },
}

impl Dialogue {
    /// A dialogue over a session; `kinds` are the units that may still appear in it (none where there is a job sheet).
    #[must_use]
    pub fn new(session: Session, kinds: Vec<Kind>) -> Self {
        let heard_of = (session.model().units.len(), session.model().findings.len());
        Self {
            session,
            kinds,
            ear: OnceLock::new(),
            heard_of,
            pending: Pending::Nothing,
            numbers: false,
            held: Vec::new(),
            doubts: Vec::new(),
            baselines: Vec::new(),
            wanted: None,
        }
    }

    /// The same dialogue, which knows what was read at earlier power-ups of the job, the latest last.
    #[must_use]
    pub fn with_baselines(mut self, baselines: Vec<Baseline>) -> Self {
        self.baselines = baselines;
        self
    }

    /// The words of the model.
    fn ear(&self) -> &Ear {
        self.ear.get_or_init(|| Ear::new(self.session.model(), &self.kinds))
    }

    /// The session.
    #[must_use]
    pub const fn session(&self) -> &Session {
        &self.session
    }

    /// What to show now.
    #[must_use]
    pub fn view(&self) -> View {
        self.session.view()
    }

    /// Of a test that gives several findings: the position of the one whose turn it is.
    #[must_use]
    pub fn part(&self) -> usize {
        match &self.pending {
            Pending::Parts { got, .. } => got.len(),
            _ => 0,
        }
    }

    /// Whether a question of the dialogue's own stands, so that the session's is not asked just now.
    #[must_use]
    pub const fn asks(&self) -> bool {
        !matches!(self.pending, Pending::Nothing | Pending::Parts { .. })
    }

    /// What answers the dialogue's own question, where one stands.
    #[must_use]
    pub fn own(&self) -> Option<Own> {
        match &self.pending {
            Pending::Nothing | Pending::Parts { .. } | Pending::Entry { .. } => None,
            Pending::Doubt(unclear) => Some(Own::Choice(unclear.choices.len())),
            Pending::WhichEmergency(all) => Some(Own::Choice(all.len())),
            Pending::WhichAnswer(_) => Some(Own::Number),
            Pending::HandOver(_) => Some(Own::YesNo),
            Pending::ChangeTo(line) => Some(Own::New(match self.waits_for_change(line.line.event) {
                Some(Expecting::Finding(at)) => self.session.model().findings[at.at()].outcomes.clone(),
                Some(Expecting::YesNo) => vec!["yes".to_owned(), "no".to_owned()],
                _ => Vec::new(),
            })),
        }
    }

    /// Whether rankings are shown in numbers.
    #[must_use]
    pub const fn numbers(&self) -> bool {
        self.numbers
    }

    /// Takes one line that was typed at the time `at` (milliseconds since 1970-01-01 UTC).
    pub fn line(&mut self, line: &str, at: i64) -> Turn {
        let mut turn = Turn::default();
        // Arithmetic is answered at once, whatever is asked; nothing is taken of it.
        if is_reckoning(line) {
            turn.said.push(word::reckoned(line));
            return turn;
        }
        let view = self.session.view();
        if matches!(view.prompt, Prompt::Contradiction(_)) && waiting::says_changed(line) {
            self.take(What::WorkChanged, at, &mut turn);
            return turn;
        }
        if self.wires(line, &view, at, &mut turn) {
            return turn;
        }
        let (heard, settles) = self.listen(line, &view);
        if !matches!(heard, Heard::Emergency(_) | Heard::Word(_))
            && let Some(rest) = self.on_the_spot(line, &mut turn)
        {
            let further =
                if rest.is_empty() { Turn { again: true, ..Turn::default() } } else { self.line(&rest, at) };
            turn.said.extend(further.said);
            (turn.again, turn.leave) = (further.again, further.leave);
            return turn;
        }
        if !settles && self.kept_asking(line, &heard, at, &mut turn) {
            self.next_doubt(&mut turn);
            return turn;
        }
        // Whatever is looked at meanwhile, the choices come again.
        if matches!(&heard, Heard::Word(word) if *word != Word::Undo) {
            self.put_off();
        }
        match heard {
            Heard::Nothing => {
                self.drop_own();
                turn.again = true;
            }
            Heard::Emergency(alarm) => self.alarm(alarm, at, &mut turn),
            Heard::Word(word) => self.word(word, &view, at, &mut turn),
            Heard::Understood(meanings) => {
                let of_the_trouble = |meaning: &Meaning| {
                    matches!(
                        meaning,
                        Meaning::Symptom(_)
                            | Meaning::FaultNumber { .. }
                            | Meaning::Cause { present: true, .. }
                    )
                };
                let told = meanings.iter().any(of_the_trouble);
                self.mean(meanings, &view, at, &mut turn);
                let still = matches!(view.prompt, Prompt::Complaint)
                    && matches!(self.session.view().prompt, Prompt::Complaint);
                if told && still {
                    turn.said.push(Said::NoComplaintYet);
                }
            }
            Heard::Unclear(unclear) => {
                self.keep_entry(&unclear, line, &view);
                self.unclear(unclear, &view, at, &mut turn);
            }
        }
        self.listen_anew();
        self.look_ahead();
        self.next_doubt(&mut turn);
        turn
    }

    /// Hears a line: against the dialogue's own question first, then against the session's.
    /// Whether it answers the dialogue's own goes with it.
    fn listen(&self, line: &str, view: &View) -> (Heard, bool) {
        let hear_as = |expecting: &Expecting| hear(line, &self.context(expecting));
        let own = match &self.pending {
            Pending::Nothing | Pending::Parts { .. } | Pending::Entry { .. } => None,
            Pending::Doubt(unclear) => Some(Expecting::Choose(unclear.choices.clone())),
            Pending::WhichEmergency(all) => {
                Some(Expecting::Pick(all.iter().map(|(_, ask)| ask.clone()).collect()))
            }
            Pending::WhichAnswer(lines) => {
                Some(Expecting::Pick(lines.iter().map(|line| line.line.about.clone()).collect()))
            }
            Pending::ChangeTo(line) => self.waits_for_change(line.line.event),
            Pending::HandOver(_) => Some(Expecting::YesNo),
        };
        let answers = |heard: &Heard| match heard {
            Heard::Understood(meanings) => {
                meanings.iter().any(|meaning| matches!(meaning, Meaning::Answer(_)))
            }
            Heard::Emergency(_) | Heard::Word(_) => true,
            Heard::Nothing | Heard::Unclear(_) => false,
        };
        // A choice may come back as what it says, so anything understood answers a doubt.
        let settles = |heard: &Heard| {
            answers(heard)
                || matches!(self.pending, Pending::Doubt(_)) && matches!(heard, Heard::Understood(_))
        };
        let heard = own
            .map(|expecting| hear_as(&expecting))
            .filter(settles)
            .map_or_else(|| (hear_as(&self.waits_for(&view.prompt)), false), |heard| (heard, true));
        let (alone, settles) = heard;
        (self.completed(line, view, &alone).unwrap_or(alone), settles)
    }

    /// Takes what a line says, in its order; stops at the first thing that is refused.
    fn mean(&mut self, meanings: Vec<Meaning>, view: &View, at: i64, turn: &mut Turn) {
        let pending = std::mem::take(&mut self.pending);
        if let (Pending::Doubt(unclear), [Meaning::Answer(Answer::Pick(pick))]) =
            (&pending, meanings.as_slice())
        {
            match unclear.choices.get(*pick) {
                Some(choice) => self.mean(choice.means.clone(), view, at, turn),
                None => turn.said.push(Said::NotUnderstood),
            }
            return;
        }
        // None of the choices: the question before it stands; it is no answer to that one.
        if let (
            Pending::Doubt(unclear),
            [Meaning::Answer(Answer::YesNo { yes: false, .. } | Answer::CannotTell)],
        ) = (&pending, meanings.as_slice())
        {
            self.keep_words(&unclear.words, at, turn);
            turn.said.push(match view.prompt {
                Prompt::Complaint => Said::WhatYouNotice,
                _ => Said::NoneOfThem,
            });
            return;
        }
        let same = match pending {
            Pending::Doubt(_) => self.same_unit(&meanings),
            _ => Vec::new(),
        };
        let answers = meanings.iter().any(|meaning| matches!(meaning, Meaning::Answer(_)));
        let mut pending = Some(pending);
        for meaning in meanings {
            let taken = match meaning {
                Meaning::Answer(answer) => match pending.take().unwrap_or_default() {
                    Pending::Nothing | Pending::Doubt(_) | Pending::Entry { .. } => {
                        self.answer(&answer, view, None, at, turn)
                    }
                    parts @ Pending::Parts { .. } => self.answer(&answer, view, Some(parts), at, turn),
                    own => self.answer_own(&answer, own, at, turn),
                },
                other => self.volunteer(other, at, turn),
            };
            if !taken {
                return;
            }
        }
        for means in same {
            self.mean(means, view, at, turn);
        }
        // Something else was said in the middle of a test of several parts: its question stands.
        if let (false, Some(parts @ Pending::Parts { .. })) = (answers, pending) {
            let still = |test: &str| matches!(self.session.view().prompt, Prompt::Test(ref step) if step.test == test);
            if matches!(&parts, Pending::Parts { test, .. } if still(test)) {
                self.pending = parts;
            }
        }
    }

    /// An emergency, wherever in the line.
    fn alarm(&mut self, alarm: Alarm, at: i64, turn: &mut Turn) {
        self.put_off();
        let Some(emergency) = self.session.model().practice.emergencies.get(alarm.emergency) else { return };
        let raised = What::EmergencyRaised { emergency: emergency.id.clone(), words: alarm.words };
        if self.take(raised, at, turn) {
            self.held = alarm.rest;
        }
    }

    /// Applies one event and keeps what there is to say about it. Whether it was taken.
    fn take(&mut self, what: What, at: i64, turn: &mut Turn) -> bool {
        let cleared = match &what {
            What::AllClear { emergency } => Some(emergency.clone()),
            _ => None,
        };
        let before = then_and_now(self.session.model(), &self.baselines, &what);
        let proves = self.proves(&what);
        match self.session.apply(Event { at, what }) {
            Ok(reply) => {
                turn.said.extend(before.map(Said::ThenAndNow));
                turn.said.extend(proves.map(Said::Proves));
                turn.said.extend(reply.effects.into_iter().map(Said::Brought));
            }
            Err(refused) => {
                turn.said.push(Said::Refused(refused));
                return false;
            }
        }
        if let Some(cleared) = cleared.filter(|_| !matches!(self.session.view().prompt, Prompt::Emergency(_)))
        {
            self.listen_anew();
            let held = std::mem::take(&mut self.held);
            let told_with_it = !held.is_empty();
            for meaning in held {
                if !matches!(meaning, Meaning::Answer(_)) && !self.volunteer(meaning, at, turn) {
                    break;
                }
            }
            if told_with_it {
                self.clear_with(&cleared, at, turn);
            }
        }
        true
    }

    /// What the same line announced besides, and the same all-clear has ruled out, is not asked about once more.
    fn clear_with(&mut self, cleared: &str, at: i64, turn: &mut Turn) {
        let Prompt::Emergency(now) = self.session.view().prompt else { return };
        let all = &self.session.model().practice.emergencies;
        let with = all.iter().find(|other| other.id == now.id).map(|other| &other.cleared_with);
        if with.is_some_and(|with| with.iter().any(|id| id == cleared)) {
            self.take(What::AllClear { emergency: now.id }, at, turn);
        }
    }

    /// What the outcome of a step proves, where the package says so.
    fn proves(&self, what: &What) -> Option<String> {
        let What::StepTaken { step, outcome, .. } = what else { return None };
        let step = self.session.model().procedure.steps.iter().find(|form| form.id == *step)?;
        let at = step.outcomes.iter().position(|known| known == outcome)?;
        Some(step.proves[at].clone()).filter(|text| !text.is_empty())
    }

    /// Indexes the words again where units have appeared.
    fn listen_anew(&mut self) {
        let now = (self.session.model().units.len(), self.session.model().findings.len());
        if now != self.heard_of {
            self.ear = OnceLock::new();
            self.heard_of = now;
        }
    }
}
