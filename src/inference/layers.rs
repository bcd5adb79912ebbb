//! What one more finding would show: the sweep once more, in layers.
//!
//! In: a filled graph of the usual kind, its plan as a chain, and the draws of some sources of one part for a finding
//! without reports. Out: the weights of the highest outcome drawn. One graph and one plan serve all findings.
//!
//! A layer is a table of the sweep together with one value of "the highest drawn so far". Where a source is opened (or a
//! cause is folded into the start vector of a report), its draw mixes the layers: the highest of two independent draws
//! is y if one is y and the other at most y, sums of products only. All other steps work on each layer alone. Cost: a
//! forward sweep per outcome.

use super::graph::{Graph, NONE, Place};
use super::order::{Act, Part, Plan};
use super::sweep::Sweep;

/// Layers of one finding, reused for the next.
#[derive(Clone, Debug, Default)]
pub(crate) struct Layers {
    tables: Vec<Sweep<f64>>,
    /// Layers that may hold anything but zeros.
    active: usize,
    /// The layered start vector of a vertex: by outcome, then by state.
    start: Vec<f64>,
    below: Vec<f64>,
    /// Per vertex and per light, where its chances begin in `chances`, `NONE` if it draws nothing.
    of_vertex: Vec<u32>,
    of_light: Vec<u32>,
    /// Outcomes of the finding, and the chances of the draws one after the other.
    outcomes: usize,
    chances: Vec<f64>,
    drawing: Vec<Place>,
}

impl Layers {
    /// Begins a finding with that many outcomes.
    pub(crate) fn begin(&mut self, graph: &Graph<f64>, outcomes: usize) {
        for place in self.drawing.drain(..) {
            match place {
                Place::Vertex(v) => self.of_vertex[v as usize] = NONE,
                Place::Light(l) => self.of_light[l as usize] = NONE,
                Place::Untouched => {}
            }
        }
        self.of_vertex.resize(graph.vertices.len(), NONE);
        self.of_light.resize(graph.lights.len(), NONE);
        self.outcomes = outcomes;
        self.chances.clear();
    }

    /// A draw of the cause at `place`; false where it draws twice, which is not done here.
    pub(crate) fn draw(&mut self, place: Place, chances: &[f64]) -> bool {
        let entry = match place {
            Place::Vertex(v) => &mut self.of_vertex[v as usize],
            Place::Light(l) => &mut self.of_light[l as usize],
            Place::Untouched => return false,
        };
        if *entry != NONE {
            return false;
        }
        *entry = self.chances.len() as u32;
        self.chances.extend_from_slice(chances);
        self.drawing.push(place);
        true
    }

    /// The weight of each outcome as the highest drawn, together with the evidence of that part.
    pub(crate) fn weigh_part(&mut self, graph: &Graph<f64>, plan: &Plan, part: &Part) -> Vec<f64> {
        let states = part.effort.states as usize;
        while self.tables.len() < self.outcomes {
            self.tables.push(Sweep::new());
        }
        for table in &mut self.tables[..self.outcomes] {
            table.room(states);
        }
        self.tables[0].arena[0] = 1.0;
        self.active = 1;
        let mut last = (0, 1);
        for step in &plan.steps[part.first..part.last] {
            match step.act {
                Act::Open { vertex, .. } if self.draws(graph, vertex) => {
                    self.open(graph, vertex, (step.at, step.len, step.to));
                    last = (step.to, 1);
                }
                _ => {
                    for table in &mut self.tables[..self.active] {
                        last = table.step(graph, step);
                    }
                }
            }
        }
        (0..self.outcomes).map(|y| if y < self.active { self.tables[y].arena[last.0] } else { 0.0 }).collect()
    }

    /// The same for a report that needs no sweep.
    pub(crate) fn weigh_lone(&mut self, graph: &Graph<f64>, vertex: u32) -> Vec<f64> {
        self.layered_start(graph, vertex);
        let v = &graph.vertices[vertex as usize];
        let ends = &graph.pool[v.end as usize..][..v.states as usize];
        let weight = |start: &[f64]| start.iter().zip(ends).map(|(a, b)| a * b).sum();
        self.start.chunks_exact(ends.len()).map(weight).collect()
    }

    /// Whether a draw is made where that vertex is opened.
    fn draws(&self, graph: &Graph<f64>, vertex: u32) -> bool {
        if self.of_vertex[vertex as usize] != NONE {
            return true;
        }
        let mut light = graph.vertices[vertex as usize].lights;
        while light != NONE {
            if self.of_light[light as usize] != NONE {
                return true;
            }
            light = graph.lights[light as usize].next;
        }
        false
    }

    fn layered_start(&mut self, graph: &Graph<f64>, vertex: u32) {
        let v = &graph.vertices[vertex as usize];
        let (n, k) = (v.states as usize, self.outcomes);
        self.start.clear();
        self.start.resize(n * k, 0.0);
        let own = self.of_vertex[vertex as usize];
        if own != NONE {
            // A cause: not there, it draws nothing.
            let weights = &graph.pool[v.start as usize..][..2];
            self.start[0] = weights[0];
            for u in 0..k {
                self.start[u * n + 1] = weights[1] * self.chances[own as usize + u];
            }
            return;
        }
        self.start[..n].copy_from_slice(&graph.pool[v.leak as usize..][..n]);
        let mut light = v.lights;
        while light != NONE {
            let here = &graph.lights[light as usize];
            let draw = self.of_light[light as usize];
            if here.slot != NONE {
                let moved = |[v0, v1]: [f64; 2], there: f64| {
                    let (still, moved) = (there * here.stays, there * here.moves);
                    [v0 * still, v1 * (still + moved) + v0 * moved]
                };
                let mut below = [0.0; 2];
                let mut at_most = 0.0;
                for y in 0..k {
                    // Upwards: what is below is known as it was before this cause.
                    let before = [self.start[y * 2], self.start[y * 2 + 1]];
                    let (chance, all) = match draw {
                        NONE => (0.0, 1.0),
                        at => {
                            at_most += self.chances[at as usize + y];
                            (self.chances[at as usize + y], at_most)
                        }
                    };
                    let (stays, rises) = (moved(before, here.there * all), moved(below, here.there * chance));
                    for j in 0..2 {
                        self.start[y * 2 + j] = before[j] * here.gone + stays[j] + rises[j];
                        below[j] += before[j];
                    }
                }
            }
            light = here.next;
        }
    }

    /// Opens an axis whose start vector depends on the layer.
    fn open(&mut self, graph: &Graph<f64>, vertex: u32, (at, len, to): (usize, usize, usize)) {
        self.layered_start(graph, vertex);
        let n = graph.vertices[vertex as usize].states as usize;
        for y in (0..self.outcomes).rev() {
            self.below.clear();
            self.below.resize(len, 0.0);
            for table in &self.tables[..self.active.min(y)] {
                for (sum, entry) in self.below.iter_mut().zip(&table.arena[at..at + len]) {
                    *sum += entry;
                }
            }
            let arena = &mut self.tables[y].arena;
            if y >= self.active {
                arena[to..to + len].fill(0.0);
            } else if at != to {
                arena.copy_within(at..at + len, to);
            }
            for j in (0..n).rev() {
                let own = self.start[y * n + j];
                let at_most = (0..=y).fold(0.0, |sum, u| sum + self.start[u * n + j]);
                for (i, &below) in self.below.iter().enumerate() {
                    arena[to + j * len + i] = arena[to + i] * at_most + below * own;
                }
            }
        }
        self.active = self.outcomes;
    }
}
