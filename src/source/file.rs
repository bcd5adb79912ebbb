//! Files as they were read, numbered, with their lines.

use std::borrow::Cow;
use std::sync::{Arc, OnceLock};

use super::span::Span;

/// The number of a file in its [`Sources`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct FileId(pub u32);

/// A line and a column, both from 1; columns count characters.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct LineColumn {
    /// Line, from 1.
    pub line: usize,
    /// Column, from 1, in characters.
    pub column: usize,
}

/// One file: the name to show, and its text.
#[derive(Debug)]
pub struct SourceFile {
    name: String,
    text: Cow<'static, str>,
    /// First byte of every line; worked out when first asked for.
    lines: OnceLock<Vec<u32>>,
}

impl SourceFile {
    /// A file of that name and text.
    pub fn new(name: impl Into<String>, text: impl Into<Cow<'static, str>>) -> Self {
        Self { name: name.into(), text: text.into(), lines: OnceLock::new() }
    }

    /// The name to show.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The whole text.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// First byte of every line, ascending; the first is 0.
    #[must_use]
    pub fn line_starts(&self) -> &[u32] {
        self.lines.get_or_init(|| {
            let breaks = self.text.bytes().enumerate().filter(|&(_, byte)| byte == b'\n');
            let starts = breaks.map(|(at, _)| u32::try_from(at + 1).unwrap_or(u32::MAX));
            std::iter::once(0).chain(starts).collect()
        })
    }

    /// Line and column of a byte; a byte past the end counts as the end.
    #[must_use]
    pub fn line_column(&self, byte: u32) -> LineColumn {
        let starts = self.line_starts();
        let line = starts.partition_point(|&start| start <= byte).max(1);
        let start = starts[line - 1] as usize;
        let end = (byte as usize).min(self.text.len());
        let column = self.text.get(start..end).map_or(0, |before| before.chars().count());
        LineColumn { line, column: column + 1 }
    }

    /// The text of a line (from 1) without its line break; empty where there is no such line.
    #[must_use]
    pub fn line(&self, line: usize) -> &str {
        let starts = self.line_starts();
        let Some(&start) = line.checked_sub(1).and_then(|at| starts.get(at)) else { return "" };
        let end = starts.get(line).map_or(self.text.len(), |&next| next as usize);
        self.text.get(start as usize..end).unwrap_or("").trim_end_matches(['\n', '\r'])
    }

    /// The byte at which `column` (from 0, in characters) of `line` (from 1) begins, cut to the text.
    #[must_use]
    pub fn byte_at(&self, line: usize, column: usize) -> usize {
        let starts = self.line_starts();
        let Some(&start) = line.checked_sub(1).and_then(|at| starts.get(at)) else { return self.text.len() };
        let rest = &self.text[start as usize..];
        // Most lines are ASCII up to there; only others have to be walked.
        match rest.as_bytes().get(..column) {
            Some(before) if before.is_ascii() => start as usize + column,
            _ => start as usize + rest.char_indices().nth(column).map_or(rest.len(), |(at, _)| at),
        }
    }
}

/// The files of one load, by number. Cloning is cheap.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    files: Vec<Arc<SourceFile>>,
}

impl Sources {
    /// No file yet.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a file and returns its number.
    pub fn add(&mut self, file: SourceFile) -> FileId {
        self.files.push(Arc::new(file));
        FileId(u32::try_from(self.files.len() - 1).unwrap_or(u32::MAX))
    }

    /// The file of that number.
    #[must_use]
    pub fn get(&self, id: FileId) -> Option<&SourceFile> {
        self.files.get(id.0 as usize).map(AsRef::as_ref)
    }

    /// The text under a span; empty where the span is of no file here.
    #[must_use]
    pub fn text(&self, span: Span) -> &str {
        self.get(span.file).and_then(|f| f.text().get(span.start as usize..span.end as usize)).unwrap_or("")
    }

    /// `name:line:column` of the start of a span.
    #[must_use]
    pub fn place(&self, span: Span) -> String {
        self.get(span.file).map_or_else(String::new, |file| {
            let at = file.line_column(span.start);
            format!("{}:{}:{}", file.name(), at.line, at.column)
        })
    }

    /// Every file with its number.
    pub fn iter(&self) -> impl Iterator<Item = (FileId, &SourceFile)> {
        (0..).map(FileId).zip(self.files.iter().map(AsRef::as_ref))
    }
}
