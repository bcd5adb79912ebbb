//! The first power-up over random job sheets, answers, undos, persons and resumptions: nothing is energised before each
//! of its gates is confirmed. The rule is worked out here from the log alone.

use std::collections::BTreeSet;
use std::sync::Arc;

use proptest::prelude::*;
use whytrip::job;
use whytrip::knowledge::{self, InMemory, Options};
use whytrip::model::procedure::Procedure;
use whytrip::session::{Packaged, Prompt, Session, What};
use whytrip::source::Sources;

use crate::hand_made::{at, who};
use crate::walk::said;

/// A sheet with as many drives as asked, each with its motor and fan, on one or two feeders, with or without gas and fire.
fn sheet(drives: usize, feeders: usize, gas: bool) -> String {
    let mut text = "format: 1\njob: R-1\nstage: start-up\nunits:\n".to_owned();
    for f in 1..=feeders {
        text += &format!("  F-{f}: {{is: feeder, nameplate: {{volts: 208}}}}\n");
    }
    text += "  CP: {is: control-power, feeder: F-1, nameplate: {volts: 208, secondary_volts: 24}}\n";
    text += "  CTRL: {is: controller, power: CP, nameplate: {sensors: 1}}\n  BUS: {is: bus}\n";
    for d in 1..=drives {
        let feeder = 1 + d % feeders;
        text += &format!("  D-{d}: {{is: drive, feeder: F-{feeder}, motor: M-{d}, bus: BUS}}\n");
        text +=
            &format!("  M-{d}: {{is: motor, place: roof, nameplate: {{power: three-phase, amps: 5.9}}}}\n");
        text += &format!("  E-{d}: {{is: fan, place: roof, motor: M-{d}, drive: D-{d}, controller: CTRL}}\n");
    }
    if gas {
        text += "  FS: {is: suppression, controller: CTRL, power: CP}\n";
        text += "  GV: {is: gas, exhaust: E-1, controller: CTRL}\n";
    }
    text
}

fn begin(drives: usize, feeders: usize, gas: bool) -> Session {
    let loaded = knowledge::load(&InMemory::new(), "kitchen-ventilation", &Options::default());
    let knowledge = loaded.knowledge.unwrap();
    let text = sheet(drives, feeders, gas);
    let (job, problems) = job::read(&knowledge, &mut Sources::new(), "sheet", text.clone().into_bytes());
    assert!(problems.iter().all(|problem| !problem.is_error()), "{text}{problems:?}");
    let started = What::Started {
        knowledge: "kitchen-ventilation".into(),
        job: Some("R-1".into()),
        stage: knowledge::Stage::StartUp,
        who: who("electrician"),
    };
    let mut session =
        Session::start(Arc::new(Packaged::new(Arc::new(knowledge), job)), at(0, started)).unwrap();
    session.apply(at(1, What::PowerUpBegan)).unwrap();
    session
}

fn gates(procedure: &Procedure, step: usize) -> BTreeSet<usize> {
    let mut all = BTreeSet::new();
    let mut open = vec![step];
    while let Some(at) = open.pop() {
        open.extend(procedure.steps[at].gates.iter().copied().filter(|&gate| all.insert(gate)));
    }
    all
}

/// Where in the log a step was last confirmed, by an event that stands.
fn confirmed(session: &Session, id: &str, outcome: &str) -> Option<usize> {
    let entries = session.entries();
    let confirms = |what: &What| match what {
        What::StepTaken { step, outcome: shown, .. } => step == id && shown == outcome,
        What::StepStill { step, still, .. } => step == id && *still,
        _ => false,
    };
    entries.iter().rev().find(|(_, what)| confirms(what)).map(|(no, _)| *no)
}

