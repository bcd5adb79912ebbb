//! The nine invariants of safety, each over random sessions: random answers, undos, changes, persons, resumptions.

use proptest::prelude::*;
use whytrip::model::Model;
use whytrip::model::index::WorkStateIx;
use whytrip::model::practice::{Person, Terms};
use whytrip::session::prompt::Conditions;
use whytrip::session::{Answer, Prompt, Refused, Session, What};

use crate::hand_made::{at, kitchen};
use crate::walk::{Turn, over, walk};

/// The terms of the step that a prompt offers, whatever kind of step it is.
fn offered(model: &Model, prompt: &Prompt) -> Option<Terms> {
    let state = |id: &str| model.practice.work_states.iter().find(|state| state.id == id).unwrap();
    Some(match prompt {
        Prompt::Test(step) => model.tests[model.ids.tests[&step.test].at()].terms.clone(),
        Prompt::Fix(step) => model.fixes[model.ids.fixes[&step.fix].at()].terms.clone(),
        Prompt::Prove(step) => {
            let finding = &model.findings[model.ids.findings[&step.finding].at()];
            model.tests[finding.test.at()].terms.clone()
        }
        Prompt::Enter(act) => state(&act.state).enter.clone(),
        Prompt::Return(act) => state(&act.state).back.clone(),
        _ => return None,
    })
}

fn conditions(prompt: &Prompt) -> Option<&Conditions> {
    Some(match prompt {
        Prompt::Test(step) => &step.conditions,
        Prompt::Fix(step) => &step.conditions,
        Prompt::Prove(step) => &step.conditions,
        Prompt::Enter(act) | Prompt::Return(act) => &act.conditions,
        _ => return None,
    })
}

/// Those present, worked out from the log alone.
fn present(session: &Session) -> Person {
    let practice = &session.model().practice;
    let mut people = Vec::new();
    for (_, what) in session.entries() {
        match what {
            What::Started { who, .. } | What::Resumed { who: Some(who) } => people = vec![who],
            What::Person { who, others_stay } => {
                if !others_stay {
                    people.clear();
                }
                people.push(who);
            }
            _ => {}
        }
    }
    let mut all = Person { competences: Default::default(), instruments: Default::default() };
    for id in people.iter().flat_map(|who| &who.competences) {
        let person = practice.person(practice.competence(id).unwrap());
        all.competences = all.competences.union(person.competences);
        all.instruments = all.instruments.union(person.instruments);
    }
    all
}

/// 1. No step beyond the competence and instruments of those present; a door opens for the qualified only.
fn within_competence(session: &Session, prompt: &Prompt) {
    let Some(terms) = offered(session.model(), prompt) else { return };
    let (model, person) = (session.model(), present(session));
    assert!(person.competences.has(terms.competence.at()), "{prompt:?}");
    assert!(terms.instruments.within(person.instruments), "{prompt:?}");
    if let Some(door) = terms.inside {
        let opened_by = model.practice.enclosures[door.at()].opened_by;
        assert!(opened_by.iter().any(|at| person.competences.has(at)), "{prompt:?}");
    }
}

/// Whether `what` leaves the work state unknown.
fn unsettles(what: &What) -> bool {
    matches!(
        what,
        What::Undo
            | What::Change { .. }
            | What::Person { .. }
            | What::Resumed { .. }
            | What::WorkBrokenOff
            | What::WorkStateTold { .. }
    )
}

