//! The numbers of the story: priors, leaks and links between causes, conditions, findings and fixes.

use super::index::{CauseIx, ConditionIx, FindingIx, FixIx};

/// Who draws: a cause or a condition.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Source {
    /// A cause.
    Cause(CauseIx),
    /// A condition.
    Condition(ConditionIx),
}

/// The numbers of the story, dense and immutable.
#[derive(Clone, PartialEq, Debug)]
pub struct Network {
    priors: Vec<f64>,
}

/// Collects the numbers and checks them once.
#[derive(Clone, Debug, Default)]
pub struct NetworkBuilder {
    priors: Vec<f64>,
}

/// Why a network was refused.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum NetworkError {
    /// A probability outside 0..1 or not a number.
    #[error("{what} is {value}, which is no probability")]
    NotAProbability {
        /// Which number.
        what: String,
        /// Its value.
        value: f64,
    },
}

impl NetworkBuilder {
    /// An empty network.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// A cause with its prior.
    pub fn cause(&mut self, prior: f64) -> CauseIx {
        self.priors.push(prior);
        CauseIx::new(self.priors.len() - 1)
    }

    /// A condition with its leak.
    pub fn condition(&mut self, _leak: f64) -> ConditionIx {
        unimplemented!()
    }

    /// A finding of `outcomes` outcomes, with the leak of outcomes 1, 2, …
    pub fn finding(&mut self, _outcomes: usize, _leak: &[f64]) -> FindingIx {
        unimplemented!()
    }

    /// `source` shows `finding`: the chances of outcomes 1, 2, …
    pub fn show(&mut self, _source: Source, _finding: FindingIx, _chances: &[f64]) {
        unimplemented!()
    }

    /// `source` brings about `condition`.
    pub fn bring(&mut self, _source: Source, _condition: ConditionIx, _chance: f64) {
        unimplemented!()
    }

    /// `leader` leads to `led`.
    pub fn lead(&mut self, _leader: CauseIx, _led: CauseIx, _chance: f64) {
        unimplemented!()
    }

    /// A fix.
    pub fn fix(&mut self) -> FixIx {
        unimplemented!()
    }

    /// `fix` removes `cause` with that chance.
    pub fn remove(&mut self, _fix: FixIx, _cause: CauseIx, _chance: f64) {
        unimplemented!()
    }

    /// Checks every number and every cycle, and freezes.
    ///
    /// # Errors
    /// The first number that is no probability, or a cycle.
    pub fn build(self) -> Result<Network, NetworkError> {
        Ok(Network { priors: self.priors })
    }
}
