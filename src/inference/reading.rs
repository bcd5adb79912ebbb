//! From a reading to weights: the chance that the true value lies in each band.
//!
//! The true value is taken as normal about the reading. The error function is computed by sums of positive terms only:
//! the series 7.1.6 below 2, the continued fraction 7.1.14 for the complement above (Abramowitz & Stegun, *Handbook of
//! Mathematical Functions*, 1964).

/// Weights below this count as 0.
const LEAST: f64 = 1e-12;

/// From here on the complement is taken from the continued fraction.
const FAR: f64 = 2.0;

/// P(true value in band | reading), per outcome: the sum over its intervals [from, to), with a normal error of standard
/// deviation `sd` about `value`. With `sd` 0 the value is exact. Weights below 1e-12 are 0.
#[must_use]
pub fn band_weights(value: f64, sd: f64, bands: &[Vec<(f64, f64)>]) -> Vec<f64> {
    let weight = |intervals: &Vec<(f64, f64)>| {
        let chance: f64 = intervals.iter().map(|&(from, to)| interval(value, sd, from, to)).sum();
        if chance < LEAST { 0.0 } else { chance.min(1.0) }
    };
    bands.iter().map(weight).collect()
}

fn interval(value: f64, sd: f64, from: f64, to: f64) -> f64 {
    if sd <= 0.0 {
        return if from <= value && value < to { 1.0 } else { 0.0 };
    }
    let scaled = |edge: f64| (edge - value) / sd * std::f64::consts::FRAC_1_SQRT_2;
    let (low, high) = (scaled(from), scaled(to));
    if low >= high {
        0.0
    } else if low >= 0.0 {
        0.5 * (erfc(low) - erfc(high))
    } else if high <= 0.0 {
        0.5 * (erfc(-high) - erfc(-low))
    } else {
        0.5 * (erf(high) + erf(-low))
    }
}

/// The error function, for arguments from 0 on.
fn erf(x: f64) -> f64 {
    if x < FAR { series(x) } else { 1.0 - fraction(x) }
}

/// Its complement, for arguments from 0 on.
fn erfc(x: f64) -> f64 {
    if x < FAR { 1.0 - series(x) } else { fraction(x) }
}

/// erf x = 2/√π · e^(−x²) · Σ 2ⁿ x^(2n+1) / (2n+1)!!
fn series(x: f64) -> f64 {
    let (mut term, mut sum, mut odd) = (x, x, 1.0);
    while term > sum * f64::EPSILON * 0.25 {
        odd += 2.0;
        term *= 2.0 * x * x / odd;
        sum += term;
    }
    std::f64::consts::FRAC_2_SQRT_PI * (-x * x).exp() * sum
}

/// erfc x = e^(−x²)/√π · 1/(x + (1/2)/(x + (2/2)/(x + (3/2)/(x + …)))), from the inside out.
fn fraction(x: f64) -> f64 {
    if x.is_infinite() {
        return 0.0;
    }
    let inside = (1..=80).rev().fold(x, |below, n| x + 0.5 * f64::from(n) / below);
    0.5 * std::f64::consts::FRAC_2_SQRT_PI * (-x * x).exp() / inside
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Abramowitz & Stegun, table 7.1, and longer digits from memory.
    #[test]
    fn the_error_function() {
        for (x, expected) in
            [(0.5, 0.520_499_877_813_046_5), (1.0, 0.842_700_792_949_714_9), (2.0, 0.995_322_265_018_952_7)]
        {
            assert!((erf(x) - expected).abs() < 1e-15, "{x}");
        }
        for (x, expected) in [(3.0, 2.209_049_699_858_544e-5), (5.0, 1.537_459_794_428_035e-12)] {
            assert!((erfc(x) / expected - 1.0).abs() < 1e-13, "{x}");
        }
        let (near, far) = (1.0 - series(FAR), fraction(FAR));
        assert!((near / far - 1.0).abs() < 1e-12, "both ways agree where they meet: {near} {far}");
        assert_eq!((erf(0.0), erfc(0.0), erfc(f64::INFINITY)), (0.0, 1.0, 0.0));
    }

    #[test]
    fn a_reading_on_the_edge_of_a_band() {
        let bands = [vec![(0.9, 1.1)], vec![(1.1, f64::INFINITY)], vec![(f64::NEG_INFINITY, 0.9)]];
        let edge = band_weights(1.1, 0.01, &bands);
        assert!((edge[0] - 0.5).abs() < 1e-15 && (edge[1] - 0.5).abs() < 1e-15);
        assert_eq!(edge[2], 0.0, "twenty standard deviations away");
        let sum: f64 = band_weights(1.0, 0.08, &bands).iter().sum();
        assert!((sum - 1.0).abs() < 1e-15);
        assert_eq!(band_weights(1.1, 0.0, &bands), [0.0, 1.0, 0.0]);
        // Two standard deviations inside: 0.977 249 868 051 820 8 (tables of the normal distribution).
        assert!((band_weights(1.08, 0.01, &bands)[0] - 0.977_249_868_051_820_8).abs() < 1e-14);
    }
}
