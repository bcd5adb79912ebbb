//! An answer to the question that stands, as events.

use super::super::event::{self, Closing, What};
use super::super::hear::{Answer, Sure};
use super::super::prompt::{EmergencyAsked, FixStep, Prompt, ProveStep, TestStep, View, WorkAct};
use super::{Dialogue, Pending, Said, Turn};

/// Yes, done; or no, cannot.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Verdict {
    Yes,
    No,
    Neither,
}

fn verdict(answer: &Answer) -> Verdict {
    match answer {
        Answer::YesNo { yes: true, .. } => Verdict::Yes,
        Answer::YesNo { yes: false, .. } | Answer::CannotTell => Verdict::No,
        _ => Verdict::Neither,
    }
}

impl Dialogue {
    /// Takes an answer to the session's question. Whether something was taken.
    pub(super) fn answer(
        &mut self,
        answer: &Answer,
        view: &View,
        parts: Option<Pending>,
        at: i64,
        turn: &mut Turn,
    ) -> bool {
        let what = match &view.prompt {
            Prompt::Emergencies(asked) => return self.emergencies(asked, answer, at, turn),
            Prompt::Emergency(now) => match answer {
                // Only a plain yes ends an emergency.
                Answer::YesNo { yes: true, sure: Sure::Plain } => {
                    Some(What::AllClear { emergency: now.id.clone() })
                }
                // Not yet: it goes on, and the question with it.
                Answer::YesNo { .. } | Answer::CannotTell => return true,
                _ => None,
            },
            Prompt::ThereNow(_) => match answer {
                Answer::YesNo { yes, .. } => Some(What::ThereNow { there: *yes }),
                _ => None,
            },
            Prompt::WorkState(choices) => match answer {
                Answer::Pick(pick) => {
                    choices.get(*pick).map(|to| What::WorkStateTold { state: to.id.clone() })
                }
                _ => None,
            },
            Prompt::Enter(act) => {
                self.work_act(act, answer, |state, step, by| What::WorkStep { state, step, by })
            }
            Prompt::Return(act) => {
                self.work_act(act, answer, |state, step, by| What::BackStep { state, step, by })
            }
            Prompt::Nameplate(asked) => {
                let (unit, key) = (asked.unit.clone(), asked.key.clone());
                match answer {
                    Answer::Words(value) => Some(What::NameplateTold { unit, key, value: value.clone() }),
                    Answer::Number(value) => {
                        Some(What::NameplateTold { unit, key, value: value.to_string() })
                    }
                    Answer::CannotTell => Some(What::NameplateUnknown { unit, key }),
                    _ => None,
                }
            }
            Prompt::Test(step) => return self.test(step, answer, parts, at, turn),
            Prompt::Fix(step) => fix(step, answer),
            Prompt::Prove(step) => return self.prove(step, answer, at, turn),
            Prompt::HandOver(slip) => (verdict(answer) == Verdict::Yes)
                .then(|| What::HandedOver { competence: slip.competence.clone(), to: String::new() }),
            Prompt::PutBack(open) => match (verdict(answer), answer) {
                (Verdict::Yes, _) => open.first().map(|left| What::PutBack { item: left.id }),
                (_, Answer::Pick(pick)) => open.get(*pick).map(|left| What::PutBack { item: left.id }),
                _ => None,
            },
            Prompt::PowerUp(step) => return self.power_up_step(step, answer, at, turn),
            // Once more from what was passed over.
            Prompt::PowerUpWaits(_) => {
                (verdict(answer) == Verdict::Yes).then_some(What::Resumed { who: None })
            }
            Prompt::Contradiction(doubt) => return self.settle(doubt, answer, at, turn),
            Prompt::Close(closing) => (verdict(answer) == Verdict::Yes).then(|| {
                let how = if closing.unproven.is_empty() { Closing::Proven } else { Closing::Unproven };
                What::Closed { how }
            }),
            Prompt::Complaint if matches!(answer, Answer::CannotTell) => {
                turn.said.push(Said::WhatYouNotice);
                return true;
            }
            Prompt::Complaint | Prompt::HandedOver(_) | Prompt::Closed(_) => None,
        };
        self.take_or_ask(what, at, turn)
    }

    pub(super) fn take_or_ask(&mut self, what: Option<What>, at: i64, turn: &mut Turn) -> bool {
        match what {
            Some(what) => self.take(what, at, turn),
            None => {
                turn.said.push(Said::NotUnderstood);
                false
            }
        }
    }

    /// Which of the emergencies is at hand, mostly none.
    fn emergencies(&mut self, asked: &[EmergencyAsked], answer: &Answer, at: i64, turn: &mut Turn) -> bool {
        let present = match answer {
            Answer::YesNo { yes: false, sure: Sure::Plain } => vec![],
            Answer::Pick(pick) if *pick < asked.len() => vec![asked[*pick].id.clone()],
            Answer::YesNo { .. } => match asked {
                [only] => vec![only.id.clone()],
                several => {
                    turn.said.push(Said::Which(several.iter().map(|one| one.ask.clone()).collect()));
                    let several = several.iter().map(|one| (one.id.clone(), one.ask.clone()));
                    self.pending = Pending::WhichEmergency(several.collect());
                    return true;
                }
            },
            _ => return self.take_or_ask(None, at, turn),
        };
        self.take(What::EmergenciesAnswered { present }, at, turn)
    }

    /// An act on the way into a work state or back, done or not.
    fn work_act(
        &self,
        act: &WorkAct,
        answer: &Answer,
        done: impl FnOnce(String, usize, String) -> What,
    ) -> Option<What> {
        match verdict(answer) {
            Verdict::Yes => Some(done(act.state.clone(), act.step, self.by())),
            Verdict::No => Some(What::WorkBrokenOff),
            Verdict::Neither => None,
        }
    }

