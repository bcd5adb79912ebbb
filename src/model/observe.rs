//! From what was typed to what it says of findings: an outcome, a value with its spread, a fault class.
//!
//! A value becomes weights by the bands of the finding and a normal error, which is inference's business: here it is
//! only worked out, with the nameplate values that it needs.

use super::catalog::{Model, Reading, Scale, Test};
use super::index::{FindingIx, TestIx, UnitIx};
use crate::diagnostic::nearest;
use crate::knowledge::Accuracy;
use crate::quantity::{self, Evaluated, Misread, Value};

/// What was observed of one finding.
#[derive(Clone, PartialEq, Debug)]
pub struct Observed {
    /// The finding.
    pub finding: FindingIx,
    /// What it says.
    pub seen: Seen,
}

/// What an observation says.
#[derive(Clone, PartialEq, Debug)]
pub enum Seen {
    /// This outcome.
    Outcome(usize),
    /// Some outcome, but not the normal one: a fault whose class is not known.
    Abnormal {
        /// The words of the display or label, as they were given.
        words: String,
    },
    /// A measured value.
    Value {
        /// The value that the bands speak of.
        value: f64,
        /// Its standard deviation, 0 for an exact value.
        sd: f64,
    },
}

/// Why a text says nothing of a finding.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum Unreadable {
    /// Not as many numbers in the right unit of measure as the test asks for.
    #[error(transparent)]
    Misread(#[from] Misread),
    /// The value needs nameplate data that nobody has told yet.
    #[error("the nameplate is needed first")]
    NeedsNameplate(Vec<(UnitIx, String)>),
    /// The readings have no value: a division by zero, say.
    #[error("these readings have no value: {0}")]
    NoValue(String),
    /// The value lies beyond all bands of the finding.
    #[error("that comes to {}, and this test knows {} only: please check the reading and its unit of measure", short(*value), known(*from, *to))]
    Beyond {
        /// The value.
        value: f64,
        /// The lowest edge, or −∞.
        from: f64,
        /// The highest edge, or ∞.
        to: f64,
    },
    /// The test takes no readings.
    #[error("this is no reading")]
    NoReading,
    /// The test has no fault numbers.
    #[error("this is no question for a fault number")]
    NoFaultNumber,
    /// Several numbers of the drive's table could be meant.
    #[error("this could be {}", .0.join(" or "))]
    Ambiguous(Vec<String>),
    /// No outcome of that name.
    #[error("there is no answer `{text}` here")]
    UnknownOutcome {
        /// What was given.
        text: String,
        /// The nearest outcomes, else all.
        valid: Vec<String>,
    },
}

/// A number to three digits or so.
fn short(value: f64) -> String {
    let digits = if value == 0.0 { 0.0 } else { (2.0 - value.abs().log10().floor()).clamp(0.0, 6.0) };
    let power = 10f64.powf(digits);
    ((value * power).round() / power).to_string()
}

fn known(from: f64, to: f64) -> String {
    match (from.is_finite(), to.is_finite()) {
        (true, true) => format!("{} to {}", short(from), short(to)),
        (true, false) => format!("{} and more", short(from)),
        (false, true) => format!("up to {}", short(to)),
        (false, false) => "other values".to_owned(),
    }
}

impl Model {
    /// The outcome of `finding` that is called `text`.
    ///
    /// # Errors
    /// With the nearest names, or all.
    pub fn outcome(&self, finding: FindingIx, text: &str) -> Result<usize, Unreadable> {
        let outcomes = &self.findings[finding.at()].outcomes;
        let plain = plain(text);
        outcomes
            .iter()
            .position(|o| o == text)
            .or_else(|| outcomes.iter().position(|o| self::plain(o) == plain))
            .ok_or_else(|| {
                let near = nearest(text, outcomes.iter().map(String::as_str));
                let valid = if near.is_empty() { outcomes.clone() } else { near };
                Unreadable::UnknownOutcome { text: text.to_owned(), valid }
            })
    }

    /// `text` as the readings of `test`: one observation for each of its findings that has bands.
    ///
    /// # Errors
    /// See [`Unreadable`].
    pub fn read(&self, test: TestIx, text: &str) -> Result<Vec<Observed>, Unreadable> {
        let test = &self.tests[test.at()];
        let reading = test.reading.as_ref().ok_or(Unreadable::NoReading)?;
        let wanted = reading.wanted().ok_or(Unreadable::NoReading)?;
        measured(test, reading, &quantity::entry(text, &wanted)?)
    }

