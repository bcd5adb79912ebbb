//! The bytes of a file to its tree.
//!
//! In: bytes, a limit. Out: the tree, or the problem that keeps it from being read. What a slip spoils is blanked out and the
//! text read again, so that one slip does not hide the next; the words of the parser become ours. Cost: linear in the text,
//! for each of at most [`MENDED`] slips.

use super::characters;
use super::node::Node;
use super::reader::{Reader, Stop, refuse_alias, too_deep};
use super::slip;
use crate::diagnostic::{Code, Diagnostic};
use crate::source::{FileId, SourceFile, Sources, Span};

/// The largest file accepted, in bytes; exactly so many are still read.
pub const LARGEST: u64 = 16 * 1024 * 1024;

/// How often a line is mended to read on after it; a large file is read but twice.
const MENDED: usize = 20;
const LARGE: usize = 1 << 20;

/// Says that a file of `bytes` bytes is larger than `limit`. Its text need not have been read.
#[must_use]
pub fn too_large(file: FileId, bytes: u64, limit: u64) -> Diagnostic {
    Diagnostic::new(Code::FileTooLarge, Span::top_of(file), format!("the file has {bytes} bytes"))
        .why(format!("a file may have {limit} bytes at most"))
        .help("split it: each component has a file of its own")
}

/// Reads the bytes of a file into a tree, adding the file to `sources` under `name`.
///
/// `None` where it cannot be read at all; then `problems` says why. Problems that leave the rest readable are added to
/// `problems` too, while the tree goes on.
pub fn parse(
    name: &str,
    bytes: Vec<u8>,
    limit: u64,
    sources: &mut Sources,
    problems: &mut Vec<Diagnostic>,
) -> (FileId, Option<Node>) {
    let length = bytes.len() as u64;
    if length > limit {
        let file = sources.add(SourceFile::new(name, ""));
        problems.push(too_large(file, length, limit));
        return (file, None);
    }
    let text = match String::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => {
            let good = error.utf8_error().valid_up_to();
            let mut bytes = error.into_bytes();
            let wrong = bytes[good];
            bytes.truncate(good);
            let file = sources.add(SourceFile::new(name, String::from_utf8(bytes).unwrap_or_default()));
            let span = Span::new(file, good, good);
            let message = format!("the byte 0x{wrong:02X} is no UTF-8");
            let problem = Diagnostic::new(Code::NotUtf8, span, message)
                .why("files are text in UTF-8")
                .help("save the file as UTF-8");
            problems.push(problem);
            return (file, None);
        }
    };
    let file = sources.add(SourceFile::new(name, text));
    let source = sources.get(file).expect("added just now");
    let cleaned = characters::clean(file, source.text(), problems);
    if cleaned.tab_indents {
        return (file, None);
    }
    (file, read(file, source, cleaned.text, problems))
}

/// Reads the text, mending what can be mended.
fn read(
    file: FileId,
    source: &SourceFile,
    mut mended: Option<String>,
    problems: &mut Vec<Diagnostic>,
) -> Option<Node> {
    let mut holes: Vec<std::ops::Range<usize>> = Vec::new();
    let times = if source.text().len() > LARGE { 1 } else { MENDED };
    for _ in 0..=times {
        let text = mended.as_deref().unwrap_or(source.text());
        let mut reader = Reader::new(file, source, &holes);
        match reader.run(text) {
            Ok(()) => {
                problems.append(&mut reader.problems);
                return reader.root;
            }
            Err(Stop::Refused(problem)) => {
                problems.append(&mut reader.problems);
                problems.push(*problem);
                return None;
            }
            Err(Stop::Syntax(line, column, words)) => {
                // The parser may notice a slip one line late.
                let slip = [line, line.saturating_sub(1)].into_iter().find_map(|line| {
                    let start = *source.line_starts().get(line.checked_sub(1)?)? as usize;
                    let rest = text.get(start..)?;
                    let end = rest.find('\n').unwrap_or(rest.len());
                    slip::explain(file, &rest[..end], start)
                });
                let Some((problem, range)) = slip else {
                    problems.append(&mut reader.problems);
                    problems.push(syntax(file, source, line, column, &words));
                    return None;
                };
                problems.push(problem);
                let mut text = text.to_owned();
                text.replace_range(range.clone(), &"x".repeat(range.len()));
                mended = Some(text);
                holes.push(range);
            }
        }
    }
    None
}

/// The parser's words in ours.
fn syntax(file: FileId, source: &SourceFile, line: usize, column: usize, words: &str) -> Diagnostic {
    let at = source.byte_at(line, column).min(source.text().len());
    let length = source.text()[at..].chars().next().filter(|&c| c != '\n').map_or(0, char::len_utf8);
    let span = Span::new(file, at, at + length);
    let shown = source.line(line);
    let (message, help) = if words.contains("recursion limit") {
        return too_deep(span);
    } else if words.contains("mapping values are not allowed") {
        ("a second `: ` on one line", "put a text that holds `: ` in quotes")
    } else if words.contains("unknown anchor") {
        return refuse_alias(span);
    } else if words.contains("did not find expected key")
        || words.contains("document start")
        || words.contains("block collection")
        || words.contains("indent")
        || words.contains("<block end>")
    {
        (
            "this line does not belong to what stands above it",
            "check the indentation, and put texts in quotes",
        )
    } else if words.contains("flow") || words.contains("','") {
        ("a map or list in braces is not closed, or lacks a comma", "close it, and put texts in quotes")
    } else if words.contains("simple key") || words.contains("':'") {
        ("a key without `:`", "write `key: value`")
    } else if words.contains("quoted scalar") || words.contains("end of stream") || words.contains("eof") {
        ("a quoted text is not closed", "close it with the quote that opens it")
    } else if words.contains("cannot start any token") || words.contains("reserved") {
        ("a text cannot begin with this character", "put the text in quotes")
    } else if words.contains("escape") {
        ("no such escape in a text", "write `\\\\` for a backslash")
    } else {
        ("this cannot be read", "check the indentation, and put texts in quotes")
    };
    let shown = if shown.trim().is_empty() { "the text ends here" } else { "reading stopped here" };
    Diagnostic::new(Code::Syntax, span, message)
        .label(shown)
        .why("the text is not YAML here; what follows could not be read")
        .help(help)
}
