//! Two pages to print: a flowchart of the likeliest ways, the rest by number in the whole plan.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use super::drawing::{STYLE, TIP, drawing};
use super::page::{heading, opening};
use super::{Chart, Kind};

/// Cards on a page, and how many stand one after the other across it. More would be too small to read.
const CARDS: usize = 8;
const ACROSS: usize = 3;
/// One above the other.
const STACKED: usize = 3;
const PAGES: usize = 2;

/// The look on paper and on a screen.
const PAGE: &str = "@page{size:A4 portrait;margin:9mm}body{font:12px/1.3 sans-serif;margin:0;color:#111}\
h1{font-size:16px;margin:0 0 4px}.notice{border:1px solid #222;padding:3px 5px;font-size:10.5px}\
.small{font-size:10.5px;margin:2px 0}.head-notes{columns:3;column-gap:5mm;font-size:8.5px;line-height:1.25;margin:3px 0}\
.head-notes p{margin:0 0 2px;break-inside:avoid}.head-notes b{color:#8a1500}.page{break-after:page;page-break-after:always}.page:last-child{break-after:auto;\
page-break-after:auto}.page svg{display:block;width:100%;height:auto;max-height:205mm}";

/// The likeliest ways on two pages, as an HTML document that is well-formed XML as well.
#[must_use]
pub fn sheet(chart: &Chart) -> String {
    let mut out = opening(&format!("Plan: {}", chart.title), &format!("{PAGE}{STYLE}"));
    for (at, cards) in pages(chart).iter().enumerate() {
        out.push_str("<div class=\"page\">\n");
        heading(&mut out, chart);
        // Writing to a string cannot fail.
        let _ = writeln!(
            out,
            "<p class=\"small\">Page {} of the likeliest ways. \"Go to\" a number that is on neither page: stop, and look it up in \
             the whole plan, or hand over.</p>",
            at + 1
        );
        let drawn = drawing(chart, cards);
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

/// The numbers of the cards on each page: the most often reached first, each beside one that leads to it, or at the left edge
/// where that one stands on the page before.
fn pages(chart: &Chart) -> Vec<BTreeSet<usize>> {
    let reach = |number: usize| chart.card(number).map_or(0.0, |card| card.reach);
    let mut taken: BTreeSet<usize> = BTreeSet::new();
    let mut pages = Vec::new();
    // Where each card that could be next would stand across the page.
    let mut open: BTreeMap<usize, usize> = BTreeMap::from([(1, 0)]);
    for _ in 0..PAGES {
        let mut page = BTreeSet::new();
        let mut stacked = [0; ACROSS];
        while page.len() < CARDS {
            let fits =
                open.iter().filter(|(_, across)| stacked.get(**across).is_some_and(|high| *high < STACKED));
            let next = fits.max_by(|a, b| reach(*a.0).total_cmp(&reach(*b.0)).then(b.0.cmp(a.0)));
            let Some((next, across)) = next.map(|(number, across)| (*number, *across)) else { break };
            open.remove(&next);
            taken.insert(next);
            page.insert(next);
            stacked[across] += 1;
            for answer in chart.card(next).map(|card| card.answers.as_slice()).unwrap_or_default() {
                let planned = chart.card(answer.to).is_some_and(|card| card.kind != Kind::Open);
                if planned && !taken.contains(&answer.to) {
                    let place = open.entry(answer.to).or_insert(across + 1);
                    *place = (*place).min(across + 1);
                }
            }
        }
        if page.is_empty() {
            break;
        }
        pages.push(page);
        open.values_mut().for_each(|across| *across = 0);
    }
    pages
}
