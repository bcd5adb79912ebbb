//! The faithful player: a scripted scenario through the real session, in typed lines.
//!
//! In: a scenario. Out: every line with what it answered, what came of the call, and which goals were missed. Every prompt is
//! answered as the person at the site would type it; what the script does not say is drawn from the story. Where a choice
//! is asked back, the one that fits the site is taken.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::caller::Caller;
use super::played::{Ending, Fate, Played, can_remove, first_ranked};
use super::readings::readings;
use super::safety::breaches;
use super::scenario::Scenario;
use super::site::{Site, Told};
use super::truth::{Story, Truth};
use super::whereabouts::Whereabouts;
use crate::knowledge::Knowledge;
use crate::model::Model;
use crate::model::index::{CauseIx, FindingIx, FixIx, TestIx, WorkStateIx};
use crate::model::observe::{Observed, Seen};
use crate::model::practice::BitSet;
use crate::planner::Step;
use crate::session::dialogue::{Dialogue, Said};
use crate::session::prompt::{Choice, TestStep};
use crate::session::{Prompt, Refused, Session, What};

/// More lines than a call needs.
const MOST_LINES: usize = 160;
/// So many lines in a row may leave the same question standing.
const MOST_IN_VAIN: usize = 3;

/// What is typed where nothing else can be said.
const CANNOT_TELL: &str = "can't tell";

/// One question and the line that answered it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Turn {
    /// What was asked: the id of a test, fix, finding or work state, or the kind of prompt.
    pub asked: String,
    /// What was typed.
    pub typed: String,
}

/// A goal that was missed.
#[derive(Clone, PartialEq, Debug)]
pub enum Miss {
    /// A cause was not found.
    NotFound(String),
    /// It was not handed over to this competence but ended otherwise, or to another one.
    NotHandedOver(String),
    /// It was not proven.
    NotProven,
    /// More questions than allowed: asked, allowed.
    Questions(u32, u32),
    /// More minutes than allowed: taken, allowed.
    Minutes(f64, f64),
    /// A step that must never be asked for was.
    Never(String),
    /// A step was offered that should not have been.
    Unsafe(super::Breach),
    /// The call did not come to an end: the question that stood.
    Stuck(String),
}

/// What came of a scenario.
#[derive(Clone, PartialEq, Debug)]
pub struct Rehearsed {
    /// What came of the call.
    pub played: Played,
    /// The competence to which it was handed over, as its id or `unlisted`.
    pub handed_to: Option<String>,
    /// Every line.
    pub turns: Vec<Turn>,
    /// The goals that were missed; none where all were reached.
    pub misses: Vec<Miss>,
}

/// Plays a scenario.
///
/// # Errors
/// When the session cannot begin.
pub fn rehearse(scenario: &Scenario, knowledge: &Arc<Knowledge>) -> Result<Rehearsed, Refused> {
    let dialogue = scenario.opened(knowledge)?;
    let mut call = Call::new(scenario, dialogue);
    call.run();
    Ok(call.finish())
}

struct Call<'a> {
    scenario: &'a Scenario,
    dialogue: Dialogue,
    site: Site,
    /// Units and findings for which the site was told.
    told_for: (usize, usize),
    fixes: Vec<String>,
    at: Whereabouts,
    turns: Vec<Turn>,
    played: Played,
    handed_to: Option<String>,
    /// Fates of hidden causes, as far as the ranking says: taken before it is handed over.
    never: Vec<String>,
    stuck: Option<String>,
    /// Choices that the dialogue asked back.
    choices: Vec<String>,
}

impl<'a> Call<'a> {
    fn new(scenario: &'a Scenario, dialogue: Dialogue) -> Self {
        let model = dialogue.session().model().clone();
        let told_for = (model.units.len(), model.findings.len());
        let site = told(scenario, dialogue.session(), model, &[]);
        let played = Played {
            opening: Vec::new(),
            moves: Vec::new(),
            ending: Ending::Endless,
            fates: Vec::new(),
            first: Vec::new(),
            questions: 0,
            minutes: 0.0,
            breaches: Vec::new(),
        };
        Self {
            scenario,
            dialogue,
            site,
            told_for,
            fixes: Vec::new(),
            at: Whereabouts::start(),
            turns: Vec::new(),
            played,
            handed_to: None,
            never: Vec::new(),
            stuck: None,
            choices: Vec::new(),
        }
    }

