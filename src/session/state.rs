//! What stands after the log: a plain fold, computed anew for every event.
//!
//! In: the model, the log, the entries that stand. Out: [`State`]. O(n) for n events, a few microseconds at the usual
//! length of a call; nothing is remembered from one state to the next, so that replay and undo need no code of their own.

use std::collections::BTreeSet;

use super::event::{Answer, Closing, Event, EventNo, What, Who};
use super::left_open::{LeftFate, LeftThing, things};
use super::log::{Entry, entries};
use super::people::Present;
use super::power_up::{self, PowerUp};
use super::prompt::Left;
use super::records::{Fate, Records};
use super::source::Mentioned;
use super::wires;
use super::work::{START, Standing, Work};
use crate::model::Model;
use crate::model::catalog::Stage;
use crate::model::index::{FindingIx, FixIx, PlaceIx, TestIx, WorkStateIx};
use crate::model::practice::Terms;
use crate::wiring::Reading;

/// The stage and what was told of the job: all on which the model depends.
pub(crate) type Subject = (Stage, Mentioned);

/// What the entries that stand say of it.
pub(crate) fn subject(entries: &[Entry]) -> Subject {
    let (mut stage, mut mentioned) = (Stage::InService, Mentioned::default());
    for entry in entries {
        match &entry.what {
            What::Started { stage: started, .. } => stage = *started,
            What::WorkChanged => stage = Stage::AfterWork,
            What::UnitMentioned { unit, component, name } => {
                mentioned.units.push((unit.clone(), component.clone(), name.clone()));
            }
            What::UnitRelated { unit, relation, other } => {
                mentioned.relations.push((unit.clone(), relation.clone(), other.clone()));
            }
            What::NameplateTold { unit, key, value } => {
                mentioned.nameplate.push((unit.clone(), key.clone(), value.clone()));
            }
            _ => {}
        }
    }
    (stage, mentioned)
}

/// What stands.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct State {
    pub(crate) entries: Vec<Entry>,
    pub(crate) people: Vec<Who>,
    pub(crate) present: Present,
    pub(crate) work: Work,
    /// The emergencies were asked since the session began or was taken up again.
    pub(crate) emergencies_asked: bool,
    /// Emergencies at hand, in the order of the package.
    pub(crate) emergencies: BTreeSet<usize>,
    pub(crate) records: Records,
    /// Findings reported abnormal as what is wrong, in the order in which they came up.
    pub(crate) complaints: Vec<FindingIx>,
    /// Whether they are there now, where it was asked.
    pub(crate) there: Option<bool>,
    /// All that was left in another state.
    pub(crate) things: Vec<LeftThing>,
    /// The work state before, where it was changed and nothing was told or done since.
    pub(crate) came_from: Option<WorkStateIx>,
    /// Where the person is.
    pub(crate) place: PlaceIx,
    /// Tests that those present cannot tell, or will not do.
    pub(crate) set_aside: BTreeSet<TestIx>,
    /// Fixes that were not done.
    pub(crate) declined: BTreeSet<FixIx>,
    /// Nameplate values that nobody can tell: unit id, key.
    pub(crate) unknown_plates: BTreeSet<(String, String)>,
    /// Answers that were looked at again and stand.
    pub(crate) stands: BTreeSet<EventNo>,
    /// The competence it was handed over to, while nobody took it up again.
    pub(crate) handed_over: Option<String>,
    pub(crate) closed: Option<Closing>,
    /// The first power-up, where it is one.
    pub(crate) power_up: Option<PowerUp>,
    /// The latest reading of each connection of the wire list.
    pub(crate) wires: Vec<Reading>,
    /// The notice is due: nothing was asked yet since the session began or was taken up again.
    pub(crate) notice_due: bool,
}

