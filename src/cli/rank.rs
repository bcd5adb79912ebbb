//! `rank`: the machine form. Evidence in, posteriors, predictions and the next step out.

use clap::Args;
use serde_json::{Map, Value, json};

use super::ExitStatus;
use super::facts::Facts;
use super::failure::Failure;
use super::open::{self, EffortNamed};
use super::streams::Streams;
use crate::export::share;
use crate::inference::{InferenceError, Limits};
use crate::model::Model;
use crate::planner::{Advice, Effort, Step, Why};
use crate::render::{Page, Role};
use crate::session::machine::{Next, Standing, Stated, next, rank, verify};

/// Ways that `--verify` tells out at most.
const WAYS: u64 = 1 << 26;
/// A difference from the oracle that is rounding and no more.
const ROUNDING: f64 = 1e-9;

/// Rank the causes under stated evidence, as numbers
///
/// Evidence is stated one by one, in order, first each `--set`, then the lines of `--evidence`:
///
///   FINDING=outcome            a plain answer, certain here
///   FINDING=a:0.7,b:0.3        a weight per outcome; an outcome that is not named weighs 0
///   TEST=3.9,4.0,4.1           readings; they fill every finding of the test
///   CAUSE=present              a cause that was seen, or =absent
///   fix UNIT/FIX               a fix that was done: the next epoch begins
///
/// The same finding twice in an epoch is an error. Evidence that is impossible under the knowledge ends with status 3.
#[derive(Args, Debug)]
#[command(verbatim_doc_comment)]
pub(super) struct Rank {
    #[command(flatten)]
    facts: Facts,

    /// How hard to think about the next step
    #[arg(long, value_name = "EFFORT", default_value = "first")]
    effort: EffortNamed,

    /// Compare with literal enumeration of the story, on small models; status 1 where the two differ
    #[arg(long)]
    verify: bool,

    /// Write JSON, numbers in full
    #[arg(long)]
    json: bool,
}

impl Rank {
    pub(super) fn run(self, streams: &Streams) -> Result<ExitStatus, Failure> {
        let (model, stated) = self.facts.read(streams)?;
        let standing = match rank(&model, &stated, &Limits::default()) {
            Ok(standing) => standing,
            Err(InferenceError::Impossible) => return impossible(),
            Err(error) => return Err(Failure::because("no exact answer", &error)),
        };
        let next = next(&model, &stated, &Effort::from(self.effort).budget());
        if self.json {
            open::write_json(streams, &answer(&model, &standing, &next))?;
        } else {
            streams.result(&shown(&model, &standing, &next, streams))?;
        }
        if self.verify { verified(&model, &stated, &standing, streams) } else { Ok(ExitStatus::Done) }
    }
}

pub(super) fn impossible() -> Result<ExitStatus, Failure> {
    let failure = Failure::new("the evidence is impossible: its probability is zero under this knowledge")
        .hint("an answer is wrong, or the work changed something that no statement tells")
        .ending(ExitStatus::Impossible);
    Err(failure)
}

/// The answer as JSON, in the documented shape.
fn answer(model: &Model, standing: &Standing, next: &Next) -> Value {
    let posterior = &standing.posterior;
    let causes = model.causes.iter().enumerate().map(|(at, cause)| {
        json!({"id": cause.id, "posterior": posterior.now[at], "at_first": posterior.at_first[at]})
    });
    let mut findings = Map::new();
    for &finding in &standing.unanswered {
        let about = &model.findings[finding.at()];
        let outcomes = about.outcomes.iter().zip(&standing.predictions[finding.at()]);
        let outcomes: Map<String, Value> = outcomes.map(|(name, &p)| (name.clone(), json!(p))).collect();
        findings.insert(about.id.clone(), Value::Object(outcomes));
    }
    json!({
        "evidence_probability": posterior.ln_evidence.exp(),
        "log_evidence_probability": posterior.ln_evidence,
        "none_listed": posterior.none_listed,
        "causes": causes.collect::<Vec<_>>(),
        "findings": findings,
        "next": step_json(model, next),
    })
}

fn step_json(model: &Model, next: &Next) -> Value {
    let Next::Step(advice) = next else { return Value::Null };
    let Advice { step, expected_minutes, others, bound_minutes, .. } = advice.as_ref();
    let (kind, id) = named(model, step);
    let others = others.iter().map(|(step, minutes)| {
        let (kind, id) = named(model, step);
        json!({"step": kind, "id": id, "expected_minutes": minutes})
    });
    json!({
        "step": kind,
        "id": id,
        "expected_minutes": expected_minutes,
        "bound_minutes": bound_minutes,
        "others": others.collect::<Vec<_>>(),
        "why": why_json(model, &advice.why),
    })
}

