//! Start vectors, end weights and turning matrices of sources, once all their reports are in.

use super::super::number::Number;
use super::{Ask, Graph, Kind, Role, Vertex, fate};
use crate::model::index::{CauseIx, ConditionIx};
use crate::model::network::{Network, Source};

impl<N: Number> Graph<N> {
    /// Start and end vectors of sources, once all their reports are in.
    pub(super) fn finish_sources(&mut self, network: &Network, ask: Ask) {
        let two_layer = network.is_two_layer();
        for v in 0..self.vertices.len() {
            let Kind::Source(slot) = self.vertices[v].kind else { continue };
            if two_layer && self.lives == 2 {
                // The usual case, told apart for speed only.
                let Vertex { weights, outs, .. } = self.vertices[v];
                let (gone, there) = (self.pool[weights as usize], self.pool[weights as usize + 1]);
                let vertex = &mut self.vertices[v];
                vertex.start = weights;
                if outs == 0 || there.is_zero() {
                    vertex.role = Role::Free;
                    self.constant.by_number(gone.plus(there));
                } else if outs == 1 && !ask.unfolded {
                    vertex.role = Role::Folded;
                    self.scratch.folded.push(v as u32);
                }
                continue;
            }
            let Vertex { weights, outs, .. } = self.vertices[v];
            let weights = weights as usize;
            match network.source(slot as usize) {
                Source::Cause(cause) if network.led_by(cause).is_empty() => {
                    let is_target = v as u32 == self.target;
                    // Known to be absent throughout: it draws nothing that counts.
                    let absent = self.pool[weights + 1..weights + self.lives].iter().all(|w| w.is_zero());
                    if (outs == 0 || absent) && !is_target {
                        self.vertices[v].role = Role::Free;
                        let sum =
                            (0..self.lives).fold(N::ZERO, |sum, life| sum.plus(self.pool[weights + life]));
                        self.constant.by_number(sum);
                        continue;
                    }
                    if outs == 1 && !ask.unfolded && !is_target {
                        self.vertices[v].role = Role::Folded;
                        self.scratch.folded.push(v as u32);
                    }
                    if self.lives > 2 && Self::shares_states(network, slot as usize) {
                        let start = self.pool.len();
                        self.pool.resize(start + self.vertices[v].states as usize, N::ZERO);
                        for life in 0..self.lives {
                            let state = self.state_of_life[life] as usize;
                            self.pool[start + state] =
                                self.pool[start + state].plus(self.pool[weights + life]);
                        }
                        self.vertices[v].start = start as u32;
                    } else {
                        self.vertices[v].start = weights as u32;
                    }
                }
                Source::Cause(cause) => self.finish_led(network, v, cause),
                Source::Condition(condition) => self.finish_condition(network, v, condition),
            }
        }
    }

    fn finish_led(&mut self, network: &Network, v: usize, cause: CauseIx) {
        let (n, weights) = (self.lives, self.vertices[v].weights as usize);
        let turn = self.pool.len();
        self.pool.resize(turn + n * n, N::ZERO);
        let prior = network.prior(cause);
        for latest in 0..n {
            let first = if latest == 0 { (1.0 - prior, prior) } else { (0.0, 1.0) };
            let (fixes, pool) = (&self.fixes, &mut self.pool);
            fate(network, fixes, cause, first, latest, |life, chance: N| {
                pool[turn + life * n + latest] = chance.times(pool[weights + life]);
            });
        }
        self.vertices[v].turn = turn as u32;
        self.vertices[v].start = self.pool.len() as u32;
        self.pool.push(N::ONE);
        self.pool.resize(self.pool.len() + n - 1, N::ZERO);
    }

    fn finish_condition(&mut self, network: &Network, v: usize, condition: ConditionIx) {
        let (n, weights) = (self.lives, self.vertices[v].weights as usize);
        let leak = network.condition_leak(condition);
        self.vertices[v].start = self.pool.len() as u32;
        self.pool.push(N::of(1.0 - leak));
        self.pool.resize(self.pool.len() + n - 2, N::ZERO);
        self.pool.push(N::of(leak));
        if self.pool[weights..weights + n].iter().any(|&w| w != N::ONE) {
            self.vertices[v].end = weights as u32;
        }
    }
}
