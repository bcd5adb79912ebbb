//! From a model and a situation to an advice.
//!
//! The belief is a set of exact joint samples of the story given the evidence. Complaints are taken as real in it: a
//! report of a complaint that is not there would cost nothing to cure, so plans are made for the case that it is.

use super::advice::{Advice, Sent, Step, Way, Why};
use super::base_plan::{Act, ON_THE_SLIP, base_plan, sent_plan};
use super::begun::begun;
use super::belief::Belief;
use super::compose::{Composed, Composer};
use super::effort::Budget;
use super::lookahead::{Plan, plan_over};
use super::one_at_a_time;
use super::prepared::Prepared;
use super::problem::{Proof, Stop};
use super::related::related;
use super::situation::Situation;
use super::standing::{Standing, standings};
use super::travel::Mode;
use super::why;
use crate::inference::{Evidence, InferenceError, Limits, Told, World, bounds, sample_of};
use crate::model::Model;
use crate::model::index::{FindingIx, WorkStateIx};

/// What sampling may cost before answers are taken for certain: some milliseconds.
const QUICKLY: Limits = Limits { states: 1 << 17, steps: 1 << 20 };
/// An answer believed this much may be taken for certain.
const BELIEVED: f64 = 0.7;
/// So many next best steps are listed.
const OTHERS: usize = 5;

/// Why there is no advice.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum PlanError {
    /// The belief could not be computed.
    #[error(transparent)]
    Inference(#[from] InferenceError),
}

/// The step to take, its expected minutes, and why.
///
/// Without a complaint, and when all are retaken normal and everything is put back, the step is [`Step::Done`]. While the
/// work state is not known it is [`Step::ConfirmWorkState`], with the plan behind it as if energised. Where nothing is
/// allowed or helps, it is [`Step::HandOver`].
///
/// Cost: `budget.samples` samples, one look-ahead, and with `budget.explain` a second one for what is withheld.
///
/// # Errors
/// Evidence that is impossible, does not fit the network, or is too entangled.
pub fn advise(model: &Model, situation: &Situation, budget: &Budget) -> Result<Advice, PlanError> {
    if let Some(settled) = settled(situation) {
        return Ok(settled);
    }
    let (worlds, drawn) = believed(model, situation, budget)?;
    Ok(advise_on(model, situation, (&worlds, &drawn), budget))
}

/// The same from samples that are given, each of the whole world.
#[must_use]
pub fn advise_from(model: &Model, situation: &Situation, worlds: &[World], budget: &Budget) -> Advice {
    advise_on(model, situation, (worlds, &vec![true; model.network.sources()]), budget)
}

/// The same from samples in which these sources were drawn, by slot.
pub(super) fn advise_on(
    model: &Model,
    situation: &Situation,
    believed: (&[World], &[bool]),
    budget: &Budget,
) -> Advice {
    if let Some(settled) = settled(situation) {
        return settled;
    }
    let plan = |situation: &Situation| {
        let whole = advise_together(model, situation, believed, budget);
        one_at_a_time::better(whole, situation, |alone| advise_together(model, alone, believed, budget))
    };
    begun(model, situation, &plan).unwrap_or_else(|| plan(situation))
}

/// The advice that has all complaints of the situation cured together.
fn advise_together(
    model: &Model,
    situation: &Situation,
    (worlds, drawn): (&[World], &[bool]),
    budget: &Budget,
) -> Advice {
    let mut done = situation.done_fixes.clone();
    done.extend(situation.evidence.fixes());
    let standings = standings(&model.network, worlds, &situation.complaints, &done, budget.seed);
    let composer = Composer::new(model, situation, &standings, drawn);
    let composed = composer.compose(None);
    let prepared = Prepared::new(&composed.problem);
    let belief = Belief::start(&composed.problem);
    let plan = plan_over(&prepared, &belief, budget.tests, budget.expansions);
    let advisor = Advisor { model, situation, composed: &composed, prepared: &prepared, belief: &belief };
    let act = if plan.act == Act::Done { Act::Stop(composed.problem.stops.len() - 1) } else { plan.act };
    let (step, aim, way) = advisor.step(act);
    let mut why = advisor.reasons(&plan, (&composer, &standings), act, way);
    why.aim = aim;
    if budget.explain {
        why.separates = why::separates(model, situation, &composed, &plan, act, |act| advisor.plainly(act));
        why.withheld = why::withheld(model, situation, &composer, &composed, plan.base);
    }
    let mut others: Vec<(Step, f64)> = Vec::new();
    let named = advisor.named(act);
    for &(other, minutes) in &plan.valued {
        if others.len() == OTHERS {
            break;
        }
        let other = advisor.named(other);
        if other != named && !others.iter().any(|(known, _)| *known == other) {
            others.push((other, minutes));
        }
    }
    let minutes = match plan.act {
        Act::Done => advisor.unlisted_minutes(),
        _ => plan.value,
    };
    let step = if situation.work_state.is_none() { Step::ConfirmWorkState } else { step };
    if step == Step::ConfirmWorkState {
        why.aim = Some(named);
    }
    let bound_minutes = if plan.act == Act::Done { minutes } else { plan.bound };
    Advice { step, expected_minutes: minutes, why, others, bound_minutes }
}

