//! Units that nobody has named but that must be there, in a session without a sheet.

use super::Unit;
use crate::knowledge::{Component, Relation};

/// The partner that `owner` must have by `relation`, of the component `partner`; it is where its owner is.
///
/// Its id, `OWNER.RELATION`, stays the same however often the job is compiled.
pub(crate) fn partner(owner: &Unit, relation: &Relation, partner: &Component) -> Option<Unit> {
    implied(owner, &relation.id.value, partner)
}

/// The unit of the component `holder` of which `held` must be the own partner by `relation`.
///
/// Its id is `HELD.COMPONENT`.
pub(crate) fn holder(held: &Unit, relation: &Relation, holder: &Component) -> Option<Unit> {
    let mut unit = implied(held, &holder.id.value, holder)?;
    unit.relations.insert(relation.id.value.clone(), vec![held.id.clone()]);
    Some(unit)
}

fn implied(beside: &Unit, suffix: &str, component: &Component) -> Option<Unit> {
    let name = if beside.name.is_empty() { &beside.id } else { &beside.name };
    Some(Unit {
        id: format!("{}.{suffix}", beside.id),
        kind: component.each.as_ref()?.value.clone(),
        name: format!("{} of {name}", component.title.value),
        place: beside.place.clone(),
        ..Unit::default()
    })
}
