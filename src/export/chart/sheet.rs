//! Two pages to print: a flowchart of the likeliest ways, the rest by number in the whole plan.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use super::Chart;
use super::drawing::{STYLE, TIP, drawing};
use super::page::{heading, opening};

/// Cards on a page. More would be too small to read at arm's length.
const CARDS: usize = 9;

/// The look on paper and on a screen.
const PAGE: &str = "@page{size:A4 landscape;margin:9mm}body{font:12px/1.3 sans-serif;margin:0;color:#111}\
h1{font-size:16px;margin:0 0 4px}.notice{border:1px solid #222;padding:3px 5px;font-size:10.5px}\
.small{font-size:10.5px;margin:2px 0}.head-notes{columns:3;column-gap:5mm;font-size:8.5px;line-height:1.25;margin:3px 0}\
.head-notes p{margin:0 0 2px;break-inside:avoid}.head-notes b{color:#8a1500}.page{break-after:page;page-break-after:always}.page:last-child{break-after:auto;\
page-break-after:auto}.page svg{display:block;width:100%;height:auto;max-height:140mm}";

/// The likeliest ways on two pages, as an HTML document that is well-formed XML as well.
#[must_use]
pub fn sheet(chart: &Chart) -> String {
    let order = likeliest(chart, 2 * CARDS);
    let mut out = opening(&format!("Plan: {}", chart.title), &format!("{PAGE}{STYLE}"));
    for (at, cards) in order.chunks(CARDS).enumerate() {
        out.push_str("<div class=\"page\">\n");
        heading(&mut out, chart);
        // Writing to a string cannot fail.
        let _ = writeln!(
            out,
            "<p class=\"small\">Page {} of the likeliest ways. \"Go to\" a number that is on neither page: stop, and look it up in \
             the whole plan, or hand over.</p>",
            at + 1
        );
        let shown: BTreeSet<usize> = cards.iter().copied().collect();
        let drawn = drawing(chart, &shown);
        drawn.legend.print(&mut out);
        let _ = writeln!(
            out,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"-4 -4 {:.0} {:.0}\">{}\n{}</svg>\n</div>",
            drawn.width + 8.0,
            drawn.height + 8.0,
            if at == 0 { TIP } else { "" },
            drawn.body
        );
    }
    out.push_str("</body>\n</html>\n");
    out
}

/// The numbers of the cards most often reached, each after one that leads to it.
fn likeliest(chart: &Chart, most: usize) -> Vec<usize> {
    let mut taken: Vec<usize> = Vec::new();
    let mut open: BTreeSet<usize> = BTreeSet::from([1]);
    while taken.len() < most {
        let next = open.iter().copied().max_by(|a, b| {
            let reach = |number: &usize| chart.card(*number).map_or(0.0, |card| card.reach);
            reach(a).total_cmp(&reach(b)).then(b.cmp(a))
        });
        let Some(next) = next else { break };
        open.remove(&next);
        taken.push(next);
        let answers = chart.card(next).map(|card| card.answers.as_slice()).unwrap_or_default();
        open.extend(answers.iter().map(|answer| answer.to).filter(|to| !taken.contains(to)));
    }
    taken
}
