//! Where lines come from: a person at a terminal, or a pipe.

use std::io::{self, BufRead, Write};
use std::path::PathBuf;

use rustyline::completion::{Completer, Pair};
use rustyline::error::ReadlineError;
use rustyline::highlight::Highlighter;
use rustyline::hint::{Hinter, HistoryHinter};
use rustyline::history::FileHistory;
use rustyline::validate::Validator;
use rustyline::{ColorMode, Config, Context, Editor, Helper};

use crate::render::{Look, Role};

/// What stands before the place where a person types.
const PROMPT: &str = "> ";
/// Lines of history kept.
const HISTORY: usize = 1000;
/// The longest line that is read, in bytes; what is beyond is cut.
const LONGEST: u64 = 64 * 1024;

/// Where lines come from.
#[derive(Debug)]
pub struct Lines(Kind);

enum Kind {
    Terminal { editor: Box<Editor<Offers, FileHistory>>, history: Option<PathBuf> },
    Pipe(Box<dyn BufRead>),
}

impl std::fmt::Debug for Kind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Terminal { .. } => "Terminal",
            Self::Pipe(_) => "Pipe",
        })
    }
}

impl Lines {
    /// Lines from a pipe or a file.
    #[must_use]
    pub fn pipe(from: impl BufRead + 'static) -> Self {
        Self(Kind::Pipe(Box::new(from)))
    }

    /// Lines from a person at the terminal; the history is kept in that file, where there is one.
    ///
    /// # Errors
    /// When the terminal cannot be used.
    pub fn terminal(history: Option<PathBuf>, look: Look) -> io::Result<Self> {
        let config = Config::builder()
            .max_history_size(HISTORY)
            .and_then(|config| config.history_ignore_dups(true))
            .map_err(io::Error::other)?
            .history_ignore_space(true)
            .color_mode(if look.colour { ColorMode::Enabled } else { ColorMode::Disabled })
            .build();
        let mut editor: Editor<Offers, FileHistory> =
            Editor::with_config(config).map_err(io::Error::other)?;
        editor.set_helper(Some(Offers { words: vec![], look, before: HistoryHinter::new() }));
        if let Some(path) = &history {
            // A history that is not there yet, or cannot be read, is no reason to stop.
            let _ = editor.load_history(path);
        }
        Ok(Self(Kind::Terminal { editor: Box::new(editor), history }))
    }

    /// What can be completed from now on.
    pub fn offer(&mut self, words: Vec<String>) {
        if let Kind::Terminal { editor, .. } = &mut self.0
            && let Some(helper) = editor.helper_mut()
        {
            helper.words = words;
        }
    }

    /// The next line; `None` at the end (Ctrl-D).
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn next(&mut self, look: Look, out: &mut dyn Write) -> io::Result<Option<String>> {
        match &mut self.0 {
            Kind::Pipe(from) => read_line(from.as_mut()),
            Kind::Terminal { editor, history } => loop {
                match editor.readline(PROMPT) {
                    Ok(line) => {
                        if editor.add_history_entry(&line).unwrap_or(false)
                            && let Some(path) = history
                        {
                            let _ = editor.append_history(path);
                        }
                        return Ok(Some(line));
                    }
                    Err(ReadlineError::Interrupted) => {
                        let text = look
                            .paint(Role::Aside, "(line abandoned; Ctrl-D leaves, and everything is saved)");
                        writeln!(out, "{text}")?;
                    }
                    Err(ReadlineError::Eof) => return Ok(None),
                    Err(ReadlineError::Io(error)) => return Err(error),
                    Err(error) => return Err(io::Error::other(error)),
                }
            },
        }
    }
}

/// A line of any bytes as text, without its end. What is longer than [`LONGEST`] is cut there.
fn read_line(from: &mut dyn BufRead) -> io::Result<Option<String>> {
    let mut bytes = Vec::new();
    let read = io::Read::take(&mut *from, LONGEST).read_until(b'\n', &mut bytes)?;
    if read == 0 {
        return Ok(None);
    }
    if !bytes.ends_with(b"\n") {
        // The rest of an overlong line is passed over piece by piece.
        loop {
            let mut rest = Vec::new();
            let more = io::Read::take(&mut *from, LONGEST).read_until(b'\n', &mut rest)?;
            if more == 0 || rest.ends_with(b"\n") {
                break;
            }
        }
    }
    let text = String::from_utf8_lossy(&bytes);
    Ok(Some(text.trim_end_matches(['\n', '\r']).to_owned()))
}

/// Completion, and the rest of an earlier line as a hint.
struct Offers {
    words: Vec<String>,
    look: Look,
    before: HistoryHinter,
}

impl Completer for Offers {
    type Candidate = Pair;

    fn complete(&self, line: &str, at: usize, _: &Context<'_>) -> rustyline::Result<(usize, Vec<Pair>)> {
        let typed = line.get(..at).unwrap_or(line).to_lowercase();
        let fits = |word: &&String| word.to_lowercase().starts_with(&typed) && !typed.is_empty();
        let pair = |word: &String| Pair { display: word.clone(), replacement: word.clone() };
        Ok((0, self.words.iter().filter(fits).map(pair).take(40).collect()))
    }
}

impl Hinter for Offers {
    type Hint = String;

    fn hint(&self, line: &str, at: usize, context: &Context<'_>) -> Option<String> {
        if line.is_empty() { None } else { self.before.hint(line, at, context) }
    }
}

impl Highlighter for Offers {
    fn highlight_hint<'h>(&self, hint: &'h str) -> std::borrow::Cow<'h, str> {
        self.look.paint(Role::Aside, hint).into()
    }
}

impl Validator for Offers {}
impl Helper for Offers {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pipe_gives_lines_of_any_bytes() {
        let long = [vec![b'x'; 200_000], b"\nlast".to_vec()].concat();
        let bytes: Vec<u8> = [b"one\r\n\xff\n".to_vec(), long].concat();
        let mut lines = Lines::pipe(io::Cursor::new(bytes));
        let mut next = || lines.next(Look::TEXT, &mut io::sink()).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(next().as_deref(), Some("one"));
        assert_eq!(next().as_deref(), Some("\u{fffd}"));
        assert_eq!(next().map(|line| line.len()), Some(65536));
        assert_eq!(next().as_deref(), Some("last"));
        assert_eq!(next(), None);
    }
}
