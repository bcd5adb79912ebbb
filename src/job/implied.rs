//! Units that nobody has named but that must be there, in a session without a sheet.

use super::Unit;
use crate::knowledge::{Component, Relation};

/// The partner that `owner` must have by `relation`, of the component `partner`; it is where its owner is.
///
/// Its id, `OWNER.RELATION`, stays the same however often the job is compiled. A partner that `owner` shares with others
/// is called by its kind alone, one of its own after the unit that was mentioned: `named` gives a unit by its id.
pub(crate) fn partner<'a>(
    owner: &'a Unit,
    relation: &Relation,
    partner: &Component,
    named: impl Fn(&str) -> Option<&'a Unit>,
) -> Option<Unit> {
    let after = relation.own.then(|| mentioned(owner, named));
    implied(owner, &relation.id.value, partner, after)
}

/// The unit of the component `holder` of which `held` must be the own partner by `relation`.
///
/// Its id is `HELD.COMPONENT`.
pub(crate) fn holder<'a>(
    held: &'a Unit,
    relation: &Relation,
    holder: &Component,
    named: impl Fn(&str) -> Option<&'a Unit>,
) -> Option<Unit> {
    let mut unit = implied(held, &holder.id.value, holder, Some(mentioned(held, named)))?;
    unit.relations.insert(relation.id.value.clone(), vec![held.id.clone()]);
    Some(unit)
}

/// The unit whose mention brought `unit` about.
fn mentioned<'a>(unit: &'a Unit, named: impl Fn(&str) -> Option<&'a Unit>) -> &'a Unit {
    unit.id.split_once('.').and_then(|(first, _)| named(first)).unwrap_or(unit)
}

fn implied(beside: &Unit, suffix: &str, component: &Component, after: Option<&Unit>) -> Option<Unit> {
    let title = &component.title.value;
    let name = after.map(|unit| if unit.name.is_empty() { &unit.id } else { &unit.name });
    Some(Unit {
        id: format!("{}.{suffix}", beside.id),
        kind: component.each.as_ref()?.value.clone(),
        name: name.map_or_else(|| title.clone(), |name| format!("{title} of {name}")),
        place: beside.place.clone(),
        ..Unit::default()
    })
}
