//! The standing words: what each does, whatever is asked just now.

use super::super::event::What;
use super::super::hear::{Answer, Sure, Word};
use super::super::prompt::{Prompt, View};
use super::{Dialogue, First, Pending, Said, Turn};
use crate::quantity::reckon::reckon;

/// Causes whose movements are told with a ranking.
const TOLD: usize = 3;

impl Dialogue {
    /// Does what a standing word asks for.
    pub(super) fn word(&mut self, word: Word, view: &View, at: i64, turn: &mut Turn) {
        if !matches!(word, Word::Done | Word::HandOver | Word::Reckon(_)) {
            self.drop_own();
        }
        match word {
            Word::WhatIsLeft => turn.said.push(Said::StepsLeft(self.session.steps_left())),
            Word::Why => turn.said.push(match &view.prompt {
                Prompt::Emergencies(_) | Prompt::Emergency(_) => Said::WhyFirst(First::Safety),
                Prompt::Complaint => Said::WhyFirst(First::Complaint),
                Prompt::ThereNow(_) => Said::WhyFirst(First::ThereNow),
                Prompt::Test(_) | Prompt::Fix(_) | Prompt::Prove(_) | Prompt::HandOver(_) => {
                    Said::Why(self.session.why())
                }
                Prompt::Enter(_) | Prompt::Return(_) | Prompt::WorkState(_) | Prompt::Nameplate(_) => {
                    Said::Why(self.session.why())
                }
                Prompt::PowerUp(step) => Said::WhyStep(step.clone()),
                _ => Said::Why(None),
            }),
            Word::Ranking => {
                let ranking = self.session.ranking();
                let first = ranking.causes.iter().take(TOLD);
                let moved =
                    first.map(|cause| (cause.name.clone(), self.session.factors(&cause.id))).collect();
                turn.said.push(Said::Ranking { ranking, moved, numbers: self.numbers });
            }
            Word::Numbers => {
                self.numbers = !self.numbers;
                turn.said.push(Said::Numbers(self.numbers));
            }
            Word::Answers => turn.said.push(Said::Answers(self.answers())),
            Word::Undo => {
                self.pending = Pending::Nothing;
                self.doubts.clear();
                self.take(What::Undo, at, turn);
            }
            Word::Change { number, to } => self.change(number, &to, at, turn),
            Word::WhatIf(number) => turn.said.push(self.what_if(number)),
            Word::Note(text) if text.trim().is_empty() => {
                turn.said.push(Said::Note(Box::new(self.session.note())));
            }
            Word::Note(text) => {
                if self.take(What::Note { text: text.clone() }, at, turn) {
                    turn.said.push(Said::Kept(text));
                }
            }
            Word::Reckon(line) => turn.said.push(reckoned(&line)),
            Word::Help(topic) => turn.said.push(Said::Help(topic)),
            Word::Done => self.done(view, at, turn),
            Word::DidNotHelp => self.did_not_help(view, at, turn),
            Word::PutBack(which) => self.put_back(&which, at, turn),
            Word::HandOver => self.hand_over(view, at, turn),
            Word::Again => turn.again = true,
            Word::Quit => turn.leave = true,
        }
    }

    /// What would be, were an answer otherwise.
    fn what_if(&self, number: Option<usize>) -> Said {
        let answers = self.answers();
        let Some(number) = number else { return Said::Answers(answers) };
        match answers.into_iter().find(|line| line.number == number) {
            None => Said::NoAnswer(number),
            Some(line) => Said::WhatIf { otherwise: self.session.otherwise(line.line.event), line },
        }
    }

    /// Gives up a question of the dialogue's own: the session's stands again.
    pub(super) fn drop_own(&mut self) {
        if self.asks() {
            self.pending = Pending::Nothing;
        }
    }

    /// A word that stands for an answer, to the dialogue's own question or to the session's.
    fn stand_in(&mut self, answer: &Answer, view: &View, at: i64, turn: &mut Turn) {
        match std::mem::take(&mut self.pending) {
            Pending::Nothing | Pending::Doubt(_) => self.answer(answer, view, None, at, turn),
            parts @ Pending::Parts { .. } => self.answer(answer, view, Some(parts), at, turn),
            own => self.answer_own(answer, own, at, turn),
        };
    }

    /// The step shown is done. Where an outcome is asked for, "done" says none, and the question stands.
    fn done(&mut self, view: &View, at: i64, turn: &mut Turn) {
        match view.prompt {
            Prompt::Test(_) | Prompt::Prove(_) | Prompt::Contradiction(_) | Prompt::Emergencies(_) => {
                turn.said.push(Said::NotUnderstood);
            }
            _ => self.stand_in(&Answer::YesNo { yes: true, sure: Sure::Plain }, view, at, turn),
        }
    }

