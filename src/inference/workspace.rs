//! Posteriors, with buffers that live from query to query.
//!
//! In: a network (once), then evidence after evidence. Out: [`Touched`], what the evidence says about the causes and
//! conditions that it touches; everything else keeps its prior. So the cost of a query follows the entangled part, not
//! the size of the network.
//!
//! Doubles are used where a bound (see [`super::graph`]) shows that no term that counts can leave their range; else the
//! same computation is made in wide numbers, so that ln P(e) is right down to e^-2000 and far beyond.

use super::graph::{Ask, DOUBLE_BITS, Graph, Kind, NONE, Target, fate};
use super::number::{Number, Wide};
use super::order::Plan;
use super::sweep::Sweep;
use super::{Effort, Evidence, InferenceError, Limits, Posterior};
use crate::model::index::{CauseIx, ConditionIx, FixIx};
use crate::model::network::{Network, Source};

/// What the evidence says about one cause.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct TouchedCause {
    /// Which.
    pub cause: CauseIx,
    /// The probability that it is there now.
    pub now: f64,
    /// The probability that it is not there now; beside `now` so that odds keep their digits near 0 and 1.
    pub gone: f64,
    /// The probability that it was there at first.
    pub at_first: f64,
}

/// What the evidence says about one condition.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct TouchedCondition {
    /// Which.
    pub condition: ConditionIx,
    /// The probability that it holds now.
    pub now: f64,
    /// The probability that it does not hold now.
    pub gone: f64,
}

