//! One order of a part, found greedily.
//!
//! In: the vertices of a part, and a [`Manner`] of choosing. Out: steps and their effort. Next comes the vertex after
//! which the table is smallest, then the one during which it is smallest, then the first (the usual min-size heuristic,
//! on the graph of draws); other manners weigh the two otherwise, or with noise. Cost: square in the vertices of the part,
//! with bit masks.

use super::super::Effort;
use super::super::graph::{Graph, NONE, Role};
use super::super::number::Number;
use super::mask::Mask;
use super::search::Manner;
use super::{Act, Plan, Scratch, Step};

#[derive(Clone, Copy, Debug)]
pub(super) struct Axis {
    vertex: u32,
    states: usize,
    stride: usize,
}

/// What taking a vertex does to the size of the table: after it, and during it.
pub(super) type Key = (i32, i32);

/// The key of a vertex that cannot be taken yet.
const WAITS: Key = (i32::MAX, i32::MAX);

/// The state of ordering one part.
pub(super) struct Ordering<'a, N, const W: usize> {
    graph: &'a Graph<N>,
    pub(super) members: &'a [u32],
    local: &'a [u32],
    pub(super) steps: &'a mut Vec<Step>,
    axes: &'a mut Vec<Axis>,
    keep_all: bool,
    /// Vertices with draws still to be made between them and this one; those of them that draw for this one.
    pub(super) near: Vec<Mask<W>>,
    pub(super) parents: Vec<Mask<W>>,
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
    manner: Manner,
}

impl<'a, N: Number, const W: usize> Ordering<'a, N, W> {
    pub(super) fn new(graph: &'a Graph<N>, plan: &'a mut Plan, keep_all: bool) -> Self {
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
            manner: Manner::default(),
        }
    }

    /// Goes back to before the first step.
    pub(super) fn restart(&mut self, near: &[Mask<W>], parents: &[Mask<W>], manner: Manner) {
        self.near.copy_from_slice(near);
        self.parents.copy_from_slice(parents);
        self.keys.fill(WAITS);
        self.left = Mask::NONE;
        (0..self.members.len()).for_each(|v| self.left.set(v));
        self.stale = self.left;
        self.open = Mask::NONE;
        self.axes.clear();
        (self.at, self.len, self.most_axes, self.work, self.beyond) = (0, 1, 0, 0, false);
        self.manner = manner;
    }

    /// One order; `None` once it is known to cost `bound` steps or more.
    pub(super) fn once(&mut self, bound: u64) -> Option<Effort> {
        let target = self.graph.target;
        let kept = if target == NONE { NONE } else { self.local[target as usize] };
        if kept != NONE && self.members.get(kept as usize) == Some(&target) {
            self.left.clear(kept as usize);
        }
        let kept = kept as usize;
        while let Some(v) = self.next(kept) {
            self.take(v, kept);
            if self.work >= bound {
                return None;
            }
            if self.beyond {
                return Some(Effort { width: self.most_axes, states: u64::MAX, steps: u64::MAX });
            }
        }
        if self.graph.target != NONE && self.members.get(kept) == Some(&target) && !self.open.has(kept) {
            self.open(kept);
        }
        let states = (self.at + self.len) as u64;
        Some(Effort { width: self.most_axes, states, steps: self.work })
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
        self.manner.key(v, after, during + passing)
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
        let kept = self.graph.vertices[vertex as usize].holds_causes();
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
