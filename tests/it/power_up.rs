//! The first power-up over random job sheets, answers, undos, persons and resumptions: nothing is energised before each
//! of its gates is confirmed, and nothing is finished before every step is. The rule is worked out here from the log alone.
//!
//! `PROPTEST_RNG_SEED=random PROPTEST_CASES=1000` explores further.

use std::collections::BTreeSet;
use std::sync::Arc;

use proptest::prelude::*;
use whytrip::job;
use whytrip::knowledge::{self, InMemory, Knowledge, Options};
use whytrip::model::index::WorkStateIx;
use whytrip::model::procedure::Procedure;
use whytrip::planner::Effort;
use whytrip::session::{Closing, Event, Packaged, Prompt, Session, What};
use whytrip::source::Sources;

use crate::hand_made::{at, who};
use crate::support::cases;
use crate::walk::said;

fn config(usual: u32) -> ProptestConfig {
    ProptestConfig { max_shrink_iters: 60, ..cases(usual) }
}

/// What a site has of each.
#[derive(Clone, Copy, Debug)]
struct Makeup {
    feeders: usize,
    drives: usize,
    /// The drives from this one on sit at their fans.
    in_panel: usize,
    starters: usize,
    ec_motors: usize,
    sensors: usize,
    single_phase: bool,
    makeup_air: bool,
    fire: bool,
    gas: bool,
}

fn makeup() -> impl Strategy<Value = Makeup> {
    let counts = (1..4usize, 0..3usize, 0..3usize, 0..3usize, 0..2usize, 0..3usize);
    (counts, any::<[bool; 4]>()).prop_map(
        |((feeders, drives, in_panel, starters, ec_motors, sensors), has)| {
            let nothing_turns = drives + starters + ec_motors == 0;
            Makeup {
                feeders,
                drives: drives + usize::from(nothing_turns),
                in_panel,
                starters,
                ec_motors,
                sensors,
                single_phase: has[0],
                makeup_air: has[1],
                fire: has[2],
                gas: has[3],
            }
        },
    )
}

/// The drives alone, on so many feeders.
fn drives(drives: usize, feeders: usize, kitchen: bool) -> Makeup {
    let (starters, ec_motors, sensors) = (0, 0, 1);
    let (single_phase, makeup_air) = (false, false);
    let (fire, gas, in_panel) = (kitchen, kitchen, drives);
    Makeup { feeders, drives, in_panel, starters, ec_motors, sensors, single_phase, makeup_air, fire, gas }
}

fn sheet(makeup: &Makeup) -> String {
    let mut text = "format: 1\njob: R-1\nstage: start-up\nunits:\n".to_owned();
    for f in 1..=makeup.feeders {
        text += &format!("  F-{f}: {{is: feeder, nameplate: {{volts: 208}}}}\n");
    }
    let sensors = makeup.sensors;
    text += "  CP: {is: control-power, feeder: F-1, nameplate: {volts: 208, secondary_volts: 24}}\n";
    let listed = if sensors == 0 { String::new() } else { format!(", nameplate: {{sensors: {sensors}}}") };
    text += &format!("  CTRL: {{is: controller, power: CP{listed}}}\n  BUS: {{is: bus}}\n");
    let feeder = |n: usize| 1 + n % makeup.feeders;
    let mut fans = Vec::new();
    for d in 1..=makeup.drives {
        let there = if d > makeup.in_panel { "place: roof, inside: drive-box, " } else { "" };
        text += &format!(
            "  D-{d}: {{is: drive, {there}feeder: F-{}, motor: M-{d}, bus: BUS, nameplate: {{wait_minutes: 5}}}}\n",
            feeder(d)
        );
        text += &format!(
            "  M-{d}: {{is: motor, place: roof, nameplate: {{power: three-phase, volts: 208, amps: 5.9}}}}\n"
        );
        text += &format!("  E-{d}: {{is: fan, place: roof, motor: M-{d}, drive: D-{d}, controller: CTRL}}\n");
        fans.push(format!("E-{d}"));
    }
    for s in 1..=makeup.starters {
        let power = if makeup.single_phase && s == 1 { "single-phase" } else { "three-phase" };
        text += &format!("  S-{s}: {{is: starter, feeder: F-{}, power: CP, motor: SM-{s}}}\n", feeder(s + 1));
        text += &format!(
            "  SM-{s}: {{is: motor, place: roof, nameplate: {{power: {power}, volts: 208, amps: 5.9}}}}\n"
        );
        text +=
            &format!("  SE-{s}: {{is: fan, place: roof, motor: SM-{s}, starter: S-{s}, controller: CTRL}}\n");
        fans.push(format!("SE-{s}"));
    }
    for e in 1..=makeup.ec_motors {
        text += &format!(
            "  EC-{e}: {{is: ec-motor, place: roof, feeder: F-{}, power: CP, nameplate: {{volts: 208, amps: 5.9}}}}\n",
            feeder(e + 2)
        );
        text += &format!("  EE-{e}: {{is: fan, place: roof, ec: EC-{e}, controller: CTRL}}\n");
        fans.push(format!("EE-{e}"));
    }
    for t in 1..=sensors {
        text += &format!("  T-{t}: {{is: duct-sensor, place: kitchen, controller: CTRL}}\n");
    }
    if makeup.makeup_air {
        text += "  MU: {is: makeup-air, place: roof, controller: CTRL, feeder: F-1}\n";
    }
    if makeup.fire {
        text += "  FS: {is: suppression, controller: CTRL, power: CP}\n";
    }
    if makeup.gas {
        text += &format!("  GV: {{is: gas, exhaust: {}, controller: CTRL}}\n", fans[0]);
    }
    text
}

