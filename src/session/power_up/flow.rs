//! What a power-up shows next, and which of its events are taken.

use super::{PowerUp, StepState};
use crate::model::catalog::Act;
use crate::model::procedure::Step;
use crate::session::event::What;
use crate::session::insight::Insight;
use crate::session::prompt::{NameplateAsked, PowerUpStep, PowerUpWaits, Prompt, Waiting};
use crate::session::reply::Refused;
use crate::session::wires;
use crate::wiring::Reading;

impl Insight<'_> {
    /// The next step; while one stopped, what the search for its cause wants, until only the step itself can prove it.
    pub(crate) fn power_up(self, power_up: &PowerUp) -> Prompt {
        // Once something was done about the cause, the step itself shows whether it was that.
        let searched = power_up.failed().filter(|&(_, no)| {
            let done = |what: &What| matches!(what, What::FixDone { .. });
            !self.state.entries.iter().any(|entry| entry.no > no && done(&entry.what))
        });
        if searched.is_some() {
            // While there is voltage, whatever must hold is asked again before the search goes on.
            let procedure = &self.model.procedure;
            let live = (0..procedure.steps.len()).any(|at| power_up.live(procedure, at));
            let unsure = power_up.next(procedure).find(|&at| power_up.states[at] == StepState::Unknown);
            if let Some(at) = unsure.filter(|_| live)
                && self.model.practice.allows(&self.state.present.person, &procedure.steps[at].terms)
            {
                return Prompt::PowerUp(Box::new(self.power_up_step(power_up, at)));
            }
            match self.search() {
                // What is proven is proven by the step, and the supply comes back through its gates alone.
                Prompt::Return(_)
                | Prompt::Prove(_)
                | Prompt::PutBack(_)
                | Prompt::Close(_)
                | Prompt::Complaint => {}
                prompt => return prompt,
            }
        }
        let procedure = &self.model.procedure;
        let person = &self.state.present.person;
        let unknown = |step: &Step| {
            let first = step.scale.as_ref().and_then(|scale| scale.unknown.first());
            first.is_some_and(|(unit, key)| {
                let unit = self.model.units[unit.at()].id.clone();
                self.state.unknown_plates.contains(&(unit, key.clone()))
            })
        };
        let may = |step: &Step| self.model.practice.allows(person, &step.terms) && !unknown(step);
        if let Some(at) = power_up.next(procedure).find(|&at| may(&procedure.steps[at])) {
            return match self.missing(&procedure.steps[at]) {
                Some(plate) => Prompt::Nameplate(plate),
                None => Prompt::PowerUp(Box::new(self.power_up_step(power_up, at))),
            };
        }
        let left = power_up.left();
        if left.is_empty() {
            let open = self.state.open();
            return if open.is_empty() { Prompt::Close(self.closing()) } else { Prompt::PutBack(open) };
        }
        let practice = &self.model.practice;
        let waiting = power_up.next(procedure).chain(power_up.aside.iter().copied()).map(|at| {
            let step = &procedure.steps[at];
            Waiting {
                say: step.say.clone(),
                competence: practice.competences[step.terms.competence.at()].name.clone(),
                instruments: crate::session::steps::instruments(self.model, step.terms.instruments),
            }
        });
        Prompt::PowerUpWaits(PowerUpWaits { next: waiting.collect(), left: left.len() })
    }

    /// A nameplate value without which a reading has no limit.
    fn missing(self, step: &Step) -> Option<NameplateAsked> {
        let (unit, key) = step.scale.as_ref()?.unknown.first()?;
        Some(self.nameplate(*unit, key, &step.say))
    }

    fn power_up_step(self, power_up: &PowerUp, at: usize) -> PowerUpStep {
        let procedure = &self.model.procedure;
        let step = &procedure.steps[at];
        let again = power_up.states[at] == StepState::Unknown && !step.again.is_empty();
        let proves = step.outcomes.iter().zip(&step.proves).filter(|(_, text)| !text.is_empty());
        PowerUpStep {
            step: step.id.clone(),
            act: if again { Act::Ask } else { step.act },
            say: if again { step.again.clone() } else { step.say.clone() },
            how: if again { Vec::new() } else { step.how.clone() },
            expect: if again { String::new() } else { step.expect.clone() },
            reading: if again { None } else { step.reading.clone() },
            outcomes: step.outcomes.clone(),
            proves: proves.map(|(outcome, text)| (outcome.clone(), text.clone())).collect(),
            energises: step.energises && !again,
            again,
            once_more: power_up.states[at] == StepState::Unknown,
            stopped: matches!(power_up.states[at], StepState::Failed(_)),
            number: at + 1,
            of: procedure.steps.len(),
            walk: if again || !step.walks {
                None
            } else {
                wires::walk(self.model, &self.state.wires, &step.expects)
            },
            gates: step.gates.iter().map(|&gate| procedure.steps[gate].say.clone()).collect(),
            sources: step.sources.clone(),
            conditions: self.conditions(&step.terms),
        }
    }

    /// The steps that are left, by sentence.
    pub(crate) fn steps_left(self) -> Vec<String> {
        let Some(power_up) = &self.state.power_up else { return Vec::new() };
        power_up.left().into_iter().map(|at| self.model.procedure.steps[at].say.clone()).collect()
    }

    /// Whether connections may be read now. In a power-up that is a step like any other: behind its gates, for those who
    /// may, and never while something is, or may be, energised.
    pub(crate) fn may_read_wires(self) -> Result<(), Refused> {
        let Some(power_up) = &self.state.power_up else { return Ok(()) };
        let procedure = &self.model.procedure;
        let steps = &procedure.steps;
        if (0..steps.len()).any(|at| power_up.live(&self.model.procedure, at)) {
            return Err(Refused::WorkState);
        }
        let Some(at) = steps.iter().position(|step| step.walks) else { return Ok(()) };
        if !power_up.free(procedure, at) {
            return Err(Refused::Order);
        }
        if self.model.practice.allows(&self.state.present.person, &steps[at].terms) {
            return Ok(());
        }
        let competence = self.model.practice.competences[steps[at].terms.competence.at()].name.clone();
        Err(Refused::Competence { competence })
    }

    /// Whether an event of a power-up may follow.
    pub(crate) fn check_power_up(self, what: &What) -> Result<(), Refused> {
        let unknown = |id: &str| Refused::Unknown { kind: "step", id: id.to_owned() };
        let steps = &self.model.procedure.steps;
        if *what == What::PowerUpBegan {
            let fresh = self.state.power_up.is_none() && !steps.is_empty();
            return if fresh { Ok(()) } else { Err(Refused::CannotChange) };
        }
        let (What::StepTaken { step: id, .. }
        | What::StepStill { step: id, .. }
        | What::StepPassedOver { step: id, .. }) = what
        else {
            return Err(Refused::CannotChange);
        };
        let Some(power_up) = &self.state.power_up else { return Err(unknown(id)) };
        let at = steps.iter().position(|step| step.id == *id).ok_or_else(|| unknown(id))?;
        if matches!(what, What::StepPassedOver { .. }) {
            return Ok(());
        }
        let step = &steps[at];
        if power_up.satisfied(at) || !power_up.free(&self.model.procedure, at) {
            return Err(Refused::Order);
        }
        if !self.model.practice.allows(&self.state.present.person, &step.terms) {
            let competence = self.model.practice.competences[step.terms.competence.at()].name.clone();
            return Err(Refused::Competence { competence });
        }
        match what {
            What::StepTaken { outcome, readings, .. } => {
                if !step.outcomes.contains(outcome) {
                    return Err(Refused::NoOutcome { finding: id.clone(), outcome: outcome.clone() });
                }
                // The list is walked before its step is confirmed.
                if step.walks && *outcome == step.outcomes[0] {
                    let left = self.state.wires.iter().filter(|reading| **reading != Reading::Good).count();
                    if left > 0 {
                        return Err(Refused::Connections { left });
                    }
                }
                let fits = step.scale.is_none()
                    || step.read(readings).is_some_and(|(_, shown)| step.outcomes[shown] == *outcome);
                let reason = "the readings do not give that outcome".to_owned();
                if fits { Ok(()) } else { Err(Refused::Reading { test: id.clone(), reason }) }
            }
            _ if power_up.states[at] == StepState::Unknown => Ok(()),
            _ => Err(Refused::Order),
        }
    }
}
