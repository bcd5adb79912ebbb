//! The commands as a person or a script meets them: help, exit statuses, streams, colours, JSON.

use std::io::Read as _;

use crate::support::{Run, same_as_file};

/// A package small enough to count by hand: one cause, one symptom, one reading.
const PACKAGE: &str = "\
format: 1
package: small
title: \"A lamp, for tests\"
";
const LAMP: &str = "\
component: lamp
title: \"lamp\"
causes:
  burnt: {name: \"the lamp is burnt out\", prior: 0.1, shows: {dark: {yes: 0.9}, ohms: {open: 1.0}}}
  loose: {name: \"the lamp is loose\", prior: 0.2, shows: {dark: {yes: 0.5}}}
symptoms:
  dark: {say: \"the lamp is dark\"}
tests:
  ohms:
    read: \"resistance of the lamp\"
    measured-in: ohm
    value: reading
    outcomes: {normal: 0 .. 100, open: \">= 100\"}
    minutes: 2
fixes:
  renew: {do: [\"put in a new lamp\"], removes: {burnt: 1.0}, minutes: 3}
  tighten: {do: [\"tighten the lamp\"], removes: {loose: 1.0}, minutes: 1}
";

/// A run beside that package.
fn small() -> Run {
    Run::new().file("small/package.yaml", PACKAGE).file("small/lamp.yaml", LAMP)
}

/// A reading that no band of the test holds is rather a slip or a wrong unit of measure than evidence.
#[test]
fn a_reading_beyond_all_bands_is_asked_back() {
    let rank =
        |ohms: &str| small().args(["rank", "--knowledge", "small", "--set", &format!("lamp/ohms={ohms}")]);
    rank("20").go().status(0);
    let out = rank("-20").go().status(2);
    out.stderr_has("that comes to -20, and this test knows 0 and more only").stderr_has("check the reading");
}

#[test]
fn version_is_one_line() {
    let out = Run::new().arg("--version").go().status(0).quiet();
    assert_eq!(out.stdout, concat!("whytrip ", env!("CARGO_PKG_VERSION"), "\n"));
}

/// The whole tree of help, short and long.
#[test]
fn help_is_as_written_down() {
    let mut all = String::new();
    let mut pages = vec![vec!["-h"], vec!["--help"]];
    for command in [
        "attend",
        "cases",
        "note",
        "slip",
        "wiring",
        "check",
        "meaning",
        "rank",
        "outlook",
        "rehearse",
        "reckon",
        "sources",
        "completions",
        "manual",
    ] {
        pages.push(vec!["help", command]);
    }
    for page in pages {
        let out = Run::new().args(page).go().status(0).quiet();
        // The environment of a test run is not part of the help.
        let text = out.whole().replace("[env: WHYTRIP_DATA]", "[env: WHYTRIP_DATA=]");
        all += &format!("{text}\n");
    }
    same_as_file(&all, "cli/reference.txt");
}

#[test]
fn every_help_bears_the_standing_notice() {
    for page in [&["-h"][..], &["--help"], &["help", "rank"], &["check", "--help"]] {
        Run::new()
            .args(page.iter().copied())
            .go()
            .status(0)
            .stdout_has("Local codes and the maker's instructions");
    }
    Run::new().arg("manual").go().status(0).stdout_has("Local codes");
}

#[test]
fn wrong_usage_is_status_2_and_names_what_is_near() {
    Run::new().args(["chek", "x"]).go().status(2).stderr_has("check");
    Run::new().args(["check", "--jsn", "x"]).go().status(2).stderr_has("--json");
    Run::new().args(["attend", "--stage", "startup"]).go().status(2).stderr_has("start-up");
    Run::new().args(["attend", "--as", "electrican"]).go().status(2).stderr_has("`electrician`");
    Run::new().arg("check").go().status(2);
    Run::new().args(["meaning", "unknown-kye"]).go().status(2).stderr_has("`unknown-key`");
}

#[test]
fn what_cannot_be_read_is_status_2() {
    Run::new().args(["check", "nowhere"]).go().status(2).stderr_has("`nowhere`");
    Run::new().args(["rank", "--knowledge", "nowhere"]).go().status(2).stderr_has("`nowhere`");
    Run::new().args(["attend", "--job", "nowhere.yaml"]).go().status(2).stderr_has("`nowhere.yaml`");
    Run::new().args(["note", "zzzz"]).go().status(2).stderr_has("cases");
    Run::new().arg("note").go().status(2).stderr_has("no case is kept");
}

#[test]
fn check_ends_with_1_where_there_are_errors() {
    small().args(["check", "small"]).go().status(0).stderr_has("0 errors");
    let broken = LAMP.replace("symptoms:", "simptoms:");
    let run = small().file("small/lamp.yaml", broken);
    let out = run.again().args(["check", "small"]).go().status(1);
    let out = out.stdout_has("small/lamp.yaml:6:1").stdout_has("nearest: `symptoms`");
    assert!(out.stderr.contains("error"), "{}", out.whole());
    run.again()
        .args(["check", "--short", "small"])
        .go()
        .status(1)
        .stdout_has("small/lamp.yaml:6:1: error[unknown-key]");
    // A file of the package stands for the package.
    run.again().args(["check", "small/lamp.yaml"]).go().status(1).stdout_has("small/lamp.yaml:6:1");
}

#[test]
fn check_writes_json_with_places() {
    let broken = LAMP.replace("symptoms:", "simptoms:");
    let out =
        small().file("small/lamp.yaml", broken).args(["check", "--json", "small"]).go().status(1).quiet();
    let json = out.json();
    assert_eq!(json["format"], 1);
    assert!(json["errors"].as_u64().unwrap() >= 1);
    let problems = json["problems"].as_array().unwrap();
    let unknown = problems.iter().find(|problem| problem["code"] == "unknown-key").unwrap();
    assert_eq!(unknown["at"]["file"], "small/lamp.yaml");
    assert_eq!((unknown["at"]["line"].as_u64(), unknown["at"]["column"].as_u64()), (Some(6), Some(1)));
    assert_eq!(unknown["suggestions"][0], "symptoms");
}

#[test]
fn the_built_in_packages_and_jobs_are_clean() {
    let knowledge = crate::support::root().join("knowledge");
    for package in ["base", "motor-and-drive", "kitchen-ventilation", "water-booster"] {
        Run::new().arg("check").arg(knowledge.join(package)).go().status(0);
    }
    for entry in std::fs::read_dir(knowledge.join("demo")).unwrap() {
        Run::new().arg("check").arg(entry.unwrap().path()).go().status(0);
    }
}

/// A sheet names its package; a built-in sheet and a built-in package are reached by name, without any file.
#[test]
fn a_sheet_brings_its_package() {
    let call = Run::new().args(["attend", "--job", "larkspur-court"]).stdin("no\nthere is no water\n").go();
    call.status(0).stdout_has("There is no water: yes");
    let water = ["sources", "water-booster"];
    Run::new().args(water).go().status(0).stdout_has("cut-in pressure");
    let wrong = Run::new().file("a.yaml", "format: 1\njob: J\npackage: water-boster\nunits: {}\n");
    wrong.args(["check", "a.yaml"]).go().status(1).stdout_has("`water-booster`");
    let other = Run::new().args(["check", "--knowledge", "kitchen-ventilation", "--short"]);
    let sheet = crate::support::root().join("knowledge/demo/larkspur-court.yaml");
    other.arg(sheet).go().status(1).stdout_has("which is not in use");
}

#[test]
fn every_code_has_a_meaning() {
    let listed = Run::new().args(["meaning", "--json"]).go().status(0).quiet().json();
    let codes = listed["codes"].as_array().unwrap();
    assert_eq!(codes.len(), whytrip::diagnostic::Code::ALL.len());
    Run::new().args(["meaning", "stated-twice"]).go().status(0).stdout_has("# stated-twice");
}

#[test]
fn rank_writes_the_documented_shape() {
    let out = small()
        .args(["rank", "--knowledge", "small", "--set", "lamp/dark=yes", "--json"])
        .go()
        .status(0)
        .quiet();
    let json = out.json();
    let keys: Vec<&str> = json.as_object().unwrap().keys().map(String::as_str).collect();
    let shape =
        ["evidence_probability", "log_evidence_probability", "none_listed", "causes", "findings", "next"];
    assert_eq!(keys, shape);
    // By hand: P(dark) = 1 - (1 - 0.1 * 0.9)(1 - 0.2 * 0.5).
    let dark = 1.0 - 0.91 * 0.9;
    let near = |value: &serde_json::Value, expected: f64| {
        assert!((value.as_f64().unwrap() - expected).abs() < 1e-15, "{value} is not {expected}");
    };
    near(&json["evidence_probability"], dark);
    near(&json["log_evidence_probability"], f64::ln(dark));
    // Without a listed cause the lamp is never dark: an exact zero.
    assert_eq!(json["none_listed"].to_string(), "0.0");
    assert_eq!(json["causes"][0]["id"], "lamp/burnt");
    near(&json["causes"][0]["posterior"], 0.1 * (1.0 - 0.1 * 0.9) / dark);
    // The finding that was answered is left out; the other has all its outcomes.
    assert!(json["findings"].get("lamp/dark").is_none());
    let outcomes: Vec<&String> = json["findings"]["lamp/ohms"].as_object().unwrap().keys().collect();
    assert_eq!(outcomes, ["normal", "open"]);
    assert!(json["next"]["step"].is_string());
}

#[test]
fn rank_without_complaint_has_no_next_step() {
    let json = small().args(["rank", "--knowledge", "small", "--json"]).go().status(0).json();
    assert!(json["next"].is_null());
    assert_eq!(json["evidence_probability"], 1.0);
}

#[test]
fn rank_takes_evidence_from_a_file_after_the_options() {
    let lines = "# looked at twice\nlamp/ohms=250\nfix lamp/renew\nlamp/dark=no\nlamp/loose=absent\n";
    let run = small().file("evidence", lines);
    let args = ["rank", "--knowledge", "small", "--set", "lamp/dark=yes", "--evidence", "evidence", "--json"];
    let json = run.again().args(args).go().status(0).json();
    assert_eq!(json["causes"][0]["posterior"], 0.0);
    assert_eq!(json["causes"][0]["at_first"], 1.0);
    assert_eq!(json["causes"][1]["posterior"], 0.0);
    // The same evidence from the standard input.
    let args = ["rank", "--knowledge", "small", "--set", "lamp/dark=yes", "--evidence", "-", "--json"];
    assert_eq!(run.again().args(args).stdin(lines).go().status(0).json(), json);
}

#[test]
fn rank_weighs_soft_evidence() {
    let args = ["rank", "--knowledge", "small", "--set", "lamp/dark=yes:0.8,no:0.4", "--json"];
    let json = small().args(args).go().status(0).json();
    let dark = 1.0 - 0.91 * 0.9;
    let expected = 0.8 * dark + 0.4 * (1.0 - dark);
    assert!((json["evidence_probability"].as_f64().unwrap() - expected).abs() < 1e-15);
}

#[test]
fn outlook_is_exact_on_a_small_package() {
    let args = ["outlook", "--knowledge", "small", "--set", "lamp/dark=yes", "--effort", "near-optimal"];
    let json = small().args(args).arg("--json").go().status(0).json();
    let minutes = |at: &str| json[at]["minutes"].as_f64().unwrap();
    let (best, bound) = (json["optimum_minutes"].as_f64().unwrap(), json["bound_minutes"].as_f64().unwrap());
    assert_eq!(json["format"], 1);
    assert_eq!(json["plan"]["exact"], true);
    assert!(bound <= best + 1e-9 && best <= minutes("plan") + 1e-9, "{json}");
    assert!(minutes("plan") <= minutes("repairs") + 1e-9, "{json}");
    small().args(args).go().status(0).stdout_has("The best possible").stdout_has("exact");
}

#[test]
fn outlook_needs_a_complaint_and_a_known_competence() {
    small().args(["outlook", "--knowledge", "small"]).go().status(2).stderr_has("nothing is complained of");
    let args = ["outlook", "--knowledge", "small", "--set", "lamp/dark=yes", "--as", "wizard"];
    small().args(args).go().status(2).stderr_has("wizard");
}

#[test]
fn rank_says_what_is_wrong_with_a_statement() {
    for (set, says) in [
        ("lamp/drak=yes", "lamp/dark"),
        ("lamp/dark=maybe", "its outcomes: no, yes"),
        ("lamp/dark=yes:1.5", "1.5"),
        ("lamp/ohms=1,2", "2 numbers"),
        ("lamp/burnt=yes", "present"),
        ("fix lamp/rnew", "lamp/renew"),
        ("lamp/dark", "FINDING=outcome"),
    ] {
        small().args(["rank", "--knowledge", "small", "--set", set]).go().status(2).stderr_has(says);
    }
    let twice = ["rank", "--knowledge", "small", "--set", "lamp/dark=yes", "--set", "lamp/dark=yes"];
    small().args(twice).go().status(2).stderr_has("stated-twice");
}

#[test]
fn impossible_evidence_is_status_3() {
    let args = ["--set", "lamp/dark=yes", "--set", "lamp/burnt=absent", "--set", "lamp/loose=absent"];
    let out = small().args(["rank", "--knowledge", "small", "--json"]).args(args).go().status(3);
    assert_eq!(out.stdout, "");
    let _ = out.stderr_has("impossible");
}

#[test]
fn rank_agrees_with_the_story_told_literally() {
    let args = ["--set", "lamp/dark=yes", "--set", "lamp/ohms=99.9", "--verify"];
    small().args(["rank", "--knowledge", "small"]).args(args).go().status(0).stderr_has("agrees");
}

#[test]
fn rank_on_a_whole_site_stays_quick_and_sums_up() {
    let job = crate::support::root().join("knowledge/demo/tin-whistle.yaml");
    let json = Run::new().args(["rank", "--json", "--job"]).arg(job).go().status(0).quiet().json();
    for (id, outcomes) in json["findings"].as_object().unwrap() {
        let sum: f64 = outcomes.as_object().unwrap().values().map(|p| p.as_f64().unwrap()).sum();
        assert!((sum - 1.0).abs() < 1e-9, "{id}: {sum}");
    }
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let run = Run::new().args(["meaning", "--json"]);
    let mut child = run.command().spawn().unwrap();
    drop(child.stdin.take());
    let mut out = child.stdout.take().unwrap();
    let mut first = [0; 1];
    out.read_exact(&mut first).unwrap();
    drop(out);
    let mut talk = String::new();
    child.stderr.take().unwrap().read_to_string(&mut talk).unwrap();
    assert_eq!(child.wait().unwrap().code(), Some(0));
    assert_eq!(talk, "");
}

#[test]
fn colours_follow_what_was_asked_for() {
    let escape = '\u{1b}';
    let coloured = |run: Run| run.args(["meaning"]).go().status(0).stdout.contains(escape);
    assert!(!coloured(Run::new()));
    assert!(coloured(Run::new().env("FORCE_COLOR", "1")));
    assert!(!coloured(Run::new().env("FORCE_COLOR", "1").env("NO_COLOR", "1")));
    assert!(coloured(Run::new().env("FORCE_COLOR", "1").env("NO_COLOR", "")));
    assert!(coloured(Run::new().args(["--color", "always"])));
    assert!(!coloured(Run::new().args(["--color", "always", "--plain"])));
    // JSON is never coloured.
    let json = Run::new().args(["--color", "always", "meaning", "--json"]).go().status(0);
    assert!(!json.stdout.contains(escape));
}

#[test]
fn plain_output_reads_aloud() {
    let broken = LAMP.replace("symptoms:", "simptoms:");
    let out = small().file("small/lamp.yaml", broken).args(["--plain", "check", "small"]).go().status(1);
    let out =
        out.stdout_has("in small/lamp.yaml line 6 columns 1 to 8").stdout_has("help: nearest: `symptoms`");
    assert!(!out.stdout.contains(['|', '^', '─', '│']), "{}", out.stdout);
}

#[test]
fn foreign_text_cannot_drive_the_terminal() {
    let set = "lamp/\u{1b}[2Jdark\u{202e}=yes";
    let out = small().args(["rank", "--knowledge", "small", "--set", set]).go().status(2);
    assert!(!out.stderr.contains(['\u{1b}', '\u{202e}']), "{}", out.stderr);
}

#[test]
fn every_shell_gets_its_completions() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        Run::new().args(["completions", shell]).go().status(0).quiet().stdout_has("whytrip");
    }
    Run::new().arg("manual").go().status(0).quiet().stdout_has(".TH whytrip 1").stdout_has(".SH RANK");
}

/// Causes that show the same are listed, with the reason where the package gives one; a reason that fits none is told.
#[test]
fn ambiguity_groups_are_listed() {
    let lamp = "\
component: lamp
title: \"lamp\"
each: lamp
causes:
  fuse-open: {name: \"The fuse of {unit} is open\", prior: 0.01, shows: {lit: {no: 0.98}}, sources: [judgement]}
  wire-off: {name: \"A wire of {unit} is off\", prior: 0.01, shows: {lit: {no: 0.5}}, sources: [judgement]}
symptoms:
  flickers: {say: \"{unit} flickers\", ask: \"Does it flicker?\", minutes: 1, shown-by: {loose: {yes: 0.9}}, sources: [judgement]}
tests:
  lit: {look: \"Is {unit} lit?\", minutes: 1, sources: [judgement]}
fixes:
  walk: {do: \"Walk along the circuit.\", removes: {fuse-open: 0.9, wire-off: 0.9, loose: 0.9}, minutes: 9, sources: [judgement]}
";
    let lamp = lamp.replace(
        "symptoms:",
        "  loose: {name: \"{unit} is loose\", prior: 0.01, shows: {lit: {no: 0.5}}, sources: [judgement]}\nsymptoms:",
    );
    let check = |package: &str| {
        let run = Run::new().file("small/package.yaml", package).file("small/lamp.yaml", &lamp);
        run.args(["check", "small"]).go().status(0)
    };
    let bare = check("format: 1\npackage: small\n");
    assert!(bare.stdout.contains("nothing tells `lamp/fuse-open`, `lamp/wire-off` apart"), "{}", bare.stdout);
    assert!(bare.stdout.contains("lamp/fuse-open, lamp/wire-off: no reason is given"), "{}", bare.stdout);
    let told = "format: 1\npackage: small\nambiguous: [{causes: [lamp/fuse-open, lamp/wire-off], reason: \"One walk cures either.\"}]\n";
    let told = check(told);
    assert!(!told.stdout.contains("told-apart-by-nothing"), "{}", told.stdout);
    assert!(told.stdout.contains("lamp/fuse-open, lamp/wire-off: One walk cures either."), "{}", told.stdout);
    let stale = "format: 1\npackage: small\nambiguous: [{causes: [lamp/fuse-open, lamp/loose], reason: \"So it is.\"}]\n";
    let stale = check(stale);
    assert!(stale.stdout.contains("a reason for causes that are told apart"), "{}", stale.stdout);
}
