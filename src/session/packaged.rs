//! The usual source of a session's model: a checked package and a job sheet, or what was said of units in its place.

use std::sync::Arc;

use super::source::{Mentioned, ModelSource};
use crate::job::{Job, Unit};
use crate::knowledge::Knowledge;
use crate::model::Model;
use crate::model::catalog::Stage;
use crate::model::compile::compile;

/// A package and, where there is one, a job sheet.
#[derive(Clone, Debug)]
pub struct Packaged {
    knowledge: Arc<Knowledge>,
    package: String,
    job: Job,
}

impl Packaged {
    /// Without a job sheet, units appear as they are mentioned.
    #[must_use]
    pub fn new(knowledge: Arc<Knowledge>, job: Option<Job>) -> Self {
        let package = knowledge.packages.last().map(|package| package.id.value.clone()).unwrap_or_default();
        Self { knowledge, package, job: job.unwrap_or_else(Job::without_sheet) }
    }

    /// The package.
    #[must_use]
    pub fn knowledge(&self) -> &Arc<Knowledge> {
        &self.knowledge
    }

    /// The job as the sheet has it, with what was mentioned.
    ///
    /// # Errors
    /// The first thing that does not fit the package, in a sentence.
    fn job_with(&self, mentioned: &Mentioned) -> Result<Job, String> {
        let (mut job, knowledge) = (self.job.clone(), &self.knowledge);
        for (id, kind, name) in &mentioned.units {
            if job.unit(id).is_some() {
                return Err(format!("there is a unit {id} already"));
            }
            if knowledge.of_kind(kind).is_none() {
                return Err(format!("no kind of unit is called {kind}"));
            }
            job.units.push(Unit {
                id: id.clone(),
                kind: kind.clone(),
                name: name.trim().to_owned(),
                ..Unit::default()
            });
        }
        for (unit, relation, other) in &mentioned.relations {
            self.settle(&mut job, unit);
            job.relate(knowledge, unit, relation, other).map_err(|why| why.to_string())?;
        }
        for (unit, key, value) in &mentioned.nameplate {
            self.settle(&mut job, unit);
            job.set_nameplate(knowledge, unit, key, value).map_err(|why| why.to_string())?;
        }
        Ok(job)
    }

    /// Makes a unit that was only implied, `OWNER.RELATION`, one of the job's own, so that something can be said of it.
    fn settle(&self, job: &mut Job, id: &str) {
        let Some((owner, relation)) = id.rsplit_once('.').filter(|_| job.unit(id).is_none()) else { return };
        self.settle(job, owner);
        let knowledge = &self.knowledge;
        let Some(own) = job.units.iter_mut().find(|unit| unit.id == owner) else { return };
        let component = knowledge.of_kind(&own.kind).and_then(|at| knowledge.components.get(at));
        let stated = component.and_then(|c| c.relations.iter().find(|known| known.id.value == relation));
        let Some(&[partner]) = stated.map(|relation| relation.components.as_slice()) else { return };
        let partner = &knowledge.components[partner];
        let Some(kind) = &partner.each else { return };
        let owner_name = if own.name.is_empty() { &own.id } else { &own.name };
        let unit = Unit {
            id: id.to_owned(),
            kind: kind.value.clone(),
            name: format!("{} of {owner_name}", partner.title.value),
            place: own.place.clone(),
            ..Unit::default()
        };
        own.relations.insert(relation.to_owned(), vec![id.to_owned()]);
        job.units.push(unit);
    }
}

impl ModelSource for Packaged {
    fn knowledge(&self) -> &str {
        &self.package
    }

    fn job(&self) -> Option<&str> {
        self.job.has_sheet.then_some(&*self.job.id)
    }

    fn compile(&self, stage: Stage, mentioned: &Mentioned) -> Result<Model, String> {
        let job = self.job_with(mentioned)?;
        match compile(&self.knowledge, Some(&job), stage) {
            Ok(compiled) => Ok(compiled.model),
            Err(problems) => Err(problems.first().map(|problem| problem.message.clone()).unwrap_or_default()),
        }
    }
}