    fn run(&mut self) {
        let mut in_vain = 0;
        let mut before: Option<(Prompt, usize)> = None;
        for _ in 0..MOST_LINES {
            self.tell_anew();
            let view = self.dialogue.view();
            let now = Some((view.prompt.clone(), self.dialogue.part()));
            in_vain = if before == now { in_vain + 1 } else { 0 };
            let asked = name(&view.prompt);
            if in_vain > MOST_IN_VAIN {
                self.stuck = Some(asked);
                return;
            }
            let first = before != now;
            before = now;
            match &view.prompt {
                Prompt::Closed(_) => {
                    self.played.ending = Ending::Proven;
                    return;
                }
                Prompt::HandedOver(_) => return,
                _ => {}
            }
            if first {
                self.look(&view.prompt);
            }
            let typed = if self.dialogue.asks() { self.choose() } else { self.line(&view.prompt) };
            if let Prompt::HandOver(slip) = &view.prompt {
                self.hand_over(&slip.competence);
            }
            let events = self.dialogue.session().events().len();
            let turn = self.dialogue.line(&typed, 0);
            self.turns.push(Turn { asked, typed });
            self.choices.clear();
            for said in turn.said {
                if let Said::Unclear { choices, .. } | Said::Which(choices) = said {
                    self.choices = choices;
                }
            }
            self.follow(events);
        }
        self.stuck = Some(name(&self.dialogue.view().prompt));
    }

    /// What came of the last line: ways, minutes, fixes.
    fn follow(&mut self, from: usize) {
        let events: Vec<What> =
            self.dialogue.session().events()[from..].iter().map(|event| event.what.clone()).collect();
        let model = self.dialogue.session().model().clone();
        let practice = &model.practice;
        for what in events {
            match what {
                What::Answered { test, .. } => {
                    if let Some(test) = model.ids.tests.get(&test) {
                        self.at.act(practice, &model.tests[test.at()].terms);
                    }
                }
                What::FixDone { fix, .. } => {
                    if let Some(&at) = model.ids.fixes.get(&fix) {
                        self.at.act(practice, &model.fixes[at.at()].terms);
                        self.site.fix(at);
                        self.fixes.push(fix);
                    }
                }
                What::WorkStep { state, step, .. } => {
                    let at = practice.work_states.iter().position(|form| form.id == state);
                    if let Some(at) = at.filter(|&at| step + 1 == practice.work_states[at].steps.len()) {
                        self.at.enter(practice, WorkStateIx::new(at));
                    }
                }
                What::BackStep { step, .. } => {
                    let form = &practice.work_states[self.at.state.at()];
                    if step + 1 == form.back_steps.len() {
                        self.at.back(practice);
                    }
                }
                What::Proved { finding, minutes, .. } => {
                    if let Some(finding) = model.ids.findings.get(&finding) {
                        let test = model.findings[finding.at()].test;
                        self.at.act(practice, &model.tests[test.at()].terms);
                        self.at.minutes += minutes;
                    }
                }
                _ => {}
            }
        }
    }

    /// Tells the site anew where units have appeared: the draws go by names, so what was so stays so.
    fn tell_anew(&mut self) {
        let session = self.dialogue.session();
        let now = (session.model().units.len(), session.model().findings.len());
        if now != self.told_for {
            self.told_for = now;
            self.site = told(self.scenario, session, session.model().clone(), &self.fixes);
        }
    }

    /// Counts a question, and looks at a step before it is done.
    fn look(&mut self, prompt: &Prompt) {
        let session = self.dialogue.session();
        let model = session.model();
        let state = |id: &str| model.practice.work_states.iter().position(|form| form.id == id);
        let (id, step) = match prompt {
            Prompt::Test(test) => {
                self.played.questions += u32::from(self.dialogue.part() == 0);
                (&test.test, model.ids.tests.get(&test.test).map(|&at| Step::Test(at)))
            }
            Prompt::Fix(fix) => (&fix.fix, model.ids.fixes.get(&fix.fix).map(|&at| Step::Fix(at))),
            Prompt::Enter(act) => (&act.state, state(&act.state).map(|at| Step::Enter(WorkStateIx::new(at)))),
            Prompt::Return(act) => {
                (&act.state, state(&act.state).map(|at| Step::Return(WorkStateIx::new(at))))
            }
            _ => return,
        };
        let back = matches!(prompt, Prompt::Return(_));
        if !back
            && self.scenario.reach.never.iter().any(|never| never.value == *id)
            && !self.never.contains(id)
        {
            self.never.push(id.clone());
        }
        let answered: BTreeMap<FindingIx, usize> = (session.known().into_iter())
            .filter(|(finding, _, event)| {
                session.reported(*event).iter().any(|(at, _, implied, _)| at == finding && !implied)
            })
            .map(|(finding, outcome, _)| (finding, outcome))
            .collect();
        if let Some(step) = step {
            let found = breaches(model, &session.person(), session.work_state(), &answered, &step);
            self.played.breaches.extend(found);
        }
    }

