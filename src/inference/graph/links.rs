//! Every draw for a reported finding, every draw by which a condition or a led-to cause comes about: an edge with a matrix
//! per state of its source, or a factor on the weights of the source where nothing has to be remembered.

use super::super::cluster::DEAD;
use super::super::number::Number;
use super::{Edge, Graph, Group, Kind, NONE, TINY, Vertex, fate};
use crate::model::index::CauseIx;
use crate::model::network::{Network, Source};

impl<N: Number> Graph<N> {
    /// All links into the findings of a group.
    pub(super) fn take_in_group(&mut self, network: &Network, group: usize) {
        match &self.groups[group] {
            &Group::One { finding, epoch, class_at, states: 1, .. } => {
                let k = network.outcomes(finding);
                let (sources, chances) = network.links_into(finding);
                let only_normal = self.classes[class_at as usize + 1] == DEAD;
                if only_normal && self.lives == 2 {
                    for (&slot, chances) in sources.iter().zip(chances.chunks_exact(k)) {
                        let vertex = self.touch(network, slot as usize);
                        self.weigh_life(vertex, 1, chances[0]);
                    }
                    return;
                }
                for (&slot, chances) in sources.iter().zip(chances.chunks_exact(k)) {
                    let fits = live(&self.classes[class_at as usize..class_at as usize + k], chances);
                    let vertex = self.touch(network, slot as usize);
                    self.weigh(vertex, epoch as usize + 1, fits);
                }
            }
            &Group::One { finding, epoch, class_at, states, vertex } => {
                let k = network.outcomes(finding);
                let (sources, chances) = network.links_into(finding);
                if self.lives == 2 && k == 2 && states == 2 {
                    // The usual case, told apart for speed only: there or not, drawn or not.
                    for (link, (&slot, chances)) in sources.iter().zip(chances.chunks_exact(2)).enumerate() {
                        let from = self.touch(network, slot as usize);
                        let matrices = self.pool.len() as u32;
                        let (stays, moves) = (N::of(chances[0]), N::of(chances[1]));
                        self.pool.extend([stays, N::ZERO, moves, stays.plus(moves)]);
                        let bits = stays.bits().max(moves.bits());
                        self.edge(from, vertex, matrices, bits, (finding.0, link as u32));
                    }
                    return;
                }
                for (link, (&slot, chances)) in sources.iter().zip(chances.chunks_exact(k)).enumerate() {
                    let from = self.touch(network, slot as usize);
                    let n = states as usize;
                    let matrices = self.pool.len();
                    let mut bits = 0.0_f64;
                    for state in 1..self.vertices[from as usize].states as usize {
                        let life = self.life_of_state(network, slot as usize, state);
                        if n == 2 && life > epoch as usize {
                            let classes = &self.classes[class_at as usize..class_at as usize + k];
                            let (mut stays, mut moves) = (0.0, 0.0);
                            for (&class, &chance) in classes.iter().zip(chances) {
                                match class {
                                    0 => stays += chance,
                                    1 => moves += chance,
                                    _ => {}
                                }
                                if class != DEAD {
                                    bits = bits.max(N::of(chance).bits());
                                }
                            }
                            let matrix = [stays, 0.0, moves, stays + moves];
                            self.pool.extend(matrix.map(N::of));
                            continue;
                        }
                        let at = self.pool.len();
                        self.pool.resize(at + n * n, N::ZERO);
                        let matrix = &mut self.pool[at..];
                        if life <= epoch as usize {
                            identity(matrix, n);
                            continue;
                        }
                        // Column by column: a draw of class c moves state x to the higher of the two.
                        let classes = &self.classes[class_at as usize..class_at as usize + k];
                        for (&class, &chance) in classes.iter().zip(chances) {
                            if class == DEAD || chance == 0.0 {
                                continue;
                            }
                            bits = bits.max(N::of(chance).bits());
                            for x in 0..n {
                                let entry = &mut matrix[x.max(class as usize) * n + x];
                                *entry = entry.plus(N::of(chance));
                            }
                        }
                    }
                    self.edge(from, vertex, matrices as u32, bits, (finding.0, link as u32));
                }
            }
            Group::Many { .. } => self.take_in_several(network, group),
        }
    }

    fn take_in_several(&mut self, network: &Network, group: usize) {
        let Group::Many { cluster, vertex } = self.groups[group].clone() else { return };
        let n = cluster.states;
        for (member, &finding) in cluster.members.iter().enumerate() {
            let (sources, all) = network.links_into(finding);
            for (link, (&slot, chances)) in sources.iter().zip(all.chunks_exact(cluster.outcomes)).enumerate()
            {
                let from = self.touch(network, slot as usize);
                if vertex == NONE {
                    for life in 1..self.lives {
                        let lived = cluster.lived(life);
                        if lived > 0 {
                            let fits = |&(outcome, _): &(usize, &f64)| {
                                cluster.moves(member, lived, outcome)[0] != DEAD
                            };
                            let sum = chances.iter().enumerate().filter(fits).map(|(_, &c)| c).sum();
                            self.weigh_life(from, life, sum);
                        }
                    }
                    continue;
                }
                let matrices = self.pool.len();
                let mut bits = 0.0_f64;
                for state in 1..self.vertices[from as usize].states as usize {
                    let life = self.life_of_state(network, slot as usize, state);
                    let lived = cluster.lived(life);
                    let at = self.pool.len();
                    self.pool.resize(at + n * n, N::ZERO);
                    let matrix = &mut self.pool[at..];
                    if lived == 0 {
                        identity(matrix, n);
                        continue;
                    }
                    for (outcome, &chance) in chances.iter().enumerate().filter(|(_, c)| **c > 0.0) {
                        bits = bits.max(N::of(chance).bits());
                        for (x, &to) in cluster.moves(member, lived, outcome).iter().enumerate() {
                            if to != DEAD {
                                let entry = &mut matrix[to as usize * n + x];
                                *entry = entry.plus(N::of(chance));
                            }
                        }
                    }
                }
                self.edge(from, vertex, matrices as u32, bits, (finding.0, link as u32));
            }
        }
    }

