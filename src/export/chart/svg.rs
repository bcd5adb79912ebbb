//! The whole plan as one drawing, with title, notice and legend.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use super::drawing::{STYLE, TIP, drawing};
use super::escape::{wrapped, xml};
use super::{Chart, Kind};

/// Around everything.
const MARGIN: f64 = 24.0;
/// The least width, so that title and legend have room.
const LEAST: f64 = 1200.0;

/// The whole plan as an SVG document.
#[must_use]
pub fn svg(chart: &Chart) -> String {
    let all: BTreeSet<usize> = chart.cards.iter().map(|card| card.number).collect();
    let drawing = drawing(chart, &all);
    let width = drawing.width.max(LEAST) + 2.0 * MARGIN;
    let mut head = String::new();
    let mut y = MARGIN + 14.0;
    // Writing to a string cannot fail.
    for line in wrapped(&format!("Plan: {}", chart.title), 90) {
        let _ = write!(
            head,
            "<text x=\"{MARGIN}\" y=\"{y}\" style=\"font-size:20px;font-weight:bold\">{}</text>",
            xml(&line)
        );
        y += 24.0;
    }
    for line in chart.notice.iter().chain(&chart.about).flat_map(|line| wrapped(line, 150)) {
        let _ = write!(head, "<text x=\"{MARGIN}\" y=\"{y}\">{}</text>", xml(&line));
        y += 16.0;
    }
    y += 4.0;
    for (at, kind) in Kind::ALL.iter().enumerate() {
        let x = MARGIN + at as f64 * 132.0;
        let round = if matches!(kind, Kind::Prove | Kind::Done | Kind::PutBack) { 8 } else { 1 };
        let _ = write!(
            head,
            "<g class=\"{}\"><rect class=\"box\" x=\"{x}\" y=\"{y}\" width=\"124\" height=\"24\" rx=\"{round}\"/>",
            kind.name()
        );
        if *kind == Kind::Change {
            let _ = write!(
                head,
                "<rect class=\"inner\" x=\"{}\" y=\"{}\" width=\"118\" height=\"18\"/>",
                x + 3.0,
                y + 3.0
            );
        }
        let _ = write!(
            head,
            "<text x=\"{}\" y=\"{}\" style=\"font-size:11px\">{}</text></g>",
            x + 7.0,
            y + 16.0,
            kind.legend()
        );
    }
    y += 36.0;
    let (legend, bottom) = drawing.legend.draw(MARGIN, y);
    head.push_str(&legend);
    y = bottom + 24.0;
    let height = y + drawing.height + MARGIN;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width:.0} {height:.0}\" width=\"{width:.0}\" \
         height=\"{height:.0}\"><title>{}</title><style>{STYLE}</style>{TIP}\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n{head}\n<g transform=\"translate({MARGIN} {y:.0})\">\n{}</g>\n</svg>\n",
        xml(&chart.title),
        drawing.body
    )
}
