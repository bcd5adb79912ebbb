//! One sweep over one piece of evidence: graph, plan and tables in one kind of number, and the results read off.
//!
//! In: evidence that has been checked. Out: P(e), the states of a vertex asked for, or [`Touched`], where it is proven that
//! the numbers at hand will do; else the caller asks an engine of wide numbers.

use super::graph::{Ask, DOUBLE_BITS, Graph, Kind, NONE, Target};
use super::number::{Number, Wide};
use super::order::{Plan, Shape};
use super::sweep::Sweep;
use super::workspace::{Touched, TouchedCause, TouchedCondition};
use super::{Effort, Evidence, InferenceError, Limits};
use crate::model::index::CauseIx;
use crate::model::network::{Network, Source};

/// 2^-900: results of at least this lose nothing that counts to the limited range of doubles.
const SURE: f64 = 1.183e-271;

/// Graph, plan and tables in one kind of number.
#[derive(Clone, Debug)]
pub(crate) struct Engine<N> {
    pub graph: Graph<N>,
    pub plan: Plan,
    pub sweep: Sweep<N>,
}

impl<N: Number> Engine<N> {
    pub(crate) fn new(network: &Network) -> Self {
        Self { graph: Graph::new(network), plan: Plan::default(), sweep: Sweep::new() }
    }

    /// Fills the graph and plans the sweep.
    pub(crate) fn prepare(
        &mut self,
        network: &Network,
        evidence: &Evidence,
        limits: &Limits,
        ask: Ask,
        shape: Shape,
    ) -> Result<(), InferenceError> {
        self.graph.fill(network, evidence, ask)?;
        self.plan.make(&self.graph, shape);
        limits.allow(self.plan.effort)
    }

    /// As [`Engine::prepare`] for posteriors, quicker where the evidence is of the usual kind.
    pub(crate) fn prepare_plainly(
        &mut self,
        network: &Network,
        evidence: &Evidence,
        limits: &Limits,
    ) -> Result<(), InferenceError> {
        if !self.graph.fill_plainly(network, evidence)? {
            self.graph.fill(network, evidence, Ask::default())?;
        }
        self.plan.make(&self.graph, Shape::Tree);
        limits.allow(self.plan.effort)
    }

    /// Whether it is known beforehand that the numbers at hand will do.
    pub(crate) fn safe(&self) -> bool {
        !self.graph.risk && self.plan.bits <= DOUBLE_BITS
    }

    /// Whether these results of a sweep can be relied on. Tables hold numbers of at most 1, so that what is lost below the
    /// range of doubles is at most 2^-1022 an operation: nothing to a result of 2^-900 or more. A zero may be a loss.
    pub(super) fn proven(&self, mut results: impl Iterator<Item = N>) -> bool {
        self.safe() || !self.graph.risk && results.all(|r| !r.under(SURE))
    }

    /// P(e), forward only; `None` where the numbers at hand do not do.
    pub(super) fn evidence(&mut self) -> Option<Wide> {
        let Self { graph, plan, sweep } = self;
        let parts: Vec<N> = plan.parts.iter().map(|part| sweep.forward(graph, plan, part)[0]).collect();
        let mut whole = graph.constant;
        parts.iter().for_each(|&part| whole.by_number(part));
        self.proven(parts.into_iter()).then(|| whole.value())
    }

    /// The part of the vertex asked for, forward: the weights of its states.
    pub(crate) fn target_states(&mut self) -> Vec<N> {
        let Self { graph, plan, sweep } = self;
        let part = plan.parts.iter().find(|p| p.has_target).copied();
        part.map(|part| sweep.forward(graph, plan, &part).to_vec()).unwrap_or_default()
    }
}

impl Limits {
    /// Lets an effort pass.
    pub(crate) fn allow(&self, effort: Effort) -> Result<(), InferenceError> {
        if effort.states > self.states || effort.steps > self.steps {
            return Err(InferenceError::TooWide(effort));
        }
        Ok(())
    }
}