/// Rule 2. Locked out: every act confirmed, in order, since anything unsettled it. Energised: no act of a lockout since
/// the last whole way back.
fn work_state_is_confirmed(session: &Session, prompt: &Prompt) {
    let model = session.model();
    let Some(terms) = offered(model, prompt) else { return };
    let wanted = match prompt {
        Prompt::Prove(_) => Some(terms.work_state.unwrap_or(WorkStateIx(0))),
        Prompt::Test(_) | Prompt::Fix(_) => terms.work_state,
        _ => None,
    };
    let events: Vec<&What> = session.events().iter().map(|event| &event.what).collect();
    let Some(wanted) = wanted else { return };
    let state = &model.practice.work_states[1];
    if wanted == WorkStateIx(1) {
        let since = events.iter().rposition(|what| unsettles(what) || matches!(what, What::BackStep { .. }));
        let acts: Vec<usize> = events[since.map_or(0, |at| at + 1)..]
            .iter()
            .filter_map(|what| match what {
                What::WorkStep { step, .. } => Some(*step),
                _ => None,
            })
            .collect();
        assert_eq!(acts, (0..state.steps.len()).collect::<Vec<usize>>(), "{prompt:?}");
    } else {
        let entered = events.iter().rposition(|what| match what {
            What::WorkStep { .. } => true,
            What::WorkStateTold { state } => state == "locked-out",
            _ => false,
        });
        let since = events.iter().rposition(|what| unsettles(what));
        if let Some(entered) = entered {
            let mut expected = 0;
            for what in &events[entered..] {
                if let What::BackStep { step, .. } = what {
                    assert!(
                        expected == state.back_steps.len() || *step == expected || *step == 0,
                        "{prompt:?}"
                    );
                    expected = step + 1;
                }
            }
            assert_eq!(expected, state.back_steps.len(), "no way back before {prompt:?}");
        }
        if let Some(since) = since {
            let told = |what: &&What| matches!(what, What::WorkStateTold { state } if state == "energised");
            let back = |what: &&What| matches!(what, What::BackStep { .. });
            assert!(events[since..].iter().any(|what| told(what) || back(what)), "unknown before {prompt:?}");
        }
    }
}

/// 4. Nothing but the emergency while one is at hand, and nothing of the search before it was asked.
fn emergencies_first(turn: &Turn<'_>, now: &mut Vec<String>) {
    let (before, after) = (turn.before, turn.after);
    if !now.is_empty() {
        assert!(
            matches!(&turn.view.prompt, Prompt::Emergency(shown) if now.contains(&shown.id)),
            "{:?}",
            turn.view.prompt
        );
        if matches!(
            turn.event.what,
            What::Answered { .. } | What::FixDone { .. } | What::WorkStep { .. } | What::Proved { .. }
        ) {
            assert!(
                matches!(turn.reply, Err(Refused::Emergency { .. } | Refused::Closed)),
                "{:?}",
                turn.event
            );
        }
    }
    if offered(before.model(), &turn.view.prompt).is_some() {
        let asked =
            before.entries().iter().rposition(|(_, what)| matches!(what, What::EmergenciesAnswered { .. }));
        let began = before.entries().iter().rposition(|(_, what)| matches!(what, What::Resumed { .. }));
        assert!(asked.is_some() && asked >= began, "a step before the emergencies were asked");
    }
    if turn.reply.is_err() {
        return;
    }
    match &turn.event.what {
        What::EmergencyRaised { emergency, .. } => now.push(emergency.clone()),
        What::EmergenciesAnswered { present } => now.extend(present.iter().cloned()),
        What::AllClear { emergency } => now.retain(|id| id != emergency),
        _ => {}
    }
    // A screen that says fire.
    let no = before.events().len();
    let fire = after.reported(no).into_iter().any(|(finding, outcome, ..)| {
        after.model().findings[finding.at()].kind.1 == "fire-shown" && outcome != 0
    });
    if fire {
        now.push("fire-shown".into());
    }
    if matches!(turn.event.what, What::Undo | What::Change { .. }) {
        // Neither ends an emergency; a change may bring one.
        if let Prompt::Emergency(shown) = &after.view().prompt
            && !now.contains(&shown.id)
        {
            now.push(shown.id.clone());
        }
    }
}

/// 5. What recloses is offered only after each of its needs was answered so, in this epoch.
fn recloses_after_it_is_found_safe(session: &Session, prompt: &Prompt) {
    let model = session.model();
    let (terms, needs) = match prompt {
        Prompt::Test(step) => {
            let test = &model.tests[model.ids.tests[&step.test].at()];
            (&test.terms, &test.needs)
        }
        Prompt::Fix(step) => {
            let fix = &model.fixes[model.ids.fixes[&step.fix].at()];
            (&fix.terms, &fix.needs)
        }
        _ => return,
    };
    if !terms.recloses {
        return;
    }
    let fixes: Vec<usize> = session
        .entries()
        .iter()
        .filter(|(_, what)| matches!(what, What::FixDone { .. }))
        .map(|(no, _)| *no)
        .collect();
    for &(finding, outcome) in needs {
        let (_, found, event) = session
            .known()
            .into_iter()
            .find(|(known, ..)| *known == finding)
            .expect("a need that nobody answered");
        assert_eq!(found, outcome, "{prompt:?}");
        assert!(fixes.iter().all(|&fix| fix < event), "answered before the last fix");
        let explicit = session
            .reported(event)
            .into_iter()
            .any(|(f, o, implied, _)| (f, o) == (finding, outcome) && !implied);
        assert!(explicit, "only taken to be so: {prompt:?}");
    }
}

