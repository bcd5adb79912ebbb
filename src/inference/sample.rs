//! Exact joint samples: whole worlds drawn with their probability given the evidence.
//!
//! In: evidence and a seed. Out: [`World`]s. The sweep goes forward once, every table kept; then each sample walks
//! backward: at every step the state before is drawn in proportion to (table entry before) × (chance of the move), which
//! is its exact distribution given all that was drawn later. Cost: one sweep, then a few operations per step and sample.

use std::collections::BTreeSet;

use super::cluster::{Cluster, DEAD};
use super::engine::Engine;
use super::graph::{Ask, Edge, Graph, Group, NONE, Role, fate};
use super::number::{Number, Wide};
use super::order::{Act, Shape, Step};
use super::random::Random;
use super::{Evidence, InferenceError, Limits, Told, World};
use crate::model::index::{CauseIx, ConditionIx, FindingIx};
use crate::model::network::{Network, Source};

/// `n` worlds, each drawn with its probability given the evidence; the same seed gives the same worlds.
///
/// # Errors
/// Evidence that does not fit the network or has probability zero; a cost beyond `limits`.
pub fn sample(
    network: &Network,
    evidence: &Evidence,
    limits: &Limits,
    n: usize,
    seed: u64,
) -> Result<Vec<World>, InferenceError> {
    sample_of(network, evidence, limits, (n, seed), None).map(|(worlds, _)| worlds)
}

/// The same, but of what no evidence touches only the sources that are `wanted` (by slot) are drawn, as if the others were
/// not there: they are independent of all that is told, so whoever leaves them out has to count them by their priors. With
/// the worlds, which sources were drawn.
pub(crate) fn sample_of(
    network: &Network,
    evidence: &Evidence,
    limits: &Limits,
    (n, seed): (usize, u64),
    wanted: Option<&[bool]>,
) -> Result<(Vec<World>, Vec<bool>), InferenceError> {
    evidence.check(network)?;
    let mut engine = Engine::<f64>::new(network);
    engine.prepare(network, evidence, limits, Ask::default(), Shape::ChainKept)?;
    if engine.safe() {
        return Walk::new(network, evidence, engine, seed, wanted).worlds(n);
    }
    let mut engine = Engine::<Wide>::new(network);
    engine.prepare(network, evidence, limits, Ask::default(), Shape::ChainKept)?;
    Walk::new(network, evidence, engine, seed, wanted).worlds(n)
}

/// What one sample has drawn so far.
#[derive(Clone, Debug)]
struct Drawn {
    /// State of each vertex that stands for a source.
    states: Vec<u8>,
    /// Move of each edge into a group: state before and after.
    moves: Vec<(u8, u8)>,
    /// State of each group once its leaks alone are in.
    leaks: Vec<u8>,
    /// Entry of the current table.
    entry: usize,
}

struct Walk<'a, N> {
    network: &'a Network,
    evidence: &'a Evidence,
    engine: Engine<N>,
    random: Random,
    wanted: Option<&'a [bool]>,
}

impl<'a, N: Number> Walk<'a, N> {
    fn new(
        network: &'a Network,
        evidence: &'a Evidence,
        engine: Engine<N>,
        seed: u64,
        wanted: Option<&'a [bool]>,
    ) -> Self {
        Self { network, evidence, engine, random: Random::new(seed), wanted }
    }

    fn worlds(mut self, n: usize) -> Result<(Vec<World>, Vec<bool>), InferenceError> {
        if self.engine.graph.constant.value().is_zero() {
            return Err(InferenceError::Impossible);
        }
        let (vertices, edges) = (self.engine.graph.vertices.len(), self.engine.graph.edges.len());
        let fresh = Drawn {
            states: vec![0; vertices],
            moves: vec![(0, 0); edges],
            leaks: vec![0; vertices],
            entry: 0,
        };
        let mut samples = vec![fresh; n];
        for part in self.engine.plan.parts.clone() {
            let Engine { graph, plan, sweep } = &mut self.engine;
            if sweep.forward(graph, plan, &part)[0].is_zero() {
                return Err(InferenceError::Impossible);
            }
            for sample in &mut samples {
                sample.entry = 0;
            }
            for step in self.engine.plan.steps[part.first..part.last].iter().rev() {
                for sample in &mut samples {
                    step_back(&self.engine, step, sample, &mut self.random);
                }
            }
        }
        let touched = &self.engine.graph.vertex_of;
        let drawn = |slot: usize| touched[slot] != NONE || self.wanted.is_none_or(|wanted| wanted[slot]);
        let drawn = (0..self.network.sources()).map(drawn).collect();
        Ok((samples.iter().map(|sample| self.world(sample)).collect(), drawn))
    }

