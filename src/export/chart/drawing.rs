//! A drawing of cards: every card a box with its text and a row for each answer, arrows from the rows.
//!
//! A card that several answers lead to from afar is drawn once; elsewhere a small sign says "go to 12". So no long lines
//! cross the drawing, and it can be followed by number where it is cut into pages. Boxes are told apart by their frame,
//! not by colour alone.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use super::super::number::share;
use super::escape::{wrapped, xml};
use super::layers::{Arrow, layout};
use super::legend::Legend;
use super::{Card, Chart, Kind};

/// Width of a card, and of a sign, in pixels.
const CARD: f64 = 288.0;
const SIGN: f64 = 130.0;
/// Between two layers.
const BETWEEN: f64 = 64.0;
const GAP: f64 = 16.0;
/// Height of a line.
const LINE: f64 = 15.0;
const PAD: f64 = 8.0;
/// Characters on a line of a card. Letters of the size used are at most so wide on average that this fits.
const CHARACTERS: usize = 39;
/// The same of its head, which is bold.
const HEAD: usize = 36;
/// Characters on an answer's row, its chance and number aside.
const ROW: usize = 24;

/// A drawing without its head.
pub(super) struct Drawing {
    pub(super) body: String,
    pub(super) legend: Legend,
    pub(super) width: f64,
    pub(super) height: f64,
}

/// A line of text in a card.
struct Line {
    text: String,
    class: &'static str,
}

/// A card laid out.
struct Laid {
    lines: Vec<Line>,
    /// Per answer: its lines, where its row begins, where it leads.
    rows: Vec<(Vec<String>, String, f64, usize)>,
    height: f64,
}

/// The drawing of these cards; answers that lead to others end in a sign.
pub(super) fn drawing(chart: &Chart, shown: &BTreeSet<usize>) -> Drawing {
    let cards: Vec<&Card> = chart.cards.iter().filter(|card| shown.contains(&card.number)).collect();
    // What is not planned is said in the answer's row.
    let cards: Vec<&Card> = cards.into_iter().filter(|card| card.kind != Kind::Open).collect();
    let legend = Legend::of(&cards);
    let laid: Vec<Laid> = cards.iter().map(|card| lay(chart, &legend, card)).collect();
    let at: BTreeMap<usize, usize> = cards.iter().enumerate().map(|(at, card)| (card.number, at)).collect();
    let depth = depths(&cards, &at);
    let mut heights: Vec<f64> = laid.iter().map(|one| one.height).collect();
    let mut arrows: Vec<Arrow> = Vec::new();
    let mut signs: Vec<(usize, &Card)> = Vec::new();
    let mut drawn: BTreeSet<usize> = BTreeSet::new();
    for (from, one) in laid.iter().enumerate() {
        for (_, _, leaves, to) in &one.rows {
            // The first arrow that comes from the layer just before draws the card; the others get a sign.
            let near = at.get(to).filter(|&&to| depth[to] == depth[from] + 1);
            let target = match near {
                Some(&near) if drawn.insert(*to) => near,
                _ => {
                    let Some(card) = chart.card(*to).filter(|card| card.kind != Kind::Open) else { continue };
                    heights.push(LINE * 2.0 + PAD);
                    signs.push((heights.len() - 1, card));
                    heights.len() - 1
                }
            };
            arrows.push(Arrow { from, leaves: *leaves, to: target });
        }
    }
    let place = layout(&heights, &arrows, GAP);
    let left = |layer: usize| layer as f64 * (CARD + BETWEEN);
    let mut body = String::new();
    // Writing to a string cannot fail.
    for (arrow, bends) in arrows.iter().zip(&place.bends) {
        let (mut x, mut y) = (left(place.layer[arrow.from]) + CARD, place.top[arrow.from] + arrow.leaves);
        let _ = write!(body, "<path class=\"way\" d=\"M{x:.1} {y:.1}");
        let end = (left(place.layer[arrow.to]), place.top[arrow.to] + heights[arrow.to].min(34.0) / 2.0);
        let points = bends.iter().map(|&(layer, y)| (left(layer), y)).chain([end]);
        for (to_x, to_y) in points {
            let middle = 0.5 * (x + to_x);
            let _ = write!(body, "C{middle:.1} {y:.1} {middle:.1} {to_y:.1} {to_x:.1} {to_y:.1}");
            (x, y) = (to_x, to_y);
        }
        body.push_str("\" marker-end=\"url(#tip)\"/>\n");
    }
    for (one, (card, laid)) in cards.iter().zip(&laid).enumerate() {
        draw(&mut body, card, laid, left(place.layer[one]), place.top[one]);
    }
    for &(sign, card) in &signs {
        let (x, y) = (left(place.layer[sign]), place.top[sign]);
        let _ = write!(
            body,
            "<g class=\"{}\"><rect class=\"sign\" x=\"{x:.1}\" y=\"{y:.1}\" width=\"{SIGN}\" height=\"{:.1}\"/>",
            card.kind.name(),
            heights[sign]
        );
        let head = wrapped(&card.head, 15);
        let more = if head.len() > 1 { " …" } else { "" };
        let head = head.first().map_or("", String::as_str);
        let _ = writeln!(
            body,
            "<text class=\"head\" x=\"{0:.1}\" y=\"{1:.1}\">go to {2}</text><text x=\"{0:.1}\" y=\"{3:.1}\">{4}{more}</text></g>",
            x + PAD,
            y + LINE,
            card.number,
            y + LINE * 2.0,
            xml(head)
        );
    }
    let layers = place.layer.iter().max().map_or(0, |most| most + 1);
    Drawing { body, legend, width: left(layers) - BETWEEN, height: place.height }
}

