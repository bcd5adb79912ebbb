//! Simulated sites, scripted scenarios, and calls in numbers.

use std::collections::BTreeMap;
use std::sync::Arc;

use proptest::prelude::*;
use whytrip::diagnostic::Code;
use whytrip::inference::{Evidence, Limits, Workspace};
use whytrip::job;
use whytrip::knowledge::{Knowledge, Stage, embedded, load_embedded};
use whytrip::model::Model;
use whytrip::model::compile::compile;
use whytrip::model::index::{CauseIx, FindingIx, FixIx, TestIx};
use whytrip::planner::Effort;
use whytrip::rehearsal::trials::{Ground, Plan, each_cause, pairs};
use whytrip::rehearsal::{Caller, Scenario, Story, Tally, Truth, readings, rehearse, scenario};
use whytrip::source::Sources;

use crate::hand_made;
use crate::support::{Run, root};

fn shipped() -> Arc<Knowledge> {
    Arc::new(load_embedded("kitchen-ventilation").knowledge.unwrap())
}

fn sheet(name: &str) -> Option<(String, Vec<u8>)> {
    embedded::text("demo", name).map(|text| (format!("demo/{name}"), text.as_bytes().to_vec()))
}

fn model_of(knowledge: &Knowledge, name: &str, stage: Stage) -> Model {
    let (shown, bytes) = sheet(name).unwrap();
    let job = job::read(knowledge, &mut Sources::new(), &shown, bytes).0;
    compile(knowledge, job.as_ref(), stage).unwrap().model
}

/// Every built-in scenario reaches its goals.
#[test]
fn the_scenarios_reach_their_goals() {
    let knowledge = shipped();
    let folder = root().join("knowledge/scenarios");
    let mut names: Vec<String> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    let mut missed = vec![];
    let mut trades: BTreeMap<String, Arc<Knowledge>> = BTreeMap::new();
    let (mut several, mut components) = (0, BTreeMap::<String, u32>::new());
    for name in &names {
        let bytes = std::fs::read(folder.join(name)).unwrap();
        let trade = match scenario::package_of(&bytes, &sheet) {
            Some(package) => Arc::clone(
                trades
                    .entry(package)
                    .or_insert_with_key(|package| Arc::new(load_embedded(package).knowledge.unwrap())),
            ),
            None => Arc::clone(&knowledge),
        };
        let knowledge = &trade;
        let mut sources = knowledge.sources.clone();
        let (read, problems) = scenario::read(knowledge, &mut sources, name, bytes, &sheet);
        assert!(problems.is_empty(), "{name}: {problems:?}");
        let scenario: Scenario = read.unwrap();
        several += usize::from(scenario.hidden.len() > 1);
        let session = scenario.opened(knowledge).unwrap();
        let model = session.session().model();
        for cause in &scenario.hidden {
            let unit = model.causes[model.ids.causes[&cause.value].at()].unit;
            let own = cause.value.split('/').next().unwrap().to_owned();
            let component = unit.map_or(own, |unit| model.units[unit.at()].component.clone());
            *components.entry(component).or_insert(0) += 1;
        }
        let rehearsed = rehearse(&scenario, knowledge).unwrap();
        if !rehearsed.misses.is_empty() {
            missed.push(format!("{name}: {:?} {:?}", rehearsed.misses, rehearsed.turns));
        }
    }
    assert!(missed.is_empty(), "{}", missed.join("\n"));
    assert!(
        names.len() >= 40 && several * 4 >= names.len(),
        "{} scenarios, {several} of several",
        names.len()
    );
    let without: Vec<&str> = (knowledge.components.iter().filter(|c| !c.causes.is_empty()))
        .map(|component| &*component.id.value)
        .filter(|id| !components.contains_key(*id))
        .collect();
    assert!(without.is_empty(), "no scenario about {without:?}");
}

/// A site drawn again and again shows findings as often as inference predicts.
#[test]
fn sites_follow_the_story() {
    let model = hand_made::kitchen();
    let story = Arc::new(Story::new(model.clone(), true));
    let sites = 20_000;
    let mut shown = vec![vec![0u32; 8]; model.findings.len()];
    let mut there = vec![0u32; model.causes.len()];
    for seed in 0..sites {
        let truth = Truth::drawn(Arc::clone(&story), seed);
        for (finding, shown) in shown.iter_mut().enumerate() {
            shown[truth.outcome(FindingIx::new(finding))] += 1;
        }
        for cause in truth.causes() {
            there[cause.at()] += 1;
        }
    }
    let (none, limits) = (Evidence::new(), Limits::default());
    let posterior = Workspace::new(&model.network).causes(&model.network, &none, &limits).unwrap();
    let near = |count: u32, chance: f64| {
        let n = sites as f64;
        (f64::from(count) - n * chance).abs() <= 4.5 * (n * chance * (1.0 - chance)).sqrt() + 1.0
    };
    for (cause, &count) in there.iter().enumerate() {
        assert!(near(count, posterior.at_first[cause]), "{}: {count}", model.causes[cause].id);
    }
    let predictions = Workspace::new(&model.network).predictions(&model.network, &none, &limits).unwrap();
    for (finding, chances) in predictions.iter().enumerate() {
        for (outcome, &chance) in chances.iter().enumerate() {
            let count = shown[finding][outcome];
            assert!(near(count, chance), "{}={outcome}: {count} {chance}", model.findings[finding].id);
        }
    }
}

