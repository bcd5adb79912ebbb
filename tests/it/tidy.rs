//! The rules of the house that a compiler does not check.

use std::path::{Path, PathBuf};

use crate::support::root;

/// The rooms in the order of the data: a room uses only earlier ones.
const ROOMS: &[&str] = &[
    "source",
    "diagnostic",
    "yaml",
    "quantity",
    "knowledge",
    "job",
    "wiring",
    "model",
    "inference",
    "planner",
    "session",
    "rehearsal",
    "store",
    "export",
    "render",
    "repl",
    "cli",
];

/// Crates, and modules of the standard library, that only some rooms may use.
const ONLY_USERS: &[(&str, &[&str])] = &[
    ("serde_yaml", &["yaml"]),
    ("saphyr_parser", &["yaml"]),
    ("cel", &["quantity"]),
    ("petgraph", &["knowledge", "wiring", "model", "planner"]),
    ("annotate_snippets", &["render"]),
    ("anstyle", &["render"]),
    ("terminal_size", &["cli"]),
    ("unicode_width", &["render"]),
    ("rusqlite", &["store"]),
    ("etcetera", &["store"]),
    ("rustyline", &["repl"]),
    ("clap", &["cli"]),
    ("clap_complete", &["cli"]),
    ("clap_mangen", &["cli"]),
    ("indicatif", &["cli"]),
    ("jiff", &["store", "export", "render", "repl", "cli"]),
    ("serde_json", &["store", "export", "cli"]),
    ("std::fs", &["store", "cli"]),
    ("std::env", &["store", "cli"]),
    ("std::time", &["store", "cli"]),
    ("std::io", &["store", "repl", "cli"]),
];

/// The most lines of a file.
const LONGEST: usize = 700;