    /// The same from numbers in the test's own unit of measure.
    ///
    /// # Errors
    /// See [`Unreadable`].
    pub fn measured(&self, test: TestIx, readings: &[f64]) -> Result<Vec<Observed>, Unreadable> {
        let test = &self.tests[test.at()];
        let reading = test.reading.as_ref().ok_or(Unreadable::NoReading)?;
        if reading.count() != readings.len() {
            return Err(Misread::WrongCount { wanted: reading.count(), got: readings.len() }.into());
        }
        if let Some(odd) = readings.iter().find(|r| !r.is_finite()) {
            return Err(Misread::OutOfRange { word: odd.to_string() }.into());
        }
        measured(test, reading, readings)
    }

    /// `text` as what a display says: one of the drive's own fault numbers, the words of its label, or the name of a
    /// class. A fault that no table explains is still a fault.
    ///
    /// Where the test is a log or another choice of several (one finding per class), `text` may hold several numbers or
    /// names, parted by commas or blanks; a class that is not named is not there, unless some number could not be told.
    ///
    /// # Errors
    /// Where it could be several, or the test has no fault numbers.
    pub fn fault(&self, test: TestIx, text: &str) -> Result<Vec<Observed>, Unreadable> {
        let test = &self.tests[test.at()];
        if test.gives.iter().any(|gives| gives.class.is_some()) {
            return fault_log(test, text);
        }
        let mut seen = Vec::new();
        for gives in &test.gives {
            let Some(table) = &gives.fault_table else { continue };
            let found = if let Ok(outcome) = self.outcome(gives.finding, text) {
                Seen::Outcome(outcome)
            } else if let Some(entry) = look_up(&table.entries, text)? {
                Seen::Outcome(table.entries[entry].1)
            } else {
                Seen::Abnormal { words: text.trim().to_owned() }
            };
            seen.push(Observed { finding: gives.finding, seen: found });
        }
        if seen.is_empty() { Err(Unreadable::NoFaultNumber) } else { Ok(seen) }
    }
}

fn fault_log(test: &Test, text: &str) -> Result<Vec<Observed>, Unreadable> {
    let mut words: Vec<&str> = text.split([',', ';']).map(str::trim).filter(|w| !w.is_empty()).collect();
    if let [only] = words.as_slice() {
        words = only.split_whitespace().collect();
    }
    let nothing =
        matches!(words.as_slice(), [only] if matches!(&*plain(only), "none" | "no" | "nothing" | "empty"));
    if nothing {
        words.clear();
    } else if words.is_empty() {
        return Err(Misread::Empty.into());
    }
    let has_table = test.gives.iter().any(|gives| gives.fault_table.is_some());
    let mut told = true;
    let mut yes = vec![false; test.gives.len()];
    for word in words {
        let mut known = false;
        for (gives, yes) in test.gives.iter().zip(&mut yes) {
            let named = gives.class.as_deref().is_some_and(|class| plain(class) == plain(word));
            let listed = match &gives.fault_table {
                Some(table) => look_up(&table.entries, word)?.is_some(),
                None => false,
            };
            *yes |= named || listed;
            known |= named || listed;
        }
        if !known && !has_table {
            let classes: Vec<String> = test.gives.iter().filter_map(|gives| gives.class.clone()).collect();
            let near = nearest(word, classes.iter().map(String::as_str));
            let valid = if near.is_empty() { classes } else { near };
            return Err(Unreadable::UnknownOutcome { text: word.to_owned(), valid });
        }
        told &= known;
    }
    let seen = test.gives.iter().zip(yes).filter(|&(_, yes)| yes || told);
    Ok(seen
        .map(|(gives, yes)| Observed { finding: gives.finding, seen: Seen::Outcome(usize::from(yes)) })
        .collect())
}

