//! A plan to walk along, as data in the JSON of a chart, and back.
//!
//! In: a [`Course`], or the JSON of a chart. Out: the other. Steps are written by the ids of the package; states by the
//! fingerprint of what is known there. Reading believes nothing: an unknown id, a number out of range or another model is an
//! error with its reason, never a panic.

use std::collections::BTreeMap;
use std::str::FromStr;

use serde_json::{Map, Value, json};

use crate::model::index::{CompetenceIx, FindingIx, FixIx, TestIx, WorkStateIx};
use crate::model::practice::BitSet;
use crate::model::{Fingerprint, Model};
use crate::planner::decision_graph::Course;
use crate::planner::{Budget, Sent, Step};

/// Why the JSON of a chart cannot be walked along.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum NoCourse {
    /// It is no chart, or not whole.
    #[error("it is no chart as `chart --json` writes it: {0}")]
    Form(String),
    /// It was made for other equipment, another stage or other knowledge.
    #[error("it was made for another job or stage, or before the knowledge changed")]
    Model,
}

/// The course as data.
#[must_use]
pub(super) fn course(model: &Model, course: &Course) -> Value {
    let complaints = course.complaints.iter().map(|at| &model.findings[at.at()].id);
    let states = course.stations.iter().map(|(mark, node)| (mark.to_string(), json!(node + 1)));
    json!({
        "model": course.model.to_string(),
        "complaints": complaints.collect::<Vec<_>>(),
        "samples": course.budget.samples,
        "tests": course.budget.tests,
        "expansions": course.budget.expansions,
        "seed": course.budget.seed,
        "steps": course.steps.iter().map(|one| one.as_ref().map(|one| step(model, one))).collect::<Vec<_>>(),
        "states": states.collect::<Map<String, Value>>(),
    })
}

fn step(model: &Model, step: &Step) -> Value {
    let state = |at: &WorkStateIx| &model.practice.work_states[at.at()].id;
    match step {
        Step::Test(at) => json!({"step": "test", "id": model.tests[at.at()].id}),
        Step::Fix(at) => json!({"step": "fix", "id": model.fixes[at.at()].id}),
        Step::Enter(at) => json!({"step": "enter", "id": state(at)}),
        Step::Return(at) => json!({"step": "return", "id": state(at)}),
        Step::Prove => json!({"step": "prove"}),
        Step::PutBack => json!({"step": "put-back"}),
        Step::ConfirmWorkState => json!({"step": "confirm-work-state"}),
        Step::Done => json!({"step": "done"}),
        Step::HandOver(sent) => {
            let instruments = sent.instruments.iter().map(|at| &model.practice.instruments[at].id);
            let parts = sent.parts.iter().map(|&(fix, at)| json!([model.fixes[fix.at()].id, at]));
            let fixes = sent.fixes.iter().map(|fix| &model.fixes[fix.at()].id);
            json!({
                "step": "hand-over",
                "id": sent.competence.map(|at| &model.practice.competences[at.at()].id),
                "instruments": instruments.collect::<Vec<_>>(),
                "parts": parts.collect::<Vec<_>>(),
                "fixes": fixes.collect::<Vec<_>>(),
            })
        }
    }
}

