//! The session as a state machine: replay, undo, change, order, trust, epochs, contradiction, the way of a whole call.

use std::sync::Arc;

use proptest::prelude::*;
use whytrip::model::index::WorkStateIx;
use whytrip::session::{Answer, Closing, Effect, Event, LeftId, Prompt, Refused, Session, What};

use crate::hand_made::{Always, at, drawn, kitchen, session, who};
use crate::walk::{Turn, over, walk};

fn say(session: &mut Session, what: What) -> Vec<Effect> {
    let event = at(session.events().len(), what);
    session.apply(event.clone()).unwrap_or_else(|refused| panic!("{event:?}: {refused}")).effects
}

fn refused(session: &mut Session, what: What) -> Refused {
    let before = session.clone();
    let event = at(session.events().len(), what);
    let refused = session.apply(event).unwrap_err();
    assert!(*session == before, "a refused event changes nothing");
    refused
}

fn complain(finding: &str) -> What {
    What::Volunteered {
        finding: finding.into(),
        outcome: "yes".into(),
        sure: true,
        words: "in my words".into(),
    }
}

fn answered(test: &str, outcome: &str) -> What {
    let outcomes = Answer::Outcomes(vec![(test.into(), outcome.into())]);
    What::Answered { test: test.into(), answer: outcomes, sure: true, words: outcome.into() }
}

fn no_emergency() -> What {
    What::EmergenciesAnswered { present: vec![] }
}

fn posterior(session: &Session, cause: &str) -> f64 {
    session.ranking().causes.into_iter().find(|ranked| ranked.id == cause).unwrap().posterior
}

/// A call about the first fan, past the questions at its start.
fn call(competence: &str) -> Session {
    let mut session = session(kitchen(), competence);
    say(&mut session, no_emergency());
    say(&mut session, complain("fan-1/dead"));
    say(&mut session, What::ThereNow { there: true });
    session
}

/// What was learnt of the equipment's causes, without the state of the work.
fn learnt(session: &Session) -> String {
    format!(
        "{:?} {:?} {:?} {:?}",
        session.known(),
        session.complaints(),
        session.entries(),
        session.ranking()
    )
}

#[test]
fn a_call_begins_with_the_notice_the_emergencies_and_the_complaint() {
    let mut session = session(kitchen(), "anyone");
    let view = session.view();
    assert_eq!(view.notice, session.model().practice.notice);
    assert!(view.lay);
    let Prompt::Emergencies(asked) = view.prompt else { panic!("{:?}", view.prompt) };
    let ids: Vec<&str> = asked.iter().map(|asked| &*asked.id).collect();
    assert_eq!(ids, ["smoke", "gas"], "what only a screen shows is not asked at the start");
    say(&mut session, no_emergency());
    assert_eq!(session.view().prompt, Prompt::Complaint);
    assert!(session.view().notice.is_empty());
    say(&mut session, complain("fan-2/dead"));
    assert_eq!(session.view().prompt, Prompt::ThereNow(vec!["the fan-2 is dead".into()]));
}

#[test]
fn a_screen_that_says_fire_is_a_fire_until_somebody_ruled_it_out() {
    let mut session = call("anyone");
    let effects = say(&mut session, complain("panel/fire-shown"));
    assert!(effects.contains(&Effect::Emergency { id: "fire-shown".into() }));
    assert!(matches!(session.view().prompt, Prompt::Emergency(ref now) if now.id == "fire-shown"));
    let refusal = refused(&mut session, answered("panel/lamp-lit", "yes"));
    assert_eq!(refusal, Refused::Emergency { id: "fire-shown".into() });
    assert_eq!(refused(&mut session, What::Undo), Refused::OnlyAllClear);
    let change = What::Change { event: session.events().len() - 1, to: None };
    assert_eq!(refused(&mut session, change), Refused::OnlyAllClear);
    say(&mut session, What::AllClear { emergency: "fire-shown".into() });
    assert!(!matches!(session.view().prompt, Prompt::Emergency(_)));
    assert_eq!(session.complaints().len(), 2, "it stays a complaint");
}