/// The layer of each card: the longest way to it among the cards shown.
fn depths(cards: &[&Card], at: &BTreeMap<usize, usize>) -> Vec<usize> {
    let mut depth = vec![0usize; cards.len()];
    // The shortest way, so that a card stands beside the step that first leads to it.
    let mut seen = vec![false; cards.len()];
    let leads_to: BTreeSet<usize> =
        cards.iter().flat_map(|card| card.answers.iter().map(|one| one.to)).collect();
    let mut open: Vec<usize> =
        (0..cards.len()).filter(|one| !leads_to.contains(&cards[*one].number)).collect();
    open.iter().for_each(|one| seen[*one] = true);
    let mut next = 0;
    while let Some(&from) = open.get(next) {
        next += 1;
        for answer in &cards[from].answers {
            if let Some(&to) = at.get(&answer.to)
                && !std::mem::replace(&mut seen[to], true)
            {
                depth[to] = depth[from] + 1;
                open.push(to);
            }
        }
    }
    depth
}

fn lay(chart: &Chart, legend: &Legend, card: &Card) -> Laid {
    let mut lines: Vec<Line> = Vec::new();
    lines.extend(
        wrapped(&format!("{}. {}", card.number, card.head), HEAD)
            .into_iter()
            .map(|text| Line { text, class: "head" }),
    );
    let mut add = |text: &str, class: &'static str| {
        lines.extend(wrapped(text, CHARACTERS).into_iter().map(|text| Line { text, class }));
    };
    for caution in &card.cautions {
        add(&legend.short(caution), "caution");
    }
    match legend.acts(card).filter(|_| card.kind == Kind::Change) {
        Some(acts) => add(&acts, "step"),
        None => {
            let many = card.lines.len() > 1;
            for (number, line) in card.lines.iter().enumerate() {
                let line = if many { format!("{}) {line}", number + 1) } else { line.clone() };
                add(&line, "step");
            }
        }
    }
    for note in &card.notes {
        add(note, "note");
    }
    add(&card.conditions, "note");
    if let Some((name, chance)) = card.likely.first() {
        add(&format!("Likeliest: {name} ({})", share(*chance)), "note");
    }
    add(&card.foot(), "foot");
    let mut y = PAD + lines.len() as f64 * LINE + PAD;
    let mut rows = Vec::new();
    for answer in &card.answers {
        let say = if answer.say.is_empty() { "then" } else { &answer.say };
        let said = wrapped(say, ROW);
        let high = said.len().max(1) as f64 * LINE + 4.0;
        let planned = chart.card(answer.to).is_none_or(|card| card.kind != Kind::Open);
        let to = if planned { answer.to.to_string() } else { "plan anew".to_owned() };
        rows.push((said, format!("{} → {to}", share(answer.chance)), y + high / 2.0, answer.to));
        y += high;
    }
    Laid { lines, rows, height: y + 2.0 }
}