    /// The answer to a question that the dialogue asks back: the choice that fits the site, else the first.
    fn choose(&self) -> String {
        let model = self.site.model();
        let last = self.turns.last().map(|turn| turn.typed.to_lowercase()).unwrap_or_default();
        let fits = |choice: &String| {
            let shown = model.findings.iter().enumerate().filter(|(at, finding)| {
                finding.symptom.is_some() && self.site.truth.outcome(FindingIx::new(*at)) != 0
            });
            let mut shown = shown.map(|(_, finding)| finding);
            shown.any(|finding| {
                choice.contains(&finding.name)
                    || finding.symptom.as_ref().is_some_and(|symptom| choice.contains(&symptom.say))
            })
        };
        let exact = self.choices.iter().position(|choice| choice.to_lowercase() == last);
        let at = exact.or_else(|| self.choices.iter().position(fits)).unwrap_or(0);
        (at + 1).to_string()
    }

    fn line(&self, prompt: &Prompt) -> String {
        let yes = || "yes".to_owned();
        match prompt {
            Prompt::Emergencies(_) => "no".to_owned(),
            Prompt::Emergency(_) | Prompt::ThereNow(_) | Prompt::Contradiction(_) => yes(),
            Prompt::HandOver(_) | Prompt::Close(_) => yes(),
            Prompt::Complaint => self.complaint(),
            Prompt::WorkState(choices) => choices
                .get(self.at.state.at())
                .or(choices.first())
                .map(|choice| choice.name.clone())
                .unwrap_or_default(),
            Prompt::Enter(_) | Prompt::Return(_) | Prompt::PutBack(_) => "done".to_owned(),
            Prompt::Nameplate(asked) => {
                let id = format!("{}/{}", asked.unit, asked.key);
                let said = self.scenario.nameplate.iter().find(|(plate, _)| plate.value == id);
                said.map_or_else(|| CANNOT_TELL.to_owned(), |(_, value)| value.value.clone())
            }
            Prompt::Test(step) => self.test(step),
            Prompt::Fix(step) => {
                if self.cannot(&step.fix) {
                    "can't".to_owned()
                } else {
                    "done".to_owned()
                }
            }
            Prompt::Prove(step) => {
                let at = self.site.model().ids.findings.get(&step.finding);
                let outcome = at.map_or(0, |&at| self.site.again(at));
                plain(step.outcomes.get(outcome).map_or(CANNOT_TELL, String::as_str))
            }
            // A scripted call is no first power-up; should one be gone through, its steps are done.
            Prompt::PowerUp(_) => "done".to_owned(),
            Prompt::PowerUpWaits(_) | Prompt::HandedOver(_) | Prompt::Closed(_) => String::new(),
        }
    }

    /// A complaint, where the opening words led to none: what the site shows, in the package's words.
    fn complaint(&self) -> String {
        let complaint = self.site.one_of(&self.site.complaints());
        let symptom = complaint.and_then(|at| self.site.model().findings[at.at()].symptom.as_ref());
        symptom.map_or_else(|| CANNOT_TELL.to_owned(), |symptom| symptom.say.clone())
    }

    fn cannot(&self, id: &str) -> bool {
        self.scenario.cannot.iter().any(|step| step.value == id)
    }

    /// What is typed to a test.
    fn test(&self, step: &TestStep) -> String {
        let model = self.site.model();
        let Some(&at) = model.ids.tests.get(&step.test) else { return CANNOT_TELL.to_owned() };
        if self.cannot(&step.test) {
            return CANNOT_TELL.to_owned();
        }
        let Told::Shows(shown) = self.site.test(at) else { return CANNOT_TELL.to_owned() };
        if !step.reading.is_empty() {
            return self.reading(at, &shown).unwrap_or_else(|| CANNOT_TELL.to_owned());
        }
        let Some(choice) = step.choices.get(self.dialogue.part()) else { return CANNOT_TELL.to_owned() };
        let finding = model.ids.findings.get(&choice.finding);
        let outcome = shown.iter().find(|(at, _)| Some(at) == finding).map_or(0, |(_, outcome)| *outcome);
        answered(choice, outcome)
    }

