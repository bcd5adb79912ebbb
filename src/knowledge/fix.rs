//! Fixes: acts that remove causes.

use super::link::Reference;
use super::{Citation, Name, Terms, Text};

/// An act that removes causes.
#[derive(Clone, PartialEq, Debug)]
pub struct Fix {
    /// Its name in the component.
    pub id: Name,
    /// What is done, step by step.
    pub steps: Vec<Text>,
    /// The lay voice.
    pub say_to_caller: Option<Text>,
    /// When not to do it.
    pub not_for: Vec<Text>,
    /// The causes that it removes, each with its chance.
    pub removes: Vec<(Reference, f64)>,
    /// Findings that must show an outcome before it may be done.
    pub needs: Vec<(Reference, Name)>,
    /// Parts.
    pub parts: Vec<Part>,
    /// A measure for the meantime only.
    pub temporary: bool,
    /// Cost and limits.
    pub terms: Terms,
    /// Where it comes from.
    pub sources: Vec<Citation>,
}

/// A part that a fix uses up.
#[derive(Clone, PartialEq, Debug)]
pub struct Part {
    /// Its name for people.
    pub name: Text,
    /// Its price in the practice's currency, 0 where not said.
    pub price: f64,
}
