//! The connections of a wire list: each once on the check sheet, what readings of them say, and the gate that waits for all
//! of them. What is physically wired is worked out here from the text of a list alone.

use std::collections::BTreeSet;
use std::sync::{Arc, OnceLock};

use proptest::prelude::*;
use whytrip::job::{self, Job, Made};
use whytrip::knowledge::{self, Knowledge, Stage};
use whytrip::model::compile;
use whytrip::session::check_sheet::check_sheet;
use whytrip::session::dialogue::Dialogue;
use whytrip::session::{Packaged, Prompt, Refused, Session, What, WireFound};
use whytrip::source::Sources;
use whytrip::wiring::{self, Connection, Deviation, Reading, connections, deviations};

use crate::hand_made::{at, who};
use crate::support::{cases, root};

fn kitchen() -> Arc<Knowledge> {
    static KITCHEN: OnceLock<Arc<Knowledge>> = OnceLock::new();
    let load = || Arc::new(knowledge::load_embedded("kitchen-ventilation").knowledge.expect("no errors"));
    Arc::clone(KITCHEN.get_or_init(load))
}

/// The clean list from which the wrong ones of `tests/checks/wires` are made.
fn clean() -> String {
    std::fs::read_to_string(root().join("tests/checks/wires/clean/clean.yaml")).expect("a sheet")
}

fn read(text: &str) -> (Option<Job>, bool) {
    let (job, problems) = job::read(&kitchen(), &mut Sources::new(), "sheet", text.as_bytes().to_vec());
    (job, problems.iter().any(|problem| problem.is_error()))
}

fn job(text: &str) -> Job {
    let (job, errors) = read(text);
    assert!(!errors, "{text}");
    job.expect("a job")
}

/// A session that stands before the first connection of the clean list.
fn at_the_list() -> Session {
    let started = What::Started {
        knowledge: "kitchen-ventilation".into(),
        job: Some("W-1".into()),
        stage: Stage::StartUp,
        who: who("electrician"),
    };
    let source = Packaged::new(kitchen(), Some(job(&clean())));
    let mut session = Session::start(Arc::new(source), at(0, started)).expect("a start");
    take(&mut session, What::PowerUpBegan).expect("a power-up");
    take(&mut session, What::EmergenciesAnswered { present: vec![] }).expect("no emergency");
    to_the_list(&mut session);
    session
}

/// Confirms whatever comes before the list.
fn to_the_list(session: &mut Session) {
    for _ in 0..200 {
        let what = match session.view().prompt {
            Prompt::PowerUp(step) if step.walk.is_some() => return,
            Prompt::PowerUp(step) if step.again => {
                What::StepStill { step: step.step.clone(), still: true, by: String::new() }
            }
            Prompt::PowerUp(step) => What::StepTaken {
                step: step.step.clone(),
                outcome: step.outcomes[0].clone(),
                readings: step.reading.as_ref().map_or_else(Vec::new, |reading| vec![1.0; reading.1]),
                by: String::new(),
                words: String::new(),
            },
            Prompt::Emergencies(_) => What::EmergenciesAnswered { present: vec![] },
            Prompt::Nameplate(asked) => {
                What::NameplateTold { unit: asked.unit.clone(), key: asked.key.clone(), value: "5".into() }
            }
            other => panic!("{other:?}"),
        };
        take(session, what).expect("it follows");
    }
    panic!("the list never comes");
}

fn take(session: &mut Session, what: What) -> Result<(), Refused> {
    let no = session.events().len();
    session.apply(at(no, what)).map(|_| ())
}

fn position(all: &[Connection], from: &str, to: &str) -> usize {
    let id = format!("{from}>{to}");
    all.iter().position(|connection| connection.id == id).unwrap_or_else(|| panic!("{id}"))
}

fn reading(session: &mut Session, number: usize, found: WireFound) {
    let wire = session.model().connections[number].id.clone();
    take(session, What::WireRead { wire, found, by: String::new() }).expect("a reading");
}