    /// Everything that the sample settles, and fresh draws for what no evidence touches.
    fn world(&mut self, sample: &Drawn) -> World {
        let lives = self.lives(sample);
        let now = self.engine.graph.lives - 1;
        let causes = self.network.causes();
        let told: BTreeSet<FindingIx> = self
            .evidence
            .told
            .iter()
            .flat_map(|t| if let Told::Finding { among, .. } = t { &among[..] } else { &[] })
            .copied()
            .collect();
        let draws = told.into_iter().map(|f| (f, self.draws(f, sample, &lives))).collect();
        World {
            causes_now: (0..causes).filter(|&c| lives[c] == now).map(CauseIx::new).collect(),
            conditions_now: (causes..lives.len())
                .filter(|&s| lives[s] == now)
                .map(|s| ConditionIx::new(s - causes))
                .collect(),
            draws,
        }
    }

    /// The life of every source: drawn by the sweep where it is touched, else from its chances.
    fn lives(&mut self, sample: &Drawn) -> Vec<usize> {
        let network = self.network;
        let last = self.engine.graph.lives - 1;
        let fixes: Vec<_> = self.evidence.fixes().collect();
        let mut lives = vec![0; network.sources()];
        for &cause in network.cause_order() {
            let graph = &self.engine.graph;
            let vertex = graph.vertex_of[cause.at()];
            if vertex != NONE {
                lives[cause.at()] = touched_life(graph, network, cause.at(), sample, &mut self.random);
                continue;
            }
            if self.wanted.is_some_and(|wanted| !wanted[cause.at()]) {
                continue;
            }
            let mut latest = 0;
            for &(leader, chance) in network.led_by(cause) {
                if lives[leader.at()] > latest && self.random.unit() < chance {
                    latest = lives[leader.at()];
                }
            }
            let prior = network.prior(cause);
            let first = if latest > 0 { (0.0, 1.0) } else { (1.0 - prior, prior) };
            let mut chances = vec![0.0; last + 1];
            fate(network, &fixes, cause, first, latest, |life, chance| chances[life] = chance);
            lives[cause.at()] = self.random.pick(chances.iter().copied()).unwrap_or(0);
        }
        for &condition in network.condition_order() {
            let slot = network.slot(Source::Condition(condition));
            if self.engine.graph.vertex_of[slot] != NONE {
                lives[slot] = touched_life(&self.engine.graph, network, slot, sample, &mut self.random);
                continue;
            }
            if self.wanted.is_some_and(|wanted| !wanted[slot]) {
                continue;
            }
            lives[slot] = if self.random.unit() < network.condition_leak(condition) { last } else { 0 };
            for &(parent, chance) in network.brought_by(condition) {
                if lives[parent as usize] > lives[slot] && self.random.unit() < chance {
                    lives[slot] = lives[parent as usize];
                }
            }
        }
        lives
    }