fn shipped() -> Arc<Knowledge> {
    static SHIPPED: std::sync::OnceLock<Arc<Knowledge>> = std::sync::OnceLock::new();
    let load = || {
        let loaded = knowledge::load(&InMemory::new(), "kitchen-ventilation", &Options::default());
        Arc::new(loaded.knowledge.unwrap())
    };
    Arc::clone(SHIPPED.get_or_init(load))
}

fn begin(makeup: &Makeup) -> Session {
    let knowledge = shipped();
    let text = sheet(makeup);
    let (job, problems) = job::read(&knowledge, &mut Sources::new(), "sheet", text.clone().into_bytes());
    assert!(problems.iter().all(|problem| !problem.is_error()), "{text}{problems:?}");
    let started = What::Started {
        knowledge: "kitchen-ventilation".into(),
        job: Some("R-1".into()),
        stage: knowledge::Stage::StartUp,
        who: who("electrician"),
    };
    let session = Session::start(Arc::new(Packaged::new(knowledge, job)), at(0, started)).unwrap();
    let mut session = session.with_effort(Effort::Quick);
    session.apply(at(1, What::PowerUpBegan)).unwrap();
    session
}

/// The gates of a step, and theirs.
fn gates(procedure: &Procedure, step: usize) -> BTreeSet<usize> {
    let mut all = BTreeSet::new();
    let mut open = vec![step];
    while let Some(at) = open.pop() {
        open.extend(procedure.steps[at].gates.iter().copied().filter(|&gate| all.insert(gate)));
    }
    all
}

/// The work state that has to be reached act by act.
const LOCKED_OUT: WorkStateIx = WorkStateIx(1);

/// What a log says of a procedure, worked out from its events one by one.
struct Account<'a> {
    procedure: &'a Procedure,
    /// Where each step was last confirmed by an event that stands, and where it was last opened again by one.
    confirmed: Vec<Option<usize>>,
    reopened: Vec<Option<usize>>,
    /// Where anything happened after which a real state may be another.
    unsettled: Option<usize>,
    /// The same, but for a work state in which work was done: what is part of that still holds.
    unsettled_within: Option<usize>,
}

