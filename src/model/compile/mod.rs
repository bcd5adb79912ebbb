//! A package and a job made into a model.
//!
//! In: checked [`Knowledge`], the [`Job`] (or none), a [`Stage`]. Out: a [`Model`], or what stands in its way. Each
//! component is laid out once per unit of its kind (once for the job where it has no `each`), its `when`s are decided,
//! its links drawn along the relations (towards many units one independent draw each), its texts filled in.
//! Invariants: nothing of a checked package is lost in silence: a link that has nowhere to go is in
//! [`Compiled::left_out`]; ids are `unit/name` or `component/name`; numbers do not depend on names.
//!
//! Cost: linear in items and links; a dozen units of a full package take a few milliseconds, so that a session compiles
//! anew when a unit is mentioned or a nameplate value told.

mod circle;
mod practice;
mod procedure;
mod site;
mod steps;
mod story;
mod text;

use std::collections::BTreeMap;

pub use site::LeftOut;

use super::catalog::{Ids, Model};
use super::index::{CauseIx, ConditionIx, FindingIx, FixIx, TestIx};
use crate::diagnostic::{Code, Diagnostic};
use crate::job::Job;
use crate::knowledge::{Knowledge, Stage};
use story::Arrow;

/// A model, and what the job has no use for.
#[derive(Clone, Debug)]
pub struct Compiled {
    /// The model.
    pub model: Model,
    /// Relations that lead nowhere, so that the links through them are left out.
    pub left_out: Vec<LeftOut>,
}

/// Compiles for one job at one stage. Without a job: only components that every job has once.
///
/// # Errors
/// Everything that the job sheet leaves open and that has to be said, and circles that arise through its relations.
pub fn compile(knowledge: &Knowledge, job: Option<&Job>, stage: Stage) -> Result<Compiled, Vec<Diagnostic>> {
    let mut problems = Vec::new();
    let site = site::Site::new(knowledge, job, stage, &mut problems);
    let story = story::story(&site, &mut problems);
    let practice = practice::practice(&knowledge.practice);
    let steps = steps::steps(&site, job, &story, &practice);

    let conditions = |at: usize| steps.conditions[at].id.as_str();
    let causes = |at: usize| steps.causes[at].id.as_str();
    let tests = |at: usize| steps.tests[at].id.as_str();
    circles(
        &mut problems,
        steps.conditions.len(),
        &story.brings,
        "conditions that bring each other about",
        &conditions,
    );
    circles(&mut problems, steps.causes.len(), &story.leads, "causes that lead to each other", &causes);
    circles(&mut problems, steps.tests.len(), &steps.needs, "tests that need each other", &tests);
    if !problems.is_empty() {
        return Err(problems);
    }
    let procedure = procedure::procedure(knowledge, &site, &story, &steps.findings, &practice);
    let connections = job.map_or_else(Vec::new, |job| crate::wiring::connections(knowledge, job));
    let network = story.builder.build().map_err(|error| {
        // A checked package has only chances in range; what is left is a mistake of this program.
        vec![Diagnostic::nowhere(Code::NotAChance, error.to_string())]
    })?;
    let ids = Ids {
        causes: by_id(steps.causes.iter().map(|c| &c.id), CauseIx::new),
        conditions: by_id(steps.conditions.iter().map(|c| &c.id), ConditionIx::new),
        findings: by_id(steps.findings.iter().map(|f| &f.id), FindingIx::new),
        tests: by_id(steps.tests.iter().map(|t| &t.id), TestIx::new),
        fixes: by_id(steps.fixes.iter().map(|f| &f.id), FixIx::new),
    };
    let steps::Steps { units, causes, conditions, findings, tests, fixes, .. } = steps;
    let model = Model {
        network,
        stage,
        practice,
        procedure,
        connections,
        units,
        causes,
        conditions,
        findings,
        tests,
        fixes,
        ids,
    };
    debug_assert_eq!(super::verify::verify(&model), Ok(()));
    Ok(Compiled { model, left_out: site.left_out })
}

fn by_id<'a, I>(ids: impl Iterator<Item = &'a String>, index: impl Fn(usize) -> I) -> BTreeMap<String, I> {
    // The first one keeps an id: the asking of a symptom may share one with a test, and is found by its finding.
    let mut map = BTreeMap::new();
    for (at, id) in ids.enumerate() {
        map.entry(id.clone()).or_insert_with(|| index(at));
    }
    map
}

fn circles<'a>(
    problems: &mut Vec<Diagnostic>,
    count: usize,
    arrows: &[Arrow],
    what: &str,
    name: &dyn Fn(usize) -> &'a str,
) {
    let Some(walk) = circle::circle(count, arrows) else { return };
    let mut chain: Vec<String> = walk.iter().map(|&(at, _)| format!("`{}`", name(at))).collect();
    chain.push(chain[0].clone());
    let mut problem = Diagnostic::new(Code::Cycle, walk[0].1, format!("{what}: {}", chain.join(" → ")));
    for &(at, span) in &walk[1..] {
        problem = problem.also_at(span, format!("from `{}`", name(at)));
    }
    problems.push(problem.why("the job's relations close a circle that the package alone does not have"));
}
