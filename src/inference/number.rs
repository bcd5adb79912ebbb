//! The numbers that a sweep adds and multiplies: `f64`, or [`Wide`] where the range of `f64` might not do.
//!
//! Only sums and products of non-negative numbers occur, so the relative error of every result is bounded by the number
//! of operations times 2^-53, whatever cancels in other methods.

/// A non-negative number that can be added and multiplied.
pub(crate) trait Number: Copy + PartialEq + std::fmt::Debug {
    /// Nothing.
    const ZERO: Self;
    /// One.
    const ONE: Self;
    /// From a double, 0 or more.
    fn of(value: f64) -> Self;
    /// The sum.
    fn plus(self, other: Self) -> Self;
    /// The product.
    fn times(self, other: Self) -> Self;
    /// The quotient; `other` is above 0.
    fn divided(self, other: Self) -> Self;
    /// `self` as a share of `whole`, which is above 0.
    fn share(self, whole: Self) -> f64;
    /// As a double, for those that are one.
    #[inline(always)]
    fn narrow(self) -> Option<f64> {
        None
    }
    /// In the wide form.
    fn wide(self) -> Wide;
    /// The greater one.
    fn greater(self, other: Self) -> Self;
    /// How many binary digits below 1 it lies, at most; 0 for zero and where the range does not matter.
    fn bits(self) -> f64;
    /// Whether it is below `limit`; never, where the range does not matter.
    fn under(self, limit: f64) -> bool;
    /// Whether it is exactly 0.
    #[inline]
    fn is_zero(self) -> bool {
        self == Self::ZERO
    }
}

impl Number for f64 {
    const ZERO: Self = 0.0;
    const ONE: Self = 1.0;
    #[inline(always)]
    fn of(value: f64) -> Self {
        value
    }
    #[inline(always)]
    fn plus(self, other: Self) -> Self {
        self + other
    }
    #[inline(always)]
    fn times(self, other: Self) -> Self {
        self * other
    }
    #[inline(always)]
    fn divided(self, other: Self) -> Self {
        self / other
    }
    #[inline(always)]
    fn share(self, whole: Self) -> f64 {
        self / whole
    }
    #[inline(always)]
    fn narrow(self) -> Option<f64> {
        Some(self)
    }
    #[inline]
    fn wide(self) -> Wide {
        Wide::of(self)
    }
    #[inline(always)]
    fn greater(self, other: Self) -> Self {
        self.max(other)
    }
    /// For x = 2^e·(1 + f), −log2 x ≤ −(e + f), which is the number that the bits of a double spell, up to a scale.
    #[inline(always)]
    fn bits(self) -> f64 {
        if self == 0.0 {
            0.0
        } else {
            BIAS as f64 - self.to_bits() as f64 * (0.5_f64).powi(FRACTION_BITS as i32)
        }
    }
    #[inline(always)]
    fn under(self, limit: f64) -> bool {
        self < limit
    }
}

/// `fraction × 2^exponent`, the fraction in [1, 2) or 0: the precision of a double, with a range that no product of
/// evidence leaves.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Wide {
    fraction: f64,
    exponent: i64,
}

/// The exponent field of a double.
const FIELD: u64 = 0x7FF;
/// Bits of the fraction of a double.
const FRACTION_BITS: u32 = 52;
/// The exponent field of 1.0.
const BIAS: i64 = 1023;

/// ⌊log2⌋ of a positive normal double; −1023 for 0 and subnormal numbers.
#[inline(always)]
pub(crate) fn log2_floor(value: f64) -> i64 {
    ((value.to_bits() >> FRACTION_BITS) & FIELD) as i64 - BIAS
}

impl Wide {
    /// Brings the fraction back into [1, 2).
    #[inline]
    fn normal(fraction: f64, exponent: i64) -> Self {
        if fraction == 0.0 {
            return Self::ZERO;
        }
        let (fraction, exponent) = if fraction < f64::MIN_POSITIVE {
            (fraction * 2.0_f64.powi(64), exponent - 64) // subnormal: exact, as a power of two
        } else {
            (fraction, exponent)
        };
        let shift = log2_floor(fraction);
        let one = (BIAS as u64) << FRACTION_BITS;
        let bits = fraction.to_bits() & ((1 << FRACTION_BITS) - 1) | one;
        Self { fraction: f64::from_bits(bits), exponent: exponent + shift }
    }

    /// The natural logarithm; −∞ for 0.
    pub(crate) fn ln(self) -> f64 {
        // Near 1 the two parts would cancel.
        match self.exponent {
            0 => self.fraction.ln(),
            -1 => (self.fraction / 2.0).ln(),
            exponent => self.fraction.ln() + exponent as f64 * std::f64::consts::LN_2,
        }
    }