/// The values of a test's findings.
fn measured(test: &Test, reading: &Reading, readings: &[f64]) -> Result<Vec<Observed>, Unreadable> {
    let scaled = test.gives.iter().filter_map(|gives| Some((gives.finding, gives.scale.as_ref()?)));
    let scaled: Vec<_> = scaled.collect();
    let mut unknown: Vec<(UnitIx, String)> =
        scaled.iter().flat_map(|(_, scale)| scale.unknown.clone()).collect();
    unknown.sort();
    unknown.dedup();
    if !unknown.is_empty() {
        return Err(Unreadable::NeedsNameplate(unknown));
    }
    if scaled.is_empty() {
        return Err(Unreadable::NoReading);
    }
    scaled
        .into_iter()
        .map(|(finding, scale)| {
            let value = value(scale, reading, readings)?;
            let sd = match scale.accuracy {
                Accuracy::Exact => 0.0,
                Accuracy::Relative(share) => 0.5 * share * value.abs(),
                Accuracy::Absolute(spread) => 0.5 * spread,
            };
            Ok(Observed { finding, seen: Seen::Value { value, sd } })
        })
        .collect()
}

fn value(scale: &Scale, reading: &Reading, readings: &[f64]) -> Result<f64, Unreadable> {
    let Some(expression) = &scale.value else {
        return readings.first().copied().ok_or(Unreadable::NoReading);
    };
    let value_of = |name: &str| match name {
        "reading" => readings.first().map(|&r| Value::Number(r)),
        "readings" => Some(Value::Numbers(readings.to_vec())),
        _ => match reading.part(name, readings) {
            Some(&[number]) => Some(Value::Number(number)),
            Some(numbers) => Some(Value::Numbers(numbers.to_vec())),
            None => scale.facts.iter().find(|(known, _)| known == name).map(|(_, value)| value.clone()),
        },
    };
    match expression.evaluate(&value_of) {
        Evaluated::Known(Value::Number(value)) => Ok(value),
        Evaluated::Known(_) => Err(Unreadable::NoValue("it is no number".to_owned())),
        Evaluated::Unknown(names) => Err(Unreadable::NoValue(format!("{} is not known", names.join(", ")))),
        Evaluated::Failed(why) => Err(Unreadable::NoValue(why)),
    }
}

/// The entry of a drive's table that `text` means: its number as shown, a number within the text, or its label.
fn look_up(entries: &[(String, usize, String)], text: &str) -> Result<Option<usize>, Unreadable> {
    let by = |matches: &dyn Fn(&(String, usize, String)) -> bool| -> Vec<usize> {
        entries.iter().enumerate().filter(|(_, entry)| matches(entry)).map(|(at, _)| at).collect()
    };
    let wanted = number(text);
    if wanted.is_empty() {
        return Ok(None);
    }
    let words: Vec<String> = text.split_whitespace().map(number).filter(|word| has_digit(word)).collect();
    let bare: Vec<&String> = words.iter().filter(|word| word.chars().all(|c| c.is_ascii_digit())).collect();
    let spoken = plain(text);
    let attempts: [Vec<usize>; 4] = [
        by(&|(shown, ..)| number(shown) == wanted),
        by(&|(shown, ..)| words.contains(&number(shown))),
        // `7` for `F07`; but `E7` is another one.
        by(&|(shown, ..)| {
            let digits: String = number(shown).chars().filter(char::is_ascii_digit).collect();
            bare.iter().any(|&word| *word == digits)
        }),
        by(&|(_, _, label)| {
            let long = label.split_whitespace().count() > 1;
            let label = plain(label);
            !label.is_empty() && (label == spoken || long && spoken.contains(&label))
        }),
    ];
    for found in attempts {
        let mut outcomes: Vec<usize> = found.iter().map(|&at| entries[at].1).collect();
        outcomes.sort_unstable();
        outcomes.dedup();
        match (found.as_slice(), outcomes.len()) {
            ([], _) => {}
            ([first, ..], 1) => return Ok(Some(*first)),
            (several, _) => {
                let shown = several.iter().map(|&at| format!("{} ({})", entries[at].0, entries[at].2));
                return Err(Unreadable::Ambiguous(shown.collect()));
            }
        }
    }
    Ok(None)
}

fn has_digit(text: &str) -> bool {
    text.chars().any(|c| c.is_ascii_digit())
}

/// A fault number as it compares: letters small, without marks and leading zeros.
fn number(text: &str) -> String {
    let mut out = String::new();
    for c in plain(text).chars() {
        if c.is_ascii_digit()
            && out.ends_with('0')
            && !out.trim_end_matches('0').ends_with(|c: char| c.is_ascii_digit())
        {
            out.pop();
        }
        out.push(c);
    }
    out
}

/// Letters and digits alone, small.
fn plain(text: &str) -> String {
    text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}
