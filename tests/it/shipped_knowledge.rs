//! The shipped packages: no problem of any kind, enough of them, every cause seen and cured, and typical findings that
//! lead to the cause that a practitioner would name. What is typical is judgement; sites and jobs are invented.

use whytrip::diagnostic::Short;
use whytrip::inference::{Evidence, Limits, Workspace, posterior};
use whytrip::job::{self, Job};
use whytrip::knowledge::{self, InMemory, Knowledge, Options, Stage};
use whytrip::model::catalog::Act;
use whytrip::model::graph::{Graph, Link, Node};
use whytrip::model::index::{CauseIx, FixIx};
use whytrip::model::{Model, compile};
use whytrip::source::Sources;

const SHIPPED: [&str; 4] = ["base", "motor-and-drive", "kitchen-ventilation", "water-booster"];

/// The cause to come out on top, and the findings that should bring it there, per job.
type Expected = (&'static str, &'static [(&'static str, &'static str)]);

#[rustfmt::skip]
const TYPICAL: &[Expected] = &[
    ("tin-whistle.yaml", &[
        ("F-3/locked-by-others", "VFD-3/bus-lost=yes VFD-3/dark=yes F-3/handle=locked-off"),
        ("M-1/switch-pole", "VFD-1/trips=yes VFD-1/fault=output-phase M-1/switch-poles=one-open"),
        ("M-1/cable-grounded", "VFD-1/trips=yes VFD-1/fault=ground-fault M-1/insulation-to-ground=low M-1/motor-alone=good M-1/box=dry-and-tight"),
        ("F-3/switched-off", "VFD-3/bus-lost=yes VFD-3/dark=yes F-3/handle=off"),
        ("M-1/reversed", "VFD-1/trips=yes VFD-1/fault=overload M-1/rotation=backwards"),
        ("M-1/reversed", "VFD-1/trips=yes VFD-1/fault=overload"),
        ("VFD-1/wrong-motor-data", "VFD-1/trips=yes VFD-1/fault=overload M-1/rotation=with-arrow VFD-1/set-amps=low VFD-1/amps=normal"),
        ("EF-1/overspeed", "VFD-1/trips=yes VFD-1/fault=overload M-1/rotation=with-arrow VFD-1/set-amps=equal VFD-1/amps=over"),
        ("EF-1/overspeed", "VFD-1/trips=yes VFD-1/fault=overload M-1/rotation=with-arrow VFD-1/set-amps=equal VFD-1/running-hz=fast"),
        ("FS-1/not-armed", "FS-1/fire-shown=yes FS-1/armed=not-armed FS-1/worked-on=yes FS-1/traces=no"),
        ("FS-1/released", "FS-1/fire-shown=yes FS-1/armed=not-armed FS-1/traces=yes"),
        ("FS-1/wrong-contact", "FS-1/fire-shown=yes FS-1/armed=armed FS-1/traces=no FS-1/contact-state=open-when-armed"),
        ("FS-1/loop-supply", "FS-1/fire-shown=yes FS-1/armed=armed FS-1/traces=no FS-1/loop-feed=none"),
        ("FS-1/loop-open", "FS-1/fire-shown=yes FS-1/armed=armed FS-1/loop-wires=open"),
        ("TS-2/not-landed", "CTRL/sensor-missing=yes TS-2/sensor-listed=yes TS-2/landed=no"),
        ("CTRL/sensor-setup", "CTRL/sensor-missing=yes CTRL/sensor-list=differs CTRL/sensors-landed=equal"),
        ("VFD-1/supply-on-output", "VFD-1/dark=yes F-1/handle=on VFD-1/input-level=none VFD-1/terminals=exchanged"),
        ("VFD-1/input-open", "VFD-1/dark=yes F-1/handle=on VFD-1/input-level=none VFD-1/terminals=as-drawn"),
        ("VFD-1/failed", "VFD-1/dark=yes VFD-1/input-level=normal VFD-1/terminals=as-drawn"),
        ("M-1/switch-off", "EF-1/stopped=yes M-1/motor-switch=off"),
        ("VFD-1/hot", "VFD-1/trips=yes VFD-1/fault=over-temperature VFD-1/cool-hours=yes"),
        ("VFD-1/stop-ramp-short", "VFD-1/trips=yes VFD-1/fault=overvoltage VFD-1/trip-moment=slowing-down"),
        ("VFD-1/ramp-short", "VFD-1/trips=yes VFD-1/fault=overcurrent VFD-1/trip-moment=speeding-up"),
        ("VFD-1/enable-open", "VFD-1/trips=yes VFD-1/fault=external"),
        ("VFD-1/command-source", "VFD-1/ignores-start=yes VFD-1/source-setting=other"),
        ("F-1/shorted", "CP-1/all-dead=yes F-1/handle=tripped F-1/trip-time=at-closing"),
        ("BUS/shorted", "BUS/all-lost=yes BUS/pair-ohms=shorted"),
        ("BUS/noise", "BUS/drops=yes BUS/error-count=rises-running BUS/route=beside-power"),
        ("GV-1/not-reset", "GV-1/no-gas=yes GV-1/reset-lamp=asks EF-1/stopped=no"),
        ("GV-1/current-proof-high", "GV-1/drops-out=yes GV-1/proof-setting=above"),
        ("SCR/no-supply", "SCR/blank=yes SCR/screen-volts=none CP-1/lamps=yes"),
        ("kitchen/makeup-not-interlocked", "kitchen/doors-hard=yes kitchen/makeup-status=off SF-1/stopped=no"),
        ("TS-1/lead-open", "TS-1/reads-wrong=yes TS-1/sensor-ohms=open TS-1/landed=yes"),
        ("service/sag", "service/stopped-together=yes service/flicker=flicker VFD-1/fault=undervoltage VFD-2/fault=undervoltage"),
        ("VFD-3/address-wrong", "VFD-3/bus-lost=yes VFD-3/dark=no VFD-3/address=wrong"),
        ("VFD-2/pair-swapped", "VFD-2/bus-lost=yes VFD-2/dark=no VFD-2/data-wires=exchanged"),
        ("CTRL/wrong-mode", "CTRL/refuses=yes CTRL/screen-says=other-mode"),
        ("CTRL/clock-lost", "CTRL/odd-times=yes"),
        ("CP-1/overloaded", "CP-1/buzz=yes CP-1/va-sum=over"),
        ("F-1/pole-open", "VFD-2/trips=yes VFD-2/fault=input-phase F-1/line-legs=one-missing"),
        ("CTRL/wrong-configuration", "CTRL/ghost-device=yes CTRL/device-list=differs"),
        ("M-3/strapped-wrong", "VFD-3/trips=yes VFD-3/fault=overload M-3/strap=no"),
        ("M-2/splice-open", "M-2/hums=yes VFD-2/fault=output-phase M-2/box=loose"),
    ]),
    ("lantern-noodles.yaml", &[
        ("EF/belt-off", "EF/stopped=yes D-1/amps=unloaded"),
        ("EF/belt-loose", "EF/weak=yes EF/squeal=yes"),
        ("H/filters-clogged", "H/smoke-spills=yes H/filters=clogged"),
        ("M-1/wet-box", "D-1/trips=yes D-1/fault=ground-fault M-1/after-rain=yes"),
        ("M-1/bearing", "M-1/growl=yes EF/noise=yes EF/coast-down=fades M-1/bearing-feel=rough"),
        ("S-1/worn", "S-1/dead-keys=yes"),
        ("EF/wheel-dirty", "EF/noise=yes EF/coast-down=fades EF/wheel-clean=dirty"),
        ("GV/not-reset", "GV/no-gas=yes"),
        ("TS/greasy", "C-1/never-up=yes TS/probe=greasy"),
        ("D-1/failed", "D-1/trips=yes D-1/fault=internal"),
        ("F-1/weak", "D-1/trips=yes D-1/fault=undervoltage D-1/trip-moment=speeding-up F-1/start-dip=low"),
    ]),
    ("larkspur-court.yaml", &[
        ("PV/charge-lost", "BS/cycles=yes PV/vessel-valve=open PV/air-pin=nothing PV/air-charge=low"),
        ("PV/diaphragm-burst", "BS/cycles=yes PV/air-pin=water"),
        ("LG/float-hangs", "BS/low-water-alarm=yes BT/level=enough LG/guard-lamp=no-water LG/lifted=stays LG/guard-free=hangs"),
        ("BT/main-shut", "BS/low-water-alarm=yes BT/level=empty BT/inlet=none BT/street=none"),
        ("PT-1/loop-open", "BS/sensor-alarm=yes K-W/mode=automatic T-W/lamps=yes PT-1/loop=open"),
        ("PT-1/line-blocked", "BS/low-pressure=yes PT-1/shown-pressure=high PT-1/spurt=dribbles"),
        ("PU-1/air-bound", "PU-1/no-pressure=yes VF-1/amps=unloaded PU-1/valves=open PU-1/vented=air"),
        ("PU-2/check-open", "PU-2/spins-back=yes PU-2/back-flow=turns"),
        ("PU-3/seal-worn", "PU-3/leaks=yes PU-3/seal=runs"),
        ("MW-1/reversed", "PU-1/no-pressure=yes MW-1/rotation=backwards"),
        ("BS/tuned-badly", "BS/hunts=yes BS/slowed=settles"),
        ("K-W/stopped-mode", "BS/no-water=yes K-W/mode=stopped"),
        ("VF-2/hot", "VF-2/trips=yes VF-2/fault=over-temperature"),
    ]),
    ("mill-lane-clinic.yaml", &[
        ("ST-A/coil-open", "ST-A/does-not-start=yes ST-A/coil-level=normal ST-A/coil-ohms=open"),
        ("LG-C/set-high", "BC/low-water-alarm=yes BC/street-gauge=usual LG-C/trip-point=high"),
        ("PC-B/not-in-auto", "PC-B/stopped=yes PC-B/selector=off"),
    ]),
    ("orchard-school.yaml", &[
        ("TS-A/reversed", "TS-A/reads-wrong=yes TS-A/warmed=falls"),
        ("F-B/locked-by-others", "D-B/bus-lost=yes EF-B/stopped=yes D-B/dark=yes F-B/handle=locked-off"),
        ("M-A/reversed", "EF-A/weak=yes M-A/rotation=backwards"),
    ]),
    ("weir-bakery.yaml", &[
        ("ST-1/coil-open", "ST-1/does-not-start=yes ST-1/coil-level=normal ST-1/coil-ohms=open"),
        ("ST-1/welded", "EF-D/runs-on=yes ST-1/still-in=stays"),
        ("ST-1/set-low", "ST-1/trips-overload=yes ST-1/dial=low ST-1/leg-level=normal"),
        ("MO-1/reversed", "EF-D/weak=yes MO-1/rotation=backwards"),
        ("EC-1/signal-reversed", "EF-O/stopped=yes EC-1/line-level=normal EC-1/signal-at-motor=reversed"),
        ("EC-1/electronics", "EF-O/stopped=yes EC-1/line-level=normal EC-1/signal-at-motor=right EC-1/known-source=does-not-run EC-1/turns-free=free"),
        ("EC-1/local-set", "EC-1/fixed-speed=yes EC-1/own-link=present"),
        ("MU-1/call-open", "kitchen/no-makeup=yes FS-O/fire-shown=no MU-1/unit-panel=waits MU-1/call-contact=open"),
        ("MU-1/no-heat", "MU-1/cold-air=yes MU-1/air-temperature=cold"),
    ]),
];

