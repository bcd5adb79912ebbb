//! What a package rests on.

use super::super::Role;
use super::super::page::Page;
use crate::knowledge::bibliography::{Bibliography, Entry, Sourced};
use crate::quantity::function::all;

/// The bibliography: sources with what cites them, then what has none.
pub fn bibliography(page: &mut Page, all_of_it: &Bibliography<'_>) {
    page.heading("Sources");
    for entry in &all_of_it.sources {
        source(page, entry);
    }
    let rest: [(&str, &[Sourced<'_>]); 3] = [
        ("Common practice, no published source", &all_of_it.common_practice),
        ("Judgement of the authors", &all_of_it.judgement),
        ("No source named", &all_of_it.unsourced),
    ];
    for (title, items) in rest {
        page.gap();
        page.heading(&format!("{title}: {}", items.len()));
        by_kind(page, items);
    }
    page.gap();
    page.heading("Arithmetic");
    for function in all() {
        page.labelled(Role::Aside, function.name, function.source);
    }
}

fn source(page: &mut Page, entry: &Entry<'_>) {
    let source = entry.source;
    let parts = [
        &source.author,
        &source.publisher,
        &source.year,
        &source.edition,
        &source.place,
        &source.url,
        &source.note,
    ];
    let parts = parts.into_iter().flatten().map(String::as_str);
    let seen = source.seen.map_or("not said how it was seen", crate::knowledge::Seen::word);
    let facts: Vec<&str> = parts.chain([seen]).collect();
    page.labelled(Role::Heading, &format!("{}/{}", entry.package, source.key.value), &source.title);
    page.under(&facts.join("; "));
    let cited = entry.cited_by.iter().map(|(item, place)| match place {
        Some(place) => format!("{} {} ({place})", item.kind.word(), item.path()),
        None => format!("{} {}", item.kind.word(), item.path()),
    });
    let supports: Vec<String> = source.supports.iter().map(|text| text.value.clone()).chain(cited).collect();
    page.point(&if supports.is_empty() {
        "supports nothing".to_owned()
    } else {
        format!("supports {}", supports.join(", "))
    });
}

/// `causes: 3: fan/…, fan/…`: one line for each kind.
fn by_kind(page: &mut Page, items: &[Sourced<'_>]) {
    let mut kinds: Vec<_> = items.iter().map(|item| item.kind).collect();
    kinds.sort_unstable();
    kinds.dedup();
    for kind in kinds {
        let names: Vec<String> = items.iter().filter(|item| item.kind == kind).map(Sourced::path).collect();
        page.labelled(Role::Aside, &format!("{} ({})", kind.word(), names.len()), &names.join(", "));
    }
}
