//! Drawings that can be followed with a finger: boxes apart, texts inside them, arrows that meet their boxes and cross
//! neither a box nor each other. Measured on the SVG of real complaints.

use roxmltree::{Document, Node};
use whytrip::export::chart::{Chart, sheet, svg};
use whytrip::planner::decision_graph::Bounds;

use crate::decision_graph::{bounds, complained};
use crate::hand_made::{begin, demo_job};

#[derive(Clone, Copy, Debug)]
struct Rect {
    x: f64,
    y: f64,
    width: f64,
    height: f64,
}

impl Rect {
    fn of(node: Node<'_, '_>) -> Self {
        let [x, y, width, height] = ["x", "y", "width", "height"].map(|name| number(node, name));
        Self { x, y, width, height }
    }

    fn meets(self, other: Self) -> bool {
        self.x < other.x + other.width
            && other.x < self.x + self.width
            && self.y < other.y + other.height
            && other.y < self.y + self.height
    }

    fn holds(self, x: f64, y: f64) -> bool {
        x > self.x + 0.5
            && x < self.x + self.width - 0.5
            && y > self.y + 0.5
            && y < self.y + self.height - 0.5
    }
}

fn number(node: Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).and_then(|text| text.parse().ok()).unwrap_or_else(|| panic!("no {name}"))
}

/// Width of a text in em, generously: a wide sans-serif (DejaVu Sans, bold where it is bold; advance widths rounded up).
fn em(text: &str, bold: bool) -> f64 {
    let wide = text.chars().map(|c| match c {
        'i' | 'j' | 'l' | '\'' | '.' | ',' | ':' | ';' | '|' | ' ' | '!' | 'I' => 0.34,
        'f' | 't' | 'r' | '(' | ')' | '-' | '/' | '"' => 0.42,
        'm' | 'w' | 'M' | 'W' | '%' | '→' | '…' => 0.96,
        'A'..='Z' => 0.70,
        _ => 0.615,
    });
    wide.sum::<f64>() * if bold { 1.1 } else { 1.0 }
}

fn texts_fit(group: Node<'_, '_>, frame: Rect) {
    for text in group.children().filter(|node| node.has_tag_name("text")) {
        let class = text.attribute("class").unwrap_or_default();
        let (size, bold) = match class {
            "head" => (11.5, true),
            "caution" => (10.5, true),
            "step" => (12.5, false),
            "answer" => (12.0, true),
            "note" | "foot" | "share" => (11.0, false),
            _ => (12.0, false),
        };
        let said = text.text().unwrap_or_default();
        let (x, y, width) = (number(text, "x"), number(text, "y"), em(said, bold) * size);
        let (from, to) = if class == "share" { (x - width, x) } else { (x, x + width) };
        assert!(
            from >= frame.x && to <= frame.x + frame.width,
            "{said:?} leaves its box: {width} of {}",
            frame.width
        );
        assert!(y > frame.y && y < frame.y + frame.height, "{said:?} above or below its box");
    }
}

/// The points of a path of straight and curved pieces, sampled; curves are cubic.
fn sampled(path: &str) -> Vec<(f64, f64)> {
    let numbers: Vec<f64> = path
        .split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))
        .filter(|text| !text.is_empty())
        .map(|text| text.parse().unwrap())
        .collect();
    let points: Vec<(f64, f64)> = numbers.chunks(2).map(|pair| (pair[0], pair[1])).collect();
    let mut along = vec![points[0]];
    for curve in points[1..].chunks(3) {
        let from = *along.last().unwrap();
        for step in 1..=24 {
            let t = f64::from(step) / 24.0;
            let mix = |a: f64, b: f64, c: f64, d: f64| {
                let s = 1.0 - t;
                s * s * s * a + 3.0 * s * s * t * b + 3.0 * s * t * t * c + t * t * t * d
            };
            along.push((
                mix(from.0, curve[0].0, curve[1].0, curve[2].0),
                mix(from.1, curve[0].1, curve[1].1, curve[2].1),
            ));
        }
    }
    along
}

