//! Random sessions: a list of numbers decides what the person says next, mostly an answer to what is asked, now and then
//! anything else.

use std::sync::Arc;

use whytrip::model::Model;
use whytrip::model::catalog::Finding;
use whytrip::session::{
    Answer, Closing, Event, ModelSource, Prompt, Refused, Reply, Session, View, What, WireFound,
};

use crate::hand_made::{Always, at, begin, drawn, kitchen, shipped, who};

/// What was shown, what was said to it, what came of it.
pub struct Turn<'a> {
    pub before: &'a Session,
    pub view: &'a View,
    pub event: &'a Event,
    pub reply: &'a Result<Reply, Refused>,
    pub after: &'a Session,
}

/// The shipped package, a model made by hand, or one drawn at random.
pub fn over(seed: u64) -> Arc<dyn ModelSource> {
    match seed % 8 {
        0 => shipped(),
        1 | 2 => Arc::new(Always(kitchen())),
        _ => Arc::new(Always(drawn(seed))),
    }
}

const PEOPLE: [&str; 4] = ["anyone", "installer", "electrician", "fire-contractor"];

/// Walks through a session over the models of `source`, calling `each` for every turn.
pub fn walk(source: Arc<dyn ModelSource>, choices: &[u32], mut each: impl FnMut(&Turn<'_>)) -> Session {
    let first = choices.first().copied().unwrap_or_default() as usize;
    let mut session = begin(source, PEOPLE[first % 4]);
    for &choice in choices {
        let view = session.view();
        let event = at(session.events().len(), said(&session, &view.prompt, choice as usize));
        let before = session.clone();
        let reply = session.apply(event.clone());
        each(&Turn { before: &before, view: &view, event: &event, reply: &reply, after: &session });
    }
    session
}

fn pick<T>(all: &[T], n: usize) -> &T {
    &all[n % all.len()]
}

/// What callers can complain of.
fn symptoms(model: &Model) -> Vec<&Finding> {
    model.findings.iter().filter(|finding| finding.symptom.is_some()).collect()
}

/// One of them, and all of its kind.
fn same_kind(model: &Model, n: usize) -> (Vec<String>, String) {
    let symptoms = symptoms(model);
    let one = pick(&symptoms, n);
    let all = symptoms.iter().filter(|other| other.kind == one.kind);
    (all.map(|finding| finding.id.clone()).collect(), one.outcomes[1].clone())
}

/// What the person says.
pub fn said(session: &Session, prompt: &Prompt, choice: usize) -> What {
    let model = session.model();
    let (kind, n) = (choice % 16, choice / 16);
    let finding = pick(&model.findings, n);
    let outcome = pick(&finding.outcomes, n / 7).clone();
    match kind {
        0 => What::Volunteered {
            finding: finding.id.clone(),
            outcome,
            sure: !n.is_multiple_of(5),
            words: "told".into(),
        },
        1 => match n % 6 {
            0 => What::EmergencyRaised {
                emergency: pick(&["smoke", "gas"], n / 6).to_string(),
                words: "smoke".into(),
            },
            1 => What::Left { item: format!("lifted {}", n / 6 % 3) },
            2 => match model.practice.meanwhile.first() {
                Some(measure) => What::Meanwhile { measure: measure.id.clone() },
                None => What::Note { text: "nothing for the meantime".into() },
            },
            3 => What::Note { text: "a remark".into() },
            4 => What::CauseSeen {
                cause: pick(&model.causes, n).id.clone(),
                present: n.is_multiple_of(4),
                words: String::new(),
            },
            _ => {
                let (findings, outcome) = same_kind(model, n / 6);
                What::OneOf { findings, outcome, sure: true, words: "one of them".into() }
            }
        },
        2 => What::Undo,
        3 => {
            let event = n % session.events().len();
            let to = match n % 3 {
                0 => None,
                _ => Some(Box::new(What::Volunteered {
                    finding: finding.id.clone(),
                    outcome,
                    sure: true,
                    words: "corrected".into(),
                })),
            };
            What::Change { event, to }
        }
        4 => match n % 5 {
            0 => What::Resumed { who: None },
            1 => What::WorkStateTold { state: pick(&["energised", "locked-out"], n / 5).to_string() },
            2 => What::WorkBrokenOff,
            3 => What::WorkStep { state: "locked-out".into(), step: n / 5 % 4, by: "me".into() },
            _ => What::BackStep { state: "locked-out".into(), step: n / 5 % 2, by: "me".into() },
        },
        5 => What::Person { who: who(PEOPLE[n % 4]), others_stay: n.is_multiple_of(3) },
        6 if n.is_multiple_of(3) => {
            What::Closed { how: *pick(&[Closing::Proven, Closing::HandedOver, Closing::Unproven], n / 3) }
        }
        7 if n.is_multiple_of(6) => {
            What::HandedOver { competence: pick(&PEOPLE, n / 6).to_string(), to: "Kim".into() }
        }
        7 if n % 6 == 1 => What::WorkChanged,
        7 if n % 6 == 2 && !model.fixes.is_empty() => {
            What::FixDone { fix: pick(&model.fixes, n / 6).id.clone(), words: String::new() }
        }
        _ => answer(session, prompt, n),
    }
}

/// An answer to what is asked.
fn answer(session: &Session, prompt: &Prompt, n: usize) -> What {
    let model = session.model();
    match prompt {
        Prompt::Emergencies(asked) => What::EmergenciesAnswered {
            present: if n.is_multiple_of(9) { vec![asked[0].id.clone()] } else { vec![] },
        },
        Prompt::Emergency(now) => What::AllClear { emergency: now.id.clone() },
        Prompt::Complaint => {
            let symptoms = symptoms(model);
            let finding = pick(&symptoms, n);
            let (finding, outcome) = (finding.id.clone(), finding.outcomes[1].clone());
            What::Volunteered { finding, outcome, sure: true, words: "in my words".into() }
        }
        Prompt::ThereNow(_) => What::ThereNow { there: !n.is_multiple_of(4) },
        Prompt::WorkState(choices) => What::WorkStateTold { state: pick(choices, n).id.clone() },
        Prompt::Enter(act) => What::WorkStep { state: act.state.clone(), step: act.step, by: "me".into() },
        Prompt::Return(act) => What::BackStep { state: act.state.clone(), step: act.step, by: "me".into() },
        Prompt::Nameplate(plate) => {
            What::NameplateUnknown { unit: plate.unit.clone(), key: plate.key.clone() }
        }
        Prompt::Test(step) => {
            let answer = if n % 8 == 7 {
                Answer::CantTell
            } else if !step.reading.is_empty() {
                let count: usize = step.reading.iter().map(|part| part.count).sum();
                let some = [0.0, 0.4, 4.2, 24.0, 60.0, 120.0, 208.0, 460.0];
                Answer::Readings((0..count).map(|at| some[(n + at * (n / 8 % 2)) % 8]).collect())
            } else {
                let told = step.choices.iter();
                Answer::Outcomes(told.map(|c| (c.finding.clone(), pick(&c.outcomes, n).clone())).collect())
            };
            What::Answered { test: step.test.clone(), answer, sure: !n.is_multiple_of(5), words: "so".into() }
        }
        Prompt::Fix(step) if n % 6 == 5 => {
            What::FixNotDone { fix: step.fix.clone(), words: "no part".into() }
        }
        Prompt::Fix(step) => What::FixDone { fix: step.fix.clone(), words: String::new() },
        Prompt::Prove(step) => What::Proved {
            finding: step.finding.clone(),
            outcome: step.outcomes[usize::from(n.is_multiple_of(3))].clone(),
            minutes: if n.is_multiple_of(7) { 0.5 } else { step.minutes },
            words: String::new(),
        },
        Prompt::PowerUp(step) if n.is_multiple_of(11) => {
            What::StepPassedOver { step: step.step.clone(), words: "not now".into() }
        }
        Prompt::PowerUp(step) if step.again => {
            What::StepStill { step: step.step.clone(), still: !n.is_multiple_of(3), by: "me".into() }
        }
        // Connections are mostly good; now and then one is not, and is read again later.
        Prompt::PowerUp(step) if step.walk.as_ref().is_some_and(|walk| walk.next.is_some()) => {
            let asked = step.walk.as_ref().and_then(|walk| walk.next.as_ref()).unwrap();
            let other = &pick(&model.connections, n).id;
            let wire = asked.connection.id.clone();
            let found = match n % 13 {
                1 => WireFound::Open,
                2 => WireFound::Missing,
                3 if *other != wire => WireFound::At(other.clone()),
                4 if *other != wire => WireFound::Joined(other.clone()),
                _ => WireFound::Good,
            };
            What::WireRead { wire, found, by: "me".into() }
        }
        Prompt::PowerUp(step) => {
            let form = model.procedure.steps.iter().find(|form| form.id == step.step).unwrap();
            let numbers = [2.0, 5.9, 24.0, 208.0, 1.0, 8.9];
            let tries =
                (0..6).map(|at| vec![numbers[(n + at) % 6]; step.reading.as_ref().map_or(0, |r| r.1)]);
            // Mostly what goes on, so that a walk gets somewhere.
            let wanted = usize::from(n.is_multiple_of(7));
            let read =
                tries.map(|readings| (form.read(&readings).map(|read| read.1), readings)).collect::<Vec<_>>();
            let fits = read
                .iter()
                .find(|read| read.0 == Some(wanted))
                .or_else(|| read.iter().find(|r| r.0.is_some()));
            let (outcome, readings) = match (&step.reading, fits) {
                (Some(_), Some((Some(outcome), readings))) => (*outcome, readings.clone()),
                (Some(_), _) => (0, vec![]),
                (None, _) => (if wanted < step.outcomes.len() { wanted } else { 0 }, vec![]),
            };
            let outcome = step.outcomes[outcome].clone();
            What::StepTaken {
                step: step.step.clone(),
                outcome,
                readings,
                by: "me".into(),
                words: String::new(),
            }
        }
        Prompt::PowerUpWaits(_) => What::Person { who: who(PEOPLE[n % 4]), others_stay: true },
        Prompt::PutBack(left) if n.is_multiple_of(4) => {
            What::LeftHandedOver { item: pick(left, n).id, to: "the owner".into() }
        }
        Prompt::PutBack(left) => What::PutBack { item: pick(left, n).id },
        Prompt::Contradiction(doubt) if n.is_multiple_of(3) => What::Stands { event: doubt.event },
        Prompt::Contradiction(doubt) => What::Change { event: doubt.event, to: None },
        Prompt::HandOver(slip) if n.is_multiple_of(2) => {
            What::HandedOver { competence: slip.competence.clone(), to: String::new() }
        }
        Prompt::HandOver(_) => What::Person { who: who(PEOPLE[n % 4]), others_stay: true },
        Prompt::HandedOver(_) => What::Resumed { who: Some(who(PEOPLE[n % 4])) },
        Prompt::Close(_) => What::Closed { how: Closing::Proven },
        Prompt::Closed(_) => match model.practice.notice.len() {
            0 => What::Note { text: "after".into() },
            _ => What::Resumed { who: None },
        },
    }
}