    /// What each source that is there now, and the leak, drew for a finding, where that is abnormal.
    fn draws(&mut self, finding: FindingIx, sample: &Drawn, lives: &[usize]) -> Vec<(Option<Source>, usize)> {
        let graph = &self.engine.graph;
        let now = graph.lives - 1;
        let k = self.network.outcomes(finding);
        let group = graph.group_of_finding(finding);
        let leak = self.network.leak(finding);
        let mut draws = Vec::new();
        let random = &mut self.random;
        let mut note = |source, outcome: Option<usize>| {
            if let Some(outcome) = outcome.filter(|&o| o > 0) {
                draws.push((source, outcome));
            }
        };
        // The leak: a move from no draw to the state of the leaks alone.
        let leaked = match group {
            None => random.pick(leak.iter().copied()),
            Some(Group::One { class_at, vertex, .. }) => {
                let classes = &graph.classes[*class_at as usize..*class_at as usize + k];
                let to = if *vertex == NONE { 0 } else { sample.leaks[*vertex as usize] };
                random.pick(classes.iter().zip(leak).map(|(&c, &p)| if c == to { p } else { 0.0 }))
            }
            Some(Group::Many { cluster, vertex }) => {
                let to = if *vertex == NONE { 0 } else { sample.leaks[*vertex as usize] };
                leak_of_member(self.network, cluster, finding, to, random)
            }
        };
        note(None, leaked);
        let (sources, chances) = self.network.links_into(finding);
        for (link, (&slot, chances)) in sources.iter().zip(chances.chunks_exact(k)).enumerate() {
            if lives[slot as usize] != now {
                continue;
            }
            let edge = graph.edge_of(slot as usize, finding, link);
            let drawn = match group {
                None => random.pick(chances.iter().copied()),
                Some(Group::One { class_at, .. }) => {
                    let classes = &graph.classes[*class_at as usize..*class_at as usize + k];
                    let (from, to) = edge.map_or((0, 0), |e| sample.moves[e]);
                    let fits = |class: u8| class != DEAD && class.max(from) == to;
                    random.pick(classes.iter().zip(chances).map(|(&c, &p)| if fits(c) { p } else { 0.0 }))
                }
                Some(Group::Many { cluster, .. }) => {
                    let member = cluster.members.iter().position(|&m| m == finding).unwrap_or(0);
                    let (from, to) = edge.map_or((0, 0), |e| sample.moves[e]);
                    let fits = |v| cluster.moves(member, cluster.epochs.len(), v)[from as usize] == to;
                    random.pick(chances.iter().enumerate().map(|(v, &p)| if fits(v) { p } else { 0.0 }))
                }
            };
            note(Some(self.network.source(slot as usize)), drawn);
        }
        draws
    }
}

/// The life of a touched source: its state, or a life that shares the state.
fn touched_life<N: Number>(
    graph: &Graph<N>,
    network: &Network,
    slot: usize,
    sample: &Drawn,
    random: &mut Random,
) -> usize {
    let vertex = &graph.vertices[graph.vertex_of[slot] as usize];
    let state = sample.states[graph.vertex_of[slot] as usize];
    let own = &graph.pool[vertex.weights as usize..vertex.weights as usize + graph.lives];
    let free = vertex.role == Role::Free;
    if free || graph.lives > 2 && Graph::<N>::shares_states(network, slot) {
        let among =
            own.iter().zip(&graph.state_of_life).map(|(&w, &s)| if free || s == state { w } else { N::ZERO });
        let most = among.clone().fold(N::ZERO, N::greater);
        if most.is_zero() {
            return 0;
        }
        return random.pick(among.map(|w| w.share(most))).unwrap_or(0);
    }
    state as usize
}

/// What the leak of one member drew, given the state that the leaks of all members led to.
fn leak_of_member(
    network: &Network,
    cluster: &Cluster,
    finding: FindingIx,
    to: u8,
    random: &mut Random,
) -> Option<usize> {
    // Chance of each outcome of this member's leak together with the state after all leaks. Members other than this one
    // are drawn afresh for each: their joint draws matter to nobody but through this state.
    let member = cluster.members.iter().position(|&m| m == finding)?;
    let epochs = cluster.epochs.len();
    let weights: Vec<f64> = (0..cluster.outcomes)
        .map(|own| {
            let mut state = vec![0.0; cluster.states];
            state[0] = 1.0;
            for (number, &other) in cluster.members.iter().enumerate() {
                let mut moved = vec![0.0; cluster.states];
                for (outcome, &chance) in network.leak(other).iter().enumerate() {
                    if number == member && outcome != own {
                        continue;
                    }
                    for (from, &next) in cluster.moves(number, epochs, outcome).iter().enumerate() {
                        if next != DEAD {
                            moved[next as usize] += state[from] * chance;
                        }
                    }
                }
                state = moved;
            }
            state[to as usize]
        })
        .collect();
    random.pick(weights.iter().copied())
}