#[test]
fn trust_is_that_of_the_most_competent_person_present() {
    let mut one = call("anyone");
    say(&mut one, answered("panel/lamp-lit", "no"));
    let mut other = call("anyone");
    say(&mut other, What::Person { who: who("electrician"), others_stay: true });
    say(&mut other, answered("panel/lamp-lit", "no"));
    assert!(posterior(&one, "panel/breaker-tripped") < posterior(&other, "panel/breaker-tripped"));
    let mut unsure = call("anyone");
    let outcomes = Answer::Outcomes(vec![("panel/lamp-lit".into(), "no".into())]);
    let think = What::Answered {
        test: "panel/lamp-lit".into(),
        answer: outcomes,
        sure: false,
        words: "I think".into(),
    };
    say(&mut unsure, think);
    assert!(posterior(&unsure, "panel/breaker-tripped") < posterior(&one, "panel/breaker-tripped"));
    let mut silent = call("anyone");
    let before = posterior(&silent, "panel/breaker-tripped");
    let cant = What::Answered {
        test: "panel/lamp-lit".into(),
        answer: Answer::CantTell,
        sure: true,
        words: "no idea".into(),
    };
    say(&mut silent, cant);
    assert_eq!(posterior(&silent, "panel/breaker-tripped"), before);
}

#[test]
fn an_answer_takes_its_needs_to_be_so_and_falls_with_them() {
    let mut session = call("anyone");
    let effects = say(&mut session, answered("fan-1/hums", "yes"));
    let taken = Effect::TakenAsSo { finding: "finding panel/lamp-lit".into(), outcome: "yes".into() };
    assert!(effects.contains(&taken), "{effects:?}");
    let hums = session.events().len() - 1;
    let with = posterior(&session, "fan-1/belt-off");
    let effects = say(&mut session, answered("panel/lamp-lit", "no"));
    assert!(
        effects.contains(&Effect::Withdrawn { event: hums, finding: "finding fan-1/hums".into() }),
        "{effects:?}"
    );
    assert!(posterior(&session, "fan-1/belt-off") < with);
    // Correcting the correction lets it count again.
    let lamp = session.events().len() - 1;
    let effects = say(&mut session, What::Change { event: lamp, to: None });
    assert!(
        effects.contains(&Effect::Restored { event: hums, finding: "finding fan-1/hums".into() }),
        "{effects:?}"
    );
    assert_eq!(posterior(&session, "fan-1/belt-off"), with);
}

#[test]
fn a_corrected_need_withdraws_though_it_was_answered_first() {
    let mut session = call("anyone");
    say(&mut session, answered("panel/lamp-lit", "yes"));
    let lamp = session.events().len() - 1;
    say(&mut session, answered("fan-1/hums", "yes"));
    let hums = session.events().len() - 1;
    let effects =
        say(&mut session, What::Change { event: lamp, to: Some(Box::new(answered("panel/lamp-lit", "no"))) });
    assert!(
        effects.contains(&Effect::Withdrawn { event: hums, finding: "finding fan-1/hums".into() }),
        "{effects:?}"
    );
    let known = session.known();
    let lamp = session.model().ids.findings["panel/lamp-lit"];
    assert!(known.iter().any(|&(finding, outcome, _)| finding == lamp && outcome == 1));
}

#[test]
fn one_of_the_fans_is_the_highest_over_those_not_answered_singly() {
    let mut session = session(kitchen(), "anyone");
    say(&mut session, no_emergency());
    let fans = vec!["fan-1/dead".into(), "fan-2/dead".into()];
    say(
        &mut session,
        What::OneOf { findings: fans, outcome: "yes".into(), sure: true, words: "a fan is dead".into() },
    );
    say(&mut session, What::ThereNow { there: true });
    assert_eq!(session.complaints().len(), 2);
    assert_eq!(posterior(&session, "fan-1/belt-off"), posterior(&session, "fan-2/belt-off"));
    say(&mut session, answered("fan-1/dead", "no"));
    assert_eq!(session.complaints().len(), 1);
    assert!(posterior(&session, "fan-1/belt-off") < posterior(&session, "fan-2/belt-off"));
}

