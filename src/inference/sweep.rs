//! The sweep: forward for the probability of the evidence, backward for every marginal.
//!
//! In: a [`Graph`] and its [`Plan`]. Out: P(e) of each connected part, and for every source the weight of each of its
//! states together with the evidence. The recurrence is
//!
//! F_s(σ′) = Σ_d Σ_{σ→σ′} F_{s−1}(σ)·π_s(d | σ)·Π_links c,
//!
//! one link at a time, over tables whose axes are open only while they are needed. Every operation adds or multiplies
//! numbers that are not negative: nothing cancels, and the relative error stays near the number of operations in a chain
//! times 2^-53 (1e-15 in practice). Cost: [`super::Effort::steps`] multiplications forward and about as many backward,
//! [`super::Effort::states`] numbers of memory.
//!
//! Checked against literal enumeration in `tests/it/laws_inference.rs`.

use super::graph::{Graph, NONE, Role};
use super::number::{Number, Wide};
use super::order::{Act, Part, Plan, Step};
use super::table;

/// Buffers of a sweep, reused from query to query.
#[derive(Clone, Debug)]
pub(crate) struct Sweep<N> {
    /// The tables kept on the way forward.
    pub arena: Vec<N>,
    /// The tables of the way back, each where its counterpart lies in the arena.
    backward: Vec<N>,
    /// Where the weights of each vertex's states lie in `weights`; `NONE` if there are none.
    pub weights_at: Vec<u32>,
    /// Per vertex and state: its weight together with the evidence of its part.
    pub weights: Vec<N>,
    /// The weights of each light, together with the evidence of its part.
    pub lights: Vec<[N; 2]>,
    /// Scratch for folds.
    vector: Vec<N>,
}

impl<N: Number> Sweep<N> {
    /// Empty buffers.
    pub(crate) const fn new() -> Self {
        Self {
            arena: Vec::new(),
            backward: Vec::new(),
            weights_at: Vec::new(),
            weights: Vec::new(),
            lights: Vec::new(),
            vector: Vec::new(),
        }
    }

    /// The forward half of one part; its last table (one number, or the states of the vertex asked for) is returned.
    pub(crate) fn forward(&mut self, graph: &Graph<N>, plan: &Plan, part: &Part) -> &[N] {
        let steps = &plan.steps[part.first..part.last];
        self.room(part.effort.states as usize);
        self.arena[0] = N::ONE;
        let mut last = (0, 1);
        for step in steps {
            last = self.step(graph, step);
        }
        &self.arena[last.0..last.0 + last.1]
    }

    pub(crate) fn room(&mut self, states: usize) {
        if self.arena.len() < states {
            self.arena.resize(states, N::ZERO);
        }
    }

    /// One step forward; where the table is then.
    #[inline]
    pub(crate) fn step(&mut self, graph: &Graph<N>, step: &Step) -> (usize, usize) {
        let &Step { act, at, len, to } = step;
        match act {
            Act::Open { vertex, .. } => {
                let v = &graph.vertices[vertex as usize];
                let states = v.states as usize;
                self.move_table(at, len, to);
                let start = &graph.pool[v.start as usize..v.start as usize + states];
                table::open(&mut self.arena[to..to + len * states], len, start);
                (to, len * states)
            }
            Act::Draw { edge, control, target } => {
                self.move_table(at, len, to);
                let matrices = &graph.pool[graph.edges[edge as usize].matrices as usize..];
                table::draw(&mut self.arena[to..to + len], matrices, control, target, false);
                (to, len)
            }
            Act::Turn { vertex, axis } => {
                self.move_table(at, len, to);
                let matrix = &graph.pool[graph.vertices[vertex as usize].turn as usize..];
                table::turn(&mut self.arena[to..to + len], matrix, axis, false);
                (to, len)
            }
            Act::Join { at: other, len: many } => {
                let (from, rest) = self.arena.split_at_mut(to);
                table::join(&from[at..at + len], &from[other..other + many], &mut rest[..len * many]);
                (to, len * many)
            }
            Act::Close { vertex, axis } => {
                let (from, rest) = self.arena[at..].split_at_mut(to - at);
                table::close(&from[..len], &mut rest[..len / axis.1], axis, end(graph, vertex, axis.1));
                (to, len / axis.1)
            }
        }
    }

    fn move_table(&mut self, at: usize, len: usize, to: usize) {
        if to != at {
            self.arena.copy_within(at..at + len, to);
        }
    }

