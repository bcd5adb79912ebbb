//! The usual case, told apart for speed: two layers, no fix done, every finding reported once and alone.
//!
//! In: as for [`Graph::fill`]. Out: the same graph, but for causes on which normal reports alone and at most one other bear:
//! these make up most of what a query touches, and become [`Light`] entries and no vertices.

use super::super::number::Number;
use super::super::{Evidence, InferenceError, Told};
use super::{Ask, Graph, Group, Kind, NONE, Role, TINY};
use crate::model::network::Network;

/// In [`Graph::vertex_of`]: the rest is a position in [`Graph::lights`].
const LIGHT: u32 = 1 << 31;

/// Where a source is in a graph.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Place {
    /// Nowhere: no evidence touches it.
    Untouched,
    /// A vertex, by its number.
    Vertex(u32),
    /// A light, by its number.
    Light(u32),
}

/// A cause on which at most one report bears that must be remembered, by a state of two.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Light<N> {
    /// `NONE` where it became a vertex after all.
    pub slot: u32,
    /// The vertex of that report, or `NONE`; and the next light of it.
    pub to: u32,
    pub next: u32,
    pub link: u32,
    /// The weights of its not being there and of its being there.
    pub gone: N,
    pub there: N,
    /// Its draw, if it is there: chances of not moving the report's state, and of moving it.
    pub stays: N,
    pub moves: N,
    /// The start vector of the report's vertex before this cause.
    pub before: [N; 2],
}

impl<N: Number> Light<N> {
    fn new(network: &Network, slot: u32) -> Self {
        let prior = network.priors()[slot as usize];
        let (gone, there) = (N::of(1.0 - prior), N::of(prior));
        let (to, next, link) = (NONE, NONE, NONE);
        Self { slot, to, next, link, gone, there, stays: N::ONE, moves: N::ZERO, before: [N::ZERO; 2] }
    }

    /// The start vector after this cause, and whether something in it is close to leaving the range of doubles.
    #[inline]
    fn apply(&self, [v0, v1]: [N; 2]) -> ([N; 2], bool) {
        let Self { gone, there, stays, moves, .. } = *self;
        let (still, moved) = (there.times(stays), there.times(moves));
        let after0 = v0.times(gone.plus(still));
        let after1 = v1.times(gone.plus(still).plus(moved)).plus(v0.times(moved));
        let small = |x: N| x.under(TINY) && !x.is_zero();
        ([after0, after1], small(still) | small(moved) | small(gone) | small(after0) | small(after1))
    }

    /// Its weights, and what the states before it are worth, given what those after it are.
    #[inline]
    pub(crate) fn weigh(&self, [b0, b1]: [N; 2]) -> ([N; 2], [N; 2]) {
        let Self { gone, there, stays, moves, before: [v0, v1], .. } = *self;
        let (still, moved) = (there.times(stays), there.times(moves));
        let any = still.plus(moved);
        let rests = gone.times(b0.times(v0).plus(b1.times(v1)));
        let drawn = b0.times(still.times(v0)).plus(b1.times(moved.times(v0).plus(any.times(v1))));
        let worth0 = b0.times(gone.plus(still)).plus(b1.times(moved));
        ([rests, drawn], [worth0, b1.times(gone.plus(any))])
    }
}