/// The reasons as numbers: what each result of a test would bring.
fn why_json(model: &Model, why: &Why) -> Value {
    let separates = why.separates.iter().map(|branch| {
        let found = branch.outcomes.iter().map(|&(finding, outcome)| {
            let form = &model.findings[finding.at()];
            json!({"finding": form.id, "outcome": form.outcomes.get(outcome)})
        });
        let moved = branch.moved.iter().map(|&(cause, before, after)| {
            json!({"cause": model.causes[cause.at()].id, "before": before, "after": after})
        });
        let (kind, id) = named(model, &branch.then);
        json!({
            "found": found.collect::<Vec<_>>(),
            "probability": branch.probability,
            "moved": moved.collect::<Vec<_>>(),
            "then": {"step": kind, "id": id, "expected_minutes": branch.minutes},
        })
    });
    json!({
        "step_minutes": why.step_minutes,
        "way_minutes": why.way_minutes,
        "without_tests_minutes": why.without_tests_minutes,
        "hand_over_minutes": why.hand_over_minutes,
        "succeeds": why.succeeds,
        "separates": separates.collect::<Vec<_>>(),
    })
}

/// A step as its kind and the id of what it is about.
pub(super) fn named(model: &Model, step: &Step) -> (&'static str, Option<String>) {
    let state = |at: crate::model::index::WorkStateIx| Some(model.practice.work_states[at.at()].id.clone());
    match step {
        Step::Test(test) => ("test", Some(model.tests[test.at()].id.clone())),
        Step::Fix(fix) => ("fix", Some(model.fixes[fix.at()].id.clone())),
        Step::Enter(at) => ("enter", state(*at)),
        Step::Return(at) => ("return", state(*at)),
        Step::Prove => ("prove", None),
        Step::PutBack => ("put-back", None),
        Step::ConfirmWorkState => ("confirm-work-state", None),
        Step::HandOver(sent) => {
            let to = sent.competence.map(|at| model.practice.competences[at.at()].id.clone());
            ("hand-over", Some(to.unwrap_or_else(|| "unlisted".to_owned())))
        }
        Step::Done => ("done", None),
    }
}

/// The answer for people: the likeliest causes and the next step.
fn shown(model: &Model, standing: &Standing, next: &Next, streams: &Streams) -> String {
    let posterior = &standing.posterior;
    let mut order: Vec<usize> = (0..model.causes.len()).collect();
    order.sort_by(|&a, &b| posterior.now[b].total_cmp(&posterior.now[a]).then(a.cmp(&b)));
    let mut page = Page::new(streams.out);
    for (number, &at) in order.iter().take(12).enumerate() {
        let cause = &model.causes[at];
        let name = if cause.name.is_empty() { &cause.id } else { &cause.name };
        page.numbered(number + 1, &format!("{name}: {} ({})", share(posterior.now[at]), cause.id));
    }
    if order.len() > 12 {
        page.said(Role::Aside, &format!("({} more; --json gives all)", order.len() - 12));
    }
    page.line(&format!("None of the listed causes: {}", share(posterior.none_listed)));
    page.line(&format!("Probability of the evidence: {:e}", posterior.ln_evidence.exp()));
    match next {
        Next::Step(advice) => {
            let (kind, id) = named(model, &advice.step);
            let time = crate::export::minutes(advice.expected_minutes);
            page.line(&format!("Next: {kind} {} (about {time} to done)", id.unwrap_or_default()));
        }
        Next::NoComplaint => {
            page.line("Next: nothing, because nothing is complained of");
        }
        Next::NothingToPlan => {
            page.line("Next: nothing, because no fix has minutes");
        }
        Next::OutOfReach(error) => {
            page.line(&format!("Next: not planned: {error}"));
        }
    }
    page.finish()
}

/// Says how far the answer and the oracle are apart.
fn verified(
    model: &Model,
    stated: &Stated,
    standing: &Standing,
    streams: &Streams,
) -> Result<ExitStatus, Failure> {
    let verified = verify(model, stated, standing, WAYS).map_err(|error| {
        Failure::because("the model is too large for the oracle", &error).hint("--verify is for small models")
    })?;
    let greatest = verified.greatest.max(verified.evidence);
    let agrees = greatest <= ROUNDING;
    let word = if agrees { "agrees" } else { "DIFFERS" };
    streams.talk(&format!("literal enumeration {word}: greatest difference {greatest:e}\n"));
    Ok(if agrees { ExitStatus::Done } else { ExitStatus::No })
}
