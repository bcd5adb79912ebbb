//! Posteriors, with buffers that live from query to query.
//!
//! In: a network (once), then evidence after evidence. Out: [`Touched`], what the evidence says about the causes and
//! conditions that it touches; everything else keeps its prior. So the cost of a query follows the entangled part, not
//! the size of the network.
//!
//! Doubles are used where a bound (see [`super::graph`]) shows that no term that counts can leave their range; else the
//! same computation is made in wide numbers, so that ln P(e) is right down to e^-2000 and far beyond.

use super::engine::{Engine, run, shares};
use super::graph::{Ask, Target};
use super::number::{Number, Wide};
use super::order::Shape;
use super::{Effort, Evidence, InferenceError, Limits};
use crate::model::index::{CauseIx, ConditionIx};
use crate::model::network::Network;

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

/// Buffers for queries to one network; queries to another are refused by its size or give wrong numbers, so keep one per
/// network.
#[derive(Clone, Debug)]
pub struct Workspace {
    narrow: Engine<f64>,
    wide: Option<Box<Engine<Wide>>>,
    /// Π(1 − p) over all causes.
    all_absent: Wide,
    pub(super) touched: Touched,
    /// Per source, the probability that it is there without any evidence; not a number until it is asked for.
    pub(super) untold: Vec<f64>,
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

    /// The engine with graph and plan of the evidence alone, without tables; whether the plan is a chain.
    pub(crate) fn base(
        &mut self,
        network: &Network,
        evidence: &Evidence,
        limits: &Limits,
    ) -> Result<(&Engine<f64>, bool), InferenceError> {
        self.narrow.prepare_plainly(network, evidence, limits)?;
        self.narrow.plan.make(&self.narrow.graph, Shape::Chain);
        let chain = limits.allow(self.narrow.plan.effort).is_ok();
        Ok((&self.narrow, chain))
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
        self.narrow.prepare(network, evidence, limits, ask, Shape::Tree)?;
        if let Some(shares) = shares(&mut self.narrow, network, target)? {
            return Ok(shares);
        }
        let wide = self.wide.get_or_insert_with(|| Box::new(Engine::new(network)));
        wide.prepare(network, evidence, limits, ask, Shape::Tree)?;
        shares(wide, network, target)?.ok_or(InferenceError::Impossible)
    }
}
