//! What is told without being asked, as events.

use super::super::event::{Answer, What};
use super::super::hear::{About, Meaning, Reported, Sure};
use super::{Dialogue, Said, Turn};

impl Dialogue {
    /// Takes something that is no answer to the question. Whether it was taken.
    pub(super) fn volunteer(&mut self, meaning: Meaning, at: i64, turn: &mut Turn) -> bool {
        let model = self.session.model();
        match meaning {
            Meaning::Answer(_) => false,
            Meaning::Symptom(reported) => self.report(reported, at, turn),
            Meaning::FaultNumber { finding, number } => {
                let finding = &model.findings[finding.at()];
                let outcome =
                    number.outcome.and_then(|at| finding.outcomes.get(at)).unwrap_or(&number.typed).clone();
                let about = finding.name.clone();
                let (id, test) = (finding.id.clone(), model.tests[finding.test.at()].id.clone());
                let answer = Answer::FaultNumber(number.typed.clone());
                turn.said.push(Said::Told { about, outcome });
                let words = number.typed;
                let normal = number.outcome == Some(0);
                self.take(What::Answered { test, answer, sure: true, words: words.clone() }, at, turn)
                    && (normal || self.complains_too(&id, true, &words, at, turn))
            }
            Meaning::Person(said) => {
                // Nothing new was said of anybody.
                let Some(what) = self.person(&said) else { return true };
                if let What::Person { who, .. } = &what {
                    turn.said.push(self.who_is_here(who));
                }
                self.take(what, at, turn)
            }
            Meaning::WorkState(Some(state)) => {
                let state = model.practice.work_states[state.at()].id.clone();
                self.take(What::WorkStateTold { state }, at, turn)
            }
            // Nobody says which state it is in; the session asks where it matters.
            Meaning::WorkState(None) => true,
            Meaning::Place(place) => {
                let text = model.practice.places[place.at()].name.clone();
                turn.said.push(Said::Kept(text.clone()));
                self.take(What::Note { text }, at, turn)
            }
            Meaning::Cause { cause, present } => {
                let cause = &model.causes[cause.at()];
                let (id, about) = (cause.id.clone(), cause.name.clone());
                turn.said.push(Said::Seen { cause: about.clone(), present });
                self.take(What::CauseSeen { cause: id, present, words: about }, at, turn)
            }
        }
    }

    /// Takes a symptom in the caller's words.
    fn report(&mut self, reported: Reported, at: i64, turn: &mut Turn) -> bool {
        let model = self.session.model();
        let sure = reported.sure == Sure::Plain;
        let outcome_of = |finding: crate::model::index::FindingIx| {
            model.findings[finding.at()].outcomes.get(reported.outcome).cloned().unwrap_or_default()
        };
        match reported.about {
            About::Finding(finding) => {
                let outcome = outcome_of(finding);
                let finding = &model.findings[finding.at()];
                turn.said.push(Said::Told { about: finding.name.clone(), outcome: outcome.clone() });
                let finding = finding.id.clone();
                let (told, words) = (finding.clone(), reported.words);
                self.take(What::Volunteered { finding, outcome, sure, words: words.clone() }, at, turn)
                    && (reported.outcome == 0 || self.complains_too(&told, sure, &words, at, turn))
            }
            About::OneOf(findings) => {
                let outcome = findings.first().map(|&finding| outcome_of(finding)).unwrap_or_default();
                let names = findings.iter().map(|finding| model.findings[finding.at()].name.clone());
                turn.said.push(Said::OneOf { among: names.collect(), outcome: outcome.clone() });
                let findings =
                    findings.iter().map(|finding| model.findings[finding.at()].id.clone()).collect();
                self.take(What::OneOf { findings, outcome, sure, words: reported.words }, at, turn)
            }
            About::NewUnit { component, name, symptom } => {
                let name = name.unwrap_or_else(|| component.replace('-', " "));
                // The same line may have named it a moment ago.
                let known = model.units.iter().find(|unit| {
                    !unit.implied && unit.component == component && unit.name.eq_ignore_ascii_case(&name)
                });
                let unit = known.map_or_else(|| self.free_id(&name), |unit| unit.id.clone());
                if known.is_none() {
                    let mentioned = What::UnitMentioned { unit: unit.clone(), component, name };
                    if !self.take(mentioned, at, turn) {
                        return false;
                    }
                }
                let id = format!("{unit}/{symptom}");
                let model = self.session.model();
                let Some(finding) = model.ids.findings.get(&id).map(|index| &model.findings[index.at()])
                else {
                    turn.said.push(Said::NotUnderstood);
                    return false;
                };
                let outcome = finding.outcomes.get(reported.outcome).cloned().unwrap_or_default();
                turn.said.push(Said::Told { about: finding.name.clone(), outcome: outcome.clone() });
                self.take(What::Volunteered { finding: id, outcome, sure, words: reported.words }, at, turn)
            }
        }
    }

    /// What somebody complains of who tells this finding unasked, where the package says so and it was not told before.
    fn complains_too(&mut self, finding: &str, sure: bool, words: &str, at: i64, turn: &mut Turn) -> bool {
        let model = self.session.model();
        let Some(&told) = model.ids.findings.get(finding) else { return true };
        let gives = &model.tests[model.findings[told.at()].test.at()].gives;
        let complaint = gives.iter().find(|gives| gives.finding == told).and_then(|gives| gives.complaint);
        let Some(complaint) = complaint.filter(|complaint| !self.session.complaints().contains(complaint))
        else {
            return true;
        };
        let complaint = &model.findings[complaint.at()];
        let Some(outcome) = complaint.outcomes.get(1).cloned() else { return true };
        turn.said.push(Said::Told { about: complaint.name.clone(), outcome: outcome.clone() });
        let what =
            What::Volunteered { finding: complaint.id.clone(), outcome, sure, words: words.to_owned() };
        self.take(what, at, turn)
    }

    /// An id for a unit of that name: its letters and digits, and a number where it is taken.
    fn free_id(&self, name: &str) -> String {
        let letters = name.to_lowercase();
        let words = letters.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty());
        let base = words.collect::<Vec<_>>().join("-");
        let base = if base.is_empty() { "unit".to_owned() } else { base };
        let taken = |id: &str| self.session.model().units.iter().any(|unit| unit.id == id);
        let numbered = (2..).map(|number| format!("{base}-{number}"));
        std::iter::once(base.clone()).chain(numbered).find(|id| !taken(id)).unwrap_or(base)
    }
}
