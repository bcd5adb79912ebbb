//! A problem in somebody's text: with its source lines, or narrated for a screen reader.

use std::ops::Range;

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{Annotation, AnnotationKind, Level, Renderer, Snippet};
use anstyle::{AnsiColor, Effects, Style};

use super::look::Look;
use super::page::Page;
use crate::diagnostic::{Diagnostic, Label, Severity};
use crate::export::clean;
use crate::source::{FileId, SourceFile, Sources};

/// How much of a file goes into one picture, in bytes. A label farther away than that is left to the message.
const WINDOW: usize = 32 * 1024;

/// How much of one line is shown, in bytes. Longer ones come from machines.
const LINE: usize = 2 * 1024;

/// One problem as text, ended by an empty line.
#[must_use]
pub fn problem(problem: &Diagnostic, sources: &Sources, look: Look) -> String {
    if look.plain { narrated(problem, sources, look) } else { pictured(problem, sources, look) }
}

/// The help lines, the nearest names included.
fn helps(problem: &Diagnostic) -> Vec<String> {
    let mut helps: Vec<String> = problem.help.iter().map(|help| clean(help).into_owned()).collect();
    if !problem.suggestions.is_empty() {
        let names: Vec<String> =
            problem.suggestions.iter().map(|name| format!("`{}`", clean(name))).collect();
        helps.push(format!("nearest: {}", names.join(", ")));
    }
    helps
}

/// With the source lines, the offending text marked under them.
fn pictured(problem: &Diagnostic, sources: &Sources, look: Look) -> String {
    let level = match problem.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
    };
    let message = clean(&problem.message);
    let mut group = level
        .primary_title(message.as_ref())
        .id(problem.code.slug())
        .elements(Vec::<Snippet<'_, Annotation<'_>>>::new());
    let labels = || {
        let primary = problem.primary.iter().map(|label| (AnnotationKind::Primary, label));
        primary.chain(problem.secondary.iter().map(|label| (AnnotationKind::Context, label)))
    };
    let mut files: Vec<FileId> = labels().map(|(_, label)| label.span.file).collect();
    files.dedup();
    for (at, id) in files.iter().enumerate() {
        let Some(file) = sources.get(*id).filter(|_| !files[..at].contains(id)) else { continue };
        let here: Vec<(AnnotationKind, &Label)> =
            labels().filter(|(_, label)| label.span.file == *id).collect();
        if let Some(snippet) = snippet(file, &here) {
            group = group.element(snippet);
        }
    }
    let notes: Vec<String> = problem.notes.iter().map(|note| clean(note).into_owned()).collect();
    for note in &notes {
        group = group.element(Level::NOTE.message(note.as_str()));
    }
    let helps = helps(problem);
    for help in &helps {
        group = group.element(Level::HELP.message(help.as_str()));
    }
    let mut text = renderer(look).render(&[group]);
    text.push_str("\n\n");
    text
}