fn draw(body: &mut String, card: &Card, laid: &Laid, x: f64, y: f64) {
    let round = if matches!(card.kind, Kind::Prove | Kind::Done | Kind::PutBack) { 14.0 } else { 2.0 };
    // Writing to a string cannot fail.
    let _ = write!(
        body,
        "<g class=\"{}\" id=\"n{}\"><rect class=\"box\" x=\"{x:.1}\" y=\"{y:.1}\" width=\"{CARD}\" height=\"{:.1}\" rx=\"{round}\"/>",
        card.kind.name(),
        card.number,
        laid.height
    );
    if card.kind == Kind::Change {
        let _ = write!(
            body,
            "<rect class=\"inner\" x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\"/>",
            x + 3.0,
            y + 3.0,
            CARD - 6.0,
            laid.height - 6.0
        );
    }
    for (at, line) in laid.lines.iter().enumerate() {
        let base = y + PAD + (at as f64 + 0.75) * LINE;
        let _ = write!(
            body,
            "<text class=\"{}\" x=\"{:.1}\" y=\"{base:.1}\">{}</text>",
            line.class,
            x + PAD,
            xml(&line.text)
        );
    }
    for (said, right, middle, _) in &laid.rows {
        let high = said.len().max(1) as f64 * LINE + 4.0;
        let top = y + middle - high / 2.0;
        let _ = write!(body, "<path class=\"rule\" d=\"M{x:.1} {top:.1}h{CARD}\"/>");
        for (at, text) in said.iter().enumerate() {
            let base = top + (at as f64 + 0.8) * LINE;
            let _ = write!(
                body,
                "<text class=\"answer\" x=\"{:.1}\" y=\"{base:.1}\">{}</text>",
                x + PAD,
                xml(text)
            );
        }
        let _ = write!(
            body,
            "<text class=\"share\" x=\"{:.1}\" y=\"{:.1}\">{}</text>",
            x + CARD - PAD,
            top + 0.8 * LINE,
            xml(right)
        );
    }
    body.push_str("</g>\n");
}

/// The style of all drawings: frames differ, tints only help.
pub(super) const STYLE: &str = "text{font:12px sans-serif;fill:#111}\
.head{font-weight:bold;font-size:11.5px}.caution{font-weight:bold;font-size:10.5px;fill:#8a1500}.step{font-size:12.5px}\
.note,.foot{font-size:11px;fill:#333}.answer{font-weight:bold}.share{text-anchor:end;font-size:11px}\
.way{fill:none;stroke:#444;stroke-width:1.2}.rule{stroke:#999;stroke-width:.6}\
.box,.sign{fill:#fff;stroke:#222;stroke-width:1.2}.inner{fill:none;stroke:#222;stroke-width:1}\
.test .box{fill:#f4f8fb}.fix .box{stroke-width:3.2;fill:#fbf8ee}.change .box{fill:#fdf3f0}\
.prove .box,.put-back .box{fill:#f2f8f1}.done .box{stroke-width:3.2;fill:#e3f1e0}\
.hand-over .box,.hand-over .sign{stroke-dasharray:8 4;stroke-width:1.8;fill:#f6f2fa}\
.emergency .box,.emergency .sign{stroke-width:4;fill:#fde4e0}\
.open .box,.open .sign{stroke-dasharray:2 3;fill:#f3f3f3}";

/// The arrow's tip.
pub(super) const TIP: &str = "<defs><marker id=\"tip\" viewBox=\"0 0 8 8\" refX=\"8\" refY=\"4\" markerWidth=\"8\" \
markerHeight=\"8\" orient=\"auto\"><path d=\"M0 0L8 4L0 8z\" fill=\"#444\"/></marker></defs>";