fn shipped(package: &str) -> Knowledge {
    let loaded = knowledge::load(&InMemory::new(), package, &Options::default());
    loaded.knowledge.expect("a package without errors")
}

fn kitchen() -> Knowledge {
    shipped("kitchen-ventilation")
}

/// Every demo sheet with the knowledge of its trade: the package that it names.
fn trades() -> Vec<(Knowledge, String)> {
    let folder = std::fs::read_dir(super::support::root().join("knowledge/demo")).unwrap();
    let mut sheets: Vec<_> = folder.map(|entry| entry.unwrap().path()).collect();
    sheets.sort();
    let with_knowledge = |path: std::path::PathBuf| {
        let package = job::package_of(&std::fs::read(&path).unwrap());
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        (shipped(package.as_deref().unwrap_or("kitchen-ventilation")), name)
    };
    sheets.into_iter().map(with_knowledge).collect()
}

/// A second trade stands on the same drives, motors, starters and supply: its own causes are many, and what it uses is as
/// the kitchens have it.
#[test]
fn a_second_trade_reuses_the_first_ones_packages() {
    let (water, kitchen) = (shipped("water-booster"), kitchen());
    let last = water.packages.len() - 1;
    assert_eq!(water.packages[last].id.value, "water-booster");
    let causes = |knowledge: &Knowledge, package: &str| -> Vec<String> {
        let of = knowledge.packages.iter().position(|one| one.id.value == package).unwrap();
        let own = knowledge.components.iter().filter(|component| component.package == of);
        own.flat_map(|c| c.causes.iter().map(|cause| format!("{}/{}", c.id.value, cause.id.value))).collect()
    };
    assert!(causes(&water, "water-booster").len() >= 45);
    assert_eq!(causes(&water, "motor-and-drive"), causes(&kitchen, "motor-and-drive"));
}