/// The course in the JSON of a chart, for this model.
///
/// # Errors
/// It is none, or it is of another model.
pub fn read_course(model: &Model, text: &str) -> Result<Course, NoCourse> {
    let chart: Value = serde_json::from_str(text).map_err(|error| NoCourse::Form(error.to_string()))?;
    let missing = |name: &str| NoCourse::Form(format!("`{name}` is missing or of another kind"));
    if chart["format"] != json!(1) {
        return Err(missing("format"));
    }
    let course = chart.get("course").ok_or_else(|| missing("course"))?;
    let of = course["model"].as_str().and_then(|text| Fingerprint::from_str(text).ok());
    let of = of.ok_or_else(|| missing("model"))?;
    if of != Fingerprint::of(model) {
        return Err(NoCourse::Model);
    }
    let reader = Reader { model };
    let number = |name: &str| course[name].as_u64().ok_or_else(|| missing(name));
    let complaints = reader.list(course, "complaints", |id| reader.finding(id))?;
    let budget = Budget {
        samples: usize::try_from(number("samples")?).map_err(|_| missing("samples"))?.clamp(1, MOST_SAMPLES),
        tests: usize::try_from(number("tests")?).map_err(|_| missing("tests"))?,
        expansions: number("expansions")?.min(Budget::NEAR_OPTIMAL.expansions),
        seed: number("seed")?,
        explain: false,
    };
    let steps = reader.list(course, "steps", |one| match one {
        Value::Null => Some(None),
        one => reader.step(one).map(Some),
    })?;
    let states = course["states"].as_object().ok_or_else(|| missing("states"))?;
    let stations = states.iter().map(|(mark, node)| {
        let node = usize::try_from(node.as_u64()?).ok()?.checked_sub(1).filter(|node| *node < steps.len())?;
        Some((Fingerprint::from_str(mark).ok()?, node))
    });
    let stations: BTreeMap<Fingerprint, usize> =
        stations.collect::<Option<_>>().ok_or_else(|| missing("states"))?;
    Ok(Course::new(model, of, complaints, budget, steps, stations))
}

/// More samples than this are not worth their time, whatever a file says.
const MOST_SAMPLES: usize = 4096;

struct Reader<'a> {
    model: &'a Model,
}

impl Reader<'_> {
    fn list<T>(
        &self,
        object: &Value,
        name: &str,
        one: impl Fn(&Value) -> Option<T>,
    ) -> Result<Vec<T>, NoCourse> {
        let list = object[name].as_array().and_then(|all| all.iter().map(one).collect::<Option<Vec<T>>>());
        list.ok_or_else(|| NoCourse::Form(format!("`{name}` is missing, or names what there is not")))
    }

    fn finding(&self, id: &Value) -> Option<FindingIx> {
        self.model.ids.findings.get(id.as_str()?).copied()
    }

    fn fix(&self, id: &Value) -> Option<FixIx> {
        self.model.ids.fixes.get(id.as_str()?).copied()
    }

    fn test(&self, id: &Value) -> Option<TestIx> {
        self.model.ids.tests.get(id.as_str()?).copied()
    }

    fn work_state(&self, id: &Value) -> Option<WorkStateIx> {
        let id = id.as_str()?;
        self.model.practice.work_states.iter().position(|state| state.id == id).map(WorkStateIx::new)
    }

    fn step(&self, one: &Value) -> Option<Step> {
        let id = &one["id"];
        Some(match one["step"].as_str()? {
            "test" => Step::Test(self.test(id)?),
            "fix" => Step::Fix(self.fix(id)?),
            "enter" => Step::Enter(self.work_state(id)?),
            "return" => Step::Return(self.work_state(id)?),
            "prove" => Step::Prove,
            "put-back" => Step::PutBack,
            "confirm-work-state" => Step::ConfirmWorkState,
            "done" => Step::Done,
            "hand-over" => Step::HandOver(self.sent(one)?),
            _ => return None,
        })
    }

    fn sent(&self, one: &Value) -> Option<Sent> {
        let practice = &self.model.practice;
        let competence = match &one["id"] {
            Value::Null => None,
            id => {
                let id = id.as_str()?;
                Some(CompetenceIx::new(practice.competences.iter().position(|form| form.id == id)?))
            }
        };
        let mut instruments = BitSet::default();
        for id in one["instruments"].as_array()? {
            let id = id.as_str()?;
            instruments = instruments.with(practice.instruments.iter().position(|form| form.id == id)?);
        }
        let part = |part: &Value| {
            let fix = self.fix(&part[0])?;
            let at = usize::try_from(part[1].as_u64()?).ok()?;
            (at < self.model.fixes[fix.at()].parts.len()).then_some((fix, at))
        };
        let parts = one["parts"].as_array()?.iter().map(part).collect::<Option<_>>()?;
        let fixes = one["fixes"].as_array()?.iter().map(|id| self.fix(id)).collect::<Option<_>>()?;
        Some(Sent { competence, instruments, parts, fixes })
    }
}