/// Whether a cause was seen to be present, absent, or not at all, by how probable it has become.
fn posterior(session: &Session, cause: &str) -> f64 {
    let ranking = session.ranking();
    ranking
        .causes
        .iter()
        .find(|ranked| ranked.id == cause)
        .map_or_else(|| panic!("{cause}"), |ranked| ranked.posterior)
}

#[test]
fn an_exchanged_supply_and_motor_conductor_is_named_as_what_destroys_the_drive() {
    let mut session = at_the_list();
    let all = session.model().connections.clone();
    let (supply, motor) = (position(&all, "F-1:load 1", "X1:1"), position(&all, "P-1:1", "M-1:1"));
    let before = posterior(&session, "D-1/supply-on-output");
    reading(&mut session, supply, WireFound::At(all[motor].id.clone()));
    let wrong = session.wrong_wires();
    assert!(matches!(&wrong[0].deviation, Deviation::SidesMisplaced(_, _, unit) if unit == "D-1"));
    reading(&mut session, motor, WireFound::At(all[supply].id.clone()));
    let wrong = session.wrong_wires();
    assert_eq!(wrong.len(), 1);
    assert!(matches!(&wrong[0].deviation, Deviation::SidesExchanged(_, _, unit) if unit == "D-1"));
    assert!(wrong[0].deviation.is_dangerous() && wrong[0].danger.contains("Do not energise"));
    assert!(
        wrong[0].causes[0].contains("Supply and motor conductors are exchanged"),
        "{:?}",
        wrong[0].causes
    );
    assert!(posterior(&session, "D-1/supply-on-output") > 0.9);
    // Put right and read again, all of them good: it is ruled out.
    for number in 0..all.len() {
        reading(&mut session, number, WireFound::Good);
    }
    assert!(session.wrong_wires().is_empty());
    assert!(posterior(&session, "D-1/supply-on-output") < before);
}

#[test]
fn what_is_found_at_the_wires_is_evidence_for_its_cause() {
    let id = |session: &Session, from: &str, to: &str| {
        let all = &session.model().connections;
        (position(all, from, to), all[position(all, from, to)].id.clone())
    };
    let exchange = |from: [&str; 2], to: [&str; 2], cause: &str| {
        let mut session = at_the_list();
        let (a, b) = (id(&session, from[0], from[1]), id(&session, to[0], to[1]));
        reading(&mut session, a.0, WireFound::At(b.1));
        reading(&mut session, b.0, WireFound::At(a.1));
        assert!(matches!(session.wrong_wires()[0].deviation, Deviation::Exchanged(..)));
        assert!(posterior(&session, cause) > 0.9, "{cause}");
    };
    exchange(["D-1:data +", "D-2:data +"], ["D-1:data -", "D-2:data -"], "D-2/pair-swapped");
    exchange(["D-2:out 1", "M-2:1"], ["D-2:out 2", "M-2:2"], "M-2/reversed");
    exchange(["C-1:sensor 1 a", "TS-1:1"], ["C-1:sensor 2 a", "TS-2:1"], "TS-1/swapped");
    let mut session = at_the_list();
    let open = id(&session, "C-1:sensor 1 b", "TS-1:2");
    reading(&mut session, open.0, WireFound::Open);
    assert!(posterior(&session, "TS-1/lead-open") > 0.9);
    let other = id(&session, "C-1:sensor 1 a", "TS-1:1");
    reading(&mut session, other.0, WireFound::Joined(open.1));
    assert!(posterior(&session, "TS-1/shorted") > 0.9);
}

