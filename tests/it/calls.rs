//! Whole calls through the real binary, as they are typed, against golden transcripts.
//!
//! `tests/calls/NAME.txt` holds what is typed: `# …` says what the call is about, `$ whytrip …` begins a run, the lines
//! after it are typed in it. Runs of a call share their data. `NAME.out` is the transcript;
//! `SNAPSHOTS=overwrite cargo test --test it calls` writes it anew, to be read before it is committed.

use std::path::Path;

use crate::support::{Output, Run, root, same_as_file};

/// One run of a call: its arguments, and what is typed.
struct Typed {
    args: Vec<String>,
    lines: Vec<String>,
}

/// Reads a call. Lines before the first run that are no comment are a mistake in the file.
fn call(text: &str) -> Vec<Typed> {
    let mut runs: Vec<Typed> = vec![];
    for line in text.lines().filter(|line| !line.starts_with('#')) {
        if let Some(command) = line.strip_prefix("$ whytrip") {
            let args = command.split_whitespace().map(str::to_owned).collect();
            runs.push(Typed { args, lines: vec![] });
        } else if let Some(run) = runs.last_mut() {
            run.lines.push(line.to_owned());
        } else {
            assert!(line.trim().is_empty(), "typed before any run: {line}");
        }
    }
    runs
}

/// Plays a call and gives its transcript, with everything that was typed in it.
fn play(text: &str) -> String {
    let first = Run::new();
    // The invented job sheets lie in the folder of the call.
    for entry in std::fs::read_dir(root().join("knowledge/demo")).unwrap() {
        let path = entry.unwrap().path();
        std::fs::copy(&path, first.dir().join(path.file_name().unwrap())).unwrap();
    }
    let mut transcript = String::new();
    for typed in call(text) {
        let mut lines = typed.lines.join("\n");
        lines.push('\n');
        let out: Output = first
            .again()
            .args(&typed.args)
            .env("WHYTRIP_CLOCK", "2026-03-02T14:05:00Z")
            .env("WHYTRIP_ECHO", "1")
            .stdin(lines)
            .go();
        assert!(out.code == Some(0), "{}", out.whole());
        transcript += &format!("$ whytrip {}\n{}{}\n", typed.args.join(" "), out.stdout, out.stderr);
    }
    transcript
}

/// Every call of the folder, in the order of their names.
fn names() -> Vec<String> {
    let entries = std::fs::read_dir(root().join("tests/calls")).unwrap();
    let mut names: Vec<String> = entries
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "txt"))
        .map(|path: std::path::PathBuf| stem(&path))
        .collect();
    names.sort();
    names
}

fn stem(path: &Path) -> String {
    path.file_stem().unwrap().to_string_lossy().into_owned()
}

#[test]
fn calls_go_as_they_went() {
    for name in names() {
        let text = std::fs::read_to_string(root().join("tests/calls").join(format!("{name}.txt"))).unwrap();
        same_as_file(&play(&text), &format!("calls/{name}.out"));
    }
}
