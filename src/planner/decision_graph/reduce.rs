//! Merges states with equal remaining plans, counts how often each node is reached, and carries minutes back.

use std::collections::BTreeMap;

use petgraph::graph::{DiGraph, NodeIndex};

use super::grow::{Grown, State};
use super::{Bounds, DecisionGraph, Deed, Found, Node, Outcome};
use crate::model::Fingerprint;
use crate::model::index::{CauseIx, FindingIx, PlaceIx, WorkStateIx};
use crate::planner::advice::Step;
use crate::planner::situation::Situation;

/// So many causes are kept for a node.
const CAUSES: usize = 3;

/// What makes two states one node.
type Same = (Deed, WorkStateIx, PlaceIx, Vec<Step>, Vec<FindingIx>, Vec<(Vec<Found>, NodeIndex)>);

pub(super) fn reduce(grown: Grown, start: &Situation, bounds: Bounds) -> DecisionGraph {
    let Grown { mut states, frame, full, bound } = grown;
    let order = topological(&mut states);
    let (reach, rare) = reached(&states, &order);
    let apart = apart(&states, &order);
    let mut graph: DiGraph<Node, Outcome> = DiGraph::new();
    let mut nodes: BTreeMap<Same, NodeIndex> = BTreeMap::new();
    let mut of: Vec<NodeIndex> = vec![NodeIndex::end(); states.len()];
    let open = graph.add_node(blank(Deed::Open, WorkStateIx(0), PlaceIx(0)));
    let mut flows: BTreeMap<(NodeIndex, NodeIndex), f64> = BTreeMap::new();
    for &at in order.iter().rev() {
        let state = &states[at];
        let deed = match (&state.step, state.alarm) {
            (_, Some(alarm)) => Deed::Alarm(alarm),
            (Some(step), None) => Deed::Take(step.clone()),
            (None, None) => {
                of[at] = open;
                continue;
            }
        };
        let mut ways: BTreeMap<NodeIndex, (Vec<Found>, f64)> = BTreeMap::new();
        for (found, chance, to) in &state.ways {
            let way = ways.entry(of[*to]).or_default();
            if of[*to] != open {
                way.0.push(found.clone());
            }
            way.1 += chance * reach[at];
        }
        if rare[at] > 0.0 {
            ways.entry(open).or_default().1 += rare[at];
        }
        let mut same: Vec<(Vec<Found>, NodeIndex)> = (ways.iter())
            .map(|(to, (found, _))| {
                let mut found = found.clone();
                found.sort();
                (found, *to)
            })
            .collect();
        same.sort();
        let left = if matches!(deed, Deed::Alarm(_) | Deed::Take(Step::PutBack | Step::HandOver(_))) {
            state.left.clone()
        } else {
            Vec::new()
        };
        let complaints = match deed {
            Deed::Take(Step::Prove) => state.complaints.clone(),
            _ => Vec::new(),
        };
        let key: Same =
            (deed.clone(), state.work_state, state.place, left.clone(), complaints.clone(), same.clone());
        let node = *nodes.entry(key).or_insert_with(|| {
            let node =
                graph.add_node(Node { left, complaints, ..blank(deed, state.work_state, state.place) });
            for (found, to) in same {
                graph.add_edge(node, to, Outcome { found, chance: 0.0 });
            }
            node
        });
        of[at] = node;
        for (to, (_, flow)) in &ways {
            *flows.entry((node, *to)).or_default() += flow;
        }
        add(&mut graph[node], state, reach[at]);
        let otherwise = flow_open(&ways, open);
        graph[open].reach += otherwise;
        graph[open].minutes += otherwise * state.otherwise;
    }
    finish(&mut graph, &flows);
    let root = of[0];
    let (root, graph) = without_unreached(graph, root);
    let open = graph.node_weights().filter(|node| node.deed == Deed::Open).map(|node| node.reach).sum();
    let stations = stations(&states, &of, &graph, &root);
    let count = states.iter().filter(|state| state.step.is_some()).count();
    DecisionGraph {
        graph,
        root: root.0,
        start: start.clone(),
        bounds,
        apart,
        states: count,
        full,
        bound,
        open,
        frame,
        stations,
    }
}