/// All files of a kind below a folder, in the order of their names.
fn files(below: &str, ext: &[&str]) -> Vec<PathBuf> {
    let mut found = vec![];
    let mut folders = vec![root().join(below)];
    while let Some(folder) = folders.pop() {
        // A folder that is not there has no files.
        for entry in std::fs::read_dir(&folder).into_iter().flatten() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if ext.is_empty() || path.extension().is_some_and(|e| ext.iter().any(|one| e == *one)) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

fn read(path: &Path) -> String {
    String::from_utf8_lossy(&std::fs::read(path).unwrap()).into_owned()
}

fn shown(path: &Path) -> String {
    path.strip_prefix(root()).unwrap().display().to_string()
}

/// The room of a file below `src`, where it is in one.
fn room(path: &Path) -> Option<usize> {
    let name = path.strip_prefix(root().join("src")).unwrap().components().next()?;
    let name = name.as_os_str().to_string_lossy().into_owned();
    ROOMS.iter().position(|room| name == *room || name == format!("{room}.rs"))
}

/// The lines of code, without comments, numbered from 1.
fn code(text: &str) -> impl Iterator<Item = (usize, &str)> {
    let lines = text.lines().enumerate().map(|(at, line)| (at + 1, line));
    lines.filter(|(_, line)| !line.trim_start().starts_with("//"))
}

/// Whether `word` stands in `line` as a whole path: not as the end or the beginning of a longer name.
fn mentions(line: &str, word: &str) -> bool {
    let name = |c: char| c.is_alphanumeric() || c == '_' || c == ':';
    line.match_indices(word).any(|(at, _)| {
        let before = line[..at].chars().next_back();
        let after = line[at + word.len()..].chars().next();
        !before.is_some_and(name) && !after.is_some_and(|c| c.is_alphanumeric() || c == '_')
    })
}

#[track_caller]
fn none(found: &[String], rule: &str) {
    assert!(found.is_empty(), "{rule}:\n{}", found.join("\n"));
}

#[test]
fn every_room_is_in_the_order_of_the_data() {
    let lib = read(&root().join("src/lib.rs"));
    let listed: Vec<&str> =
        lib.lines().filter_map(|line| line.strip_prefix("pub mod ")?.strip_suffix(';')).collect();
    assert_eq!(listed, ROOMS, "src/lib.rs lists the rooms in another order");
}

#[test]
fn a_room_uses_only_earlier_ones() {
    let mut found = vec![];
    for path in files("src", &["rs"]) {
        let Some(own) = room(&path) else { continue };
        for (number, line) in code(&read(&path)) {
            for (rank, other) in ROOMS.iter().enumerate() {
                if rank > own && mentions(line, &format!("crate::{other}")) {
                    found.push(format!("{}:{number}: {} uses {other}", shown(&path), ROOMS[own]));
                }
            }
        }
    }
    none(&found, "a room uses only earlier ones");
}

#[test]
fn outside_things_have_one_door() {
    let mut found = vec![];
    for path in files("src", &["rs"]) {
        let Some(own) = room(&path) else { continue };
        for (number, line) in code(&read(&path)) {
            for (thing, users) in ONLY_USERS {
                let used = mentions(line, &format!("{thing}::")) || line.contains(&format!("use {thing}"));
                if used && mentions(line, thing) && !users.contains(&ROOMS[own]) {
                    found.push(format!("{}:{number}: {} uses {thing}", shown(&path), ROOMS[own]));
                }
            }
        }
    }
    none(&found, "only these rooms may use it");
}

#[test]
fn every_module_says_what_it_is() {
    let all = [files("src", &["rs"]), files("tests", &["rs"]), files("benches", &["rs"])].concat();
    let bare = all.iter().filter(|path| !read(path).starts_with("//!")).map(|path| shown(path));
    none(&bare.collect::<Vec<_>>(), "each module begins with `//!`");
}

#[test]
fn nothing_is_left_undone() {
    // Put together here, so that this file does not hold them.
    let words = [
        ["to", "do!"].concat(),
        ["unimpl", "emented!"].concat(),
        ["db", "g!"].concat(),
        ["FIX", "ME"].concat(),
        ["XX", "X"].concat(),
        ["#[ign", "ore"].concat(),
        ["#[should_", "panic"].concat(),
    ];
    let mut found = vec![];
    for path in [files("src", &["rs"]), files("tests", &["rs"]), files("benches", &["rs"])].concat() {
        for (at, line) in read(&path).lines().enumerate() {
            if words.iter().any(|word| line.contains(word.as_str())) {
                found.push(format!("{}:{}: {}", shown(&path), at + 1, line.trim()));
            }
        }
    }
    none(&found, "left undone");
}

#[test]
fn no_file_is_too_long_to_read() {
    let all = [files("src", &["rs"]), files("tests", &["rs"]), files("benches", &["rs"])].concat();
    let long =
        all.iter().map(|path| (path, read(path).lines().count())).filter(|(_, lines)| *lines > LONGEST);
    none(
        &long.map(|(path, lines)| format!("{}: {lines} lines", shown(path))).collect::<Vec<_>>(),
        "too long",
    );
}

#[test]
fn nothing_speaks_of_the_machine_on_which_it_was_written() {
    let places =
        [["/wo", "rk/"].concat(), ["/tm", "p/w"].concat(), ["/ro", "ot/"].concat(), ["/ho", "me/"].concat()];
    let mut all =
        [files("src", &[]), files("tests", &[]), files("benches", &[]), files("knowledge", &[])].concat();
    all.extend(["README.md", "DEVELOPERS.md", "Cargo.toml", ".ci/run"].map(|name| root().join(name)));
    let mut found = vec![];
    for path in all {
        for (at, line) in read(&path).lines().enumerate() {
            if places.iter().any(|place| line.contains(place.as_str())) {
                found.push(format!("{}:{}: {}", shown(&path), at + 1, line.trim()));
            }
        }
    }
    none(&found, "a path of some machine");
}

#[test]
fn every_test_file_is_listed() {
    let main = read(&root().join("tests/it/main.rs"));
    let listed = |stem: &str| main.lines().any(|line| line.trim() == format!("mod {stem};"));
    let mut found = vec![];
    for entry in std::fs::read_dir(root().join("tests/it")).unwrap() {
        let path = entry.unwrap().path();
        let stem = path.file_stem().unwrap().to_string_lossy().into_owned();
        let is_module =
            path.is_dir() && path.join("mod.rs").exists() || path.extension().is_some_and(|e| e == "rs");
        if is_module && stem != "main" && !listed(&stem) {
            found.push(format!("tests/it/main.rs lacks `mod {stem};`"));
        }
    }
    none(&found, "each test file is listed");
}

#[test]
fn every_code_has_a_page() {
    let mut found = vec![];
    for code in whytrip::diagnostic::Code::ALL {
        let page = code.explanation();
        let words = page.split_whitespace().count();
        if !page.starts_with(&format!("# {}\n", code.slug())) || words < 30 {
            found.push(format!("{}: {words} words", code.slug()));
        }
    }
    none(&found, "each code has a page that explains it");
}
