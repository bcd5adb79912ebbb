//! Which events are taken in a state, and why the others are not.

use super::event::{Answer, What, WireFound};
use super::insight::Insight;
use super::log::{can_be_withdrawn, is_answer};
use super::readings;
use super::reply::Refused;
use crate::model::index::WorkStateIx;
use crate::model::observe::Unreadable;
use crate::model::practice::Terms;

impl Insight<'_> {
    /// Whether `what` may follow.
    pub(crate) fn check(self, what: &What) -> Result<(), Refused> {
        let (model, state) = (self.model, self.state);
        if state.closed.is_some() && !matches!(what, What::Note { .. } | What::Resumed { .. }) {
            return Err(Refused::Closed);
        }
        if let Some(&at) = state.emergencies.first()
            && stops_in_an_emergency(what)
        {
            return Err(Refused::Emergency { id: model.practice.emergencies[at].id.clone() });
        }
        match what {
            What::Started { .. } => Err(Refused::Start),
            What::EmergenciesAnswered { present } => present.iter().try_for_each(|id| self.emergency(id)),
            What::EmergencyRaised { emergency, .. } | What::AllClear { emergency } => {
                self.emergency(emergency)
            }
            What::Volunteered { finding, outcome, .. } | What::Proved { finding, outcome, .. } => {
                self.outcome(finding, outcome)
            }
            What::OneOf { findings, outcome, .. } => {
                if findings.is_empty() {
                    return Err(unknown("finding", ""));
                }
                findings.iter().try_for_each(|finding| self.outcome(finding, outcome))
            }
            What::Answered { test, answer, sure, .. } => self.answer(test, answer, *sure),
            What::CauseSeen { cause, .. } => known("cause", cause, model.ids.causes.contains_key(cause)),
            What::FixDone { fix, .. } | What::FixNotDone { fix, .. } => {
                known("fix", fix, model.ids.fixes.contains_key(fix))
            }
            What::StepNotDone { test, .. } => known("test", test, model.ids.tests.contains_key(test)),
            What::Stands { event } => {
                let standing = state.entries.binary_search_by_key(event, |entry| entry.no).is_ok();
                known("event", &event.to_string(), standing)
            }
            What::WorkStateTold { state } => self.work_state(state).map(|_| ()),
            What::WorkStep { state: id, step, .. } => {
                let at = self.work_state(id)?;
                let form = &model.practice.work_states[at.at()];
                if !state.work.takes_step(at, *step) || *step >= form.steps.len() {
                    return Err(Refused::Order);
                }
                self.competent(&form.enter)
            }
            What::BackStep { state: id, step, .. } => {
                let at = self.work_state(id)?;
                let form = &model.practice.work_states[at.at()];
                if !state.work.takes_back_step(at, *step) || *step >= form.back_steps.len() {
                    return Err(Refused::Order);
                }
                self.competent(&form.back)
            }
            What::Meanwhile { measure } => {
                let known_one = model.practice.meanwhile.iter().any(|meanwhile| meanwhile.id == *measure);
                known("measure", measure, known_one)
            }
            What::PutBack { item } | What::LeftHandedOver { item, .. } => {
                let listed = state.open().iter().any(|left| left.id == *item);
                known("thing to put back", &format!("{}.{}", item.event, item.at), listed)
            }
            What::NameplateTold { unit, .. } | What::NameplateUnknown { unit, .. } => {
                known("unit", unit, model.units.iter().any(|known| known.id == *unit))
            }
            What::Change { event, to } => self.change(*event, to.as_deref()),
            What::HandedOver { competence, .. } => {
                let listed = competence == "unlisted" || model.practice.competence(competence).is_some();
                known("competence", competence, listed)
            }
            What::Person { who, .. } | What::Resumed { who: Some(who) } => who
                .competences
                .iter()
                .try_for_each(|id| known("competence", id, model.practice.competence(id).is_some())),
            What::Closed { how } => self.may_close(*how),
            What::PowerUpBegan
            | What::StepTaken { .. }
            | What::StepStill { .. }
            | What::StepPassedOver { .. } => self.check_power_up(what),
            What::WireRead { wire, found, .. } => self.wire_read(wire, found),
            What::Undo
            | What::ThereNow { .. }
            | What::WorkBrokenOff
            | What::UnitMentioned { .. }
            | What::UnitRelated { .. }
            | What::Left { .. }
            | What::WorkChanged
            | What::Note { .. }
            | What::Resumed { who: None } => Ok(()),
        }
    }

    fn wire_read(self, wire: &str, found: &WireFound) -> Result<(), Refused> {
        let connection = |id: &str| {
            known("connection", id, self.model.connections.iter().any(|connection| connection.id == id))
        };
        connection(wire)?;
        self.may_read_wires()?;
        match found {
            WireFound::At(other) | WireFound::Joined(other) if other == wire => Err(Refused::CannotChange),
            WireFound::At(other) | WireFound::Joined(other) => connection(other),
            WireFound::Good | WireFound::Open | WireFound::Missing => Ok(()),
        }
    }

    fn emergency(self, id: &str) -> Result<(), Refused> {
        known("emergency", id, self.model.practice.emergencies.iter().any(|emergency| emergency.id == id))
    }

    fn outcome(self, finding: &str, outcome: &str) -> Result<(), Refused> {
        let Some(at) = self.model.ids.findings.get(finding) else { return Err(unknown("finding", finding)) };
        if self.model.findings[at.at()].outcomes.iter().any(|name| name == outcome) {
            Ok(())
        } else {
            Err(Refused::NoOutcome { finding: finding.to_owned(), outcome: outcome.to_owned() })
        }
    }

    fn answer(self, id: &str, answer: &Answer, sure: bool) -> Result<(), Refused> {
        let Some(&at) = self.model.ids.tests.get(id) else { return Err(unknown("test", id)) };
        let test = &self.model.tests[at.at()];
        let unreadable = |why: Unreadable| Refused::Reading { test: id.to_owned(), reason: why.to_string() };
        match answer {
            Answer::Outcomes(outcomes) => {
                if outcomes.is_empty() {
                    return Err(unknown("finding", ""));
                }
                for (finding, outcome) in outcomes {
                    self.outcome(finding, outcome)?;
                    let gives = |at| test.gives.iter().any(|gives| gives.finding == at);
                    if !self.model.ids.findings.get(finding).copied().is_some_and(gives) {
                        return Err(unknown("finding", finding));
                    }
                }
                Ok(())
            }
            Answer::Readings(numbers) => {
                readings::measured(self.model, at, numbers, sure).map(|_| ()).map_err(unreadable)
            }
            Answer::FaultNumber(number) => {
                readings::fault(self.model, at, number, 1.0, sure).map(|_| ()).map_err(unreadable)
            }
            Answer::CantTell => Ok(()),
        }
    }

    fn work_state(self, id: &str) -> Result<WorkStateIx, Refused> {
        let states = &self.model.practice.work_states;
        states
            .iter()
            .position(|form| form.id == id)
            .map(WorkStateIx::new)
            .ok_or_else(|| unknown("work state", id))
    }

    fn competent(self, terms: &Terms) -> Result<(), Refused> {
        if self.model.practice.allows(&self.state.present.person, terms) {
            Ok(())
        } else {
            let form = &self.model.practice.competences[terms.competence.at()];
            Err(Refused::Competence { competence: form.name.clone() })
        }
    }

    fn change(self, no: usize, to: Option<&What>) -> Result<(), Refused> {
        let at = self
            .state
            .entries
            .binary_search_by_key(&no, |entry| entry.no)
            .map_err(|_| Refused::CannotChange)?;
        let old = &self.state.entries[at].what;
        match to {
            None if can_be_withdrawn(old) => Ok(()),
            Some(new) if is_answer(old) && is_answer(new) => self.check(new),
            _ => Err(Refused::CannotChange),
        }
    }
}

/// What goes on with the search for the cause, and so waits until all is clear. Facts, remarks and persons do not.
fn stops_in_an_emergency(what: &What) -> bool {
    matches!(
        what,
        What::Answered { .. }
            | What::WorkStep { .. }
            | What::BackStep { .. }
            | What::FixDone { .. }
            | What::StepTaken { .. }
            | What::StepStill { .. }
            | What::Proved { .. }
            | What::Meanwhile { .. }
            | What::Closed { .. }
    )
}

fn unknown(kind: &'static str, id: &str) -> Refused {
    Refused::Unknown { kind, id: id.to_owned() }
}

fn known(kind: &'static str, id: &str, is: bool) -> Result<(), Refused> {
    if is { Ok(()) } else { Err(unknown(kind, id)) }
}