/// The advice where nothing is left to find out: all complaints retaken normal, or none made.
pub(super) fn settled(situation: &Situation) -> Option<Advice> {
    let gone = situation.complaints.iter().all(|complaint| situation.answered.get(complaint) == Some(&0));
    gone.then(|| Advice {
        step: if situation.to_put_back > 0 { Step::PutBack } else { Step::Done },
        expected_minutes: 0.0,
        why: Why::default(),
        others: Vec::new(),
        bound_minutes: 0.0,
    })
}

/// Exact joint samples under the evidence as told. Where that is too entangled to be sampled quickly, answers that are
/// believed anyhow are taken for certain: first the normal ones, which then cost nothing, then all. Where that is not
/// enough, or contradicts itself, the answers are left out that the bounds of inference leave out.
pub(super) fn believed(
    model: &Model,
    situation: &Situation,
    budget: &Budget,
) -> Result<(Vec<World>, Vec<bool>), InferenceError> {
    let network = &model.network;
    let wanted = related(network, &situation.evidence, &situation.complaints).sources;
    let drawn = (budget.samples.max(1), budget.seed);
    let draw = |told: &Evidence, limits: &Limits| sample_of(network, told, limits, drawn, Some(&wanted));
    let real = taken_as_real(&situation.evidence, &situation.complaints);
    let mut tries = vec![
        (real.clone(), QUICKLY),
        (taken_as_certain(&real, true), QUICKLY),
        (taken_as_certain(&real, false), QUICKLY),
        (situation.evidence.clone(), QUICKLY),
        (taken_as_certain(&real, false), Limits::default()),
        (situation.evidence.clone(), Limits::default()),
    ];
    tries.dedup();
    for (told, limits) in &tries {
        match draw(told, limits) {
            Err(InferenceError::Impossible | InferenceError::TooWide(_)) => {}
            other => return other,
        }
    }
    let left_out = bounds(network, &situation.evidence, &Limits::default())?.left_out;
    let told = situation.evidence.told.iter().enumerate();
    let told = told.filter(|(at, _)| !left_out.contains(at)).map(|(_, told)| told.clone()).collect();
    draw(&Evidence { told }, &Limits::default())
}

/// The evidence with every single answer taken for certain that is believed with [`BELIEVED`] or more; only normal ones,
/// or all.
fn taken_as_certain(evidence: &Evidence, only_normal: bool) -> Evidence {
    let told = (evidence.told.iter())
        .map(|told| match told {
            Told::Finding { among, weights } => {
                let best =
                    (0..weights.len()).max_by(|a, b| weights[*a].total_cmp(&weights[*b]).then(b.cmp(a)));
                let sum: f64 = weights.iter().sum();
                let mut weights = weights.clone();
                if let Some(best) =
                    best.filter(|best| weights[*best] >= BELIEVED * sum && (!only_normal || *best == 0))
                {
                    let kept = weights[best];
                    weights.fill(0.0);
                    weights[best] = kept;
                }
                Told::Finding { among: among.clone(), weights }
            }
            other => other.clone(),
        })
        .collect();
    Evidence { told }
}