/// One sample, one step back.
fn step_back<N: Number>(engine: &Engine<N>, step: &Step, sample: &mut Drawn, random: &mut Random) {
    let graph = &engine.graph;
    let before = &engine.sweep.arena[step.at..step.at + step.len];
    match step.act {
        Act::Close { vertex, axis: (stride, n) } => {
            let (inner, outer) = (sample.entry % stride, sample.entry / stride);
            let entry = |x: usize| (outer * n + x) * stride + inner;
            let end = graph.vertices[vertex as usize].end;
            let weight = |x: usize| {
                let entry = before[entry(x)];
                if end == NONE { entry } else { entry.times(graph.pool[end as usize + x]) }
            };
            let x = pick(n, weight, random);
            sample.entry = entry(x);
            sample.states[vertex as usize] = x as u8;
        }
        Act::Draw { edge, control: (stride_c, n_c), target: (stride_t, n_t) } => {
            let state = sample.entry / stride_c % n_c;
            let y = sample.entry / stride_t % n_t;
            let mut x = y;
            if state > 0 {
                let matrix =
                    &graph.pool[graph.edges[edge as usize].matrices as usize + (state - 1) * n_t * n_t..];
                let weight = |x: usize| matrix[y * n_t + x].times(before[sample.entry - (y - x) * stride_t]);
                x = pick(y + 1, weight, random);
                sample.entry -= (y - x) * stride_t;
            }
            sample.moves[edge as usize] = (x as u8, y as u8);
        }
        Act::Turn { vertex, axis: (stride, n) } => {
            let y = sample.entry / stride % n;
            let matrix = &graph.pool[graph.vertices[vertex as usize].turn as usize..];
            let x =
                pick(n, |x| matrix[y * n + x].times(before[sample.entry - y * stride + x * stride]), random);
            sample.entry = sample.entry - y * stride + x * stride;
        }
        // Not in a chain.
        Act::Join { .. } => {}
        Act::Open { vertex, .. } => {
            let x = sample.entry / step.len;
            sample.entry %= step.len;
            sample.leaks[vertex as usize] = unfold(graph, vertex, x, sample, random) as u8;
        }
    }
}

/// Draws the causes folded into the start state `y` of a vertex; the state before all of them.
fn unfold<N: Number>(
    graph: &Graph<N>,
    vertex: u32,
    mut y: usize,
    sample: &mut Drawn,
    random: &mut Random,
) -> usize {
    let v = &graph.vertices[vertex as usize];
    let n = v.states as usize;
    let mut edges = Vec::with_capacity(v.folds as usize);
    let mut edge = v.first_fold;
    while edge != NONE {
        edges.push(edge);
        edge = graph.edges[edge as usize].next_out;
    }
    for (number, &edge) in edges.iter().enumerate().rev() {
        let &Edge { from, matrices, .. } = &graph.edges[edge as usize];
        let source = &graph.vertices[from as usize];
        let before = &graph.pool[v.prefixes as usize + number * n..][..n];
        let start = &graph.pool[source.start as usize..source.start as usize + source.states as usize];
        // All pairs of the cause's state and the state before: one number for both.
        let weight = |pair: usize| {
            let (state, x) = (pair / n, pair % n);
            let chance = match state {
                0 if x == y => N::ONE,
                0 => N::ZERO,
                _ => graph.pool[matrices as usize + ((state - 1) * n + y) * n + x],
            };
            start[state].times(chance).times(before[x])
        };
        let pair = pick(source.states as usize * n, weight, random);
        sample.states[from as usize] = (pair / n) as u8;
        sample.moves[edge as usize] = ((pair % n) as u8, y as u8);
        y = pair % n;
    }
    y
}

/// A number below `n`, in proportion to its weight.
fn pick<N: Number>(n: usize, weight: impl Fn(usize) -> N + Copy, random: &mut Random) -> usize {
    let most = (0..n).map(weight).fold(N::ZERO, N::greater);
    if most.is_zero() {
        return 0;
    }
    random.pick((0..n).map(|x| weight(x).share(most))).unwrap_or(0)
}
