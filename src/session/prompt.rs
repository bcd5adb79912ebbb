//! Prompts: what to show next, as data.
//!
//! A front end renders a [`View`] and never decides anything. Every text of the trade in it comes from the package.
//! Invariant: cautions stand before the step, worst signal word first; no step is beyond the person present.

use super::event::{EventNo, LeftId};
use super::slip::Slip;
use crate::model::catalog::{Act, Part};
use crate::model::practice::Signal;
use crate::wiring::{Connection, Deviation};

/// What to show now.
#[derive(Clone, PartialEq, Debug)]
pub struct View {
    /// The standing notice; filled in the first view only, and after the session is taken up again.
    pub notice: Vec<String>,
    /// The person present is a layman: use the lay voice.
    pub lay: bool,
    /// What is asked or advised.
    pub prompt: Prompt,
    /// An answer that disagrees with the rest; offer to check it.
    pub doubt: Option<Doubt>,
    /// Where it is on the plan to walk along; `None` without one, and where no plan says what is asked.
    pub chart: Option<OnChart>,
}

/// Where a session is on the plan that it walks along.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum OnChart {
    /// At the node of this number, as the exports number it.
    At(usize),
    /// At none: the planner has taken over.
    Left,
}

/// One question or step.
#[derive(Clone, PartialEq, Debug)]
pub enum Prompt {
    /// Is any of these so now? Answer: [`What::EmergenciesAnswered`](super::What::EmergenciesAnswered).
    Emergencies(Vec<EmergencyAsked>),
    /// An emergency stops everything until all is clear.
    Emergency(EmergencyNow),
    /// What is wrong, in the caller's own words?
    Complaint,
    /// Are the complaints there just now? (their sentences)
    ThereNow(Vec<String>),
    /// Which work state is it in now?
    WorkState(Vec<StateChoice>),
    /// One act on the way into a work state.
    Enter(WorkAct),
    /// One act on the way back.
    Return(WorkAct),
    /// A value from a nameplate, which the test after it needs.
    Nameplate(NameplateAsked),
    /// A test.
    Test(TestStep),
    /// A fix.
    Fix(FixStep),
    /// A complaint, to be taken again under its load and for its time.
    Prove(ProveStep),
    /// Stop here and hand over.
    HandOver(Slip),
    /// A step of the first power-up.
    PowerUp(Box<PowerUpStep>),
    /// What is left of the power-up is for somebody else, or was passed over.
    PowerUpWaits(PowerUpWaits),
    /// Something to put back, or to hand over by name.
    PutBack(Vec<Left>),
    /// The answers cannot all be so: one was wrong, or the work changed something.
    Contradiction(Doubt),
    /// Nothing is left to do: close.
    Close(ClosingView),
    /// Handed over; it goes on when somebody takes it up.
    HandedOver(Slip),
    /// Closed.
    Closed(ClosingView),
}

/// An emergency, asked for at the start.
#[derive(Clone, PartialEq, Debug)]
pub struct EmergencyAsked {
    /// Its id.
    pub id: String,
    /// The question.
    pub ask: String,
}

/// An emergency at hand.
#[derive(Clone, PartialEq, Debug)]
pub struct EmergencyNow {
    /// Its id.
    pub id: String,
    /// What to do, in order.
    pub act: Vec<String>,
    /// The question that ends it; yes is [`What::AllClear`](super::What::AllClear).
    pub all_clear: String,
}

/// A work state to choose from.
#[derive(Clone, PartialEq, Debug)]
pub struct StateChoice {
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Further words for it.
    pub also: Vec<String>,
}

/// A caution.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Caution {
    /// Signal word.
    pub signal: Signal,
    /// The words.
    pub text: String,
}

/// What goes with every step.
#[derive(Clone, PartialEq, Debug)]
pub struct Conditions {
    /// Cautions, worst first; to be shown before the step.
    pub cautions: Vec<Caution>,
    /// The competence that it asks for, by name.
    pub competence: String,
    /// Instruments, by name.
    pub instruments: Vec<String>,
    /// Where, by name.
    pub place: String,
    /// The person has to go there first.
    pub travel: bool,
    /// The work state that it needs, by name; empty: any.
    pub work_state: String,
    /// The enclosure whose door is open meanwhile, by name.
    pub inside: Option<String>,
    /// Minutes that it takes, where the package says so.
    pub minutes: Option<f64>,
    /// What will have to be put back.
    pub leaves: Vec<String>,
}

