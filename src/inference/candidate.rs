//! The most probable candidates: sets of causes that could together be the truth, the empty one among them.
//!
//! In: evidence. Out: the `k` most probable sets of causes that are there now, each with its exact probability (draws,
//! conditions and lives summed out). Per connected part by best-first search (A*, Hart, Nilsson & Raphael 1968) backward
//! over the sweep: a node has decided the causes that were summed out last, and holds the backward table under those
//! decisions. Its bound is that table against a forward table in which every undecided cause takes, entry by entry, the
//! better of "there now" and "not there now" instead of their sum: never less than any set still possible, so that sets
//! come out in order. Parts and causes on their own are independent of one another; their lists are multiplied, best
//! first.
//!
//! Cost: the nodes opened, each a few backward steps. Sets of nearly equal probability can make that many; beyond
//! `limits` the answer is refused.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use super::engine::Engine;
use super::graph::{Ask, Graph, Kind, NONE, Role, fate};
use super::number::{Number, Wide};
use super::order::{Act, Part, Shape, Step};
use super::table;
use super::{Candidate, Effort, Evidence, InferenceError, Limits};
use crate::model::index::CauseIx;
use crate::model::network::Network;

/// The `k` most probable candidates, most probable first; ties by the causes in them.
///
/// # Errors
/// Evidence that does not fit the network or has probability zero; a cost beyond `limits`.
pub fn candidates(
    network: &Network,
    evidence: &Evidence,
    limits: &Limits,
    k: usize,
) -> Result<Vec<Candidate>, InferenceError> {
    evidence.check(network)?;
    let ask = Ask { unfolded: true, all_led: true, ..Ask::default() };
    let mut engine = Engine::<f64>::new(network);
    engine.prepare(network, evidence, limits, ask, Shape::Chain)?;
    if engine.safe() {
        return search(network, evidence, engine, limits, k);
    }
    let mut engine = Engine::<Wide>::new(network);
    engine.prepare(network, evidence, limits, ask, Shape::Chain)?;
    search(network, evidence, engine, limits, k)
}

/// A list of sets, most probable first.
type List = Vec<Candidate>;

fn search<N: Number>(
    network: &Network,
    evidence: &Evidence,
    mut engine: Engine<N>,
    limits: &Limits,
    k: usize,
) -> Result<Vec<Candidate>, InferenceError> {
    if engine.graph.constant.value().is_zero() {
        return Err(InferenceError::Impossible);
    }
    // Causes on their own: whether each is there now.
    let mut alone = alone(network, evidence, &engine.graph);
    let mut best: List = vec![Candidate { causes: Vec::new(), probability: 1.0 }];
    let unlikelier = |list: &List| list.get(1).map_or(0.0, |second| second.probability / list[0].probability);
    alone.sort_by(|a, b| unlikelier(b).total_cmp(&unlikelier(a)).then_with(|| a[0].causes.cmp(&b[0].causes)));
    for list in &alone {
        best = product(&best, list, k);
    }
    for part in engine.plan.parts.clone() {
        // No set of this part counts whose share of its best one is below the share of the k-th so far.
        let floor = if best.len() < k { 0.0 } else { best[k - 1].probability / best[0].probability };
        let list = Search::new(network, &mut engine, part, limits)?.best(k, floor)?;
        best = product(&best, &list, k);
    }
    for candidate in &mut best {
        candidate.causes.sort_unstable();
    }
    best.sort_by(|a, b| b.probability.total_cmp(&a.probability).then_with(|| a.causes.cmp(&b.causes)));
    Ok(best)
}

/// The lists of causes that share nothing with others: untouched, or touched by normal reports alone.
fn alone<N: Number>(network: &Network, evidence: &Evidence, graph: &Graph<N>) -> Vec<List> {
    let fixes: Vec<_> = evidence.fixes().collect();
    let last = graph.lives - 1;
    let mut lists = Vec::new();
    for cause in (0..network.causes()).map(CauseIx::new) {
        let (mut gone, mut now) = (N::ZERO, N::ZERO);
        let mut add = |life: usize, weight: N| {
            if life == last {
                now = weight;
            } else {
                gone = gone.plus(weight);
            }
        };
        let vertex = graph.vertex_of[cause.at()];
        if vertex == NONE {
            let prior = network.prior(cause);
            fate(network, &fixes, cause, (1.0 - prior, prior), 0, add);
        } else if graph.vertices[vertex as usize].role == Role::Free {
            let weights = graph.vertices[vertex as usize].weights as usize;
            for life in 0..=last {
                add(life, graph.pool[weights + life]);
            }
        } else {
            continue;
        }
        let whole = gone.plus(now);
        let mut list = Vec::new();
        for (weight, causes) in [(gone, vec![]), (now, vec![cause])] {
            if !weight.is_zero() {
                list.push(Candidate { causes, probability: weight.share(whole) });
            }
        }
        list.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        lists.push(list);
    }
    lists
}

