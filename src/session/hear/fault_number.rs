//! Fault numbers of a drive's own table.
//!
//! In: what was typed, and the table. Out: the entry, or the number as typed where the table has none. `7`, `07`, `f7` and
//! `F-07` are the same as `F07` as long as only one entry fits.

use super::index::Known;
use super::meaning::FaultNumber;
use super::token::{Token, stems};
use crate::model::catalog::FaultTable;

/// A number as letters and a value: `F07` is (`F`, 7).
fn parts(code: &str) -> Option<(String, u64)> {
    let bare: String = code.chars().filter(|c| c.is_ascii_alphanumeric()).collect::<String>().to_uppercase();
    let letters = bare.bytes().take_while(u8::is_ascii_alphabetic).count();
    let digits = &bare[letters..];
    (letters <= 5 && !digits.is_empty()).then_some(())?;
    Some((bare[..letters].to_owned(), digits.parse().ok()?))
}

/// Words that announce what a display shows.
const ANNOUNCE: &[&str] =
    &["show", "say", "display", "read", "flash", "blink", "fault", "cod", "error", "alarm", "number", "trip"];

/// Whether a word announces what a display shows.
pub(super) fn shows_a_code(token: &Token) -> bool {
    ANNOUNCE.contains(&token.stem.as_str())
}

/// Words after a number that make it an amount of something, and no fault number.
const AMOUNT: &[&str] = &[
    "time", "second", "sec", "s", "minut", "min", "hour", "hr", "h", "day", "week", "month", "year", "hz",
    "hertz", "amp", "a", "volt", "v", "percent", "pct", "degre", "deg", "rpm", "fan", "driv", "motor", "pm",
    "am", "oclock", "o", "or", "to", "st", "nd", "rd", "th", "of",
];

/// The words of `said` among which an unasked fault number is sought: bare digits count only after a word that announces
/// them, not as part of a unit's name (`named`), and not as an amount ("trips after 12 minutes").
pub(super) fn without_amounts(said: &[Token], named: &dyn Fn(usize) -> bool) -> Vec<Token> {
    let mut announced = false;
    let mut kept = Vec::with_capacity(said.len());
    for (at, token) in said.iter().enumerate() {
        let bare = token.text.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        let amount =
            said.get(at + 1).is_some_and(|next| !next.after_stop && AMOUNT.contains(&next.stem.as_str()));
        if !bare || announced && !amount && !named(at) {
            kept.push(token.clone());
        }
        announced |= shows_a_code(token);
    }
    kept
}

/// Words after a number that make it a measure: "trips after 5 minutes", "the 1/2 hp fan".
const MEASURES: &[&str] = &[
    "time",
    "second",
    "sec",
    "minut",
    "min",
    "hour",
    "hr",
    "day",
    "week",
    "month",
    "year",
    "hz",
    "hertz",
    "amp",
    "volt",
    "v",
    "percent",
    "pct",
    "degre",
    "deg",
    "rpm",
    "hp",
    "horsepower",
    "kw",
    "watt",
    "gaug",
    "awg",
    "inch",
    "foot",
    "feet",
    "ohm",
    "ma",
];

/// The words without the numbers that say how much, how long or how big: they name no unit. The words of a size go with
/// them ("1/2 hp"), those of a time stay.
pub(super) fn without_measures(said: &[Token], known: &[Vec<Known>]) -> (Vec<Token>, Vec<Vec<Known>>) {
    let bare = |at: usize| {
        said.get(at).is_some_and(|t| t.text.bytes().all(|b| b.is_ascii_digit() || b == b'.' || b == b','))
    };
    let measure =
        |at: usize| said.get(at).is_some_and(|t| !t.after_stop && MEASURES.contains(&t.stem.as_str()));
    let size = |at: usize| {
        said.get(at)
            .is_some_and(|t| matches!(t.stem.as_str(), "hp" | "horsepower" | "kw" | "gaug" | "awg" | "inch"))
    };
    let amount = |at: usize| {
        bare(at) && (measure(at + 1) || bare(at + 1) && !said[at + 1].after_stop && measure(at + 2))
    };
    let gone = |at: usize| amount(at) || size(at) && at > 0 && bare(at - 1);
    let mut stop = false;
    let (mut tokens, mut words) = (Vec::with_capacity(said.len()), Vec::with_capacity(said.len()));
    for at in 0..said.len() {
        stop |= said[at].after_stop;
        if !gone(at) {
            let mut token = said[at].clone();
            token.after_stop = std::mem::take(&mut stop);
            tokens.push(token);
            words.push(known[at].clone());
        }
    }
    (tokens, words)
}