/// An act on the way into a work state, or back.
#[derive(Clone, PartialEq, Debug)]
pub struct WorkAct {
    /// Work state id.
    pub state: String,
    /// Its name.
    pub name: String,
    /// Which act, from 0; answer with [`What::WorkStep`](super::What::WorkStep) or `BackStep` of the same number.
    pub step: usize,
    /// How many there are.
    pub of: usize,
    /// The act.
    pub text: String,
    /// Who, with what, where.
    pub conditions: Conditions,
    /// What is lifted, pulled or slowed still: look at it before the way back.
    pub open: Vec<Left>,
}

/// A nameplate value to ask for.
#[derive(Clone, PartialEq, Debug)]
pub struct NameplateAsked {
    /// Unit id.
    pub unit: String,
    /// Its name.
    pub unit_name: String,
    /// Key.
    pub key: String,
    /// The question; empty where the package has none.
    pub ask: String,
    /// What it is; empty where the package does not say.
    pub about: String,
    /// Unit of measure; `None`: a text.
    pub measured_in: Option<String>,
    /// The values that it can have; empty: any.
    pub one_of: Vec<String>,
    /// The test that needs it, in a sentence.
    pub test: String,
}

/// An outcome to choose.
#[derive(Clone, PartialEq, Debug)]
pub struct Choice {
    /// Finding id.
    pub finding: String,
    /// Its name.
    pub name: String,
    /// Outcomes, the normal one first.
    pub outcomes: Vec<String>,
    /// A number shown by the device is asked for, and looked up in its table (number, outcome, label).
    pub fault_table: Option<Vec<(String, String, String)>>,
}

/// A test to do.
#[derive(Clone, PartialEq, Debug)]
pub struct TestStep {
    /// Test id.
    pub test: String,
    /// The unit's id and name, where it has one.
    pub unit: Option<(String, String)>,
    /// Asking, looking, reading, trying.
    pub act: Act,
    /// The sentence.
    pub say: String,
    /// In the lay voice.
    pub say_to_caller: String,
    /// How.
    pub how: String,
    /// What is expected.
    pub expect: String,
    /// Findings that it gives.
    pub choices: Vec<Choice>,
    /// What is read, in the order in which the numbers are kept; empty: no reading.
    pub reading: Vec<Part>,
    /// What is taken to be so when it is answered: (finding name, outcome).
    pub takes: Vec<(String, String)>,
    /// Who, with what, where, at what risk.
    pub conditions: Conditions,
}

/// A fix to do.
#[derive(Clone, PartialEq, Debug)]
pub struct FixStep {
    /// Fix id.
    pub fix: String,
    /// The unit's id and name, where it has one.
    pub unit: Option<(String, String)>,
    /// What is done, step by step.
    pub steps: Vec<String>,
    /// In the lay voice, or empty.
    pub say_to_caller: String,
    /// When not to do it.
    pub not_for: Vec<String>,
    /// Causes that it removes, by name, with how probable they are now.
    pub removes: Vec<(String, f64)>,
    /// Parts and prices.
    pub parts: Vec<(String, f64)>,
    /// Currency of the prices.
    pub currency: String,
    /// For the meantime only.
    pub temporary: bool,
    /// Who, with what, where, at what risk.
    pub conditions: Conditions,
}

/// A complaint to take again.
#[derive(Clone, PartialEq, Debug)]
pub struct ProveStep {
    /// Finding id.
    pub finding: String,
    /// The report in a sentence.
    pub say: String,
    /// Its outcomes, the normal one first.
    pub outcomes: Vec<String>,
    /// The load.
    pub under: String,
    /// Minutes for which it must stay away.
    pub minutes: f64,
    /// How many complaints are to be proven still, this one included.
    pub left: usize,
    /// Who, with what, where, at what risk.
    pub conditions: Conditions,
}

/// Something in another state than it was found in.
#[derive(Clone, PartialEq, Debug)]
pub struct Left {
    /// By which to name it in events.
    pub id: LeftId,
    /// What has to be put back.
    pub text: String,
    /// It is a measure for the meantime.
    pub temporary: bool,
}

