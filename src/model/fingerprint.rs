//! A fingerprint: whether two things are the same, told by sixteen bytes.
//!
//! In: words, or whatever can be written out. Out: FNV-1a with 128 bits (constants of Fowler, Noll & Vo, from memory; the
//! tests hold the published value of "a"). It finds changes; it keeps no secret and withstands no forger.

use std::fmt::{self, Debug, Write};
use std::str::FromStr;

const OFFSET: u128 = 0x6c62_272e_07bb_0142_62b8_2175_6295_c58d;
const PRIME: u128 = 0x0000_0000_0100_0000_0000_0000_0000_013b;

/// Sixteen bytes that stand for something; written as 32 hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Fingerprint(u128);

impl Fingerprint {
    /// Of a list of words. O(n).
    #[must_use]
    pub fn of_words(words: &[u64]) -> Self {
        let mut hash = Hash(OFFSET);
        words.iter().for_each(|word| hash.bytes(&word.to_le_bytes()));
        Self(hash.0)
    }

    /// Of all that is written when a thing is written out. O(text), nothing is kept of it.
    #[must_use]
    pub fn of(thing: &impl Debug) -> Self {
        let mut hash = Hash(OFFSET);
        // The hash takes everything, so writing cannot fail.
        let _ = write!(hash, "{thing:?}");
        Self(hash.0)
    }
}

impl fmt::Display for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:032x}", self.0)
    }
}

impl FromStr for Fingerprint {
    type Err = std::num::ParseIntError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        u128::from_str_radix(text, 16).map(Self)
    }
}

struct Hash(u128);

impl Hash {
    fn bytes(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.0 = (self.0 ^ u128::from(*byte)).wrapping_mul(PRIME);
        }
    }
}

impl Write for Hash {
    fn write_str(&mut self, text: &str) -> fmt::Result {
        self.bytes(text.as_bytes());
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::{Fingerprint, Hash, OFFSET};

    #[test]
    fn it_is_fnv_1a_and_survives_writing() {
        let mut hash = Hash(OFFSET);
        hash.bytes(b"a");
        assert_eq!(format!("{:032x}", hash.0), "d228cb696f1a8caf78912b704e4a8964");
        let one = Fingerprint::of_words(&[1, 2]);
        assert_eq!(one.to_string().parse(), Ok(one));
        assert_ne!(one, Fingerprint::of_words(&[2, 1]));
        assert_eq!(Fingerprint::of(&[1.5, 2.0]), Fingerprint::of(&vec![1.5, 2.0]));
    }
}
