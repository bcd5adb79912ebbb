//! What people read, and what steps cost: the causes, conditions, findings, tests, fixes and units of one job.

use super::index::{CauseIx, ConditionIx, FindingIx, FixIx, PlaceIx, TestIx, UnitIx};
use super::network::Network;
use super::practice::{Practice, Terms};
use crate::job::Plate;
pub use crate::knowledge::{Accuracy, Act, Stage};
use crate::quantity::{Expression, Value};

/// One piece of equipment of the job.
#[derive(Clone, PartialEq, Debug)]
pub struct Unit {
    /// Its id, the first half of the ids of its causes and findings.
    pub id: String,
    /// Its name for people.
    pub name: String,
    /// Further words for it.
    pub also: Vec<String>,
    /// The component (kind) that it is.
    pub component: String,
    /// Words for the kind.
    pub kind_words: Vec<String>,
    /// Units that belong to it and to no other of its kind, or to which it belongs so (`own` relations, both ways): a
    /// fan's drive, a drive's motor.
    pub partners: Vec<UnitIx>,
    /// Where it is.
    pub place: PlaceIx,
    /// Nobody has named it: it stands for the unit that another one must have (only in a session without a sheet).
    pub implied: bool,
    /// What its nameplate can say, and what is known of it.
    pub nameplate: Vec<PlateKey>,
}

/// One line of a nameplate.
#[derive(Clone, PartialEq, Debug)]
pub struct PlateKey {
    /// The key, as expressions use it.
    pub id: String,
    /// Unit of measure; `None`: a text.
    pub measured_in: Option<String>,
    /// The question for it; empty where the package has none.
    pub ask: String,
    /// What it is; empty where the package does not say.
    pub about: String,
    /// The values that it can have; empty: any.
    pub one_of: Vec<String>,
    /// What is known.
    pub value: Option<Plate>,
}

/// A cause, as people read it.
#[derive(Clone, PartialEq, Debug)]
pub struct Cause {
    /// `unit/name` or `component/name`.
    pub id: String,
    /// Its name for people.
    pub name: String,
    /// The unit, where the component has one.
    pub unit: Option<UnitIx>,
    /// A remark.
    pub note: String,
    /// Sources, as titles.
    pub sources: Vec<String>,
}

/// A condition, as people read it.
#[derive(Clone, PartialEq, Debug)]
pub struct Condition {
    /// `unit/name` or `component/name`.
    pub id: String,
    /// Its name for people.
    pub name: String,
    /// The unit, where the component has one.
    pub unit: Option<UnitIx>,
}

/// A finding: a symptom, or one of the results of a test.
#[derive(Clone, PartialEq, Debug)]
pub struct Finding {
    /// `unit/name` or `component/name`.
    pub id: String,
    /// Its name for people.
    pub name: String,
    /// The unit that it speaks of.
    pub unit: Option<UnitIx>,
    /// The component that declares it, with its name there: findings of the same kind share both.
    pub kind: (String, String),
    /// Outcomes by name; the first is normal.
    pub outcomes: Vec<String>,
    /// Further words of people for each outcome, parallel to `outcomes`.
    pub also: Vec<Vec<String>>,
    /// The test that gives it. A symptom has one too: asking.
    pub test: TestIx,
    /// What somebody reports, where it is a symptom.
    pub symptom: Option<Symptom>,
}

/// What makes a finding a symptom.
#[derive(Clone, PartialEq, Debug)]
pub struct Symptom {
    /// The report in a sentence.
    pub say: String,
    /// Further words and phrases of callers.
    pub also: Vec<String>,
    /// The load under which it is proven gone; empty: none stated.
    pub prove_under: String,
    /// Minutes for which it must stay away.
    pub prove_minutes: f64,
}

/// A test: an act that gives one finding or more.
#[derive(Clone, PartialEq, Debug)]
pub struct Test {
    /// `unit/name` or `component/name`.
    pub id: String,
    /// The unit.
    pub unit: Option<UnitIx>,
    /// How it is done.
    pub act: Act,
    /// The act in a sentence.
    pub say: String,
    /// The lay voice, or the same.
    pub say_to_caller: String,
    /// How to do it.
    pub how: String,
    /// What is expected.
    pub expect: String,
    /// What it gives.
    pub gives: Vec<Gives>,
    /// For readings: the unit of measure, as the package writes it, and how many.
    pub reading: Option<Reading>,
    /// Findings that must have one of these outcomes before this makes sense (all of them).
    pub needs: Vec<(FindingIx, usize)>,
    /// How far its answer is believed, where it says so itself.
    pub trust: Option<f64>,
    /// Cost and limits.
    pub terms: Terms,
    /// Sources, as titles.
    pub sources: Vec<String>,
}

/// What a reading consists of: the quantities of one entry, in the order in which their numbers are kept.
#[derive(Clone, PartialEq, Debug)]
pub struct Reading {
    /// At least one.
    pub parts: Vec<Part>,
}

/// Numbers of one quantity.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Part {
    /// The name by which a `value` speaks of it; empty where it is the only one.
    pub id: String,
    /// What it is, for people; may be empty.
    pub name: String,
    /// Unit of measure, `V`, `A`, …
    pub measured_in: String,
    /// How many numbers.
    pub count: usize,
}