    /// Both halves of one part: P(e) of the part, the weights of all its sources noted.
    pub(crate) fn both(&mut self, graph: &Graph<N>, plan: &Plan, part: &Part) -> N {
        let whole = self.forward(graph, plan, part)[0];
        if whole.is_zero() {
            return whole;
        }
        if self.backward.len() < self.arena.len() {
            self.backward.resize(self.arena.len(), N::ZERO);
        }
        let steps = &plan.steps[part.first..part.last];
        if let Some(last) = steps.last() {
            self.backward[last.to] = N::ONE;
        }
        for step in steps.iter().rev() {
            self.step_back(graph, step);
        }
        whole
    }

    fn step_back(&mut self, graph: &Graph<N>, step: &Step) {
        let &Step { act, at, len, to } = step;
        match act {
            Act::Open { vertex, kept } => {
                let v = &graph.vertices[vertex as usize];
                let states = v.states as usize;
                if kept {
                    self.vector.clear();
                    let vector = &mut self.vector;
                    let after = &self.backward[to..to + len * states];
                    table::worth(&self.arena[at..at + len], after, |_, worth| vector.push(worth));
                    self.unfold(graph, vertex);
                    self.weigh_lights(graph, vertex);
                }
                let start = &graph.pool[v.start as usize..v.start as usize + states];
                table::open_back(&mut self.backward[to..to + len * states], len, start);
                self.move_back(to, len, at);
            }
            Act::Draw { edge, control, target } => {
                let matrices = &graph.pool[graph.edges[edge as usize].matrices as usize..];
                table::draw(&mut self.backward[to..to + len], matrices, control, target, true);
                self.move_back(to, len, at);
            }
            Act::Turn { vertex, axis } => {
                let matrix = &graph.pool[graph.vertices[vertex as usize].turn as usize..];
                table::turn(&mut self.backward[to..to + len], matrix, axis, true);
                self.move_back(to, len, at);
            }
            Act::Join { at: other, len: many } => {
                let (before, after) = self.backward.split_at_mut(to);
                let after = &after[..len * many];
                let (inner, outer) = (&self.arena[at..at + len], &self.arena[other..other + many]);
                let back = &mut before[other..other + many];
                table::worth(inner, after, |x, worth| back[x] = worth);
                table::join_back(after, outer, &mut before[at..at + len]);
            }
            Act::Close { vertex, axis } => {
                let end = end(graph, vertex, axis.1);
                let (before, after) = self.backward.split_at_mut(to);
                let after = &after[..len / axis.1];
                if Plan::is_source(graph, vertex) {
                    self.weights_at[vertex as usize] = self.weights.len() as u32;
                    let weights = &mut self.weights;
                    table::worth_before(&self.arena[at..at + len], after, axis, |x, worth| {
                        weights.push(end.map_or(worth, |end| worth.times(end[x])));
                    });
                }
                table::close_back(after, &mut before[at..at + len], axis, end);
            }
        }
    }

    fn move_back(&mut self, to: usize, len: usize, at: usize) {
        if to != at {
            self.backward.copy_within(to..to + len, at);
        }
    }

    /// The weights of the causes folded into the start vector of `vertex`, whose states are worth `self.vector`.
    ///
    /// The start vector is A_k ⋯ A_1·v₀ with A_i = Σ_x π_i(x)·M_i,x. Going back, b_{i−1} = A_iᵀ·b_i, and state x of cause
    /// i weighs π_i(x)·b_iᵀ·M_i,x·v_{i−1}.
    fn unfold(&mut self, graph: &Graph<N>, vertex: u32) {
        let v = &graph.vertices[vertex as usize];
        let n = v.states as usize;
        let first = self.weights.len();
        // The list of folds runs in the order of application; go through it backwards.
        let mut edges = [0_u32; 32];
        let mut long = Vec::new();
        let folds = v.folds as usize;
        let edges: &mut [u32] = if folds <= edges.len() {
            &mut edges[..folds]
        } else {
            long.resize(folds, 0);
            &mut long
        };
        let mut edge = v.first_fold;
        for slot in edges.iter_mut() {
            *slot = edge;
            edge = graph.edges[edge as usize].next_out;
        }
        let mut at = first;
        for (number, &edge) in edges.iter().enumerate().rev() {
            let link = &graph.edges[edge as usize];
            let source = &graph.vertices[link.from as usize];
            let m = source.states as usize;
            let before = &graph.pool[v.prefixes as usize + number * n..][..n];
            let start = &graph.pool[source.start as usize..source.start as usize + m];
            self.weights_at[link.from as usize] = at as u32;
            at += m;
            if n == 2 && m == 2 {
                let &[b0, b1] = &[self.vector[0], self.vector[1]];
                let &[v0, v1] = &[before[0], before[1]];
                let &[w0, w1] = &[start[0], start[1]];
                if let &[m00, _, m10, m11] = &graph.pool[link.matrices as usize..link.matrices as usize + 4] {
                    let moved = m10.times(v0).plus(m11.times(v1));
                    self.weights.push(w0.times(b0.times(v0).plus(b1.times(v1))));
                    self.weights.push(w1.times(b0.times(m00.times(v0)).plus(b1.times(moved))));
                    self.vector[0] = w0.times(b0).plus(w1.times(m00.times(b0).plus(m10.times(b1))));
                    self.vector[1] = w0.times(b1).plus(w1.times(m11.times(b1)));
                }
                continue;
            }
            let worth = &self.vector[..n];
            self.weights.push(start[0].times(table::dot(worth, before)));
            for (x, &weight) in start.iter().enumerate().skip(1) {
                let matrix = &graph.pool[link.matrices as usize + (x - 1) * n * n..][..n * n];
                let moved = (0..n)
                    .fold(N::ZERO, |s, y| s.plus(worth[y].times(table::dot(&matrix[y * n..][..n], before))));
                self.weights.push(weight.times(moved));
            }
            if number > 0 {
                // bᵀ·A in place: the matrices are lower triangular, so that entry x needs only entries from x on.
                for x in 0..n {
                    let mut sum = start[0].times(self.vector[x]);
                    for (state, &weight) in start.iter().enumerate().skip(1) {
                        let matrix = &graph.pool[link.matrices as usize + (state - 1) * n * n..][..n * n];
                        let moved =
                            (x..n).fold(N::ZERO, |s, y| s.plus(matrix[y * n + x].times(self.vector[y])));
                        sum = sum.plus(weight.times(moved));
                    }
                    self.vector[x] = sum;
                }
            }
        }
    }

