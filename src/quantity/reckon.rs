//! The calculator: a line such as `unbalance 462 463 455` or `velocity from pressure 0.4 inwg`, reckoned.
//!
//! In: a line. Out: the function, its arguments in its own units of measure, the result in each unit in which people want
//! it, and what there is to say about it; or what is wrong with the line. Nothing is remembered.

use super::Measure;
use super::function::{Function, all};
use super::reading::{Misread, with_units};

/// A line, reckoned.
#[derive(Clone, PartialEq, Debug)]
pub struct Reckoned {
    /// The name of the function.
    pub name: &'static str,
    /// Its arguments: name of the parameter, value in its unit, unit (may be empty).
    pub arguments: Vec<(&'static str, f64, String)>,
    /// The result, in each unit in which it is wanted; the first is that of the function. Empty where it is words.
    pub results: Vec<(f64, String)>,
    /// What there is to say about it.
    pub lines: Vec<String>,
    /// The formula.
    pub formula: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

/// Why a line cannot be reckoned.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum Unreckoned {
    /// No function of that name; the nearest ones.
    #[error("there is no function `{name}`")]
    NoFunction {
        /// The words that name none.
        name: String,
        /// The names nearest to it.
        nearest: Vec<String>,
    },
    /// The numbers cannot be read.
    #[error("{0}")]
    Misread(#[from] Misread),
    /// Too many or too few numbers.
    #[error("{signature} takes {wanted}, and {got} given")]
    WrongCount {
        /// How it is called.
        signature: String,
        /// How many it takes.
        wanted: String,
        /// How many there are.
        got: String,
    },
    /// A unit that does not fit.
    #[error("`{parameter}` is {wanted}, but {typed} is {what}", what = typed.quantity)]
    WrongUnit {
        /// The parameter.
        parameter: &'static str,
        /// What it is.
        wanted: String,
        /// The unit as typed.
        typed: Measure,
    },
    /// Two units where one is wanted.
    #[error("{one} and {other} in one line: all of these numbers are of one unit")]
    MixedUnits {
        /// The one.
        one: Measure,
        /// The other.
        other: Measure,
    },
    /// Outside the domain, or without a result.
    #[error("{0}")]
    Domain(String),
}

/// A number to some five digits, without needless noughts.
#[must_use]
pub fn short(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return value.abs().to_string();
    }
    let digits = (4 - value.abs().log10().floor() as i32).clamp(0, 9) as usize;
    let text = format!("{value:.digits$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// Reckons a line: the name of a function, its words parted by blanks, `-` or `_`, then numbers.
///
/// # Errors
/// See [`Unreckoned`].
pub fn reckon(line: &str) -> Result<Reckoned, Unreckoned> {
    let Some((function, rest)) = split(line) else {
        let name: Vec<&str> = line.split_whitespace().take_while(|word| !starts_number(word)).collect();
        let name = name.join("_");
        let nearest = crate::diagnostic::nearest(&name, all().map(|f| f.name));
        return Err(Unreckoned::NoFunction { name, nearest });
    };
    let rest = rest.trim_matches(|c: char| c.is_whitespace() || matches!(c, '(' | ')' | ':' | '='));
    let hexadecimal = function.parameters.iter().all(|parameter| parameter.hexadecimal);
    let typed = if hexadecimal {
        bytes(rest)?
    } else if rest.is_empty() {
        Vec::new()
    } else {
        with_units(rest)?
    };
    let settled = settle(function, &typed)?;
    let values: Vec<f64> = settled.iter().map(|(value, _)| *value).collect();
    let value =
        if function.is_number() { Some(function.call(&values).map_err(Unreckoned::Domain)?) } else { None };
    let lines = function.lines(&values, value).map_err(Unreckoned::Domain)?;
    let parameters = function.parameters.iter().chain(std::iter::repeat(&function.parameters[0]));
    let arguments = settled
        .iter()
        .zip(parameters)
        .map(|(&(value, unit), parameter)| {
            let unit = unit.map_or("", |unit| unit.symbol);
            (parameter.name.trim_end_matches('…'), value, unit.to_owned())
        })
        .collect();
    let unit = settled.first().and_then(|(_, unit)| *unit);
    let results = value.map_or_else(Vec::new, |value| results(function, value, unit));
    Ok(Reckoned {
        name: function.name,
        arguments,
        results,
        lines,
        formula: function.formula,
        source: function.source,
    })
}

/// The function that the first words of a line name, and what follows: the most words that fit.
#[must_use]
pub fn split(line: &str) -> Option<(&'static Function, &str)> {
    let line = line.trim_start();
    let mut found = None;
    for function in all() {
        let mut rest = line;
        let fits = function.name.split('_').enumerate().all(|(number, word)| {
            if number > 0 {
                rest = rest.trim_start_matches(|c: char| c.is_whitespace() || matches!(c, '-' | '_'));
            }
            let head = rest.get(..word.len()).is_some_and(|head| head.eq_ignore_ascii_case(word));
            if head {
                rest = &rest[word.len()..];
            }
            head
        });
        let ends = rest.chars().next().is_none_or(|c| !c.is_alphanumeric() && c != '_');
        if fits && ends && found.is_none_or(|(_, longest): (_, &str)| rest.len() < longest.len()) {
            found = Some((function, rest));
        }
    }
    found
}

/// Whether a line that somebody types into a conversation is one for the calculator: a name, then a number, and all of it
/// can be read. Whatever else begins with such a word is left to the conversation.
#[must_use]
pub fn is_reckoning(line: &str) -> bool {
    let Some((function, rest)) = split(line) else { return false };
    let rest = rest.trim_start_matches(|c: char| c.is_whitespace() || matches!(c, '(' | ':' | '='));
    let hexadecimal = function.parameters.iter().all(|parameter| parameter.hexadecimal);
    let first = rest.split_whitespace().next().unwrap_or_default();
    (starts_number(rest) || hexadecimal && !first.is_empty() && bytes(first).is_ok())
        && (function.name.contains('_')
            || reckon(line).is_ok()
            || with_units(rest.trim_end_matches(')')).is_ok())
}

fn starts_number(text: &str) -> bool {
    text.trim_start_matches(['-', '+', '.']).starts_with(|c: char| c.is_ascii_digit())
}

/// Bytes in hexadecimal, with or without `0x`, in pairs or run together.
fn bytes(text: &str) -> Result<Vec<(f64, Option<Measure>)>, Misread> {
    let mut bytes = Vec::new();
    for word in text.split(|c: char| c.is_whitespace() || c == ',').filter(|word| !word.is_empty()) {
        let digits = word.trim_start_matches("0x").trim_start_matches("0X");
        let misread = || Misread::NotANumber { word: word.to_owned() };
        if !digits.is_ascii() || digits.is_empty() || digits.len() > 2 && digits.len() % 2 == 1 {
            return Err(misread());
        }
        for pair in digits.as_bytes().chunks(2) {
            let pair = std::str::from_utf8(pair).map_err(|_| misread())?;
            let byte = u8::from_str_radix(pair, 16).map_err(|_| misread())?;
            bytes.push((f64::from(byte), None));
        }
    }
    Ok(bytes)
}

/// The numbers in the units of their parameters. Where a parameter takes any unit, the number keeps its own, and further
/// ones of the same kind are brought to it.
fn settle(
    function: &Function,
    typed: &[(f64, Option<Measure>)],
) -> Result<Vec<(f64, Option<Measure>)>, Unreckoned> {
    let wanted = function.parameters.len();
    if function.is_variadic() && typed.is_empty() || !function.is_variadic() && typed.len() != wanted {
        let numbers = |n: usize| if n == 1 { "1 number".to_owned() } else { format!("{n} numbers") };
        return Err(Unreckoned::WrongCount {
            signature: function.signature(),
            wanted: if function.is_variadic() { "one number or more".to_owned() } else { numbers(wanted) },
            got: match typed.len() {
                0 => "none was".to_owned(),
                1 => "1 was".to_owned(),
                n => format!("{n} were"),
            },
        });
    }
    // Of several numbers of one parameter, a unit counts for all that have none.
    let common = function.is_variadic().then(|| typed.iter().find_map(|(_, unit)| *unit)).flatten();
    let parameters = function.parameters.iter().chain(std::iter::repeat(&function.parameters[0]));
    let mut settled: Vec<(f64, Option<Measure>)> = Vec::with_capacity(typed.len());
    for (&(value, unit), parameter) in typed.iter().zip(parameters) {
        let own = Measure::named(parameter.unit);
        let Some(unit) = unit.or(common) else {
            settled.push((value, own));
            continue;
        };
        let wrong = |wanted: String| Unreckoned::WrongUnit {
            parameter: parameter.name.trim_end_matches('…'),
            wanted,
            typed: unit,
        };
        settled.push(match own {
            Some(own) => {
                let value = unit.convert(value, &own);
                (value.ok_or_else(|| wrong(format!("in {}", own.symbol)))?, Some(own))
            }
            None if parameter.plain => return Err(wrong("a plain number".to_owned())),
            None => {
                let before = settled.iter().filter_map(|(_, unit)| *unit);
                let same = before.clone().find(|before| before.quantity == unit.quantity);
                let first = before.clone().next();
                match (same, first) {
                    (Some(same), _) => (unit.convert(value, &same).unwrap_or(value), Some(same)),
                    (None, Some(first)) if function.is_variadic() => {
                        return Err(Unreckoned::MixedUnits { one: first, other: unit });
                    }
                    _ => (value, Some(unit)),
                }
            }
        });
    }
    Ok(settled)
}

/// The result in each unit in which it is wanted.
fn results(function: &Function, value: f64, unit: Option<Measure>) -> Vec<(f64, String)> {
    let Some(own) = function.gives.first().and_then(|own| Measure::named(own)) else {
        // The result of a mean or a fan law is in the unit of what was put in.
        let same = !matches!(function.name, "count" | "sqrt" | "scale");
        let unit = unit.filter(|_| same).map_or("", |unit| unit.symbol);
        return vec![(value, unit.to_owned())];
    };
    let in_unit = |symbol: &&str| {
        let other = Measure::named(symbol)?;
        Some((own.convert(value, &other)?, other.symbol.to_owned()))
    };
    function.gives.iter().filter_map(in_unit).collect()
}