fn demo(knowledge: &Knowledge, file: &str) -> Job {
    let text = std::fs::read(super::support::root().join("knowledge/demo").join(file)).unwrap();
    let (job, problems) = job::read(knowledge, &mut Sources::new(), file, text);
    assert!(problems.is_empty(), "{file}: {problems:?}");
    job.unwrap()
}

fn model(knowledge: &Knowledge, file: &str, stage: Option<Stage>) -> Model {
    let job = demo(knowledge, file);
    compile(knowledge, Some(&job), stage.or(job.stage).unwrap()).unwrap().model
}

fn evidence(model: &Model, text: &str) -> Evidence {
    let mut evidence = Evidence::new();
    for told in text.split(' ') {
        let (finding, outcome) = told.split_once('=').unwrap();
        let finding = *model.ids.findings.get(finding).unwrap_or_else(|| panic!("no finding {finding}"));
        evidence.plain(&model.network, finding, model.outcome(finding, outcome).unwrap());
    }
    evidence
}

#[test]
fn shipped_packages_have_no_problem_of_any_kind() {
    for package in SHIPPED {
        let loaded = knowledge::load(&InMemory::new(), package, &Options::default());
        let said: Vec<String> = loaded
            .diagnostics
            .iter()
            .map(|problem| Short { problem, sources: &loaded.sources }.to_string())
            .collect();
        assert_eq!(said, Vec::<String>::new(), "{package}");
    }
}