#[test]
fn three_conductors_that_go_round_are_turned_on_by_one() {
    let all = connections(&kitchen(), &job(&clean()));
    let legs: Vec<usize> =
        (1..=3).map(|leg| position(&all, &format!("D-2:out {leg}"), &format!("M-2:{leg}"))).collect();
    let mut readings = vec![Reading::Good; all.len()];
    for at in 0..3 {
        readings[legs[at]] = Reading::At(legs[(at + 1) % 3]);
    }
    let found = deviations(&all, &readings);
    assert!(matches!(&found[..], [Deviation::TurnedOn(ring)] if *ring == legs), "{found:?}");
    // The direction of turning stays as it was: no cause is claimed.
    assert_eq!(wiring::causes(&all, &found), Vec::<String>::new());
    readings[legs[2]] = Reading::Open;
    let found = deviations(&all, &readings);
    assert!(matches!(found[..], [Deviation::Misplaced(..), Deviation::Misplaced(..), Deviation::Open(_)]));
}

#[test]
fn readings_are_typed_by_number_range_or_terminals() {
    let mut dialogue = Dialogue::new(at_the_list(), vec![]);
    let count = dialogue.session().wires().len();
    let say = |dialogue: &mut Dialogue, line: &str| {
        dialogue.line(line, 9_000_000);
        dialogue.session().wires().to_vec()
    };
    let read = say(&mut dialogue, "good");
    assert_eq!((read[0], read[1]), (Reading::Good, Reading::Unread));
    let read = say(&mut dialogue, "2 to 4 good, 5 open and 6 and 7 exchanged");
    assert_eq!(read[1..4], [Reading::Good; 3]);
    assert_eq!(read[4..7], [Reading::Open, Reading::At(6), Reading::At(5)]);
    let read = say(&mut dialogue, "D-2 out 1 to M-2 1 is good");
    let leg = position(&dialogue.session().model().connections, "D-2:out 1", "M-2:1");
    assert_eq!(read[leg], Reading::Good);
    let read = say(&mut dialogue, "TS-1:2 is not there; wire 8 joined to 9");
    let lead = position(&dialogue.session().model().connections, "C-1:sensor 1 b", "TS-1:2");
    assert_eq!((read[lead], read[7]), (Reading::Missing, Reading::Joined(8)));
    // What is no reading changes nothing; neither does a number that there is not.
    for line in ["99 open", "4 crossed with 4", "good morning", "12 volts", "all but", "open sesame 3"] {
        assert_eq!(say(&mut dialogue, line), read, "{line}");
    }
    let read = say(&mut dialogue, "all but 10 good");
    assert_eq!(read[9], Reading::Unread);
    assert_eq!(read.iter().filter(|reading| **reading == Reading::Unread).count(), 1);
    let read = say(&mut dialogue, "the rest is good");
    assert!(read.len() == count && !read.contains(&Reading::Unread));
    // Somebody who smells something while reading is heard.
    let turn = dialogue.line("5 good, and I smell gas", 9_000_000);
    assert!(!turn.said.is_empty());
    assert!(matches!(dialogue.view().prompt, Prompt::Emergency(_)));
}

/// Outside a power-up a connection has to be called one.
#[test]
fn in_a_search_a_wire_is_called_a_wire() {
    let started = What::Started {
        knowledge: "kitchen-ventilation".into(),
        job: Some("W-1".into()),
        stage: Stage::InService,
        who: who("electrician"),
    };
    let source = Arc::new(Packaged::new(kitchen(), Some(job(&clean()))));
    let mut dialogue = Dialogue::new(Session::start(source, at(0, started)).expect("a start"), vec![]);
    dialogue.line("no", 1);
    let lead = position(&dialogue.session().model().connections, "C-1:sensor 1 b", "TS-1:2");
    dialogue.line("12 open", 2);
    assert!(dialogue.session().wires().iter().all(|reading| *reading == Reading::Unread));
    dialogue.line(&format!("wire {} is open", lead + 1), 3);
    assert_eq!(dialogue.session().wires()[lead], Reading::Open);
    assert!(posterior(dialogue.session(), "TS-1/lead-open") > 0.9);
    dialogue.line("undo", 4);
    assert_eq!(dialogue.session().wires()[lead], Reading::Unread);
    dialogue.line("C-1:sensor 1 b to TS-1:2 open", 5);
    assert_eq!(dialogue.session().wires()[lead], Reading::Open);
}

