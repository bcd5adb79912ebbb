//! The plan in the DOT language of graph drawing programs.

use std::fmt::Write as _;

use super::super::json::signal;
use super::super::number::share;
use super::escape::{dot as escaped, wrapped};
use super::{Chart, Kind};

/// Characters on a line of a label.
const WIDTH: usize = 40;

/// The plan as DOT: one node per card, one edge per answer. The notice stands in the label of the graph.
#[must_use]
pub fn dot(chart: &Chart) -> String {
    let mut out =
        String::from("digraph plan {\n  rankdir=LR;\n  node [shape=box, fontname=\"sans-serif\"];\n");
    let head = std::iter::once(&chart.title).chain(&chart.about).chain(&chart.notice);
    // Writing to a string cannot fail.
    let _ = writeln!(out, "  label=\"{}\";\n  labelloc=t;", joined(head.flat_map(|line| wrapped(line, 100))));
    for card in &chart.cards {
        let cautions = card.cautions.iter().map(|one| format!("{}: {}", signal(one.signal), one.text));
        let lines = std::iter::once(format!("{}. {}", card.number, card.head))
            .chain(cautions)
            .chain(card.lines.iter().cloned())
            .chain(card.notes.iter().cloned())
            .chain([card.conditions.clone(), card.likely_line(), card.foot()]);
        let label = joined(lines.flat_map(|line| wrapped(&line, WIDTH)));
        let style = match card.kind {
            Kind::Test => "solid",
            Kind::Fix | Kind::Emergency => "bold",
            Kind::Change => "diagonals",
            Kind::Prove | Kind::PutBack | Kind::Done => "rounded",
            Kind::HandOver => "dashed",
            Kind::Open => "dotted",
        };
        let _ = writeln!(out, "  n{} [style=\"{style}\", label=\"{label}\"];", card.number);
    }
    for card in &chart.cards {
        for answer in &card.answers {
            let say = format!("{} {}", answer.say, share(answer.chance));
            let label = joined(wrapped(&say, WIDTH).into_iter());
            let _ = writeln!(out, "  n{} -> n{} [label=\"{label}\"];", card.number, answer.to);
        }
    }
    out.push_str("}\n");
    out
}

/// Lines of a label, each set to the left.
fn joined(lines: impl Iterator<Item = String>) -> String {
    lines.map(|line| escaped(&line) + "\\l").collect()
}
