//! A package and a job made into a model: instances, relations, texts, limits, circles.
//!
//! The package is invented: a grain mill whose rollers are turned by motors on drives.

use std::fmt::Write as _;

use whytrip::diagnostic::Short;
use whytrip::job::{self, Job, Plate};
use whytrip::knowledge::{self, InMemory, Knowledge, Options, Stage};
use whytrip::model::graph::{Graph, Link, Node};
use whytrip::model::network::Source;
use whytrip::model::observe::{Seen, Unreadable};
use whytrip::model::{Compiled, Model, compile};
use whytrip::source::Sources;

const PACKAGE: &str = r#"
format: 1
package: mill
title: Roller mills
places: {panel: 0, loft: 6}
enclosures: {box: {name: the box, opened-by: [fitter], hazards: [live]}}
hazards: {live: {signal: danger, caution: Live parts.}, dust: {signal: caution, caution: Dust.}}
competences: {fitter: {name: fitter, covers: [anyone]}}
"#;

const SUPPLY: &str = r#"
component: supply
each: supply
relations: {loads: "drive* via supply"}
causes:
  off: {name: "{unit} is off", prior: 0.01, leads-to: {dead: 1}}
conditions:
  dead: {name: "{unit} is dead", shows: {loads/dark: {"yes": 0.9}}}
"#;

const DRIVE: &str = r#"
component: drive
each: drive
title: drive
relations: {supply: supply, motor: own motor, spare: "drive?"}
nameplate:
  amps: {measured-in: A, about: rated current}
  kind: {one-of: [big, small]}
causes:
  burnt: {name: "{unit} is burnt", prior: {start-up: 0.02, in-service: 0.01, after-work: 0.03}, shows: {dark: {"yes": 0.8}, spare/dark: {"yes": 0.1}}}
  swapped: {name: "Wires of {motor} are exchanged at {unit}", when: 'stage != "in-service"', prior: 0.05, shows: {dark: {"yes": 0.2}}}
  loose: {name: loose, when: unit.kind == "big", prior: 0.04, shows: {dark: {"yes": 0.3}}}
symptoms:
  dark: {say: "{unit} is dark", otherwise: {"yes": 0.001}, place: unit, minutes: 1}
tests:
  fault:
    read: "What {unit} shows"
    minutes: 1
    inside: unit
    competence: anyone
    hazards: [dust]
    gives: {fault: {outcomes: [none, overload, earth], fault-table: true, otherwise: {earth: 0.001}, shown-by: {burnt: {earth: 0.5}, motor/jammed: {overload: 0.7}}}}
  draw:
    read: "Amps of {unit}, nameplate {motor.amps} A, own {unit.amps} A"
    measured-in: A
    readings: 3
    minutes: 4
    needs: {dark: "no"}
    gives:
      draw: {value: mean(readings) / motor.amps, accuracy: 4 %, outcomes: {normal: 0.3 .. 1.1, over: ">= 1.1", under: "< 0.3"}, shown-by: {motor/jammed: {over: 0.9}}}
      spread: {value: unbalance(readings), accuracy: 0.5, outcomes: {even: "< 5", uneven: ">= 5"}}
  log:
    read: "The list of {unit}"
    minutes: 2
    gives: {log: {several: true, fault-table: true, outcomes: [none, overload, earth], shown-by: {burnt: {earth: 0.5}}}}
  lamps:
    look: "Which lamps of {unit} are lit?"
    minutes: 1
    at: motor
    gives: {lamps: {several: true, outcomes: [none, red, green], shown-by: {burnt: {red: 0.5}}}}
fixes:
  renew: {do: "Renew {unit}", removes: {burnt: 0.95}, minutes: 60, parts: [{"drive for {unit}": 400}]}
"#;

const MOTOR: &str = r#"
component: motor
each: motor
title: motor
relations: {drives: "drive* via motor"}
nameplate: {amps: {measured-in: A, about: nameplate current}}
causes:
  jammed: {name: "{unit} is jammed", prior: 0.03, shows: {drives/dark: {"yes": 0.05}, hot: {"yes": 0.6}}}
tests:
  hot: {look: "Is {unit} hot?", outcomes: ["no", "yes"], place: unit, minutes: 2, competence: anyone}