    /// A test: its finding, its readings, or one of its findings after the other.
    fn test(
        &mut self,
        step: &TestStep,
        answer: &Answer,
        parts: Option<Pending>,
        at: i64,
        turn: &mut Turn,
    ) -> bool {
        let test = step.test.clone();
        let answered =
            |answer, sure| What::Answered { test: test.clone(), answer, sure, words: String::new() };
        let (mut got, mut all_sure) = match parts {
            Some(Pending::Parts { test: of, got, sure }) if of == test => (got, sure),
            _ => (vec![], true),
        };
        match answer {
            Answer::CannotTell => {
                // Of several findings, the ones told count.
                let answer =
                    if got.is_empty() { event::Answer::CantTell } else { event::Answer::Outcomes(got) };
                self.take(answered(answer, all_sure), at, turn)
            }
            Answer::Readings { values, .. } => {
                self.take(answered(event::Answer::Readings(values.clone()), true), at, turn)
            }
            Answer::Number(value) => {
                self.take(answered(event::Answer::Readings(vec![*value]), true), at, turn)
            }
            Answer::Fault { number, .. } => {
                self.take(answered(event::Answer::FaultNumber(number.typed.clone()), true), at, turn)
            }
            Answer::Outcome { finding, outcome, sure } => {
                let model = self.session.model();
                let finding = &model.findings[finding.at()];
                let Some(name) = finding.outcomes.get(*outcome) else {
                    return self.take_or_ask(None, at, turn);
                };
                turn.said.push(Said::Taken { about: finding.name.clone(), outcome: name.clone() });
                got.push((finding.id.clone(), name.clone()));
                all_sure &= *sure == Sure::Plain;
                let missing =
                    step.choices.iter().any(|choice| !got.iter().any(|(id, _)| *id == choice.finding));
                let asked = step.choices.iter().any(|choice| choice.finding == finding.id);
                if missing && asked {
                    self.pending = Pending::Parts { test, got, sure: all_sure };
                    return true;
                }
                self.take(answered(event::Answer::Outcomes(got), all_sure), at, turn)
            }
            _ => self.take_or_ask(None, at, turn),
        }
    }

    /// A complaint taken again.
    fn prove(&mut self, step: &ProveStep, answer: &Answer, at: i64, turn: &mut Turn) -> bool {
        let model = self.session.model();
        match answer {
            Answer::Outcome { finding, outcome, .. } => {
                let finding = &model.findings[finding.at()];
                let Some(name) = finding.outcomes.get(*outcome).cloned() else {
                    return self.take_or_ask(None, at, turn);
                };
                let minutes = if *outcome == 0 { step.minutes } else { 0.0 };
                turn.said.push(Said::Taken { about: finding.name.clone(), outcome: name.clone() });
                let finding = finding.id.clone();
                self.take(What::Proved { finding, outcome: name, minutes, words: String::new() }, at, turn)
            }
            Answer::CannotTell => {
                let test = model
                    .ids
                    .findings
                    .get(&step.finding)
                    .map(|&finding| model.tests[model.findings[finding.at()].test.at()].id.clone());
                let what = test.map(|test| What::StepNotDone { test, words: String::new() });
                self.take_or_ask(what, at, turn)
            }
            _ => self.take_or_ask(None, at, turn),
        }
    }

    /// The answer that fits least was looked at again.
    fn settle(
        &mut self,
        doubt: &super::super::prompt::Doubt,
        answer: &Answer,
        at: i64,
        turn: &mut Turn,
    ) -> bool {
        let stands = match answer {
            Answer::YesNo { yes: true, .. } => true,
            Answer::Outcome { finding, outcome, .. } => {
                self.session.model().findings[finding.at()].outcomes.get(*outcome) == Some(&doubt.outcome)
            }
            _ => false,
        };
        if stands {
            return self.take(What::Stands { event: doubt.event }, at, turn);
        }
        match answer {
            Answer::YesNo { .. } => self.change_to(doubt.event, &Answer::CannotTell, at, turn),
            answer => self.change_to(doubt.event, answer, at, turn),
        }
    }

    /// Takes an answer to a question of the dialogue's own.
    pub(super) fn answer_own(&mut self, answer: &Answer, own: Pending, at: i64, turn: &mut Turn) -> bool {
        match (own, answer) {
            (Pending::WhichEmergency(all), Answer::Pick(pick)) => {
                let picked =
                    all.get(*pick).map(|(id, _)| What::EmergenciesAnswered { present: vec![id.clone()] });
                self.take_or_ask(picked, at, turn)
            }
            (Pending::WhichAnswer(lines), Answer::Pick(pick)) => match lines.into_iter().nth(*pick) {
                Some(line) => {
                    self.ask_change(line, at, turn);
                    true
                }
                None => self.take_or_ask(None, at, turn),
            },
            (Pending::ChangeTo(line), answer) => self.change_to(line.line.event, answer, at, turn),
            (Pending::HandOver(slip), Answer::YesNo { yes: true, .. }) => {
                self.take(What::HandedOver { competence: slip.competence, to: String::new() }, at, turn)
            }
            // No: the call goes on.
            (Pending::HandOver(_), Answer::YesNo { yes: false, .. }) => true,
            _ => self.take_or_ask(None, at, turn),
        }
    }
}

/// A fix, done or not.
fn fix(step: &FixStep, answer: &Answer) -> Option<What> {
    let fix = step.fix.clone();
    match verdict(answer) {
        Verdict::Yes => Some(What::FixDone { fix, words: String::new() }),
        Verdict::No => Some(What::FixNotDone { fix, words: String::new() }),
        Verdict::Neither => None,
    }
}
