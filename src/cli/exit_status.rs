//! The exit statuses, in the only place that knows their numbers.

/// How a command ended.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum ExitStatus {
    /// 0: done. Also when the reader of a pipe went away.
    Done,
    /// 1: done, and the answer is no: errors found, results differ.
    No,
    /// 2: could not do it: wrong usage, an unreadable file, a broken store, a limit.
    Unable,
    /// 3: the evidence is impossible under the knowledge.
    Impossible,
}

impl ExitStatus {
    /// The number that the shell sees.
    #[must_use]
    pub const fn code(self) -> u8 {
        match self {
            Self::Done => 0,
            Self::No => 1,
            Self::Unable => 2,
            Self::Impossible => 3,
        }
    }
}

impl From<ExitStatus> for std::process::ExitCode {
    fn from(status: ExitStatus) -> Self {
        Self::from(status.code())
    }
}
