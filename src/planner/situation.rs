//! Where the work stands: who is present, where, in which work state, and what is known.

use std::collections::{BTreeMap, BTreeSet};

use crate::inference::Evidence;
use crate::model::index::{FindingIx, FixIx, PlaceIx, TestIx, WorkStateIx};
use crate::model::practice::Person;

/// Everything about the present moment on which the advice depends.
#[derive(Clone, PartialEq, Debug)]
pub struct Situation {
    /// Competences and instruments of the most competent person present.
    pub person: Person,
    /// The work state; `None`: not known, so that it has to be confirmed before anything else.
    pub work_state: Option<WorkStateIx>,
    /// Where that person is.
    pub place: PlaceIx,
    /// Findings reported abnormal as what is wrong. All of them have to be retaken normal in the end.
    pub complaints: Vec<FindingIx>,
    /// All that was told, in order, fixes included: what inference reads.
    pub evidence: Evidence,
    /// Findings answered since the last fix, with their outcome: these are not asked again.
    pub answered: BTreeMap<FindingIx, usize>,
    /// Tests that this person said they cannot tell.
    pub set_aside: BTreeSet<TestIx>,
    /// Fixes that this person said they cannot do.
    pub declined: BTreeSet<FixIx>,
    /// Fixes already done, in order.
    pub done_fixes: Vec<FixIx>,
    /// How many things still have to be put back.
    pub to_put_back: usize,
    /// What a minute of standstill costs, in the practice's currency; 0 where it costs nothing.
    pub standstill_per_minute: f64,
}

impl Situation {
    /// A call in which nothing is known yet: that person, energised, at that place.
    #[must_use]
    pub fn new(person: Person, place: PlaceIx) -> Self {
        Self {
            person,
            work_state: Some(WorkStateIx(0)),
            place,
            complaints: Vec::new(),
            evidence: Evidence::default(),
            answered: BTreeMap::new(),
            set_aside: BTreeSet::new(),
            declined: BTreeSet::new(),
            done_fixes: Vec::new(),
            to_put_back: 0,
            standstill_per_minute: 0.0,
        }
    }
}

/// How much effort an advice may take. The same budget gives the same advice, on every machine.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Budget {
    /// Exact joint samples that stand for the belief.
    pub samples: usize,
    /// Beliefs that may be valued. The one-step look-ahead is always finished; what is left is spent on looking further.
    pub expansions: u64,
    /// The seed of the samples.
    pub seed: u64,
    /// Whether to give reasons: what the results of a test would move, and what is withheld.
    pub explain: bool,
}

impl Budget {
    /// For simulation and graphs: the one-step look-ahead over fewer samples.
    pub const QUICK: Self = Self { samples: 96, expansions: 0, seed: 1, explain: false };
    /// For a prompt that somebody waits for.
    pub const FIRST: Self = Self { samples: 256, expansions: 0, seed: 1, explain: true };
    /// Looks two steps ahead while the budget lasts.
    pub const FURTHER: Self = Self { samples: 384, expansions: 4_000, seed: 1, explain: true };
}

impl Default for Budget {
    fn default() -> Self {
        Self::FIRST
    }
}