impl<N: Number> Graph<N> {
    /// Fills the graph where the evidence is of the usual kind; else it is left empty, and the answer is false. For
    /// posteriors only: samples and candidates want a vertex for each cause.
    ///
    /// # Errors
    /// `Impossible` where a report alone can never be.
    pub(crate) fn fill_plainly(
        &mut self,
        network: &Network,
        evidence: &Evidence,
    ) -> Result<bool, InferenceError> {
        self.clear();
        self.lives = 2;
        if !network.is_two_layer() || !self.plain_reports(network, evidence)? {
            self.clear();
            return Ok(false);
        }
        self.base = self.constant;
        for group in 0..self.groups.len() {
            self.take_in_plainly(network, group);
        }
        let vertices = self.vertices.len() as u32;
        let mut risk = self.risk;
        for &finding in &self.scratch.normal {
            let (sources, chances) = network.normal_links_into(finding);
            for (&slot, &chance) in sources.iter().zip(chances) {
                let seen = self.vertex_of[slot as usize];
                let fits = N::of(chance);
                let entry = if seen < vertices {
                    &mut self.pool[self.vertices[seen as usize].weights as usize + 1]
                } else if seen != NONE {
                    &mut self.lights[(seen & !LIGHT) as usize].there
                } else {
                    self.vertex_of[slot as usize] = LIGHT | self.lights.len() as u32;
                    let mut light = Light::<N>::new(network, slot);
                    light.there = light.there.times(fits);
                    self.lights.push(light);
                    continue;
                };
                let weighed = entry.times(fits);
                risk |= weighed.under(TINY) && chance > 0.0 && !entry.is_zero();
                *entry = weighed;
            }
        }
        self.risk = risk;
        for told in &evidence.told {
            if let &Told::Cause { cause, present } = told {
                self.see(network, cause.at(), present);
            }
        }
        for light in &self.lights {
            if light.to == NONE && light.slot != NONE {
                self.constant.by_number(light.gone.plus(light.there));
            }
        }
        self.finish_sources(network, Ask::default());
        self.fold_lights();
        self.fold();
        self.set_lone_free();
        self.count_bits();
        self.plain = true;
        Ok(true)
    }

    /// All links into the findings of a group. The first link out of a cause makes a light of it, the second a vertex.
    fn take_in_plainly(&mut self, network: &Network, group: usize) {
        let &Group::One { finding, class_at, states, vertex, .. } = &self.groups[group] else { return };
        let k = network.outcomes(finding);
        let (sources, chances) = network.links_into(finding);
        if states != 2 {
            for &slot in sources {
                self.make_vertex(network, slot);
            }
            return self.take_in_group(network, group);
        }
        let class_at = class_at as usize;
        for (link, (&slot, chances)) in sources.iter().zip(chances.chunks_exact(k)).enumerate() {
            let (mut stays, mut moves) = (N::ZERO, N::ZERO);
            if let &[normal, abnormal] = chances {
                (stays, moves) = (N::of(normal), N::of(abnormal));
            } else {
                for (&class, &chance) in self.classes[class_at..class_at + k].iter().zip(chances) {
                    match class {
                        0 => stays = stays.plus(N::of(chance)),
                        1 => moves = moves.plus(N::of(chance)),
                        _ => {}
                    }
                }
            }
            let link = link as u32;
            if self.vertex_of[slot as usize] == NONE {
                let at = self.lights.len() as u32;
                self.vertex_of[slot as usize] = LIGHT | at;
                let next = std::mem::replace(&mut self.vertices[vertex as usize].lights, at);
                self.lights.push(Light { to: vertex, next, link, stays, moves, ..Light::new(network, slot) });
                continue;
            }
            let from = self.make_vertex(network, slot);
            self.plain_edge(from, vertex, (stays, moves), (finding.0, link));
        }
    }

    /// The vertex of a source, with an edge for the link that made a light of it.
    fn make_vertex(&mut self, network: &Network, slot: u32) -> u32 {
        let seen = self.vertex_of[slot as usize];
        if seen < LIGHT {
            return seen;
        }
        self.vertex_of[slot as usize] = NONE;
        let from = self.touch(network, slot as usize);
        if seen != NONE {
            let Light { to, link, stays, moves, .. } = self.lights[(seen & !LIGHT) as usize];
            self.lights[(seen & !LIGHT) as usize].slot = NONE;
            if let Kind::Group(group) = self.vertices[to as usize].kind
                && let Group::One { finding, .. } = self.groups[group as usize]
            {
                self.plain_edge(from, to, (stays, moves), (finding.0, link));
            }
        }
        from
    }

