//! How much effort an advice may take: three named efforts, and the numbers behind them.
//!
//! Effort is counted in beliefs valued (node expansions) and in samples, never in wall time, so that the same effort gives
//! the same advice on every machine.

/// How hard to think.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub enum Effort {
    /// For simulation and graphs: one step ahead over few samples, and no reasons.
    Quick,
    /// For a prompt that somebody waits for: one step ahead, with reasons.
    #[default]
    First,
    /// Two steps ahead with the one-step policy carried out behind them, with reasons.
    NearOptimal,
}

impl Effort {
    /// All of them, the least first.
    pub const ALL: [Self; 3] = [Self::Quick, Self::First, Self::NearOptimal];

    /// The name, as it is typed and written.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Quick => "quick",
            Self::First => "first",
            Self::NearOptimal => "near-optimal",
        }
    }

    /// The effort of that name.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|effort| effort.name() == name)
    }

    /// What it may take.
    #[must_use]
    pub fn budget(self) -> Budget {
        match self {
            Self::Quick => Budget::QUICK,
            Self::First => Budget::FIRST,
            Self::NearOptimal => Budget::NEAR_OPTIMAL,
        }
    }
}

/// How much effort an advice may take. The same budget gives the same advice, on every machine.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Budget {
    /// Exact joint samples that stand for the belief, where it cannot be had exactly.
    pub samples: usize,
    /// So many tests, the most promising, are valued by the look-ahead.
    pub tests: usize,
    /// Beliefs that may be valued. The one-step look-ahead is always finished; what is left is spent on looking further.
    pub expansions: u64,
    /// The seed of the samples.
    pub seed: u64,
    /// Whether to give reasons: what the results of a test would move, and what is withheld.
    pub explain: bool,
}

impl Budget {
    /// For simulation and graphs: the one-step look-ahead over fewer samples.
    pub const QUICK: Self = Self { samples: 64, tests: 16, expansions: 0, seed: 1, explain: false };
    /// For a prompt that somebody waits for.
    pub const FIRST: Self = Self { samples: 256, tests: 40, expansions: 0, seed: 1, explain: true };
    /// Looks further while the budget lasts.
    pub const NEAR_OPTIMAL: Self =
        Self { samples: 384, tests: 64, expansions: 4_000, seed: 1, explain: true };
}

impl Default for Budget {
    fn default() -> Self {
        Self::FIRST
    }
}