/// An answer that disagrees with the rest.
#[derive(Clone, PartialEq, Debug)]
pub struct Doubt {
    /// The event that gave it.
    pub event: EventNo,
    /// Id of the finding, or of the cause that was seen.
    pub finding: String,
    /// Its name.
    pub name: String,
    /// What was said: the outcome; `present` or `absent` of a cause.
    pub outcome: String,
    /// The test that takes it again; empty for a cause.
    pub test: String,
    /// How much more probable all that was said becomes without it (natural logarithm); infinite when it alone
    /// makes the rest impossible.
    pub ln_gain: f64,
    /// Jensen's conflict measure of all that was said.
    pub conflict: f64,
}

/// How a case stands at its end.
#[derive(Clone, PartialEq, Debug)]
pub struct ClosingView {
    /// Complaints proven gone: sentence, load, minutes watched.
    pub proven: Vec<(String, String, f64)>,
    /// Complaints that are not.
    pub unproven: Vec<String>,
    /// Causes that show in no complaint and stay probable: name, chance.
    pub stay: Vec<(String, f64)>,
    /// What was done.
    pub done: Vec<String>,
    /// What was handed over: text, to whom.
    pub handed_over: Vec<(String, String)>,
}

/// A step of the first power-up.
#[derive(Clone, PartialEq, Debug)]
pub struct PowerUpStep {
    /// Step id.
    pub step: String,
    /// How it is done.
    pub act: Act,
    /// The act, or the question by which it is asked again.
    pub say: String,
    /// How to do it.
    pub how: Vec<String>,
    /// What is expected.
    pub expect: String,
    /// What it reads: unit of measure and how many numbers.
    pub reading: Option<(String, usize)>,
    /// Outcomes; the first goes on.
    pub outcomes: Vec<String>,
    /// What an outcome proves, and what it does not: outcome, text.
    pub proves: Vec<(String, String)>,
    /// It brings voltage to something, or sets something in motion.
    pub energises: bool,
    /// Only asked whether it is still so.
    pub again: bool,
    /// It was confirmed before, and may have changed.
    pub once_more: bool,
    /// It stopped before.
    pub stopped: bool,
    /// Its position in the procedure, from 1.
    pub number: usize,
    /// How many steps there are.
    pub of: usize,
    /// The walk through the connections of the job, of a step that goes through them.
    pub walk: Option<Walk>,
    /// The steps that were confirmed before it.
    pub gates: Vec<String>,
    /// Sources, as titles.
    pub sources: Vec<String>,
    /// Who, with what, where, at what risk.
    pub conditions: Conditions,
}

/// What is left of a power-up waits for somebody else.
#[derive(Clone, PartialEq, Debug)]
pub struct PowerUpWaits {
    /// What could be taken next, and by whom.
    pub next: Vec<Waiting>,
    /// How many steps are left in all.
    pub left: usize,
}

/// A step that waits for somebody.
#[derive(Clone, PartialEq, Debug)]
pub struct Waiting {
    /// The act.
    pub say: String,
    /// The competence that it asks for, by name.
    pub competence: String,
    /// Instruments, by name.
    pub instruments: Vec<String>,
}

/// A walk through the connections that are made on site, as it stands.
#[derive(Clone, PartialEq, Debug)]
pub struct Walk {
    /// So many are good.
    pub good: usize,
    /// So many there are.
    pub of: usize,
    /// The connection whose turn it is: the first that nobody has read, else the first that was not good; `None`: all are.
    pub next: Option<WireAsked>,
    /// What is wrong by the readings so far.
    pub wrong: Vec<WireDeviation>,
}

/// A connection to be read.
#[derive(Clone, PartialEq, Debug)]
pub struct WireAsked {
    /// The connection.
    pub connection: Connection,
    /// What is expected; empty where the package does not say.
    pub expect: String,
    /// The connection before it was of the same kind, so that nothing else is expected.
    pub as_before: bool,
    /// It was read before, and was not good.
    pub again: bool,
}

/// Something wrong with connections.
#[derive(Clone, PartialEq, Debug)]
pub struct WireDeviation {
    /// What.
    pub deviation: Deviation,
    /// The connections that it concerns, in the order in which it names them.
    pub wires: Vec<Connection>,
    /// The causes that it is, by name.
    pub causes: Vec<String>,
    /// The unit whose supply and motor side are concerned, by name; empty otherwise.
    pub unit: String,
    /// The caution for that; empty otherwise.
    pub danger: String,
}
