//! Causes and conditions that no evidence touches, but that hang on what it touches.
//!
//! In: the results of a sweep. Out: posteriors of all sources. Most need no sweep of their own: what nothing reaches keeps
//! its prior, and a led-to cause with independent leaders has a closed form; the others are asked for one by one.

use super::graph::{Target, fate};
use super::{Evidence, InferenceError, Limits, Posterior, Workspace};
use crate::model::index::{CauseIx, ConditionIx, FixIx};
use crate::model::network::{Network, Source};

impl Workspace {
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
}
