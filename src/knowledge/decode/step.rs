//! What a step costs and asks for.

use super::value::wrong_shape;
use super::{Decoder, Fields, Sort};
use crate::knowledge::{Name, Terms};
use crate::source::Spanned;
use crate::yaml::{Node, Value};

/// The word that stands for the unit's own place or enclosure.
const UNIT: &str = "unit";

impl Decoder<'_> {
    /// The keys that every step has: cost and limits.
    pub(super) fn terms(&mut self, fields: &mut Fields<'_>) -> Terms {
        let problems = &mut *self.problems;
        let minutes = fields.get("minutes", problems);
        let place = fields.get("place", problems);
        let work_state = fields.get("work-state", problems);
        let inside = fields.get("inside", problems);
        let competence = fields.get("competence", problems);
        let instruments = fields.get("instruments", problems);
        let hazards = fields.get("hazards", problems);
        let leaves = fields.get("leaves", problems);
        let recloses = fields.get("recloses", problems);
        Terms {
            minutes: minutes.and_then(|node| self.amount(node, "minutes")),
            place: place.and_then(|node| self.declared_or_unit(node, Sort::Place)),
            work_state: work_state.and_then(|node| self.declared(node, Sort::WorkState)),
            inside: inside.and_then(|node| self.declared_or_unit(node, Sort::Enclosure)),
            competence: competence.and_then(|node| self.declared(node, Sort::Competence)),
            instruments: instruments.map_or_else(Vec::new, |node| self.declared_list(node, Sort::Instrument)),
            hazards: hazards.map_or_else(Vec::new, |node| self.declared_list(node, Sort::Hazard)),
            leaves: leaves.map_or_else(Vec::new, |node| self.texts(node, "leaves")),
            recloses: recloses.and_then(|node| self.truth(node, "recloses")).unwrap_or(false),
        }
    }

    fn declared_or_unit(&mut self, node: &Node, sort: Sort) -> Option<Name> {
        if node.text() == Some(UNIT) {
            return Some(Spanned::new(UNIT.to_owned(), node.span));
        }
        self.declared(node, sort)
    }

    /// Parts: a list of `name` or `{name: price}`.
    pub(super) fn parts(&mut self, node: &Node) -> Vec<crate::knowledge::Part> {
        use crate::knowledge::Part;
        let items: &[Node] = match &node.value {
            Value::List(list) => list,
            _ => std::slice::from_ref(node),
        };
        let mut parts = Vec::with_capacity(items.len());
        for item in items {
            match &item.value {
                Value::Map(map) => {
                    for (name, price) in map {
                        let price = self.amount(price, &name.value).map_or(0.0, |price| price.value);
                        parts.push(Part { name: name.clone(), price });
                    }
                }
                Value::Scalar { .. } => {
                    parts.extend(self.text(item, "parts").map(|name| Part { name, price: 0.0 }));
                }
                Value::List(_) => self.say(wrong_shape(item, "parts", "a list of `name` or `{name: price}`")),
                Value::Refused => {}
            }
        }
        parts
    }
}
