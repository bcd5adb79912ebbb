//! Continuity readings as they are typed: `12 open`, `1 to 4 good`, `3 and 5 exchanged`, `D-1 out 1 to M-1 1 good`, `all good`.
//!
//! In: a line, the connections, which of them is asked for. Out: what was found of which. A line that is anything else is
//! none, and goes the usual way. Invariant: a line is taken whole or not at all.

use crate::wiring::{Connection, End, Reading, tokens};

/// What a line says of connections, by position.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum WiresHeard {
    /// Something else.
    Nothing,
    /// It names a connection that there is not.
    Unknown(String),
    /// Readings, in order.
    Found(Vec<(usize, Reading)>),
}

/// The longest line that is looked at, in bytes.
const LONGEST: usize = 400;

/// Ways of saying that a conductor is at the place of another.
const AT: &[&str] =
    &["crossed with", "goes to", "lands at", "lands on", "ends at", "at the place of", "is at"];
/// Ways of saying that two are at each other's place.
const EXCHANGED: &[&str] =
    &["swapped with", "exchanged with", "swapped for", "swapped", "exchanged", "crossed", "reversed"];
/// Ways of saying that two touch.
const JOINED: &[&str] = &["joined to", "joined with", "shorted to", "touches", "touching"];
/// Plain results; the longer ones first.
const PLAIN: &[(&str, Reading)] = &[
    ("no continuity", Reading::Open),
    ("is not there", Reading::Missing),
    ("isn't there", Reading::Missing),
    ("not there", Reading::Missing),
    ("not landed", Reading::Missing),
    ("missing", Reading::Missing),
    ("broken", Reading::Open),
    ("open", Reading::Open),
    ("okay", Reading::Good),
    ("good", Reading::Good),
    ("fine", Reading::Good),
    ("right", Reading::Good),
    ("yes", Reading::Good),
    ("ok", Reading::Good),
    ("y", Reading::Good),
    ("no", Reading::Open),
    ("n", Reading::Open),
];
/// Ways of naming all that nobody has read.
const REST: &[&str] =
    &["all", "all of them", "everything", "rest", "the rest", "all others", "the others", "all the rest"];
/// Words before a number.
const BEFORE: &[&str] =
    &["wires", "wire", "connections", "connection", "conductors", "conductor", "number", "no.", "#"];

/// What `line` says of the connections. `current`: the one that is asked for; without, each has to be named as one.
pub(crate) fn wires(
    line: &str,
    connections: &[Connection],
    readings: &[Reading],
    current: Option<usize>,
) -> WiresHeard {
    if connections.is_empty() || line.len() > LONGEST {
        return WiresHeard::Nothing;
    }
    let line = line.trim().trim_end_matches(['.', '!']).to_lowercase();
    let line = line.split_whitespace().collect::<Vec<_>>().join(" ");
    let listener = Listener { connections, readings, current };
    match listener.statements(&line) {
        Ok(Some(found)) if !found.is_empty() => WiresHeard::Found(found),
        Ok(_) => WiresHeard::Nothing,
        Err(name) => WiresHeard::Unknown(name),
    }
}

struct Listener<'a> {
    connections: &'a [Connection],
    readings: &'a [Reading],
    current: Option<usize>,
}

/// Readings; `None`: it is something else; an error names what there is not.
type Listened = Result<Option<Vec<(usize, Reading)>>, String>;