fn flow_open(ways: &BTreeMap<NodeIndex, (Vec<Found>, f64)>, open: NodeIndex) -> f64 {
    ways.get(&open).map_or(0.0, |way| way.1)
}

fn blank(deed: Deed, work_state: WorkStateIx, place: PlaceIx) -> Node {
    Node {
        deed,
        work_state,
        place,
        left: Vec::new(),
        complaints: Vec::new(),
        minutes: 0.0,
        expected: 0.0,
        reach: 0.0,
        causes: Vec::new(),
        states: 0,
    }
}

/// Sums, still weighted by how often the state is reached.
fn add(node: &mut Node, state: &State, reach: f64) {
    node.reach += reach;
    node.minutes += reach * state.minutes;
    node.states += 1;
    for &(cause, chance) in &state.causes {
        match node.causes.iter_mut().find(|(other, _)| *other == cause) {
            Some((_, sum)) => *sum += reach * chance,
            None => node.causes.push((cause, reach * chance)),
        }
    }
}

/// Means instead of sums; then minutes from the leaves to the root.
fn finish(graph: &mut DiGraph<Node, Outcome>, flows: &BTreeMap<(NodeIndex, NodeIndex), f64>) {
    for node in graph.node_weights_mut().filter(|node| node.reach > 0.0) {
        node.minutes /= node.reach;
        for (_, chance) in &mut node.causes {
            *chance /= node.reach;
        }
        node.causes.sort_by(|a: &(CauseIx, f64), b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        node.causes.truncate(CAUSES);
    }
    for edge in graph.edge_indices() {
        let Some((from, to)) = graph.edge_endpoints(edge) else { continue };
        let reach = graph[from].reach;
        let flow = flows.get(&(from, to)).copied().unwrap_or_default();
        graph[edge].chance = if reach > 0.0 { flow / reach } else { 0.0 };
    }
    // Nodes were made from the leaves on, so every outcome leads to an earlier one.
    for at in graph.node_indices() {
        let mut walk = graph.neighbors(at).detach();
        let mut behind = 0.0;
        while let Some((edge, to)) = walk.next(graph) {
            behind += graph[edge].chance * graph[to].expected;
        }
        let node = &mut graph[at];
        node.expected = node.minutes + behind;
    }
}

/// The graph numbered from the root on, the likeliest way first; the open end only where something leads to it.
fn without_unreached(
    graph: DiGraph<Node, Outcome>,
    root: NodeIndex,
) -> ((NodeIndex, Vec<NodeIndex>), DiGraph<Node, Outcome>) {
    let mut number: Vec<NodeIndex> = vec![NodeIndex::end(); graph.node_count()];
    let mut listed = vec![root];
    let mut seen = vec![false; graph.node_count()];
    seen[root.index()] = true;
    let mut at = 0;
    while let Some(&from) = listed.get(at) {
        at += 1;
        let mut ways: Vec<(f64, NodeIndex)> = Vec::new();
        let mut walk = graph.neighbors(from).detach();
        while let Some((edge, to)) = walk.next(&graph) {
            ways.push((graph[edge].chance, to));
        }
        ways.sort_by(|a, b| b.0.total_cmp(&a.0).then(b.1.cmp(&a.1)));
        for (_, to) in ways {
            if !std::mem::replace(&mut seen[to.index()], true) {
                listed.push(to);
            }
        }
    }
    let mut new: DiGraph<Node, Outcome> = DiGraph::with_capacity(listed.len(), graph.edge_count());
    for &old in &listed {
        number[old.index()] = new.add_node(graph[old].clone());
    }
    for &old in &listed {
        let mut edges: Vec<(Outcome, NodeIndex)> = Vec::new();
        let mut walk = graph.neighbors(old).detach();
        while let Some((edge, to)) = walk.next(&graph) {
            edges.push((graph[edge].clone(), number[to.index()]));
        }
        edges.sort_by(|a, b| b.0.chance.total_cmp(&a.0.chance).then(a.1.cmp(&b.1)));
        for (outcome, to) in edges {
            new.add_edge(number[old.index()], to, outcome);
        }
    }
    ((number[root.index()], number), new)
}

/// By mark, the node of each state planned for.
fn stations(
    states: &[State],
    of: &[NodeIndex],
    graph: &DiGraph<Node, Outcome>,
    root: &(NodeIndex, Vec<NodeIndex>),
) -> BTreeMap<Fingerprint, NodeIndex> {
    let mut stations = BTreeMap::new();
    for (state, node) in states.iter().zip(of).filter(|(state, _)| state.step.is_some()) {
        if let Some(node) = root.1.get(node.index()).filter(|node| node.index() < graph.node_count()) {
            stations.entry(state.mark).or_insert(*node);
        }
    }
    stations
}

/// Whether nothing follows a state by its nature.
fn ends(state: &State) -> bool {
    state.alarm.is_some()
        || matches!(state.step, None | Some(Step::HandOver(_) | Step::Done | Step::ConfirmWorkState))
}

/// Expected minutes of the first state, each state by itself.
fn apart(states: &[State], order: &[usize]) -> f64 {
    let mut expected = vec![0.0; states.len()];
    for &at in order.iter().rev() {
        let state = &states[at];
        let mut sum = state.minutes;
        let mut rest = 1.0;
        for (_, chance, to) in &state.ways {
            let next = &states[*to];
            let planned = next.step.is_some() || next.alarm.is_some();
            sum += chance * if planned { expected[*to] } else { state.otherwise };
            rest -= chance;
        }
        if !ends(state) && rest > ROUNDING {
            sum += rest * state.otherwise;
        }
        expected[at] = sum;
    }
    expected[0]
}

/// A rounding error is no outcome.
const ROUNDING: f64 = 1e-9;

/// Per state, the chance of coming through it, and of leaving it by what is rarer than the bound.
fn reached(states: &[State], order: &[usize]) -> (Vec<f64>, Vec<f64>) {
    let mut reach = vec![0.0; states.len()];
    let mut rare = vec![0.0; states.len()];
    reach[0] = 1.0;
    for &at in order {
        let state = &states[at];
        let mut followed = 0.0;
        for (_, chance, to) in &state.ways {
            reach[*to] += reach[at] * chance;
            followed += chance;
        }
        let left = 1.0 - followed;
        if !ends(state) && left > ROUNDING {
            rare[at] = reach[at] * left;
        }
    }
    (reach, rare)
}

/// An order in which every way leads onward. Every step adds to the evidence, to the changes, or puts back; should one
/// ever not, the way back is left open rather than walked in a ring.
fn topological(states: &mut [State]) -> Vec<usize> {
    let mut waiting = vec![0usize; states.len()];
    for (_, _, to) in states.iter().flat_map(|state| &state.ways) {
        waiting[*to] += 1;
    }
    let mut order: Vec<usize> = (0..states.len()).filter(|at| waiting[*at] == 0).collect();
    let mut listed = vec![false; states.len()];
    let mut at = 0;
    loop {
        while let Some(&from) = order.get(at) {
            at += 1;
            listed[from] = true;
            for (_, _, to) in &states[from].ways {
                waiting[*to] -= 1;
                if waiting[*to] == 0 {
                    order.push(*to);
                }
            }
        }
        let Some(ring) = listed.iter().position(|listed| !listed) else { return order };
        for from in (0..states.len()).filter(|from| !listed[*from]) {
            states[from].ways.retain(|(_, _, to)| *to != ring);
        }
        waiting[ring] = 0;
        order.push(ring);
    }
}