#[test]
fn shipped_packages_are_broad() {
    let knowledge = kitchen();
    let count = |of: fn(&knowledge::Component) -> usize| knowledge.components.iter().map(of).sum::<usize>();
    assert!(count(|c| c.causes.len()) >= 155);
    assert!(count(|c| c.tests.len()) >= 160);
    assert!(count(|c| c.symptoms.len()) >= 55);
    assert!(count(|c| c.fixes.len()) >= 120);
    for component in &knowledge.components {
        for cause in &component.causes {
            assert!(!cause.sources.is_empty(), "{}/{} names no source", component.id.value, cause.id.value);
        }
    }
}

/// Each cause shows in a symptom, is told by a test of more than asking whether it is so, and is removed by a fix;
/// each fix removes something. At every stage, on every demo job.
#[test]
fn every_cause_is_seen_told_and_cured() {
    for (knowledge, file) in trades() {
        for stage in Stage::ALL {
            let model = model(&knowledge, &file, Some(stage));
            let graph = Graph::new(&model);
            for (at, cause) in model.causes.iter().enumerate() {
                let findings = graph.findings_of(CauseIx::new(at));
                let symptom = findings.iter().any(|f| model.findings[f.at()].symptom.is_some());
                assert!(symptom, "{file} {stage:?}: {} shows in no symptom", cause.id);
                let test = findings.iter().any(|f| model.findings[f.at()].symptom.is_none());
                assert!(test, "{file} {stage:?}: {} shows in no test", cause.id);
                let links = graph.links_to(Node::Cause(CauseIx::new(at)));
                let cured = links.iter().any(|(link, _)| *link == Link::Removes);
                assert!(cured, "{file} {stage:?}: nothing removes {}", cause.id);
            }
            for (at, fix) in model.fixes.iter().enumerate() {
                // A fix may have nothing to do on this job or at this stage, but it is for something.
                let links = graph.links_from(Node::Fix(FixIx::new(at)));
                let (_, name) = fix.id.split_once('/').unwrap();
                let somewhere = knowledge
                    .components
                    .iter()
                    .flat_map(|c| &c.fixes)
                    .any(|f| f.id.value == name && !f.removes.is_empty());
                assert!(somewhere || !links.is_empty(), "{}", fix.id);
            }
        }
    }
}

