//! Short ids of cases: four letters and digits that can be read out over a phone.

use std::fmt;
use std::hash::{BuildHasher as _, Hasher as _};

/// No vowels, so that no word comes out; nothing that looks or sounds like something else (0 O, 1 I L, V W).
const LETTERS: &[u8] = b"BCDFGHJKMNPQRSTXYZ23456789";

/// The id of a case, `K7Q3`.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct CaseId(pub(super) String);

impl CaseId {
    /// The id as text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// A new id of `length` letters, drawn by chance (the seed that the standard library draws for hash maps).
    pub(super) fn draw(length: usize) -> Self {
        let mut chance = std::hash::RandomState::new().build_hasher();
        chance.write_u32(std::process::id());
        let mut rest = chance.finish();
        let mut letter = || {
            let at = (rest % LETTERS.len() as u64) as usize;
            rest /= LETTERS.len() as u64;
            char::from(LETTERS[at])
        };
        Self((0..length.min(12)).map(|_| letter()).collect())
    }

    /// What somebody typed as an id, or the beginning of one: letters and digits in capitals.
    pub(super) fn typed(text: &str) -> String {
        text.chars().filter(char::is_ascii_alphanumeric).collect::<String>().to_ascii_uppercase()
    }
}

impl fmt::Display for CaseId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}
