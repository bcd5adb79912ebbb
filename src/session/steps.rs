//! Steps as people read them, cautions first.

use super::event::{Answer, EventNo, What};
use super::insight::Insight;
use super::prompt::{
    Caution, Choice, Conditions, FixStep, Left, NameplateAsked, ProveStep, StateChoice, TestStep, WorkAct,
};
use super::records::Report;
use crate::model::Model;
use crate::model::index::{FindingIx, FixIx, HazardIx, TestIx, UnitIx, WorkStateIx};
use crate::model::observe::Seen;
use crate::model::practice::{BitSet, Terms};

/// Cautions of a step, those of its enclosure included, worst signal word first, each once.
pub(crate) fn cautions<'a>(model: &Model, terms: impl IntoIterator<Item = &'a Terms>) -> Vec<Caution> {
    let mut hazards: Vec<HazardIx> = Vec::new();
    for terms in terms {
        let behind = terms.inside.map(|door| &model.practice.enclosures[door.at()].hazards);
        hazards.extend(terms.hazards.iter().chain(behind.into_iter().flatten()));
    }
    let mut cautions: Vec<Caution> = Vec::new();
    for hazard in hazards {
        let hazard = &model.practice.hazards[hazard.at()];
        let caution = Caution { signal: hazard.signal, text: hazard.caution.clone() };
        if !cautions.contains(&caution) {
            cautions.push(caution);
        }
    }
    cautions.sort_by_key(|caution| caution.signal); // stable: equal ones stay in the package's order
    cautions
}

/// Names of instruments.
pub(crate) fn instruments(model: &Model, set: BitSet) -> Vec<String> {
    let all = &model.practice.instruments;
    set.iter().filter_map(|at| all.get(at)).map(|instrument| instrument.name.clone()).collect()
}

fn unit(model: &Model, unit: Option<UnitIx>) -> Option<(String, String)> {
    unit.map(|at| (model.units[at.at()].id.clone(), model.units[at.at()].name.clone()))
}

/// The name of an outcome of a finding.
pub(crate) fn outcome_name(model: &Model, finding: FindingIx, outcome: usize) -> String {
    model.findings[finding.at()].outcomes.get(outcome).cloned().unwrap_or_default()
}

