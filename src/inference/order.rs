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
//! The order is greedy: next comes the vertex after which the table is smallest, then the one during which it is
//! smallest, then the first. (Finding the best order is NP-hard; this is the usual min-size heuristic on the graph of
//! draws.) Cost: square in the vertices of a part, with bit masks.

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
    /// Sums an axis out; the table before is kept.
    Close { vertex: u32, axis: (usize, usize) },
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

#[derive(Clone, Copy, Debug)]
struct Axis {
    vertex: u32,
    states: usize,
    stride: usize,
}

/// What taking a vertex does to the size of the table: after it, and during it.
type Key = (i32, i32);

/// The key of a vertex that cannot be taken yet.
const WAITS: Key = (i32::MAX, i32::MAX);

/// Most vertices of a part.
const MOST: usize = 1024;

/// A set of vertices of a part.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Mask<const W: usize>([u64; W]);

impl<const W: usize> Mask<W> {
    const NONE: Self = Self([0; W]);

    #[inline(always)]
    fn set(&mut self, at: usize) {
        self.0[at / 64] |= 1 << (at % 64);
    }
    #[inline(always)]
    fn clear(&mut self, at: usize) {
        self.0[at / 64] &= !(1 << (at % 64));
    }
    #[inline(always)]
    fn has(&self, at: usize) -> bool {
        self.0[at / 64] >> (at % 64) & 1 == 1
    }
    #[inline(always)]
    fn is_empty(&self) -> bool {
        self.0.iter().all(|&w| w == 0)
    }
    #[inline(always)]
    fn add(&mut self, other: &Self) {
        for (word, &more) in self.0.iter_mut().zip(&other.0) {
            *word |= more;
        }
    }
    #[inline(always)]
    fn count(&self) -> u32 {
        self.0.iter().map(|w| w.count_ones()).sum()
    }
    /// Takes the first member out.
    #[inline(always)]
    fn pop(&mut self) -> Option<usize> {
        let w = self.0.iter().position(|&w| w != 0)?;
        let bit = self.0[w].trailing_zeros() as usize;
        self.0[w] &= self.0[w] - 1;
        Some(w * 64 + bit)
    }
    #[inline(always)]
    fn each(&self, mut act: impl FnMut(usize)) {
        for (w, &word) in self.0.iter().enumerate() {
            let mut word = word;
            while word != 0 {
                act(w * 64 + word.trailing_zeros() as usize);
                word &= word - 1;
            }
        }
    }
}

impl Plan {
    /// Whether a vertex stands for a source.
    #[inline]
    pub(crate) fn is_source<N: Number>(graph: &Graph<N>, vertex: u32) -> bool {
        matches!(graph.vertices[vertex as usize].kind, Kind::Source(_))
    }

