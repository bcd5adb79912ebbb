//! Runs the real binary in a folder of its own, with a cleared environment, a fixed width and a fixed data folder.
//!
//! ```ignore
//! let out = Run::new().file("a.yaml", "…").args(["check", "a.yaml"]).go();
//! out.status(1).stdout_has("a.yaml:1:1");
//! ```
#![allow(dead_code)]

use std::ffi::OsString;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use proptest::test_runner::{Config as ProptestConfig, RngSeed};

/// The binary under test.
pub const BINARY: &str = env!("CARGO_BIN_EXE_whytrip");

/// So many cases of a law, the same in every run: what fails for one fails for all. `PROPTEST_RNG_SEED` (a number, or
/// `random`) takes others, `PROPTEST_CASES` more of them.
pub fn cases(usual: u32) -> ProptestConfig {
    let asked = ProptestConfig { failure_persistence: None, ..ProptestConfig::default() };
    let said = |name| std::env::var_os(name).is_some();
    ProptestConfig {
        cases: if said("PROPTEST_CASES") { asked.cases } else { usual },
        rng_seed: if said("PROPTEST_RNG_SEED") { asked.rng_seed } else { RngSeed::Fixed(1) },
        ..asked
    }
}

/// The folder of the package, where `knowledge/` and `tests/` are.
pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// One run of the binary, being put together.
#[must_use = "nothing runs before `go`"]
pub struct Run {
    args: Vec<OsString>,
    env: Vec<(String, OsString)>,
    stdin: Vec<u8>,
    dir: std::sync::Arc<tempfile::TempDir>,
}

impl Run {
    /// A run in a new empty folder.
    pub fn new() -> Self {
        let dir = tempfile::Builder::new().prefix("whytrip-").tempdir().unwrap();
        Self { args: vec![], env: vec![], stdin: vec![], dir: std::sync::Arc::new(dir) }
    }

    /// Another run in the same folder, with the same data folder; arguments, environment and input begin anew.
    pub fn again(&self) -> Self {
        Self { args: vec![], env: vec![], stdin: vec![], dir: self.dir.clone() }
    }

    /// The folder in which it runs.
    pub fn dir(&self) -> &Path {
        self.dir.path()
    }

    /// The folder in which cases and history are kept.
    pub fn data(&self) -> PathBuf {
        self.dir().join("data")
    }

    /// One more argument.
    pub fn arg(mut self, arg: impl Into<OsString>) -> Self {
        self.args.push(arg.into());
        self
    }

    /// More arguments.
    pub fn args<A: Into<OsString>>(mut self, args: impl IntoIterator<Item = A>) -> Self {
        self.args.extend(args.into_iter().map(Into::into));
        self
    }

    /// A variable of the environment, which is otherwise empty.
    pub fn env(mut self, name: &str, value: impl Into<OsString>) -> Self {
        self.env.push((name.to_owned(), value.into()));
        self
    }

    /// What stands on the standard input.
    pub fn stdin(mut self, text: impl AsRef<[u8]>) -> Self {
        self.stdin = text.as_ref().to_vec();
        self
    }

    /// Writes a file below the folder in which it runs.
    pub fn file(self, name: &str, text: impl AsRef<[u8]>) -> Self {
        let path = self.dir().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, text).unwrap();
        self
    }

    /// The command, for tests that need its pipes.
    pub fn command(&self) -> Command {
        let mut command = Command::new(BINARY);
        command
            .args(&self.args)
            .env_clear()
            .env("COLUMNS", "96")
            .env("LINES", "40")
            .env("WHYTRIP_DATA", self.data())
            .current_dir(self.dir());
        for (name, value) in &self.env {
            command.env(name, value);
        }
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        command
    }

    /// Runs it and gives what it said.
    #[must_use = "a run that is not looked at tests nothing"]
    pub fn go(self) -> Output {
        let mut child = self.command().spawn().unwrap();
        let mut pipe = child.stdin.take().unwrap();
        let input = self.stdin.clone();
        // From a thread, so that a child that writes much before it reads does not stand still.
        let writer = std::thread::spawn(move || {
            let _ = pipe.write_all(&input);
        });
        let out = child.wait_with_output().unwrap();
        writer.join().unwrap();
        let folder = self.dir().to_string_lossy().into_owned();
        let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).replace(&folder, "[DIR]");
        Output {
            stdout: text(&out.stdout),
            stderr: text(&out.stderr),
            code: out.status.code(),
            args: self.args,
        }
    }
}

/// What a run said. The folder of the run reads `[DIR]`.
#[derive(Debug)]
pub struct Output {
    pub stdout: String,
    pub stderr: String,
    /// `None` where a signal ended it.
    pub code: Option<i32>,
    args: Vec<OsString>,
}

impl Output {
    /// The exit status is this one.
    #[track_caller]
    pub fn status(self, expected: i32) -> Self {
        assert_eq!(self.code, Some(expected), "{}", self.whole());
        self
    }

    /// The standard output holds this text.
    #[track_caller]
    pub fn stdout_has(self, text: &str) -> Self {
        assert!(self.stdout.contains(text), "not on stdout: {text:?}\n{}", self.whole());
        self
    }

    /// The standard output does not hold this text.
    #[track_caller]
    pub fn stdout_lacks(self, text: &str) -> Self {
        assert!(!self.stdout.contains(text), "on stdout: {text:?}\n{}", self.whole());
        self
    }

    /// The standard error holds this text.
    #[track_caller]
    pub fn stderr_has(self, text: &str) -> Self {
        assert!(self.stderr.contains(text), "not on stderr: {text:?}\n{}", self.whole());
        self
    }

    /// Nothing on the standard error.
    #[track_caller]
    pub fn quiet(self) -> Self {
        assert!(self.stderr.is_empty(), "{}", self.whole());
        self
    }

    /// The standard output as JSON.
    #[track_caller]
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.stdout).unwrap_or_else(|e| panic!("no JSON: {e}\n{}", self.whole()))
    }

    /// Everything in one text: output, messages and exit status; for snapshots.
    pub fn whole(&self) -> String {
        let args: Vec<_> = self.args.iter().map(|a| a.to_string_lossy()).collect();
        let mut text = format!("$ whytrip {}\n{}", args.join(" "), self.stdout);
        if !self.stderr.is_empty() {
            text += &format!("-- stderr --\n{}", self.stderr);
        }
        let code = self.code.map_or("a signal".to_owned(), |c| c.to_string());
        text + &format!("-- exit {code} --\n")
    }
}

/// Compares with `tests/<file>`; `SNAPSHOTS=overwrite` writes it instead.
#[track_caller]
pub fn same_as_file(text: &str, file: &str) {
    let expected =
        snapbox::Data::read_from(&root().join("tests").join(file), Some(snapbox::data::DataFormat::Text));
    snapbox::Assert::new().action_env(snapbox::assert::DEFAULT_ACTION_ENV).eq(text.to_owned(), expected);
}
