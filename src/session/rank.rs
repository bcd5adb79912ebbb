//! Causes in order, the factor by which each answer moved one, and why the present step is advised.

use super::event::{Answer, EventNo, What};
use super::evidence::Assembled;
use super::insight::Insight;
use super::ranking::{Certainty, Factor, Ranked, Ranking};
use super::why::WhyNow;
use crate::inference::{Evidence, Posterior};
use crate::model::index::CauseIx;
use crate::planner::{Advice, Step};

impl Insight<'_> {
    /// All causes, the most probable first. No further sweep.
    pub(crate) fn ranking(self) -> Ranking {
        let belief = self.belief();
        let without = belief.without.first().copied();
        let mut causes: Vec<Ranked> = Vec::with_capacity(self.model.causes.len());
        let (none_listed, ln_evidence) = match &belief.posterior {
            Ok(posterior) => {
                causes.extend((0..self.model.causes.len()).map(|at| self.ranked(at, posterior)));
                (posterior.none_listed, posterior.ln_evidence)
            }
            Err(_) => {
                let bounds = self.bounds();
                let of = |at: usize| bounds.map_or((0.0, 1.0), |bounds| (bounds.lower[at], bounds.upper[at]));
                causes.extend((0..self.model.causes.len()).map(|at| self.bounded(at, of(at))));
                // Nothing is there only if no cause is: the smallest of the upper bounds on absence.
                let absent = causes.iter().filter_map(|cause| cause.bounds).map(|(lower, _)| 1.0 - lower);
                let ln_evidence = bounds.map_or(0.0, |bounds| bounds.ln_evidence.1);
                (absent.fold(1.0, f64::min), ln_evidence)
            }
        };
        causes.sort_by(|a, b| b.posterior.total_cmp(&a.posterior)); // stable
        Ranking { causes, none_listed, ln_evidence, without }
    }

    fn ranked(self, at: usize, posterior: &Posterior) -> Ranked {
        let cause = &self.model.causes[at];
        Ranked {
            id: cause.id.clone(),
            name: cause.name.clone(),
            note: cause.note.clone(),
            posterior: posterior.now[at],
            at_first: posterior.at_first[at],
            certainty: Certainty::of(posterior.now[at]),
            bounds: None,
        }
    }

    /// Where the exact number would cost too much.
    fn bounded(self, at: usize, (lower, upper): (f64, f64)) -> Ranked {
        let cause = &self.model.causes[at];
        let middle = 0.5 * (lower + upper);
        Ranked {
            id: cause.id.clone(),
            name: cause.name.clone(),
            note: cause.note.clone(),
            posterior: middle,
            at_first: middle,
            certainty: Certainty::of(middle),
            bounds: Some((lower, upper)),
        }
    }

    /// Odds of a cause before anything was said, and by what factor each event that gave evidence moved them, one after the
    /// other: odds after it, divided by odds before it. All of them together lead from the first odds to those of the ranking.
    /// One sweep per event.
    pub(crate) fn factors(self, cause: CauseIx) -> Option<(f64, Vec<Factor>)> {
        let belief = self.belief();
        let odds = |evidence: &Evidence| {
            let (there, gone) = self.bench.odds(evidence).ok()?[cause.at()];
            Some(there / gone)
        };
        let mut events: Vec<EventNo> = belief.assembled.from.clone();
        events.sort_unstable();
        events.dedup();
        let mut said_later = events.clone();
        said_later.extend(&belief.without);
        let first = odds(&Assembled::new(&self.state.records, &said_later).evidence)?;
        let (mut before, mut factors) = (first, Vec::new());
        for event in events {
            said_later.retain(|later| *later != event);
            let after = odds(&Assembled::new(&self.state.records, &said_later).evidence)?;
            let Some(about) = self.about(event) else { continue };
            let factor = if after == before { 1.0 } else { after / before };
            factors.push(Factor { event, about: about.name, outcome: about.outcome, factor });
            before = after;
        }
        Some((first, factors))
    }

    /// Why the present step.
    pub(crate) fn why(self) -> Option<WhyNow> {
        if !self.state.emergencies.is_empty()
            || self.state.complaints.is_empty()
            || self.state.closed.is_some()
        {
            return None;
        }
        let advice = self.reasoned()?;
        Some(WhyNow {
            step: self.step_name(advice.why.aim.as_ref().unwrap_or(&advice.step)),
            expected_minutes: advice.expected_minutes,
            bound_minutes: advice.bound_minutes,
            separates: self.separates(advice),
            follows: (advice.why.separates.iter())
                .map(|branch| (self.step_name(&branch.then), branch.minutes))
                .collect(),
            answers: self.answers_of(advice),
            instead: (advice.why.without_tests_minutes, advice.why.hand_over_minutes),
            costs: advice.why.step_minutes,
            others: advice.others.iter().map(|(step, minutes)| (self.step_name(step), *minutes)).collect(),
            withheld: self.withheld(advice),
        })
    }

    /// Per result of the advised test, the event that would say so.
    fn answers_of(self, advice: &Advice) -> Vec<What> {
        let step = advice.why.aim.as_ref().unwrap_or(&advice.step);
        let Step::Test(test) = step else { return Vec::new() };
        let answers = advice.why.separates.iter().map(|branch| {
            let outcomes = branch.outcomes.iter().filter_map(|&(finding, outcome)| {
                let form = &self.model.findings[finding.at()];
                Some((form.id.clone(), form.outcomes.get(outcome)?.clone()))
            });
            What::Answered {
                test: self.model.tests[test.at()].id.clone(),
                answer: Answer::Outcomes(outcomes.collect()),
                sure: true,
                words: String::new(),
            }
        });
        answers.collect()
    }

    fn separates(self, advice: &Advice) -> Vec<(String, f64, String, f64)> {
        let branches = advice.why.separates.iter().map(|branch| {
            let outcomes = branch.outcomes.iter().map(|&(finding, outcome)| {
                let form = &self.model.findings[finding.at()];
                format!("{}: {}", form.name, super::steps::outcome_name(self.model, finding, outcome))
            });
            let most = branch.moved.iter().max_by(|a, b| a.2.total_cmp(&b.2));
            let (name, chance) =
                most.map(|m| (self.model.causes[m.0.at()].name.clone(), m.2)).unwrap_or_default();
            (outcomes.collect::<Vec<String>>().join(", "), branch.probability, name, chance)
        });
        branches.collect()
    }

    fn withheld(self, advice: &Advice) -> Vec<(String, String)> {
        let competences = &self.model.practice.competences;
        let withheld = advice.why.withheld.iter().map(|withheld| {
            let who = match withheld.competence {
                Some(at) => competences[at.at()].name.clone(),
                None => super::steps::instruments(self.model, withheld.instruments).join(", "),
            };
            (self.step_name(&withheld.step), who)
        });
        withheld.collect()
    }

    /// A step in a sentence of the package; empty for those that the front end has its own words for.
    pub(super) fn step_name(self, step: &Step) -> String {
        let practice = &self.model.practice;
        match step {
            Step::Test(at) => self.model.tests[at.at()].say.clone(),
            Step::Fix(at) => self.model.fixes[at.at()].steps.join(" "),
            Step::Enter(at) | Step::Return(at) => practice.work_states[at.at()].name.clone(),
            Step::HandOver(sent) => {
                let competence = sent.competence.map(|at| &practice.competences[at.at()]);
                let say = competence
                    .and_then(|form| form.hand_over.as_ref())
                    .unwrap_or(&practice.unlisted)
                    .say
                    .clone();
                if say.is_empty() {
                    competence.map(|form| form.name.clone()).unwrap_or_default()
                } else {
                    say
                }
            }
            Step::Prove | Step::PutBack | Step::ConfirmWorkState | Step::Done => String::new(),
        }
    }
}