"#;

const HALL: &str = r#"
component: hall
title: the hall
relations: {drives: "drive*"}
causes:
  flood: {name: "flood in {{the}} hall", prior: 0.001, shows: {drives/dark: {"yes": 0.5}}, leads-to: {drives/burnt: 0.2}}
"#;

pub(crate) const SHEET: &str = r#"
format: 1
job: J-1
units:
  S-1: {is: supply}
  D-1: {is: drive, name: roller drive, place: loft, inside: box, motor: M-1, nameplate: {amps: 9, kind: big}, fault-table: T}
  D-2: {is: drive, motor: M-2, spare: D-1, nameplate: {kind: small}}
  M-1: {is: motor, name: roller motor M-1, place: loft, nameplate: {amps: 4000 mA}}
  M-2: {is: motor}
fault-tables: {T: {F07: {class: overload, label: TOO MUCH}, F12: {class: earth, label: LEAK}, A12: {class: overload, label: SOON}}}
door-shut: [D-1/fault]
"#;

pub(crate) fn load(files: &[(&str, &str)]) -> Knowledge {
    let mut folder = InMemory::new();
    for (name, text) in files {
        folder.add("mill", *name, text.as_bytes().to_vec());
    }
    let loaded = knowledge::load(&folder, "mill", &Options::default());
    let mut said = String::new();
    for problem in loaded.diagnostics.iter().filter(|d| d.is_error()) {
        let _ = writeln!(said, "{}", Short { problem, sources: &loaded.sources });
    }
    loaded.knowledge.unwrap_or_else(|| panic!("{said}"))
}

pub(crate) const FILES: [(&str, &str); 6] = [
    ("package.yaml", PACKAGE),
    ("supply.yaml", SUPPLY),
    ("drive.yaml", DRIVE),
    ("motor.yaml", MOTOR),
    ("hall.yaml", HALL),
    ("extra.yaml", "component: extra\n"),
];

pub(crate) fn mill() -> Knowledge {
    load(&FILES)
}

/// The job of a sheet, and what was said about it.
pub(crate) fn sheet(knowledge: &Knowledge, text: &str) -> (Job, Vec<String>) {
    let mut sources = Sources::new();
    let (job, problems) = job::read(knowledge, &mut sources, "job.yaml", text.as_bytes().to_vec());
    let said = problems.iter().map(|problem| Short { problem, sources: &sources }.to_string()).collect();
    (job.expect("a job"), said)
}

fn compiled(knowledge: &Knowledge, text: &str, stage: Stage) -> Compiled {
    let (job, said) = sheet(knowledge, text);
    assert_eq!(said, Vec::<String>::new());
    compile(knowledge, Some(&job), stage).expect("compiles")
}

fn chance(model: &Model, source: Source, finding: &str, outcome: usize) -> Option<f64> {
    let finding = model.ids.findings[finding];
    model.network.shown_by(finding).find(|(from, _)| *from == source).map(|(_, chances)| chances[outcome])
}

#[test]
fn every_unit_has_its_own_causes() {
    let model = compiled(&mill(), SHEET, Stage::StartUp).model;
    let ids: Vec<&str> = model.causes.iter().map(|c| c.id.as_str()).collect();
    // `loose` is for big drives only.
    let expected = [
        "D-1/burnt",
        "D-1/loose",
        "D-1/swapped",
        "D-2/burnt",
        "D-2/swapped",
        "M-1/jammed",
        "M-2/jammed",
        "S-1/off",
        "hall/flood",
    ];
    let mut sorted = ids.clone();
    sorted.sort_unstable();
    assert_eq!(sorted, expected);
    assert_eq!(model.network.prior(model.ids.causes["D-1/burnt"]), 0.02);
    let later = compiled(&mill(), SHEET, Stage::InService).model;
    assert_eq!(later.network.prior(later.ids.causes["D-1/burnt"]), 0.01);
    assert!(!later.ids.causes.contains_key("D-1/swapped"));
    assert!(later.ids.causes.contains_key("D-1/loose"));
}