#[test]
fn nothing_is_read_before_its_gates_or_by_somebody_who_may_not() {
    let mut session = at_the_list();
    let wire = session.model().connections[0].id.clone();
    let read = What::WireRead { wire, found: WireFound::Good, by: String::new() };
    take(&mut session, What::Person { who: who("anyone"), others_stay: false }).expect("a person");
    assert!(
        take(&mut session, read.clone()).is_err(),
        "the lockout may have changed, and nobody here may read"
    );
    take(&mut session, What::Person { who: who("electrician"), others_stay: false }).expect("a person");
    assert_eq!(take(&mut session, read.clone()), Err(Refused::Order), "the lockout is asked again first");
    to_the_list(&mut session);
    take(&mut session, read).expect("a reading");
    let unknown = What::WireRead { wire: "X9:1>X8:1".into(), found: WireFound::Good, by: String::new() };
    assert!(matches!(take(&mut session, unknown), Err(Refused::Unknown { .. })));
}

/// A list of any number of drives, sensors and feeders, in any order, each wire made by anybody.
fn any_list() -> impl Strategy<Value = String> {
    let wire = (0..30_u8, 0..30_u8, any::<bool>(), 0..4_u8);
    (1..4_usize, prop::collection::vec(wire, 1..40)).prop_map(|(drives, wires)| {
        let mut text = "format: 1\njob: R-1\nunits:\n  F-1: {is: feeder}\n".to_owned();
        text += "  T-1: {is: control-power, feeder: F-1}\n  C-1: {is: controller, power: T-1}\n  N-1: {is: bus}\n";
        for d in 1..=drives {
            text += &format!("  D-{d}: {{is: drive, feeder: F-1, motor: M-{d}, bus: N-1}}\n  M-{d}: {{is: motor, place: roof}}\n");
        }
        text += "wires:\n";
        for (a, b, field, kind) in wires {
            let end = |n: u8| match (kind + n) % 5 {
                0 => format!("X{}:{n}", n % 3),
                1 => format!("D-{}:in {}", 1 + usize::from(n) % drives, n % 4),
                2 => format!("D-{}:out {}", 1 + usize::from(n) % drives, n % 4),
                3 => format!("M-{}:{}", 1 + usize::from(n) % drives, n % 4),
                _ => format!("F-1:load {}", n % 4),
            };
            let by = if field { "field" } else { "factory" };
            text += &format!("  - {{from: \"{}\", to: \"{}\", by: {by}, conductor: \"{a} of {b}\"}}\n", end(a), end(b));
        }
        text
    })
}

/// What is done to a clean list.
#[derive(Clone, Copy, Debug)]
enum Change {
    Drop,
    Twice,
    Exchange,
}

fn wire_lines(text: &str) -> Vec<usize> {
    let lines = text.lines().enumerate().filter(|(_, line)| line.starts_with("  - {from:"));
    lines.map(|(at, _)| at).collect()
}

/// The list with that done to one wire, or to the far ends of two.
fn changed(text: &str, change: Change, one: usize, other: usize) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
    let wires = wire_lines(text);
    let (a, b) = (wires[one % wires.len()], wires[other % wires.len()]);
    let to =
        |line: &str| line.split("to: \"").nth(1).and_then(|rest| rest.split('"').next()).unwrap().to_owned();
    match change {
        Change::Drop => {
            lines.remove(a);
        }
        Change::Twice => lines.insert(a, lines[a].clone()),
        Change::Exchange => {
            let (first, second) = (to(&lines[a]), to(&lines[b]));
            lines[a] = lines[a].replace(&format!("to: \"{first}\""), &format!("to: \"{second}\""));
            lines[b] = lines[b].replace(&format!("to: \"{second}\""), &format!("to: \"{first}\""));
        }
    }
    lines.join("\n") + "\n"
}