#[test]
fn typical_findings_bring_the_right_cause_to_the_top() {
    let mut wrong = Vec::new();
    let mut asked = 0;
    for (file, rows) in TYPICAL {
        let (knowledge, _) = trades().into_iter().find(|(_, name)| name == file).unwrap();
        let model = model(&knowledge, file, None);
        for (expected, findings) in *rows {
            asked += 1;
            let evidence = evidence(&model, findings);
            let posterior = posterior(&model.network, &evidence, &Limits::default()).unwrap();
            let mut ranking: Vec<usize> = (0..model.causes.len()).collect();
            ranking.sort_by(|&a, &b| posterior.now[b].total_cmp(&posterior.now[a]));
            if model.causes[ranking[0]].id != *expected {
                let top: Vec<String> = ranking[..4]
                    .iter()
                    .map(|&at| format!("{} {:.2}", model.causes[at].id, posterior.now[at]))
                    .collect();
                wrong.push(format!("{findings}: expected {expected}, got {top:?}"));
            }
        }
    }
    assert!(asked >= 45);
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Two mistakes on a new panel are ordinary: both come out, neither explains the other away.
#[test]
fn two_independent_faults_are_both_found() {
    let knowledge = kitchen();
    let model = model(&knowledge, "tin-whistle.yaml", None);
    for (both, findings) in [
        (
            ["FS-1/not-armed", "TS-2/not-landed"],
            "FS-1/fire-shown=yes FS-1/armed=not-armed FS-1/traces=no CTRL/sensor-missing=yes TS-2/landed=no",
        ),
        (
            ["M-1/reversed", "F-3/locked-by-others"],
            "VFD-1/fault=overload M-1/rotation=backwards VFD-3/dark=yes F-3/handle=locked-off",
        ),
        (
            // What a fault breaks: the fuse opened because of the short, and both are to be put right.
            ["CP-1/field-short", "CP-1/secondary-fuse"],
            "CP-1/all-dead=yes F-1/handle=on CP-1/fuses=secondary-open CP-1/wire-to-ground=low",
        ),
    ] {
        let posterior = posterior(&model.network, &evidence(&model, findings), &Limits::default()).unwrap();
        for cause in both {
            assert!(posterior.now[model.ids.causes[cause].at()] > 0.9, "{cause} after {findings}");
        }
    }
}

/// A long call in which every answer is a little soft stays exact: eighteen answers about one fan, its motor and its drive.
#[test]
fn a_long_soft_call_stays_exact() {
    let knowledge = kitchen();
    let model = model(&knowledge, "tin-whistle.yaml", None);
    let mut soft = Evidence::new();
    let told = "VFD-1/trips=yes VFD-1/fault=overload VFD-1/trip-moment=steady VFD-1/dark=no VFD-1/ignores-start=no \
        VFD-1/bus-lost=no VFD-1/cool-hours=no EF-1/stopped=yes EF-1/weak=no EF-1/noise=yes EF-1/squeal=no \
        EF-1/coast-down=fades M-1/hot=yes M-1/hums=no M-1/growl=no M-1/after-rain=no M-1/motor-switch=on \
        M-1/rotation=backwards";
    for told in told.split_whitespace() {
        let (finding, outcome) = told.split_once('=').unwrap();
        let finding = model.ids.findings[finding];
        let outcome = model.outcome(finding, outcome).unwrap();
        let others = model.findings[finding.at()].outcomes.len() - 1;
        let mut weights = vec![0.1 / others as f64; others + 1];
        weights[outcome] = 0.9;
        soft.soft(finding, weights);
    }
    let mut workspace = Workspace::new(&model.network);
    let touched = workspace.touched(&model.network, &soft, &Limits::default()).unwrap();
    let top = touched.causes.iter().max_by(|a, b| a.now.total_cmp(&b.now)).unwrap();
    assert_eq!(model.causes[top.cause.at()].id, "M-1/reversed");
}

/// The safety of words: no text advises what nobody may do, and acts on fire and gas ask for their licensed trades.
#[test]
fn no_text_advises_what_nobody_may_do() {
    const NEVER: [&str; 12] = [
        "jumper out",
        "jump out",
        "jumper across",
        "bypass the",
        "invert the",
        "reverse the input",
        "lower the count",
        "reduce the count",
        "hold in the",
        "tape down",
        "defeat the",
        "reset it again",
    ];
    for package in SHIPPED {
        let folder = super::support::root().join("knowledge").join(package);
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            let text = std::fs::read_to_string(&path).unwrap().to_lowercase();
            for phrase in NEVER {
                assert!(!text.contains(phrase), "{path:?} says `{phrase}`");
            }
        }
    }
    let knowledge = kitchen();
    let model = model(&knowledge, "tin-whistle.yaml", None);
    let electrician = model.practice.person(model.practice.competence("electrician").unwrap());
    for (id, door) in [("FS-1", "suppression-head"), ("GV-1", "gas-train")] {
        let inside = model.practice.enclosures.iter().position(|e| e.id == door).unwrap();
        let tests = model.tests.iter().filter(|t| t.id.starts_with(id)).map(|t| &t.terms);
        let fixes = model.fixes.iter().filter(|f| f.id.starts_with(id)).map(|f| &f.terms);
        let at_the_head: Vec<_> =
            tests.chain(fixes).filter(|t| t.inside.is_some_and(|e| e.at() == inside)).collect();
        assert!(at_the_head.len() >= 3);
        assert!(at_the_head.iter().all(|terms| !model.practice.allows(&electrician, terms)));
    }
    // What opens a door or works on conductors is never offered to a person without competence.
    let anyone = model.practice.person(model.practice.competence("anyone").unwrap());
    for (id, terms) in
        model.tests.iter().map(|t| (&t.id, &t.terms)).chain(model.fixes.iter().map(|f| (&f.id, &f.terms)))
    {
        let behind = terms.inside.is_some() || terms.work_state.is_some_and(|s| s.at() > 0);
        assert!(!(behind && model.practice.allows(&anyone, terms)), "{id}");
    }
}