    /// The weights of the lights of `vertex`, whose states before all folds are worth `self.vector`. Their list
    /// begins with the last applied.
    fn weigh_lights(&mut self, graph: &Graph<N>, vertex: u32) {
        let first = graph.vertices[vertex as usize].lights;
        if first == NONE {
            return;
        }
        let mut worth = [self.vector[0], self.vector[1]];
        let mut light = first;
        while light != NONE {
            let here = &graph.lights[light as usize];
            if here.slot != NONE {
                (self.lights[light as usize], worth) = here.weigh(worth);
            }
            light = here.next;
        }
    }

    /// All parts, both ways: P(e) as a wide number.
    pub(crate) fn all(&mut self, graph: &Graph<N>, plan: &Plan) -> Wide {
        self.weights.clear();
        self.weights_at.clear();
        self.weights_at.resize(graph.vertices.len(), NONE);
        let mut whole = graph.constant;
        self.lights.clear();
        self.lights.extend(graph.lights.iter().map(|light| [light.gone, light.there]));
        for (v, vertex) in graph.vertices.iter().enumerate() {
            if vertex.role == Role::Free && vertex.holds_causes() {
                let end = vertex.end as usize;
                self.vector.clear();
                self.vector.extend_from_slice(&graph.pool[end..end + vertex.states as usize]);
                self.unfold(graph, v as u32);
                self.weigh_lights(graph, v as u32);
            }
        }
        for part in &plan.parts {
            whole.by_number(self.both(graph, plan, part));
        }
        whole.value()
    }

    /// The weights of a cause's two lives where there is but one epoch.
    #[inline]
    pub(crate) fn both_lives(&self, graph: &Graph<N>, vertex: u32) -> (N, N) {
        let v = &graph.vertices[vertex as usize];
        let pair = if v.role == Role::Free {
            &graph.pool[v.weights as usize..][..2]
        } else {
            &self.weights[self.weights_at[vertex as usize] as usize..][..2]
        };
        (pair[0], pair[1])
    }

    /// The weight of each life of a source, together with the evidence of its part, and their sum.
    pub(crate) fn lives(&self, graph: &Graph<N>, vertex: u32, shared: bool, mut each: impl FnMut(usize, N)) {
        let v = &graph.vertices[vertex as usize];
        let own = &graph.pool[v.weights as usize..v.weights as usize + graph.lives];
        if v.role == Role::Free {
            for (life, &weight) in own.iter().enumerate() {
                each(life, weight);
            }
            return;
        }
        let at = self.weights_at[vertex as usize] as usize;
        let states = &self.weights[at..at + v.states as usize];
        for life in 0..graph.lives {
            if !shared {
                each(life, states[life]);
                continue;
            }
            // Lives of one state share its weight in proportion to their own.
            let state = graph.state_of_life[life] as usize;
            let all = graph.pool[v.start as usize + state];
            each(life, if all.is_zero() { N::ZERO } else { own[life].times(states[state]).divided(all) });
        }
    }
}

/// The weights of the states of a vertex at its end.
fn end<N: Number>(graph: &Graph<N>, vertex: u32, states: usize) -> Option<&[N]> {
    let at = graph.vertices[vertex as usize].end;
    (at != NONE).then(|| &graph.pool[at as usize..at as usize + states])
}
