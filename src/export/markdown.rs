//! Records as Markdown.

use std::fmt::Write as _;

use jiff::tz::TimeZone;

use super::clean::clean;
use super::json::signal;
use super::note_line::note_line;
use super::number::{minutes, share, words};
use super::time::moment;
use crate::session::note::Note;
use crate::session::prompt::Left;
use crate::session::slip::Slip;

/// The call note; times in the given zone.
#[must_use]
pub fn note_markdown(note: &Note, zone: &TimeZone) -> String {
    let mut out = Markdown::titled("Call note");
    out.notice(&note.notice);
    let job = note.job.as_deref().unwrap_or("no job sheet");
    out.item("Job", job).item("Knowledge", &note.knowledge).item("People", &note.people.join("; "));
    let (from, to) = note.from_to;
    out.item("From", &moment(from, zone)).item("To", &moment(to, zone));
    out.list("Complaints", note.complaints.iter().cloned());
    out.list("How it stands", standing(note).into_iter());
    let likely =
        note.ranking.iter().take(5).map(|cause| format!("{} ({})", cause.name, share(cause.posterior)));
    let none = format!("none of the listed causes ({})", share(note.none_listed));
    out.list("Likely causes now", likely.chain([none]));
    out.left("To be put back", &note.open);
    let lines = note.lines.iter().map(|line| format!("{} {}", moment(line.at, zone), note_line(line)));
    out.list("What happened", lines);
    out.text
}

fn standing(note: &Note) -> Vec<String> {
    let closing = &note.closing;
    let mut lines: Vec<String> = closing
        .proven
        .iter()
        .map(|(say, under, watched)| {
            let load = if under.is_empty() { String::new() } else { format!(", {under}") };
            format!("proven gone: {say}{load}, watched for {}", minutes(*watched))
        })
        .collect();
    lines.extend(closing.unproven.iter().map(|say| format!("not proven: {say}")));
    lines.extend(closing.done.iter().map(|text| format!("done: {text}")));
    lines.extend(closing.handed_over.iter().map(|(text, to)| format!("handed over to {to}: {text}")));
    // While a complaint stands, these are among its likely causes and are listed there.
    let stay = closing.stay.iter().filter(|_| closing.unproven.is_empty());
    lines.extend(stay.map(|(name, p)| format!("may be there unseen: {name} ({})", share(*p))));
    let state = if note.work_state.is_empty() { "not known" } else { &note.work_state };
    lines.push(format!("work state: {state}"));
    lines
}

/// The hand-over slip.
#[must_use]
pub fn slip_markdown(slip: &Slip) -> String {
    let mut out = Markdown::titled("Hand-over slip");
    out.notice(&slip.notice);
    for caution in &slip.cautions {
        out.item(signal(caution.signal), &caution.text);
    }
    out.item("Send", &slip.name);
    if !slip.say.is_empty() {
        out.item("Say", &slip.say);
    }
    out.list("Instruments", slip.instruments.iter().cloned());
    out.list("Parts", slip.parts.iter().cloned());
    let candidates = slip.candidates.iter().map(|(causes, chance)| {
        let names =
            if causes.is_empty() { "none of the listed causes".to_owned() } else { causes.join(" and ") };
        format!("{names} ({})", share(*chance))
    });
    out.list("It could be", candidates);
    out.list("Not meanwhile", slip.not_meanwhile.iter().cloned());
    out.list("Found", slip.found.iter().map(|(name, outcome)| format!("{name}: {}", words(outcome))));
    out.list("Done", slip.done.iter().cloned());
    out.left("Temporary, or to be put back", &slip.open);
    let state = if slip.work_state.is_empty() { "not known" } else { &slip.work_state };
    out.item("Work state", state);
    out.text
}

/// A document under way.
pub(super) struct Markdown {
    pub(super) text: String,
}

impl Markdown {
    pub(super) fn titled(title: &str) -> Self {
        Self { text: format!("# {title}\n") }
    }

    pub(super) fn notice(&mut self, lines: &[String]) {
        for line in lines {
            // Writing to a string cannot fail.
            let _ = write!(self.text, "\n> {}", escaped(line));
        }
        self.text.push('\n');
    }

    pub(super) fn item(&mut self, label: &str, text: &str) -> &mut Self {
        let _ = write!(self.text, "\n**{label}:** {}\n", escaped(text));
        self
    }

    pub(super) fn list(&mut self, heading: &str, items: impl Iterator<Item = String>) {
        let mut items = items.peekable();
        if items.peek().is_none() {
            return;
        }
        let _ = write!(self.text, "\n## {heading}\n\n");
        for item in items {
            let _ = writeln!(self.text, "- {}", escaped(&item));
        }
    }

    /// A list of boxes to tick, under a heading and perhaps a line.
    pub(super) fn ticks(&mut self, heading: &str, items: impl Iterator<Item = String>) {
        let _ = write!(self.text, "\n## {heading}\n\n");
        for item in items {
            let _ = writeln!(self.text, "- [ ] {}", escaped(&item));
        }
    }

    /// Empty lines to write on.
    pub(super) fn lines(&mut self, heading: &str, count: usize) {
        let _ = write!(self.text, "\n## {heading}\n");
        for _ in 0..count {
            self.text.push_str("\n\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\\_\n");
        }
    }

    pub(super) fn left(&mut self, heading: &str, open: &[Left]) {
        let meanwhile = |left: &Left| if left.temporary { " (for the meantime)" } else { "" };
        self.list(heading, open.iter().map(|left| format!("{}{}", left.text, meanwhile(left))));
    }
}

/// Foreign text on one line, with what Markdown would act on escaped.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in clean(text).chars() {
        match c {
            '\n' => out.push(' '),
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '#' | '|' => out.extend(['\\', c]),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    #[test]
    fn foreign_text_stays_text() {
        assert_eq!(super::escaped("<b>\n[x](y) \u{1b}[1m"), "\\<b\\> \\[x\\](y) \\\\u{1b}\\[1m");
    }
}