#[test]
fn what_is_not_known_of_a_nameplate_lets_a_cause_be() {
    let text = SHEET.replace(", kind: big", "");
    let model = compiled(&mill(), &text, Stage::StartUp).model;
    assert!(model.ids.causes.contains_key("D-1/loose"));
}

#[test]
fn links_run_along_relations() {
    let model = compiled(&mill(), SHEET, Stage::StartUp).model;
    let cause = |id: &str| Source::Cause(model.ids.causes[id]);
    let dead = Source::Condition(model.ids.conditions["S-1/dead"]);
    // The only supply is meant where none is named, and the inverse follows.
    assert_eq!(chance(&model, dead, "D-1/dark", 1), Some(0.9));
    assert_eq!(chance(&model, dead, "D-2/dark", 1), Some(0.9));
    assert_eq!(chance(&model, cause("M-1/jammed"), "D-1/dark", 1), Some(0.05));
    assert_eq!(chance(&model, cause("M-1/jammed"), "D-2/dark", 1), None);
    assert_eq!(chance(&model, cause("D-2/burnt"), "D-1/dark", 1), Some(0.1));
    assert_eq!(chance(&model, cause("D-1/burnt"), "D-2/dark", 1), None);
    assert_eq!(chance(&model, cause("M-2/jammed"), "D-2/draw", 1), Some(0.9));
    assert_eq!(chance(&model, cause("M-2/jammed"), "D-2/draw", 2), Some(0.0));
    // From a component that the job has once to each of many: one draw each.
    assert_eq!(chance(&model, cause("hall/flood"), "D-1/dark", 1), Some(0.5));
    assert_eq!(chance(&model, cause("hall/flood"), "D-2/dark", 1), Some(0.5));
    assert_eq!(model.network.leads(model.ids.causes["hall/flood"]).len(), 2);
    let fix = model.ids.fixes["D-2/renew"];
    assert_eq!(model.network.removes(fix), [(model.ids.causes["D-2/burnt"], 0.95)]);
}

#[test]
fn an_optional_relation_that_is_left_out_is_said_so() {
    let out = compiled(&mill(), SHEET, Stage::StartUp).left_out;
    let out: Vec<String> = out.into_iter().map(|l| format!("{}.{}", l.unit, l.relation)).collect();
    assert_eq!(out, ["D-1.spare"]);
}

#[test]
fn a_required_relation_must_be_clear() {
    let knowledge = mill();
    let (job, _) = sheet(&knowledge, &SHEET.replace(", motor: M-1", "").replace(", motor: M-2", ""));
    let problems = compile(&knowledge, Some(&job), Stage::StartUp).expect_err("two motors");
    let words: Vec<&str> = problems.iter().map(|p| p.message.as_str()).collect();
    assert_eq!(words, ["unit `D-1` does not say its `motor`", "unit `D-2` does not say its `motor`"]);
    assert!(problems[0].primary.is_some());
    // The one that no other drive has is meant where only one is left.
    let (job, _) = sheet(&knowledge, &SHEET.replace(", motor: M-2", ""));
    let model = compile(&knowledge, Some(&job), Stage::StartUp).expect("one is left").model;
    let jammed = Source::Cause(model.ids.causes["M-2/jammed"]);
    assert_eq!(chance(&model, jammed, "D-2/draw", 1), Some(0.9));
}

#[test]
fn texts_are_filled_in() {
    let model = compiled(&mill(), SHEET, Stage::StartUp).model;
    let cause = |id: &str| &*model.causes[model.ids.causes[id].at()].name;
    assert_eq!(cause("D-1/burnt"), "Roller drive (D-1) is burnt");
    assert_eq!(cause("D-1/swapped"), "Wires of roller motor M-1 are exchanged at roller drive (D-1)");
    assert_eq!(cause("hall/flood"), "flood in {the} hall");
    let say = |id: &str| &*model.tests[model.ids.tests[id].at()].say;
    assert_eq!(say("D-1/draw"), "Amps of roller drive (D-1), nameplate 4 A, own 9 A");
    assert_eq!(
        say("D-2/draw"),
        "Amps of D-2, nameplate (nameplate current of M-2) A, own (rated current of D-2) A"
    );
    assert_eq!(say("D-2/dark"), "D-2 is dark?");
    assert_eq!(
        model.fixes[model.ids.fixes["D-1/renew"].at()].parts,
        [("drive for roller drive (D-1)".to_owned(), 400.0)]
    );
}

