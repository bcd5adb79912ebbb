//! A component: a class of unit, with its relations, nameplate, causes, conditions, symptoms, tests and fixes.

use std::collections::HashMap;

use super::cause::{Cause, Condition};
use super::finding::{Finding, Gives, Symptom, Test};
use super::fix::Fix;
use super::link::{Leads, Shows};
use super::terminal::TerminalRole;
use super::{Name, Text};
use crate::source::Spanned;

/// What a name of a component stands for. Causes, conditions, findings and fixes share one namespace.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Item {
    /// An index into [`Component::causes`].
    Cause(usize),
    /// An index into [`Component::conditions`].
    Condition(usize),
    /// The finding of a symptom: an index into [`Component::symptoms`].
    Symptom(usize),
    /// A finding of a test: indices into [`Component::tests`] and its [`Test::gives`].
    Given(usize, usize),
    /// An index into [`Component::fixes`].
    Fix(usize),
}

/// How many units a relation reaches.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Many {
    /// Exactly one; left out on the sheet, the only unit of that kind.
    One,
    /// One or none.
    Optional,
    /// All units of that kind.
    All,
    /// All units whose relation of this name names the unit.
    Inverse(Name),
}

/// How units belong together.
#[derive(Clone, PartialEq, Debug)]
pub struct Relation {
    /// Its name.
    pub id: Name,
    /// The kind that it reaches, wider kinds included.
    pub kind: Name,
    /// How many.
    pub many: Many,
    /// No two units of this component share such a partner (`own KIND`): the relation is one to one, so that in a
    /// session without a sheet each side implies the other.
    pub own: bool,
    /// The components that such a unit can be of: indices into [`Knowledge::components`](super::Knowledge::components),
    /// ascending, at least one.
    pub components: Vec<usize>,
}

/// What a job sheet may say of a unit.
#[derive(Clone, PartialEq, Debug)]
pub struct NameplateKey {
    /// The key, snake_case.
    pub id: Name,
    /// Unit of measure; `None`: a text.
    pub measured_in: Option<Spanned<String>>,
    /// The question when a test needs it.
    pub ask: Option<Text>,
    /// What it is.
    pub about: Option<Text>,
    /// The values that it can have; empty: any.
    pub one_of: Vec<Name>,
    /// Zero and less are values too.
    pub signed: bool,
}

/// A class of unit.
#[derive(Clone, PartialEq, Debug)]
pub struct Component {
    /// The package that declares it: an index into [`Knowledge::packages`](super::Knowledge::packages).
    pub package: usize,
    /// Its id.
    pub id: Name,
    /// Its name for people.
    pub title: Text,
    /// Words by which callers name such a unit.
    pub also: Vec<Text>,
    /// Wider kinds that relations can name.
    pub is: Vec<Name>,
    /// The kind of unit that has one instance each; `None`: the job has one.
    pub each: Option<Name>,
    /// How its units belong to others.
    pub relations: Vec<Relation>,
    /// What a job sheet may say of its units.
    pub nameplate: Vec<NameplateKey>,
    /// Its rows of terminals; empty: nothing is known of them.
    pub terminals: Vec<TerminalRole>,
    /// Causes.
    pub causes: Vec<Cause>,
    /// Conditions.
    pub conditions: Vec<Condition>,
    /// Symptoms.
    pub symptoms: Vec<Symptom>,
    /// Tests.
    pub tests: Vec<Test>,
    /// Fixes.
    pub fixes: Vec<Fix>,
    /// Links to findings that are written in this component, at either end.
    pub shows: Vec<Shows>,
    /// Links to conditions and causes that are written in this component, at either end.
    pub leads: Vec<Leads>,
    /// What each name stands for.
    pub names: HashMap<String, Item>,
}

impl Component {
    /// What a name of the shared namespace stands for.
    #[must_use]
    pub fn item(&self, name: &str) -> Option<Item> {
        self.names.get(name).copied()
    }

    /// The finding that an item is, if it is one.
    #[must_use]
    pub fn finding(&self, item: Item) -> Option<&Finding> {
        match item {
            Item::Symptom(at) => self.symptoms.get(at).map(|symptom| &symptom.finding),
            Item::Given(test, at) => self.given(test, at).map(|gives| &gives.finding),
            Item::Cause(_) | Item::Condition(_) | Item::Fix(_) => None,
        }
    }

    /// One of the findings of a test.
    #[must_use]
    pub fn given(&self, test: usize, at: usize) -> Option<&Gives> {
        self.tests.get(test).and_then(|test| test.gives.get(at))
    }
}
