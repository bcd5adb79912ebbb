//! `outlook`: what a plan is expected to take, and how far it may be from the best possible.

use clap::Args;
use serde_json::{Value, json};

use super::ExitStatus;
use super::facts::Facts;
use super::failure::{Failure, quoted};
use super::open::{self, EffortNamed};
use super::rank::{impossible, named};
use super::streams::Streams;
use crate::diagnostic::nearest;
use crate::export::minutes;
use crate::inference::InferenceError;
use crate::model::Model;
use crate::model::practice::{BitSet, Person};
use crate::planner::closed_loop::Expected;
use crate::planner::outlook::{Outlook as Outcome, outlook};
use crate::planner::{Effort, PlanError};
use crate::render::Page;
use crate::session::machine::{Next, situation};

/// Say how many minutes the plan is expected to take from stated facts
///
/// Prints the first step, the expected minutes of the plan when it is made anew at every point (exact on small models, else
/// by simulation with a 95 % interval), the exact optimum where it can be had, and the minutes that no plan can beat.
/// Facts are stated as for `rank`.
#[derive(Args, Debug)]
pub(super) struct Outlook {
    #[command(flatten)]
    facts: Facts,

    /// Who is at the panel, with what such a person carries; can be repeated. Without it: anybody may do anything
    #[arg(long = "as", value_name = "COMPETENCE", value_delimiter = ',')]
    who: Vec<String>,

    /// How hard to think about the first step
    #[arg(long, value_name = "EFFORT", default_value = "first")]
    effort: EffortNamed,

    /// Calls to simulate where the expectation cannot be exact
    #[arg(long, value_name = "NUMBER", default_value_t = 40, value_parser = clap::value_parser!(u32).range(2..=100_000))]
    calls: u32,

    /// Write JSON, numbers in full
    #[arg(long)]
    json: bool,
}

impl Outlook {
    pub(super) fn run(self, streams: &Streams) -> Result<ExitStatus, Failure> {
        let (model, stated) = self.facts.read(streams)?;
        let situation = situation(&model, &stated, self.person(&model)?).map_err(|next| {
            Failure::new(match next {
                Next::NoComplaint => "nothing is complained of, so there is nothing to plan",
                _ => "no fix has minutes, so there is nothing to plan",
            })
        })?;
        let budget = Effort::from(self.effort).budget();
        let outcome = match outlook(&model, &situation, &budget, self.calls as usize) {
            Ok(outcome) => outcome,
            Err(PlanError::Inference(InferenceError::Impossible)) => return impossible(),
            Err(error) => return Err(Failure::because("there is no plan", &error)),
        };
        if self.json {
            open::write_json(streams, &written(&model, &outcome))?;
        } else {
            streams.result(&shown(&model, &outcome, streams))?;
        }
        Ok(ExitStatus::Done)
    }

    /// Those at the panel as one.
    fn person(&self, model: &Model) -> Result<Person, Failure> {
        let practice = &model.practice;
        let all = |count: usize| (0..count).fold(BitSet::default(), BitSet::with);
        if self.who.is_empty() {
            return Ok(Person {
                competences: all(practice.competences.len()),
                instruments: all(practice.instruments.len()),
            });
        }
        let none = Person { competences: BitSet::default(), instruments: BitSet::default() };
        self.who.iter().try_fold(none, |person, typed| {
            let at = practice.competence(typed.trim()).ok_or_else(|| {
                let valid = practice.competences.iter().map(|competence| competence.id.as_str());
                let near = nearest(typed, valid.clone());
                let hint = match near.first() {
                    Some(near) => format!("nearest: `{near}`"),
                    None => format!("known: {}", valid.collect::<Vec<_>>().join(", ")),
                };
                Failure::new(format!("there is no competence {}", quoted(typed))).hint(hint)
            })?;
            let other = practice.person(at);
            Ok(Person {
                competences: person.competences.union(other.competences),
                instruments: person.instruments.union(other.instruments),
            })
        })
    }
}

fn expected_json(expected: &Expected) -> Value {
    let (low, high) = expected.interval();
    let exact = expected.exact;
    json!({
        "minutes": expected.value,
        "exact": exact,
        "interval": if exact { Value::Null } else { json!([low, high]) },
        "calls": if exact { Value::Null } else { json!(expected.counted) },
    })
}

fn written(model: &Model, outcome: &Outcome) -> Value {
    let (kind, id) = named(model, &outcome.advice.step);
    json!({
        "format": 1,
        "first": {"step": kind, "id": id},
        "policy": outcome.policy.name(),
        "plan": expected_json(&outcome.plan),
        "repairs": expected_json(&outcome.repairs),
        "entropy": expected_json(&outcome.entropy),
        "optimum_minutes": outcome.optimum,
        "bound_minutes": outcome.bound,
    })
}

fn shown(model: &Model, outcome: &Outcome, streams: &Streams) -> String {
    let mut page = Page::new(streams.out);
    let (kind, id) = named(model, &outcome.advice.step);
    page.line(&format!("First: {kind} {}", id.unwrap_or_default()));
    let said = |expected: &Expected| {
        let (low, high) = expected.interval();
        if expected.exact {
            format!("{:.1} min, exact", expected.value)
        } else {
            format!(
                "{:.1} min ({low:.1} to {high:.1} in 95 %, {} calls simulated)",
                expected.value, expected.counted
            )
        }
    };
    page.line(&format!("The plan: {}", said(&outcome.plan)));
    page.line(&format!("Repairs by chance over cost, without tests: {}", said(&outcome.repairs)));
    page.line(&format!("The most telling test per minute, then repairs: {}", said(&outcome.entropy)));
    page.line(&match outcome.optimum {
        Some(best) => format!("The best possible: {best:.1} min, exact"),
        None => "The best possible: too large to be solved exactly".to_owned(),
    });
    page.line(&format!("No plan can expect less than: {}", minutes(outcome.bound)));
    page.finish()
}