#[test]
fn limits_come_from_unit_and_door() {
    let model = compiled(&mill(), SHEET, Stage::StartUp).model;
    let test = |id: &str| &model.tests[model.ids.tests[id].at()];
    let place = |id: &str| model.practice.places[test(id).terms.place.at()].id.clone();
    let door = |id: &str| test(id).terms.inside.map(|e| model.practice.enclosures[e.at()].id.clone());
    let hazards = |id: &str| -> Vec<String> {
        test(id).terms.hazards.iter().map(|h| model.practice.hazards[h.at()].id.clone()).collect()
    };
    assert_eq!(place("M-1/hot"), "loft");
    assert_eq!(place("M-2/hot"), "panel");
    // D-1/fault can be read with the door shut, and loses what is behind the door.
    assert_eq!(door("D-1/fault"), None);
    assert_eq!(hazards("D-1/fault"), ["dust"]);
    assert_eq!(door("D-2/fault").as_deref(), Some("panel"));
    assert_eq!(hazards("D-2/fault"), ["live-parts", "stored-energy", "live-plug", "dust"]);
    let needs = &test("D-1/draw").needs;
    assert_eq!(needs, &[(model.ids.findings["D-1/dark"], 0)]);
}

#[test]
fn readings_become_values() {
    let model = compiled(&mill(), SHEET, Stage::StartUp).model;
    let draw = model.ids.tests["D-1/draw"];
    let seen = model.read(draw, "4.4 4.2 A 4.0").expect("readings");
    assert_eq!(seen.len(), 2);
    assert_eq!(seen[0].finding, model.ids.findings["D-1/draw"]);
    let Seen::Value { value, sd } = seen[0].seen else { panic!("a value") };
    assert!((value - 1.05).abs() < 1e-12 && (sd - 0.021).abs() < 1e-12, "{value} {sd}");
    let Seen::Value { value, sd } = seen[1].seen else { panic!("a value") };
    assert!((value - 100.0 * 0.2 / 4.2).abs() < 1e-9 && sd == 0.25, "{value} {sd}");
    assert_eq!(model.measured(draw, &[4.4, 4.2, 4.0]), Ok(seen));
    let other = model.ids.tests["D-2/draw"];
    let motor = model.units.iter().position(|u| u.id == "M-2").expect("a unit");
    let Err(Unreadable::NeedsNameplate(missing)) = model.read(other, "4 4 4") else {
        panic!("nameplate unknown")
    };
    assert_eq!(missing, [(whytrip::model::index::UnitIx::new(motor), "amps".to_owned())]);
    assert!(model.measured(draw, &[1.0, f64::NAN, 1.0]).is_err());
    assert!(model.read(draw, "0 0 0").is_err(), "no unbalance of nothing");
    assert!(model.read(model.ids.tests["M-1/hot"], "4").is_err());
}

#[test]
fn fault_numbers_are_looked_up() {
    let model = compiled(&mill(), SHEET, Stage::StartUp).model;
    let fault = model.ids.tests["D-1/fault"];
    let seen = |text: &str| model.fault(fault, text).map(|mut seen| seen.remove(0).seen);
    assert_eq!(seen("F07"), Ok(Seen::Outcome(1)));
    assert_eq!(seen("f 7"), Ok(Seen::Outcome(1)));
    assert_eq!(seen("7"), Ok(Seen::Outcome(1)));
    assert_eq!(seen("F12"), Ok(Seen::Outcome(2)));
    assert_eq!(seen("too much"), Ok(Seen::Outcome(1)));
    assert_eq!(seen("none"), Ok(Seen::Outcome(0)));
    assert_eq!(seen("earth"), Ok(Seen::Outcome(2)));
    assert_eq!(seen("E99 strange"), Ok(Seen::Abnormal { words: "E99 strange".to_owned() }));
    assert!(matches!(seen("12"), Err(Unreadable::Ambiguous(_))));
    assert_eq!(seen("fault 7"), Ok(Seen::Outcome(1)));
    assert_eq!(seen("it says F07, too much"), Ok(Seen::Outcome(1)));
    assert_eq!(seen("it says TOO MUCH"), Ok(Seen::Outcome(1)));
    assert_eq!(seen("E7"), Ok(Seen::Abnormal { words: "E7".to_owned() }), "another letter is another number");
    // A drive without a table: every number is a fault of unknown class.
    let bare = model.fault(model.ids.tests["D-2/fault"], "F07").expect("a fault");
    assert_eq!(bare[0].seen, Seen::Abnormal { words: "F07".to_owned() });
}

