//! In which order the sweep takes the vertices, and what that costs.
//!
//! In: a [`Graph`]. Out: per connected part a [`Part`]: the steps of the sweep with all positions worked out, and the
//! [`Effort`], known before a single table is touched.
//!
//! *Taking* a vertex opens its axis and those of its neighbours with draws still to be made between them, makes those
//! draws, and sums out the vertex and every neighbour that has no further draw. Sources as well as reports can be taken:
//! the sweep goes cause by cause where causes share few findings, finding by finding where many findings share few
//! causes, and mixes both. A draw *of* a condition or led-to cause waits until every draw *for* it has been made.
//!
//! Finding the best order is NP-hard. [`greedy`] takes next what makes the table smallest; where the order that comes out
//! is dear, [`search`] tries others, a stated number of them, and keeps the cheapest.

mod greedy;
mod mask;
mod search;

use self::greedy::{Axis, Ordering};
use super::Effort;
use super::graph::{Graph, Kind, NONE, Role};
use super::number::Number;

/// One step of the sweep over the table of the open axes. `at` and `len` place the table before the step in the arena.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Step {
    pub act: Act,
    pub at: usize,
    pub len: usize,
    /// Where the table is after the step.
    pub to: usize,
}

/// What a step does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Act {
    /// Opens an axis, outermost. With folds (`kept`), the table before is kept.
    Open { vertex: u32, kept: bool },
    /// Makes a draw: for each state of the controlling axis a matrix over the target axis. Axes by (stride, states).
    Draw { edge: u32, control: (usize, usize), target: (usize, usize) },
    /// Turns an axis by a matrix.
    Turn { vertex: u32, axis: (usize, usize) },
    /// Multiplies the table with another, whose axes come outermost; both are kept.
    Join { at: usize, len: usize },
    /// Sums an axis out; the table before is kept.
    Close { vertex: u32, axis: (usize, usize) },
}

/// How the tables of a part follow from one another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Shape {
    /// Several at a time, joined where draws go from one to another: the narrowest, for posteriors.
    Tree,
    /// One table from the first step to the last (for sets of causes).
    Chain,
    /// Likewise, and every step leaves the table before it in place (for sampling).
    ChainKept,
}

/// A connected part: its steps within [`Plan::steps`], and what it costs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Part {
    pub first: usize,
    pub last: usize,
    pub effort: Effort,
    /// Whether the vertex asked for lies in it, its axis left open.
    pub has_target: bool,
}

/// The plan of a sweep.
#[derive(Clone, Debug, Default)]
pub(crate) struct Plan {
    pub steps: Vec<Step>,
    pub parts: Vec<Part>,
    /// The dearest part in states, all parts together in steps.
    pub effort: Effort,
    /// Binary digits of a term, in the part that needs most.
    pub bits: f64,
    /// Part of each vertex.
    pub part_of: Vec<u32>,
    scratch: Scratch,
}

/// Buffers, reused from query to query.
#[derive(Clone, Debug, Default)]
struct Scratch {
    local: Vec<u32>,
    members: Vec<u32>,
    axes: Vec<Axis>,
}

/// Most vertices of a part.
const MOST: usize = 1024;

impl Plan {
    /// Whether a vertex stands for a source.
    #[inline]
    pub(crate) fn is_source<N: Number>(graph: &Graph<N>, vertex: u32) -> bool {
        matches!(graph.vertices[vertex as usize].kind, Kind::Source(_))
    }

    /// Plans the sweep over `graph`.
    pub(crate) fn make<N: Number>(&mut self, graph: &Graph<N>, shape: Shape) {
        self.steps.clear();
        self.parts.clear();
        self.effort = Effort::default();
        self.bits = 0.0;
        let n = graph.vertices.len();
        self.part_of.clear();
        self.part_of.resize(n, NONE);
        self.scratch.local.clear();
        self.scratch.local.resize(n, NONE);
        for v in 0..n {
            if graph.vertices[v].role != Role::Axis || self.part_of[v] != NONE {
                continue;
            }
            self.collect(graph, v as u32);
            let bits: f64 = self.scratch.members.iter().map(|&v| graph.bits[v as usize]).sum();
            self.bits = self.bits.max(bits);
            let first = self.steps.len();
            let effort = match self.scratch.members.len() {
                1 if graph.target == NONE && graph.vertices[v].turn == NONE && shape != Shape::ChainKept => {
                    self.alone(graph, v as u32)
                }
                _ => match self.scratch.members.len() {
                    0..=64 => Ordering::<N, 1>::new(graph, self, shape).run(),
                    65..=128 => Ordering::<N, 2>::new(graph, self, shape).run(),
                    129..=256 => Ordering::<N, 4>::new(graph, self, shape).run(),
                    257..=512 => Ordering::<N, 8>::new(graph, self, shape).run(),
                    513..=MOST => Ordering::<N, 16>::new(graph, self, shape).run(),
                    _ => Effort { width: usize::MAX, states: u64::MAX, steps: u64::MAX },
                },
            };
            self.effort.width = self.effort.width.max(effort.width);
            self.effort.states = self.effort.states.max(effort.states);
            self.effort.steps = self.effort.steps.saturating_add(effort.steps);
            let has_target =
                graph.target != NONE && self.part_of[graph.target as usize] == self.parts.len() as u32;
            self.parts.push(Part { first, last: self.steps.len(), effort, has_target });
        }
    }

    /// The steps of a vertex on its own.
    fn alone<N: Number>(&mut self, graph: &Graph<N>, vertex: u32) -> Effort {
        let n = graph.vertices[vertex as usize].states as usize;
        let kept = graph.vertices[vertex as usize].holds_causes();
        let at = usize::from(kept);
        self.steps.push(Step { act: Act::Open { vertex, kept }, at: 0, len: 1, to: at });
        self.steps.push(Step { act: Act::Close { vertex, axis: (1, n) }, at, len: n, to: at + n });
        Effort { width: 1, states: (at + n + 1) as u64, steps: 2 * n as u64 }
    }

    /// The vertices connected with `v`.
    fn collect<N: Number>(&mut self, graph: &Graph<N>, v: u32) {
        let part = self.parts.len() as u32;
        let members = &mut self.scratch.members;
        members.clear();
        members.push(v);
        self.part_of[v as usize] = part;
        let mut at = 0;
        while at < members.len() {
            let here = members[at];
            self.scratch.local[here as usize] = at as u32;
            let vertex = &graph.vertices[here as usize];
            let mut reach = |other: u32| {
                if graph.vertices[other as usize].role == Role::Axis && self.part_of[other as usize] == NONE {
                    self.part_of[other as usize] = part;
                    members.push(other);
                }
            };
            let mut edge = vertex.first_out;
            while edge != NONE {
                reach(graph.edges[edge as usize].to);
                edge = graph.edges[edge as usize].next_out;
            }
            let mut edge = vertex.first_in;
            while edge != NONE {
                reach(graph.edges[edge as usize].from);
                edge = graph.edges[edge as usize].next_in;
            }
            at += 1;
        }
    }
}
