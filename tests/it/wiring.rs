//! The wire list: what is wrong with each wrong one, and that a good one is good.

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use whytrip::diagnostic::{Diagnostic, Short};
use whytrip::job::{self, Job};
use whytrip::knowledge::{self, Knowledge};
use whytrip::source::Sources;
use whytrip::wiring;

use crate::support::{Run, root, same_as_file};

/// The built-in knowledge.
fn kitchen() -> &'static Knowledge {
    static KITCHEN: OnceLock<Knowledge> = OnceLock::new();
    KITCHEN.get_or_init(|| knowledge::load_embedded("kitchen-ventilation").knowledge.expect("no errors"))
}

/// A job sheet with all that is said about it and its wires.
fn read(name: &str, bytes: Vec<u8>) -> (Option<Job>, Vec<Diagnostic>, Sources) {
    let mut sources = Sources::new();
    let other =
        job::package_of(&bytes).and_then(|package| whytrip::knowledge::load_embedded(&package).knowledge);
    let knowledge = other.as_ref().unwrap_or_else(|| kitchen());
    let (job, mut problems) = job::read(knowledge, &mut sources, name, bytes);
    problems.extend(job.iter().flat_map(|job| wiring::check(knowledge, job)));
    (job, problems, sources)
}

/// What is said, one problem after the other.
fn said(problems: &[Diagnostic], sources: &Sources) -> String {
    let mut text = String::new();
    for problem in problems {
        text += &Short { problem, sources }.to_string();
        text += "\n";
        for label in &problem.secondary {
            text += &format!("    at {}: {}\n", sources.place(label.span), label.text);
        }
        for note in &problem.notes {
            text += &format!("    why: {note}\n");
        }
        for help in &problem.help {
            text += &format!("    help: {help}\n");
        }
        if !problem.suggestions.is_empty() {
            text += &format!("    near: {}\n", problem.suggestions.join(", "));
        }
    }
    text
}

fn folder(of: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(of);
    let entries = std::fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").path());
    let mut found: Vec<PathBuf> =
        entries.filter(|path| path.extension().is_some_and(|e| e == "yaml")).collect();
    found.sort();
    found
}

fn name(path: &Path) -> String {
    path.file_name().expect("a name").to_string_lossy().into_owned()
}

#[test]
fn wrong_lists_are_told_before_anybody_touches_a_wire() {
    let sheets = folder("tests/checks/wires");
    assert!(sheets.len() >= 30);
    for sheet in sheets {
        let name = name(&sheet);
        let (_, problems, sources) = read(&name, std::fs::read(&sheet).expect("a file"));
        assert!(!problems.is_empty(), "{name} is wrong");
        let said = said(&problems, &sources);
        snapbox::assert_data_eq!(said, snapbox::Data::read_from(&sheet.with_extension("txt"), None));
    }
}

/// The list that the wrong ones were made from, and every shipped one.
#[test]
fn good_lists_are_good() {
    for sheet in folder("tests/checks/wires/clean").into_iter().chain(folder("knowledge/demo")) {
        let (job, problems, sources) = read(&name(&sheet), std::fs::read(&sheet).expect("a file"));
        assert_eq!(said(&problems, &sources), "", "{}", sheet.display());
        assert!(job.is_some_and(|job| !job.wires.is_empty()), "{} has wires", sheet.display());
    }
}

fn demo(name: &str) -> Run {
    let sheet = root().join("knowledge/demo").join(name);
    Run::new().file("sheet.yaml", std::fs::read(sheet).expect("a sheet"))
}

/// On paper: eighty columns.
#[test]
fn the_check_sheet_is_printed_by_enclosure() {
    let sheet = |form: &[&str]| {
        let out = demo("tin-whistle.yaml").env("COLUMNS", "80").args(["wiring", "--job", "sheet.yaml"]);
        out.args(form.iter().copied()).go().status(0).quiet().stdout
    };
    let text = sheet(&[]);
    assert!(text.lines().all(|line| line.chars().count() <= 80));
    same_as_file(&text, "cli/check-sheet.txt");
    same_as_file(&sheet(&["--format", "markdown"]), "cli/check-sheet.md");
    let json: serde_json::Value = serde_json::from_str(&sheet(&["--json"])).expect("JSON");
    assert_eq!((&json["format"], &json["job"]), (&1.into(), &"J-1042".into()));
    let rows = json["connections"].as_array().expect("rows");
    let numbers: Vec<u64> = rows.iter().map(|row| row["number"].as_u64().expect("a number")).collect();
    assert_eq!(numbers, (1..=rows.len() as u64).collect::<Vec<_>>());
    // The boxes are as many as the connections and what comes before them.
    let before = json["before"].as_array().expect("steps").len();
    assert_eq!(text.matches("[ ] ").count(), rows.len() + before);
    // Without a sheet, the built-in one.
    Run::new().arg("wiring").go().status(0).stdout_has("J-1042");
}

#[test]
fn a_wrong_list_is_neither_printed_nor_powered_up_by() {
    let wrong = "supply-on-the-motor-side.yaml";
    let text = std::fs::read(root().join("tests/checks/wires").join(wrong)).expect("a sheet");
    let run = Run::new().file(wrong, text);
    let refused = |args: &[&str]| {
        let out = run.again().args(args.iter().copied()).stdin("no\n").go().status(2);
        out.stderr_has("supply-on-motor-side")
            .stderr_has("nobody should touch a wire by it")
            .stdout
            .is_empty()
    };
    assert!(refused(&["wiring", "--job", wrong]));
    assert!(refused(&["power-up", "--job", wrong]));
    // A call about the panel is taken all the same, and says so.
    let call = run.again().args(["attend", "--job", wrong]).stdin("no\n").go().status(0);
    call.stderr_has("The wire list of this sheet has 6 mistakes");
    run.again().args(["check", wrong]).go().status(1);
    let none = Run::new().file("s.yaml", "format: 1\njob: N-1\nunits: {F-1: {is: feeder}}\n");
    none.args(["wiring", "--job", "s.yaml"])
        .go()
        .status(2)
        .stderr_has("no wire of this sheet is made on site");
}