impl State {
    /// The state after `log`.
    pub(crate) fn new(model: &Model, log: &[Event]) -> Self {
        let entries = entries(log);
        let practice = &model.practice;
        let mut people: Vec<Who> = Vec::new();
        let mut presents: Vec<(EventNo, Present)> = Vec::new();
        let mut theres: Vec<(EventNo, bool)> = Vec::new();
        for entry in &entries {
            match &entry.what {
                What::Started { who, .. } | What::Resumed { who: Some(who) } => people = vec![who.clone()],
                What::Person { who, others_stay } => {
                    if !others_stay {
                        people.clear();
                    }
                    people.retain(|other| other.name.is_empty() || other.name != who.name);
                    people.push(who.clone());
                }
                What::ThereNow { there } => {
                    theres.push((entry.no, *there));
                    continue;
                }
                _ => continue,
            }
            presents.push((entry.no, Present::new(&people, practice)));
        }
        let nobody = Present::new(&[], practice);
        let present = |no: EventNo| presents.iter().rfind(|at| at.0 <= no).map_or(nobody, |at| at.1);
        let there = |no: EventNo| theres.iter().rfind(|at| at.0 <= no).is_none_or(|at| at.1);
        let power_up = PowerUp::new(model, log, &entries);
        let told = wires::evidence(model, power_up::evidence(model, &entries));
        let mut records = Records::new(model, &told, present, there);
        let confirmed = theres.iter().rfind(|at| at.1).map_or(0, |at| at.0);
        let added = entries.iter().filter(|entry| {
            let plainly =
                matches!(entry.what, What::Volunteered { sure: true, .. } | What::OneOf { sure: true, .. });
            let last = theres.iter().rfind(|at| at.0 <= entry.no);
            plainly && last.is_some_and(|at| at.1)
        });
        records.take_as_real(model, confirmed, &added.map(|entry| entry.no).collect());
        let mut state = Self {
            work: log.iter().fold(Work::default(), |work, event| work.after(&event.what, practice)),
            emergencies_asked: false,
            emergencies: BTreeSet::new(),
            complaints: complaints(model, &records, power_up.as_ref()),
            there: theres.last().map(|at| at.1),
            things: things(model, log, &entries),
            came_from: None,
            place: PlaceIx(0),
            set_aside: BTreeSet::new(),
            declined: BTreeSet::new(),
            unknown_plates: BTreeSet::new(),
            stands: BTreeSet::new(),
            handed_over: None,
            closed: None,
            power_up,
            wires: wires::readings(model, &entries),
            notice_due: true,
            present: present(EventNo::MAX),
            records,
            people,
            entries: Vec::new(),
        };
        state.walk(model, &entries);
        state.stopped_step(model, log);
        state.emergencies = emergencies(model, &entries, &state.records);
        state.entries = entries;
        state
    }

    /// The parts of the state for which the last event of a kind decides.
    fn walk(&mut self, model: &Model, entries: &[Entry]) {
        let work_state = |id: &str| {
            model.practice.work_states.iter().position(|state| state.id == id).map(WorkStateIx::new)
        };
        for entry in entries {
            self.came_from = match &entry.what {
                What::WorkStep { .. } => Some(START),
                What::BackStep { state, .. } => work_state(state),
                What::Note { .. } => self.came_from,
                _ => None,
            };
            if !matches!(entry.what, What::Started { .. } | What::Resumed { .. }) {
                self.notice_due = false;
            }
            match &entry.what {
                What::EmergenciesAnswered { .. } => self.emergencies_asked = true,
                What::Resumed { .. } => {
                    (self.emergencies_asked, self.notice_due) = (false, true);
                    (self.handed_over, self.closed) = (None, None);
                    self.set_aside.clear();
                    self.declined.clear();
                }
                What::Person { .. } => {
                    // Somebody else may be able to tell, and to do it.
                    self.set_aside.clear();
                    self.declined.clear();
                    self.unknown_plates.clear();
                    self.handed_over = None;
                }
                What::Answered { test, answer, .. } => {
                    if let Some(&test) = model.ids.tests.get(test) {
                        self.place = model.tests[test.at()].terms.place;
                        if *answer == Answer::CantTell {
                            self.set_aside.insert(test);
                        } else {
                            self.set_aside.remove(&test);
                        }
                    }
                }
                What::StepTaken { step, .. } => {
                    let step = model.procedure.steps.iter().find(|form| form.id == *step);
                    self.place = step.map_or(self.place, |step| step.terms.place);
                }
                What::StepNotDone { test, .. } => self.set_aside.extend(model.ids.tests.get(test)),
                What::FixDone { fix, .. } => {
                    if let Some(&fix) = model.ids.fixes.get(fix) {
                        self.place = model.fixes[fix.at()].terms.place;
                        self.declined.remove(&fix);
                    }
                }
                What::FixNotDone { fix, .. } => self.declined.extend(model.ids.fixes.get(fix)),
                What::Proved { finding, .. } => {
                    if let Some(finding) = model.ids.findings.get(finding) {
                        self.place = model.tests[model.findings[finding.at()].test.at()].terms.place;
                    }
                }
                What::WorkStep { state, .. } => {
                    self.place = work_place(model, state, true).unwrap_or(self.place)
                }
                What::BackStep { state, .. } => {
                    self.place = work_place(model, state, false).unwrap_or(self.place)
                }
                What::NameplateUnknown { unit, key } => {
                    self.unknown_plates.insert((unit.clone(), key.clone()));
                }
                What::NameplateTold { unit, key, .. } => {
                    self.unknown_plates.remove(&(unit.clone(), key.clone()));
                }
                What::Stands { event } => {
                    self.stands.insert(*event);
                }
                What::HandedOver { competence, .. } => self.handed_over = Some(competence.clone()),
                What::Closed { how } => self.closed = Some(*how),
                _ => {}
            }
        }
    }