/// What a meter finds at the connections of `list` where the wires of `site` were pulled.
fn metered(list: &[Connection], site: &Job) -> Vec<Reading> {
    let wires: Vec<(&str, &str)> = site.wires.iter().map(|wire| (&*wire.from, &*wire.to)).collect();
    let ends = |at: usize| list[at].id.split_once('>').expect("two ends");
    let read = |at: usize| {
        let (from, to) = ends(at);
        if wires.contains(&(from, to)) {
            return Reading::Good;
        }
        // The conductor that leaves here, and whose place its other end is at.
        let landed =
            wires.iter().find(|wire| wire.0 == from && !(0..list.len()).any(|at| ends(at) == **wire));
        let place = landed.and_then(|wire| (0..list.len()).find(|&other| ends(other).1 == wire.1));
        place.map_or(Reading::Missing, Reading::At)
    };
    (0..list.len()).map(read).collect()
}

proptest! {
    #![proptest_config(cases(64))]

    /// Every connection that is made on site stands on the sheet exactly once, and no other does.
    #[test]
    fn every_field_connection_is_on_the_check_sheet_once(text in any_list()) {
        let (Some(job), _) = read(&text) else { return Ok(()) };
        let _ = wiring::check(&kitchen(), &job);
        let field = job.wires.iter().filter(|wire| wire.by == Made::Field);
        let mut wanted: Vec<String> = field.map(|wire| format!("{}>{}", wire.from, wire.to)).collect();
        wanted.sort();
        let compiled = compile(&kitchen(), Some(&job), Stage::StartUp).expect("a model");
        let sheet = check_sheet(&compiled.model);
        prop_assert_eq!(sheet.is_none(), wanted.is_empty());
        let rows: Vec<_> = sheet.into_iter().flat_map(|sheet| sheet.sections).flat_map(|s| s.rows).collect();
        let numbers: Vec<usize> = rows.iter().map(|row| row.connection.number).collect();
        prop_assert_eq!(numbers, (1..=wanted.len()).collect::<Vec<_>>());
        let mut found: Vec<String> = rows.into_iter().map(|row| row.connection.id).collect();
        found.sort();
        prop_assert_eq!(found, wanted);
    }

    /// A clean list that was changed is told as wrong; what it means on a site that was wired so shows in the readings.
    #[test]
    fn a_change_of_a_clean_list_is_told_or_shows_in_readings(
        change in prop_oneof![Just(Change::Drop), Just(Change::Twice), Just(Change::Exchange)],
        one in 0..48_usize, other in 0..48_usize,
    ) {
        let clean = clean();
        let count = wire_lines(&clean).len();
        prop_assume!(!matches!(change, Change::Exchange) || one % count != other % count);
        let text = changed(&clean, change, one, other);
        let (list, refused) = read(&text);
        let list = list.expect("a job");
        let told = refused || !wiring::check(&kitchen(), &list).is_empty();
        let drawn = job(&clean);
        let all = connections(&kitchen(), &drawn);
        let found = deviations(&all, &metered(&all, &list));
        let made = |at: usize| drawn.wires[at % count].by == Made::Field && drawn.wires[at % count].through.is_empty();
        let (first, second) = (made(one), made(other));
        match change {
            Change::Drop => {
                prop_assert!(told, "{text}");
                prop_assert_eq!(found.len(), usize::from(drawn.wires[one % count].by == Made::Field));
            }
            Change::Twice => prop_assert!(told),
            // Two wires to the same terminal exchange nothing.
            Change::Exchange if drawn.wires[one % count].to == drawn.wires[other % count].to => {}
            Change::Exchange if first && second => {
                let pair = BTreeSet::from_iter(found.iter().flat_map(Deviation::connections));
                let exchanged = |one: &Deviation| matches!(one, Deviation::Exchanged(..) | Deviation::SidesExchanged(..));
                prop_assert!(found.len() == 1 && exchanged(&found[0]) && pair.len() == 2, "{found:?}");
            }
            Change::Exchange => {
                // Two legs of a single-phase row are alike.
                let rows = |at: usize| drawn.wires[at % count].to.trim_end_matches(|c: char| c.is_ascii_digit()).to_owned();
                let alike = rows(one) == rows(other) && ["T-1:primary ", "C-1:supply ", "X3:"].contains(&&*rows(one));
                prop_assert!(told || !found.is_empty() || alike, "{text}");
            }
        }
    }

    /// Whatever is typed as a list: an answer, never a panic.
    #[test]
    fn no_text_of_a_list_is_too_strange(
        wires in prop::collection::vec(("[A-Z0-9-]{0,4}:[ -~°é]{0,12}", "(D-1|F-1|X1|FS-1)?:[ +a-zA-Z0-9,-]{0,20}", any::<bool>()), 0..12),
    ) {
        let quoted = |text: &str| text.replace(['\\', '"'], "");
        let mut text = clean();
        for (from, to, field) in &wires {
            let by = if *field { "field" } else { "factory" };
            text += &format!("  - {{from: \"{}\", to: \"{}\", by: {by}}}\n", quoted(from), quoted(to));
        }
        let (job, _) = read(&text);
        if let Some(job) = job {
            let _ = wiring::check(&kitchen(), &job);
            let all = connections(&kitchen(), &job);
            let readings: Vec<Reading> = (0..all.len()).map(|at| Reading::At((at * 7 + 3) % (all.len() + 2))).collect();
            let found = deviations(&all, &readings);
            let _ = wiring::causes(&all, &found);
            let _ = wiring::ruled_out(&all, &readings);
        }
    }
}

