//! Readings and other numbers as a person says them.
//!
//! In: a line with talk around the numbers ("it reads about 208 V", "L1 4.2, L2 4.1, L3 4.4 amps"). Out: the numbers in the
//! unit of measure asked for, or what is in doubt. The numbers themselves are read by [`crate::quantity::reading`].

use super::meaning::Doubt;
use crate::model::catalog::Part;
use crate::quantity::measure::Measure;
use crate::quantity::reading::{Misread, Wanted, entry};

/// Words around numbers.
const TALK: &[&str] = &[
    "it",
    "its",
    "it's",
    "is",
    "are",
    "was",
    "i",
    "i'm",
    "we",
    "reads",
    "read",
    "reading",
    "readings",
    "shows",
    "show",
    "showing",
    "says",
    "say",
    "saying",
    "get",
    "got",
    "getting",
    "have",
    "see",
    "measure",
    "measured",
    "about",
    "around",
    "roughly",
    "approx",
    "approximately",
    "exactly",
    "nearly",
    "almost",
    "ca",
    "maybe",
    "probably",
    "like",
    "of",
    "the",
    "a",
    "at",
    "between",
    "each",
    "meter",
    "display",
    "gauge",
    "that's",
    "thats",
    "there",
    "there's",
    "theres",
    "now",
    "on",
    "to",
    "from",
    "phase",
    "phases",
    "leg",
    "legs",
    "line",
    "it'd",
    "be",
    "yes",
    "yeah",
    "ok",
    "okay",
    "um",
    "uh",
    "so",
    "hmm",
    "well",
    "think",
    "guess",
    "just",
    "with",
    "for",
    "in",
    "then",
    "than",
    "only",
    "steady",
    "respectively",
    "one",
    "two",
    "three",
    "first",
    "second",
    "third",
];

/// Numbers in words, for a reading that is nothing but such words.
const IN_WORDS: &[&str] = &[
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
];

/// What a line gives as numbers.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum Numbers {
    /// These, in the unit of measure asked for.
    Read(Vec<f64>),
    /// There are numbers, but in doubt; with what they could mean.
    Doubtful(Doubt, Vec<String>),
    /// Some are there; what is still wanted, in words.
    Incomplete(String),
    /// The line is no reading.
    None,
}

/// `line` as `count` numbers in the unit `measured_in`; a unit that the table does not know is taken as a plain count.
pub(super) fn numbers(line: &str, measured_in: &str, count: usize) -> Numbers {
    let part = Part { id: String::new(), name: String::new(), measured_in: measured_in.to_owned(), count };
    entered(line, &[part])
}

/// `line` as the numbers of several quantities in one entry.
pub(super) fn entered(line: &str, parts: &[Part]) -> Numbers {
    let known = |part: &Part| Measure::named(&part.measured_in).or_else(|| Measure::named("count"));
    let wanted = parts.iter().map(|part| Some(Wanted { measure: known(part)?, count: part.count }));
    let Some(wanted) = wanted.collect::<Option<Vec<Wanted>>>() else { return Numbers::None };
    let mut bare = bare(line, parts, &wanted);
    if !bare.bytes().any(|b| b.is_ascii_digit()) {
        let words: Vec<String> = line.split_whitespace().map(str::to_lowercase).collect();
        let number = |word: &String| IN_WORDS.iter().position(|w| w == word).map(|n| n.to_string());
        let as_digits: Option<Vec<String>> = words
            .iter()
            .map(|w| number(w).or_else(|| Measure::named(w).map(|m| m.symbol.to_owned())))
            .collect();
        match as_digits.filter(|w| w.iter().any(|w| w.bytes().any(|b| b.is_ascii_digit()))) {
            Some(words) => bare = words.join(" "),
            None => return Numbers::None,
        }
    }
    match entry(&bare, &wanted) {
        Ok(values) => Numbers::Read(values),
        Err(Misread::Incomplete { missing }) => Numbers::Incomplete(still_wanted(parts, &missing)),
        Err(Misread::WrongCount { wanted, got }) => {
            Numbers::Doubtful(Doubt::HowManyNumbers { wanted, given: got }, Vec::new())
        }
        Err(Misread::WrongQuantity { .. }) => Numbers::Doubtful(Doubt::WrongMeasure, Vec::new()),
        Err(Misread::Ambiguous { meanings, .. }) => {
            let plain = meanings.into_iter().filter(|m| m.parse::<f64>().is_ok()).collect();
            Numbers::Doubtful(Doubt::SeveralFit, plain)
        }
        Err(Misread::OutOfRange { .. }) => Numbers::Doubtful(Doubt::NumberWanted, Vec::new()),
        Err(Misread::Empty | Misread::NotANumber { .. }) => Numbers::None,
    }
}

/// What an entry still lacks, in words: "2 numbers in A and the frequency in Hz".
fn still_wanted(parts: &[Part], missing: &[(usize, usize)]) -> String {
    let words = missing.iter().filter_map(|&(at, count)| {
        let part = parts.get(at)?;
        let what = match (count, &*part.name) {
            (1, "") => "a number".to_owned(),
            (1, name) => name.to_owned(),
            (count, _) => format!("{count} numbers"),
        };
        Some(format!("{what} in {}", part.measured_in))
    });
    words.collect::<Vec<_>>().join(" and ")
}

/// The line without the talk and the labels of phases.
fn bare(line: &str, parts: &[Part], wanted: &[Wanted]) -> String {
    let mut words = Vec::new();
    for word in line.split_whitespace() {
        let trimmed = word.trim_matches(|c: char| matches!(c, ',' | ';' | ':' | '!' | '?' | '(' | ')'));
        // The full stop of a sentence, not the one of `4.`.
        let trimmed =
            trimmed.strip_suffix('.').filter(|w| !w.ends_with('.') && !w.contains("w.g")).unwrap_or(trimmed);
        let (label, value) = trimmed.split_once(['=', ':']).unwrap_or(("", trimmed));
        let value = if is_label(label) || label.is_empty() { value } else { trimmed };
        let lower = value.to_lowercase();
        if value.is_empty()
            || is_label(value)
            || TALK.contains(&lower.as_str()) && !wanted.iter().any(|part| unit_word(&lower, &part.measure))
        {
            continue;
        }
        let unit = |part: &Part| {
            value.eq_ignore_ascii_case(&part.measured_in) && Measure::named(&part.measured_in).is_none()
        };
        if parts.iter().any(unit) {
            continue;
        }
        let comma = if word.ends_with([',', ';']) { "," } else { "" };
        words.push(format!("{value}{comma}"));
    }
    words.join(" ")
}

/// "in" belongs to "in. w.g.", and is an inch where lengths are asked for; it is talk elsewhere.
fn unit_word(word: &str, measure: &Measure) -> bool {
    word == "in"
        && matches!(
            measure.quantity,
            crate::quantity::measure::Quantity::Pressure | crate::quantity::measure::Quantity::Length
        )
}

/// `L1`, `T2`, `A-B`, `L1-L2`: which phase, not how much.
fn is_label(word: &str) -> bool {
    let phase = |part: &str| match part.as_bytes() {
        [a, b] => {
            matches!(a.to_ascii_uppercase(), b'L' | b'T' | b'U' | b'V' | b'W' | b'R' | b'S')
                && b"123".contains(b)
        }
        _ => false,
    };
    match word.split_once(['-', '/']) {
        Some((a, b)) => phase(a) && (phase(b) || b.eq_ignore_ascii_case("n") || b.eq_ignore_ascii_case("g")),
        None => phase(word),
    }
}
