//! Causes with a single edge: applied to the start vector of the vertex at its other end, so that they cost no width.

use super::super::number::Number;
use super::{Edge, Graph, NONE, Vertex};

impl<N: Number> Graph<N> {
    /// Applies the only edge of each folded cause to the start vector at its other end.
    pub(super) fn fold(&mut self) {
        for at in 0..self.scratch.folded.len() {
            let v = self.scratch.folded[at] as usize;
            let edge = self.vertices[v].first_out;
            let to = self.edges[edge as usize].to as usize;
            // `next_out` is free: the cause has no other edge. It carries the list of folds.
            self.edges[edge as usize].next_out = std::mem::replace(&mut self.vertices[to].first_fold, edge);
            self.vertices[to].folds += 1;
            self.vertices[to].ins -= 1;
        }
        for at in 0..self.scratch.folded.len() {
            let edge = self.vertices[self.scratch.folded[at] as usize].first_out;
            let t = self.edges[edge as usize].to as usize;
            let Vertex { folds, states, start, first_fold, prefixes, .. } = self.vertices[t];
            if prefixes != NONE {
                continue;
            }
            debug_assert!(folds > 0);
            let n = states as usize;
            let prefixes = self.pool.len();
            self.vertices[t].prefixes = prefixes as u32;
            self.pool.extend_from_within(start as usize..start as usize + n);
            let mut edge = first_fold;
            let mut before = prefixes;
            while edge != NONE {
                let Edge { from, matrices, next_out, .. } = self.edges[edge as usize];
                let Vertex { states: m, start: weights, .. } = self.vertices[from as usize];
                let after = self.pool.len();
                if n == 2 && m == 2 {
                    let &[v0, v1] = &[self.pool[before], self.pool[before + 1]];
                    let &[w0, w1] = &[self.pool[weights as usize], self.pool[weights as usize + 1]];
                    if let &[m00, _, m10, m11] = &self.pool[matrices as usize..matrices as usize + 4] {
                        let moved = (m00.times(v0), m10.times(v0).plus(m11.times(v1)));
                        self.pool.push(w0.times(v0).plus(w1.times(moved.0)));
                        self.pool.push(w0.times(v1).plus(w1.times(moved.1)));
                    }
                    before = after;
                    edge = next_out;
                    continue;
                }
                self.pool.resize(after + n, N::ZERO);
                let (old, new) = self.pool.split_at_mut(after);
                let (vector, weights) = (&old[before..before + n], &old[weights as usize..]);
                for (y, out) in new.iter_mut().enumerate() {
                    let mut sum = weights[0].times(vector[y]);
                    for x in 1..m as usize {
                        let row = &old[matrices as usize + ((x - 1) * n + y) * n..][..n];
                        let moved = row.iter().zip(vector).fold(N::ZERO, |s, (&a, &b)| s.plus(a.times(b)));
                        sum = sum.plus(weights[x].times(moved));
                    }
                    *out = sum;
                }
                before = after;
                edge = next_out;
            }
            self.vertices[t].start = before as u32;
        }
    }
}