/// A number in no table, told unasked: letters and digits after a word that announces them ("says F07"), or digits right
/// after "fault", "code" or "error". `said`: see [`without_amounts`].
pub(super) fn unlisted(said: &[Token]) -> Option<FaultNumber> {
    let mut announced = false;
    for (at, token) in said.iter().enumerate() {
        let letters = token.text.bytes().take_while(u8::is_ascii_alphabetic).count();
        let digits = token.text.len() - letters;
        let code = letters <= 3
            && (1..=4).contains(&digits)
            && token.text.bytes().skip(letters).all(|b| b.is_ascii_digit());
        let called = at > 0 && matches!(said[at - 1].stem.as_str(), "fault" | "cod" | "error" | "number");
        if code && (announced && letters > 0 || called) {
            return Some(FaultNumber { typed: token.text.to_uppercase(), entry: None, outcome: None });
        }
        let joined =
            said.get(at + 1).filter(|next| next.joined && next.text.bytes().all(|b| b.is_ascii_digit()));
        if let (Some(next), true, 1..=3, 0) = (joined, announced, letters, digits) {
            let typed = format!("{}{}", token.text, next.text).to_uppercase();
            return Some(FaultNumber { typed, entry: None, outcome: None });
        }
        announced |= shows_a_code(token);
    }
    None
}

/// The number that `said` holds. `asked`: a number was asked for, so that bare digits count; else they need a word such
/// as "fault" before them, or letters that the table knows.
pub(super) fn fault_number(said: &[Token], table: &FaultTable, asked: bool) -> Option<FaultNumber> {
    let mut announced = asked;
    for (at, token) in said.iter().enumerate() {
        let after = std::mem::replace(
            &mut announced,
            asked || matches!(token.stem.as_str(), "fault" | "cod" | "error" | "alarm" | "trip" | "number"),
        );
        let joined =
            said.get(at + 1).filter(|n| n.has_digit() && !token.has_digit() && token.text.len() <= 3);
        let codes = [joined.map(|next| format!("{}{}", token.text, next.text)), Some(token.text.clone())];
        for code in codes.into_iter().flatten() {
            let upper = code.to_uppercase();
            let exact = |e: &&(String, usize, String)| {
                let shown: String = e.0.chars().filter(|c| c.is_ascii_alphanumeric()).collect();
                shown.eq_ignore_ascii_case(&upper) && (upper.bytes().any(|b| b.is_ascii_digit()) || asked)
            };
            let entry = table.entries.iter().find(exact).or_else(|| by_value(&code, table, after));
            if let Some(entry) = entry {
                let position = table.entries.iter().position(|e| std::ptr::eq(e, entry));
                return Some(FaultNumber { typed: entry.0.clone(), entry: position, outcome: Some(entry.1) });
            }
        }
    }
    if !asked {
        return None;
    }
    let code = said.iter().enumerate().find(|(_, t)| t.has_digit())?;
    let before = code.0.checked_sub(1).map(|at| &said[at]).filter(|t| {
        !code.1.has_digit()
            || code.1.text.bytes().all(|b| b.is_ascii_digit())
                && t.text.len() <= 2
                && t.text != "a"
                && t.text != "is"
                && t.text != "it"
                && t.text != "i"
    });
    let typed = format!("{}{}", before.map_or("", |t| t.text.as_str()), code.1.text).to_uppercase();
    Some(FaultNumber { typed, entry: None, outcome: None })
}

fn by_value<'a>(code: &str, table: &'a FaultTable, bare_counts: bool) -> Option<&'a (String, usize, String)> {
    let (letters, value) = parts(code)?;
    if letters.is_empty() && !bare_counts {
        return None;
    }
    let mut fitting = table.entries.iter().filter(|e| {
        parts(&e.0)
            .is_some_and(|(theirs, number)| number == value && (letters.is_empty() || theirs == letters))
    });
    let first = fitting.next()?;
    fitting.next().is_none().then_some(first)
}

/// The only entry whose label holds all of `said`'s words, or all of whose label's words are said.
pub(super) fn by_label(said: &[Token], table: &FaultTable) -> Option<FaultNumber> {
    let words: Vec<&str> = said.iter().filter(|t| t.counts()).map(|t| t.stem.as_str()).collect();
    if words.is_empty() {
        return None;
    }
    let fits = |e: &(String, usize, String)| {
        let label = stems(&e.2);
        !label.is_empty()
            && (words.iter().all(|w| label.iter().any(|l| l == w))
                || label.iter().all(|l| words.contains(&l.as_str())))
    };
    let mut fitting = table.entries.iter().enumerate().filter(|(_, e)| fits(e));
    let (at, entry) = fitting.next()?;
    let others_same_class = fitting.all(|(_, e)| e.1 == entry.1);
    others_same_class.then(|| FaultNumber { typed: entry.0.clone(), entry: Some(at), outcome: Some(entry.1) })
}