    /// The numbers of the script while they say what is so; else numbers that do.
    fn reading(&self, test: TestIx, shown: &[(FindingIx, usize)]) -> Option<String> {
        let model = self.site.model();
        let id = &model.tests[test.at()].id;
        if let Some((_, text)) = self.scenario.reads.iter().find(|(read, _)| read.value == *id)
            && let Ok(observed) = model.read(test, &text.value)
            && observed.iter().all(|seen| {
                let so = shown.iter().find(|(finding, _)| *finding == seen.finding);
                so.is_none_or(|(_, outcome)| most_likely(model, test, seen) == Some(*outcome))
            })
        {
            return Some(text.value.clone());
        }
        let numbers = readings(model, test, shown)?;
        Some(numbers.iter().map(f64::to_string).collect::<Vec<String>>().join(" "))
    }

    fn hand_over(&mut self, competence: &str) {
        let practice = &self.dialogue.session().model().practice;
        self.played.ending = Ending::HandedOver(practice.competence(competence));
        self.handed_to = Some(competence.to_owned());
    }

    fn finish(mut self) -> Rehearsed {
        let session = self.dialogue.session();
        let model = session.model();
        let fixed: Vec<FixIx> =
            self.fixes.iter().filter_map(|fix| model.ids.fixes.get(fix).copied()).collect();
        let mut now = vec![0.0; model.causes.len()];
        for ranked in session.ranking().causes {
            if let Some(at) = model.ids.causes.get(&ranked.id) {
                now[at.at()] = ranked.posterior;
            }
        }
        let first = first_ranked(&now, self.site.truth.causes().len());
        let to = match self.played.ending {
            Ending::HandedOver(to) => to,
            _ => None,
        };
        let hidden = self.scenario.hidden.iter().filter_map(|cause| model.ids.causes.get(&cause.value));
        self.played.fates = hidden
            .map(|&cause| Fate {
                cause,
                fixed: model.network.removed_by(cause).iter().any(|(fix, _)| fixed.contains(fix)),
                ranked: first.contains(&cause),
                right_hand: to.is_some_and(|to| can_remove(model, to, BitSet(u128::MAX), cause)),
            })
            .collect();
        self.played.minutes = self.at.minutes;
        let misses = self.misses(model);
        Rehearsed { played: self.played, handed_to: self.handed_to, turns: self.turns, misses }
    }

    fn misses(&self, model: &Model) -> Vec<Miss> {
        let reach = &self.scenario.reach;
        let mut misses: Vec<Miss> = self.stuck.iter().map(|asked| Miss::Stuck(asked.clone())).collect();
        let wanted = if reach.found.is_empty() { &self.scenario.hidden } else { &reach.found };
        for cause in wanted {
            let fate = |fate: &&Fate| model.causes[fate.cause.at()].id == cause.value;
            let found = self
                .played
                .fates
                .iter()
                .find(fate)
                .is_some_and(|fate| fate.found() || reach.hand_over.is_some() && fate.right_hand);
            if !found {
                misses.push(Miss::NotFound(cause.value.clone()));
            }
        }
        if let Some(to) = reach.hand_over.as_ref().filter(|to| self.handed_to.as_ref() != Some(&to.value)) {
            misses.push(Miss::NotHandedOver(to.value.clone()));
        }
        if reach.proven && self.played.ending != Ending::Proven {
            misses.push(Miss::NotProven);
        }
        if let Some(most) = reach.questions.filter(|most| self.played.questions > *most) {
            misses.push(Miss::Questions(self.played.questions, most));
        }
        if let Some(most) = reach.minutes.filter(|most| self.played.minutes > *most) {
            misses.push(Miss::Minutes(self.played.minutes, most));
        }
        misses.extend(self.never.iter().cloned().map(Miss::Never));
        misses.extend(self.played.breaches.iter().copied().map(Miss::Unsafe));
        misses
    }
}

