//! The nearest valid names to what was written.

/// How far a name may be from what was written: optimal-string-alignment distance 1 for up to 4 letters, 2 for up to
/// 8, else a third of the length.
fn reach(length: usize) -> usize {
    match length {
        0..=4 => 1,
        5..=8 => 2,
        _ => length / 3,
    }
}

/// The names among `valid` that are near to `written`: at most three, best first, ties in the order of the alphabet.
///
/// Names that differ from `written` in case, or in `-` for `_` alone, are at distance 0. Cost: one distance per name.
#[must_use]
pub fn nearest<'a>(written: &str, valid: impl IntoIterator<Item = &'a str>) -> Vec<String> {
    let plain = |name: &str| name.trim().to_lowercase().replace(['_', ' '], "-");
    let wanted = plain(written);
    let length = wanted.chars().count();
    if length > 200 {
        return Vec::new();
    }
    let reach = reach(length);
    let mut near: Vec<(usize, &str)> = valid
        .into_iter()
        .filter(|name| name.chars().count().abs_diff(length) <= reach)
        .map(|name| (strsim::osa_distance(&wanted, &plain(name)), name))
        .filter(|&(distance, name)| distance <= reach && name != written)
        .collect();
    near.sort_unstable();
    near.dedup();
    near.into_iter().take(3).map(|(_, name)| name.to_owned()).collect()
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn reach_grows_with_length() {
        assert_eq!(nearest("tset", ["test", "tent", "set", "fixes"]), ["set", "test"]);
        assert_eq!(nearest("abc", ["xyz"]), Vec::<String>::new());
        assert_eq!(nearest("simptoms", ["symptoms", "tests"]), ["symptoms"]);
        assert_eq!(nearest("bus_lost", ["bus-lost"]), ["bus-lost"]);
        assert_eq!(nearest("aaaaaaaaa", ["aaaaaaaab", "aaaaaaaac", "aaaaaaaad", "aaaaaaaae"]).len(), 3);
    }
}