/// The evidence with every report that makes a complaint taken as certainly abnormal.
fn taken_as_real(evidence: &Evidence, complaints: &[FindingIx]) -> Evidence {
    let told = (evidence.told.iter())
        .map(|told| match told {
            Told::Finding { among, weights } if among.iter().all(|finding| complaints.contains(finding)) => {
                let abnormal = weights.iter().skip(1).any(|weight| *weight > weights[0]);
                let mut weights = weights.clone();
                if let Some(normal) = weights.first_mut().filter(|_| abnormal) {
                    *normal = 0.0;
                }
                Told::Finding { among: among.clone(), weights }
            }
            other => other.clone(),
        })
        .collect();
    Evidence { told }
}

struct Advisor<'a> {
    model: &'a Model,
    situation: &'a Situation,
    composed: &'a Composed,
    prepared: &'a Prepared<'a>,
    belief: &'a Belief,
}

impl Advisor<'_> {
    fn unlisted_minutes(&self) -> f64 {
        match self.composed.problem.stops.last() {
            Some(Stop::Flat(minutes)) => *minutes,
            _ => self.model.practice.unlisted.minutes,
        }
    }

    /// An act by its name in the model, the way to it aside.
    fn named(&self, act: Act) -> Step {
        match act {
            Act::Test(test) => Step::Test(self.composed.tests[test]),
            Act::Fix(fix) => match self.composed.ask_first[fix].first() {
                Some(test) => Step::Test(*test),
                None => Step::Fix(self.composed.fixes[fix]),
            },
            Act::Prove => Step::Prove,
            Act::Stop(stop) => Step::HandOver(self.sent(stop)),
            Act::Done => Step::Done,
        }
    }

    /// The step to take now for an act: the act, or the change of work state on the way to it. With it, the step that is
    /// aimed at where that is another, and the way.
    fn step(&self, act: Act) -> (Step, Option<Step>, Vec<Way>) {
        let named = self.named(act);
        let goal = match act {
            Act::Fix(fix) => {
                (!self.composed.ask_first[fix].is_empty()).then(|| Step::Fix(self.composed.fixes[fix]))
            }
            _ => None,
        };
        let way = self.target(act).map_or_else(Vec::new, |target| self.way_to(target));
        let change = way.iter().find_map(|way| match way {
            Way::Enter(state) => Some(Step::Enter(*state)),
            Way::Return(state) => Some(Step::Return(*state)),
            Way::Go(_) => None,
        });
        match change {
            Some(change) => (change, Some(goal.unwrap_or(named)), way),
            None => (named, goal, way),
        }
    }

    /// The mode in which an act is done.
    fn target(&self, act: Act) -> Option<Mode> {
        let problem = &self.composed.problem;
        let nearest = |at: &[Mode]| problem.travel.nearest(problem.start, at).1;
        match act {
            Act::Test(test) => Some(nearest(&problem.tests[test].at)),
            Act::Fix(fix) => match self.composed.ask_first[fix].first() {
                Some(test) => {
                    let at = self.composed.modes.at(&self.model.tests[test.at()].terms);
                    Some(nearest(&at))
                }
                None => Some(nearest(&problem.fixes[fix].at)),
            },
            Act::Prove => match problem.proof {
                Proof::Takes { from, .. } => Some(from),
                _ => None,
            },
            Act::Stop(_) | Act::Done => None,
        }
    }

    fn way_to(&self, target: Mode) -> Vec<Way> {
        let problem = &self.composed.problem;
        let way = problem.travel.way(problem.start, target).unwrap_or_default();
        self.composed.modes.steps(problem.start, &way)
    }

    /// Whom a stop sends, with what: instruments and parts of the plan that such a person would follow.
    fn sent(&self, stop: usize) -> Sent {
        let &Self { composed, prepared, belief, .. } = self;
        let mut sent = Sent { competence: composed.stops[stop], ..Sent::default() };
        let (Stop::Sent(helper), Some(crew)) = (&composed.problem.stops[stop], &prepared.sent[stop]) else {
            return sent;
        };
        let items = belief.items(prepared);
        let theirs = sent_plan(prepared, crew, helper, &items, belief.from());
        let whole = belief.weight();
        for (act, reach) in theirs.acts {
            let Act::Fix(fix) = act else { continue };
            let at = composed.fixes[fix];
            let form = &self.model.fixes[at.at()];
            sent.fixes.push(at);
            sent.instruments = sent.instruments.union(form.terms.instruments);
            if let Some(state) = form.terms.work_state.filter(|state| state.at() > 0) {
                let enter = &self.model.practice.work_states[state.at()].enter;
                sent.instruments = sent.instruments.union(enter.instruments);
            }
            if reach >= ON_THE_SLIP * whole {
                sent.parts.extend((0..form.parts.len()).map(|part| (at, part)));
            }
        }
        sent
    }

    fn reasons(
        &self,
        plan: &Plan,
        (composer, standings): (&Composer<'_>, &[(Standing, f64)]),
        act: Act,
        way: Vec<Way>,
    ) -> Why {
        let problem = &self.composed.problem;
        let (prepared, belief) = (self.prepared, self.belief);
        let way_minutes =
            self.target(act).map_or(0.0, |target| problem.travel.minutes(problem.start, target));
        let own = match act {
            Act::Test(test) => problem.tests[test].cost,
            Act::Fix(fix) => problem.fixes[fix].cost,
            Act::Prove => match problem.proof {
                Proof::Takes { cost, .. } => cost,
                _ => 0.0,
            },
            Act::Stop(_) | Act::Done => 0.0,
        };
        let weight = belief.weight();
        let cured = |belief: &Belief| {
            (belief.particles.iter())
                .filter(|particle| problem.candidates[particle.candidate].cured(particle.gone))
                .map(|particle| particle.weight)
                .sum::<f64>()
        };
        let succeeds = match act {
            _ if weight <= 0.0 => 0.0,
            Act::Fix(fix) => cured(&belief.fixed(problem, fix)) / weight,
            Act::Prove => cured(belief) / weight,
            _ => 0.0,
        };
        let then = {
            let after = match act {
                Act::Fix(_) | Act::Prove | Act::Stop(_) => plan.base_acts.clone(),
                _ => {
                    let items = belief.items(prepared);
                    let base = base_plan(prepared, &items, belief.from());
                    base.acts
                        .iter()
                        .map(|(act, reach)| (*act, if weight > 0.0 { reach / weight } else { 0.0 }))
                        .collect()
                }
            };
            after.into_iter().map(|(act, reach)| (self.plainly(act), reach)).collect()
        };
        Why {
            step_minutes: own + way_minutes,
            way_minutes,
            way,
            aim: None,
            without_tests_minutes: plan.base,
            hand_over_minutes: plan.stop.map_or_else(|| self.unlisted_minutes(), |(_, minutes)| minutes),
            separates: Vec::new(),
            removes: match act {
                Act::Fix(fix) => why::removes(self.model, composer, standings, self.composed.fixes[fix]),
                _ => Vec::new(),
            },
            succeeds,
            then,
            withheld: Vec::new(),
            silent: why::silent(self.model, composer, standings),
            meanwhile: self.meanwhile(),
            expansions: plan.expansions,
        }
    }

    /// An act of a plan, without regard to what would have to be asked before.
    fn plainly(&self, act: Act) -> Step {
        match act {
            Act::Fix(fix) => Step::Fix(self.composed.fixes[fix]),
            Act::Stop(stop) => {
                Step::HandOver(Sent { competence: self.composed.stops[stop], ..Sent::default() })
            }
            other => self.named(other),
        }
    }

    /// Temporary measures against something that is believed, where a standstill costs: those that this person may take
    /// in the work state that holds.
    fn meanwhile(&self) -> Vec<crate::model::index::FixIx> {
        if self.situation.standstill_per_minute <= 0.0 {
            return Vec::new();
        }
        let state = self.situation.work_state.unwrap_or(WorkStateIx(0));
        (self.model.fixes.iter().enumerate())
            .filter(|(_, fix)| {
                let known = fix
                    .needs
                    .iter()
                    .all(|(finding, outcome)| self.situation.answered.get(finding) == Some(outcome));
                fix.temporary
                    && known
                    && fix.terms.work_state.is_none_or(|needed| needed == state)
                    && self.model.practice.allows(&self.situation.person, &fix.terms)
            })
            .map(|(at, _)| crate::model::index::FixIx::new(at))
            .filter(|fix| {
                !self.situation.done_fixes.contains(fix) && !self.model.network.removes(*fix).is_empty()
            })
            .collect()
    }
}
