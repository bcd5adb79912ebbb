//! The bibliography: what a package rests on, through the library and as a command; and the guide for authors.

use whytrip::knowledge::bibliography::ItemKind;
use whytrip::knowledge::{InMemory, Options, Seen, embedded, load, load_embedded};

use crate::support::{Run, root};

#[test]
fn every_shipped_source_says_how_it_was_seen_and_supports_something() {
    for package in embedded::packages() {
        let knowledge = load_embedded(package).knowledge.unwrap();
        let bibliography = knowledge.bibliography();
        for entry in &bibliography.sources {
            let key = &entry.source.key.value;
            assert!(entry.source.seen.is_some(), "{}/{key}", entry.package);
        }
    }
}

#[test]
fn every_item_stands_in_a_list() {
    let knowledge = load_embedded("kitchen-ventilation").knowledge.unwrap();
    let bibliography = knowledge.bibliography();
    let cited = bibliography
        .sources
        .iter()
        .flat_map(|entry| entry.cited_by.iter().map(|(item, _)| (item.kind, item.path())));
    let rest = [&bibliography.common_practice, &bibliography.judgement, &bibliography.unsourced];
    let rest = rest.into_iter().flatten().map(|item| (item.kind, item.path()));
    let listed: std::collections::BTreeSet<_> = cited.chain(rest).collect();
    for item in knowledge.sourced() {
        assert!(listed.contains(&(item.kind, item.path())), "{}", item.path());
    }
    let causes = knowledge.components.iter().map(|component| component.causes.len()).sum::<usize>();
    assert_eq!(knowledge.sourced().iter().filter(|item| item.kind == ItemKind::Cause).count(), causes);
}

#[test]
fn a_citation_keeps_its_place_and_what_only_memory_stands_for_is_shown() {
    let files = InMemory::new()
        .with("plant", "package.yaml", "format: 1\npackage: plant\n")
        .with("plant", "sources.yaml", "sources:\n  guide: {title: \"A guide\", where: \"part 2\", seen: from memory}\n")
        .with(
            "plant",
            "mixer.yaml",
            "component: mixer\ncauses:\n  slack: {name: \"slack\", prior: 0.1, sources: [{guide: \"page 3\"}, judgement]}\n  torn: {name: \"torn\", prior: 0.1, sources: [common practice]}\n  bent: {name: \"bent\", prior: 0.1}\n",
        );
    let knowledge = load(&files, "plant", &Options::default()).knowledge.unwrap();
    let cause = &knowledge.components[0].causes[0];
    assert_eq!(cause.sources[0].short, "A guide, part 2, page 3 (from memory)");
    let bibliography = knowledge.bibliography();
    let entry = bibliography.sources.iter().find(|entry| entry.package == "plant").unwrap();
    assert_eq!((entry.source.seen, entry.cited_by[0].1), (Some(Seen::FromMemory), Some("page 3")));
    let names = |items: &[whytrip::knowledge::bibliography::Sourced<'_>]| {
        items
            .iter()
            .filter(|item| item.component.is_some())
            .map(whytrip::knowledge::bibliography::Sourced::path)
            .collect::<Vec<_>>()
    };
    assert_eq!(names(&bibliography.judgement), ["mixer/slack"]);
    assert_eq!(names(&bibliography.common_practice), ["mixer/torn"]);
    assert_eq!(names(&bibliography.unsourced), ["mixer/bent"]);
}

#[test]
fn the_command_prints_it_as_text_and_json() {
    let out = Run::new().arg("sources").go().status(0).quiet();
    for text in [
        "base/osha-147",
        "supports",
        "Common practice, no published source",
        "Judgement of the authors",
        "No source named",
        "full_load_amps",
    ] {
        assert!(out.stdout.contains(text), "{text}");
    }
    let json = Run::new().args(["sources", "--json"]).go().status(0).quiet().json();
    assert_eq!(json["format"], 1);
    let sources = json["sources"].as_array().unwrap();
    let found = sources.iter().find(|source| source["key"] == "osha-147").unwrap();
    assert!(!found["cited_by"].as_array().unwrap().is_empty() && found["seen"] == "read");
    Run::new().args(["sources", "nowhere"]).go().status(2);
}

/// The example of the guide for authors: it is complete as it stands, and does what the guide says of it.
#[test]
fn the_worked_example_of_the_guide_holds() {
    let guide = std::fs::read_to_string(root().join("knowledge/AUTHORS.md")).unwrap();
    let mut files = InMemory::new();
    for part in guide.split("<!-- file: ").skip(1) {
        let (name, rest) = part.split_once(" -->").unwrap();
        let text = rest.split_once("```yaml\n").unwrap().1.split_once("```").unwrap().0;
        files.add("chilled-water", name, text);
    }
    let loaded = load(&files, "chilled-water", &Options::default());
    let said: Vec<String> = loaded.diagnostics.iter().map(|problem| problem.message.clone()).collect();
    assert_eq!(said, Vec::<String>::new(), "the example is clean");
    let knowledge = loaded.knowledge.unwrap();
    let pump = knowledge.component("pump").unwrap();
    assert_eq!(pump.causes.len(), 2);
    // The ranking that the guide shows.
    let run = guide.split("<!-- files to try -->").count();
    assert_eq!(run, 2);
    let mut command = Run::new();
    for (name, text) in guide.split("<!-- file: ").skip(1).map(|part| {
        let (name, rest) = part.split_once(" -->").unwrap();
        (name, rest.split_once("```yaml\n").unwrap().1.split_once("```").unwrap().0)
    }) {
        command = command.file(&format!("chilled-water/{name}"), text);
    }
    let check = command.again().args(["check", "chilled-water"]).go().status(0);
    assert!(check.stderr.contains("0 errors, 0 warnings"), "{}", check.whole());
    let ranked = |set: &[&str]| {
        let mut run = command.again().args(["rank", "--knowledge", "chilled-water", "--json"]);
        for one in set {
            run = run.args(["--set", one]);
        }
        let json = run.go().status(0).json();
        let causes = json["causes"].as_array().unwrap().clone();
        move |id: &str| causes.iter().find(|cause| cause["id"] == id).unwrap()["posterior"].as_f64().unwrap()
    };
    let before = ranked(&["pump/no-flow=yes"]);
    assert!(before("pump/air-bound") > before("pump/coupling-slipped"));
    let after = ranked(&["pump/no-flow=yes", "pump/vent=air"]);
    assert!(after("pump/air-bound") > 0.9);
}