/// Boxes, arrows crossing each other.
fn measured(drawing: &str) -> (usize, usize) {
    let document = Document::parse(drawing).unwrap();
    let is = |node: &Node<'_, '_>, class: &[&str]| {
        node.attribute("class").is_some_and(|name| class.contains(&name))
    };
    let mut plan =
        document.descendants().filter(|node| node.has_tag_name("g") && node.has_attribute("transform"));
    let plan = plan.next_back().unwrap();
    let frames: Vec<(Rect, Node<'_, '_>)> = plan
        .descendants()
        .filter(|node| is(node, &["box", "sign"]))
        .map(|node| (Rect::of(node), node.parent().unwrap()))
        .collect();
    for (at, (one, group)) in frames.iter().enumerate() {
        texts_fit(*group, *one);
        assert!(frames[..at].iter().all(|(other, _)| !one.meets(*other)), "two boxes overlap: {one:?}");
    }
    let arrows: Vec<Vec<(f64, f64)>> = plan
        .descendants()
        .filter(|node| is(node, &["way"]))
        .map(|node| sampled(node.attribute("d").unwrap()))
        .collect();
    let mut crossings = 0;
    for (at, arrow) in arrows.iter().enumerate() {
        for &(x, y) in arrow {
            assert!(
                !frames.iter().any(|(frame, _)| frame.holds(x, y)),
                "an arrow runs through a box at {x}, {y}"
            );
        }
        let (end, begin) = (arrow.last().unwrap(), arrow[0]);
        let touches = |(x, y): (f64, f64), left: bool| {
            frames.iter().any(|(frame, _)| {
                let side = if left { frame.x } else { frame.x + frame.width };
                (side - x).abs() < 0.6 && y >= frame.y - 0.1 && y <= frame.y + frame.height + 0.1
            })
        };
        assert!(touches(begin, false) && touches(*end, true), "an arrow hangs in the air");
        for other in &arrows[..at] {
            // Arrows between the same two columns cross where their order turns round.
            let same = (other[0].0 - begin.0).abs() < 0.6;
            if same && (other[0].1 - begin.1) * (other.last().unwrap().1 - end.1) < 0.0 {
                crossings += 1;
            }
        }
    }
    (frames.len(), crossings)
}

#[test]
fn plans_of_fifty_and_of_two_hundred_can_be_followed_with_a_finger() {
    let plans = [
        ("tin-whistle.yaml", "VFD-3/bus-lost", "electrician", 60, 45),
        ("tin-whistle.yaml", "EF-1/stopped", "electrician", 260, 190),
        ("ferry-hall.yaml", "X-FRY/stopped", "anyone", 60, 40),
    ];
    for (sheet, complaint, who, most, least) in plans {
        let session = complained(begin(demo_job(sheet), who), complaint);
        let graph = session.chart(Bounds { most, ..bounds(1e-3) }, &mut |_| {}).unwrap();
        let chart = Chart::new(session.model(), &graph, session.about());
        let (boxes, crossings) = measured(&svg(&chart));
        assert!(boxes >= least, "{sheet}, {complaint}: only {boxes} boxes");
        assert_eq!(crossings, 0, "{sheet}, {complaint}");
    }
}

/// The sheet has two pages, each whole: notice, cautions in full, and a drawing with letters that a page can carry.
#[test]
fn the_sheet_is_two_pages_that_can_be_read() {
    let session = complained(begin(demo_job("tin-whistle.yaml"), "electrician"), "VFD-3/bus-lost");
    let graph = session.chart(Bounds { most: 60, ..bounds(1e-3) }, &mut |_| {}).unwrap();
    let chart = Chart::new(session.model(), &graph, session.about());
    let page = sheet(&chart);
    let options = roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
    let document = Document::parse_with_options(&page, options).unwrap();
    let pages: Vec<Node<'_, '_>> =
        document.descendants().filter(|node| node.attribute("class") == Some("page")).collect();
    assert_eq!(pages.len(), 2);
    for one in pages {
        assert!(one.descendants().any(|node| node.attribute("class") == Some("notice")));
        let drawn = one.descendants().find(|node| node.has_tag_name("svg")).unwrap();
        let size: Vec<f64> =
            drawn.attribute("viewBox").unwrap().split(' ').map(|text| text.parse().unwrap()).collect();
        // 192 mm wide and at most 205 mm high: what the smallest letters, 10.5 units high, measure there.
        let scale = (192.0 / size[2]).min(205.0 / size[3]);
        assert!(10.5 * scale >= 1.3, "letters of {} mm", 10.5 * scale);
        for card in
            one.descendants().filter(|node| node.attribute("id").is_some_and(|id| id.starts_with('n')))
        {
            let number: usize = card.attribute("id").unwrap()[1..].parse().unwrap();
            for caution in &chart.card(number).unwrap().cautions {
                let told =
                    one.descendants().filter_map(|node| node.text()).any(|text| text.contains(&caution.text));
                assert!(told, "a caution is not on the page: {}", caution.text);
            }
        }
    }
}
