//! Whole calls through the real binary against golden transcripts.
//!
//! `tests/calls/NAME.txt` holds what a caller says and knows:
//!
//! - `# …` what the call is about
//! - `$ whytrip …` begins a run; runs of a call share their data
//! - a plain line is typed, one after the other, at the beginning of a run
//! - `? words & words => answer` is what the caller says whenever the last question holds all these words; the first
//!   rule that fits is taken; `1 words => answer` is said once; `=> EOF` ends the run
//! - `! text` must stand in the transcript
//!
//! A question that no rule fits is answered with its first, normal outcome, because the rest of the site is in order;
//! a step is done, a state is the first one,
//! a reading that nobody gave cannot be told. `NAME.out` is the transcript;
//! `SNAPSHOTS=overwrite cargo test --test it calls` writes it anew, to be read before it is committed.

use std::io::{Read as _, Write as _};
use std::path::Path;

use crate::support::{Run, root, same_as_file};

/// The call that the README shows.
const README: &str = "readme";

/// More lines than any call needs.
const MOST: usize = 160;

/// What a caller says when a question holds all these words.
struct Rule {
    words: Vec<String>,
    answer: String,
    /// Said once only.
    once: bool,
}

/// One run of a call.
#[derive(Default)]
struct Typed {
    args: Vec<String>,
    opening: Vec<String>,
    rules: Vec<Rule>,
}

/// A call: its runs, and what must stand in the transcript.
#[derive(Default)]
struct Call {
    runs: Vec<Typed>,
    must: Vec<String>,
}

/// Reads a call.
fn call(text: &str) -> Call {
    let mut call = Call::default();
    for line in text.lines().filter(|line| !line.starts_with('#') && !line.trim().is_empty()) {
        if let Some(command) = line.strip_prefix("$ whytrip") {
            let args = command.split_whitespace().map(str::to_owned).collect();
            call.runs.push(Typed { args, ..Typed::default() });
        } else if let Some(must) = line.strip_prefix("! ") {
            call.must.push(must.to_owned());
        } else {
            let run = call.runs.last_mut().expect("a run before what is typed in it");
            match (line.split_once(' '), line.split_once(" => ")) {
                (Some((mark @ ("?" | "1"), _)), Some((words, answer))) => run.rules.push(Rule {
                    words: words[mark.len()..].split('&').map(|word| word.trim().to_lowercase()).collect(),
                    answer: answer.trim().to_owned(),
                    once: mark == "1",
                }),
                _ => run.opening.push(line.to_owned()),
            }
        }
    }
    call
}

/// What the caller says to what was shown last; `None` ends the run.
fn said(shown: &str, run: &mut Typed) -> Option<String> {
    if !run.opening.is_empty() {
        return Some(run.opening.remove(0)).filter(|line| line != "EOF");
    }
    // The question is the last paragraph; before it stands what came of the line before.
    let shown = shown.trim_end().rsplit("\n\n").next().unwrap_or(shown);
    let flat = shown.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    if let Some(at) =
        run.rules.iter().position(|rule| rule.words.iter().all(|word| flat.contains(word.as_str())))
    {
        let answer = run.rules[at].answer.clone();
        if run.rules[at].once {
            run.rules.remove(at);
        }
        return Some(answer).filter(|line| line != "EOF");
    }
    let hint = flat.rsplit_once('(').map_or("", |(_, hint)| hint.trim_end_matches(')'));
    match hint {
        "yes or no" if flat.contains("is any of this so") => Some("no".to_owned()),
        "yes or no" | "yes, or go on" => Some("yes".to_owned()),
        "a number" => Some("1".to_owned()),
        _ if hint.starts_with("done") => Some("done".to_owned()),
        _ if hint.starts_with("a reading")
            || hint.contains("readings in")
            || hint.starts_with("or can't") =>
        {
            Some("can't tell".to_owned())
        }
        _ if hint.starts_with("the number or words") => Some("none".to_owned()),
        _ if flat.contains("it goes on when somebody takes it up") => None,
        _ => hint.split([',']).next().and_then(|first| first.split(" or ").next()).map(str::to_owned),
    }
}