#[test]
fn a_complaint_that_is_added_plainly_while_it_is_there_is_no_false_report() {
    let mut session = call("anyone");
    say(&mut session, complain("fan-2/dead"));
    // As certain as the first one: none of the listed causes is no better with two complaints than with one.
    let mut both = session.clone();
    say(&mut both, What::ThereNow { there: true });
    let (added, confirmed) = (session.ranking(), both.ranking());
    for (one, other) in added.causes.iter().zip(&confirmed.causes) {
        assert_eq!(one.id, other.id);
        assert!((one.posterior - other.posterior).abs() < 1e-12, "{}", one.id);
    }
}

#[test]
fn what_looks_normal_while_the_complaint_is_away_is_no_evidence() {
    let mut session = call("anyone");
    let at_first = session.ranking();
    say(&mut session, What::ThereNow { there: false });
    let effects = say(&mut session, answered("fan-1/hums", "no"));
    assert!(effects.contains(&Effect::NotCounted { finding: "finding fan-1/hums".into() }));
    assert_eq!(session.ranking(), at_first);
    say(&mut session, answered("fan-1/hums", "yes"));
    assert!(session.ranking() != at_first);
}

#[test]
fn an_abnormal_outcome_without_a_leak_is_possible_in_a_session() {
    let mut session = session(kitchen(), "anyone");
    say(&mut session, no_emergency());
    let contact =
        What::CauseSeen { cause: "panel/contact-open".into(), present: false, words: "closed".into() };
    say(&mut session, contact);
    say(&mut session, complain("panel/fire-shown"));
    let ranking = session.ranking();
    assert!(ranking.without.is_none() && ranking.ln_evidence.is_finite());
}

#[test]
fn evidence_of_probability_zero_is_no_dead_end() {
    let mut session = call("electrician");
    for present in [true, false] {
        let cause = "fan-1/motor-burnt".to_owned();
        say(&mut session, What::CauseSeen { cause, present, words: String::new() });
    }
    assert!(session.ranking().without.is_none(), "the second word on a cause replaces the first");
    for cause in ["fan-1/belt-off", "panel/breaker-tripped", "fan-1/motor-burnt"] {
        say(&mut session, What::CauseSeen { cause: cause.into(), present: false, words: String::new() });
    }
    // Nothing is there and yet the fan is dead: the leaks carry it.
    assert!(session.ranking().ln_evidence.is_finite());
    assert!(session.ranking().none_listed > 0.5);
}

#[test]
fn an_answer_at_odds_with_the_rest_is_named() {
    let mut session = call("electrician");
    say(&mut session, complain("fan-2/dead"));
    let tripped =
        What::CauseSeen { cause: "panel/breaker-tripped".into(), present: true, words: "it is out".into() };
    say(&mut session, tripped);
    assert_eq!(session.view().doubt, None);
    say(&mut session, answered("panel/lamp-lit", "yes"));
    let lamp = session.events().len() - 1;
    let doubt = session.view().doubt.unwrap();
    assert_eq!((doubt.event, &*doubt.finding, &*doubt.outcome), (lamp, "panel/lamp-lit", "yes"));
    assert!(doubt.ln_gain > 0.0);
    // Looked at again, it stands: it is not named any more.
    say(&mut session, What::Stands { event: lamp });
    assert!(session.view().doubt.is_none_or(|doubt| doubt.event != lamp));
}

