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
    /// An entry of several quantities lacks some.
    #[error("not all numbers given")]
    Incomplete {
        /// What is still wanted: the place of the quantity in the list, and how many numbers of it.
        missing: Vec<(usize, usize)>,
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

/// Numbers of one quantity that an entry wants.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Wanted {
    /// In which unit of measure.
    pub measure: Measure,
    /// How many.
    pub count: usize,
}

/// `text` as `count` numbers in the unit `measure`; a unit that was typed is converted into it.
///
/// A unit counts for the numbers before it that have none, and for those after it that get none.
///
/// # Errors
/// See [`Misread`].
pub fn readings(text: &str, measure: Measure, count: usize) -> Result<Vec<f64>, Misread> {
    entry(text, &[Wanted { measure, count }])
}

/// `text` as the numbers of several quantities in one entry (`4.1 4.0 4.2 at 48 Hz`), in the order and the units of `wanted`.
///
/// A unit that was typed counts for the numbers before it that have none, as many as are wanted of its kind; so the order
/// does not matter where units tell. Numbers that get none fill what is left, in the order of `wanted`.
///
/// # Errors
/// See [`Misread`]; [`Misread::Incomplete`] only where several quantities are wanted.
pub fn entry(text: &str, wanted: &[Wanted]) -> Result<Vec<f64>, Misread> {
    let total = wanted.iter().map(|part| part.count).sum();
    let Some(first) = wanted.first() else { return Err(Misread::Empty) };
    let settled = match settle_commas(text, total) {
        Err(Misread::WrongCount { .. }) if wanted.len() > 1 => text.replace([',', ';'], " "),
        settled => settled?,
    };
    let mut numbers: Vec<(f64, Option<Measure>)> = Vec::new();
    for token in tokens(&settled)? {
        match token {
            Token::Number(value) => numbers.push((value, None)),
            Token::Measure(typed) => {
                if numbers.is_empty() {
                    return Err(Misread::NotANumber { word: typed.symbol.to_owned() });
                }
                let of_kind = |part: &&Wanted| part.measure.quantity == typed.quantity;
                if !wanted.iter().any(|part| of_kind(&part)) {
                    return Err(Misread::WrongQuantity { typed, wanted: first.measure });
                }
                let all: usize = wanted.iter().filter(of_kind).map(|part| part.count).sum();
                let has = |number: &(f64, Option<Measure>)| {
                    number.1.is_some_and(|measure| measure.quantity == typed.quantity)
                };
                let left = all.saturating_sub(numbers.iter().filter(|number| has(number)).count());
                let left = if wanted.len() == 1 { usize::MAX } else { left };
                if left == 0 && numbers.last().is_some_and(|last| last.1.is_none()) {
                    let total = wanted.iter().map(|part| part.count).sum();
                    return Err(Misread::WrongCount { wanted: total, got: numbers.len() });
                }
                for open in numbers.iter_mut().rev().take_while(|number| number.1.is_none()).take(left) {
                    open.1 = Some(typed);
                }
            }
        }
    }
    if numbers.is_empty() {
        return Err(Misread::Empty);
    }
    place(&numbers, wanted)
}

/// The numbers where they belong: first those whose unit says so, then the others into what is left, in order.
fn place(numbers: &[(f64, Option<Measure>)], wanted: &[Wanted]) -> Result<Vec<f64>, Misread> {
    let total: usize = wanted.iter().map(|part| part.count).sum();
    let wrong = || Misread::WrongCount { wanted: total, got: numbers.len() };
    if numbers.len() > total || wanted.len() == 1 && numbers.len() != total {
        return Err(wrong());
    }
    // Which quantity each number is of.
    let mut left: Vec<usize> = wanted.iter().map(|part| part.count).collect();
    let mut of: Vec<Option<usize>> = vec![None; numbers.len()];
    let several = wanted.len() > 1;
    for (at, number) in numbers.iter().enumerate().filter(|_| several) {
        let Some(measure) = number.1 else { continue };
        let fits = |part: &usize| left[*part] > 0 && wanted[*part].measure.quantity == measure.quantity;
        let part = (0..wanted.len()).find(fits).ok_or_else(wrong)?;
        left[part] -= 1;
        of[at] = Some(part);
    }
    for of in of.iter_mut().filter(|of| of.is_none()) {
        let part = left.iter().position(|&left| left > 0).ok_or_else(wrong)?;
        left[part] -= 1;
        *of = Some(part);
    }
    let missing: Vec<(usize, usize)> = left.into_iter().enumerate().filter(|(_, left)| *left > 0).collect();
    if !missing.is_empty() {
        return Err(Misread::Incomplete { missing });
    }
    let mut placed = Vec::with_capacity(total);
    for (at, part) in wanted.iter().enumerate() {
        let mut last = None;
        for (&(value, typed), _) in numbers.iter().zip(&of).filter(|(_, of)| **of == Some(at)) {
            last = typed.or(last);
            let value = last.map_or(Some(value), |typed| typed.convert(value, &part.measure));
            placed.push(value.filter(|value| value.is_finite()).ok_or(Misread::Empty)?);
        }
    }
    Ok(placed)
}