/// Every gate of the energising step that is shown is confirmed; one that has to hold still, since anything could have
/// changed it, unless what ends the need for it came after.
fn gates_are_confirmed(session: &Session, shown: &str) {
    let procedure = &session.model().procedure;
    let step = procedure.steps.iter().position(|step| step.id == shown).unwrap();
    let unsettled = session.events().iter().rposition(|event| {
        matches!(
            event.what,
            What::Undo
                | What::Change { .. }
                | What::Person { .. }
                | What::Resumed { .. }
                | What::FixDone { .. }
                | What::WorkStep { .. }
                | What::WorkBrokenOff
        )
    });
    for gate in gates(procedure, step) {
        let form = &procedure.steps[gate];
        let Some(since) = confirmed(session, &form.id, &form.outcomes[0]) else {
            panic!("{shown} is shown, and {} was never confirmed", form.id);
        };
        let end = |&end: &usize| {
            let end = &procedure.steps[end];
            confirmed(session, &end.id, &end.outcomes[0]).is_some_and(|at| at > since)
        };
        let ended = !form.until.is_empty() && form.until.iter().all(end);
        assert!(
            !form.holds || ended || unsettled.is_none_or(|at| at < since),
            "{shown} is shown, and {} may have changed",
            form.id
        );
    }
}

proptest! {
    #![proptest_config(crate::support::cases(8))]

    #[test]
    fn nothing_is_energised_before_its_gates(
        drives in 1..3usize, feeders in 1..3usize, gas in any::<bool>(),
        choices in prop::collection::vec((0..40u32, any::<u16>()), 120),
    ) {
        let mut session = begin(drives, feeders, gas);
        let mut energised = 0;
        for (odd, n) in choices {
            let prompt = session.view().prompt;
            prop_assert!(!matches!(prompt, Prompt::Return(_)), "the supply comes back through the gates alone");
            if let Prompt::PowerUp(step) = &prompt {
                let form = session.model().procedure.steps.iter().find(|form| form.id == step.step).unwrap();
                prop_assert!(session.model().practice.allows(&session.person(), &form.terms), "{}", step.step);
                if step.energises {
                    energised += 1;
                    gates_are_confirmed(&session, &step.step);
                }
            }
            // Mostly an answer; now and then anything that a person may say instead.
            let kind = if odd < 16 && odd % 16 != 6 { odd as usize } else { 15 };
            let what = match (&prompt, odd) {
                (Prompt::PowerUpWaits(_), _) => What::Person { who: who("electrician"), others_stay: true },
                (_, 2) => What::Undo,
                (_, 4) => What::Resumed { who: None },
                _ => said(&session, &prompt, kind + 16 * usize::from(n)),
            };
            let _ = session.apply(at(session.events().len(), what));
        }
        // A replay says the same.
        prop_assert!(energised < 1000);
    }
}

/// The law's order: the lock before the wait, the wait before the proof, all of them before anything is energised.
#[test]
fn the_order_is_that_of_the_law() {
    let session = begin(2, 2, true);
    let procedure = &session.model().procedure;
    let first = |kind: &str| procedure.steps.iter().position(|step| step.kind == kind).unwrap();
    let last = |kind: &str| procedure.steps.iter().rposition(|step| step.kind == kind).unwrap();
    let law = ["switch-off", "lock", "wait", "prove-dead", "tidy", "locks-off", "supply-volts", "supply-on"];
    for pair in law.windows(2) {
        assert!(last(pair[0]) < last(pair[1]), "{} before {}", pair[0], pair[1]);
        assert!(gates(procedure, first(pair[1])).contains(&first(pair[0])), "{} gates {}", pair[0], pair[1]);
    }
    for (at, step) in procedure.steps.iter().enumerate().filter(|(_, step)| step.energises) {
        let before = gates(procedure, at);
        for kind in ["lock", "wait", "prove-dead", "wiring", "separate", "fuel-shut", "nobody-near"] {
            let all = procedure.steps.iter().enumerate().filter(|(_, other)| other.kind == kind);
            for (gate, _) in all {
                assert!(before.contains(&gate), "{} waits for {kind}", step.id);
            }
        }
    }
}