/// Every act of the way into the lockout, in order.
fn lock_out(session: &mut Session) {
    for step in 0..4 {
        let Prompt::Enter(act) = session.view().prompt else { panic!("{:?}", session.view().prompt) };
        assert_eq!((act.step, act.of), (step, 4));
        say(session, What::WorkStep { state: "locked-out".into(), step, by: "the electrician".into() });
    }
}

fn step_in(step: usize) -> What {
    What::WorkStep { state: "locked-out".into(), step, by: "me".into() }
}

#[test]
fn locked_out_is_reached_act_by_act_and_left_the_same_way() {
    let mut session = call("electrician");
    assert_eq!(refused(&mut session, step_in(1)), Refused::Order);
    say(&mut session, step_in(0));
    assert_eq!(session.work_state(), None);
    assert_eq!(refused(&mut session, step_in(2)), Refused::Order);
    for step in 1..4 {
        say(&mut session, step_in(step));
    }
    assert_eq!(session.work_state(), Some(WorkStateIx(1)));
    // Said to be live again: not before the way back was confirmed.
    say(&mut session, What::WorkStateTold { state: "energised".into() });
    assert_eq!(session.work_state(), None);
    assert!(matches!(session.view().prompt, Prompt::Return(ref act) if act.step == 0));
    for step in 0..2 {
        say(&mut session, What::BackStep { state: "locked-out".into(), step, by: "me".into() });
    }
    assert_eq!(session.work_state(), Some(WorkStateIx(0)));
    let mut layman = call("anyone");
    assert!(matches!(refused(&mut layman, step_in(0)), Refused::Competence { .. }));
}

#[test]
fn who_locked_nothing_out_is_not_told_of_a_lost_work_state() {
    let mut session = call("anyone");
    say(&mut session, answered("fan-1/hums", "no"));
    let effects = say(&mut session, What::Undo);
    assert!(!effects.contains(&Effect::WorkStateUnknown), "{effects:?}");
    // Where a step depends on it, it is asked all the same.
    assert_eq!(session.work_state(), None);
}

#[test]
fn undo_in_a_lockout_leaves_the_work_state_unknown() {
    let mut session = call("electrician");
    for step in 0..4 {
        say(&mut session, step_in(step));
    }
    let effects = say(&mut session, What::Undo);
    assert!(
        effects.contains(&Effect::WorkStateUnknown) && effects.contains(&Effect::Undone { event: 7 }),
        "{effects:?}"
    );
    assert_eq!(session.work_state(), None);
    say(&mut session, What::WorkStateTold { state: "locked-out".into() });
    assert_eq!(session.work_state(), None, "said is not proven");
    say(&mut session, step_in(0));
    assert_eq!(session.work_state(), None);
}

#[test]
fn a_case_from_complaint_to_proof() {
    let mut session = call("electrician");
    say(&mut session, answered("fan-1/belt", "off"));
    assert!(posterior(&session, "fan-1/belt-off") > 0.9);
    for step in 0..4 {
        say(&mut session, step_in(step));
    }
    let effects =
        say(&mut session, What::FixDone { fix: "fan-1/renew-belt".into(), words: "new belt".into() });
    assert!(
        effects
            .iter()
            .any(|effect| matches!(effect, Effect::ToPutBack { text, .. } if text == "Guard back on."))
    );
    assert_eq!(session.epoch(), 1);
    assert!(posterior(&session, "fan-1/belt-off") < 0.1);
    assert!(matches!(
        refused(&mut session, What::Closed { how: Closing::Unproven }),
        Refused::ToPutBack { items } if items == ["Guard back on."]
    ));
    let item = session.open()[0].id;
    say(&mut session, What::PutBack { item });
    assert_eq!(refused(&mut session, What::Closed { how: Closing::Unproven }), Refused::WorkState);
    for step in 0..2 {
        say(&mut session, What::BackStep { state: "locked-out".into(), step, by: "me".into() });
    }
    assert!(matches!(
        refused(&mut session, What::Closed { how: Closing::Proven }),
        Refused::NotProven { .. }
    ));
    let proved = |minutes| What::Proved {
        finding: "fan-1/dead".into(),
        outcome: "no".into(),
        minutes,
        words: "runs".into(),
    };
    say(&mut session, proved(1.0));
    assert!(matches!(
        refused(&mut session, What::Closed { how: Closing::Proven }),
        Refused::NotProven { .. }
    ));
    say(&mut session, proved(6.0));
    let Prompt::Close(closing) = session.view().prompt else { panic!("{:?}", session.view().prompt) };
    assert_eq!(closing.proven, [("the fan-1 is dead".into(), "full load".into(), 6.0)]);
    assert!(closing.unproven.is_empty());
    say(&mut session, What::Closed { how: Closing::Proven });
    assert!(session.closed());
    assert_eq!(refused(&mut session, answered("fan-1/hums", "no")), Refused::Closed);
    let note = session.note();
    assert_eq!(note.complaints, ["the fan-1 is dead"]);
    assert!(note.lines.iter().any(|line| line.words == "new belt"));
    assert_eq!(note.notice, session.model().practice.notice);
}

