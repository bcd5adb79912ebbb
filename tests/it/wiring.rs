//! The wire list: what is wrong with each wrong one, and that a good one is good.

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use whytrip::diagnostic::{Diagnostic, Short};
use whytrip::job::{self, Job};
use whytrip::knowledge::{self, Knowledge};
use whytrip::source::Sources;
use whytrip::wiring;

/// The built-in knowledge.
fn kitchen() -> &'static Knowledge {
    static KITCHEN: OnceLock<Knowledge> = OnceLock::new();
    KITCHEN.get_or_init(|| knowledge::load_embedded("kitchen-ventilation").knowledge.expect("no errors"))
}

/// A job sheet with all that is said about it and its wires.
fn read(name: &str, bytes: Vec<u8>) -> (Option<Job>, Vec<Diagnostic>, Sources) {
    let mut sources = Sources::new();
    let (job, mut problems) = job::read(kitchen(), &mut sources, name, bytes);
    problems.extend(job.iter().flat_map(|job| wiring::check(kitchen(), job)));
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