proptest! {
    #![proptest_config(cases(6))]

    /// The gate is confirmed only when every connection is good, whatever was read, undone and read again on the way.
    #[test]
    fn the_gate_waits_for_every_connection(
        acts in prop::collection::vec((0..12_u8, any::<u16>(), any::<u16>()), 60),
    ) {
        let mut session = at_the_list();
        let count = session.model().connections.len();
        let step = session.model().procedure.steps.iter().find(|step| step.walks).expect("a walk").clone();
        for (act, n, m) in acts {
            let (a, b) = (usize::from(n) % count, usize::from(m) % count);
            let id = |at: usize| session.model().connections[at].id.clone();
            let found = match act {
                0 => WireFound::Open,
                1 => WireFound::Missing,
                2 if a != b => WireFound::At(id(b)),
                3 if a != b => WireFound::Joined(id(b)),
                _ => WireFound::Good,
            };
            let what = match act {
                4 => What::Undo,
                5 => What::Resumed { who: None },
                6..=8 => {
                    // The next that is asked for, so that a walk gets somewhere.
                    let next = session.wires().iter().position(|reading| *reading != Reading::Good);
                    What::WireRead { wire: id(next.unwrap_or(a)), found: WireFound::Good, by: String::new() }
                }
                _ => What::WireRead { wire: id(a), found, by: String::new() },
            };
            let _ = take(&mut session, what);
            to_the_list(&mut session);
            let done = What::StepTaken {
                step: step.id.clone(),
                outcome: step.outcomes[0].clone(),
                readings: vec![],
                by: String::new(),
                words: String::new(),
            };
            let good = session.wires().iter().filter(|reading| **reading == Reading::Good).count();
            let mut tried = session.clone();
            let taken = take(&mut tried, done);
            prop_assert_eq!(taken.is_ok(), good == count, "{:?}", taken);
            if good < count {
                prop_assert_eq!(taken, Err(Refused::Connections { left: count - good }));
            }
        }
        let again = Session::replay(Arc::new(Packaged::new(kitchen(), Some(job(&clean())))), session.events().to_vec());
        let again = again.expect("a replay");
        prop_assert_eq!(again.wires(), session.wires());
    }

    /// No typed line is too strange while the list is walked.
    #[test]
    fn no_line_is_too_strange(lines in prop::collection::vec("[0-9a-z ,;&-]{0,30}|(all|rest|[0-9]{1,3}( to | and |-)[0-9]{1,3}) (good|open|exchanged|goes to [0-9]{1,30})", 12)) {
        let mut dialogue = Dialogue::new(at_the_list(), vec![]);
        for line in lines {
            dialogue.line(&line, 9_000_000);
        }
    }
}