#[test]
fn a_fix_that_did_not_help_leaves_the_others() {
    let mut session = call("electrician");
    let motor = posterior(&session, "fan-1/motor-burnt");
    say(&mut session, What::FixDone { fix: "fan-1/renew-belt".into(), words: String::new() });
    let still = What::Proved {
        finding: "fan-1/dead".into(),
        outcome: "yes".into(),
        minutes: 0.0,
        words: String::new(),
    };
    say(&mut session, still);
    assert!(posterior(&session, "fan-1/motor-burnt") > motor);
    assert!(posterior(&session, "fan-1/belt-off") < 0.1);
    assert_eq!(session.complaints().len(), 1);
}

#[test]
fn work_that_changed_something_begins_anew_with_what_was_taken_since() {
    let mut session = call("anyone");
    say(&mut session, answered("panel/lamp-lit", "no"));
    say(&mut session, What::FixDone { fix: "fan-1/slow-down".into(), words: String::new() });
    say(&mut session, answered("fan-1/hums", "yes"));
    say(&mut session, What::WorkChanged);
    assert_eq!(session.epoch(), 0);
    let known: Vec<String> = session
        .known()
        .iter()
        .map(|&(finding, ..)| session.model().findings[finding.at()].id.clone())
        .collect();
    assert_eq!(known, ["panel/lamp-lit", "fan-1/hums"], "the lamp only as a need of the hum");
    assert_eq!(session.complaints().len(), 1, "what was wrong has to be taken again all the same");
}

#[test]
fn what_is_temporary_or_left_is_listed_until_it_is_handed_over() {
    let mut session = call("anyone");
    say(&mut session, What::FixDone { fix: "fan-1/slow-down".into(), words: String::new() });
    say(&mut session, What::Meanwhile { measure: "by-hand".into() });
    say(&mut session, What::Left { item: "wire 12 lifted".into() });
    assert_eq!(session.open().len(), 3);
    assert!(session.open()[0].temporary && session.open()[1].temporary && !session.open()[2].temporary);
    let slip = session.slip();
    assert_eq!(slip.open.len(), 3);
    let unknown = What::PutBack { item: LeftId { event: 99, at: 0 } };
    assert!(matches!(refused(&mut session, unknown), Refused::Unknown { .. }));
    say(&mut session, What::HandedOver { competence: "electrician".into(), to: "Kim".into() });
    assert!(session.open().is_empty());
    assert!(matches!(session.view().prompt, Prompt::HandedOver(_)));
    say(&mut session, What::Closed { how: Closing::HandedOver });
    let Prompt::Closed(closing) = session.view().prompt else { panic!("closed") };
    assert_eq!(closing.handed_over.len(), 3);
    assert!(closing.handed_over.iter().all(|(_, to)| to == "Kim"));
}

