//! Random sessions: a list of numbers decides what the person says next, mostly an answer to what is asked, now and then
//! anything else.

use whytrip::model::Model;
use whytrip::session::{Answer, Closing, Event, Prompt, Refused, Reply, Session, View, What};

use crate::hand_made::{at, session, who};

/// What was shown, what was said to it, what came of it.
pub struct Turn<'a> {
    pub before: &'a Session,
    pub view: &'a View,
    pub event: &'a Event,
    pub reply: &'a Result<Reply, Refused>,
    pub after: &'a Session,
}

const PEOPLE: [&str; 4] = ["anyone", "installer", "electrician", "fire-contractor"];

/// Walks through a session over `model`, calling `each` for every turn.
pub fn walk(model: Model, choices: &[u32], mut each: impl FnMut(&Turn<'_>)) -> Session {
    let first = choices.first().copied().unwrap_or_default() as usize;
    let mut session = session(model, PEOPLE[first % 4]);
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

/// What the person says.
pub fn said(session: &Session, prompt: &Prompt, choice: usize) -> What {
    let model = session.model();
    let (kind, n) = (choice % 16, choice / 16);
    let finding = pick(&model.findings, n);
    let outcome = pick(&finding.outcomes, n / 7).clone();
    match kind {
        0 => {
            What::Volunteered { finding: finding.id.clone(), outcome, sure: n % 5 != 0, words: "told".into() }
        }
        1 => match n % 6 {
            0 => What::EmergencyRaised {
                emergency: pick(&["smoke", "gas"], n / 6).to_string(),
                words: "smoke".into(),
            },
            1 => What::Left { item: format!("lifted {}", n / 6 % 3) },
            2 => What::Meanwhile { measure: "by-hand".into() },
            3 => What::Note { text: "a remark".into() },
            4 => What::CauseSeen {
                cause: pick(&model.causes, n).id.clone(),
                present: n % 4 == 0,
                words: String::new(),
            },
            _ => What::OneOf {
                findings: vec!["fan-1/dead".into(), "fan-2/dead".into()],
                outcome: "yes".into(),
                sure: true,
                words: "one of the fans".into(),
            },
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
        5 => What::Person { who: who(PEOPLE[n % 4]), others_stay: n % 3 == 0 },
        6 if n % 3 == 0 => {
            What::Closed { how: *pick(&[Closing::Proven, Closing::HandedOver, Closing::Unproven], n / 3) }
        }
        7 if n % 6 == 0 => {
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
        Prompt::Emergencies(asked) => {
            What::EmergenciesAnswered { present: if n % 9 == 0 { vec![asked[0].id.clone()] } else { vec![] } }
        }
        Prompt::Emergency(now) => What::AllClear { emergency: now.id.clone() },
        Prompt::Complaint => What::Volunteered {
            finding: pick(&["fan-1/dead", "fan-2/dead"], n).to_string(),
            outcome: "yes".into(),
            sure: true,
            words: "it is dead".into(),
        },
        Prompt::ThereNow(_) => What::ThereNow { there: n % 4 != 0 },
        Prompt::WorkState(choices) => What::WorkStateTold { state: pick(choices, n).id.clone() },
        Prompt::Enter(act) => What::WorkStep { state: act.state.clone(), step: act.step, by: "me".into() },
        Prompt::Return(act) => What::BackStep { state: act.state.clone(), step: act.step, by: "me".into() },
        Prompt::Nameplate(plate) => {
            What::NameplateUnknown { unit: plate.unit.clone(), key: plate.key.clone() }
        }
        Prompt::Test(step) => {
            let answer = if n % 8 == 7 || step.reading.is_some() {
                Answer::CantTell
            } else {
                let told = step.choices.iter();
                Answer::Outcomes(told.map(|c| (c.finding.clone(), pick(&c.outcomes, n).clone())).collect())
            };
            What::Answered { test: step.test.clone(), answer, sure: n % 5 != 0, words: "so".into() }
        }
        Prompt::Fix(step) if n % 6 == 5 => {
            What::FixNotDone { fix: step.fix.clone(), words: "no part".into() }
        }
        Prompt::Fix(step) => What::FixDone { fix: step.fix.clone(), words: String::new() },
        Prompt::Prove(step) => What::Proved {
            finding: step.finding.clone(),
            outcome: step.outcomes[usize::from(n % 3 == 0)].clone(),
            minutes: if n % 7 == 0 { 0.5 } else { step.minutes },
            words: String::new(),
        },
        Prompt::PutBack(left) if n % 4 == 0 => {
            What::LeftHandedOver { item: pick(left, n).id, to: "the owner".into() }
        }
        Prompt::PutBack(left) => What::PutBack { item: pick(left, n).id },
        Prompt::Contradiction(doubt) if n % 3 == 0 => What::Stands { event: doubt.event },
        Prompt::Contradiction(doubt) => What::Change { event: doubt.event, to: None },
        Prompt::HandOver(slip) if n % 2 == 0 => {
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