    /// A life that stands for a state of a source.
    #[inline]
    fn life_of_state(&self, network: &Network, slot: usize, state: usize) -> usize {
        if self.lives == 2 || !Self::shares_states(network, slot) {
            state
        } else {
            self.state_of_life.iter().position(|&s| s as usize == state).unwrap_or(0)
        }
    }

    /// A report that fits only a share of the draws of a source that lives beyond `from`.
    #[inline]
    fn weigh(&mut self, vertex: u32, from: usize, fits: f64) {
        for life in from..self.lives {
            self.weigh_life(vertex, life, fits);
        }
    }

    #[inline]
    fn weigh_life(&mut self, vertex: u32, life: usize, fits: f64) {
        let entry = &mut self.pool[self.vertices[vertex as usize].weights as usize + life];
        let weighed = entry.times(N::of(fits));
        if weighed.under(TINY) {
            self.risk |= fits > 0.0 && !entry.is_zero();
        }
        *entry = weighed;
    }

    /// The vertex of a source, made at first touch.
    #[inline]
    pub(super) fn touch(&mut self, network: &Network, slot: usize) -> u32 {
        let seen = self.vertex_of[slot];
        if seen != NONE {
            return seen;
        }
        let vertex = self.vertices.len() as u32;
        self.vertex_of[slot] = vertex;
        let weights = self.pool.len() as u32;
        let lives = self.lives;
        let mut states = lives;
        if slot < network.causes() && network.led_by(CauseIx::new(slot)).is_empty() {
            let prior = network.prior(CauseIx::new(slot));
            if lives == 2 {
                self.pool.push(N::of(1.0 - prior));
                self.pool.push(N::of(prior));
            } else {
                let cause = CauseIx::new(slot);
                self.pool.resize(weights as usize + lives, N::ZERO);
                let row = &mut self.pool[weights as usize..];
                fate(network, &self.fixes, cause, (1.0 - prior, prior), 0, |life, chance| row[life] = chance);
                if Self::shares_states(network, slot) {
                    states = self.state_of_life[lives - 1] as usize + 1;
                }
            }
        } else {
            self.pool.resize(weights as usize + lives, N::ONE);
        }
        let mut fresh = Vertex::new(Kind::Source(slot as u32), states as u32, weights, NONE);
        fresh.weights = weights;
        self.vertices.push(fresh);
        vertex
    }

    /// What brings a condition about, or leads to a cause.
    pub(super) fn take_in_parents(&mut self, network: &Network, at: usize) {
        let Kind::Source(slot) = self.vertices[at].kind else { return };
        match network.source(slot as usize) {
            Source::Condition(condition) => {
                for &(parent, chance) in network.brought_by(condition) {
                    self.bring(network, parent as usize, at as u32, chance);
                }
            }
            Source::Cause(cause) => {
                for &(leader, chance) in network.led_by(cause) {
                    self.bring(network, leader.at(), at as u32, chance);
                }
            }
        }
    }

    /// An edge by which `to` takes over the life of its parent, if that is later and the draw says yes.
    fn bring(&mut self, network: &Network, parent: usize, to: u32, chance: f64) {
        if chance == 0.0 {
            return;
        }
        let from = self.touch(network, parent);
        let n = self.lives;
        let matrices = self.pool.len();
        let (yes, no) = (N::of(chance), N::of(1.0 - chance));
        for life in 1..n {
            let at = self.pool.len();
            self.pool.resize(at + n * n, N::ZERO);
            let matrix = &mut self.pool[at..];
            for x in 0..n {
                if x < life {
                    matrix[x * n + x] = no;
                    matrix[life * n + x] = yes;
                } else {
                    matrix[x * n + x] = N::ONE;
                }
            }
        }
        self.edge(from, to, matrices as u32, yes.bits().max(no.bits()), (NONE, NONE));
    }

    pub(super) fn edge(&mut self, from: u32, to: u32, matrices: u32, bits: f64, (finding, link): (u32, u32)) {
        let edge = self.edges.len() as u32;
        let next_out = std::mem::replace(&mut self.vertices[from as usize].first_out, edge);
        let next_in = std::mem::replace(&mut self.vertices[to as usize].first_in, edge);
        self.vertices[from as usize].outs += 1;
        self.vertices[to as usize].ins += 1;
        self.edges.push(Edge { from, to, matrices, next_in, next_out, finding, link, bits });
    }
}

/// The chance of a draw that no report contradicts.
#[inline]
pub(super) fn live(classes: &[u8], chances: &[f64]) -> f64 {
    classes.iter().zip(chances).filter(|(class, _)| **class != DEAD).map(|(_, &chance)| chance).sum()
}

fn identity<N: Number>(matrix: &mut [N], n: usize) {
    for x in 0..n {
        matrix[x * n + x] = N::ONE;
    }
}
