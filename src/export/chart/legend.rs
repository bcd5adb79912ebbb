//! What a drawing says once for all its cards: each caution in full, by a letter, and each change of work state act by act.
//!
//! A card keeps the signal word, the letter and the caution's first sentence before its step; the rest stands at the head,
//! before every step, so that a card stays small enough to be followed with a finger. ANSI Z535.6 groups safety messages
//! in the same way: in full at the beginning, short where they apply.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::super::json::signal;
use super::escape::{wrapped, xml};
use super::{Card, Kind};
use crate::model::practice::Signal;
use crate::session::prompt::Caution;

/// Columns of the head, their width and the characters that fit it.
const COLUMNS: usize = 3;
const COLUMN: f64 = 384.0;
const CHARACTERS: usize = 60;
const LINE: f64 = 14.0;

/// Cautions and changes by what the cards call them.
pub(super) struct Legend {
    cautions: Vec<(String, Caution)>,
    changes: Vec<(String, Vec<String>)>,
}

impl Legend {
    /// For these cards: letters for cautions, the worst signal first; numbers for changes, in the order of the cards.
    pub(super) fn of(cards: &[&Card]) -> Self {
        let mut found: BTreeMap<(Signal, &str), &Caution> = BTreeMap::new();
        for caution in cards.iter().flat_map(|card| &card.cautions) {
            found.insert((caution.signal, &caution.text), caution);
        }
        let mut worst: Vec<&Caution> = found.into_values().collect();
        worst.sort_by_key(|caution| severity(caution.signal));
        let mut changes: Vec<(String, Vec<String>)> = Vec::new();
        for card in cards.iter().filter(|card| card.kind == Kind::Change) {
            let change = (card.head.clone(), card.lines.clone());
            if !changes.contains(&change) {
                changes.push(change);
            }
        }
        let cautions = worst.into_iter().enumerate().map(|(at, one)| (letter(at), one.clone())).collect();
        Self { cautions, changes }
    }

    /// A caution as a card says it.
    pub(super) fn short(&self, caution: &Caution) -> String {
        let letter = self.cautions.iter().find(|(_, one)| one == caution).map_or("", |(letter, _)| letter);
        let first = caution.text.split_inclusive(". ").next().unwrap_or_default().trim();
        format!("{} {letter}: {first}", signal(caution.signal))
    }

    /// The acts of a change of work state as a card says them.
    pub(super) fn acts(&self, card: &Card) -> Option<String> {
        let at = self.changes.iter().position(|(head, lines)| *head == card.head && *lines == card.lines)?;
        Some(format!("All acts of {} at the head, 1 to {}, in that order", change(at), card.lines.len()))
    }

    /// Each entry: what the cards call it, and the whole of it.
    fn entries(&self) -> impl Iterator<Item = (String, Vec<String>, &'static str)> {
        let cautions = self.cautions.iter().map(|(letter, one)| {
            (format!("{letter}. {}", signal(one.signal)), vec![one.text.clone()], "caution")
        });
        let changes = self.changes.iter().enumerate().map(|(at, (head, lines))| {
            let acts = lines.iter().enumerate().map(|(number, line)| format!("{}) {line}", number + 1));
            (format!("{}. {head}", change(at)), acts.collect(), "note")
        });
        cautions.chain(changes)
    }

    /// In columns, from this point on; and how far down it reaches.
    pub(super) fn draw(&self, x: f64, y: f64) -> (String, f64) {
        let mut blocks: Vec<Vec<(String, &'static str)>> = Vec::new();
        for (name, texts, class) in self.entries() {
            let mut lines = vec![(name, "head")];
            for text in texts {
                lines.extend(wrapped(&text, CHARACTERS).into_iter().map(|line| (line, class)));
            }
            blocks.push(lines);
        }
        let mut body = String::new();
        let mut bottom = [y; COLUMNS];
        for lines in blocks {
            // Always into the shortest column, the leftmost of equal ones.
            let column =
                (1..COLUMNS).fold(0, |least, at| if bottom[at] < bottom[least] { at } else { least });
            let left = x + column as f64 * COLUMN;
            for (line, class) in lines {
                bottom[column] += LINE;
                // Writing to a string cannot fail.
                let _ = write!(
                    body,
                    "<text class=\"{class}\" x=\"{left:.1}\" y=\"{:.1}\">{}</text>",
                    bottom[column],
                    xml(&line)
                );
            }
            bottom[column] += LINE / 2.0;
        }
        (body, bottom.into_iter().fold(y, f64::max))
    }

    /// As paragraphs for a printed page.
    pub(super) fn print(&self, out: &mut String) {
        out.push_str("<div class=\"head-notes\">\n");
        for (name, texts, _) in self.entries() {
            let _ = writeln!(out, "<p><b>{}</b> {}</p>", xml(&name), xml(&texts.join(" ")));
        }
        out.push_str("</div>\n");
    }
}

/// The worst first.
const fn severity(signal: Signal) -> u8 {
    match signal {
        Signal::Danger => 0,
        Signal::Warning => 1,
        Signal::Caution => 2,
        Signal::Notice => 3,
    }
}

/// A, B … Z, AA …
fn letter(at: usize) -> String {
    let mut at = at;
    let mut letters = Vec::new();
    loop {
        letters.push(char::from(b'A' + u8::try_from(at % 26).unwrap_or_default()));
        if at < 26 {
            break;
        }
        at = at / 26 - 1;
    }
    letters.into_iter().rev().collect()
}

fn change(at: usize) -> String {
    format!("P{}", at + 1)
}

#[cfg(test)]
mod tests {
    #[test]
    fn letters_go_on_after_z() {
        assert_eq!([0, 25, 26, 51, 52].map(super::letter), ["A", "Z", "AA", "AZ", "BA"]);
    }
}