/// The `k` best products of two lists. A pair (i, j) can only be among them if (i + 1)·(j + 1) ≤ k.
fn product(a: &List, b: &List, k: usize) -> List {
    let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
    for (i, x) in a.iter().enumerate().take(k) {
        for (j, y) in b.iter().enumerate().take(k / (i + 1)) {
            pairs.push((x.probability * y.probability, i, j));
        }
    }
    pairs.sort_by(|x, y| y.0.total_cmp(&x.0).then((x.1, x.2).cmp(&(y.1, y.2))));
    pairs.truncate(k);
    pairs
        .into_iter()
        .filter(|p| p.0 > 0.0)
        .map(|(probability, i, j)| Candidate {
            causes: [&a[i].causes[..], &b[j].causes[..]].concat(),
            probability,
        })
        .collect()
}

/// A node of the search.
#[derive(Clone, Debug)]
struct Node<N> {
    bound: Wide,
    /// How many steps of the part are not yet undone.
    steps: usize,
    causes: Vec<CauseIx>,
    table: Vec<N>,
}

impl<N> PartialEq for Node<N> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl<N> Eq for Node<N> {}
impl<N> PartialOrd for Node<N> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl<N> Ord for Node<N> {
    /// The higher bound first; among equals the one further on, then the earlier causes.
    fn cmp(&self, other: &Self) -> Ordering {
        self.bound
            .compare(other.bound)
            .then_with(|| other.steps.cmp(&self.steps))
            .then_with(|| other.causes.cmp(&self.causes))
    }
}

/// The search within one part.
struct Search<'a, N> {
    graph: &'a Graph<N>,
    arena: &'a [N],
    steps: &'a [Step],
    network: &'a Network,
    /// P(e) of the part.
    whole: Wide,
    limits: &'a Limits,
    spent: u64,
}

impl<'a, N: Number> Search<'a, N> {
    /// Makes the forward tables: first of sums, for P(e) of the part, then of the better decisions.
    fn new(
        network: &'a Network,
        engine: &'a mut Engine<N>,
        part: Part,
        limits: &'a Limits,
    ) -> Result<Self, InferenceError> {
        let Engine { graph, plan, sweep } = engine;
        let whole = sweep.forward(graph, plan, &part)[0].wide();
        if whole.is_zero() {
            return Err(InferenceError::Impossible);
        }
        let steps = &plan.steps[part.first..part.last];
        sweep.arena[0] = N::ONE;
        let mut other = Vec::new();
        for step in steps {
            sweep.step(graph, step);
            if let Some((_, decisions)) = decisions(network, graph, step)
                && let Act::Close { axis, .. } = step.act
            {
                let small = step.len / axis.1;
                let (before, after) = sweep.arena[step.at..].split_at_mut(step.to - step.at);
                table::close(&before[..step.len], &mut after[..small], axis, Some(&decisions[0]));
                other.resize(small, N::ZERO);
                table::close(&before[..step.len], &mut other, axis, Some(&decisions[1]));
                for (entry, &there) in after.iter_mut().zip(&other) {
                    *entry = entry.greater(there);
                }
            }
        }
        Ok(Self { graph, arena: &sweep.arena, steps, network, whole, limits, spent: 0 })
    }