/// What was left behind and not put back, worked out from the log alone.
fn left_behind(session: &Session) -> Vec<String> {
    let model = session.model();
    let mut left: Vec<String> = Vec::new();
    for (no, event) in session.events().iter().enumerate() {
        match &event.what {
            What::Answered { test, .. } => {
                left.extend(model.tests[model.ids.tests[test].at()].terms.leaves.iter().cloned())
            }
            What::FixDone { fix, .. } => {
                let fix = &model.fixes[model.ids.fixes[fix].at()];
                left.extend(fix.terms.leaves.iter().cloned());
                if fix.temporary && fix.terms.leaves.is_empty() {
                    left.extend(fix.steps.iter().cloned());
                }
            }
            What::HandedOver { .. } => left.clear(),
            What::PutBack { item } | What::LeftHandedOver { item, .. }
                if session.entries().iter().any(|(standing, _)| *standing == no) =>
            {
                let text = left_text(session, item.event, item.at);
                left.retain(|other| text.as_ref() != Some(other));
            }
            _ => {}
        }
    }
    left
}

fn left_text(session: &Session, event: usize, at: usize) -> Option<String> {
    let model = session.model();
    match &session.events()[event].what {
        What::Answered { test, .. } => model.tests[model.ids.tests[test].at()].terms.leaves.get(at).cloned(),
        What::FixDone { fix, .. } => {
            let fix = &model.fixes[model.ids.fixes[fix].at()];
            let texts =
                if fix.temporary && fix.terms.leaves.is_empty() { &fix.steps } else { &fix.terms.leaves };
            texts.get(at).cloned()
        }
        _ => None,
    }
}

/// 7. Everything left behind is on the list; nothing closes over it.
fn nothing_is_left(turn: &Turn<'_>) {
    let open: Vec<String> = turn.after.open().into_iter().map(|left| left.text).collect();
    for text in left_behind(turn.after) {
        assert!(open.contains(&text), "{text} is not listed: {open:?}");
    }
    if let (What::Closed { .. }, Ok(_)) = (&turn.event.what, turn.reply) {
        assert!(turn.before.open().is_empty() && open.is_empty());
    }
}

/// 8. Cautions with every step, all of them, worst first; and on the slip those of what the next person would do.
fn cautions_before_the_step(session: &Session, prompt: &Prompt) {
    let (Some(terms), Some(shown)) = (offered(session.model(), prompt), conditions(prompt)) else { return };
    let practice = &session.model().practice;
    assert!(shown.cautions.is_sorted_by_key(|caution| caution.signal), "{:?}", shown.cautions);
    let behind = terms.inside.map(|door| practice.enclosures[door.at()].hazards.clone()).unwrap_or_default();
    for hazard in terms.hazards.iter().chain(&behind) {
        let hazard = &practice.hazards[hazard.at()];
        assert!(
            shown
                .cautions
                .iter()
                .any(|caution| caution.text == hazard.caution && caution.signal == hazard.signal)
        );
    }
}

/// 9. The standing notice: in the first view, and in everything that leaves the program.
fn notice_stands(session: &Session) {
    let notice = &session.model().practice.notice;
    assert!(!notice.is_empty());
    assert_eq!(&session.note().notice, notice);
    assert_eq!(&session.slip().notice, notice);
    if session.events().len() == 1
        || matches!(session.events().last().map(|e| &e.what), Some(What::Resumed { .. }))
    {
        assert_eq!(&session.view().notice, notice);
    }
}

fn choices() -> impl Strategy<Value = Vec<u32>> {
    prop::collection::vec(any::<u32>(), 1..32)
}

