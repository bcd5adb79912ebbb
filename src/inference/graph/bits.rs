//! How far from 1 the terms of a part can lie: the bound by which doubles are known to do.

use super::super::number::Number;
use super::{Graph, Kind, NONE, Role, Scratch};

impl<N: Number> Graph<N> {
    /// Per vertex, its share in a bound on the binary digits of any term of its part that counts: every positive entry of
    /// every table of the sweep, forward or backward, has a way to come about whose factors take at most so many.
    ///
    /// Such a way needs, for each target, at most as many sources in an effective state as the target has steps up
    /// (states − 1); all other causes can rest in state 0 without changing where it leads. Vertices other than plain
    /// causes are counted with their least positive entries.
    pub(super) fn count_bits(&mut self) {
        let Self { vertices, edges, pool, bits, scratch: Scratch { charges, .. }, .. } = self;
        bits.clear();
        bits.resize(vertices.len(), 0.0);
        charges.clear();
        charges.resize(vertices.len(), 0.0);
        let most = |at: u32, len: usize| {
            pool[at as usize..at as usize + len].iter().map(|w| w.bits()).fold(0.0, f64::max)
        };
        for (v, vertex) in vertices.iter().enumerate() {
            if vertex.role != Role::Axis {
                continue;
            }
            let n = vertex.states as usize;
            let least = most(vertex.start, n);
            let resting = pool[vertex.start as usize];
            let plain = vertex.turn == NONE
                && vertex.ins == 0
                && matches!(vertex.kind, Kind::Source(_))
                && !resting.is_zero();
            let mut own = 0.0;
            let mut edge = vertex.first_out;
            while edge != NONE {
                own += edges[edge as usize].bits;
                edge = edges[edge as usize].next_out;
            }
            if vertex.end != NONE {
                bits[v] += most(vertex.end, n);
            }
            if vertex.turn != NONE {
                bits[v] += most(vertex.turn, n * n);
            }
            if !plain {
                bits[v] += least + own;
                continue;
            }
            bits[v] += resting.bits();
            let mut edge = vertex.first_out;
            while edge != NONE {
                let charge = &mut charges[edges[edge as usize].to as usize];
                *charge = charge.max(own + least);
                edge = edges[edge as usize].next_out;
            }
        }
        for ((bits, vertex), charge) in bits.iter_mut().zip(vertices).zip(charges) {
            *bits += f64::from(vertex.states - 1) * *charge;
        }
    }
}