impl Insight<'_> {
    pub(crate) fn conditions(self, terms: &Terms) -> Conditions {
        let practice = &self.model.practice;
        let place = &practice.places[terms.place.at()];
        Conditions {
            cautions: cautions(self.model, [terms]),
            competence: practice.competences[terms.competence.at()].name.clone(),
            instruments: instruments(self.model, terms.instruments),
            place: place.name.clone(),
            travel: terms.place != self.state.place,
            work_state: terms
                .work_state
                .map(|at| practice.work_states[at.at()].name.clone())
                .unwrap_or_default(),
            inside: terms.inside.map(|door| practice.enclosures[door.at()].name.clone()),
            minutes: terms.minutes,
            leaves: terms.leaves.clone(),
        }
    }

    pub(crate) fn test_step(self, at: TestIx) -> TestStep {
        let (model, test) = (self.model, &self.model.tests[at.at()]);
        let choices = test.gives.iter().map(|gives| {
            let finding = &model.findings[gives.finding.at()];
            let name = |outcome: usize| finding.outcomes.get(outcome).cloned().unwrap_or_default();
            Choice {
                finding: finding.id.clone(),
                name: finding.name.clone(),
                outcomes: finding.outcomes.clone(),
                fault_table: gives.fault_table.as_ref().map(|table| {
                    let entries = table.entries.iter();
                    entries
                        .map(|(shown, outcome, label)| (shown.clone(), name(*outcome), label.clone()))
                        .collect()
                }),
            }
        });
        let known = |finding: FindingIx| self.state.records.latest(finding).map(|report| report.outcome);
        let takes = super::records::needs_of(model, at).into_iter();
        let takes = takes
            .filter(|(finding, allowed)| known(*finding).is_none_or(|outcome| !allowed.contains(&outcome)));
        TestStep {
            test: test.id.clone(),
            unit: unit(model, test.unit),
            act: test.act,
            say: test.say.clone(),
            say_to_caller: test.say_to_caller.clone(),
            how: test.how.clone(),
            expect: test.expect.clone(),
            choices: choices.collect(),
            reading: test.reading.as_ref().map_or_else(Vec::new, |reading| reading.parts.clone()),
            takes: takes
                .map(|(finding, allowed)| {
                    (model.findings[finding.at()].name.clone(), outcome_name(model, finding, allowed[0]))
                })
                .collect(),
            conditions: self.conditions(&test.terms),
        }
    }

    pub(crate) fn fix_step(self, at: FixIx) -> FixStep {
        let (model, fix) = (self.model, &self.model.fixes[at.at()]);
        let now = self.belief().posterior.as_ref().ok().map(|posterior| &posterior.now);
        // Where only bounds are known, their middle.
        let middle =
            |at: usize| self.bounds().map_or(0.0, |bounds| 0.5 * (bounds.lower[at] + bounds.upper[at]));
        let removes = model.network.removes(at).iter().map(|&(cause, _)| {
            let chance = now.map_or_else(|| middle(cause.at()), |now| now[cause.at()]);
            (model.causes[cause.at()].name.clone(), chance)
        });
        let mut removes: Vec<(String, f64)> = removes.collect();
        removes.sort_by(|a, b| b.1.total_cmp(&a.1));
        FixStep {
            fix: fix.id.clone(),
            unit: unit(model, fix.unit),
            steps: fix.steps.clone(),
            say_to_caller: fix.say_to_caller.clone(),
            not_for: fix.not_for.clone(),
            removes,
            parts: fix.parts.clone(),
            currency: model.practice.currency.clone(),
            temporary: fix.temporary,
            conditions: self.conditions(&fix.terms),
        }
    }

    pub(crate) fn prove_step(self, finding: FindingIx, left: usize) -> ProveStep {
        let (model, at) = (self.model, finding);
        let finding = &model.findings[at.at()];
        let symptom = finding.symptom.as_ref();
        ProveStep {
            finding: finding.id.clone(),
            say: symptom.map_or_else(|| finding.name.clone(), |symptom| symptom.say.clone()),
            outcomes: finding.outcomes.clone(),
            under: symptom.map(|symptom| symptom.prove_under.clone()).unwrap_or_default(),
            minutes: symptom.map(|symptom| symptom.prove_minutes).unwrap_or_default(),
            left,
            conditions: self.conditions(&model.tests[finding.test.at()].terms),
        }
    }

    /// One act on the way into a work state.
    pub(crate) fn enter_act(self, state: WorkStateIx, step: usize) -> WorkAct {
        let form = &self.model.practice.work_states[state.at()];
        self.work_act(state, step, &form.steps, &form.enter)
    }

    /// One act on the way back.
    pub(crate) fn back_act(self, state: WorkStateIx, step: usize) -> WorkAct {
        let form = &self.model.practice.work_states[state.at()];
        self.work_act(state, step, &form.back_steps, &form.back)
    }

    fn work_act(self, state: WorkStateIx, step: usize, acts: &[String], terms: &Terms) -> WorkAct {
        let form = &self.model.practice.work_states[state.at()];
        WorkAct {
            state: form.id.clone(),
            name: form.name.clone(),
            step,
            of: acts.len(),
            text: acts.get(step).cloned().unwrap_or_default(),
            conditions: self.conditions(terms),
            open: self.state.open(),
        }
    }

    pub(crate) fn state_choices(self) -> Vec<StateChoice> {
        let states = self.model.practice.work_states.iter();
        states.map(|s| StateChoice { id: s.id.clone(), name: s.name.clone(), also: s.also.clone() }).collect()
    }

    /// The first nameplate value that a test needs and nobody was asked for yet.
    pub(crate) fn missing_plate(self, test: TestIx) -> Option<NameplateAsked> {
        let model = self.model;
        let scales = model.tests[test.at()].gives.iter().filter_map(|gives| gives.scale.as_ref());
        let (unit, key) = scales.flat_map(|scale| &scale.unknown).next()?;
        Some(self.nameplate(*unit, key, &model.tests[test.at()].say))
    }

    /// A nameplate value to ask for.
    pub(crate) fn nameplate(self, unit: UnitIx, key: &str, wanted_for: &str) -> NameplateAsked {
        let unit = &self.model.units[unit.at()];
        let plate = unit.nameplate.iter().find(|plate| plate.id == *key);
        NameplateAsked {
            unit: unit.id.clone(),
            unit_name: unit.name.clone(),
            key: key.to_owned(),
            ask: plate.map(|plate| plate.ask.clone()).unwrap_or_default(),
            about: plate.map(|plate| plate.about.clone()).unwrap_or_default(),
            measured_in: plate.and_then(|plate| plate.measured_in.clone()),
            one_of: plate.map(|plate| plate.one_of.clone()).unwrap_or_default(),
            test: wanted_for.to_owned(),
        }
    }

    /// What is left open, by sentence.
    pub(crate) fn open_texts(self) -> Vec<String> {
        self.state.open().into_iter().map(|left: Left| left.text).collect()
    }

    /// What a report showed, in words: the outcome; for a fault that is in no table the words of the display, since all
    /// that is known of its class is that there is one.
    pub(crate) fn shown(self, report: &Report) -> String {
        let named = || outcome_name(self.model, report.finding, report.outcome);
        let entries = &self.state.entries;
        let Ok(at) = entries.binary_search_by_key(&report.no, |entry| entry.no) else { return named() };
        let What::Answered { test, answer: Answer::FaultNumber(number), .. } = &entries[at].what else {
            return named();
        };
        let observed = self.model.ids.tests.get(test).and_then(|&test| self.model.fault(test, number).ok());
        let unlisted = observed.into_iter().flatten().find_map(|observed| match observed.seen {
            Seen::Abnormal { words } if observed.finding == report.finding => Some(words),
            _ => None,
        });
        unlisted.map_or_else(named, |words| format!("{words}, class unknown"))
    }

    /// What an event that gave evidence was about.
    pub(crate) fn about(self, event: EventNo) -> Option<About> {
        let (model, records) = (self.model, &self.state.records);
        let of_finding = |finding: FindingIx, outcome: usize| {
            let form = &model.findings[finding.at()];
            About {
                id: form.id.clone(),
                name: form.name.clone(),
                outcome: outcome_name(model, finding, outcome),
                test: model.tests[form.test.at()].id.clone(),
            }
        };
        if let Some(report) = records.reports.iter().find(|report| report.no == event && !report.implied) {
            return Some(About { outcome: self.shown(report), ..of_finding(report.finding, report.outcome) });
        }
        if let Some(group) = records.groups.iter().find(|group| group.no == event) {
            return Some(of_finding(*group.findings.first()?, group.outcome));
        }
        if let Some(seen) = records.seen.iter().find(|seen| seen.no == event) {
            let cause = &model.causes[seen.cause.at()];
            let outcome = if seen.present { "present" } else { "absent" }.to_owned();
            return Some(About {
                id: cause.id.clone(),
                name: cause.name.clone(),
                outcome,
                test: String::new(),
            });
        }
        let fix = records.fixes.iter().find(|fix| fix.0 == event)?.1;
        let fix = &model.fixes[fix.at()];
        let name = fix.steps.first().cloned().unwrap_or_default();
        Some(About { id: fix.id.clone(), name, outcome: "done".to_owned(), test: String::new() })
    }
}

/// What an event that gave evidence was about, in the words of the machine form.
pub(crate) struct About {
    /// Finding, cause or fix.
    pub(crate) id: String,
    pub(crate) name: String,
    /// Outcome of a finding; `present` or `absent`; `done`.
    pub(crate) outcome: String,
    /// The test that takes it again; empty for a cause and a fix.
    pub(crate) test: String,
}
