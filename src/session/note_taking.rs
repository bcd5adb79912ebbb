//! The call note, written from the entries that stand.

use super::event::{Answer, Closing, Event, What, WireFound};
use super::insight::Insight;
use super::log::Entry;
use super::note::{Note, NoteKind, NoteLine};
use super::people::described;
use super::ranking::{Certainty, Ranked};
use super::records::Fate;
use super::steps::outcome_name;
use super::wires;
use crate::model::practice::WorkState;

impl<'a> Insight<'a> {
    /// Who, when, what was said, found, done and proven, and what is open.
    pub(crate) fn note(self, about: (&str, Option<&str>), log: &[Event]) -> Note {
        let (model, state) = (self.model, self.state);
        let mut people: Vec<String> = Vec::new();
        for entry in &state.entries {
            if let What::Started { who, .. } | What::Person { who, .. } | What::Resumed { who: Some(who) } =
                &entry.what
            {
                let who = described(who, &model.practice);
                if !who.is_empty() && !people.contains(&who) {
                    people.push(who);
                }
            }
        }
        let ranking = self.ranking();
        let worth_naming = |cause: &Ranked| cause.certainty != Certainty::Unlikely;
        let closing = self.closing();
        Note {
            knowledge: about.0.to_owned(),
            job: about.1.map(str::to_owned),
            people,
            from_to: (log.first().map_or(0, |event| event.at), log.last().map_or(0, |event| event.at)),
            lines: state.entries.iter().flat_map(|entry| self.lines(entry)).collect(),
            complaints: closing
                .proven
                .iter()
                .map(|proven| proven.0.clone())
                .chain(closing.unproven.clone())
                .collect(),
            none_listed: ranking.none_listed,
            ranking: ranking.causes.into_iter().filter(worth_naming).collect(),
            closing,
            open: state.open(),
            work_state: self.work_state_name(),
            notice: model.practice.notice.clone(),
        }
    }

