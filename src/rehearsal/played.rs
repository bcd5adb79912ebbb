//! What came of a rehearsed call.

use super::safety::Breach;
use super::site::Told;
use crate::model::Model;
use crate::model::index::{CauseIx, CompetenceIx, FindingIx};
use crate::model::practice::BitSet;
use crate::planner::Step;

/// How a call ended.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Ending {
    /// All complaints were proven gone.
    Proven,
    /// Handed over to that competence; `None`: to somebody whom the package does not list.
    HandedOver(Option<CompetenceIx>),
    /// It did not come to an end within the steps that a call may take.
    Endless,
}

/// What became of one hidden cause.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Fate {
    /// The cause.
    pub cause: CauseIx,
    /// A fix that removes it was done.
    pub fixed: bool,
    /// At the end it was among the first of the ranking, as many as causes were there.
    pub ranked: bool,
    /// It was handed over to somebody who may do a fix that removes it.
    pub right_hand: bool,
}

impl Fate {
    /// Found: its fix done, or at the top of the ranking.
    #[must_use]
    pub const fn found(&self) -> bool {
        self.fixed || self.ranked
    }
}

/// One step of a call.
#[derive(Clone, PartialEq, Debug)]
pub struct Move {
    /// What was advised.
    pub step: Step,
    /// What the person said to a test.
    pub told: Option<Told>,
    /// Minutes since the call began, this step included.
    pub minutes: f64,
}

/// What came of a call.
#[derive(Clone, PartialEq, Debug)]
pub struct Played {
    /// What somebody rang up about.
    pub opening: Vec<(FindingIx, usize)>,
    /// The steps, in their order.
    pub moves: Vec<Move>,
    /// How it ended.
    pub ending: Ending,
    /// The hidden causes.
    pub fates: Vec<Fate>,
    /// The head of the ranking at the end.
    pub first: Vec<(CauseIx, f64)>,
    /// Questions: tests taken, the opening and proofs not counted.
    pub questions: u32,
    /// Minutes of steps, ways, changes of work state and proofs; waiting for whoever is sent is not in it.
    pub minutes: f64,
    /// Steps offered that should not have been.
    pub breaches: Vec<Breach>,
}

impl Played {
    /// Every hidden cause was found.
    #[must_use]
    pub fn found(&self) -> bool {
        self.fates.iter().all(Fate::found)
    }

    /// Every hidden cause was found, or is in the right hands.
    #[must_use]
    pub fn found_or_right_hand(&self) -> bool {
        self.fates.iter().all(|fate| fate.found() || fate.right_hand)
    }
}

/// The most probable causes, `many` of them, with those that are as probable as the last.
#[must_use]
pub fn first_ranked(now: &[f64], many: usize) -> Vec<CauseIx> {
    let mut ranked: Vec<(f64, CauseIx)> =
        now.iter().enumerate().map(|(at, &chance)| (chance, CauseIx::new(at))).collect();
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let last = many.checked_sub(1).and_then(|last| ranked.get(last));
    let least = last.map_or(f64::INFINITY, |last| last.0 * (1.0 - 1e-9));
    ranked.iter().take_while(|(chance, _)| *chance >= least).map(|(_, cause)| *cause).collect()
}

/// Whether a person of that competence, with what such a person carries and was told to bring, may do a fix that removes
/// the cause.
#[must_use]
pub fn can_remove(model: &Model, competence: CompetenceIx, sent: BitSet, cause: CauseIx) -> bool {
    let mut person = model.practice.person(competence);
    person.instruments = person.instruments.union(sent);
    let fixes = model.network.removed_by(cause).iter();
    fixes.into_iter().any(|(fix, _)| model.practice.allows(&person, &model.fixes[fix.at()].terms))
}
