//! Sets of the vertices of a part, as bits.

/// A set of vertices of a part.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Mask<const W: usize>([u64; W]);

impl<const W: usize> Mask<W> {
    pub(super) const NONE: Self = Self([0; W]);

    #[inline(always)]
    pub(super) fn set(&mut self, at: usize) {
        self.0[at / 64] |= 1 << (at % 64);
    }
    #[inline(always)]
    pub(super) fn clear(&mut self, at: usize) {
        self.0[at / 64] &= !(1 << (at % 64));
    }
    #[inline(always)]
    pub(super) fn has(&self, at: usize) -> bool {
        self.0[at / 64] >> (at % 64) & 1 == 1
    }
    #[inline(always)]
    pub(super) fn is_empty(&self) -> bool {
        self.0.iter().all(|&w| w == 0)
    }
    #[inline(always)]
    pub(super) fn add(&mut self, other: &Self) {
        for (word, &more) in self.0.iter_mut().zip(&other.0) {
            *word |= more;
        }
    }
    #[inline(always)]
    pub(super) fn meet(&mut self, other: &Self) {
        for (word, &mask) in self.0.iter_mut().zip(&other.0) {
            *word &= mask;
        }
    }
    #[inline(always)]
    pub(super) fn count(&self) -> u32 {
        self.0.iter().map(|w| w.count_ones()).sum()
    }
    /// Takes the first member out.
    #[inline(always)]
    pub(super) fn pop(&mut self) -> Option<usize> {
        let w = self.0.iter().position(|&w| w != 0)?;
        let bit = self.0[w].trailing_zeros() as usize;
        self.0[w] &= self.0[w] - 1;
        Some(w * 64 + bit)
    }
    #[inline(always)]
    pub(super) fn each(&self, mut act: impl FnMut(usize)) {
        for (w, &word) in self.0.iter().enumerate() {
            let mut word = word;
            while word != 0 {
                act(w * 64 + word.trailing_zeros() as usize);
                word &= word - 1;
            }
        }
    }
}
