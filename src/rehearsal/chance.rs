//! Draws by name: the same seed and the same names give the same draw, whatever else a package holds.
//!
//! A draw is a pure function of a seed and the ids that it is about, so that all draws are made once, beforehand, without
//! being kept, and a site stays as it is when knowledge grows beside it. Names are hashed by FNV-1a (Fowler, Noll & Vo; from
//! memory); the bits are stirred by the finisher of SplitMix64 (Steele, Lea & Flood 2014; from memory).

/// A name as a number: FNV-1a, 64 bits.
#[must_use]
pub fn named(name: &str) -> u64 {
    name.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}

/// A number in [0, 1) for a seed and what it is drawn for.
#[must_use]
pub fn unit(seed: u64, about: &[u64]) -> f64 {
    (bits(seed, about) >> 11) as f64 / (1u64 << 53) as f64
}

/// 64 bits for a seed and what they are drawn for.
#[must_use]
pub fn bits(seed: u64, about: &[u64]) -> u64 {
    about.iter().fold(stir(seed), |state, part| stir(state ^ part))
}

fn stir(z: u64) -> u64 {
    let z = z.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let z = (z ^ z >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    let z = (z ^ z >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ z >> 31
}

/// The position in `chances` on which `draw` (in [0, 1)) falls; the last where rounding leaves a gap.
#[must_use]
pub fn fall(draw: f64, chances: &[f64]) -> usize {
    let mut left = draw;
    for (at, chance) in chances.iter().enumerate() {
        if left < *chance {
            return at;
        }
        left -= chance;
    }
    chances.iter().rposition(|chance| *chance > 0.0).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_are_spread_and_repeat() {
        assert_eq!(named(""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(named("a"), 0xaf63_dc4c_8601_ec8c, "FNV-1a of the letter a, from memory");
        let mean = (0..10_000).map(|at| unit(7, &[at])).sum::<f64>() / 10_000.0;
        assert!((mean - 0.5).abs() < 0.01, "{mean}");
        assert_eq!(unit(7, &[1, 2]).to_bits(), unit(7, &[1, 2]).to_bits());
        assert_ne!(unit(7, &[1, 2]).to_bits(), unit(7, &[2, 1]).to_bits());
    }

    #[test]
    fn falls_by_chance() {
        assert_eq!(fall(0.0, &[0.0, 1.0]), 1);
        assert_eq!(fall(0.69, &[0.7, 0.3]), 0);
        assert_eq!(fall(0.71, &[0.7, 0.3]), 1);
        assert_eq!(fall(0.999_999, &[0.5, 0.499, 0.0]), 1);
    }
}
