//! A stretch of bytes of one file, and a value that remembers where it was written.

use std::ops::Deref;

use super::file::FileId;

/// Bytes `start .. end` of one file.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Span {
    /// The file, an index into its [`Sources`](super::Sources).
    pub file: FileId,
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// Bytes `start .. end` of `file`; positions beyond 32 bits are cut, files being smaller than that.
    #[must_use]
    pub fn new(file: FileId, start: usize, end: usize) -> Self {
        let cut = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        Self { file, start: cut(start), end: cut(end.max(start)) }
    }

    /// The very beginning of `file`.
    #[must_use]
    pub const fn top_of(file: FileId) -> Self {
        Self { file, start: 0, end: 0 }
    }

    /// From the start of `self` to the end of `other`, in the file of `self`.
    #[must_use]
    pub fn to(self, other: Self) -> Self {
        Self { end: self.end.max(other.end), ..self }
    }

    /// The part of this span from its byte `from`, `length` bytes long, cut to the span.
    #[must_use]
    pub fn part(self, from: usize, length: usize) -> Self {
        let start = (self.start as usize + from).min(self.end as usize);
        let end = (start + length).min(self.end as usize);
        Self::new(self.file, start, end)
    }
}

/// A value and where it was written.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Spanned<T> {
    /// The value.
    pub value: T,
    /// Where it was written.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// `value`, written at `span`.
    pub const fn new(value: T, span: Span) -> Self {
        Self { value, span }
    }

    /// Another value at the same place.
    pub fn map<U>(self, make: impl FnOnce(T) -> U) -> Spanned<U> {
        Spanned { value: make(self.value), span: self.span }
    }
}

impl<T> Deref for Spanned<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.value
    }
}
