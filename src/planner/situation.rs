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
    /// The work state before, where it was changed and nothing was learned or done since: what the change was made for
    /// comes next.
    pub came_from: Option<WorkStateIx>,
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
            came_from: None,
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