    /// What an entry has to say in the note; nothing for those that only steer the session.
    fn lines(self, entry: &Entry) -> Vec<NoteLine> {
        let model = self.model;
        let line = |kind: NoteKind, about: &str, text: &str, words: &str| NoteLine {
            event: entry.no,
            at: entry.at,
            kind,
            about: about.to_owned(),
            text: text.to_owned(),
            words: words.to_owned(),
            superseded: false,
        };
        let emergency = |id: &str| {
            let form = model.practice.emergencies.iter().find(|emergency| emergency.id == id);
            form.map_or_else(|| id.to_owned(), |form| form.ask.clone())
        };
        let left = |id| {
            let thing = self.state.things.iter().find(|thing| thing.left.id == id);
            thing.map(|thing| thing.left.text.clone()).unwrap_or_default()
        };
        let test = |id: &str| {
            let at = model.ids.tests.get(id);
            at.map_or_else(|| id.to_owned(), |at| model.tests[at.at()].say.clone())
        };
        let unit = |id: &str| {
            let unit = model.units.iter().find(|unit| unit.id == id);
            unit.map_or_else(|| id.to_owned(), |unit| unit.name.clone())
        };
        match &entry.what {
            What::Started { who, .. } | What::Person { who, .. } | What::Resumed { who: Some(who) } => {
                vec![line(NoteKind::Person, &described(who, &model.practice), "", "")]
            }
            What::EmergenciesAnswered { present } if present.is_empty() => {
                vec![line(NoteKind::NoEmergency, "", "", "")]
            }
            What::EmergenciesAnswered { present } => {
                present.iter().map(|id| line(NoteKind::Emergency, &emergency(id), "", "")).collect()
            }
            What::EmergencyRaised { emergency: id, words } => {
                vec![line(NoteKind::Emergency, &emergency(id), "", words)]
            }
            What::AllClear { emergency: id } => {
                let form = model.practice.emergencies.iter().find(|emergency| emergency.id == *id);
                vec![line(NoteKind::AllClear, form.map_or(id, |form| &form.all_clear), "", "")]
            }
            What::Volunteered { words, .. } => self.found_lines(entry, NoteKind::Found, words),
            What::OneOf { words, .. } => self.group_lines(entry, words),
            What::Answered { test: id, answer: Answer::CantTell, words, .. } => {
                vec![line(NoteKind::CannotTell, &test(id), "", words)]
            }
            What::Answered { answer, words, .. } => {
                let measured = match answer {
                    Answer::Readings(numbers) if words.is_empty() => {
                        numbers.iter().map(f64::to_string).collect::<Vec<String>>().join(" ")
                    }
                    Answer::FaultNumber(number) if words.is_empty() => number.clone(),
                    _ => words.clone(),
                };
                self.found_lines(entry, NoteKind::Found, &measured)
            }
            What::Proved { minutes, .. } => self.found_lines(entry, NoteKind::Proven, &minutes.to_string()),
            What::CauseSeen { cause, present, words } => {
                let at = model.ids.causes.get(cause);
                let name = at.map_or(cause, |at| &model.causes[at.at()].name);
                vec![line(if *present { NoteKind::Seen } else { NoteKind::SeenAbsent }, name, "", words)]
            }
            What::StepTaken { step, outcome, readings, by, .. } => {
                let form = model.procedure.steps.iter().find(|form| form.id == *step);
                let measure = form.and_then(|form| form.reading.as_ref()).map_or("", |reading| &reading.0);
                let read: Vec<String> = readings.iter().map(|number| format!("{number} {measure}")).collect();
                let text =
                    if read.is_empty() { outcome.clone() } else { format!("{}: {outcome}", read.join(", ")) };
                vec![line(NoteKind::Step, form.map_or(step, |form| &form.say), &text, by)]
            }
            What::StepStill { step, still, by } => {
                let form = model.procedure.steps.iter().find(|form| form.id == *step);
                let text = if *still { "still so" } else { "no longer so" };
                vec![line(NoteKind::Step, form.map_or(step, |form| &form.say), text, by)]
            }
            // Of many good connections nothing is said: what was wrong, and that it was put right.
            What::WireRead { wire, found, by } => {
                let earlier = self.state.entries.iter().take_while(|earlier| earlier.no < entry.no);
                let wrong = |what: &What| matches!(what, What::WireRead { wire: same, found, .. } if same == wire && *found != WireFound::Good);
                let told =
                    *found != WireFound::Good || earlier.into_iter().any(|earlier| wrong(&earlier.what));
                let words = wires::words(model, wire, found).filter(|_| told);
                words.into_iter().map(|(about, text)| line(NoteKind::Step, &about, &text, by)).collect()
            }
            What::StepPassedOver { step, words } => {
                let form = model.procedure.steps.iter().find(|form| form.id == *step);
                vec![line(NoteKind::NotDone, form.map_or(step, |form| &form.say), "", words)]
            }
            What::WorkStateTold { state } => vec![line(NoteKind::WorkState, &self.state_name(state), "", "")],
            What::WorkStep { state, step, by } => {
                let act = self
                    .state_form(state)
                    .and_then(|form| form.steps.get(*step))
                    .cloned()
                    .unwrap_or_default();
                vec![line(NoteKind::WorkState, &self.state_name(state), &act, by)]
            }
            What::BackStep { state, step, by } => {
                let act = self.state_form(state).and_then(|form| form.back_steps.get(*step));
                vec![line(
                    NoteKind::WorkState,
                    &self.state_name(state),
                    &act.cloned().unwrap_or_default(),
                    by,
                )]
            }
            What::FixDone { fix, words } => {
                let steps = model.ids.fixes.get(fix).map(|at| model.fixes[at.at()].steps.join(" "));
                vec![line(NoteKind::Done, &steps.unwrap_or_else(|| fix.clone()), "", words)]
            }
            What::FixNotDone { fix, words } => {
                vec![line(NoteKind::NotDone, &self.fix_name(fix).unwrap_or_else(|| fix.clone()), "", words)]
            }
            What::StepNotDone { test: id, words } => vec![line(NoteKind::NotDone, &test(id), "", words)],
            What::UnitMentioned { name, .. } => vec![line(NoteKind::Said, name, "", "")],
            What::NameplateTold { unit: id, key, value } => {
                vec![line(NoteKind::Nameplate, &unit(id), value, key)]
            }
            What::Left { item } => vec![line(NoteKind::Left, item, "", "")],
            What::Meanwhile { measure } => {
                let form = model.practice.meanwhile.iter().find(|meanwhile| meanwhile.id == *measure);
                vec![line(NoteKind::Done, form.map_or(measure, |form| &form.act), "", "")]
            }
            What::PutBack { item } => vec![line(NoteKind::PutBack, &left(*item), "", "")],
            What::LeftHandedOver { item, to } => vec![line(NoteKind::LeftHandedOver, &left(*item), to, "")],
            What::WorkChanged => vec![line(NoteKind::WorkChanged, "", "", "")],
            What::Note { text } => vec![line(NoteKind::Remark, "", text, "")],
            What::HandedOver { competence, to } => {
                let at = model.practice.competence(competence);
                let name = at.map_or(competence, |at| &model.practice.competences[at.at()].name);
                vec![line(NoteKind::HandedOver, name, to, "")]
            }
            What::Closed { how } => {
                let kind = match how {
                    Closing::Proven => NoteKind::ClosedProven,
                    Closing::HandedOver => NoteKind::ClosedHandedOver,
                    Closing::Unproven => NoteKind::ClosedUnproven,
                };
                vec![line(kind, "", "", "")]
            }
            What::ThereNow { there } => {
                vec![line(if *there { NoteKind::ThereNow } else { NoteKind::NotThereNow }, "", "", "")]
            }
            What::PowerUpBegan
            | What::Stands { .. }
            | What::WorkBrokenOff
            | What::UnitRelated { .. }
            | What::NameplateUnknown { .. }
            | What::Undo
            | What::Change { .. }
            | What::Resumed { who: None } => Vec::new(),
        }
    }