/// What the evidence says about the causes and conditions that it touches.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Touched {
    /// Natural logarithm of the probability of the evidence.
    pub ln_evidence: f64,
    /// Causes, in an order that the evidence fixes.
    pub causes: Vec<TouchedCause>,
    /// Conditions, likewise.
    pub conditions_now: Vec<TouchedCondition>,
    /// The probability that none of the listed causes is there now.
    pub none_listed: f64,
}

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
        keep_all: bool,
    ) -> Result<(), InferenceError> {
        self.graph.fill(network, evidence, ask)?;
        self.plan.make(&self.graph, keep_all);
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
        self.plan.make(&self.graph, false);
        limits.allow(self.plan.effort)
    }

    /// Whether it is known beforehand that the numbers at hand will do.
    pub(crate) fn safe(&self) -> bool {
        !self.graph.risk && self.plan.bits <= DOUBLE_BITS
    }

    /// Whether these results of a sweep can be relied on. Tables hold numbers of at most 1, so that what is lost below the
    /// range of doubles is at most 2^-1022 an operation: nothing to a result of 2^-900 or more. A zero may be a loss.
    fn proven(&self, mut results: impl Iterator<Item = N>) -> bool {
        self.safe() || !self.graph.risk && results.all(|r| !r.under(SURE))
    }

    /// P(e), forward only; `None` where the numbers at hand do not do.
    fn evidence(&mut self) -> Option<Wide> {
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

/// Buffers for queries to one network; queries to another are refused by its size or give wrong numbers, so keep one per
/// network.
#[derive(Clone, Debug)]
pub struct Workspace {
    narrow: Engine<f64>,
    wide: Option<Box<Engine<Wide>>>,
    /// Π(1 − p) over all causes.
    all_absent: Wide,
    touched: Touched,
    /// Per source, the probability that it is there without any evidence; not a number until it is asked for.
    untold: Vec<f64>,
}

impl Workspace {
    /// For queries to `network`. Cost: linear in its causes and findings.
    #[must_use]
    pub fn new(network: &Network) -> Self {
        let all_absent =
            network.priors().iter().fold(Wide::ONE, |product, &p| product.times(Wide::of(1.0 - p)));
        Self {
            narrow: Engine::new(network),
            wide: None,
            all_absent,
            touched: Touched::default(),
            untold: vec![f64::NAN; network.sources()],
        }
    }

    /// What answering would cost.
    ///
    /// # Errors
    /// Evidence that does not fit the network, or with a report that can never be.
    pub fn effort(&mut self, network: &Network, evidence: &Evidence) -> Result<Effort, InferenceError> {
        evidence.check(network)?;
        let unlimited = Limits { states: u64::MAX, steps: u64::MAX };
        self.narrow.prepare_plainly(network, evidence, &unlimited)?;
        Ok(self.narrow.plan.effort)
    }

    /// Posteriors of what the evidence touches.
    ///
    /// # Errors
    /// Evidence that does not fit the network or has probability zero; a cost beyond `limits`.
    pub fn touched(
        &mut self,
        network: &Network,
        evidence: &Evidence,
        limits: &Limits,
    ) -> Result<&Touched, InferenceError> {
        evidence.check(network)?;
        self.touched.causes.clear();
        self.touched.conditions_now.clear();
        self.narrow.prepare_plainly(network, evidence, limits)?;
        if !run(&mut self.narrow, network, evidence, limits, self.all_absent, &mut self.touched)? {
            self.touched.causes.clear();
            self.touched.conditions_now.clear();
            let wide = self.wide.get_or_insert_with(|| Box::new(Engine::new(network)));
            wide.prepare_plainly(network, evidence, limits)?;
            run(wide, network, evidence, limits, self.all_absent, &mut self.touched)?;
        }
        Ok(&self.touched)
    }

    /// Posteriors of all causes and conditions. Cost: as [`Workspace::causes`], and one more sweep for each condition that
    /// no evidence touches.
    ///
    /// # Errors
    /// As [`Workspace::touched`].
    pub fn posterior(
        &mut self,
        network: &Network,
        evidence: &Evidence,
        limits: &Limits,
    ) -> Result<Posterior, InferenceError> {
        let mut posterior = self.causes(network, evidence, limits)?;
        let mut conditions = vec![f64::NAN; network.conditions()];
        for touched in &self.touched.conditions_now {
            conditions[touched.condition.at()] = touched.now;
        }
        let fixes: Vec<FixIx> = evidence.fixes().collect();
        let reached = self.reached(network, &fixes);
        for (at, now) in conditions.iter_mut().enumerate().filter(|(_, now)| now.is_nan()) {
            let slot = network.slot(Source::Condition(ConditionIx::new(at)));
            *now = self.lives_of(network, evidence, limits, slot, reached[slot])?.1;
        }
        posterior.conditions_now = conditions;
        Ok(posterior)
    }

    /// Posteriors of all causes; those of the conditions are left empty. Cost: one sweep, and one more for each cause that
    /// others lead to and no evidence touches.
    ///
    /// # Errors
    /// As [`Workspace::touched`].
    pub fn causes(
        &mut self,
        network: &Network,
        evidence: &Evidence,
        limits: &Limits,
    ) -> Result<Posterior, InferenceError> {
        self.touched(network, evidence, limits)?;
        let fixes: Vec<FixIx> = evidence.fixes().collect();
        let unknown = f64::NAN;
        let mut posterior = Posterior {
            ln_evidence: self.touched.ln_evidence,
            now: network.priors().to_vec(),
            at_first: network.priors().to_vec(),
            conditions_now: Vec::new(),
            none_listed: self.touched.none_listed,
        };
        if !fixes.is_empty() {
            for (at, now) in posterior.now.iter_mut().enumerate() {
                fate(network, &fixes, CauseIx::new(at), (0.0, *now), 0, |_, chance| *now = chance);
            }
        }
        for cause in network.cause_order().iter().filter(|&&c| !network.led_by(c).is_empty()) {
            posterior.now[cause.at()] = unknown;
        }
        for touched in &self.touched.causes {
            posterior.now[touched.cause.at()] = touched.now;
            posterior.at_first[touched.cause.at()] = touched.at_first;
        }
        // What hangs on touched sources without being touched itself, leaders first.
        for &cause in network.cause_order() {
            if !posterior.now[cause.at()].is_nan() {
                continue;
            }
            if let Some(there) = self.led_plainly(network, &fixes, cause, &posterior.at_first) {
                posterior.at_first[cause.at()] = there;
                posterior.now[cause.at()] = there;
                continue;
            }
            let reached = self.reached(network, &fixes)[cause.at()];
            let (first, now) = self.lives_of(network, evidence, limits, cause.at(), reached)?;
            (posterior.at_first[cause.at()], posterior.now[cause.at()]) = (first, now);
        }
        Ok(posterior)
    }

    /// Which sources the evidence of the last query reaches, by touching them or by what leads to them or brings them
    /// about; a fix reaches the causes that it removes.
    fn reached(&self, network: &Network, fixes: &[FixIx]) -> Vec<bool> {
        let mut reached = vec![false; network.sources()];
        for touched in &self.touched.causes {
            reached[touched.cause.at()] = true;
        }
        for touched in &self.touched.conditions_now {
            reached[network.slot(Source::Condition(touched.condition))] = true;
        }
        for removed in fixes.iter().flat_map(|&fix| network.removes(fix)) {
            reached[removed.0.at()] = true;
        }
        for &cause in network.cause_order() {
            reached[cause.at()] |= network.led_by(cause).iter().any(|l| reached[l.0.at()]);
        }
        for &condition in network.condition_order() {
            let slot = network.slot(Source::Condition(condition));
            reached[slot] |= network.brought_by(condition).iter().any(|b| reached[b.0 as usize]);
        }
        reached
    }

    /// P(there at first) of a cause that no evidence touches and no fix done removes, so that it is there now as well, where
    /// its leaders are independent of each other given the evidence: it has one, or all but one are untouched roots.
    /// Then it is p + (1 − p)·q, and q grows with each leader a by (1 − q)·c·P(a at first).
    fn led_plainly(
        &self,
        network: &Network,
        fixes: &[FixIx],
        cause: CauseIx,
        at_first: &[f64],
    ) -> Option<f64> {
        let leaders = network.led_by(cause);
        let touched = |leader: CauseIx| self.touched.causes.iter().any(|touched| touched.cause == leader);
        let tied = leaders.iter().filter(|(leader, _)| touched(*leader)).count();
        // An untouched leader that is led itself may hang on another leader.
        let hangs = leaders.iter().any(|&(leader, _)| !touched(leader) && !network.led_by(leader).is_empty());
        let twice = leaders.iter().enumerate().any(|(at, a)| leaders[..at].iter().any(|b| a.0 == b.0));
        let removed = network.removed_by(cause).iter().any(|(fix, _)| fixes.contains(fix));
        if removed || leaders.len() > 1 && (tied > 1 || hangs || twice) {
            return None;
        }
        let led = leaders
            .iter()
            .fold(0.0, |led, &(leader, chance)| led + (1.0 - led) * chance * at_first[leader.at()]);
        let prior = network.prior(cause);
        Some(prior + (1.0 - prior) * led)
    }

    /// The probabilities that an untouched source is there at first and now. Where nothing reaches it, that is the same
    /// for all evidence, and worked out once.
    fn lives_of(
        &mut self,
        network: &Network,
        evidence: &Evidence,
        limits: &Limits,
        slot: usize,
        reached: bool,
    ) -> Result<(f64, f64), InferenceError> {
        let target = Target::Source(network.source(slot));
        if reached {
            let lives = self.target_share(network, evidence, limits, target)?;
            return Ok((lives[1..].iter().sum(), lives[lives.len() - 1]));
        }
        if self.untold[slot].is_nan() {
            self.untold[slot] = self.target_share(network, &Evidence::new(), limits, target)?[1];
        }
        Ok((self.untold[slot], self.untold[slot]))
    }

    /// ln P(e) alone: one sweep forward.
    ///
    /// # Errors
    /// As [`Workspace::touched`].
    pub fn ln_evidence(
        &mut self,
        network: &Network,
        evidence: &Evidence,
        limits: &Limits,
    ) -> Result<f64, InferenceError> {
        evidence.check(network)?;
        self.narrow.prepare_plainly(network, evidence, limits)?;
        let whole = match self.narrow.evidence() {
            Some(whole) => whole,
            None => {
                let wide = self.wide.get_or_insert_with(|| Box::new(Engine::new(network)));
                wide.prepare_plainly(network, evidence, limits)?;
                wide.evidence().unwrap_or(Wide::ZERO)
            }
        };
        if whole.is_zero() { Err(InferenceError::Impossible) } else { Ok(whole.ln()) }
    }

    /// Per cause, the probabilities that it is there now and that it is not.
    pub(crate) fn odds_now(
        &mut self,
        network: &Network,
        evidence: &Evidence,
        limits: &Limits,
    ) -> Result<Vec<(f64, f64)>, InferenceError> {
        let posterior = self.causes(network, evidence, limits)?;
        let mut odds: Vec<(f64, f64)> = posterior.now.iter().map(|&now| (now, 1.0 - now)).collect();
        for touched in &self.touched.causes {
            odds[touched.cause.at()] = (touched.now, touched.gone);
        }
        Ok(odds)
    }

    /// ln P(e) of the last posterior.
    pub(crate) const fn last_ln_evidence(&self) -> f64 {
        self.touched.ln_evidence
    }

    /// The graph and plan of the evidence alone, without tables.
    pub(crate) fn base(
        &mut self,
        network: &Network,
        evidence: &Evidence,
        limits: &Limits,
    ) -> Result<(&Graph<f64>, &Plan), InferenceError> {
        self.narrow.prepare_plainly(network, evidence, limits)?;
        Ok((&self.narrow.graph, &self.narrow.plan))
    }

    /// The weights of the lives of a source that no evidence touches, given the evidence, or of the states of a finding.
    pub(crate) fn target_share(
        &mut self,
        network: &Network,
        evidence: &Evidence,
        limits: &Limits,
        target: Target,
    ) -> Result<Vec<f64>, InferenceError> {
        let ask = Ask { target: Some(target), ..Ask::default() };
        self.narrow.prepare(network, evidence, limits, ask, false)?;
        if let Some(shares) = shares(&mut self.narrow, network, target)? {
            return Ok(shares);
        }
        let wide = self.wide.get_or_insert_with(|| Box::new(Engine::new(network)));
        wide.prepare(network, evidence, limits, ask, false)?;
        shares(wide, network, target)?.ok_or(InferenceError::Impossible)
    }
}

/// The share of each state of the vertex asked for; for a finding, of each outcome. `None` where the numbers at hand do
/// not do.
fn shares<N: Number>(
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
fn run<N: Number>(
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
    match engine.prepare(network, evidence, limits, ask, false) {
        Err(InferenceError::Impossible) => return Ok(0.0),
        other => other?,
    }
    let (part, gone) = match engine.evidence() {
        Some(part) => (part, engine.graph.untouched_gone(network)),
        None => {
            let mut wide = Engine::<Wide>::new(network);
            wide.prepare(network, evidence, limits, ask, false)?;
            (wide.evidence().unwrap_or(Wide::ZERO), wide.graph.untouched_gone(network))
        }
    };
    Ok(part.times(gone).over(whole).to_f64())
}