/// The site of a scenario, with what the session was told at the opening and by the script, after these fixes.
fn told(scenario: &Scenario, session: &Session, model: Model, fixes: &[String]) -> Site {
    let ids = model.ids.clone();
    let hidden: Vec<CauseIx> =
        scenario.hidden.iter().filter_map(|cause| ids.causes.get(&cause.value).copied()).collect();
    let caller = Caller {
        name: scenario.who.competences.join(", "),
        person: session.person(),
        trust: 1.0,
        cannot_tell: scenario.cannot_tell,
        errs: scenario.errs,
    };
    let story = Arc::new(Story::new(model, false));
    let mut truth = Truth::with(Arc::clone(&story), scenario.seed, &hidden);
    let model = &story.model;
    for what in session.events().iter().map(|event| &event.what) {
        if let What::Volunteered { finding, outcome, .. } = what
            && let Some(&at) = ids.findings.get(finding)
            && fixes.is_empty()
        {
            truth.pin(at, model.outcome(at, outcome).unwrap_or(0));
        }
    }
    for (test, text) in &scenario.reads {
        let Some(&test) = ids.tests.get(&test.value) else { continue };
        for seen in model.read(test, &text.value).unwrap_or_default() {
            if let Some(outcome) = most_likely(model, test, &seen) {
                truth.pin(seen.finding, outcome);
            }
        }
    }
    for (finding, outcome) in &scenario.shows {
        if let Some(&at) = ids.findings.get(&finding.value) {
            truth.pin(at, model.outcome(at, &outcome.value).unwrap_or(0));
        }
    }
    for fix in scenario.cured_by.iter().filter_map(|fix| ids.fixes.get(&fix.value)) {
        for &(cause, _) in model.network.removes(*fix) {
            truth.settle_fix(*fix, cause, true);
        }
    }
    for fix in fixes.iter().filter_map(|fix| ids.fixes.get(fix)) {
        truth.fix(*fix);
    }
    Site::new(truth, caller)
}

/// The outcome that a reading speaks for most.
fn most_likely(model: &Model, test: TestIx, seen: &Observed) -> Option<usize> {
    match seen.seen {
        Seen::Outcome(outcome) => Some(outcome),
        Seen::Abnormal { .. } => None,
        Seen::Value { value, sd } => {
            let gives = model.tests[test.at()].gives.iter().find(|gives| gives.finding == seen.finding)?;
            let weights = crate::inference::reading::band_weights(value, sd, &gives.scale.as_ref()?.bands);
            (0..weights.len()).max_by(|a, b| weights[*a].total_cmp(&weights[*b]).then(b.cmp(a)))
        }
    }
}

/// An outcome as it is typed: a number of the unit's own table where the question is for one.
fn answered(choice: &Choice, outcome: usize) -> String {
    let word = choice.outcomes.get(outcome).map_or(CANNOT_TELL, String::as_str);
    let table = choice.fault_table.iter().flatten();
    let number = table.into_iter().find(|(_, class, _)| outcome != 0 && class == word);
    number.map_or_else(|| plain(word), |(number, ..)| number.clone())
}

/// A name as people type it.
fn plain(name: &str) -> String {
    name.replace('-', " ")
}

/// What a prompt is about.
fn name(prompt: &Prompt) -> String {
    match prompt {
        Prompt::Emergencies(_) => "emergencies".to_owned(),
        Prompt::Emergency(now) => format!("emergency {}", now.id),
        Prompt::Complaint => "complaint".to_owned(),
        Prompt::ThereNow(_) => "there now".to_owned(),
        Prompt::WorkState(_) => "work state".to_owned(),
        Prompt::Enter(act) => format!("into {}", act.state),
        Prompt::Return(act) => format!("back from {}", act.state),
        Prompt::Nameplate(asked) => format!("{}/{}", asked.unit, asked.key),
        Prompt::Test(step) => step.test.clone(),
        Prompt::Fix(step) => format!("fix {}", step.fix),
        Prompt::Prove(step) => format!("prove {}", step.finding),
        Prompt::HandOver(slip) => format!("hand over to {}", slip.competence),
        Prompt::PutBack(_) => "put back".to_owned(),
        Prompt::Contradiction(doubt) => format!("contradiction {}", doubt.finding),
        Prompt::PowerUp(step) => format!("power-up {}", step.step),
        Prompt::PowerUpWaits(_) => "power-up waits".to_owned(),
        Prompt::Close(_) => "close".to_owned(),
        Prompt::HandedOver(_) => "handed over".to_owned(),
        Prompt::Closed(_) => "closed".to_owned(),
    }
}
