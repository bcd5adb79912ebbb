//! What the name of a terminal says: which row of its unit it belongs to, which leg, channel or pole it is.
//!
//! In: the name as the sheet has it, the rows of the component. Out: the row and its marks. A name is words and, behind
//! them, marks: `IN-1`, `in 1`, `out a`, `D+`, `sensor 2 -`. The row with the longest words that begin the name has it.

use crate::job::Unit;
use crate::knowledge::{Component, TerminalRole};

/// A terminal as its name says.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Named {
    /// The row: an index into [`Component::terminals`].
    pub(super) role: usize,
    /// Which leg of the row, from 0, where the name says: `1` and `a` are 0.
    pub(super) leg: Option<usize>,
    /// Which channel, of a grouped row.
    pub(super) group: Option<String>,
    /// Which pole: 0 the first, 1 the second.
    pub(super) pole: Option<usize>,
}

/// The name in lower case as words and marks: letters, digits, `+` and a `-` at the end stand alone.
pub(crate) fn tokens(name: &str) -> Vec<String> {
    let name = name.trim().to_lowercase();
    let letters: Vec<char> = name.chars().collect();
    let mut tokens: Vec<String> = Vec::new();
    let mut joins = false;
    for (at, &c) in letters.iter().enumerate() {
        let last_of_all = at + 1 == letters.len();
        if c == '+' || c == '-' && last_of_all {
            tokens.push(c.to_string());
            joins = false;
        } else if c.is_alphanumeric() {
            let same = |token: &String| {
                token.chars().last().is_some_and(|last| last.is_ascii_digit() == c.is_ascii_digit())
            };
            match tokens.last_mut().filter(|token| joins && same(token)) {
                Some(token) => token.push(c),
                None => tokens.push(c.to_string()),
            }
            joins = true;
        } else {
            joins = false;
        }
    }
    tokens
}

/// The terminal of `unit` that is so called; `None`: none of its rows has such a name.
pub(super) fn named(component: &Component, unit: &Unit, name: &str) -> Option<Named> {
    let written = tokens(name);
    for (role, form) in component.terminals.iter().enumerate() {
        let listed = unit.terminals.get(&form.id.value).map_or(&[][..], Vec::as_slice);
        if let Some(at) = listed.iter().position(|listed| tokens(listed) == written) {
            let fits = form.poles.is_none() && !form.grouped;
            let marks = marks(form, &written[written.len().saturating_sub(2)..]);
            let pole = form.poles.is_some().then_some(at % 2);
            return Some(Named {
                role,
                leg: fits.then_some(at),
                group: form.grouped.then(|| (at / 2).to_string()),
                pole: marks.and_then(|marks| marks.pole).or(pole),
            });
        }
    }
    let mut best: Option<(usize, Named)> = None;
    for (role, form) in component.terminals.iter().enumerate() {
        // A unit that names its terminals of a row has no others in that row.
        if unit.terminals.contains_key(&form.id.value) {
            continue;
        }
        let words = form.words.iter().map(|word| tokens(&word.value));
        for word in words.chain(form.bare.then(Vec::new)) {
            let longer = best.as_ref().is_none_or(|(length, _)| word.len() > *length);
            let Some(rest) = written.strip_prefix(word.as_slice()).filter(|_| longer) else { continue };
            // The last word may itself say the pole: `speed common`.
            let said = word.last().map_or(&[][..], std::slice::from_ref);
            let Some(found) = marks(form, rest) else { continue };
            let pole = found.pole.or_else(|| marks(form, said).and_then(|said| said.pole));
            best = Some((word.len(), Named { role, leg: found.leg, group: found.group, pole }));
        }
    }
    best.map(|(_, named)| named)
}

struct Marks {
    leg: Option<usize>,
    group: Option<String>,
    pole: Option<usize>,
}

/// What marks say in a row; `None` where they are none: at most a channel and a leg or pole.
fn marks(form: &TerminalRole, rest: &[String]) -> Option<Marks> {
    let pole = |token: &String| {
        let poles = form.poles.as_ref()?;
        poles.iter().position(|names| names.iter().any(|name| tokens(&name.value) == [token.as_str()]))
    };
    let plain = |token: &String| token.chars().all(|c| c.is_ascii_digit()) || token.chars().count() == 1;
    if rest.len() > 2 || !rest.iter().all(|token| pole(token).is_some() || plain(token)) {
        return None;
    }
    let (group, own) = match rest {
        [group, own] => (Some(group), Some(own)),
        [only] if form.grouped && pole(only).is_none() => (Some(only), None),
        [only] => (None, Some(only)),
        _ => (None, None),
    };
    Some(Marks {
        leg: own.filter(|own| pole(own).is_none()).and_then(|own| leg(own)),
        group: group.filter(|_| form.grouped).cloned(),
        pole: own.and_then(pole),
    })
}

/// `1`, `a`: the first.
fn leg(mark: &str) -> Option<usize> {
    if let Ok(number) = mark.parse::<usize>() {
        return number.checked_sub(1);
    }
    let letter = mark.chars().next().filter(char::is_ascii_lowercase)?;
    Some((letter as usize) - ('a' as usize))
}

#[cfg(test)]
mod tests {
    use super::tokens;

    #[test]
    fn a_name_is_words_and_marks() {
        assert_eq!(tokens("IN-1"), ["in", "1"]);
        assert_eq!(tokens("out a"), ["out", "a"]);
        assert_eq!(tokens("D-"), ["d", "-"]);
        assert_eq!(tokens("pair +"), ["pair", "+"]);
        assert_eq!(tokens("closed when armed, 1"), ["closed", "when", "armed", "1"]);
        assert_eq!(tokens("IN1"), ["in", "1"]);
        assert_eq!(tokens(""), Vec::<String>::new());
    }
}