/// The share of each state of the vertex asked for; for a finding, of each outcome. `None` where the numbers at hand do
/// not do.
pub(super) fn shares<N: Number>(
    engine: &mut Engine<N>,
    network: &Network,
    target: Target,
) -> Result<Option<Vec<f64>>, InferenceError> {
    let states = engine.target_states();
    if !engine.proven(states.iter().copied()) {
        return Ok(None);
    }
    let vertex = &engine.graph.vertices[engine.graph.target as usize];
    let mut weights = states;
    if vertex.end != NONE {
        for (x, weight) in weights.iter_mut().enumerate() {
            *weight = weight.times(engine.graph.pool[vertex.end as usize + x]);
        }
    }
    if let (Target::Finding(finding), Kind::Group(group)) = (target, vertex.kind) {
        let mut outcomes = vec![N::ZERO; network.outcomes(finding)];
        if let Some(read) = engine.graph.read(group as usize) {
            for (&weight, &value) in weights.iter().zip(read) {
                outcomes[value as usize] = outcomes[value as usize].plus(weight);
            }
        }
        weights = outcomes;
    }
    let whole = weights.iter().fold(N::ZERO, |sum, &w| sum.plus(w));
    if whole.is_zero() {
        return Err(InferenceError::Impossible);
    }
    Ok(Some(weights.into_iter().map(|w| w.share(whole)).collect()))
}

/// Both sweeps, and the results read off; false where the numbers at hand do not do.
pub(super) fn run<N: Number>(
    engine: &mut Engine<N>,
    network: &Network,
    evidence: &Evidence,
    limits: &Limits,
    all_absent: Wide,
    out: &mut Touched,
) -> Result<bool, InferenceError> {
    let whole = engine.sweep.all(&engine.graph, &engine.plan);
    if !engine.proven(engine.sweep.weights.iter().copied()) || whole.is_zero() && !engine.safe() {
        return Ok(false);
    }
    if whole.is_zero() {
        return Err(InferenceError::Impossible);
    }
    let Engine { graph, plan: _, sweep } = engine;
    out.ln_evidence = whole.ln();
    let last = graph.lives - 1;
    for (light, &[gone, there]) in graph.lights.iter().zip(&sweep.lights) {
        if light.slot == NONE {
            continue;
        }
        let whole = gone.plus(there);
        let (gone, now) = (gone.share(whole), there.share(whole));
        out.causes.push(TouchedCause { cause: CauseIx(light.slot), now, gone, at_first: now });
    }
    for (v, vertex) in graph.vertices.iter().enumerate() {
        let Kind::Source(slot) = vertex.kind else { continue };
        if last == 1 && (slot as usize) < network.causes() {
            // One epoch: there or not.
            let (gone, now) = sweep.both_lives(graph, v as u32);
            let whole = gone.plus(now);
            let (gone, now) = (gone.share(whole), now.share(whole));
            out.causes.push(TouchedCause { cause: CauseIx(slot), now, gone, at_first: now });
            continue;
        }
        let shared = last > 1 && Graph::<N>::shares_states(network, slot as usize);
        let (mut never, mut left, mut now) = (N::ZERO, N::ZERO, N::ZERO);
        sweep.lives(graph, v as u32, shared, |life, weight| match life {
            0 => never = weight,
            _ if life == last => now = weight,
            _ => left = left.plus(weight),
        });
        let there = left.plus(now);
        let sum = never.plus(there);
        match network.source(slot as usize) {
            Source::Cause(cause) => {
                let (gone, now) = (never.plus(left).share(sum), now.share(sum));
                out.causes.push(TouchedCause { cause, now, gone, at_first: there.share(sum) });
            }
            Source::Condition(condition) => {
                let (gone, now) = (never.plus(left).share(sum), now.share(sum));
                out.conditions_now.push(TouchedCondition { condition, now, gone });
            }
        }
    }
    out.none_listed = if last == 1 && network.is_two_layer() {
        graph.with_no_cause().times(all_absent).over(whole).to_f64()
    } else {
        none_listed(engine, network, evidence, limits, whole)?
    };
    Ok(true)
}

/// P(no cause there now | e) in general: the evidence once more, every cause weighed as not there now.
fn none_listed<N: Number>(
    engine: &mut Engine<N>,
    network: &Network,
    evidence: &Evidence,
    limits: &Limits,
    whole: Wide,
) -> Result<f64, InferenceError> {
    let ask = Ask { none_now: true, ..Ask::default() };
    match engine.prepare(network, evidence, limits, ask, Shape::Tree) {
        Err(InferenceError::Impossible) => return Ok(0.0),
        other => other?,
    }
    let (part, gone) = match engine.evidence() {
        Some(part) => (part, engine.graph.untouched_gone(network)),
        None => {
            let mut wide = Engine::<Wide>::new(network);
            wide.prepare(network, evidence, limits, ask, Shape::Tree)?;
            (wide.evidence().unwrap_or(Wide::ZERO), wide.graph.untouched_gone(network))
        }
    };
    Ok(part.times(gone).over(whole).to_f64())
}