/// Plays a call and gives its transcript, with everything that was typed in it.
fn play(name: &str, call: &mut Call) -> String {
    let first = Run::new();
    // The invented job sheets lie in the folder of the call.
    for entry in std::fs::read_dir(root().join("knowledge/demo")).unwrap() {
        let path = entry.unwrap().path();
        std::fs::copy(&path, first.dir().join(path.file_name().unwrap())).unwrap();
    }
    let mut transcript = String::new();
    for run in &mut call.runs {
        let command = first
            .again()
            .args(&run.args)
            .env("WHYTRIP_CLOCK", "2026-03-02T14:05:00Z")
            .env("WHYTRIP_ECHO", "1");
        let mut child = command.command().spawn().unwrap();
        let mut pipe = child.stdin.take();
        let mut out = child.stdout.take().unwrap();
        let (mut text, mut seen, mut lines) = (Vec::new(), 0, 0);
        let mut chunk = [0; 65536];
        loop {
            let read = out.read(&mut chunk).unwrap();
            if read == 0 {
                break;
            }
            text.extend_from_slice(&chunk[..read]);
            // The prompt at the end: it waits.
            if let (true, Some(waiting)) = (text.ends_with(b"\n> "), pipe.as_mut()) {
                let shown = String::from_utf8_lossy(&text[seen..text.len() - 2]).into_owned();
                seen = text.len();
                lines += 1;
                assert!(lines < MOST, "{name}: no end\n{}", String::from_utf8_lossy(&text));
                match said(&shown, run) {
                    Some(line) => writeln!(waiting, "{line}").unwrap(),
                    None => pipe = None,
                }
            }
        }
        drop(pipe);
        let mut talk = String::new();
        child.stderr.take().unwrap().read_to_string(&mut talk).unwrap();
        let status = child.wait().unwrap();
        let text = String::from_utf8_lossy(&text);
        assert!(status.success(), "{name}: {status}\n{text}\n{talk}");
        transcript += &format!("$ whytrip {}\n{text}{}\n", run.args.join(" "), without_id(&talk));
    }
    transcript
}

/// The talk with the drawn id of a case as `CASE`.
fn without_id(talk: &str) -> String {
    let line = |line: &str| {
        let mut words: Vec<&str> = line.split(' ').collect();
        for at in 1..words.len() {
            let before = words[at - 1];
            if matches!(before, "Case" | "--resume" | "record") || before.ends_with("note") {
                words[at] = if words[at].ends_with('`') { "CASE`" } else { "CASE" };
            }
        }
        words.join(" ") + "\n"
    };
    talk.lines().map(line).collect()
}

/// Every call of the folder, in the order of their names.
fn names() -> Vec<String> {
    let entries = std::fs::read_dir(root().join("tests/calls")).unwrap();
    let mut names: Vec<String> = entries
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "txt"))
        .map(|path| stem(&path))
        .collect();
    names.sort();
    names
}

fn stem(path: &Path) -> String {
    path.file_stem().unwrap().to_string_lossy().into_owned()
}

/// Plays one call and holds it against its transcript.
fn goes_as_it_went(name: &str) -> String {
    let text = std::fs::read_to_string(root().join("tests/calls").join(format!("{name}.txt"))).unwrap();
    let mut call = call(&text);
    let transcript = play(name, &mut call);
    let flat = transcript.split_whitespace().collect::<Vec<_>>().join(" ");
    for must in &call.must {
        assert!(flat.contains(must.as_str()), "{name}: the transcript lacks {must:?}\n{transcript}");
    }
    for run in &call.runs {
        let unsaid: Vec<String> =
            run.rules.iter().filter(|rule| rule.once).map(|rule| rule.words.join(" & ")).collect();
        assert!(unsaid.is_empty(), "{name}: never asked: {unsaid:?}\n{transcript}");
    }
    same_as_file(&transcript, &format!("calls/{name}.out"));
    transcript
}

#[test]
fn calls_go_as_they_went() {
    for name in names().iter().filter(|name| *name != README) {
        let _ = goes_as_it_went(name);
    }
}

/// The session of the README is a real one.
#[test]
fn the_readme_shows_a_real_call() {
    let readme = std::fs::read_to_string(root().join("README.md")).unwrap();
    let (begin, end) = ("<!-- call: readme -->\n```text\n", "```\n<!-- end -->");
    let shown = readme.split_once(begin).and_then(|(_, rest)| rest.split_once(end)).map(|(shown, _)| shown);
    let transcript = goes_as_it_went(README);
    if std::env::var("SNAPSHOTS").is_ok_and(|mode| mode == "overwrite") {
        let (head, rest) = readme.split_once(begin).unwrap();
        let (_, tail) = rest.split_once(end).unwrap();
        let new = format!("{head}{begin}{}\n{end}{tail}", transcript.trim_end());
        std::fs::write(root().join("README.md"), new).unwrap();
    } else {
        assert_eq!(
            shown.map(str::trim_end),
            Some(transcript.trim_end()),
            "README.md and tests/calls/readme.out differ"
        );
    }
}