impl Reading {
    /// How many numbers in all.
    #[must_use]
    pub fn count(&self) -> usize {
        self.parts.iter().map(|part| part.count).sum()
    }

    /// What an entry has to hold; `None` for a unit of measure that is not known.
    #[must_use]
    pub fn wanted(&self) -> Option<Vec<crate::quantity::Wanted>> {
        let wanted = |part: &Part| {
            let measure = crate::quantity::Measure::named(&part.measured_in)?;
            Some(crate::quantity::Wanted { measure, count: part.count })
        };
        self.parts.iter().map(wanted).collect()
    }

    /// The numbers of the part of that name.
    #[must_use]
    pub fn part<'n>(&self, name: &str, numbers: &'n [f64]) -> Option<&'n [f64]> {
        let at = self.parts.iter().position(|part| !part.id.is_empty() && part.id == name)?;
        let from: usize = self.parts[..at].iter().map(|part| part.count).sum();
        numbers.get(from..from + self.parts[at].count)
    }
}

/// One finding of a test.
#[derive(Clone, PartialEq, Debug)]
pub struct Gives {
    /// The finding.
    pub finding: FindingIx,
    /// How a reading becomes the finding's value, and the value an outcome; `None` for a plain answer.
    pub scale: Option<Scale>,
    /// For a fault-number question: the table of the unit's own numbers.
    pub fault_table: Option<FaultTable>,
    /// Where a choice can show several outcomes at once: the one to which this finding says no or yes.
    pub class: Option<String>,
    /// The symptom that somebody complains of who tells this unasked and not normal.
    pub complaint: Option<FindingIx>,
}

/// One drive's own fault numbers, from the job sheet.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct FaultTable {
    /// Number as shown, outcome (general class) it belongs to, words of the label.
    pub entries: Vec<(String, usize, String)>,
}

/// From reading to outcome.
#[derive(Clone, PartialEq, Debug)]
pub struct Scale {
    /// The value as an expression over `reading`, `readings` and nameplates; `None`: the reading itself.
    pub value: Option<Expression>,
    /// The nameplate values that the expression needs and that are known, by name (`unit.amps`).
    pub facts: Vec<(String, Value)>,
    /// Nameplate keys that the expression needs and the job does not know: (unit, key).
    pub unknown: Vec<(UnitIx, String)>,
    /// Two standard deviations of the value.
    pub accuracy: Accuracy,
    /// Per outcome, its intervals [from, to).
    pub bands: Vec<Vec<(f64, f64)>>,
}

/// A fix: an act that removes causes.
#[derive(Clone, PartialEq, Debug)]
pub struct Fix {
    /// `unit/name` or `component/name`.
    pub id: String,
    /// The unit.
    pub unit: Option<UnitIx>,
    /// What is done, step by step.
    pub steps: Vec<String>,
    /// The lay voice, or empty.
    pub say_to_caller: String,
    /// When not to do it.
    pub not_for: Vec<String>,
    /// Findings that must have one of these outcomes before it may be done (all of them).
    pub needs: Vec<(FindingIx, usize)>,
    /// Parts by name and price in the practice's currency.
    pub parts: Vec<(String, f64)>,
    /// A measure for the meantime only.
    pub temporary: bool,
    /// Cost and limits.
    pub terms: Terms,
    /// Sources, as titles.
    pub sources: Vec<String>,
}

/// A package compiled for one job at one stage.
///
/// The vectors `causes`, `conditions`, `findings` and `fixes` run parallel to the network's.
#[derive(Clone, Debug)]
pub struct Model {
    /// The numbers of the story.
    pub network: Network,
    /// The stage whose priors it holds.
    pub stage: Stage,
    /// How the firm works.
    pub practice: Practice,
    /// What is gone through at a first power-up.
    pub procedure: super::procedure::Procedure,
    /// The connections that are made on site, from the job sheet's wire list.
    pub connections: Vec<crate::wiring::Connection>,
    /// Units; index [`UnitIx`].
    pub units: Vec<Unit>,
    /// Causes; index [`CauseIx`].
    pub causes: Vec<Cause>,
    /// Conditions; index [`ConditionIx`].
    pub conditions: Vec<Condition>,
    /// Findings; index [`FindingIx`].
    pub findings: Vec<Finding>,
    /// Tests; index [`TestIx`].
    pub tests: Vec<Test>,
    /// Fixes; index [`FixIx`].
    pub fixes: Vec<Fix>,
    /// Places, findings' ids and so on, looked up by id.
    pub ids: Ids,
}

/// Look-up by id.
#[derive(Clone, Debug, Default)]
pub struct Ids {
    /// Causes by id.
    pub causes: std::collections::BTreeMap<String, CauseIx>,
    /// Conditions by id.
    pub conditions: std::collections::BTreeMap<String, ConditionIx>,
    /// Findings by id.
    pub findings: std::collections::BTreeMap<String, FindingIx>,
    /// Tests by id.
    pub tests: std::collections::BTreeMap<String, TestIx>,
    /// Fixes by id.
    pub fixes: std::collections::BTreeMap<String, FixIx>,
}
