//! What comes next: emergencies first, then what is wrong, then the planner's advice behind the gates of safety.
//!
//! Invariants: no step is shown beyond the competence and instruments of those present; none in a work state that is not
//! confirmed; nothing that closes a protective device again before its needs were answered so; nothing but the emergency
//! while one is at hand; no closing before what was left is put back or handed over.

use super::event::Closing;
use super::insight::Insight;
use super::prompt::{ClosingView, Doubt, EmergencyAsked, EmergencyNow, Prompt, View};
use super::work::{START, Standing};
use crate::model::index::{FindingIx, FixIx, TestIx, WorkStateIx};
use crate::model::practice::Terms;
use crate::planner::Step;

impl Insight<'_> {
    /// What to show now.
    pub(crate) fn view(self) -> View {
        let prompt = self.prompt();
        let quiet =
            matches!(prompt, Prompt::Emergency(_) | Prompt::Emergencies(_) | Prompt::Contradiction(_));
        View {
            notice: if self.state.notice_due { self.model.practice.notice.clone() } else { Vec::new() },
            lay: self.state.present.lay,
            doubt: if quiet || self.state.closed.is_some() { None } else { self.doubt() },
            chart: self.on_chart(&prompt),
            prompt,
        }
    }

    /// The answer to check, where one disagrees much.
    pub(crate) fn doubt(self) -> Option<Doubt> {
        let disagreeing = self.disagreeing()?;
        let about = self.about(disagreeing.event)?;
        Some(Doubt {
            event: disagreeing.event,
            finding: about.id,
            name: about.name,
            outcome: about.outcome,
            test: about.test,
            ln_gain: disagreeing.ln_gain,
            conflict: disagreeing.conflict,
        })
    }

    fn prompt(self) -> Prompt {
        let (model, state) = (self.model, self.state);
        if let Some(&at) = state.emergencies.first() {
            let emergency = &model.practice.emergencies[at];
            return Prompt::Emergency(EmergencyNow {
                id: emergency.id.clone(),
                act: emergency.act.clone(),
                all_clear: emergency.all_clear.clone(),
            });
        }
        if state.closed.is_some() {
            return Prompt::Closed(self.closing());
        }
        if !state.emergencies_asked {
            let all = model.practice.emergencies.iter();
            let asked = all.filter(|emergency| emergency.shown_by.is_empty() || !emergency.words.is_empty());
            let asked: Vec<EmergencyAsked> =
                asked.map(|e| EmergencyAsked { id: e.id.clone(), ask: e.ask.clone() }).collect();
            if !asked.is_empty() {
                return Prompt::Emergencies(asked);
            }
        }
        if state.handed_over.is_some() {
            return Prompt::HandedOver(self.slip());
        }
        match &state.power_up {
            Some(power_up) => self.power_up(power_up),
            None => self.search(),
        }
    }

    /// The search for the cause of what is wrong.
    pub(crate) fn search(self) -> Prompt {
        let (model, state) = (self.model, self.state);
        match state.work.standing {
            Standing::Entering(at, done) if self.allows(&model.practice.work_states[at.at()].enter) => {
                return Prompt::Enter(self.enter_act(at, done));
            }
            Standing::Leaving(at, done) if self.allows(&model.practice.work_states[at.at()].back) => {
                return Prompt::Return(self.back_act(at, done));
            }
            Standing::Entering(..) | Standing::Leaving(..) => return Prompt::HandOver(self.slip()),
            _ => {}
        }
        if state.complaints.is_empty() {
            return Prompt::Complaint;
        }
        // What a step has shown a moment ago is there.
        if state.there.is_none() && state.power_up.is_none() {
            return Prompt::ThereNow(self.complaint_texts(&state.complaints));
        }
        if let Some(doubt) =
            self.doubt().filter(|doubt| doubt.conflict.is_infinite() && !state.stands.contains(&doubt.event))
        {
            return Prompt::Contradiction(doubt);
        }
        let unproven = state.unproven();
        if unproven.is_empty() {
            return self.finish();
        }
        // A proof that has begun goes on without planning anew.
        if unproven.len() < state.complaints.len() && !self.seen_since_the_proof(&unproven) {
            return self.prove(&unproven);
        }
        match self.step() {
            Some(Step::Test(test)) => self.test(*test),
            Some(Step::Fix(fix)) => self.fix(*fix),
            Some(Step::Enter(at)) => self.reach(*at).unwrap_or_else(|| Prompt::HandOver(self.slip())),
            Some(Step::Return(_)) => self.reach(START).unwrap_or_else(|| self.prove(&unproven)),
            Some(Step::ConfirmWorkState) => Prompt::WorkState(self.state_choices()),
            // The planner takes a complaint that looks normal for gone; here it is gone once it is proven.
            Some(Step::Prove | Step::PutBack | Step::Done) => self.prove(&unproven),
            Some(Step::HandOver(_)) | None => Prompt::HandOver(self.slip()),
        }
    }

    /// Whether one of these complaints was seen in this epoch, so that going on proving would be idle.
    fn seen_since_the_proof(self, unproven: &[FindingIx]) -> bool {
        unproven
            .iter()
            .any(|&finding| self.state.records.latest(finding).is_some_and(|report| report.outcome != 0))
    }

    /// Whether those present may and can do a step of these terms.
    fn allows(self, terms: &Terms) -> bool {
        self.model.practice.allows(&self.state.present.person, terms)
    }

    /// The way to work state `wanted`: `None` when it is there.
    fn reach(self, wanted: WorkStateIx) -> Option<Prompt> {
        let practice = &self.model.practice;
        let enter = |at: WorkStateIx| {
            let form = &practice.work_states[at.at()];
            if !self.allows(&form.enter) {
                Prompt::HandOver(self.slip())
            } else if form.steps.is_empty() {
                Prompt::WorkState(self.state_choices())
            } else {
                Prompt::Enter(self.enter_act(at, 0))
            }
        };
        let back = |at: WorkStateIx| {
            let form = &practice.work_states[at.at()];
            if !self.allows(&form.back) {
                Prompt::HandOver(self.slip())
            } else if form.back_steps.is_empty() {
                Prompt::WorkState(self.state_choices())
            } else {
                Prompt::Return(self.back_act(at, 0))
            }
        };
        match self.state.work.standing {
            Standing::Known(at) if at == wanted => None,
            Standing::Known(START) => Some(enter(wanted)),
            Standing::Said(at) if at == wanted && at != START => Some(enter(wanted)),
            Standing::Known(at) | Standing::Said(at) => Some(back(at)),
            Standing::Entering(at, done) => Some(Prompt::Enter(self.enter_act(at, done))),
            Standing::Leaving(at, done) => Some(Prompt::Return(self.back_act(at, done))),
            Standing::Unknown => Some(Prompt::WorkState(self.state_choices())),
        }
    }

    /// The gate before every step: allowed, and in its work state.
    fn gate(self, terms: &Terms) -> Option<Prompt> {
        if !self.allows(terms) {
            return Some(Prompt::HandOver(self.slip()));
        }
        self.reach(terms.work_state?)
    }

    /// Needs that have to be *answered* so, not merely taken to be so: what gives the first that is not.
    fn to_be_found_first(self, needs: &[(FindingIx, usize)]) -> Option<TestIx> {
        let open = needs.iter().find(|(finding, _)| {
            let known = self.state.records.latest(*finding).filter(|report| !report.implied);
            known.is_none_or(|report| !needs.contains(&(*finding, report.outcome)))
        });
        open.map(|(finding, _)| self.model.findings[finding.at()].test)
    }

    fn test(self, at: TestIx) -> Prompt {
        let test = &self.model.tests[at.at()];
        if test.terms.recloses
            && let Some(first) = self.to_be_found_first(&test.needs)
        {
            return self.need(first);
        }
        if let Some(gate) = self.gate(&test.terms) {
            return gate;
        }
        match self.missing_plate(at) {
            Some(plate) => Prompt::Nameplate(plate),
            None => Prompt::Test(self.test_step(at)),
        }
    }

    /// A test that a step needs first: not itself followed any further, so that this ends.
    fn need(self, at: TestIx) -> Prompt {
        let test = &self.model.tests[at.at()];
        if self.state.set_aside.contains(&at) || test.terms.recloses {
            return Prompt::HandOver(self.slip());
        }
        self.test(at)
    }

    fn fix(self, at: FixIx) -> Prompt {
        let fix = &self.model.fixes[at.at()];
        if let Some(first) = self.to_be_found_first(&fix.needs) {
            return self.need(first);
        }
        self.gate(&fix.terms).unwrap_or_else(|| Prompt::Fix(self.fix_step(at)))
    }

    fn prove(self, unproven: &[FindingIx]) -> Prompt {
        let Some(&first) = unproven.first() else { return self.finish() };
        let terms = &self.model.tests[self.model.findings[first.at()].test.at()].terms;
        if !self.allows(terms) {
            return Prompt::HandOver(self.slip());
        }
        // A complaint is proven with the equipment running, unless its test says otherwise.
        let wanted = terms.work_state.unwrap_or(START);
        self.reach(wanted).unwrap_or_else(|| Prompt::Prove(self.prove_step(first, unproven.len())))
    }

    /// All complaints are proven gone: back to the state at the start, everything put back, close.
    fn finish(self) -> Prompt {
        let open = self.state.open();
        if !open.is_empty() {
            return Prompt::PutBack(open);
        }
        if self.may_be_locked_out()
            && let Some(back) = self.reach(START)
        {
            return back;
        }
        Prompt::Close(self.closing())
    }

    fn complaint_texts(self, findings: &[FindingIx]) -> Vec<String> {
        let texts = findings.iter().map(|finding| {
            let form = &self.model.findings[finding.at()];
            form.symptom.as_ref().map_or_else(|| form.name.clone(), |symptom| symptom.say.clone())
        });
        texts.collect()
    }

    /// How the case stands, should it be closed now.
    pub(crate) fn closing(self) -> ClosingView {
        use super::left_open::LeftFate;
        let state = self.state;
        let proven = state.complaints.iter().filter(|&&finding| state.records.is_proven(finding));
        let proven = proven.map(|&finding| {
            let symptom = self.model.findings[finding.at()].symptom.as_ref();
            let under = symptom.map(|symptom| symptom.prove_under.clone()).unwrap_or_default();
            (self.complaint_texts(&[finding]).concat(), under, self.watched(finding))
        });
        let done = state.entries.iter().filter_map(|entry| match &entry.what {
            super::event::What::FixDone { fix, .. } => self.fix_name(fix),
            _ => None,
        });
        let handed = state.things.iter().filter_map(|thing| match &thing.fate {
            LeftFate::HandedOver(to) => Some((thing.left.text.clone(), to.clone())),
            _ => None,
        });
        ClosingView {
            proven: proven.collect(),
            unproven: self.complaint_texts(&state.unproven()),
            stay: self.stay(),
            done: done.collect(),
            handed_over: handed.collect(),
        }
    }

    /// Minutes for which a complaint was watched in its latest proof.
    fn watched(self, finding: FindingIx) -> f64 {
        let id = &self.model.findings[finding.at()].id;
        let proofs = self.state.entries.iter().rev().filter_map(|entry| match &entry.what {
            super::event::What::Proved { finding, minutes, .. } if finding == id => Some(*minutes),
            _ => None,
        });
        proofs.into_iter().next().unwrap_or_default()
    }

    /// A fix, in its own words.
    pub(crate) fn fix_name(self, id: &str) -> Option<String> {
        let at = self.model.ids.fixes.get(id)?;
        Some(self.model.fixes[at.at()].steps.join(" "))
    }

    /// Causes that stay probable: at least one in twenty.
    fn stay(self) -> Vec<(String, f64)> {
        let Ok(posterior) = &self.belief().posterior else { return Vec::new() };
        let mut stay: Vec<(String, f64)> = posterior
            .now
            .iter()
            .enumerate()
            .filter(|(_, chance)| {
                super::ranking::Certainty::of(**chance) != super::ranking::Certainty::Unlikely
            })
            .map(|(at, &chance)| (self.model.causes[at].name.clone(), chance))
            .collect();
        stay.sort_by(|a, b| b.1.total_cmp(&a.1));
        stay
    }

    /// Whether the case may be closed so, or why not.
    pub(crate) fn may_close(self, how: Closing) -> Result<(), super::reply::Refused> {
        use super::reply::Refused;
        let handed_over = self.state.handed_over.is_some();
        let items = self.open_texts();
        if !items.is_empty() {
            return Err(Refused::ToPutBack { items });
        }
        if self.may_be_locked_out() && !handed_over {
            return Err(Refused::WorkState);
        }
        if let (Closing::Proven, Some(_)) = (how, &self.state.power_up) {
            let complaints = self.steps_left();
            return if complaints.is_empty() { Ok(()) } else { Err(Refused::NotProven { complaints }) };
        }
        match how {
            Closing::Proven if !self.state.unproven().is_empty() || self.state.complaints.is_empty() => {
                Err(Refused::NotProven { complaints: self.complaint_texts(&self.state.unproven()) })
            }
            Closing::HandedOver if !handed_over => Err(Refused::CannotChange),
            _ => Ok(()),
        }
    }
}