/// Trying and looking steps name their cautions: whatever makes a fan run, or is done on the roof or behind a door.
#[test]
fn steps_that_can_hurt_have_cautions() {
    let knowledge = kitchen();
    let model = model(&knowledge, "tin-whistle.yaml", None);
    for test in &model.tests {
        let risky = test.terms.inside.is_some() || (test.act == Act::Try && test.unit.is_some());
        let said = !test.terms.hazards.is_empty();
        assert!(!risky || said || test.terms.work_state.is_none(), "{} names no caution", test.id);
    }
    for fix in &model.fixes {
        assert!(fix.terms.inside.is_none() || !fix.terms.hazards.is_empty(), "{} names no caution", fix.id);
        assert!(fix.terms.minutes.is_some(), "{} costs no minutes", fix.id);
    }
}

/// Nobody is sent up to the roof who may not go there, and every step there warns of the edge.
#[test]
fn the_roof_asks_for_people_who_may_be_there() {
    let knowledge = kitchen();
    let model = model(&knowledge, "tin-whistle.yaml", None);
    let practice = &model.practice;
    let anyone = practice.person(practice.competence("anyone").unwrap());
    let roof = practice.places.iter().position(|p| p.id == "roof").unwrap();
    let edge = practice.hazards.iter().position(|h| h.id == "roof-edge").unwrap();
    let steps = model.tests.iter().map(|t| (&t.id, &t.terms));
    let mut there = 0;
    for (id, terms) in steps.chain(model.fixes.iter().map(|f| (&f.id, &f.terms))) {
        if terms.place.at() != roof {
            continue;
        }
        there += 1;
        assert!(terms.hazards.iter().any(|h| h.at() == edge), "{id} says nothing of the edge");
        assert!(!practice.allows(&anyone, terms), "{id} sends anyone up");
        let climbs = |id: &str| practice.allows(&practice.person(practice.competence(id).unwrap()), terms);
        let trades = ["site-trained", "installer", "drive-specialist", "air-balancer"];
        assert!(trades.into_iter().any(climbs), "{id} can be done by nobody");
    }
    assert!(there > 30);
}
