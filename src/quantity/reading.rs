//! Readings as a person types them: `4.2 4.1 4.4`, `208 V`, `460/462/458`, `0.4 in. w.g.`, `98 F`.
//!
//! Numbers are decimal. A comma between digits is a list where a list of just so many numbers is wanted; where it could
//! as well be a decimal comma or separate thousands, the text is refused with what it could mean.

use super::measure::Measure;

/// Why a text is no reading.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum Misread {
    /// Nothing there.
    #[error("no number given")]
    Empty,
    /// A word that is neither a number nor a unit of measure.
    #[error("`{word}` is neither a number nor a unit of measure")]
    NotANumber {
        /// The word.
        word: String,
    },
    /// A number that no instrument shows.
    #[error("`{word}` is out of range")]
    OutOfRange {
        /// The number as typed.
        word: String,
    },
    /// Another number of readings than the test asks for.
    #[error("{} wanted, {got} given", how_many(*wanted))]
    WrongCount {
        /// How many the test asks for.
        wanted: usize,
        /// How many there are.
        got: usize,
    },
    /// A unit of another kind.
    #[error("{typed} measures {}, but {wanted} is wanted", typed.quantity)]
    WrongQuantity {
        /// The unit as typed.
        typed: Measure,
        /// The unit that the test states.
        wanted: Measure,
    },
    /// It could mean several things.
    #[error("`{text}` could mean {}", meanings.join(" or "))]
    Ambiguous {
        /// The text in doubt.
        text: String,
        /// What it could mean.
        meanings: Vec<String>,
    },
}

fn how_many(wanted: usize) -> String {
    if wanted == 1 { "one number".to_owned() } else { format!("{wanted} numbers") }
}

/// Largest magnitude accepted.
const LIMIT: f64 = 1e15;

enum Token {
    Number(f64),
    Measure(Measure),
}

/// `text` as `count` numbers in the unit `measure`; a unit that was typed is converted into it.
///
/// A unit counts for the numbers before it that have none, and for those after it that get none.
///
/// # Errors
/// See [`Misread`].
pub fn readings(text: &str, measure: Measure, count: usize) -> Result<Vec<f64>, Misread> {
    let text = &*settle_commas(text, count)?;
    let tokens = tokens(text)?;
    let mut numbers: Vec<(f64, Option<Measure>)> = Vec::new();
    for token in tokens {
        match token {
            Token::Number(value) => numbers.push((value, None)),
            Token::Measure(typed) => {
                if numbers.is_empty() {
                    return Err(Misread::NotANumber { word: typed.symbol.to_owned() });
                }
                if typed.quantity != measure.quantity {
                    return Err(Misread::WrongQuantity { typed, wanted: measure });
                }
                for open in numbers.iter_mut().rev().take_while(|n| n.1.is_none()) {
                    open.1 = Some(typed);
                }
            }
        }
    }
    if numbers.is_empty() {
        return Err(Misread::Empty);
    }
    if numbers.len() != count {
        return Err(Misread::WrongCount { wanted: count, got: numbers.len() });
    }
    let mut last = None;
    numbers
        .into_iter()
        .map(|(value, typed)| {
            last = typed.or(last);
            let value = last.map_or(Some(value), |typed| typed.convert(value, &measure));
            value.filter(|v| v.is_finite()).ok_or(Misread::Empty)
        })
        .collect()
}

/// `text` as any number of numbers, each with the unit of measure that was typed behind it, or none. A comma parts numbers.
///
/// # Errors
/// See [`Misread`].
pub(super) fn with_units(text: &str) -> Result<Vec<(f64, Option<Measure>)>, Misread> {
    let mut numbers: Vec<(f64, Option<Measure>)> = Vec::new();
    for token in tokens(&text.replace([',', ';'], " "))? {
        match (token, numbers.last_mut()) {
            (Token::Number(value), _) => numbers.push((value, None)),
            (Token::Measure(typed), Some((_, open @ None))) => *open = Some(typed),
            (Token::Measure(typed), _) => return Err(Misread::NotANumber { word: typed.symbol.to_owned() }),
        }
    }
    if numbers.is_empty() { Err(Misread::Empty) } else { Ok(numbers) }
}

