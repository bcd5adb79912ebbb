//! Our own small source of random numbers, so that a seed gives the same worlds on every machine and for ever.
//!
//! xoshiro256++ 1.0, its state filled by splitmix64 (Blackman & Vigna, *Scrambled linear pseudorandom number generators*,
//! ACM Transactions on Mathematical Software 47, 2021).

/// A seeded stream of random numbers.
#[derive(Clone, Debug)]
pub struct Random {
    state: [u64; 4],
}

impl Random {
    /// The stream of that seed.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        let mut counter = seed;
        Self {
            state: std::array::from_fn(|_| {
                counter = counter.wrapping_add(0x9E37_79B9_7F4A_7C15);
                let mut z = counter;
                z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
                z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
                z ^ (z >> 31)
            }),
        }
    }

    /// The next 64 random bits.
    pub fn bits(&mut self) -> u64 {
        let s = &mut self.state;
        let result = s[0].wrapping_add(s[3]).rotate_left(23).wrapping_add(s[0]);
        let t = s[1] << 17;
        s[2] ^= s[0];
        s[3] ^= s[1];
        s[1] ^= s[2];
        s[0] ^= s[3];
        s[2] ^= t;
        s[3] = s[3].rotate_left(45);
        result
    }

    /// Uniform in [0, 1), a multiple of 2^-53.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// An index drawn in proportion to its weight; weights are not negative. `None` if all are 0.
    pub fn pick(&mut self, weights: impl Iterator<Item = f64> + Clone) -> Option<usize> {
        let total: f64 = weights.clone().sum();
        let mut left = self.unit() * total;
        let mut last = None;
        for (at, weight) in weights.enumerate().filter(|(_, w)| *w > 0.0) {
            last = Some(at);
            if left < weight {
                break;
            }
            left -= weight;
        }
        last
    }
}

#[cfg(test)]
mod tests {
    use super::Random;

    #[test]
    fn the_stream_is_the_published_one() {
        // splitmix64 of seed 1234567: first outputs as in the reference implementation's test values.
        assert_eq!(Random::new(1_234_567).state[0], 6_457_827_717_110_365_317);
        assert_eq!(Random::new(1_234_567).state[1], 3_203_168_211_198_807_973);
    }

    #[test]
    fn picks_follow_the_weights() {
        let mut random = Random::new(7);
        let mut counts = [0; 3];
        for _ in 0..30_000 {
            counts[random.pick([1.0, 0.0, 2.0].into_iter()).unwrap_or(1)] += 1;
        }
        assert_eq!(counts[1], 0);
        assert!((counts[0] - 10_000_i32).abs() < 400, "{counts:?}");
        assert_eq!(random.pick([0.0].into_iter()), None);
    }
}
