//! A job that comes into being in a session without a sheet: units appear as they are mentioned.

use super::{Job, Plate, PlateError, Unit, implied};
use crate::knowledge::Knowledge;

/// Why a unit could not be added.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum MentionError {
    /// The package knows no such kind of unit.
    #[error("no kind of unit is called `{0}`")]
    UnknownKind(String),
    /// There is no such unit.
    #[error("no unit is called `{0}`")]
    UnknownUnit(String),
    /// The kind has no such relation.
    #[error("it has no relation called `{0}`")]
    UnknownRelation(String),
}

impl Job {
    /// No sheet, no units yet.
    #[must_use]
    pub fn without_sheet() -> Self {
        Self::default()
    }

    /// Adds a unit of `kind` under the caller's `name` and gives its id: the kind with a number, `drive-2`.
    ///
    /// # Errors
    /// Where the package knows no such kind.
    pub fn add_unit(
        &mut self,
        knowledge: &Knowledge,
        kind: &str,
        name: &str,
    ) -> Result<String, MentionError> {
        if knowledge.of_kind(kind).is_none() {
            return Err(MentionError::UnknownKind(kind.to_owned()));
        }
        let mut number = 1 + self.units.iter().filter(|unit| unit.kind == kind).count();
        let mut id = format!("{kind}-{number}");
        while self.unit(&id).is_some() {
            number += 1;
            id = format!("{kind}-{number}");
        }
        self.units.push(Unit {
            id: id.clone(),
            kind: kind.to_owned(),
            name: name.trim().to_owned(),
            ..Unit::default()
        });
        Ok(id)
    }

    /// Gives an unnamed unit of a compiled job a place of its own in it, so that its nameplate can be told, and a name,
    /// unless that is empty. Its id stays. Nothing happens to a unit that is there already but that it gets the name.
    ///
    /// # Errors
    /// Where nothing in the job implies a unit of that id.
    pub fn adopt(&mut self, knowledge: &Knowledge, id: &str, name: &str) -> Result<(), MentionError> {
        if self.unit(id).is_none() {
            let unknown = || MentionError::UnknownUnit(id.to_owned());
            let (beside, suffix) = id.rsplit_once('.').ok_or_else(unknown)?;
            self.adopt(knowledge, beside, "")?;
            let component_of = |unit: &Unit| Some(&knowledge.components[knowledge.of_kind(&unit.kind)?]);
            let own = self.unit(beside).ok_or_else(unknown)?;
            let relations = component_of(own).map_or(&[][..], |component| &component.relations);
            let unit = match relations.iter().find(|relation| relation.id.value == suffix) {
                Some(relation) => {
                    let [kind] = relation.components.as_slice() else { return Err(unknown()) };
                    implied::partner(own, relation, &knowledge.components[*kind], |id| self.unit(id))
                }
                None => knowledge.component(suffix).and_then(|holder| {
                    let own_kind = knowledge.of_kind(&own.kind)?;
                    let held = |r: &&crate::knowledge::Relation| r.own && r.components.contains(&own_kind);
                    implied::holder(own, holder.relations.iter().find(held)?, holder, |id| self.unit(id))
                }),
            };
            let unit = unit.ok_or_else(unknown)?;
            if relations.iter().any(|relation| relation.id.value == suffix)
                && let Some(own) = self.units.iter_mut().find(|unit| unit.id == beside)
            {
                own.relations.insert(suffix.to_owned(), vec![id.to_owned()]);
            }
            self.units.push(unit);
        }
        if let Some(unit) = self.units.iter_mut().find(|unit| unit.id == id)
            && !name.trim().is_empty()
        {
            unit.name = name.trim().to_owned();
        }
        Ok(())
    }

    /// Says that `unit` belongs with `other` by `relation`. Either may be an unnamed one.
    ///
    /// # Errors
    /// Where a unit or the relation does not exist.
    pub fn relate(
        &mut self,
        knowledge: &Knowledge,
        unit: &str,
        relation: &str,
        other: &str,
    ) -> Result<(), MentionError> {
        self.adopt(knowledge, other, "")?;
        self.adopt(knowledge, unit, "")?;
        let Some(own) = self.units.iter_mut().find(|own| own.id == unit) else {
            return Err(MentionError::UnknownUnit(unit.to_owned()));
        };
        let component = knowledge.of_kind(&own.kind).and_then(|at| knowledge.components.get(at));
        if !component.is_some_and(|c| c.relations.iter().any(|r| r.id.value == relation)) {
            return Err(MentionError::UnknownRelation(relation.to_owned()));
        }
        own.relations.insert(relation.to_owned(), vec![other.to_owned()]);
        Ok(())
    }

    /// Takes down what the nameplate of `unit` says at `key`: `4.6`, `4.6 A`. The unit may be an unnamed one.
    ///
    /// # Errors
    /// See [`PlateError`].
    pub fn set_nameplate(
        &mut self,
        knowledge: &Knowledge,
        unit: &str,
        key: &str,
        text: &str,
    ) -> Result<(), PlateError> {
        self.adopt(knowledge, unit, "").map_err(|_| PlateError::UnknownUnit)?;
        let own = self.units.iter_mut().find(|own| own.id == unit).ok_or(PlateError::UnknownUnit)?;
        let component = knowledge.of_kind(&own.kind).and_then(|at| knowledge.components.get(at));
        let declared = component.and_then(|c| c.nameplate.iter().find(|k| k.id.value == key));
        let value = Plate::read(declared.ok_or(PlateError::UnknownKey)?, text)?;
        own.nameplate.insert(key.to_owned(), value);
        Ok(())
    }
}