impl Listener<'_> {
    /// Several statements, one after the other.
    fn statements(&self, line: &str) -> Listened {
        if let Some(whole) = self.statement(line)? {
            return Ok(Some(whole));
        }
        for separator in [";", ",", " but ", " and "] {
            for (at, _) in line.match_indices(separator) {
                let (left, right) = (line[..at].trim(), line[at + separator.len()..].trim());
                let Some(mut first) = self.statement(left).unwrap_or(None) else { continue };
                if let Some(rest) = self.statements(right)? {
                    first.extend(rest);
                    return Ok(Some(first));
                }
            }
        }
        Ok(None)
    }

    fn statement(&self, text: &str) -> Listened {
        for (verbs, joined) in [(AT, false), (JOINED, true)] {
            for verb in verbs {
                let Some((subject, object)) = around(text, verb).filter(|(_, object)| !object.is_empty())
                else {
                    continue;
                };
                let (Some(subjects), Some(object)) = (self.subjects(subject)?, self.one(object)?) else {
                    return Ok(None);
                };
                let reading = if joined { Reading::Joined(object) } else { Reading::At(object) };
                return Ok(
                    distinct(&subjects, object).then(|| subjects.iter().map(|&at| (at, reading)).collect())
                );
            }
        }
        for verb in EXCHANGED {
            let Some((subject, object)) = around(text, verb) else { continue };
            let Some(mut pair) = self.subjects(subject)? else { return Ok(None) };
            if !object.is_empty() {
                let Some(object) = self.one(object)? else { return Ok(None) };
                pair.push(object);
            }
            return Ok(self.exchanged(&pair));
        }
        for (word, reading) in PLAIN {
            let subject = match text.strip_suffix(word) {
                Some("") => "",
                Some(before) if before.ends_with(' ') => before.trim(),
                _ => continue,
            };
            let Some(subjects) = self.subjects(subject)? else { continue };
            return Ok(Some(subjects.into_iter().map(|at| (at, *reading)).collect()));
        }
        Ok(None)
    }

    /// Two that are exchanged; one alone with the only other one of its pair.
    fn exchanged(&self, pair: &[usize]) -> Option<Vec<(usize, Reading)>> {
        let (a, b) = match *pair {
            [a, b] if a != b => (a, b),
            [a] => match *self.connections[a].neighbours.as_slice() {
                [other] => (a, other.checked_sub(1)?),
                _ => return None,
            },
            _ => return None,
        };
        Some(vec![(a, Reading::At(b)), (b, Reading::At(a))])
    }

    /// The connections that a subject names; `None` where it is none.
    fn subjects(&self, text: &str) -> Result<Option<Vec<usize>>, String> {
        let text = text.strip_suffix(" is").or_else(|| text.strip_suffix(" are")).unwrap_or(text).trim();
        if text.is_empty() {
            return Ok(self.current.map(|current| vec![current]));
        }
        if self.current.is_some() {
            let (rest, except) = ["but", "except"]
                .into_iter()
                .find_map(|word| text.split_once(&format!(" {word} ")))
                .map_or((text, ""), |(rest, except)| (rest, except));
            if REST.contains(&rest) {
                let except =
                    if except.is_empty() { Vec::new() } else { self.listed(except)?.unwrap_or_default() };
                let unread =
                    self.readings.iter().enumerate().filter(|(_, reading)| **reading == Reading::Unread);
                return Ok(Some(unread.map(|(at, _)| at).filter(|at| !except.contains(at)).collect()));
            }
        }
        self.listed(text)
    }

    fn listed(&self, text: &str) -> Result<Option<Vec<usize>>, String> {
        let (named, text) = match BEFORE.iter().find_map(|word| text.strip_prefix(word)) {
            Some(rest) => (true, rest.trim()),
            None => (self.current.is_some(), text),
        };
        if named && let Some(numbers) = numbers(text) {
            return numbers
                .into_iter()
                .map(|number| self.numbered(number))
                .collect::<Result<_, _>>()
                .map(Some);
        }
        Ok(self.by_name(text).map(|at| vec![at]))
    }

    fn numbered(&self, number: usize) -> Result<usize, String> {
        let at = number.checked_sub(1).filter(|&at| at < self.connections.len());
        at.ok_or_else(|| number.to_string())
    }

    /// The one connection that an object names.
    fn one(&self, text: &str) -> Result<Option<usize>, String> {
        let text = BEFORE.iter().find_map(|word| text.strip_prefix(word)).unwrap_or(text).trim();
        match text.parse::<usize>() {
            Ok(number) => self.numbered(number).map(Some),
            Err(_) => Ok(self.by_name(text)),
        }
    }

    /// `D-1 out 1 to M-1 1`, or one end that no other connection has.
    fn by_name(&self, text: &str) -> Option<usize> {
        let parts: Vec<Vec<String>> =
            text.split(" to ").flat_map(|part| part.split("->")).map(tokens).collect();
        let is = |end: &End, part: &Vec<String>| {
            [&end.device, &end.name].into_iter().any(|device| {
                let label = tokens(device).into_iter().chain(tokens(&end.terminal));
                !part.is_empty() && label.eq(part.iter().cloned())
            })
        };
        let fits = |connection: &Connection| match parts.as_slice() {
            [only] => is(&connection.near, only) || is(&connection.far, only),
            [from, to] => {
                is(&connection.near, from) && is(&connection.far, to)
                    || is(&connection.near, to) && is(&connection.far, from)
            }
            _ => false,
        };
        let mut all = self.connections.iter().enumerate().filter(|(_, connection)| fits(connection));
        let (at, _) = all.next()?;
        all.next().is_none().then_some(at)
    }
}

fn distinct(subjects: &[usize], object: usize) -> bool {
    !subjects.contains(&object)
}

/// What stands before and behind `verb`, as whole words.
fn around<'t>(text: &'t str, verb: &str) -> Option<(&'t str, &'t str)> {
    let at = text.find(verb)?;
    let (before, after) = (&text[..at], &text[at + verb.len()..]);
    let whole = (before.is_empty() || before.ends_with(' ')) && (after.is_empty() || after.starts_with(' '));
    whole.then(|| (before.trim(), after.trim()))
}

/// `1`, `1-4`, `1 to 4`, `1, 2 and 5`; `None` where it is anything else.
fn numbers(text: &str) -> Option<Vec<usize>> {
    let spelt =
        text.replace(" through ", "-").replace(" to ", "-").replace(" - ", "-").replace(['&', ','], " ");
    let mut found = Vec::new();
    for part in spelt.split_whitespace().filter(|part| *part != "and") {
        match part.split_once('-') {
            Some((from, to)) => {
                let (from, to) = (from.parse::<usize>().ok()?, to.parse::<usize>().ok()?);
                if from > to || to - from > LONGEST {
                    return None;
                }
                found.extend(from..=to);
            }
            None => found.push(part.parse().ok()?),
        }
    }
    (!found.is_empty()).then_some(found)
}