#[test]
fn a_log_shows_several_classes() {
    let model = compiled(&mill(), SHEET, Stage::StartUp).model;
    let shown = |test: &str, text: &str| {
        model.fault(model.ids.tests[test], text).map(|seen| {
            let id = |finding: whytrip::model::index::FindingIx| model.findings[finding.at()].id.clone();
            seen.into_iter().map(|o| (id(o.finding), o.seen == Seen::Outcome(1))).collect::<Vec<_>>()
        })
    };
    let both = |overload, earth| {
        Ok(vec![("D-1/log.overload".to_owned(), overload), ("D-1/log.earth".to_owned(), earth)])
    };
    assert_eq!(shown("D-1/log", "F07, F12"), both(true, true));
    assert_eq!(shown("D-1/log", "f7"), both(true, false));
    assert_eq!(shown("D-1/log", "none"), both(false, false));
    assert_eq!(shown("D-1/log", "earth"), both(false, true));
    // What one number means is not known, so that nothing is said of classes that are not named.
    assert_eq!(shown("D-1/log", "F12 F99"), Ok(vec![("D-1/log.earth".to_owned(), true)]));
    assert!(shown("D-1/log", "").is_err());
    assert_eq!(shown("D-1/lamps", "green").map(|seen| seen[1].1), Ok(true));
    assert!(
        matches!(shown("D-1/lamps", "grren"), Err(Unreadable::UnknownOutcome { valid, .. }) if valid == ["green"])
    );
    // It is read at the motor, which is in the loft for D-1 alone.
    let place = |id: &str| model.tests[model.ids.tests[id].at()].terms.place;
    assert_ne!(place("D-1/lamps"), place("D-2/lamps"));
}

#[test]
fn circles_through_the_jobs_relations_are_named() {
    let drive = DRIVE
        .replace("  loose:", "  first: {name: first, prior: 0.1, leads-to: {spare/first: 0.5}}\n  loose:");
    let mut files = FILES;
    files[2].1 = &drive;
    let knowledge = load(&files);
    let (job, _) = sheet(&knowledge, SHEET);
    assert!(compile(&knowledge, Some(&job), Stage::StartUp).is_ok(), "a chain is no circle");
    let (job, _) = sheet(&knowledge, &SHEET.replace("motor: M-1,", "motor: M-1, spare: D-2,"));
    let problems = compile(&knowledge, Some(&job), Stage::StartUp).expect_err("a circle");
    assert_eq!(problems.len(), 1);
    assert_eq!(
        problems[0].message,
        "causes that lead to each other: `D-1/first` → `D-2/first` → `D-1/first`"
    );
}

#[test]
fn without_a_job_only_what_every_job_has() {
    let model = compile(&mill(), None, Stage::InService).expect("compiles").model;
    assert_eq!(model.causes.iter().map(|c| c.id.as_str()).collect::<Vec<_>>(), ["hall/flood"]);
    assert!(model.units.is_empty());
}

