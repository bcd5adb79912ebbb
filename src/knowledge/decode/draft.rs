//! A component file as it is read: complete but for its references, which are still words.

use std::collections::HashMap;

use super::Decoder;
use super::value::wrong_shape;
use crate::knowledge::{Component, Item, Name};
use crate::quantity::Measure;
use crate::source::Spanned;
use crate::yaml::{Fields, Node, Value, entries};

/// A component whose references are still words.
pub(in crate::knowledge) struct Draft {
    pub(in crate::knowledge) component: Component,
    pub(in crate::knowledge) links: Vec<PendingLink>,
    /// Needs of tests and fixes: the owner, the finding, the outcome.
    pub(in crate::knowledge) needs: Vec<(Item, Name, Name)>,
    /// Causes that a fix removes.
    pub(in crate::knowledge) removes: Vec<(usize, Name, f64)>,
    /// Where a symptom or test is read.
    pub(in crate::knowledge) at: Vec<(Owner, Name)>,
    /// `when` of causes and conditions, and `value` of findings.
    pub(in crate::knowledge) expressions: Vec<(Item, Spanned<String>)>,
    /// Accuracies of computed values, with the unit of measure in which they are written.
    pub(in crate::knowledge) accuracies: Vec<(Item, Spanned<Measure>)>,
    /// Choice findings with `several`: the finding per outcome, by the name that the package writes.
    pub(in crate::knowledge) several: HashMap<String, Vec<(String, String)>>,
    /// A part of it could not be read: names that are not found may be there.
    pub(in crate::knowledge) incomplete: bool,
}

/// Something that can be read at another unit.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(in crate::knowledge) enum Owner {
    Symptom(usize),
    Test(usize),
}

/// Which end of a link the file is at.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(in crate::knowledge) enum Side {
    /// At the cause or condition: `shows`, `leads-to`.
    Cause,
    /// At the finding or condition: `shown-by`.
    Effect,
}

/// What a link says.
#[derive(Clone, PartialEq, Debug)]
pub(in crate::knowledge) enum Target {
    /// A finding, with chances per outcome.
    Finding(Vec<(Name, f64)>),
    /// A condition, or a cause led to.
    State(f64),
}

/// A link as written: what it hangs on, the reference at its other end, and its chances.
pub(in crate::knowledge) struct PendingLink {
    pub(in crate::knowledge) own: Name,
    pub(in crate::knowledge) own_item: Item,
    pub(in crate::knowledge) other: Name,
    pub(in crate::knowledge) side: Side,
    pub(in crate::knowledge) target: Target,
}

impl Draft {
    pub(super) fn links_to_findings(
        &mut self,
        own: &Name,
        own_item: Item,
        node: &Node,
        key: &'static str,
        side: Side,
        d: &mut Decoder<'_>,
    ) {
        let what = if key == "shows" { "`shows`" } else { "`shown-by`" };
        for (other, node) in entries(node, what, d.problems) {
            // Chances of a finding with `several` do not exclude one another; which it is shows when names are resolved.
            let chances = d.outcome_map_unsummed(node, key);
            if !chances.is_empty() {
                let target = Target::Finding(chances);
                self.links.push(PendingLink {
                    own: own.clone(),
                    own_item,
                    other: other.clone(),
                    side,
                    target,
                });
            }
        }
    }

    pub(super) fn links_to_states(
        &mut self,
        own: &Name,
        own_item: Item,
        node: &Node,
        key: &'static str,
        side: Side,
        d: &mut Decoder<'_>,
    ) {
        let what = if key == "leads-to" { "`leads-to`" } else { "`shown-by`" };
        for (other, node) in entries(node, what, d.problems) {
            let chance = match &node.value {
                Value::Map(map) => match map.as_slice() {
                    [(yes, node)] if yes.value == "yes" => d.chance(node, "yes"),
                    _ => {
                        let problem = wrong_shape(node, &other.value, "a chance, or `{yes: chance}`")
                            .why("a cause or condition is there or not: it has no outcomes");
                        d.say(problem);
                        None
                    }
                },
                _ => d.chance(node, &other.value),
            };
            if let Some(chance) = chance {
                let target = Target::State(chance.value);
                self.links.push(PendingLink {
                    own: own.clone(),
                    own_item,
                    other: other.clone(),
                    side,
                    target,
                });
            }
        }
    }

    pub(super) fn needs(&mut self, owner: Item, node: &Node, d: &mut Decoder<'_>) {
        for (finding, outcome) in entries(node, "`needs`", d.problems) {
            if let Some(outcome) = d.text(outcome, &finding.value) {
                self.needs.push((owner, finding.clone(), outcome));
            }
        }
    }

    pub(super) fn read_at(&mut self, f: &mut Fields<'_>, owner: Owner, d: &mut Decoder<'_>) {
        if let Some(place) = f.get("at", d.problems).and_then(|node| d.id(node, "at")) {
            self.at.push((owner, place));
        }
    }

    pub(super) fn expression(
        &mut self,
        f: &mut Fields<'_>,
        key: &'static str,
        item: Item,
        d: &mut Decoder<'_>,
    ) {
        if let Some(text) = f.get(key, d.problems).and_then(|node| d.text(node, key)) {
            self.expressions.push((item, text));
        }
    }
}