/// `text` as any number of numbers, each with the unit of measure that was typed behind it, or none. A comma parts numbers;
/// the wire gauges `1/0` to `4/0` are 0 to -3.
///
/// # Errors
/// See [`Misread`].
pub(super) fn with_units(text: &str) -> Result<Vec<(f64, Option<Measure>)>, Misread> {
    let mut numbers: Vec<(f64, Option<Measure>)> = Vec::new();
    let spaced = text.replace([',', ';'], " ");
    let bare: Vec<&str> =
        spaced.split_whitespace().filter(|word| !word.eq_ignore_ascii_case("awg")).collect();
    let gauges: Vec<String> = bare
        .iter()
        .map(|word| gauge(word).map_or_else(|| (*word).to_owned(), |awg| awg.to_string()))
        .collect();
    for token in tokens(&gauges.join(" "))? {
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
    // `1/2/3` are three numbers: what follows a slash begins no fraction.
    let mut parted = false;
    while let Some(first) = rest.chars().next() {
        // A slash or a dash parts numbers; a dash that touches a digit and follows a blank is a sign.
        if first == '/' || first == '&' {
            rest = rest[1..].trim_start();
            parted = true;
            continue;
        }
        let after_slash = std::mem::take(&mut parted);
        let fraction = fraction(rest).filter(|_| !after_slash);
        if let Some(len) = fraction.map(|(_, len)| len).or_else(|| number_length(rest)) {
            let word = &rest[..len];
            let tail = &rest[len..];
            // `0x1F`, `4E`, `3phase`: letters that touch the number must be a unit.
            let touching = tail.chars().next().is_some_and(char::is_alphabetic);
            let run_on = tail.starts_with(['.', '-', '+']);
            if run_on || touching && Measure::at_start(tail).is_none() {
                return Err(Misread::NotANumber { word: word_at(rest).to_owned() });
            }
            let value: f64 = match fraction {
                Some((value, _)) => value,
                None => word.parse().map_err(|_| Misread::NotANumber { word: word.to_owned() })?,
            };
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
            if !word.eq_ignore_ascii_case("and") && !word.eq_ignore_ascii_case("at") && word != "@" {
                return Err(Misread::NotANumber { word: word.to_owned() });
            }
            rest = rest[word.len()..].trim_start();
        }
    }
    Ok(tokens)
}

/// `1/0`, `2/0`, `3/0`, `4/0` as the numbers that go on below gauge 1: 0, -1, -2, -3.
fn gauge(word: &str) -> Option<i32> {
    let noughts: i32 = word.strip_suffix("/0")?.parse().ok()?;
    (1..=4).contains(&noughts).then_some(1 - noughts)
}

/// A fraction as the trade writes sizes, and how long it is: `1/2`, `1 1/2`, `1-1/2`. Halves to sixty-fourths and thirds below
/// one; whatever else a slash stands between is two numbers.
fn fraction(text: &str) -> Option<(f64, usize)> {
    let digits = |from: usize| {
        let rest = text.get(from..)?;
        let length = rest.bytes().take_while(u8::is_ascii_digit).count();
        let number: f64 = rest.get(..length).filter(|word| (1..=3).contains(&word.len()))?.parse().ok()?;
        Some((number, from + length))
    };
    let (first, after) = digits(0)?;
    let rest = text.get(after..)?;
    let gap = rest.len() - rest.trim_start_matches([' ', '-']).len();
    let (whole, (above, slash)) =
        if gap == 0 { (0.0, (first, after)) } else { (first, digits(after + gap)?) };
    let (below, end) = digits(slash + text.get(slash..)?.strip_prefix('/').map(|_| 1)?)?;
    let ends = !text.get(end..)?.starts_with(['/', '.', '-']);
    let sizes = [2.0, 3.0, 4.0, 8.0, 16.0, 32.0, 64.0];
    (ends && above > 0.0 && above < below && sizes.contains(&below)).then_some((whole + above / below, end))
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
            ("1/2 hp", "hp", 1, vec![0.5]),
            ("3/4hp", "hp", 1, vec![0.75]),
            ("1 1/2 hp", "hp", 1, vec![1.5]),
            ("1-1/2 hp", "hp", 1, vec![1.5]),
            ("7 1/2", "hp", 1, vec![7.5]),
            ("3 5/8 in", "in", 1, vec![3.625]),
            ("1/0", "V", 2, vec![1.0, 0.0]),
            ("4/5/6", "V", 3, vec![4.0, 5.0, 6.0]),
            ("1/2/3", "V", 3, vec![1.0, 2.0, 3.0]),
            ("230/460", "V", 2, vec![230.0, 460.0]),
        ] {
            assert_eq!(read(text, measure, count), Ok(expected), "{text}");
        }
        let warm = read("100 C", "F", 1).expect("a temperature");
        assert!((warm[0] - 212.0).abs() < 1e-9);
    }

    #[test]
    fn several_quantities_in_one_entry() {
        let named = |unit| Measure::named(unit).expect("a unit");
        let amps_at_hertz =
            [Wanted { measure: named("A"), count: 3 }, Wanted { measure: named("Hz"), count: 1 }];
        for text in [
            "4.1 4.0 4.2 at 48 Hz",
            "4.1 4.0 4.2 48",
            "4.1 4.0 4.2 48 Hz",
            "4.1 4.0 4.2 A at 48 Hz",
            "48 Hz 4.1 4.0 4.2",
            "48 Hz: 4.1 A, 4.0 A, 4.2 A".replace(':', " ").as_str(),
            "4.1,4.0,4.2 @ 48",
            "4100 mA 4000 mA 4.2 A 48",
            "4.1/4.0/4.2 at 48 hertz",
            "4.1 A 48 Hz 4.0 4.2 A",
        ] {
            assert_eq!(entry(text, &amps_at_hertz), Ok(vec![4.1, 4.0, 4.2, 48.0]), "{text}");
        }
        for (text, missing) in [
            ("4.1 4.0 4.2", vec![(1, 1)]),
            ("4.1,4.0,4.2", vec![(1, 1)]),
            ("48 Hz", vec![(0, 3)]),
            ("4.1 4.0 at 48 Hz", vec![(0, 1)]),
            ("4.1", vec![(0, 2), (1, 1)]),
        ] {
            assert_eq!(entry(text, &amps_at_hertz), Err(Misread::Incomplete { missing }), "{text}");
        }
        assert!(matches!(entry("4 4 4 4 48 Hz", &amps_at_hertz), Err(Misread::WrongCount { .. })));
        assert!(matches!(entry("4 4 4 at 208 V", &amps_at_hertz), Err(Misread::WrongQuantity { .. })));
        assert!(matches!(entry("4 A 4 A 4 A 4 A", &amps_at_hertz), Err(Misread::WrongCount { .. })));
        let two_speeds = [Wanted { measure: named("rpm"), count: 1 }; 2];
        assert_eq!(entry("1750 rpm 900 rpm", &two_speeds), Ok(vec![1750.0, 900.0]));
        assert_eq!(entry("1750 and 900 rpm", &two_speeds), Ok(vec![1750.0, 900.0]));
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
    fn gauges_of_wire() {
        let numbers = |text| with_units(text).map(|all| all.into_iter().map(|(n, _)| n).collect::<Vec<_>>());
        assert_eq!(numbers("20 100 1/0"), Ok(vec![20.0, 100.0, 0.0]));
        assert_eq!(numbers("20 A 100 ft 4/0 AWG"), Ok(vec![20.0, 100.0, -3.0]));
        assert_eq!(numbers("12 awg"), Ok(vec![12.0]));
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