/// Commas between digits: blanks where that gives the number of readings wanted, else in doubt.
fn settle_commas(text: &str, count: usize) -> Result<String, Misread> {
    let bytes = text.as_bytes();
    let digit = |at: Option<usize>| at.and_then(|at| bytes.get(at)).is_some_and(u8::is_ascii_digit);
    let tight = |at: usize| digit(at.checked_sub(1)) && digit(Some(at + 1));
    let commas: Vec<usize> = text.match_indices(',').map(|(at, _)| at).filter(|&at| tight(at)).collect();
    let spaced: String = text.replace([',', ';'], " ");
    if commas.is_empty() {
        return Ok(spaced);
    }
    let numbers = |text: &str| {
        tokens(text).map(|t| t.iter().filter(|t| matches!(t, Token::Number(_))).count()).unwrap_or(0)
    };
    if numbers(&spaced) == count {
        return Ok(spaced);
    }
    // As decimal commas, or as separate thousands, would the count be right?
    let with = |as_what: &str| {
        let mut out = String::new();
        for (at, c) in text.char_indices() {
            match c {
                ',' if commas.contains(&at) => out.push_str(as_what),
                ',' | ';' => out.push(' '),
                c => out.push(c),
            }
        }
        out.trim().to_owned()
    };
    let thousands = commas.iter().all(|&at| {
        (1..=3).all(|k| digit(Some(at + k))) && !digit(Some(at + 4)) && bytes.get(at + 4) != Some(&b',')
    });
    let mut meanings = Vec::new();
    for (possible, as_what) in [(true, "."), (thousands, "")] {
        let text = with(as_what);
        if possible && numbers(&text) == count {
            meanings.push(text);
        }
    }
    if meanings.is_empty() {
        return Err(Misread::WrongCount { wanted: count, got: numbers(&spaced) });
    }
    meanings.push(format!("{} numbers", numbers(&spaced)));
    Err(Misread::Ambiguous { text: text.trim().to_owned(), meanings })
}

fn tokens(text: &str) -> Result<Vec<Token>, Misread> {
    let mut tokens = Vec::new();
    let mut rest = text.trim_start();
    while let Some(first) = rest.chars().next() {
        // A slash or a dash parts numbers; a dash that touches a digit and follows a blank is a sign.
        if first == '/' || first == '&' {
            rest = rest[1..].trim_start();
            continue;
        }
        if let Some(len) = number_length(rest) {
            let word = &rest[..len];
            let tail = &rest[len..];
            // `0x1F`, `4E`, `3phase`: letters that touch the number must be a unit.
            let touching = tail.chars().next().is_some_and(char::is_alphabetic);
            let run_on = tail.starts_with(['.', '-', '+']);
            if run_on || touching && Measure::at_start(tail).is_none() {
                return Err(Misread::NotANumber { word: word_at(rest).to_owned() });
            }
            let value: f64 = word.parse().map_err(|_| Misread::NotANumber { word: word.to_owned() })?;
            if value.abs() > LIMIT {
                return Err(Misread::OutOfRange { word: word.to_owned() });
            }
            tokens.push(Token::Number(value));
            rest = tail.trim_start();
        } else if let Some((measure, len)) = Measure::at_start(rest) {
            tokens.push(Token::Measure(measure));
            rest = rest[len..].trim_start();
        } else {
            let word = word_at(rest);
            if !word.eq_ignore_ascii_case("and") {
                return Err(Misread::NotANumber { word: word.to_owned() });
            }
            rest = rest[word.len()..].trim_start();
        }
    }
    Ok(tokens)
}

/// The text up to the next blank.
fn word_at(text: &str) -> &str {
    text.split_whitespace().next().unwrap_or(text)
}