/// The lines of one file that the labels touch.
fn snippet<'a>(
    file: &'a SourceFile,
    labels: &[(AnnotationKind, &'a Label)],
) -> Option<Snippet<'a, Annotation<'a>>> {
    let (_, first) = labels.first()?;
    let whole = |label: &Label| -> Range<usize> {
        let from = file.line_column(label.span.start).line;
        // An error is shown by the line in which it begins, however far what it marks goes on.
        let start = file.byte_at(from, 0);
        start..start + file.line(from).len()
    };
    let anchor = whole(first);
    let near: Vec<&(AnnotationKind, &Label)> =
        labels.iter().filter(|(_, label)| whole(label).end.abs_diff(anchor.start) < WINDOW).collect();
    let start = near.iter().map(|(_, label)| whole(label).start).min()?;
    let mut end = near.iter().map(|(_, label)| whole(label).end).max()?;
    let mut from = start;
    if near.len() == 1 && end - start > LINE {
        // A line of a machine: the part around the mark.
        from = floor(file.text(), (first.span.start as usize).saturating_sub(LINE / 2).max(start));
        end = floor(file.text(), end.min(from + LINE));
    }
    let text = file.text().get(from..end)?;
    let mut snippet = Snippet::source(text)
        .path(clean(file.name()).into_owned())
        .line_start(file.line_column(u32::try_from(start).ok()?).line);
    for (kind, label) in near {
        let line = whole(label);
        let (a, b) = (label.span.start as usize, label.span.end as usize);
        let b = b.clamp(a, line.end.max(a));
        let mark = a.clamp(from, end) - from..b.clamp(from, end) - from;
        let mark = if mark.is_empty() { mark.start..ceiling(text, mark.start) } else { mark };
        let said = clean(&label.text).into_owned();
        snippet = snippet.annotation(kind.span(mark).label((!said.is_empty()).then_some(said)));
    }
    Some(snippet)
}

/// The character boundary at or before `at`.
fn floor(text: &str, at: usize) -> usize {
    (0..=at.min(text.len())).rev().find(|&at| text.is_char_boundary(at)).unwrap_or(0)
}

/// The end of the character at `at`, or the end of the text.
fn ceiling(text: &str, at: usize) -> usize {
    (at + 1..=text.len()).find(|&at| text.is_char_boundary(at)).unwrap_or(text.len())
}

/// In sentences: severity, kind, message, place, the line itself, columns in words, reasons, help.
fn narrated(problem: &Diagnostic, sources: &Sources, look: Look) -> String {
    let mut page = Page::new(look);
    page.line(&format!("{} {}: {}", problem.severity.word(), problem.code.slug(), problem.message));
    let mut place = |label: &Label, what: &str| {
        let Some(file) = sources.get(label.span.file) else { return };
        let from = file.line_column(label.span.start);
        let to = file.line_column(label.span.end);
        let columns = if to.line == from.line && to.column > from.column + 1 {
            format!("columns {} to {}", from.column, to.column - 1)
        } else {
            format!("column {}", from.column)
        };
        page.line(&format!("{what} {} line {} {columns}", file.name(), from.line));
        let line: String = file.line(from.line).chars().take(400).collect();
        page.line(&format!("the line reads: {}", line.trim()));
        if !label.text.is_empty() {
            page.line(&format!("there: {}", label.text));
        }
    };
    if let Some(primary) = &problem.primary {
        place(primary, "in");
    }
    for label in &problem.secondary {
        place(label, "see also");
    }
    for note in &problem.notes {
        page.line(&format!("because: {note}"));
    }
    for help in helps(problem) {
        page.line(&format!("help: {help}"));
    }
    page.gap();
    page.finish()
}

/// A renderer of the 16 basic colours, or of none.
fn renderer(look: Look) -> Renderer {
    if !look.colour {
        return Renderer::plain().term_width(look.width.max(60)).decor_style(DecorStyle::Ascii);
    }
    let bold = |colour: AnsiColor| colour.on_default().effects(Effects::BOLD);
    Renderer::styled()
        .term_width(look.width.max(60))
        .decor_style(DecorStyle::Ascii)
        .error(bold(AnsiColor::Red))
        .warning(bold(AnsiColor::Yellow))
        .note(bold(AnsiColor::Blue))
        .help(bold(AnsiColor::Green))
        .line_num(AnsiColor::Blue.on_default())
        .context(AnsiColor::Blue.on_default())
        .emphasis(Style::new().effects(Effects::BOLD))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::Code;
    use crate::source::Span;

    fn example() -> (Diagnostic, Sources) {
        let mut sources = Sources::new();
        let file = sources.add(SourceFile::new("fan.yaml", "component: fan\nsimptoms:\n  stopped: {}\n"));
        let problem =
            Diagnostic::new(Code::UnknownKey, Span::new(file, 15, 23), "`simptoms` is no key of a component")
                .label("not known here")
                .why("every key has a meaning at its place")
                .nearest("simptoms", ["symptoms", "tests"]);
        (problem, sources)
    }

    #[test]
    fn pictured_marks_the_text() {
        let (diagnostic, sources) = example();
        snapbox::assert_data_eq!(
            problem(&diagnostic, &sources, Look::TEXT),
            snapbox::str![[r#"
error[unknown-key]: `simptoms` is no key of a component
 --> fan.yaml:2:1
  |
2 | simptoms:
  | ^^^^^^^^ not known here
  |
  = note: every key has a meaning at its place
  = help: nearest: `symptoms`


"#]]
        );
    }

    #[test]
    fn narrated_says_the_same_in_lines() {
        let (diagnostic, sources) = example();
        let look = Look { plain: true, ..Look::TEXT };
        snapbox::assert_data_eq!(
            problem(&diagnostic, &sources, look),
            snapbox::str![[r#"
error unknown-key: `simptoms` is no key of a component
in fan.yaml line 2 columns 1 to 8
the line reads: simptoms:
there: not known here
because: every key has a meaning at its place
help: nearest: `symptoms`


"#]]
        );
    }

    #[test]
    fn no_text_and_no_span_makes_it_fail() {
        let mut sources = Sources::new();
        let texts = ["", "\n", "é\u{1b}[2J\u{202e}", &"x".repeat(100_000), &"- é\n".repeat(40_000)];
        for text in texts {
            let file = sources.add(SourceFile::new("a\u{1b}.yaml", text.to_owned()));
            let len = text.len();
            let boundary = |at: usize| floor(text, at);
            for (a, b) in
                [(0, 0), (0, len), (len, len), (boundary(len / 2), boundary(len / 2)), (boundary(3), len)]
            {
                let first = Span::new(file, 0, boundary(1));
                let diagnostic =
                    Diagnostic::new(Code::Syntax, Span::new(file, a, b), "m\u{1b}").also_at(first, "l\u{7}");
                for look in [Look::TEXT, Look { plain: true, ..Look::TEXT }] {
                    let text = problem(&diagnostic, &sources, look);
                    assert!(!text.contains('\u{1b}') && !text.contains('\u{7}'), "{text}");
                    assert!(text.len() < 100_000);
                }
            }
        }
    }
}