proptest! {
    #![proptest_config(crate::support::cases(48))]

    /// Retaking shows the same; a fix never brings a cause; repeating a fix changes nothing.
    #[test]
    fn a_site_does_not_contradict_itself(model_seed in 0u64..200, seed: u64, fixes in prop::collection::vec(0usize..64, 0..6)) {
        let model = hand_made::drawn(model_seed);
        let story = Arc::new(Story::new(model.clone(), true));
        let mut truth = Truth::drawn(Arc::clone(&story), seed);
        for fix in fixes {
            if model.fixes.is_empty() { break; }
            let fix = FixIx::new(fix % model.fixes.len());
            let before = truth.clone();
            truth.fix(fix);
            for cause in truth.causes() {
                prop_assert!(before.is_there(cause));
            }
            let once = truth.causes();
            let mut again = truth.clone();
            again.fix(fix);
            prop_assert_eq!(once, again.causes());
            for finding in 0..model.findings.len() {
                let finding = FindingIx::new(finding);
                prop_assert_eq!(truth.outcome(finding), again.outcome(finding));
                prop_assert!(truth.outcome(finding) <= before.outcome(finding), "what goes away shows less");
            }
        }
    }
}

/// For every single outcome of every measured finding with one value, there are numbers that say it.
#[test]
fn readings_fall_into_the_true_band() {
    let model = model_of(&shipped(), "tin-whistle.yaml", Stage::StartUp);
    let (mut tried, mut none) = (0, vec![]);
    for (at, test) in model.tests.iter().enumerate().filter(|(_, test)| test.reading.is_some()).step_by(3) {
        let unknown = |gives: &whytrip::model::catalog::Gives| {
            gives.scale.as_ref().is_none_or(|scale| !scale.unknown.is_empty())
        };
        if test.gives.iter().any(unknown) {
            continue;
        }
        let finding = test.gives[0].finding;
        for outcome in 0..model.findings[finding.at()].outcomes.len() {
            tried += 1;
            if readings(&model, TestIx::new(at), &[(finding, outcome)]).is_none() {
                none.push(format!("{}={outcome}", test.id));
            }
        }
    }
    assert!(tried > 20, "{tried}");
    assert!(none.len() * 10 <= tried, "no numbers for {none:?} of {tried}");
}

/// The same calls whatever the number of threads; a sample of causes is found.
#[test]
fn a_sample_of_causes_is_found_whatever_the_threads() {
    let knowledge = shipped();
    let ground = Ground::new("tin".into(), model_of(&knowledge, "tin-whistle.yaml", Stage::StartUp));
    let callers = [Caller::technician(&ground.believed.practice).unwrap()];
    let plan = |threads| Plan { calls: 2, seed: 1, threads, budget: Effort::Quick.budget() };
    let grounds = [ground];
    let one = each_cause(&grounds, &callers, Some("suppression/w"), &plan(1));
    let two = each_cause(&grounds, &callers, Some("suppression/w"), &plan(3));
    assert_eq!(one, two);
    let mut whole = Tally::default();
    for row in &one {
        whole.merge(&row.tallies[0]);
    }
    assert_eq!(whole.breaches, 0);
    assert!(whole.calls == 2 && whole.rate(true) >= 0.5, "{whole:?}");
    assert!(whole.median_minutes().is_some() && whole.median_questions().is_some());
    let both = pairs(&grounds, &callers, &Plan { calls: 2, ..plan(2) });
    assert_eq!(both, pairs(&grounds, &callers, &Plan { calls: 2, ..plan(1) }));
}

