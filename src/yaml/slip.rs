//! Two slips that make a line unreadable as YAML: a text that begins with `{unit}`, and a band that begins with `>`,
//! without quotes.
//!
//! The line is reported with its own help, and its value blanked out with letters of the same number of bytes, so that
//! the rest of the file can be read, all positions staying as they were.

use crate::diagnostic::{Code, Diagnostic};
use crate::source::{FileId, Span};

/// Longer lines nobody writes by hand; looking through one takes the square of its length.
const LONGEST_LINE: usize = 2000;

/// Where a value begins that lacks its quotes, and where it ends.
fn find(line: &str) -> Option<(usize, usize, Slip)> {
    let mut from = 0;
    while let Some(at) = line[from..].find(['{', '>']).map(|at| at + from) {
        from = at + 1;
        let before = line[..at].trim_end_matches(' ');
        let opens = before.len() < at && before.ends_with([':', ',', '-'])
            || before.ends_with(['[', '{'])
            || before.is_empty();
        if !opens || inside_quotes(&line[..at]) {
            continue;
        }
        let rest = &line[at..];
        let slip = if let Some(inner) = rest.strip_prefix('{') {
            let Some(close) = inner.find('}') else { continue };
            let word = &inner[..close];
            let after = inner[close + 1..].trim_start_matches(' ');
            let names =
                !word.is_empty() && word.bytes().all(|b| b.is_ascii_alphanumeric() || b"_-.".contains(&b));
            if !names || after.is_empty() || after.starts_with([',', '}', ']', '#', ':']) {
                continue;
            }
            Slip::Placeholder
        } else {
            // `>-` alone opens a block of text and is no slip: a figure must follow.
            let digits = rest[1..].trim_start_matches(['=', ' ']).trim_start_matches('-');
            if !digits.starts_with(|c: char| c.is_ascii_digit() || c == '.') {
                continue;
            }
            Slip::Sign
        };
        return Some((at, at + end(before, rest), slip));
    }
    None
}

/// Whether an odd number of double quotes stands before.
fn inside_quotes(before: &str) -> bool {
    before.bytes().filter(|&b| b == b'"').count() % 2 == 1
}

/// Where the value ends: within `{…}` or `[…]` at the comma or the closing mark, else with the line or its comment.
fn end(before: &str, rest: &str) -> usize {
    let count = |marks: [char; 2]| before.matches(marks[0]).count() > before.matches(marks[1]).count();
    let in_flow = count(['{', '}']) || count(['[', ']']);
    // The first closing brace is that of the placeholder itself.
    let skip = if rest.starts_with('{') { rest.find('}').map_or(0, |at| at + 1) } else { 0 };
    let tail = &rest[skip..];
    let stop = if in_flow { tail.find([',', '}', ']']) } else { tail.find(" #") };
    let text = stop.map_or(rest, |at| &rest[..skip + at]);
    text.trim_end().len()
}

#[derive(Clone, Copy)]
enum Slip {
    Placeholder,
    Sign,
}

/// Reports the slip on the line that starts at byte `start`, if there is one, and returns the bytes to blank out.
pub(super) fn explain(
    file: FileId,
    line: &str,
    start: usize,
) -> Option<(Diagnostic, std::ops::Range<usize>)> {
    if line.len() > LONGEST_LINE {
        return None;
    }
    let (from, to, slip) = find(line)?;
    let written = &line[from..to];
    let span = Span::new(file, start + from, start + to);
    let why = match slip {
        Slip::Placeholder => "a text that begins with `{` is read as a map",
        Slip::Sign => "a value that begins with `>` is read as a folded text",
    };
    let problem = Diagnostic::new(Code::Unquoted, span, format!("`{written}` has to stand in quotes"))
        .why(why)
        .help(format!("write \"{}\"", written.replace('"', "\\\"")));
    Some((problem, start + from..start + to))
}

#[cfg(test)]
mod tests {
    use super::find;

    #[test]
    fn finds_values_that_lack_quotes() {
        for (line, value) in [
            ("  name: {unit} hums", "{unit} hums"),
            ("  name: {unit.volts} V at {unit} # so", "{unit.volts} V at {unit}"),
            ("  x: {say: {unit} hums, minutes: 1}", "{unit} hums"),
            ("  high: >= 1.1", ">= 1.1"),
            ("  outcomes: {normal: 1 .. 2, high: >= 2, low: < 1}", ">= 2"),
            ("  - {unit} is dark", "{unit} is dark"),
        ] {
            let (from, to, _) = find(line).expect("a slip");
            assert_eq!(&line[from..to], value);
        }
        for line in [
            "a: {b: c}",
            "a: {unit}",
            "a: \">= 1\"",
            "a: >-",
            "a: >",
            "a: \"{unit} hums\"",
            "a: {unit: 1}, x",
        ] {
            assert!(find(line).is_none(), "{line}");
        }
    }
}
