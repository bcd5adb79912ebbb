//! A job that comes into being in a session without a sheet: units appear as they are mentioned.

use super::{Job, Plate, PlateError, Unit};
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

    /// Says that `unit` belongs with `other` by `relation`.
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
        if self.unit(other).is_none() {
            return Err(MentionError::UnknownUnit(other.to_owned()));
        }
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

    /// Takes down what the nameplate of `unit` says at `key`: `4.6`, `4.6 A`.
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
        let own = self.units.iter_mut().find(|own| own.id == unit).ok_or(PlateError::UnknownUnit)?;
        let component = knowledge.of_kind(&own.kind).and_then(|at| knowledge.components.get(at));
        let declared = component.and_then(|c| c.nameplate.iter().find(|k| k.id.value == key));
        let value = Plate::read(declared.ok_or(PlateError::UnknownKey)?, text)?;
        own.nameplate.insert(key.to_owned(), value);
        Ok(())
    }
}