impl<'a> Account<'a> {
    fn of(session: &'a Session) -> Self {
        let procedure = &session.model().procedure;
        let none = vec![None; procedure.steps.len()];
        let unsettles = |event: &Event| {
            use What::{
                BackStep, Change, Person, Resumed, Undo, WorkBrokenOff, WorkChanged, WorkStateTold, WorkStep,
            };
            matches!(
                event.what,
                Undo | Change { .. }
                    | Person { .. }
                    | Resumed { .. }
                    | WorkStep { .. }
                    | BackStep { .. }
                    | WorkStateTold { .. }
                    | WorkBrokenOff
                    | WorkChanged
            )
        };
        let fixed = |event: &Event| matches!(event.what, What::FixDone { .. });
        let fixed_live = |event: &Event| match &event.what {
            What::FixDone { fix, .. } => {
                let fix = session.model().ids.fixes.get(fix).map(|at| &session.model().fixes[at.at()]);
                fix.is_none_or(|fix| fix.terms.work_state != Some(LOCKED_OUT))
            }
            _ => false,
        };
        let log = session.events();
        let unsettled = log.iter().rposition(|event| unsettles(event) || fixed(event));
        let unsettled_within = log.iter().rposition(|event| unsettles(event) || fixed_live(event));
        let mut this =
            Self { procedure, confirmed: none.clone(), reopened: none, unsettled, unsettled_within };
        let acts = session.model().practice.work_states[LOCKED_OUT.at()].steps.len();
        let (mut entered, mut last) = (0, 0);
        let taken = |event: &Event| matches!(event.what, What::StepTaken { .. });
        let position = |id: &str| procedure.steps.iter().position(|step| step.id == id);
        for (no, what) in session.entries() {
            match what {
                What::StepTaken { step, outcome, .. } => {
                    let Some(step) = position(step) else { continue };
                    if procedure.steps[step].outcomes[0] == *outcome {
                        this.confirmed[step] = Some(no);
                    } else {
                        this.reopened[step] = Some(no);
                    }
                }
                What::StepStill { step, still, .. } => {
                    let Some(step) = position(step) else { continue };
                    if *still {
                        this.confirmed[step] = Some(no);
                    } else {
                        // Off, and by whom is not known: from its lockout on. Else what was given up since.
                        this.reopened[step] = Some(no);
                        for &again in &procedure.steps[step].redo {
                            let gone = |since| procedure.steps[step].energises || this.ended(again, since);
                            if this.confirmed(again).is_some_and(gone) {
                                this.reopened[again] = Some(no);
                            }
                        }
                    }
                }
                What::WorkStep { step, .. } => {
                    let broken = |event: &Event| {
                        !matches!(event.what, What::WorkStep { .. }) && (unsettles(event) || taken(event))
                    };
                    let follows = *step == entered && !log[last..no].iter().any(broken);
                    (entered, last) = (if follows { entered + 1 } else { usize::from(*step == 0) }, no);
                    this.off(no);
                    if entered == acts {
                        this.locked_out(no);
                    }
                }
                _ => {}
            }
        }
        this
    }

    /// Somebody begins to lock out: what is on is switched off.
    fn off(&mut self, no: usize) {
        for (at, step) in self.procedure.steps.iter().enumerate() {
            let on = self.confirmed(at).is_some_and(|since| !self.ended(at, since));
            if step.energises && step.holds && on {
                self.reopened[at] = Some(no);
                step.redo.iter().for_each(|&again| self.reopened[again] = Some(no));
            }
        }
    }

    /// Off, locked, released and proven dead, act by act: so are the steps that say the same.
    fn locked_out(&mut self, no: usize) {
        for (at, step) in self.procedure.steps.iter().enumerate() {
            let turn = || gates(self.procedure, at).into_iter().all(|gate| self.confirmed(gate).is_some());
            let over = self.confirmed(at).is_some_and(|since| self.ended(at, since));
            if step.reached_by == Some(LOCKED_OUT) && !over && turn() {
                self.confirmed[at] = Some(no);
            }
        }
    }

    /// Confirmed, and not opened again since.
    fn confirmed(&self, step: usize) -> Option<usize> {
        self.confirmed[step].filter(|&at| {
            self.reopened[step].is_none_or(|again| again < at || (again == at && self.part(step)))
        })
    }

    fn part(&self, step: usize) -> bool {
        self.procedure.steps[step].reached_by == Some(LOCKED_OUT)
    }

    /// Whether a step, confirmed at `since`, need not hold any more: all that ends the need for it is confirmed, the last of
    /// it after the step itself.
    fn ended(&self, step: usize, since: usize) -> bool {
        let until = &self.procedure.steps[step].until;
        let ends: Option<Vec<usize>> = until.iter().map(|&end| self.confirmed[end]).collect();
        ends.is_some_and(|ends| ends.into_iter().max().is_some_and(|last| last > since))
    }

    /// Every gate of the energising step that is shown is confirmed, and one that has to hold still was since anything
    /// could have changed it.
    fn allows(&self, shown: &str) -> Result<(), String> {
        let step = self.procedure.steps.iter().position(|step| step.id == shown).unwrap();
        for gate in gates(self.procedure, step) {
            let form = &self.procedure.steps[gate];
            let Some(since) = self.confirmed(gate) else {
                return Err(format!("{shown} is shown, and {} is not confirmed", form.id));
            };
            let changed = if self.part(gate) { self.unsettled_within } else { self.unsettled };
            if form.holds && !self.ended(gate, since) && changed.is_some_and(|at| at > since) {
                return Err(format!("{shown} is shown, and {} may have changed", form.id));
            }
        }
        Ok(())
    }
}