    /// As a double: 0 where it is below the range.
    pub(crate) fn to_f64(self) -> f64 {
        match self.exponent {
            -1022..=1023 => self.fraction * 2.0_f64.powi(self.exponent as i32),
            -1100..-1022 => self.fraction * 2.0_f64.powi(-1022) * 2.0_f64.powi((self.exponent + 1022) as i32),
            1024.. => f64::INFINITY,
            _ => 0.0,
        }
    }

    /// The order of the values.
    pub(crate) fn compare(self, other: Self) -> std::cmp::Ordering {
        match (self.is_zero(), other.is_zero()) {
            (false, false) => {
                self.exponent.cmp(&other.exponent).then_with(|| self.fraction.total_cmp(&other.fraction))
            }
            (a, b) => b.cmp(&a),
        }
    }

    /// The quotient; `other` is above 0.
    pub(crate) fn over(self, other: Self) -> Self {
        Self::normal(self.fraction / other.fraction, self.exponent - other.exponent)
    }
}

/// A product of many doubles, kept in one double as long as that can hold it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Product {
    narrow: f64,
    wide: Wide,
}

impl Product {
    /// The empty product.
    pub(crate) const ONE: Self = Self { narrow: 1.0, wide: Wide::ONE };

    /// Multiplies by `factor`, 0 or more.
    #[inline]
    pub(crate) fn by(&mut self, factor: f64) {
        const SMALL: f64 = 1e-150;
        if factor < SMALL {
            self.wide = self.wide.times(Wide::of(factor));
            return;
        }
        self.narrow *= factor;
        if self.narrow < SMALL {
            self.wide = self.wide.times(Wide::of(self.narrow));
            self.narrow = 1.0;
        }
    }

    /// Multiplies by a number of either kind.
    #[inline]
    pub(crate) fn by_number<N: Number>(&mut self, factor: N) {
        match factor.narrow() {
            Some(factor) => self.by(factor),
            None => self.wide = self.wide.times(factor.wide()),
        }
    }

    /// The product.
    #[inline]
    pub(crate) fn value(self) -> Wide {
        self.wide.times(Wide::of(self.narrow))
    }
}

impl Number for Wide {
    const ZERO: Self = Self { fraction: 0.0, exponent: 0 };
    const ONE: Self = Self { fraction: 1.0, exponent: 0 };

    #[inline]
    fn of(value: f64) -> Self {
        Self::normal(value, 0)
    }

    #[inline]
    fn plus(self, other: Self) -> Self {
        if self.fraction == 0.0 {
            return other;
        }
        if other.fraction == 0.0 {
            return self;
        }
        let (high, low) = if self.exponent >= other.exponent { (self, other) } else { (other, self) };
        let gap = high.exponent - low.exponent;
        if gap > 64 {
            return high; // below half a unit in the last place
        }
        Self::normal(high.fraction + low.fraction * 2.0_f64.powi(-(gap as i32)), high.exponent)
    }

    #[inline]
    fn times(self, other: Self) -> Self {
        let fraction = self.fraction * other.fraction;
        if fraction == 0.0 {
            return Self::ZERO;
        }
        if fraction >= 2.0 {
            Self { fraction: fraction / 2.0, exponent: self.exponent + other.exponent + 1 }
        } else {
            Self { fraction, exponent: self.exponent + other.exponent }
        }
    }

    fn divided(self, other: Self) -> Self {
        self.over(other)
    }

    fn share(self, whole: Self) -> f64 {
        self.over(whole).to_f64()
    }

    fn wide(self) -> Wide {
        self
    }

    fn bits(self) -> f64 {
        0.0
    }

    fn under(self, _limit: f64) -> bool {
        false
    }

    fn greater(self, other: Self) -> Self {
        if self.is_zero() {
            return other;
        }
        if other.is_zero() || (self.exponent, self.fraction) >= (other.exponent, other.fraction) {
            self
        } else {
            other
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Number, Wide};

    #[test]
    fn wide_numbers_keep_value_and_range() {
        let values = [1.0, 0.1, 3e-300, f64::MIN_POSITIVE / 8.0, 0.999_999, 1.5];
        for a in values {
            assert_eq!(Wide::of(a).to_f64(), a);
            for b in values {
                assert_eq!(Wide::of(a).plus(Wide::of(b)).to_f64(), a + b);
                let product = Wide::of(a).times(Wide::of(b));
                assert!((product.ln() - (a.ln() + b.ln())).abs() < 1e-12);
                let share = Wide::of(a).share(Wide::of(b));
                assert!(share == a / b || (share - a / b).abs() <= 1e-15 * (a / b));
            }
        }
        let tiny = (0..100).fold(Wide::ONE, |p, _| p.times(Wide::of(1e-300)));
        assert!((tiny.ln() - 30_000.0 * -std::f64::consts::LN_10).abs() < 1e-8);
        assert!(Wide::of(0.0).is_zero() && Wide::ZERO.to_f64() == 0.0);
        assert_eq!(Wide::of(1.0 - f64::EPSILON).ln(), (1.0 - f64::EPSILON).ln());
    }
}
