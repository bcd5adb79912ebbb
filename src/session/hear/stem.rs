//! Stems and slips of the fingers.
//!
//! In: words in lower case. Out: their stems, and how near one is to another. Light on purpose: both sides of every
//! comparison go through it, so that agreeing matters more than grammar.

/// The stem of a lower-case word: plural, past and gerund endings off, doubled consonants undone, final e and y off.
pub(super) fn stem(word: &str) -> String {
    if !word.is_ascii() || word.bytes().any(|b| b.is_ascii_digit()) {
        return word.to_owned();
    }
    let known = match word {
        "burnt" => "burn",
        "ran" => "run",
        "spun" => "spin",
        "blew" | "blown" => "blow",
        "broke" | "broken" => "break",
        "froze" | "frozen" => "freez",
        "shook" | "shaken" => "shak",
        "wet" => "wet",
        "died" | "dying" => "dead",
        "went" | "gone" | "going" | "goes" => "go",
        _ => "",
    };
    if !known.is_empty() {
        return known.to_owned();
    }
    let mut s = word;
    let owned;
    if let Some(root) = s.strip_suffix("ies").filter(|r| r.len() > 2) {
        return root.to_owned();
    } else if ["sses", "xes", "ches", "shes", "zes"].iter().any(|e| s.ends_with(e)) {
        s = &s[..s.len() - 2];
    } else if s.len() > 3 && s.ends_with('s') && !["ss", "us", "is"].iter().any(|e| s.ends_with(e)) {
        s = &s[..s.len() - 1];
    }
    let vowel = |t: &str| t.bytes().any(|b| b"aeiouy".contains(&b));
    let undoubled = |t: &str| -> String {
        let b = t.as_bytes();
        match b {
            [.., x, y] if x == y && !b"lsz".contains(y) && b.len() > 3 => t[..t.len() - 1].to_owned(),
            _ => t.to_owned(),
        }
    };
    if let Some(root) = s.strip_suffix("ing").filter(|r| r.len() > 2 && vowel(r)) {
        owned = undoubled(root);
        s = &owned;
    } else if let Some(root) = s.strip_suffix("ed").filter(|r| r.len() > 2 && vowel(r)) {
        owned = undoubled(root);
        s = &owned;
    } else if let Some(root) = s.strip_suffix("ly").filter(|r| r.len() > 3 && !r.ends_with(['p', 'l'])) {
        s = root;
    }
    let last_but_one = s.len().checked_sub(2).map(|at| s.as_bytes()[at]);
    let consonant_before = last_but_one.is_some_and(|b| !b"aeiou".contains(&b));
    if s.len() > 3 && (s.ends_with('e') || s.ends_with('y') && consonant_before) {
        s = &s[..s.len() - 1];
    }
    s.to_owned()
}

/// Whether `said` is `known` but for a slip of the fingers: the optimal string alignment distance allowed grows with the
/// length; words of three letters may have two swapped.
pub(super) fn misspelt(said: &str, known: &str) -> Option<f64> {
    let (n, m) = (said.chars().count(), known.chars().count());
    let shorter = n.min(m);
    let allowed = match shorter {
        0..=2 => return None,
        3 => 1,
        4..=6 => 1,
        _ => 2,
    };
    if n.abs_diff(m) > allowed || said.bytes().any(|b| b.is_ascii_digit()) {
        return None;
    }
    let distance = strsim::osa_distance(said, known);
    if distance > allowed || distance == 0 && said != known {
        return None;
    }
    if shorter == 3 && distance > 0 && n != m {
        // A letter left out inside: "ded".
        if said.chars().next() != known.chars().next() || said.chars().last() != known.chars().last() {
            return None;
        }
    } else if shorter == 3 && distance > 0 {
        let sorted = |w: &str| {
            let mut letters: Vec<char> = w.chars().collect();
            letters.sort_unstable();
            letters
        };
        if sorted(said) != sorted(known) {
            return None;
        }
    }
    // Slips seldom hit the first letter.
    if distance > 0
        && shorter < 7
        && said.chars().next() != known.chars().next()
        && !swapped_start(said, known)
    {
        return None;
    }
    Some(1.0 - 0.12 * distance as f64)
}

fn swapped_start(a: &str, b: &str) -> bool {
    let (mut a, mut b) = (a.chars(), b.chars());
    let (a0, a1, b0, b1) = (a.next(), a.next(), b.next(), b.next());
    a0 == b1 && a1 == b0
}
