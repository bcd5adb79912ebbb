//! One order of a part, found greedily.
//!
//! In: the vertices of a part, and a [`Manner`] of choosing. Out: steps and their effort. Next comes the vertex after
//! which its table is smallest, then the one during which it is smallest, then the first (the usual min-size heuristic,
//! on the graph of draws); other manners weigh the two otherwise, or with noise. In a tree, each vertex that is opened away
//! from all tables begins one of its own; two are joined when a draw goes from one to the other. Cost: square in the
//! vertices of the part, with bit masks.

use super::super::Effort;
use super::super::graph::{Graph, NONE, Role};
use super::super::number::Number;
use super::mask::Mask;
use super::search::Manner;
use super::{Act, Plan, Scratch, Shape, Step};

#[derive(Clone, Copy, Debug)]
pub(super) struct Axis {
    vertex: u32,
    states: usize,
    stride: usize,
    table: u32,
}

/// A table: where it lies, the logarithm of its size as of [`Key`]s, and its axes.
#[derive(Clone, Copy, Debug)]
struct Table<const W: usize> {
    at: usize,
    len: usize,
    size: i32,
    axes: Mask<W>,
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
    pub(super) shape: Shape,
    /// Whether this order makes several tables.
    tree: bool,
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
    tables: Vec<Table<W>>,
    /// Of each open vertex, the number of its table.
    table_of: Vec<u32>,
    /// Tables whose size changed since keys were worked out.
    changed: Mask<W>,
    /// Where the last table ends.
    top: usize,
    most_axes: usize,
    work: u64,
    /// The table would not fit an address.
    beyond: bool,
    manner: Manner,
}