    fn state_form(self, id: &str) -> Option<&'a WorkState> {
        self.model.practice.work_states.iter().find(|form| form.id == id)
    }

    fn state_name(self, id: &str) -> String {
        self.state_form(id).map_or_else(|| id.to_owned(), |form| form.name.clone())
    }

    /// What an entry reported, one line a finding.
    fn found_lines(self, entry: &Entry, kind: NoteKind, words: &str) -> Vec<NoteLine> {
        let reports =
            self.state.records.reports.iter().filter(|report| report.no == entry.no && !report.implied);
        let lines = reports.map(|report| NoteLine {
            event: entry.no,
            at: entry.at,
            kind,
            about: self.model.findings[report.finding.at()].name.clone(),
            text: self.shown(report),
            words: words.to_owned(),
            superseded: !(matches!(report.fate, Fate::Counts | Fate::NotCounted)
                || kind == NoteKind::Found && self.state.records.gave_way_to_proof(report)),
        });
        lines.collect()
    }

    fn group_lines(self, entry: &Entry, words: &str) -> Vec<NoteLine> {
        let groups = self.state.records.groups.iter().filter(|group| group.no == entry.no);
        let lines = groups.map(|group| {
            let names: Vec<&str> =
                group.findings.iter().map(|f| &*self.model.findings[f.at()].name).collect();
            NoteLine {
                event: entry.no,
                at: entry.at,
                kind: NoteKind::Found,
                about: names.join(" / "),
                text: outcome_name(self.model, group.findings[0], group.outcome),
                words: words.to_owned(),
                superseded: group.fate != Fate::Counts,
            }
        });
        lines.collect()
    }
}