proptest! {
    #![proptest_config(crate::support::cases(32))]

    #[test]
    fn no_step_beyond_those_present(seed in 0u64..300, choices in choices()) {
        walk(over(seed), &choices, |turn| within_competence(turn.before, &turn.view.prompt));
    }

    #[test]
    fn no_step_in_a_work_state_that_is_not_confirmed(seed in 0u64..300, choices in choices()) {
        walk(over(seed), &choices, |turn| work_state_is_confirmed(turn.before, &turn.view.prompt));
    }

    #[test]
    fn emergencies_stop_the_search(seed in 0u64..300, choices in choices()) {
        let mut now = Vec::new();
        walk(over(seed), &choices, |turn| emergencies_first(turn, &mut now));
    }

    #[test]
    fn nothing_recloses_before_it_is_found_safe(seed in 0u64..300, choices in choices()) {
        walk(over(seed), &choices, |turn| recloses_after_it_is_found_safe(turn.before, &turn.view.prompt));
    }

    #[test]
    fn what_is_unsaid_never_changes_the_real_work_state(seed in 0u64..300, choices in choices()) {
        walk(over(seed), &choices, |turn| {
            let unsaid = matches!(turn.event.what, What::Undo | What::Change { .. } | What::Resumed { .. } | What::Person { .. });
            if unsaid && turn.reply.is_ok() {
                assert_eq!(turn.after.work_state(), None);
            }
        });
    }

    #[test]
    fn nothing_closes_over_what_was_left(seed in 0u64..300, choices in choices()) {
        walk(over(seed), &choices, nothing_is_left);
    }

    #[test]
    fn cautions_come_with_every_step(seed in 0u64..300, choices in choices()) {
        walk(over(seed), &choices, |turn| cautions_before_the_step(turn.before, &turn.view.prompt));
    }

    #[test]
    fn the_notice_goes_with_everything(seed in 0u64..300, choices in choices()) {
        walk(over(seed), &choices, |turn| notice_stands(turn.after));
    }
}

#[test]
fn a_reset_waits_for_the_test_that_finds_it_safe() {
    let mut session = crate::hand_made::session(kitchen(), "electrician");
    let said = |session: &mut Session, what| {
        let no = session.events().len();
        session.apply(at(no, what)).unwrap();
    };
    said(&mut session, What::EmergenciesAnswered { present: vec![] });
    for fan in ["fan-1/dead", "fan-2/dead"] {
        let (finding, outcome) = (fan.to_owned(), "yes".to_owned());
        said(&mut session, What::Volunteered { finding, outcome, sure: true, words: String::new() });
    }
    said(&mut session, What::ThereNow { there: true });
    said(
        &mut session,
        What::CauseSeen { cause: "panel/breaker-tripped".into(), present: true, words: "it is out".into() },
    );
    let lamp = Answer::Outcomes(vec![("panel/lamp-lit".into(), "no".into())]);
    said(
        &mut session,
        What::Answered { test: "panel/lamp-lit".into(), answer: lamp, sure: true, words: String::new() },
    );
    for _ in 0..12 {
        let view = session.view();
        recloses_after_it_is_found_safe(&session, &view.prompt);
        match view.prompt {
            Prompt::Enter(act) => {
                said(&mut session, What::WorkStep { state: act.state, step: act.step, by: "me".into() })
            }
            Prompt::Test(step) => {
                let told = step.choices.iter().map(|c| (c.finding.clone(), c.outcomes[0].clone())).collect();
                let answer = Answer::Outcomes(told);
                said(
                    &mut session,
                    What::Answered { test: step.test, answer, sure: true, words: String::new() },
                );
            }
            Prompt::Return(act) => {
                said(&mut session, What::BackStep { state: act.state, step: act.step, by: "me".into() })
            }
            Prompt::Fix(step) => {
                assert_eq!(step.fix, "panel/switch-on");
                return;
            }
            Prompt::HandOver(_) => return,
            other => panic!("{other:?}"),
        }
    }
}

/// Words that speak of defeating a safety device, or of making it look satisfied.
const DEFEATING: [&str; 15] = [
    "bridge",
    "bridging",
    "jumper",
    "bypass",
    "defeat",
    "short out",
    "hold in",
    "hold it in",
    "wedge",
    "tape the contact",
    "invert",
    "lower the count",
    "fewer sensors",
    "override",
    "simulate",
];

/// Words that forbid, or that speak of taking such a thing away, or of finding it.
const FORBIDDING: [&str; 17] = [
    "never",
    "not ",
    "no ",
    "nobody",
    "without",
    "nothing",
    "don't",
    "remove",
    "take out",
    "is there",
    "does ",
    "shows",
    "any ",
    "drawing",
    "instead",
    "taken away",
    "takes the bridge out",
];