    /// The fix is done, or was, and the complaint is as it was.
    fn did_not_help(&mut self, view: &View, at: i64, turn: &mut Turn) {
        self.pending = Pending::Nothing;
        match &view.prompt {
            Prompt::Fix(step) => {
                let before = self.first_complaint();
                let fixed =
                    self.take(What::FixDone { fix: step.fix.clone(), words: String::new() }, at, turn);
                if let (true, Some((finding, outcome, about))) = (fixed, before) {
                    turn.said.push(Said::Taken { about, outcome: outcome.clone() });
                    self.take(
                        What::Volunteered { finding, outcome, sure: true, words: String::new() },
                        at,
                        turn,
                    );
                }
            }
            Prompt::Prove(step) => {
                let outcome = self.told_outcome(&step.finding).or_else(|| step.outcomes.get(1).cloned());
                let Some(outcome) = outcome else { return };
                turn.said.push(Said::Taken { about: step.say.clone(), outcome: outcome.clone() });
                let finding = step.finding.clone();
                self.take(What::Proved { finding, outcome, minutes: 0.0, words: String::new() }, at, turn);
            }
            _ => match self.first_complaint() {
                Some((finding, outcome, about)) if self.session.epoch() > 0 => {
                    turn.said.push(Said::Taken { about, outcome: outcome.clone() });
                    self.take(
                        What::Volunteered { finding, outcome, sure: true, words: String::new() },
                        at,
                        turn,
                    );
                }
                _ => turn.said.push(Said::NotUnderstood),
            },
        }
    }

    /// The first complaint: its id, the outcome told last, its name.
    fn first_complaint(&self) -> Option<(String, String, String)> {
        let first = *self.session.complaints().first()?;
        let finding = &self.session.model().findings[first.at()];
        let outcome = self.told_outcome(&finding.id).or_else(|| finding.outcomes.get(1).cloned())?;
        Some((finding.id.clone(), outcome, finding.name.clone()))
    }

    /// The abnormal outcome that was told last of a finding.
    fn told_outcome(&self, id: &str) -> Option<String> {
        let model = self.session.model();
        let normal = model.findings[model.ids.findings.get(id)?.at()].outcomes.first()?;
        self.session.entries().into_iter().rev().find_map(|(_, what)| match what {
            What::Volunteered { finding, outcome, .. } | What::Proved { finding, outcome, .. }
                if finding == id && outcome != normal =>
            {
                Some(outcome.clone())
            }
            What::Answered { answer: super::super::event::Answer::Outcomes(all), .. } => all
                .iter()
                .find(|(finding, outcome)| finding == id && outcome != normal)
                .map(|(_, o)| o.clone()),
            _ => None,
        })
    }

    /// Something is put back: by its number in the list, or by words of it.
    fn put_back(&mut self, which: &str, at: i64, turn: &mut Turn) {
        let open = self.session.open();
        let which = which.trim().to_lowercase();
        let numbered = which.parse::<usize>().ok().and_then(|number| open.get(number.checked_sub(1)?));
        let named = || {
            let mut fitting = open.iter().filter(|left| left.text.to_lowercase().contains(&which));
            fitting.next().filter(|_| fitting.next().is_none())
        };
        let item = numbered.or_else(|| if which.is_empty() { None } else { named() }).cloned();
        match item {
            Some(left) => {
                if self.take(What::PutBack { item: left.id }, at, turn) {
                    turn.said.push(Said::IsBack(left.text));
                }
            }
            None => turn.said.push(Said::Open(open)),
        }
    }

    /// Hand over: what is open, where that is the question; else the whole case, after a look at the slip.
    fn hand_over(&mut self, view: &View, at: i64, turn: &mut Turn) {
        match &view.prompt {
            Prompt::HandOver(slip) => {
                let what = What::HandedOver { competence: slip.competence.clone(), to: String::new() };
                self.take(what, at, turn);
            }
            Prompt::PutBack(open) => {
                let Some(left) = open.first() else { return };
                let to = self.session.slip().name;
                self.take(What::LeftHandedOver { item: left.id, to }, at, turn);
            }
            Prompt::HandedOver(slip) => turn.said.push(Said::HandOver(slip.clone().into())),
            Prompt::Closed(_) => turn.said.push(Said::NotUnderstood),
            _ => {
                let slip = Box::new(self.session.slip());
                turn.said.push(Said::HandOver(slip.clone()));
                self.pending = Pending::HandOver(slip);
            }
        }
    }
}

/// What the calculator has to say to a line; the case is no matter of it.
pub(super) fn reckoned(line: &str) -> Said {
    if line.trim().is_empty() {
        return Said::Functions;
    }
    match reckon(line) {
        Ok(reckoned) => Said::Reckoned(Box::new(reckoned)),
        Err(why) => Said::NotReckoned(why),
    }
}