#[test]
fn units_appear_as_they_are_mentioned() {
    let knowledge = mill();
    let mut job = Job::without_sheet();
    assert!(job.add_unit(&knowledge, "roller", "big roller").is_err());
    let id = job.add_unit(&knowledge, "drive", "big roller").expect("a kind");
    assert_eq!(id, "drive-1");
    let model = compile(&knowledge, Some(&job), Stage::InService).expect("compiles").model;
    let units: Vec<(&str, &str, bool)> = model.units.iter().map(|u| (&*u.id, &*u.name, u.implied)).collect();
    assert_eq!(
        units,
        [
            ("drive-1", "big roller", false),
            ("drive-1.supply", "supply", true),
            ("drive-1.motor", "motor of big roller", true),
        ]
    );
    assert!(model.ids.findings.contains_key("drive-1.motor/hot"));

    // Its nameplate can be told, and a second drive has a motor of its own on the same supply.
    job.set_nameplate(&knowledge, "drive-1.motor", "amps", "5 A").expect("a value");
    job.add_unit(&knowledge, "drive", "small roller").expect("a kind");
    let model = compile(&knowledge, Some(&job), Stage::InService).expect("compiles").model;
    let mut ids: Vec<&str> = model.units.iter().map(|u| &*u.id).collect();
    ids.sort_unstable();
    assert_eq!(ids, ["drive-1", "drive-1.motor", "drive-1.supply", "drive-2", "drive-2.motor"]);
    let motor = model.units.iter().find(|u| u.id == "drive-1.motor").expect("a unit");
    assert_eq!(motor.nameplate[0].value, Some(Plate::Number(5.0)));
    let jammed = Source::Cause(model.ids.causes["drive-2.motor/jammed"]);
    assert_eq!(chance(&model, jammed, "drive-2/dark", 1), Some(0.05));
    assert_eq!(chance(&model, jammed, "drive-1/dark", 1), None);

    // A motor that is mentioned first has a drive.
    let mut job = Job::without_sheet();
    job.add_unit(&knowledge, "motor", "elevator").expect("a kind");
    let model = compile(&knowledge, Some(&job), Stage::InService).expect("compiles").model;
    let jammed = Source::Cause(model.ids.causes["motor-1/jammed"]);
    assert_eq!(chance(&model, jammed, "motor-1.drive/dark", 1), Some(0.05));
    job.adopt(&knowledge, "motor-1.drive", "elevator drive").expect("implied");
    let again = compile(&knowledge, Some(&job), Stage::InService).expect("compiles").model;
    assert_eq!(again.network, model.network);
    assert!(job.adopt(&knowledge, "motor-1.wheel", "").is_err());
}

#[test]
fn a_wider_kind_reaches_units_of_every_component_of_it() {
    let supply = r#"
component: supply
each: supply
relations: {loads: "device* via supply"}
causes: {off: {prior: 0.01, shows: {loads/dark: {"yes": 0.9}}}}
"#;
    let device = |name: &str| {
        format!(
            "component: {name}\neach: {name}\nis: [device]\nrelations: {{supply: supply}}\nsymptoms: {{dark: {{say: \"{{unit}} is dark\"}}}}\n"
        )
    };
    let (lamp, horn) = (device("lamp"), device("horn"));
    let files =
        [("package.yaml", PACKAGE), ("supply.yaml", supply), ("lamp.yaml", &lamp), ("horn.yaml", &horn)];
    let text = "format: 1\njob: J\nunits: {S: {is: supply}, L: {is: lamp}, H: {is: horn}, H-2: {is: horn}}\n";
    let model = compiled(&load(&files), text, Stage::InService).model;
    let off = Source::Cause(model.ids.causes["S/off"]);
    for id in ["L/dark", "H/dark", "H-2/dark"] {
        assert_eq!(chance(&model, off, id, 1), Some(0.9), "{id}");
    }
}

#[test]
fn tests_that_need_each_other_through_the_job_are_named() {
    let chain = "component: link\neach: link\nrelations: {next: \"link?\"}\ntests: {look: {look: Is it so?, needs: {next/look: \"yes\"}}}\n";
    let knowledge = load(&[("package.yaml", PACKAGE), ("link.yaml", chain)]);
    let units = |last: &str| {
        format!("format: 1\njob: J\nunits: {{A: {{is: link, next: B}}, B: {{is: link{last}}}}}\n")
    };
    let (job, _) = sheet(&knowledge, &units(""));
    assert!(compile(&knowledge, Some(&job), Stage::InService).is_ok());
    let (job, _) = sheet(&knowledge, &units(", next: A"));
    let problems = compile(&knowledge, Some(&job), Stage::InService).expect_err("a circle");
    assert_eq!(problems[0].message, "tests that need each other: `A/look` → `B/look` → `A/look`");
}