    fn plain_edge(&mut self, from: u32, to: u32, (stays, moves): (N, N), link: (u32, u32)) {
        let matrices = self.pool.len() as u32;
        self.pool.extend([stays, N::ZERO, moves, stays.plus(moves)]);
        self.edge(from, to, matrices, stays.bits().max(moves.bits()), link);
    }

    /// Applies each report's lights to its start vector, and turns their list round: the last applied comes first.
    fn fold_lights(&mut self) {
        for vertex in self.vertices.iter_mut().filter(|vertex| vertex.lights != NONE) {
            let at = vertex.start as usize;
            let mut vector = [self.pool[at], self.pool[at + 1]];
            let (mut light, mut last) = (vertex.lights, NONE);
            while light != NONE {
                let here = &mut self.lights[light as usize];
                if here.slot != NONE {
                    here.before = vector;
                    let small;
                    (vector, small) = here.apply(vector);
                    self.risk |= small;
                }
                last = std::mem::replace(&mut light, std::mem::replace(&mut here.next, last));
            }
            vertex.lights = last;
            vertex.start = self.pool.len() as u32;
            self.pool.extend(vector);
        }
    }

    /// Reports that share no cause with others need no sweep.
    fn set_lone_free(&mut self) {
        for vertex in &mut self.vertices {
            if matches!(vertex.kind, Kind::Group(_)) && vertex.ins == 0 {
                vertex.role = Role::Free;
                let n = vertex.states as usize;
                let starts = &self.pool[vertex.start as usize..][..n];
                let ends = &self.pool[vertex.end as usize..][..n];
                let whole = starts.iter().zip(ends).fold(N::ZERO, |s, (&a, &b)| s.plus(a.times(b)));
                self.risk |= whole.under(TINY) && ends.iter().any(|end| !end.is_zero());
                self.constant.by_number(whole);
            }
        }
    }

    /// Where a source is.
    #[inline]
    pub(crate) fn place(&self, slot: u32) -> Place {
        match self.vertex_of[slot as usize] {
            NONE => Place::Untouched,
            vertex if vertex < LIGHT => Place::Vertex(vertex),
            light => Place::Light(light & !LIGHT),
        }
    }

    /// Makes a vertex for each report that needs one, and lists the normal ones; false for evidence of another kind.
    fn plain_reports(&mut self, network: &Network, evidence: &Evidence) -> Result<bool, InferenceError> {
        for told in &evidence.told {
            let (finding, weights) = match told {
                Told::Finding { among, weights } if among.len() == 1 => (among[0], weights),
                Told::Cause { .. } => continue,
                Told::Finding { .. } | Told::Fix(_) => return Ok(false),
            };
            let (normal, rest) = (weights[0], &weights[1..]);
            if rest.iter().all(|&w| w == normal) {
                if normal == 0.0 {
                    return Err(InferenceError::Impossible);
                }
                self.constant.by(normal);
                continue;
            }
            if std::mem::replace(&mut self.group_of[finding.at()], 0) != NONE {
                return Ok(false);
            }
            self.scratch.marked.push(finding.0);
            if rest.iter().all(|&w| w == 0.0) {
                self.constant.by(normal);
                self.constant.by(network.leak(finding)[0]);
                self.scratch.normal.push(finding);
            } else {
                self.group_of_one(network, finding, 0, weights);
            }
        }
        Ok(true)
    }

    /// A cause that was seen to be there, or not.
    fn see(&mut self, network: &Network, slot: usize, present: bool) {
        let seen = self.vertex_of[slot];
        if seen < LIGHT {
            let weights = self.vertices[seen as usize].weights as usize;
            self.pool[weights + usize::from(!present)] = N::ZERO;
            return;
        }
        let light = if seen == NONE {
            self.vertex_of[slot] = LIGHT | self.lights.len() as u32;
            self.lights.push(Light::new(network, slot as u32));
            self.lights.len() - 1
        } else {
            (seen & !LIGHT) as usize
        };
        let light = &mut self.lights[light];
        *(if present { &mut light.gone } else { &mut light.there }) = N::ZERO;
    }
}