#[test]
fn factors_can_be_recomputed() {
    let mut session = call("anyone");
    say(&mut session, answered("panel/lamp-lit", "no"));
    let lamp = session.events().len() - 1;
    let odds = |p: f64| p / (1.0 - p);
    let with = odds(posterior(&session, "panel/breaker-tripped"));
    let factors = session.factors("panel/breaker-tripped");
    let factor = factors.iter().find(|factor| factor.event == lamp).unwrap().factor;
    let mut without = call("anyone");
    let without = odds(posterior(
        {
            say(&mut without, What::Note { text: "x".into() });
            &without
        },
        "panel/breaker-tripped",
    ));
    assert!((factor * without / with - 1.0).abs() < 1e-12);
    assert!(factor > 1.0);
}

fn short(turns: &[u32]) -> &[u32] {
    &turns[..turns.len().min(24)]
}

proptest! {
    #![proptest_config(crate::support::cases(24))]

    #[test]
    fn replay_gives_the_same_state(seed in 0u64..200, choices in prop::collection::vec(any::<u32>(), 1..40)) {
        let session = walk(over(seed), &choices, |_| {});
        let again = Session::replay(over(seed), session.events().to_vec()).unwrap();
        prop_assert!(session == again);
        prop_assert_eq!(session.view(), again.view());
        prop_assert_eq!(format!("{:?}", session.ranking()), format!("{:?}", again.ranking()));
        prop_assert_eq!(format!("{:?}", session.note()), format!("{:?}", again.note()));
    }

    #[test]
    fn undo_restores_exactly(seed in 0u64..200, choices in prop::collection::vec(any::<u32>(), 1..30)) {
        let check = |turn: &Turn<'_>| {
            let no = turn.before.events().len();
            // Whatever was said, if it can be taken back, taking it back leaves what was known before.
            if turn.reply.is_ok() && turn.event.what != What::Undo && turn.after.undoable() == Some(no) {
                let mut undone = turn.after.clone();
                match undone.apply(at(no + 1, What::Undo)) {
                    Ok(_) => {
                        assert_eq!(learnt(&undone), learnt(turn.before));
                        assert_eq!(undone.work_state(), None);
                        assert_eq!(undone.undoable(), turn.before.undoable());
                    }
                    Err(refused) => assert_eq!(refused, Refused::OnlyAllClear),
                }
            }
        };
        walk(over(seed), short(&choices), check);
    }

    /// Who was asked once more whether it is there, and said yes, is not told that this answer fits badly.
    #[test]
    fn a_confirmed_complaint_is_not_doubted(seed in 0u64..200, choices in prop::collection::vec(any::<u32>(), 1..30)) {
        walk(over(seed), short(&choices), |turn| {
            let Some(doubt) = turn.after.view().doubt else { return };
            let events = turn.after.events();
            let confirmed = events.iter().rposition(|event| event.what == What::ThereNow { there: true });
            let complaint = matches!(&events[doubt.event].what,
                What::Volunteered { finding, outcome, .. } if outcome == &doubt.outcome
                    && turn.after.complaints().iter().any(|at| {
                        let form = &turn.after.model().findings[at.at()];
                        form.id == *finding && form.outcomes[0] != *outcome
                    }));
            let stands = turn.after.entries().iter().any(|(no, what)| {
                Some(*no) == confirmed && **what == What::ThereNow { there: true }
            });
            assert!(!(complaint && stands && confirmed > Some(doubt.event)), "{doubt:?}");
        });
    }

    #[test]
    fn order_within_an_epoch_never_matters(
        seed in 0u64..400,
        told in prop::collection::vec((any::<u32>(), any::<u32>()), 1..6),
        turn in any::<u32>(),
    ) {
        let model = drawn(seed);
        let mut events: Vec<What> = Vec::new();
        for (finding, outcome) in told {
            // Findings whose tests need nothing, each once: then nothing replaces and nothing falls.
            let form = &model.findings[finding as usize % model.findings.len()];
            if !model.tests[form.test.at()].needs.is_empty() || events.iter().any(|e| matches!(e, What::Volunteered { finding, .. } if *finding == form.id)) {
                continue;
            }
            let outcome = form.outcomes[outcome as usize % form.outcomes.len()].clone();
            events.push(What::Volunteered { finding: form.id.clone(), outcome, sure: true, words: String::new() });
        }
        let run = |events: &[What]| {
            let mut session = session(drawn(seed), "installer");
            for what in events {
                say(&mut session, what.clone());
            }
            session.ranking()
        };
        let (one, turned) = (run(&events), {
            let by = turn as usize % events.len().max(1);
            let mut events = events.clone();
            events.rotate_left(by);
            if turn % 2 == 0 { events.reverse(); }
            run(&events)
        });
        let by_id = |ranking: &whytrip::session::Ranking| {
            let mut causes: Vec<(String, f64)> = ranking.causes.iter().map(|c| (c.id.clone(), c.posterior)).collect();
            causes.sort_by(|a, b| a.0.cmp(&b.0));
            causes
        };
        for (a, b) in by_id(&one).iter().zip(by_id(&turned)) {
            prop_assert!((a.1 - b.1).abs() <= 1e-12 * a.1.max(1e-300), "{a:?} {b:?}");
        }
    }
}