#[test]
fn a_unit_that_the_sheet_forgot_can_be_mentioned() {
    let knowledge = mill();
    let (mut job, _) = sheet(&knowledge, SHEET);
    job.add_unit(&knowledge, "drive", "the new drive").expect("a kind");
    let model = compile(&knowledge, Some(&job), Stage::InService).expect("compiles").model;
    let mut implied: Vec<&str> = model.units.iter().filter(|u| u.implied).map(|u| &*u.id).collect();
    implied.sort_unstable();
    assert_eq!(implied, ["drive-3.motor"]);
    let dead = Source::Condition(model.ids.conditions["S-1/dead"]);
    assert_eq!(chance(&model, dead, "drive-3/dark", 1), Some(0.9));
}

#[test]
fn the_graph_knows_who_reaches_whom() {
    let model = compiled(&mill(), SHEET, Stage::InService).model;
    let graph = Graph::new(&model);
    let names = |findings: Vec<whytrip::model::index::FindingIx>| -> Vec<String> {
        let mut names: Vec<String> =
            findings.into_iter().map(|f| model.findings[f.at()].id.clone()).collect();
        names.sort_unstable();
        names
    };
    assert_eq!(names(graph.findings_of(model.ids.causes["S-1/off"])), ["D-1/dark", "D-2/dark"]);
    assert_eq!(
        names(graph.findings_of(model.ids.causes["hall/flood"])),
        [
            "D-1/dark",
            "D-1/fault",
            "D-1/lamps.red",
            "D-1/log.earth",
            "D-2/dark",
            "D-2/fault",
            "D-2/lamps.red",
            "D-2/log.earth"
        ]
    );
    let hot = model.ids.findings["M-1/hot"];
    assert_eq!(graph.causes_of(hot), [model.ids.causes["M-1/jammed"]]);
    let burnt = Node::Cause(model.ids.causes["D-1/burnt"]);
    assert!(graph.links_to(burnt).contains(&(Link::Removes, Node::Fix(model.ids.fixes["D-1/renew"]))));
    assert!(graph.circles(Link::is_story).is_empty());
    // Everything hangs together but what nothing shows.
    let parts = graph.parts();
    assert_eq!(parts.iter().filter(|part| part.len() > 1).count(), 1);
    assert_eq!(parts.iter().map(Vec::len).sum::<usize>(), 7 + 1 + model.findings.len());
}

/// The shipped package with each demo job, at every stage, and with units mentioned one by one.
#[test]
fn the_shipped_package_compiles_for_every_demo_job() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("knowledge");
    let loaded = knowledge::load(&InMemory::new(), "kitchen-ventilation", &Options::default());
    let said: Vec<String> = loaded
        .diagnostics
        .iter()
        .filter(|d| d.is_error())
        .map(|problem| Short { problem, sources: &loaded.sources }.to_string())
        .collect();
    assert_eq!(said, Vec::<String>::new());
    let knowledge = loaded.knowledge.expect("knowledge");
    let mut jobs: Vec<_> = std::fs::read_dir(root.join("demo"))
        .expect("a folder")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .collect();
    jobs.sort();
    assert!(jobs.len() >= 3);
    for path in jobs {
        let text = std::fs::read_to_string(&path).expect("a file");
        let named = whytrip::job::package_of(text.as_bytes());
        let other = named.map(|package| knowledge::load_embedded(&package).knowledge.expect("knowledge"));
        let knowledge = other.as_ref().unwrap_or(&knowledge);
        let (job, said) = sheet(knowledge, &text);
        assert_eq!(said, Vec::<String>::new(), "{path:?}");
        for stage in Stage::ALL {
            let compiled =
                compile(knowledge, Some(&job), stage).unwrap_or_else(|p| panic!("{path:?}: {p:?}"));
            assert!(compiled.model.causes.len() >= 45, "{path:?}");
        }
    }
    for kind in knowledge.unit_kinds() {
        let mut job = Job::without_sheet();
        job.add_unit(&knowledge, kind, "the one").expect("a kind");
        job.add_unit(&knowledge, kind, "the other").expect("a kind");
        compile(&knowledge, Some(&job), Stage::InService).unwrap_or_else(|p| panic!("{kind}: {p:?}"));
    }
}
