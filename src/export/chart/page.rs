//! The plan as one page for a phone: a card after the other, every answer a link. It needs no network and no script.

use std::fmt::Write as _;

use super::super::json::signal;
use super::super::number::share;
use super::escape::xml;
use super::{Card, Chart};

/// The look of the page. Answers are large enough for a thumb.
const STYLE: &str = "body{font:17px/1.4 sans-serif;margin:0 auto;max-width:44em;padding:.8em;color:#111;background:#fff}\
h1{font-size:1.3em}h2{font-size:1.1em;margin:.1em 0}section{border:2px solid #222;border-radius:4px;padding:.7em;\
margin:1.2em 0}section.fix{border-width:4px}section.change{border-style:double;border-width:6px}\
section.hand-over{border-style:dashed}section.open{border-style:dotted}section.emergency{border-width:6px}section.prove,section.done,\
section.put-back{border-radius:18px}section:target{outline:5px solid #999}.caution{font-weight:bold;\
border-left:6px solid #8a1500;padding-left:.5em}.notice{border:1px solid #222;padding:.5em}.small{font-size:.85em;\
color:#333;margin:.2em 0}a.answer{display:block;border-top:1px solid #999;padding:.7em .3em;color:#002a66;\
text-decoration:none}@media print{section{break-inside:avoid}}";

/// The plan as an HTML page, which is well-formed XML as well.
#[must_use]
pub fn html(chart: &Chart) -> String {
    let mut out = opening(&format!("Plan: {}", chart.title), STYLE);
    heading(&mut out, chart);
    for card in &chart.cards {
        section(&mut out, chart, card);
    }
    // Writing to a string cannot fail.
    let _ = write!(
        out,
        "<details><summary>Drawing</summary>\n<div style=\"overflow:auto\">{}</div></details>\n",
        super::svg(chart)
    );
    out.push_str("</body>\n</html>\n");
    out
}

/// The beginning of a document.
pub(super) fn opening(title: &str, style: &str) -> String {
    format!(
        "<!DOCTYPE html>\n<html xmlns=\"http://www.w3.org/1999/xhtml\" lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n<title>{}</title>\n\
         <style>{style}</style>\n</head>\n<body>\n",
        xml(title)
    )
}

/// Title, notice, what it is about.
pub(super) fn heading(out: &mut String, chart: &Chart) {
    let _ = writeln!(out, "<h1>Plan: {}</h1>\n<div class=\"notice\">", xml(&chart.title));
    for line in &chart.notice {
        let _ = writeln!(out, "<div>{}</div>", xml(line));
    }
    out.push_str("</div>\n");
    for line in &chart.about {
        let _ = writeln!(out, "<p class=\"small\">{}</p>", xml(line));
    }
}

fn section(out: &mut String, chart: &Chart, card: &Card) {
    let _ = writeln!(
        out,
        "<section id=\"c{0}\" class=\"{1}\">\n<h2>{0}. {2}</h2>",
        card.number,
        card.kind.name(),
        xml(&card.head)
    );
    for caution in &card.cautions {
        let _ = writeln!(out, "<p class=\"caution\">{}: {}</p>", signal(caution.signal), xml(&caution.text));
    }
    match card.lines.as_slice() {
        [line] => {
            let _ = writeln!(out, "<p>{}</p>", xml(line));
        }
        [] => {}
        lines => {
            let items: String = lines.iter().map(|line| format!("<li>{}</li>", xml(line))).collect();
            let _ = writeln!(out, "<ol>{items}</ol>");
        }
    }
    let small = card.notes.iter().cloned().chain([card.conditions.clone(), card.likely_line(), card.foot()]);
    for line in small.filter(|line| !line.is_empty()) {
        let _ = writeln!(out, "<p class=\"small\">{}</p>", xml(&line));
    }
    for answer in &card.answers {
        let say = if answer.say.is_empty() { "then" } else { &answer.say };
        let head = chart.card(answer.to).map_or("", |card| card.head.as_str());
        let _ = writeln!(
            out,
            "<a class=\"answer\" href=\"#c{0}\"><b>{1}</b> ({2}): {0}. {3}</a>",
            answer.to,
            xml(say),
            share(answer.chance),
            xml(head)
        );
    }
    out.push_str("</section>\n");
}