/// The length of the decimal number at the start, if there is one.
fn number_length(text: &str) -> Option<usize> {
    let bytes = text.as_bytes();
    let digits = |mut at: usize| {
        let from = at;
        while bytes.get(at).is_some_and(u8::is_ascii_digit) {
            at += 1;
        }
        (at, at - from)
    };
    let sign = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    let (mut at, whole) = digits(sign);
    let mut parts = 0;
    if bytes.get(at) == Some(&b'.') {
        let (end, fraction) = digits(at + 1);
        parts = fraction;
        // The dot of `4.` belongs to the number, unless a second one follows.
        if fraction > 0 || whole > 0 {
            at = end;
        }
    }
    if whole + parts == 0 {
        return None;
    }
    if matches!(bytes.get(at), Some(b'e' | b'E')) {
        let signed = usize::from(matches!(bytes.get(at + 1), Some(b'+' | b'-')));
        let (end, power) = digits(at + 1 + signed);
        if power > 0 {
            at = end;
        }
    }
    Some(at)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, measure: &str, count: usize) -> Result<Vec<f64>, Misread> {
        readings(text, Measure::named(measure).expect("a unit"), count)
    }

    #[test]
    fn what_a_person_types() {
        for (text, measure, count, expected) in [
            ("4.2 4.1 4.4", "A", 3, vec![4.2, 4.1, 4.4]),
            ("4.2 A 4.1 A and 4.4 A", "A", 3, vec![4.2, 4.1, 4.4]),
            ("4.2, 4.1, 4.4 amps", "A", 3, vec![4.2, 4.1, 4.4]),
            ("3.9,4.0,4.1", "A", 3, vec![3.9, 4.0, 4.1]),
            ("208 V", "V", 1, vec![208.0]),
            ("208v", "V", 1, vec![208.0]),
            ("0.48 kV", "V", 1, vec![480.0]),
            ("460/462/458", "V", 3, vec![460.0, 462.0, 458.0]),
            ("4200 4100 mA", "A", 2, vec![4.2, 4.1]),
            ("4.2 A 4.1", "A", 2, vec![4.2, 4.1]),
            (".4 in. w.g.", "inwg", 1, vec![0.4]),
            ("0.4\"wc", "inwg", 1, vec![0.4]),
            ("98 F", "F", 1, vec![98.0]),
            ("-3", "C", 1, vec![-3.0]),
            ("1e-3", "V", 1, vec![0.001]),
            ("0", "V", 1, vec![0.0]),
            ("4,5", "count", 2, vec![4.0, 5.0]),
            ("55 %", "%", 1, vec![55.0]),
        ] {
            assert_eq!(read(text, measure, count), Ok(expected), "{text}");
        }
        let warm = read("100 C", "F", 1).expect("a temperature");
        assert!((warm[0] - 212.0).abs() < 1e-9);
    }

    #[test]
    fn doubt_is_asked_back() {
        for (text, count) in [("4,2", 1), ("1,200", 1), ("4,2 4,1 4,4", 3)] {
            assert!(matches!(read(text, "V", count), Err(Misread::Ambiguous { .. })), "{text}");
        }
        let Err(Misread::Ambiguous { meanings, .. }) = read("1,200", "V", 1) else { panic!("in doubt") };
        assert_eq!(meanings, ["1.200", "1200", "2 numbers"]);
    }

    #[test]
    fn what_is_no_reading() {
        for text in ["NaN", "inf", "-inf", "0x1F", "infinity", "lots", "4.2.1 V x", "4E", "1e999"] {
            assert!(read(text, "V", 1).is_err(), "{text}");
        }
        assert_eq!(read("", "V", 1), Err(Misread::Empty));
        assert_eq!(read("V", "V", 1), Err(Misread::NotANumber { word: "V".into() }));
        assert_eq!(read("4 5", "V", 3), Err(Misread::WrongCount { wanted: 3, got: 2 }));
        assert!(matches!(read("4 A", "V", 1), Err(Misread::WrongQuantity { .. })));
        assert!(matches!(read("60 Hz", "rpm", 1), Err(Misread::WrongQuantity { .. })));
    }

    proptest::proptest! {
        #[test]
        fn readings_are_finite_or_refused(
            text in "([-+]?[0-9.,]{1,6}|[ /;&]|V|kV|mA|A|e9|in\\. w\\.g\\.|\"wc|and|F|ä|%){0,9}",
            count in 1_usize..4,
        ) {
            for unit in ["V", "A", "inwg", "F", "%"] {
                if let Ok(values) = read(&text, unit, count) {
                    proptest::prop_assert_eq!(values.len(), count);
                    proptest::prop_assert!(values.iter().all(|v| v.is_finite()));
                }
            }
        }

        #[test]
        fn what_was_printed_is_read_back(values in proptest::collection::vec(-1e9_f64..1e9, 1..4)) {
            let text = values.iter().map(f64::to_string).collect::<Vec<_>>().join(" ");
            proptest::prop_assert_eq!(read(&text, "V", values.len()), Ok(values));
        }
    }
}