    /// While a step of the power-up stopped: in which work state that was, and what waits for voltage meanwhile.
    fn stopped_step(&mut self, model: &Model, log: &[Event]) {
        let Some(power_up) = &self.power_up else { return };
        let Some((at, no)) = power_up.failed() else { return };
        let steps = &model.procedure.steps;
        let live = (0..steps.len()).any(|step| power_up.live(&model.procedure, step));
        let since = log[no + 1..].iter().any(|event| {
            use What::{BackStep, Change, Person, Resumed, Undo, WorkBrokenOff, WorkStateTold, WorkStep};
            matches!(
                event.what,
                Undo | WorkBrokenOff
                    | Change { .. }
                    | Person { .. }
                    | Resumed { .. }
                    | WorkStateTold { .. }
                    | WorkStep { .. }
                    | BackStep { .. }
            )
        });
        if !since {
            self.work.standing = match steps[at].terms.work_state {
                Some(state) => Standing::Known(state),
                None if live => Standing::Known(START),
                None => Standing::Unknown,
            };
        }
        if !live {
            let needs_voltage = |terms: &Terms| terms.work_state == Some(START);
            let tests = model.tests.iter().enumerate().filter(|(_, test)| needs_voltage(&test.terms));
            self.set_aside.extend(tests.map(|(at, _)| TestIx::new(at)));
            let fixes = model.fixes.iter().enumerate().filter(|(_, fix)| needs_voltage(&fix.terms));
            self.declined.extend(fixes.map(|(at, _)| FixIx::new(at)));
        }
    }

    /// What is to be put back still.
    pub(crate) fn open(&self) -> Vec<Left> {
        self.things
            .iter()
            .filter(|thing| thing.fate == LeftFate::Open)
            .map(|thing| thing.left.clone())
            .collect()
    }

    /// Complaints that are not proven gone.
    pub(crate) fn unproven(&self) -> Vec<FindingIx> {
        self.complaints.iter().copied().filter(|&finding| !self.records.is_proven(finding)).collect()
    }
}

/// Where the acts into a work state, or back, are done.
fn work_place(model: &Model, id: &str, enter: bool) -> Option<PlaceIx> {
    let state = model.practice.work_states.iter().find(|state| state.id == id)?;
    Some(if enter { state.enter.place } else { state.back.place })
}

/// Symptoms reported abnormal, also those of earlier epochs: all of them have to be taken again.
fn complaints(model: &Model, records: &Records, power_up: Option<&PowerUp>) -> Vec<FindingIx> {
    let raised = |finding: &FindingIx| power_up.is_some_and(|power_up| power_up.raised.contains(finding));
    let mut found: Vec<(EventNo, FindingIx)> = Vec::new();
    for report in &records.reports {
        let stands = matches!(report.fate, Fate::Counts | Fate::Earlier) || records.gave_way_to_proof(report);
        if stands
            && report.outcome != 0
            && !report.implied
            && (model.findings[report.finding.at()].symptom.is_some() || raised(&report.finding))
        {
            found.push((report.no, report.finding));
        }
    }
    for group in records.groups.iter().filter(|group| group.outcome != 0) {
        if matches!(group.fate, Fate::Counts | Fate::Earlier) {
            let symptoms = group.open.iter().filter(|finding| model.findings[finding.at()].symptom.is_some());
            found.extend(symptoms.map(|&finding| (group.no, finding)));
        }
    }
    found.sort_unstable();
    let mut complaints: Vec<FindingIx> = Vec::new();
    for (_, finding) in found {
        if !complaints.contains(&finding) {
            complaints.push(finding);
        }
    }
    complaints
}

/// Emergencies at hand: raised by words, by the answer at the start or by a finding, and not cleared since.
fn emergencies(model: &Model, entries: &[Entry], records: &Records) -> BTreeSet<usize> {
    let all = &model.practice.emergencies;
    let at = |id: &str| all.iter().position(|emergency| emergency.id == id);
    let mut turns: Vec<(EventNo, usize, bool)> = Vec::new(); // said at, which, whether it is there
    for entry in entries {
        match &entry.what {
            What::EmergenciesAnswered { present } => {
                turns.extend(present.iter().filter_map(|id| at(id)).map(|which| (entry.said, which, true)));
            }
            What::EmergencyRaised { emergency, .. } => {
                turns.extend(at(emergency).map(|which| (entry.said, which, true)));
            }
            What::AllClear { emergency } => {
                turns.extend(at(emergency).map(|which| (entry.said, which, false)))
            }
            _ => {}
        }
    }
    for (which, emergency) in all.iter().enumerate() {
        for report in records.reports.iter().filter(|report| report.outcome != 0) {
            if emergency.shown_by.contains(&model.findings[report.finding.at()].kind) {
                turns.push((report.said, which, true));
            }
        }
        for group in records.groups.iter().filter(|group| group.outcome != 0) {
            if group.findings.iter().any(|f| emergency.shown_by.contains(&model.findings[f.at()].kind)) {
                turns.push((group.no, which, true));
            }
        }
    }
    turns.sort_by_key(|turn| (turn.0, !turn.2));
    let mut now = BTreeSet::new();
    for (_, which, there) in turns {
        if there {
            now.insert(which);
        } else {
            now.remove(&which);
        }
    }
    now
}