/// Every problem of a scenario is told in one run, each in its place and with the nearest name.
#[test]
fn broken_scenarios_are_told_line_by_line() {
    let knowledge = shipped();
    let read = |text: &str| {
        let mut sources = knowledge.sources.clone();
        let bytes = text.as_bytes().to_vec();
        let (_, problems) = scenario::read(&knowledge, &mut sources, "broken.yaml", bytes, &sheet);
        let line = |problem: &whytrip::diagnostic::Diagnostic| {
            let span = problem.primary.as_ref()?.span;
            Some(sources.get(span.file)?.line_column(span.start).line)
        };
        problems.iter().map(|p| (p.code, line(p), p.suggestions.first().cloned())).collect::<Vec<_>>()
    };
    let good = "format: 1\nscenario: x\njob: tin-whistle.yaml\nwho: {competence: electrician}\nhidden: [M-1/reversed]\n\
                says: [the fryer fan runs but hardly any air moves]\n";
    assert_eq!(read(good), []);
    let broken = good.replace("electrician", "electricain").replace("says:", "sayz:");
    let found = read(&broken);
    assert!(found.contains(&(Code::UnknownWord, Some(4), Some("electrician".into()))), "{found:?}");
    assert!(found.contains(&(Code::UnknownKey, Some(6), Some("says".into()))), "{found:?}");
    assert!(found.iter().any(|(code, ..)| *code == Code::MissingKey), "{found:?}");
    let found = read(&good.replace("M-1/reversed", "M-1/reverse"));
    assert_eq!(found, [(Code::DanglingReference, Some(5), Some("M-1/reversed".into()))]);
    let found = read(&good.replace("the fryer fan runs but hardly any air moves", "lovely weather"));
    assert_eq!((found.len(), found[0].0, found[0].1), (1, Code::UnknownWord, Some(6)));
    let found = read(
        &(good.to_owned() + "shows: {M-1/hums: perhaps}\nreach: {never: [M-1/nothing], minutes: soon}\n"),
    );
    assert_eq!(found.len(), 1, "numbers first, then names: {found:?}");
    assert_eq!((found[0].0, found[0].1), (Code::BadNumber, Some(8)));
    let found = read(&(good.to_owned() + "shows: {M-1/hums: perhaps}\nreach: {never: [M-1/nothing]}\n"));
    let codes: Vec<_> = found.iter().map(|(code, line, _)| (*code, *line)).collect();
    assert_eq!(codes, [(Code::UnknownOutcome, Some(7)), (Code::DanglingReference, Some(8))]);
    assert_eq!(read("")[0].0, Code::EmptyFile);
    assert_eq!(read(&good.replace("tin-whistle.yaml", "nowhere.yaml"))[0].0, Code::FileUnreadable);
}

const SCENARIO: &str = "format: 1\nscenario: other-kind\njob: tin-whistle.yaml\nwho: {competence: electrician}\n\
                        hidden: [TS-1/wrong-kind]\nsays: [the fryer duct sensor shows a temperature that cannot be right]\n";

#[test]
fn the_command_plays_a_scenario_and_says_whether_it_reached_its_goals() {
    let run = Run::new().file("one.yaml", SCENARIO);
    let out = run.args(["rehearse", "one.yaml", "--json"]).go().status(0);
    let json = out.json();
    assert_eq!((&json["format"], &json["reached"], &json["missed"]), (&1.into(), &1.into(), &0.into()));
    assert_eq!(json["scenarios"][0]["causes"][0]["found"], true);
    let hard = SCENARIO.to_owned() + "reach: {hand-over: gas-fitter, questions: 0}\n";
    let out = Run::new().file("hard.yaml", hard).args(["rehearse", ".", "--lines"]).go().status(1);
    let _ = out
        .stdout_has("other-kind: MISSED")
        .stdout_has("not handed over to gas-fitter")
        .stdout_has("there now > yes");
    let broken = SCENARIO.replace("hidden", "hiden");
    let out = Run::new().file("broken.yaml", broken).args(["rehearse", "broken.yaml"]).go().status(2);
    let _ = out.stderr_has("broken.yaml:5:1").stderr_has("`hidden`");
}

#[test]
fn the_command_counts_random_calls() {
    let run = Run::new().args(["rehearse", "--each-cause", "2", "--only", "suppression/relay", "--json"]);
    let out = run.go();
    assert!(
        matches!(out.json()["trials"][0]["rows"].as_array(), Some(rows) if rows.len() == 1),
        "{}",
        out.whole()
    );
    let _ = Run::new().args(["rehearse", "--each-cause", "0"]).go().status(2);
    let _ = Run::new().args(["rehearse", "--each-cause", "1", "--errs", "2"]).go().status(2);
}

#[test]
fn a_cause_index_that_is_not_there_is_not_there() {
    let story = Arc::new(Story::new(hand_made::kitchen(), true));
    let truth = Truth::with(story, 1, &[CauseIx::new(0)]);
    assert!(truth.is_there(CauseIx::new(0)) && !truth.is_there(CauseIx::new(100_000)));
}
