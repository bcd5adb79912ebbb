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
            job.relate(knowledge, unit, relation, other).map_err(|why| why.to_string())?;
        }
        for (unit, key, value) in &mentioned.nameplate {
            job.set_nameplate(knowledge, unit, key, value).map_err(|why| why.to_string())?;
        }
        Ok(job)
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