/// The log, and what is wrong with it.
fn told(session: &Session, wrong: &str) -> String {
    let said = session.events().iter().enumerate().map(|(no, event)| format!("{no} {:?}\n", event.what));
    said.collect::<String>() + wrong
}

const PEOPLE: [&str; 4] = ["electrician", "gas-fitter", "fire-contractor", "electrician"];

/// A walk of so many turns: mostly an answer, and in `odds` of forty anything that a person may say instead.
fn walk(makeup: Makeup, choices: Vec<(u32, u16)>, odds: u32) -> Result<Session, TestCaseError> {
    let mut session = begin(&makeup);
    for (odd, n) in choices {
        let prompt = session.view().prompt;
        prop_assert!(!matches!(prompt, Prompt::Return(_)), "the supply comes back through the gates alone");
        if let Prompt::PowerUp(step) = &prompt {
            let form = session.model().procedure.steps.iter().find(|form| form.id == step.step).unwrap();
            prop_assert!(session.model().practice.allows(&session.person(), &form.terms), "{}", step.step);
            if step.energises {
                let allowed = Account::of(&session).allows(&step.step);
                prop_assert!(allowed.is_ok(), "{}", told(&session, &allowed.unwrap_err()));
            }
        }
        if let Prompt::Close(_) = &prompt {
            let account = Account::of(&session);
            let left = (0..account.confirmed.len()).find(|&step| account.confirmed(step).is_none());
            let left = left.map(|step| &account.procedure.steps[step].id);
            prop_assert!(left.is_none(), "closing is offered, and {left:?} is not confirmed");
        }
        let kind = if odd < odds && odd % 16 != 6 { odd as usize } else { 15 };
        let what = match (&prompt, kind) {
            // A search is short: it is the gates that are looked at here.
            (Prompt::Test(_) | Prompt::Prove(_) | Prompt::HandOver(_), _) if n % 2 == 0 => {
                let fixes = &session.model().fixes;
                What::FixDone { fix: fixes[usize::from(n) % fixes.len()].id.clone(), words: String::new() }
            }
            (_, 0 | 3) if n % 8 != 0 => What::WorkBrokenOff,
            (Prompt::PowerUpWaits(_), _) => {
                What::Person { who: who(PEOPLE[usize::from(n) % 4]), others_stay: n % 5 != 0 }
            }
            (_, 2) => What::Undo,
            (_, 4) if n % 3 == 0 => What::Resumed { who: None },
            _ => said(&session, &prompt, kind + 16 * usize::from(n)),
        };
        let proven = matches!(what, What::Closed { how: Closing::Proven });
        if session.apply(at(session.events().len(), what)).is_ok() && proven {
            let account = Account::of(&session);
            prop_assert!((0..account.confirmed.len()).all(|step| account.confirmed(step).is_some()));
        }
    }
    // A replay says the same.
    let again = Session::replay(Arc::new(Packaged::new(shipped(), read(&makeup))), session.events().to_vec());
    prop_assert!(again.unwrap() == session);
    Ok(session)
}

fn read(makeup: &Makeup) -> Option<job::Job> {
    job::read(&shipped(), &mut Sources::new(), "sheet", sheet(makeup).into_bytes()).0
}

proptest! {
    #![proptest_config(config(8))]

    #[test]
    fn nothing_is_energised_before_its_gates(
        makeup in makeup(), choices in prop::collection::vec((0..40u32, any::<u16>()), 160),
    ) {
        walk(makeup, choices, 16)?;
    }

}

proptest! {
    #![proptest_config(config(3))]

    /// Few interruptions, so that most walks get through to the motors and some to the end.
    #[test]
    fn nothing_is_skipped(makeup in makeup(), choices in prop::collection::vec((0..160u32, any::<u16>()), 240)) {
        walk(makeup, choices, 16)?;
    }
}
/// The law's order: the lock before the wait, the wait before the proof, all of them before anything is energised.
#[test]
fn the_order_is_that_of_the_law() {
    let session = begin(&drives(2, 2, true));
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
