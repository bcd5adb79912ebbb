//! What a reference reaches, component by component.

use crate::knowledge::{Item, Knowledge, Reference, Via};

/// A thing of a component.
pub(in crate::knowledge) type Thing = (usize, Item);

/// Everything that a reference written in `component` can mean.
pub(in crate::knowledge) fn targets(
    knowledge: &Knowledge,
    component: usize,
    reference: &Reference,
) -> Vec<Thing> {
    let own = [component];
    let once;
    let reached: &[usize] = match reference.via {
        Via::Same => &own,
        Via::Relation(at) => &knowledge.components[component].relations[at].components,
        Via::Once(at) => {
            once = [at];
            &once
        }
    };
    let item = |&at: &usize| knowledge.components[at].item(&reference.name).map(|item| (at, item));
    reached.iter().filter_map(item).collect()
}
