//! The procedure of one job: the steps of a first power-up, one per unit, in an order in which every gate comes first.
//!
//! Invariants: the gates of a step stand before it; an energising step has at least one gate.

use super::catalog::{Act, Scale};
use super::index::{FindingIx, UnitIx, WorkStateIx};
use super::practice::Terms;
use crate::knowledge::Accuracy;
use crate::quantity::{Evaluated, Value};

/// The steps of one job, gates first. Empty where the package has no procedure.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Procedure {
    /// Its title for people.
    pub title: String,
    /// Steps.
    pub steps: Vec<Step>,
}

/// A step on one unit, or once on the job.
#[derive(Clone, PartialEq, Debug)]
pub struct Step {
    /// `unit/step`, or `power-up/step`.
    pub id: String,
    /// The step's id in the package.
    pub kind: String,
    /// The unit.
    pub unit: Option<UnitIx>,
    /// How it is done.
    pub act: Act,
    /// The act in a sentence.
    pub say: String,
    /// How to do it.
    pub how: Vec<String>,
    /// What is expected.
    pub expect: String,
    /// What it reads: unit of measure and how many numbers.
    pub reading: Option<(String, usize)>,
    /// From its readings to an outcome.
    pub scale: Option<Scale>,
    /// Outcomes; the first goes on.
    pub outcomes: Vec<String>,
    /// What each outcome proves, and what it does not; empty where nothing is said.
    pub proves: Vec<String>,
    /// What each outcome shows.
    pub raises: Vec<Vec<(FindingIx, usize)>>,
    /// Steps that are confirmed before it: positions before its own.
    pub gates: Vec<usize>,
    /// It brings voltage to something, or sets something in motion.
    pub energises: bool,
    /// It is a real state that has to hold; asked again when it may have changed.
    pub holds: bool,
    /// Steps that end the need for it, once all of them are confirmed; empty: it holds to the end.
    pub until: Vec<usize>,
    /// The question by which it is asked again; empty: the step itself.
    pub again: String,
    /// The work state of which it is a part, where whoever reaches that may take this step as well.
    pub reached_by: Option<WorkStateIx>,
    /// The steps that are open again when it turns out not to hold: of an energising step all of them and itself, of
    /// another real state those that were given up since.
    pub redo: Vec<usize>,
    /// Steps whose leftovers it puts back.
    pub puts_back: Vec<usize>,
    /// Its reading is kept as the site's baseline.
    pub baseline: bool,
    /// It goes through the connections of the job that are made on site.
    pub walks: bool,
    /// Of such a step: what is expected at a connection, by what it carries; `None`: at a part between two ends.
    pub expects: Vec<(Option<crate::knowledge::Carries>, String)>,
    /// Of such a step: what is said where supply and motor conductors of one unit are exchanged; empty otherwise.
    pub danger: String,
    /// What it costs and asks for.
    pub terms: Terms,
    /// Sources, as titles.
    pub sources: Vec<String>,
}

impl Step {
    /// The value of its readings and the outcome that holds it; `None` where a nameplate value is missing or there is no
    /// finite value.
    #[must_use]
    pub fn read(&self, readings: &[f64]) -> Option<(f64, usize)> {
        let scale = self.scale.as_ref()?;
        if readings.len() != self.reading.as_ref()?.1 || !readings.iter().all(|number| number.is_finite()) {
            return None;
        }
        let value = match &scale.value {
            None => *readings.first()?,
            Some(expression) => {
                let known = |name: &str| match name {
                    "reading" => readings.first().map(|&number| Value::Number(number)),
                    "readings" => Some(Value::Numbers(readings.to_vec())),
                    _ => scale.facts.iter().find(|(known, _)| known == name).map(|(_, value)| value.clone()),
                };
                match expression.evaluate(&known) {
                    Evaluated::Known(Value::Number(number)) => number,
                    _ => return None,
                }
            }
        };
        let holds = |bands: &Vec<(f64, f64)>| bands.iter().any(|&(from, to)| from <= value && value < to);
        scale.bands.iter().position(holds).map(|outcome| (value, outcome))
    }

    /// A scale of those parts; a step's readings are taken as they are.
    pub(super) fn scale(
        value: Option<crate::quantity::Expression>,
        facts: Vec<(String, Value)>,
        unknown: Vec<(UnitIx, String)>,
        bands: Vec<Vec<(f64, f64)>>,
    ) -> Scale {
        Scale { value, facts, unknown, accuracy: Accuracy::Exact, bands }
    }
}