    /// Plans the sweep over `graph`. `keep_all`: every step leaves the table before it in place (for sampling).
    pub(crate) fn make<N: Number>(&mut self, graph: &Graph<N>, keep_all: bool) {
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
                1 if graph.target == NONE && graph.vertices[v].turn == NONE && !keep_all => {
                    self.alone(graph, v as u32)
                }
                _ => match self.scratch.members.len() {
                    0..=64 => Ordering::<N, 1>::new(graph, self, keep_all).run(),
                    65..=128 => Ordering::<N, 2>::new(graph, self, keep_all).run(),
                    129..=256 => Ordering::<N, 4>::new(graph, self, keep_all).run(),
                    257..=512 => Ordering::<N, 8>::new(graph, self, keep_all).run(),
                    513..=MOST => Ordering::<N, 16>::new(graph, self, keep_all).run(),
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
        let kept = graph.vertices[vertex as usize].folds > 0;
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

/// The state of ordering one part.
struct Ordering<'a, N, const W: usize> {
    graph: &'a Graph<N>,
    members: &'a [u32],
    local: &'a [u32],
    steps: &'a mut Vec<Step>,
    axes: &'a mut Vec<Axis>,
    keep_all: bool,
    /// Vertices with draws still to be made between them and this one; those of them that draw for this one.
    near: Vec<Mask<W>>,
    parents: Vec<Mask<W>>,
    /// log2 of the states, in 1/16.
    size: Vec<i32>,
    keys: Vec<Key>,
    /// Vertices whose key is out of date.
    stale: Mask<W>,
    open: Mask<W>,
    left: Mask<W>,
    at: usize,
    len: usize,
    most_axes: usize,
    work: u64,
    /// The table would not fit an address.
    beyond: bool,
}

impl<'a, N: Number, const W: usize> Ordering<'a, N, W> {
    fn new(graph: &'a Graph<N>, plan: &'a mut Plan, keep_all: bool) -> Self {
        let Scratch { local, members, axes, .. } = &mut plan.scratch;
        axes.clear();
        let n = members.len();
        let (mut near, mut parents) = (vec![Mask::NONE; n], vec![Mask::NONE; n]);
        let mut size = Vec::with_capacity(n);
        let mut left = Mask::NONE;
        for (i, &v) in members.iter().enumerate() {
            let vertex = &graph.vertices[v as usize];
            size.push(match vertex.states {
                2 => 16,
                states => (f64::from(states).log2() * 16.0).round() as i32,
            });
            left.set(i);
            let mut edge = vertex.first_in;
            while edge != NONE {
                let from = graph.edges[edge as usize].from;
                if graph.vertices[from as usize].role == Role::Axis {
                    let j = local[from as usize] as usize;
                    near[i].set(j);
                    near[j].set(i);
                    parents[i].set(j);
                }
                edge = graph.edges[edge as usize].next_in;
            }
        }
        Self {
            graph,
            members,
            local,
            steps: &mut plan.steps,
            axes,
            keep_all,
            near,
            parents,
            size,
            keys: vec![WAITS; n],
            stale: left,
            open: Mask::NONE,
            left,
            at: 0,
            len: 1,
            most_axes: 0,
            work: 0,
            beyond: false,
        }
    }

    fn run(mut self) -> Effort {
        let target = self.graph.target;
        let kept = if target == NONE { NONE } else { self.local[target as usize] };
        if kept != NONE && self.members.get(kept as usize) == Some(&target) {
            self.left.clear(kept as usize);
        }
        let kept = kept as usize;
        while let Some(v) = self.next(kept) {
            self.take(v, kept);
            if self.beyond {
                return Effort { width: self.most_axes, states: u64::MAX, steps: u64::MAX };
            }
        }
        if self.graph.target != NONE && self.members.get(kept) == Some(&target) && !self.open.has(kept) {
            self.open(kept);
        }
        let states = (self.at + self.len) as u64;
        Effort { width: self.most_axes, states, steps: self.work }
    }

    /// The vertex to take next: the least key, the first of equals.
    fn next(&mut self, kept: usize) -> Option<usize> {
        while let Some(v) = self.stale.pop() {
            self.keys[v] = self.key(v, kept);
        }
        let mut best: Option<(Key, usize)> = None;
        self.left.each(|v| {
            let key = self.keys[v];
            if key != WAITS && best.is_none_or(|(least, _)| key < least) {
                best = Some((key, v));
            }
        });
        best.map(|(_, v)| v)
    }

    /// How much larger the table is after taking `v`, and while it is taken, in log2 / 16, both relative to the table now.
    fn key(&self, v: usize, kept: usize) -> Key {
        let mut waits = false;
        self.parents[v].each(|p| waits |= !self.parents[p].is_empty());
        if waits {
            return WAITS;
        }
        let (mut after, mut during, mut passing) = (0, 0, 0);
        if self.open.has(v) {
            after -= self.size[v];
        } else {
            during += self.size[v];
        }
        self.near[v].each(|u| {
            let size = self.size[u];
            let mut others = self.near[u];
            others.clear(v);
            let closes = others.is_empty() && u != kept;
            match (self.open.has(u), closes) {
                (true, true) => after -= size,
                (true, false) => {}
                (false, true) => passing = passing.max(size),
                (false, false) => {
                    after += size;
                    during += size;
                }
            }
        });
        (after, during + passing)
    }

    /// Notes that the key of `v` and those of its neighbours have to be worked out anew.
    fn mark(&mut self, v: usize) {
        self.stale.add(&self.near[v]);
        self.stale.set(v);
    }

    /// Makes all draws left between `v` and its neighbours, and sums out what is done.
    fn take(&mut self, v: usize, kept: usize) {
        if !self.open.has(v) {
            self.open(v);
        }
        // What is open comes before what is not: the table grows last.
        for only_open in [true, false] {
            let mut parents = self.parents[v];
            while let Some(p) = parents.pop() {
                if self.open.has(p) || !only_open {
                    self.draw(p, v, kept);
                }
            }
        }
        for stage in 0..3 {
            let mut targets = self.near[v];
            while let Some(t) = targets.pop() {
                let last = stage == 0 && {
                    let mut others = self.near[t];
                    others.clear(v);
                    others.is_empty()
                };
                if stage == 2 || self.open.has(t) && (stage == 1 || last) {
                    self.draw(v, t, kept);
                }
            }
        }
        self.close(v);
        self.left.clear(v);
    }

    /// Makes the draws of `from` for `to`, and sums out whichever of the two is then done.
    fn draw(&mut self, from: usize, to: usize, kept: usize) {
        for v in [from, to] {
            if !self.open.has(v) {
                self.open(v);
            }
        }
        let (f, t) = (self.members[from], self.members[to]);
        let mut edge = self.graph.vertices[t as usize].first_in;
        while edge != NONE {
            let link = &self.graph.edges[edge as usize];
            if link.from == f {
                let (control, target) = (self.axis(f), self.axis(t));
                let work = self.len as u64 / control.1 as u64 * (control.1 as u64 - 1) * target.1 as u64;
                self.step(Act::Draw { edge, control, target }, self.len, self.keep_all, work);
            }
            edge = link.next_in;
        }
        self.near[from].clear(to);
        self.near[to].clear(from);
        self.parents[to].clear(from);
        for v in [from, to] {
            // Its neighbours care only whether it can be summed out with them, and whether it still waits.
            if self.near[v].count() <= 1 || v == to && self.parents[v].is_empty() {
                self.mark(v);
            } else {
                self.stale.set(v);
            }
        }
        if self.parents[to].is_empty() && self.graph.vertices[t as usize].turn != NONE {
            self.turn(to);
        }
        for v in [from, to] {
            if self.near[v].is_empty() && v != kept {
                self.close(v);
                self.left.clear(v);
            }
        }
    }

    fn open(&mut self, v: usize) {
        let vertex = self.members[v];
        let states = self.graph.vertices[vertex as usize].states as usize;
        let kept = self.graph.vertices[vertex as usize].folds > 0;
        let stride = self.len;
        let grown = self.len.saturating_mul(states);
        self.step(Act::Open { vertex, kept }, grown, kept || self.keep_all, grown as u64);
        self.axes.push(Axis { vertex, states, stride });
        self.most_axes = self.most_axes.max(self.axes.len());
        self.open.set(v);
        self.mark(v);
        if self.parents[v].is_empty() && self.graph.vertices[vertex as usize].turn != NONE {
            self.turn(v);
        }
    }

    fn turn(&mut self, v: usize) {
        let vertex = self.members[v];
        let axis = self.axis(vertex);
        self.step(Act::Turn { vertex, axis }, self.len, self.keep_all, (self.len * axis.1) as u64);
    }

    fn close(&mut self, v: usize) {
        if !self.open.has(v) {
            return;
        }
        let vertex = self.members[v];
        let axis = self.axis(vertex);
        self.step(Act::Close { vertex, axis }, self.len / axis.1, true, self.len as u64);
        let Some(place) = self.axes.iter().position(|a| a.vertex == vertex) else { return };
        self.axes.remove(place);
        for later in &mut self.axes[place..] {
            later.stride /= axis.1;
        }
        self.open.clear(v);
    }

    fn axis(&self, vertex: u32) -> (usize, usize) {
        self.axes.iter().find(|a| a.vertex == vertex).map_or((1, 1), |a| (a.stride, a.states))
    }

    /// Notes a step after which the table has `len` entries; `moves`: it is then behind the one before.
    fn step(&mut self, act: Act, len: usize, moves: bool, work: u64) {
        let to = if moves { self.at.saturating_add(self.len) } else { self.at };
        self.steps.push(Step { act, at: self.at, len: self.len, to });
        self.work = self.work.saturating_add(work);
        (self.at, self.len) = (to, len);
        self.beyond |= len > 1 << 40 || to > 1 << 44;
    }
}
