//! Changing an earlier answer.

use super::super::event::{self, EventNo, What};
use super::super::hear::{Answer, Context, Heard, Meaning, Sure, hear};
use super::super::note::NoteKind;
use super::{AnswerLine, Dialogue, Pending, Said, Turn};

impl Dialogue {
    /// What was answered so far and still counts, numbered.
    #[must_use]
    pub fn answers(&self) -> Vec<AnswerLine> {
        let lines =
            self.session.note().lines.into_iter().filter(|line| !line.superseded && changeable(line.kind));
        lines.zip(1..).map(|(line, number)| AnswerLine { number, line }).collect()
    }

    /// The word `change`, with a number and a new answer, or without.
    pub(super) fn change(&mut self, number: Option<usize>, to: &str, at: i64, turn: &mut Turn) {
        let answers = self.answers();
        let Some(number) = number else {
            turn.said.push(Said::Answers(answers.clone()));
            if !answers.is_empty() {
                self.pending = Pending::WhichAnswer(answers);
            }
            return;
        };
        let Some(line) = answers.into_iter().find(|line| line.number == number) else {
            turn.said.push(Said::NoAnswer(number));
            return;
        };
        if to.trim().is_empty() {
            return self.ask_change(line, at, turn);
        }
        let expecting = self.waits_for_change(line.line.event).unwrap_or_default();
        let heard =
            hear(to, &Context { model: self.session.model(), ear: self.ear(), expecting: &expecting });
        match heard {
            Heard::Understood(meanings) => match meanings.as_slice() {
                [Meaning::Answer(answer)] => {
                    self.change_to(line.line.event, answer, at, turn);
                }
                _ => turn.said.push(Said::NotUnderstood),
            },
            Heard::Emergency(alarm) => self.alarm(alarm, at, turn),
            _ => turn.said.push(Said::NotUnderstood),
        }
    }

    /// Asks for the new answer; withdraws at once what can only be withdrawn.
    pub(super) fn ask_change(&mut self, line: AnswerLine, at: i64, turn: &mut Turn) {
        if self.waits_for_change(line.line.event).is_none() {
            self.take(What::Change { event: line.line.event, to: None }, at, turn);
            return;
        }
        turn.said.push(Said::ChangeTo(line.clone()));
        self.pending = Pending::ChangeTo(line);
    }

    /// Replaces the answer of that event. Whether it was taken.
    pub(super) fn change_to(&mut self, event: EventNo, answer: &Answer, at: i64, turn: &mut Turn) -> bool {
        if matches!(answer, Answer::CannotTell) {
            return self.take(What::Change { event, to: None }, at, turn);
        }
        let Some(to) = self.in_place_of(event, answer) else {
            turn.said.push(Said::NotUnderstood);
            return false;
        };
        self.take(What::Change { event, to: Some(Box::new(to)) }, at, turn)
    }

    /// The event that says this instead of that.
    fn in_place_of(&self, event: EventNo, answer: &Answer) -> Option<What> {
        let model = self.session.model();
        let old = self.session.events().get(event)?.what.clone();
        // What was changed before is changed from its latest form.
        let old = self
            .session
            .entries()
            .into_iter()
            .find(|(no, _)| *no == event)
            .map_or(old, |(_, what)| what.clone());
        let outcome = |answer: &Answer| match answer {
            Answer::Outcome { finding, outcome, sure } => {
                let finding = &model.findings[finding.at()];
                Some((finding.id.clone(), finding.outcomes.get(*outcome)?.clone(), *sure == Sure::Plain))
            }
            _ => None,
        };
        let words = String::new();
        match (old, answer) {
            (What::Volunteered { .. }, answer) => {
                let (finding, outcome, sure) = outcome(answer)?;
                Some(What::Volunteered { finding, outcome, sure, words })
            }
            (What::Proved { minutes, .. }, answer) => {
                let (finding, outcome, _) = outcome(answer)?;
                Some(What::Proved { finding, outcome, minutes, words })
            }
            (What::Answered { test, .. }, Answer::Readings { values, .. }) => Some(What::Answered {
                test,
                answer: event::Answer::Readings(values.clone()),
                sure: true,
                words,
            }),
            (What::Answered { test, .. }, Answer::Fault { number, .. }) => {
                let answer = event::Answer::FaultNumber(number.typed.clone());
                Some(What::Answered { test, answer, sure: true, words })
            }
            (What::Answered { test, .. }, answer) => {
                let (finding, outcome, sure) = outcome(answer)?;
                Some(What::Answered {
                    test,
                    answer: event::Answer::Outcomes(vec![(finding, outcome)]),
                    sure,
                    words,
                })
            }
            (What::ThereNow { .. }, Answer::YesNo { yes, .. }) => Some(What::ThereNow { there: *yes }),
            (What::NameplateTold { unit, key, .. }, Answer::Words(value)) => {
                Some(What::NameplateTold { unit, key, value: value.clone() })
            }
            _ => None,
        }
    }
}

/// Lines that stand in the list of answers.
const fn changeable(kind: NoteKind) -> bool {
    use NoteKind::{
        CannotTell, Done, Found, Nameplate, NotDone, NotThereNow, Proven, Seen, SeenAbsent, ThereNow,
    };
    matches!(
        kind,
        CannotTell | Done | Found | Nameplate | NotDone | NotThereNow | Proven | Seen | SeenAbsent | ThereNow
    )
}