#[test]
fn a_session_of_another_start_is_refused() {
    let model = Arc::new(Always(kitchen()));
    assert_eq!(Session::replay(model.clone(), []).unwrap_err(), Refused::Start);
    assert_eq!(Session::replay(model, [at(0, What::Undo)]).unwrap_err(), Refused::Start);
    let mut session = call("anyone");
    let started: Event = session.events()[0].clone();
    assert_eq!(session.apply(started).unwrap_err(), Refused::Start);
}

#[test]
fn the_way_of_the_planner_passes_the_gates() {
    let mut session = call("electrician");
    let mut seen = Vec::new();
    for _ in 0..40 {
        let view = session.view();
        match &view.prompt {
            Prompt::Test(step) => {
                seen.push("test");
                let finding = step.choices[0].finding.clone();
                let abnormal = ["fan-1/belt", "fan-1/dead"].contains(&&*step.test);
                let outcomes = &step.choices[0].outcomes;
                let outcome = if abnormal { outcomes.last() } else { outcomes.first() };
                let answer = Answer::Outcomes(vec![(finding, outcome.unwrap().clone())]);
                say(
                    &mut session,
                    What::Answered { test: step.test.clone(), answer, sure: true, words: String::new() },
                );
            }
            Prompt::Enter(_) => {
                seen.push("enter");
                lock_out(&mut session);
            }
            Prompt::Return(act) => {
                let (state, step) = (act.state.clone(), act.step);
                say(&mut session, What::BackStep { state, step, by: "me".into() });
            }
            Prompt::Fix(step) => {
                seen.push("fix");
                say(&mut session, What::FixDone { fix: step.fix.clone(), words: String::new() });
            }
            Prompt::Prove(step) => {
                let (finding, minutes) = (step.finding.clone(), step.minutes);
                say(
                    &mut session,
                    What::Proved { finding, outcome: "no".into(), minutes, words: String::new() },
                );
            }
            Prompt::PutBack(left) => {
                let item = left[0].id;
                say(&mut session, What::PutBack { item });
            }
            Prompt::Close(_) => {
                say(&mut session, What::Closed { how: Closing::Proven });
                break;
            }
            Prompt::HandOver(slip) => {
                let competence = slip.competence.clone();
                say(&mut session, What::HandedOver { competence, to: String::new() });
                break;
            }
            other => panic!("{other:?}"),
        }
    }
    assert!(session.closed() || matches!(session.view().prompt, Prompt::HandedOver(_)), "{seen:?}");
}