    /// The best sets, most probable first, down to `floor` times the best.
    fn best(mut self, k: usize, floor: f64) -> Result<List, InferenceError> {
        let start =
            Node { bound: self.whole, steps: self.steps.len(), causes: Vec::new(), table: vec![N::ONE] };
        let mut heap = BinaryHeap::from([start]);
        let mut held = 1_u64;
        let mut list: List = Vec::new();
        while let Some(node) = heap.pop() {
            held -= node.table.len() as u64;
            if list.len() == k
                || list.first().is_some_and(|f| node.bound.share(self.whole) < floor * f.probability)
            {
                break;
            }
            if node.steps == 0 {
                list.push(Candidate { causes: node.causes, probability: node.bound.share(self.whole) });
                continue;
            }
            for child in self.expand(node) {
                held += child.table.len() as u64;
                heap.push(child);
            }
            if self.spent > self.limits.steps || held > self.limits.states {
                return Err(InferenceError::TooWide(Effort { width: 0, states: held, steps: self.spent }));
            }
        }
        Ok(list)
    }

    /// Undoes steps until a cause is decided both ways, or none is left.
    fn expand(&mut self, mut node: Node<N>) -> Vec<Node<N>> {
        while node.steps > 0 {
            let step = &self.steps[node.steps - 1];
            self.spent += step.len as u64 * 2;
            if let (Some((cause, decisions)), Act::Close { axis, .. }) =
                (decisions(self.network, self.graph, step), step.act)
            {
                let forward = &self.arena[step.at..step.at + step.len];
                let mut children = Vec::with_capacity(2);
                for (end, there) in decisions.iter().zip([false, true]) {
                    let mut table = vec![N::ZERO; step.len];
                    table::close_back(&node.table, &mut table, axis, Some(end));
                    let bound = table::dot(forward, &table).wide();
                    if bound.is_zero() {
                        continue;
                    }
                    let mut causes = node.causes.clone();
                    causes.extend(there.then_some(cause));
                    children.push(Node { bound, steps: node.steps - 1, causes, table });
                }
                return children;
            }
            undo(self.graph, step, &mut node.table);
            node.steps -= 1;
        }
        node.bound = node.table[0].wide();
        vec![node]
    }
}

/// Undoes a step that decides nothing.
fn undo<N: Number>(graph: &Graph<N>, step: &Step, backward: &mut Vec<N>) {
    match step.act {
        Act::Open { vertex, .. } => {
            let v = &graph.vertices[vertex as usize];
            table::open_back(backward, step.len, &graph.pool[v.start as usize..][..v.states as usize]);
            backward.truncate(step.len);
        }
        Act::Draw { edge, control, target } => {
            let matrices = &graph.pool[graph.edges[edge as usize].matrices as usize..];
            table::draw(backward, matrices, control, target, true);
        }
        Act::Turn { vertex, axis } => {
            table::turn(backward, &graph.pool[graph.vertices[vertex as usize].turn as usize..], axis, true);
        }
        Act::Close { vertex, axis } => {
            let mut table = vec![N::ZERO; step.len];
            let end = graph.vertices[vertex as usize].end;
            let end = (end != NONE).then(|| &graph.pool[end as usize..end as usize + axis.1]);
            table::close_back(backward, &mut table, axis, end);
            *backward = table;
        }
        // Not in a chain.
        Act::Join { .. } => {}
    }
}

/// Where a step sums out a cause: which, and the weight of each of its states if it is not there now, and if it is.
fn decisions<N: Number>(network: &Network, graph: &Graph<N>, step: &Step) -> Option<(CauseIx, [Vec<N>; 2])> {
    let Act::Close { vertex, axis: (_, n) } = step.act else { return None };
    let v = &graph.vertices[vertex as usize];
    let Kind::Source(slot) = v.kind else { return None };
    if slot as usize >= network.causes() {
        return None;
    }
    let mut gone = vec![N::ONE; n];
    let mut now = vec![N::ZERO; n];
    let last = graph.lives - 1;
    if last > 1 && Graph::<N>::shares_states(network, slot as usize) {
        // The last state may hold several lives: split it in their proportion.
        let own = &graph.pool[v.weights as usize..v.weights as usize + graph.lives];
        let mut others = N::ZERO;
        for (&weight, _) in
            own[..last].iter().zip(&graph.state_of_life).filter(|(_, s)| **s as usize == n - 1)
        {
            others = others.plus(weight);
        }
        let all = others.plus(own[last]);
        (gone[n - 1], now[n - 1]) =
            if all.is_zero() { (N::ONE, N::ZERO) } else { (others.divided(all), own[last].divided(all)) };
    } else {
        (gone[n - 1], now[n - 1]) = (N::ZERO, N::ONE);
    }
    Some((CauseIx::new(slot as usize), [gone, now]))
}
