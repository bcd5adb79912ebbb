//! Findings, and what gives them: symptoms and tests.

use super::link::{Reference, Via};
use super::{Citation, Name, Terms, Text};
use crate::quantity::Expression;
use crate::source::Spanned;

/// What a report or a test can show.
#[derive(Clone, PartialEq, Debug)]
pub struct Finding {
    /// Its name in the component.
    pub id: Name,
    /// Its name for people; empty text where the package gives none.
    pub name: Option<Text>,
    /// Outcomes, the normal one first, in the order of the file.
    pub outcomes: Vec<Name>,
    /// Further words of people for each outcome, parallel to `outcomes`.
    pub also: Vec<Vec<Text>>,
    /// Chance per outcome, parallel to `outcomes`, with none of the listed causes; the normal one's is 0.
    pub leak: Vec<f64>,
}

/// Proof that a complaint is gone.
#[derive(Clone, PartialEq, Debug)]
pub struct Proof {
    /// The load under which it is proven.
    pub under: Option<Text>,
    /// Minutes for which it must stay away.
    pub minutes: f64,
}

/// A finding that somebody reports.
#[derive(Clone, PartialEq, Debug)]
pub struct Symptom {
    /// What it can show.
    pub finding: Finding,
    /// The report in a sentence.
    pub say: Text,
    /// Further words and phrases of callers.
    pub also: Vec<Text>,
    /// The question when nobody has said it.
    pub ask: Option<Text>,
    /// The lay voice.
    pub say_to_caller: Option<Text>,
    /// Where it is read; [`Via::Same`]: at its own unit.
    pub at: Via,
    /// Cost and limits of asking.
    pub terms: Terms,
    /// How it is proven gone.
    pub proof: Proof,
    /// Where it comes from.
    pub sources: Vec<Citation>,
}

/// How the act of a test is done.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Act {
    /// A question to the person.
    Ask,
    /// A look.
    Look,
    /// A reading.
    Read,
    /// Something is tried.
    Try,
}

/// An act of looking, asking or reading.
#[derive(Clone, PartialEq, Debug)]
pub struct Test {
    /// Its name among the tests of the component.
    pub id: Name,
    /// How it is done.
    pub act: Act,
    /// The act in a sentence.
    pub say: Text,
    /// The lay voice.
    pub say_to_caller: Option<Text>,
    /// How to do it.
    pub how: Vec<Text>,
    /// What is expected.
    pub expect: Option<Text>,
    /// What is read, in the order in which it is asked for; empty: it takes no reading.
    pub readings: Vec<Reading>,
    /// What it gives, at least one.
    pub gives: Vec<Gives>,
    /// Findings that must show an outcome before this makes sense.
    pub needs: Vec<(Reference, Name)>,
    /// How far its answer is believed.
    pub trust: Option<f64>,
    /// Where it is done; [`Via::Same`]: at its own unit.
    pub at: Via,
    /// Cost and limits.
    pub terms: Terms,
    /// Where it comes from.
    pub sources: Vec<Citation>,
}

/// Numbers of one quantity that a test reads.
#[derive(Clone, PartialEq, Debug)]
pub struct Reading {
    /// The name by which a `value` speaks of it; `None`: it is the only one, and `reading` and `readings` speak of it.
    pub id: Option<Name>,
    /// What it is, for people.
    pub name: Option<Text>,
    /// Unit of measure.
    pub measured_in: Spanned<String>,
    /// How many numbers.
    pub count: usize,
}

/// One finding of a test.
#[derive(Clone, PartialEq, Debug)]
pub struct Gives {
    /// What it can show.
    pub finding: Finding,
    /// From a reading to an outcome.
    pub scale: Option<Scale>,
    /// Whether what is typed is looked up in the unit's own fault table.
    pub fault_table: bool,
    /// The symptom of the component, as its position, that somebody complains of who tells this unasked and not normal.
    pub complaint: Option<usize>,
    /// For a choice with `several: true`: the name that the package gives the choice. Such a choice is one finding per
    /// abnormal outcome, `NAME.OUTCOME`, each with the outcomes `no` and `yes`.
    pub several: Option<Name>,
}

/// From a reading to an outcome.
#[derive(Clone, PartialEq, Debug)]
pub struct Scale {
    /// The expression over [`Component::words_of_value`](super::Component::words_of_value); `None`: the reading itself.
    pub value: Option<Spanned<Expression>>,
    /// Two standard deviations of the value.
    pub accuracy: Accuracy,
    /// Per outcome, its intervals [from, to), parallel to the finding's outcomes; they neither overlap nor leave gaps.
    pub bands: Vec<Vec<(f64, f64)>>,
}

/// Two standard deviations of a value.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Accuracy {
    /// None stated.
    Exact,
    /// A share of the value.
    Relative(f64),
    /// In the value's own measure.
    Absolute(f64),
}