/// 3. No sentence advises defeating a safety device.
fn advises_no_defeat(text: &str) {
    for sentence in text.split(['.', ';', '!', '?']) {
        let sentence = format!("{} ", sentence.to_lowercase());
        let speaks = DEFEATING.iter().find(|word| sentence.contains(**word));
        if let Some(word) = speaks {
            assert!(FORBIDDING.iter().any(|forbids| sentence.contains(forbids)), "`{word}` in: {sentence}");
        }
    }
}

/// Every text of a step that a prompt shows.
fn texts(prompt: &Prompt) -> Vec<String> {
    let mut texts: Vec<String> = Vec::new();
    match prompt {
        Prompt::Test(step) => {
            texts.extend([&step.say, &step.say_to_caller, &step.how, &step.expect].map(Clone::clone));
        }
        Prompt::Fix(step) => {
            texts.extend(step.steps.iter().cloned());
            texts.push(step.say_to_caller.clone());
        }
        Prompt::Enter(act) | Prompt::Return(act) => texts.push(act.text.clone()),
        Prompt::Emergency(now) => texts.extend(now.act.iter().cloned()),
        Prompt::HandOver(slip) => texts.extend(slip.not_meanwhile.iter().cloned().chain([slip.say.clone()])),
        Prompt::PutBack(left) => texts.extend(left.iter().map(|left| left.text.clone())),
        _ => {}
    }
    texts.extend(conditions(prompt).into_iter().flat_map(|shown| shown.leaves.clone()));
    texts
}

proptest! {
    #![proptest_config(crate::support::cases(8))]

    #[test]
    fn no_prompt_advises_defeating_a_safety_device(choices in choices()) {
        walk(crate::hand_made::shipped(), &choices, |turn| {
            texts(&turn.view.prompt).iter().for_each(|text| advises_no_defeat(text));
        });
    }
}

/// What no random session may have come to: every text of the shipped package, for the largest demo job.
#[test]
fn no_text_of_the_shipped_package_advises_defeating_a_safety_device() {
    let session = crate::hand_made::begin(crate::hand_made::shipped(), "electrician");
    let model = session.model();
    for test in &model.tests {
        for text in [&test.say, &test.say_to_caller, &test.how, &test.expect] {
            advises_no_defeat(text);
        }
        test.terms.leaves.iter().for_each(|text| advises_no_defeat(text));
    }
    for fix in &model.fixes {
        fix.steps.iter().chain(&fix.terms.leaves).for_each(|text| advises_no_defeat(text));
        advises_no_defeat(&fix.say_to_caller);
    }
    let practice = &model.practice;
    for state in &practice.work_states {
        state.steps.iter().chain(&state.back_steps).for_each(|text| advises_no_defeat(text));
    }
    practice.meanwhile.iter().for_each(|measure| advises_no_defeat(&measure.act));
    for emergency in &practice.emergencies {
        emergency.act.iter().for_each(|text| advises_no_defeat(text));
    }
    // The fire system's head and the gas train are opened by their licensed trades alone.
    for (door, trade) in [("suppression-head", "fire-contractor"), ("gas-train", "gas-fitter")] {
        let form = practice.enclosures.iter().find(|form| form.id == door).unwrap();
        let licensed = practice.competence(trade).unwrap();
        assert_eq!(form.opened_by.iter().collect::<Vec<usize>>(), [licensed.at()], "{door}");
    }
}

/// 2. The order of the lockout: off, lock and tag, stored energy with the wait and the link, then proven live, dead, live.
#[test]
fn the_shipped_lockout_has_its_order() {
    let session = crate::hand_made::begin(crate::hand_made::shipped(), "electrician");
    let state = session.model().practice.work_states.iter().find(|state| state.id == "locked-out").unwrap();
    let text = state.steps.join("\n").to_lowercase();
    let at = |words: &str| text.find(words).unwrap_or_else(|| panic!("`{words}` in {text}"));
    assert!(at("switch off at every supply") < at("lock and tag"));
    assert!(at("lock and tag") < at("stored energy"));
    assert!(at("stored energy") < at("waiting time printed"));
    assert!(at("waiting time printed") < at("dc link"));
    assert!(at("dc link") < at("prove"));
    assert!(text[at("prove")..].matches("live source").count() == 1 && text[at("prove")..].contains("again"));
    assert!(!state.back_steps.is_empty());
}