impl<'a, N: Number, const W: usize> Ordering<'a, N, W> {
    pub(super) fn new(graph: &'a Graph<N>, plan: &'a mut Plan, shape: Shape) -> Self {
        let Scratch { local, members, axes } = &mut plan.scratch;
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
            shape,
            tree: false,
            near,
            parents,
            size,
            keys: vec![WAITS; n],
            stale: left,
            open: Mask::NONE,
            left,
            tables: Vec::new(),
            table_of: vec![0; n],
            changed: Mask::NONE,
            top: 1,
            most_axes: 0,
            work: 0,
            beyond: false,
            manner: Manner::default(),
        }
        .begun()
    }

    /// With the table of one entry that a chain begins with.
    fn begun(mut self) -> Self {
        self.begin();
        self
    }

    fn begin(&mut self) {
        self.tables.clear();
        if !self.tree {
            self.tables.push(Table { at: 0, len: 1, size: 0, axes: Mask::NONE });
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
        self.changed = Mask::NONE;
        self.tree = manner.tree() && self.shape == Shape::Tree;
        self.begin();
        (self.top, self.most_axes, self.work, self.beyond) = (1, 0, 0, false);
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
            self.open(kept, None);
        }
        Some(Effort { width: self.most_axes, states: self.top as u64, steps: self.work })
    }

    /// The vertex to take next: the least key, the first of equals.
    fn next(&mut self, kept: usize) -> Option<usize> {
        if self.tree {
            while let Some(table) = self.changed.pop() {
                let axes = self.tables[table].axes;
                axes.each(|v| self.stale.add(&self.near[v]));
                self.stale.add(&axes);
            }
            self.stale.meet(&self.left);
        }
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

    /// How large the table of `v` is after taking it, and while it is taken, in log2 / 16; in a chain relative to the table
    /// now.
    fn key(&self, v: usize, kept: usize) -> Key {
        let mut waits = false;
        self.parents[v].each(|p| waits |= !self.parents[p].is_empty());
        if waits {
            return WAITS;
        }
        let mut joined = 0;
        if self.tree {
            let mut tables = Mask::<W>::NONE;
            let mut touched = self.near[v];
            touched.set(v);
            touched.meet(&self.open);
            touched.each(|u| tables.set(self.table_of[u] as usize));
            tables.each(|table| joined += self.tables[table].size);
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
        self.manner.key(v, after, during + passing, joined)
    }

    /// Notes that the key of `v` and those of its neighbours have to be worked out anew.
    fn mark(&mut self, v: usize) {
        self.stale.add(&self.near[v]);
        self.stale.set(v);
    }

    /// Makes all draws left between `v` and its neighbours, and sums out what is done.
    fn take(&mut self, v: usize, kept: usize) {
        if !self.open.has(v) {
            let mut beside = self.near[v];
            beside.meet(&self.open);
            let mut widest: Option<(usize, u32)> = None;
            beside.each(|u| {
                let table = self.table_of[u];
                let len = self.tables[table as usize].len;
                if widest.is_none_or(|(most, _)| len > most) {
                    widest = Some((len, table));
                }
            });
            self.open(v, widest.map(|(_, table)| table));
        }
        while let Some(p) = self.partner(v, self.parents[v]) {
            self.draw(p, v, kept);
        }
        while let Some(t) = self.partner(v, self.near[v]) {
            self.draw(v, t, kept);
        }
        self.close(v);
        self.left.clear(v);
    }

    /// The next of `among` to draw with `v`: those in its table come before those in others, and these before what is not
    /// open, so that the table grows last; what can be summed out thereafter comes first.
    fn partner(&self, v: usize, among: Mask<W>) -> Option<usize> {
        if !self.open.has(v) || among.is_empty() {
            return None;
        }
        let own = self.table_of[v];
        let mut here = among;
        here.meet(&self.open);
        let mut least: Option<((usize, bool), usize)> = None;
        let from = if here.is_empty() { among } else { here };
        from.each(|u| {
            let away = match self.table_of[u] {
                _ if here.is_empty() => 0,
                table if table == own => 0,
                table => self.tables[table as usize].len,
            };
            let mut others = self.near[u];
            others.clear(v);
            let key = (away, !others.is_empty());
            if least.is_none_or(|(before, _)| key < before) {
                least = Some((key, u));
            }
        });
        least.map(|(_, u)| u)
    }

    /// Makes the draws of `from` for `to`, and sums out whichever of the two is then done.
    fn draw(&mut self, from: usize, to: usize, kept: usize) {
        match (self.open.has(from), self.open.has(to)) {
            (true, true) => self.join(from, to),
            (true, false) => self.open(to, Some(self.table_of[from])),
            (false, true) => self.open(from, Some(self.table_of[to])),
            (false, false) => {
                self.open(from, None);
                self.open(to, Some(self.table_of[from]));
            }
        }
        let table = self.table_of[from] as usize;
        let (f, t) = (self.members[from], self.members[to]);
        let mut edge = self.graph.vertices[t as usize].first_in;
        while edge != NONE {
            let link = &self.graph.edges[edge as usize];
            if link.from == f {
                let (control, target) = (self.axis(f), self.axis(t));
                let len = self.tables[table].len;
                let work = len as u64 / control.1 as u64 * (control.1 as u64 - 1) * target.1 as u64;
                self.step(table, Act::Draw { edge, control, target }, len, work);
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

    /// Opens the axis of `v`: in that table, or in one of its own.
    fn open(&mut self, v: usize, table: Option<u32>) {
        let vertex = self.members[v];
        let states = self.graph.vertices[vertex as usize].states as usize;
        let kept = self.graph.vertices[vertex as usize].holds_causes();
        let number = match table {
            Some(table) => table as usize,
            None if !self.tree => 0,
            None => {
                // Out of the one entry that every part begins with.
                self.tables.push(Table { at: 0, len: 1, size: 0, axes: Mask::NONE });
                self.tables.len() - 1
            }
        };
        let stride = self.tables[number].len;
        let grown = stride.saturating_mul(states);
        self.step(number, Act::Open { vertex, kept }, grown, grown as u64);
        self.axes.push(Axis { vertex, states, stride, table: number as u32 });
        let own = &mut self.tables[number];
        own.size += self.size[v];
        own.axes.set(v);
        self.most_axes = self.most_axes.max(own.axes.count() as usize);
        self.table_of[v] = number as u32;
        self.changed.set(number);
        self.open.set(v);
        self.mark(v);
        if self.parents[v].is_empty() && self.graph.vertices[vertex as usize].turn != NONE {
            self.turn(v);
        }
    }

    /// Makes one table of those of two open vertices.
    fn join(&mut self, a: usize, b: usize) {
        let (inner, outer) = (self.table_of[a], self.table_of[b]);
        if inner == outer {
            return;
        }
        let Table { at, len, size, axes } = self.tables[outer as usize];
        let stride = self.tables[inner as usize].len;
        let grown = stride.saturating_mul(len);
        self.step(inner as usize, Act::Join { at, len }, grown, grown as u64);
        for axis in self.axes.iter_mut().filter(|axis| axis.table == outer) {
            (axis.table, axis.stride) = (inner, axis.stride * stride);
        }
        let own = &mut self.tables[inner as usize];
        own.size += size;
        own.axes.add(&axes);
        self.most_axes = self.most_axes.max(own.axes.count() as usize);
        axes.each(|v| self.table_of[v] = inner);
        self.tables[outer as usize].axes = Mask::NONE;
        self.changed.set(inner as usize);
    }

    fn turn(&mut self, v: usize) {
        let vertex = self.members[v];
        let axis = self.axis(vertex);
        let table = self.table_of[v] as usize;
        let len = self.tables[table].len;
        self.step(table, Act::Turn { vertex, axis }, len, (len * axis.1) as u64);
    }

    fn close(&mut self, v: usize) {
        if !self.open.has(v) {
            return;
        }
        let vertex = self.members[v];
        let axis = self.axis(vertex);
        let table = self.table_of[v] as usize;
        let len = self.tables[table].len;
        self.step(table, Act::Close { vertex, axis }, len / axis.1, len as u64);
        self.axes.retain(|a| a.vertex != vertex);
        for other in self.axes.iter_mut().filter(|a| a.table == table as u32 && a.stride > axis.0) {
            other.stride /= axis.1;
        }
        self.tables[table].size -= self.size[v];
        self.tables[table].axes.clear(v);
        self.changed.set(table);
        self.open.clear(v);
    }

    fn axis(&self, vertex: u32) -> (usize, usize) {
        self.axes.iter().find(|a| a.vertex == vertex).map_or((1, 1), |a| (a.stride, a.states))
    }

    /// Notes a step after which the table has `len` entries: in place, or behind all others where the table before it is
    /// wanted again or does not leave room.
    fn step(&mut self, table: usize, act: Act, len: usize, work: u64) {
        let before = self.tables[table];
        let moves = match act {
            Act::Open { kept, .. } => {
                kept || before.at + before.len != self.top || self.tree && before.at == 0
            }
            Act::Draw { .. } | Act::Turn { .. } => false,
            Act::Close { .. } | Act::Join { .. } => true,
        };
        let to = if moves || self.shape == Shape::ChainKept { self.top } else { before.at };
        self.steps.push(Step { act, at: before.at, len: before.len, to });
        self.work = self.work.saturating_add(work);
        self.top = self.top.max(to.saturating_add(len));
        (self.tables[table].at, self.tables[table].len) = (to, len);
        self.beyond |= len > 1 << 40 || to > 1 << 44;
    }
}
