//! The plan as Markdown: a heading for each card, a link for each answer.

use std::fmt::Write as _;

use super::super::json::signal;
use super::super::markdown::escaped;
use super::super::number::share;
use super::Chart;

/// The plan as Markdown.
#[must_use]
pub fn markdown(chart: &Chart) -> String {
    let mut out = format!("# Plan: {}\n", escaped(&chart.title));
    // Writing to a string cannot fail.
    for line in &chart.notice {
        let _ = write!(out, "\n> {}", escaped(line));
    }
    out.push('\n');
    for line in &chart.about {
        let _ = write!(out, "\n- {}", escaped(line));
    }
    out.push('\n');
    for card in &chart.cards {
        let _ = write!(out, "\n## {}. {}\n", card.number, escaped(&card.head));
        for caution in &card.cautions {
            let _ = write!(out, "\n**{}:** {}\n", signal(caution.signal), escaped(&caution.text));
        }
        match card.lines.as_slice() {
            [line] => {
                let _ = write!(out, "\n{}\n", escaped(line));
            }
            lines => {
                out.push('\n');
                for (at, line) in lines.iter().enumerate() {
                    let _ = writeln!(out, "{}. {}", at + 1, escaped(line));
                }
            }
        }
        let small =
            card.notes.iter().cloned().chain([card.conditions.clone(), card.likely_line(), card.foot()]);
        out.push('\n');
        for line in small.filter(|line| !line.is_empty()) {
            let _ = writeln!(out, "- {}", escaped(&line));
        }
        if !card.answers.is_empty() {
            out.push('\n');
        }
        for answer in &card.answers {
            let Some(next) = chart.card(answer.to) else { continue };
            let say = if answer.say.is_empty() { "then" } else { &answer.say };
            let (say, to, head) = (escaped(say), next.number, escaped(&next.head));
            let _ = writeln!(out, "- **{say}** ({}): go to {to}, {head}", share(answer.chance));
        }
    }
    out
}
