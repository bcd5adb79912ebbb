//! What the planner hands back: the step to take, what it costs, and why, as numbers and indices without a word of text.

use crate::model::index::{CauseIx, CompetenceIx, FindingIx, FixIx, PlaceIx, TestIx, WorkStateIx};
use crate::model::practice::BitSet;

/// What to do next.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Step {
    /// Take a test.
    Test(TestIx),
    /// Do a fix.
    Fix(FixIx),
    /// Change the work state by its own steps ([`crate::model::practice::WorkState::steps`]), one of them proving it.
    Enter(WorkStateIx),
    /// Go back from this work state to the state at the start ([`crate::model::practice::WorkState::back_steps`]).
    Return(WorkStateIx),
    /// Take all complaints again, energised, under the stated load and for the stated time.
    Prove,
    /// Put back what was lifted, pulled, put in local or slowed: the complaints are gone, the case is not closed yet.
    PutBack,
    /// The work state is not known: have it confirmed before anything else.
    ConfirmWorkState,
    /// Stop, and send somebody.
    HandOver(Sent),
    /// All complaints proven gone and everything put back; or there never was a complaint.
    Done,
}

/// Whom to send, with what.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub struct Sent {
    /// The competence; `None`: somebody whom the package does not list.
    pub competence: Option<CompetenceIx>,
    /// The instruments that such a person's plan uses.
    pub instruments: BitSet,
    /// The parts that go on the slip: (fix, position in [`crate::model::catalog::Fix::parts`]).
    pub parts: Vec<(FixIx, usize)>,
    /// What such a person would do first, in order: the fixes of the plan that was valued.
    pub fixes: Vec<FixIx>,
}

/// The step to take, and the numbers that speak for it.
#[derive(Clone, PartialEq, Debug)]
pub struct Advice {
    /// The step.
    pub step: Step,
    /// Expected minutes to done with this step and the plan behind it. Parts count at price × 60 ÷ labour per hour, and
    /// a standstill at its cost per minute in the same way, so these are minutes' worth.
    pub expected_minutes: f64,
    /// Why.
    pub why: Why,
    /// The next best steps with the expected minutes to done if they are taken first, best first.
    pub others: Vec<(Step, f64)>,
    /// No plan whatever can expect fewer minutes than this (perfect information).
    pub bound_minutes: f64,
}

/// The reasons of an advice.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Why {
    /// Minutes' worth of the step itself, with the way to it and its parts.
    pub step_minutes: f64,
    /// Of these, minutes for the way: changes of work state and place.
    pub way_minutes: f64,
    /// The changes before the step, in order.
    pub way: Vec<Way>,
    /// What the advice is really after: where `step` is a change of work state, the step for which it is made.
    pub aim: Option<Step>,
    /// Expected minutes of the best plan of fixes, proofs and hand-over without any further test.
    pub without_tests_minutes: f64,
    /// Expected minutes of handing over at once, to whoever is best.
    pub hand_over_minutes: f64,
    /// For a test: its possible results, likeliest first.
    pub separates: Vec<Branch>,
    /// For a fix: the causes that it may remove, with the chance that each is there now, likeliest first.
    pub removes: Vec<(CauseIx, f64)>,
    /// For a fix: the chance that it ends all complaints by itself. For a proof: the chance that it passes.
    pub succeeds: f64,
    /// The plan of fixes behind the step, each with the chance that the plan gets that far.
    pub then: Vec<(Step, f64)>,
    /// Steps that this person may not or cannot do and that would save minutes, most worth first.
    pub withheld: Vec<Withheld>,
    /// Causes that may well be there and show in no complaint, with their chance: they cost nothing, and are listed.
    pub silent: Vec<(CauseIx, f64)>,
    /// Temporary measures that this person may take while the complaint stands, where a standstill costs.
    pub meanwhile: Vec<FixIx>,
    /// Beliefs that were valued for this advice: its effort, in node expansions.
    pub expansions: u64,
}

/// A change before a step.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Way {
    /// Going to a place.
    Go(PlaceIx),
    /// Entering a work state.
    Enter(WorkStateIx),
    /// Going back from a work state to the state at the start.
    Return(WorkStateIx),
}

/// One possible result of a test.
#[derive(Clone, PartialEq, Debug)]
pub struct Branch {
    /// The outcomes, one per finding of the test that can tell anything.
    pub outcomes: Vec<(FindingIx, usize)>,
    /// The chance of this result.
    pub probability: f64,
    /// Causes whose chance moves most: (cause, chance before, chance after), largest move first.
    pub moved: Vec<(CauseIx, f64, f64)>,
    /// The step that would follow.
    pub then: Step,
    /// Expected minutes to done from there.
    pub minutes: f64,
}

/// A step that is not offered to this person.
#[derive(Clone, PartialEq, Debug)]
pub struct Withheld {
    /// The step.
    pub step: Step,
    /// The competence that it asks for, where the person lacks it (or the door's).
    pub competence: Option<CompetenceIx>,
    /// The instruments that the person lacks.
    pub instruments: BitSet,
    /// Expected minutes that it would save if this person could do it.
    pub saves: f64,
}
