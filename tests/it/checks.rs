//! Broken packages, one folder each under `tests/checks/CODE-WHAT`: everything that is said about them, in one run.
//!
//! A folder holds the files of a package named `plant`, or several packages in folders of their own (then `plant` is
//! loaded), and `expected.txt`. `largest-file` sets another limit; a file `NAME.unreadable` is one that cannot be read.
//! `SNAPSHOTS=overwrite` writes the expectations anew; read them before keeping them.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use whytrip::diagnostic::{Code, Label, Short};
use whytrip::knowledge::{Files, FilesError, InMemory, Loaded, Options, embedded, load};

/// A folder of `tests/checks`, as packages.
struct Fixture {
    files: InMemory,
    unreadable: Vec<String>,
    options: Options,
}

impl Files for Fixture {
    fn list(&self, package: &str) -> Result<Option<Vec<String>>, FilesError> {
        let mut names = self.files.list(package)?;
        if let Some(names) = names.as_mut().filter(|_| package == "plant") {
            names.extend(self.unreadable.iter().cloned());
        }
        Ok(names)
    }

    fn read(&self, package: &str, file: &str, limit: u64) -> Result<Vec<u8>, FilesError> {
        if self.unreadable.iter().any(|name| name == file) {
            return Err(FilesError::Unreadable("permission denied".to_owned()));
        }
        self.files.read(package, file, limit)
    }
}

fn sorted(folder: &Path) -> Vec<PathBuf> {
    let mut paths: Vec<PathBuf> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths
}

fn name_of(path: &Path) -> String {
    path.file_name().unwrap().to_str().unwrap().to_owned()
}

fn fixture(folder: &Path) -> Fixture {
    let mut it = Fixture { files: InMemory::new(), unreadable: Vec::new(), options: Options::default() };
    for path in sorted(folder) {
        let name = name_of(&path);
        if path.is_dir() {
            for file in sorted(&path) {
                it.files.add(name.clone(), name_of(&file), std::fs::read(&file).unwrap());
            }
        } else if name == "largest-file" {
            it.options.largest_file = std::fs::read_to_string(&path).unwrap().trim().parse().unwrap();
        } else if let Some(name) = name.strip_suffix(".unreadable") {
            it.unreadable.push(name.to_owned());
        } else if name != "expected.txt" {
            it.files.add("plant", name, std::fs::read(&path).unwrap());
        }
    }
    it
}

/// A problem with everything that it says, and the line that it speaks of.
fn shown(loaded: &Loaded) -> String {
    let mut out = String::new();
    for problem in &loaded.diagnostics {
        let _ = writeln!(out, "{}", Short { problem, sources: &loaded.sources });
        let mut place = |label: &Label, lead: &str| {
            let file = loaded.sources.get(label.span.file).unwrap();
            // What is embedded may change without changing what this shows.
            if embedded::packages().any(|package| file.name().starts_with(&format!("{package}/"))) {
                let _ = writeln!(out, "  {} | {}", file.name(), label.text);
                return;
            }
            let at = file.line_column(label.span.start);
            let line: String = file.line(at.line).chars().take(200).collect();
            let under = loaded.sources.text(label.span).lines().next().unwrap_or_default().chars().count();
            if line.is_empty() && label.text.is_empty() {
                return;
            }
            let _ = writeln!(out, "  {lead}{line}");
            let blanks = " ".repeat((lead.len() + at.column - 1).min(200));
            let _ = writeln!(out, "  {blanks}{} {}", "^".repeat(under.clamp(1, 80)), label.text);
        };
        if let Some(primary) = &problem.primary {
            place(primary, "| ");
        }
        for secondary in &problem.secondary {
            let lead = format!("{} | ", loaded.sources.place(secondary.span));
            place(secondary, &lead);
        }
        for note in &problem.notes {
            let _ = writeln!(out, "  why: {note}");
        }
        for help in &problem.help {
            let _ = writeln!(out, "  help: {help}");
        }
        if !problem.suggestions.is_empty() {
            let _ = writeln!(out, "  nearest: {}", problem.suggestions.join(", "));
        }
    }
    let _ = writeln!(out, "{}", if loaded.knowledge.is_some() { "usable" } else { "not usable" });
    out.lines().map(|line| format!("{}\n", line.trim_end())).collect()
}

fn folders() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/checks");
    // Job sheets have a test of their own.
    sorted(&root)
        .into_iter()
        .filter(|path| path.is_dir() && !["job", "wires"].contains(&&*name_of(path)))
        .collect()
}

/// The code that a folder is named after.
fn code_of(folder: &Path) -> Code {
    let name = name_of(folder);
    let codes = Code::ALL.iter().filter(|code| name.starts_with(&format!("{}-", code.slug())));
    *codes.max_by_key(|code| code.slug().len()).unwrap_or_else(|| panic!("{name} begins with no code"))
}

#[test]
fn broken_packages_are_told_in_one_run() {
    assert!(folders().len() >= 25);
    let mut wrong = Vec::new();
    for folder in folders() {
        let it = fixture(&folder);
        let loaded = load(&it, "plant", &it.options);
        let code = code_of(&folder);
        assert!(
            loaded.diagnostics.iter().any(|problem| problem.code == code),
            "{} lacks {code:?}",
            name_of(&folder)
        );
        let errors = loaded.diagnostics.iter().any(whytrip::diagnostic::Diagnostic::is_error);
        assert_eq!(loaded.knowledge.is_none(), errors, "{}", name_of(&folder));
        let actual = shown(&loaded);
        let expected = folder.join("expected.txt");
        if std::env::var_os("SNAPSHOTS").is_some_and(|what| what == "overwrite") {
            std::fs::write(&expected, &actual).unwrap();
        } else if std::fs::read_to_string(&expected).unwrap_or_default() != actual {
            wrong.push(format!("{}\n{actual}", name_of(&folder)));
        }
    }
    assert!(wrong.is_empty(), "said otherwise than expected:\n{}", wrong.join("\n"));
}

/// Where each code is shown to be found: a folder here, a job sheet, or the test that is named.
#[test]
fn every_code_has_a_fixture_and_a_page() {
    let below =
        |folder: &str| sorted(&Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/checks").join(folder));
    let sheets: String = ["job", "wires"]
        .into_iter()
        .flat_map(below)
        .filter(|path| path.extension().is_some_and(|ending| ending != "yaml"))
        .map(|path| std::fs::read_to_string(path).unwrap_or_default())
        .collect();
    let covered: Vec<Code> = folders().iter().map(|folder| code_of(folder)).collect();
    for &code in Code::ALL {
        let slug = code.slug();
        // What evidence says twice is no matter of a package or a sheet: see the tests of the command line. Too many
        // problems are too many for a page: see the laws of loading. What nothing tells apart is said by `check` alone.
        let elsewhere = matches!(code, Code::StatedTwice | Code::TooMany | Code::ToldApartByNothing)
            || sheets.contains(&format!("[{slug}]"));
        assert!(covered.contains(&code) || elsewhere, "{slug} has no fixture");
        let page = code.explanation();
        let paragraphs = page.trim().split("\n\n").count();
        assert!(page.starts_with(&format!("# {slug}\n\n")), "{slug}: title");
        assert!(paragraphs >= 7, "{slug}: what, why, a bad and a good example");
        assert!(page.lines().all(|line| line.chars().count() <= 120), "{slug}: long line");
        assert_eq!(Code::from_slug(slug), Some(code));
    }
}
