//! The part of the network that the evidence touches, as vertices with states and links with matrices.
//!
//! In: a network, evidence, and what is asked ([`Ask`]). Out: a [`Graph`]: one vertex per touched source and per group
//! of reports that must remember something, one edge per draw between them. Everything untouched stays out; what needs
//! no memory is multiplied in at once.
//!
//! After m fixes a source lives in the epochs before d, d in 0..=m+1 (d = 0: never there; d = m + 1: there now):
//!
//! - *cause*: P(d=0) = 1 − p, P(d=e) = p·q_e·Π_{earlier}(1 − q), P(d=m+1) = p·Π(1 − q); a repeated fix repeats its draw,
//!   so that q counts once. Values of d that no report tells apart share a state.
//! - *led-to cause*: its vertex first collects L, the latest d among the leaders whose draw is yes; once all leaders are
//!   in, the matrix P(d | L) turns it into d: only fixes at e ≥ L count, and L > 0 means there at first.
//! - *condition*: d is the latest d among the sources whose draw reached it, m + 1 for its leak.
//! - *reports*: the automaton of [`super::cluster`]. A group with one state needs no vertex: each link to it multiplies
//!   its source's weights by the chance of a draw that fits.
//!
//! State 0 of a source always means "no effect", so that its matrix is the identity. A cause with a single edge is
//! *folded*: its effect is applied to the start vector of the vertex at the other end, at no cost in width.
//!
//! Weights are in [`Number`]s; `risk` and `bits` tell whether doubles could leave their range; where they did, the graph
//! is made again in wide numbers. That is a bound, not a guess: see [`bits`].

mod bits;
mod fold;
mod links;
mod lives;
mod plain;
mod reports;
mod sources;

pub(crate) use lives::fate;

use self::plain::Light;
pub(crate) use self::plain::Place;
use super::cluster::Cluster;
use super::number::{Number, Product, Wide};
use super::{Evidence, InferenceError, Told};
use crate::model::index::{CauseIx, FindingIx, FixIx};
use crate::model::network::{Network, Source};

/// No index.
pub(crate) const NONE: u32 = u32::MAX;

/// The most binary digits that all factors of one term of a part may take for doubles to be known beforehand to do: they
/// have 1022 below 1. Beyond that the results tell whether they did.
pub(crate) const DOUBLE_BITS: f64 = 960.0;

/// Below this a product is looked at more closely.
const TINY: f64 = 1e-60;

/// What the graph is made for.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(crate) struct Ask {
    /// Keep every cause as a vertex, none folded (for sets of causes and for samples).
    pub unfolded: bool,
    /// Take in every led-to cause, and treat every cause taken in as not there now.
    pub none_now: bool,
    /// Take in every led-to cause.
    pub all_led: bool,
    /// Take this in and leave its vertex open at the end.
    pub target: Option<Target>,
}

/// Something whose distribution is asked for although no evidence hangs on it, or not on it alone.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Target {
    /// What a finding would show now.
    Finding(FindingIx),
    /// When a source that no evidence touches goes.
    Source(Source),
}

/// What a vertex stands for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Kind {
    /// A source, by its slot.
    Source(u32),
    /// A group of reports, by its number.
    Group(u32),
}

/// What became of a vertex.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Role {
    /// It takes part in the sweep.
    Axis,
    /// Its only edge was applied to the start vector at the other end.
    Folded,
    /// It has no edge.
    Free,
}

/// A vertex. Vectors and matrices are positions in [`Graph::pool`]; `NONE` is the identity.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Vertex {
    pub kind: Kind,
    pub role: Role,
    /// Number of states.
    pub states: u32,
    /// Start vector, after folding.
    pub start: u32,
    /// Weight of each state when it is summed out.
    pub end: u32,
    /// Led-to causes: the matrix from L to d, row by row, applied once all leaders are in.
    pub turn: u32,
    /// Sources: π(d) times what normal reports leave of it, for each d.
    pub weights: u32,
    /// First edge in, first edge out, first folded edge (linked lists through the edges).
    pub first_in: u32,
    pub first_out: u32,
    pub first_fold: u32,
    /// Start vectors before each folded edge, one after the other, `folds + 1` of them.
    pub prefixes: u32,
    pub folds: u32,
    /// First light, and the start vector before all of them: the leak alone.
    pub lights: u32,
    pub leak: u32,
    /// Edges in from vertices that are axes, and edges out.
    pub ins: u32,
    pub outs: u32,
}

/// A draw of `from` for `to`: a matrix per state of `from` but the first.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    pub from: u32,
    pub to: u32,
    /// Matrices over the states of `to`, row by row.
    pub matrices: u32,
    pub next_in: u32,
    pub next_out: u32,
    /// For a draw for a finding: the finding and the number of the link; else `NONE`.
    pub finding: u32,
    pub link: u32,
    /// Digits of the least positive entry.
    pub bits: f64,
}

/// Reports that are remembered together.
#[derive(Clone, Debug)]
pub(crate) enum Group {
    /// One report about one finding: `class_at` is where the states of its outcomes lie in [`Graph::classes`].
    One { finding: FindingIx, epoch: u32, class_at: u32, states: u32, vertex: u32 },
    /// Several.
    Many { cluster: Box<Cluster>, vertex: u32 },
}

/// What the evidence touches.
#[derive(Clone, Debug)]
pub(crate) struct Graph<N> {
    /// m + 2: the number of values of d.
    pub lives: usize,
    pub vertices: Vec<Vertex>,
    /// Causes without edges that are no vertices; see [`Graph::fill_plainly`].
    pub lights: Vec<Light<N>>,
    pub edges: Vec<Edge>,
    pub groups: Vec<Group>,
    pub pool: Vec<N>,
    pub classes: Vec<u8>,
    /// Factor of everything that needs no vertex or is free.
    pub constant: Product,
    /// The part of it that comes from reports and leaks alone.
    base: Product,
    /// Per d, the state of a cause whose draws all go to reports.
    pub state_of_life: Vec<u8>,
    /// Whether the weights of a source could leave the range of doubles.
    pub risk: bool,
    /// The vertex asked for.
    pub target: u32,
    /// Vertex of each source, `NONE` if untouched; as long as the network has sources.
    pub vertex_of: Vec<u32>,
    /// Per vertex, its share in the binary digits of a term; see [`DOUBLE_BITS`].
    pub bits: Vec<f64>,
    plain: bool,
    fixes: Vec<FixIx>,
    group_of: Vec<u32>,
    scratch: Scratch,
}

/// Buffers that live from one query to the next.
#[derive(Clone, Debug, Default)]
struct Scratch {
    parent: Vec<u32>,
    epochs: Vec<u32>,
    /// Entries that are reports and tell something apart, with their epochs.
    telling: Vec<(u32, u32)>,
    charges: Vec<f64>,
    folded: Vec<u32>,
    marked: Vec<u32>,
    /// Findings reported normal for certain.
    normal: Vec<FindingIx>,
}

impl<N: Number> Graph<N> {
    /// An empty graph for that network, to be filled again and again.
    pub(crate) fn new(network: &Network) -> Self {
        Self {
            lives: 2,
            vertices: Vec::new(),
            lights: Vec::new(),
            edges: Vec::new(),
            groups: Vec::new(),
            pool: Vec::new(),
            classes: Vec::new(),
            constant: Product::ONE,
            base: Product::ONE,
            state_of_life: Vec::new(),
            risk: false,
            target: NONE,
            vertex_of: vec![NONE; network.sources()],
            bits: Vec::new(),
            plain: false,
            fixes: Vec::new(),
            group_of: vec![NONE; network.findings()],
            scratch: Scratch::default(),
        }
    }

    /// Fills the graph. `evidence` has been checked.
    ///
    /// # Errors
    /// `Impossible` where a report alone can never be, `TooWide` for joint reports beyond measure.
    pub(crate) fn fill(
        &mut self,
        network: &Network,
        evidence: &Evidence,
        ask: Ask,
    ) -> Result<(), InferenceError> {
        self.clear();
        self.fixes.extend(evidence.fixes());
        self.lives = self.fixes.len() + 2;
        self.group_reports(network, evidence, ask.target)?;
        self.set_states_of_life();
        self.base = self.constant;
        for group in 0..self.groups.len() {
            self.take_in_group(network, group);
        }
        for told in &evidence.told {
            if let Told::Cause { cause, .. } = told {
                self.touch(network, cause.at());
            }
        }
        if ask.none_now || ask.all_led {
            for cause in network.cause_order().iter().filter(|&&c| !network.led_by(c).is_empty()) {
                self.touch(network, cause.at());
            }
        }
        if let Some(Target::Source(source)) = ask.target {
            self.target = self.touch(network, network.slot(source));
        }
        let mut at = if network.is_two_layer() { self.vertices.len() } else { 0 };
        while at < self.vertices.len() {
            self.take_in_parents(network, at);
            at += 1;
        }
        for (epoch, told) in evidence.by_epoch() {
            if let Told::Cause { cause, present } = told {
                let weights = self.vertices[self.vertex_of[cause.at()] as usize].weights as usize;
                for life in 0..self.lives {
                    if (life > epoch) != *present {
                        self.pool[weights + life] = N::ZERO;
                    }
                }
            }
        }
        if ask.none_now {
            for v in 0..self.vertices.len() {
                if let Kind::Source(slot) = self.vertices[v].kind
                    && (slot as usize) < network.causes()
                {
                    let weights = self.vertices[v].weights as usize;
                    self.pool[weights + self.lives - 1] = N::ZERO;
                }
            }
        }
        self.finish_sources(network, ask);
        self.fold();
        self.count_bits();
        Ok(())
    }

    /// Forgets the last query. Cost: what that query touched.
    fn clear(&mut self) {
        for vertex in &self.vertices {
            if let Kind::Source(slot) = vertex.kind {
                self.vertex_of[slot as usize] = NONE;
            }
        }
        for light in self.lights.iter().filter(|light| light.slot != NONE) {
            self.vertex_of[light.slot as usize] = NONE;
        }
        for &finding in &self.scratch.marked {
            self.group_of[finding as usize] = NONE;
        }
        self.scratch.marked.clear();
        self.scratch.normal.clear();
        self.scratch.folded.clear();
        self.vertices.clear();
        self.lights.clear();
        self.edges.clear();
        self.groups.clear();
        self.pool.clear();
        self.classes.clear();
        self.fixes.clear();
        self.state_of_life.clear();
        self.constant = Product::ONE;
        self.risk = false;
        self.plain = false;
        self.target = NONE;
    }

    /// Whether a cause's draws all go to reports, so that lives which no report tells apart share a state.
    pub(crate) fn shares_states(network: &Network, slot: usize) -> bool {
        slot < network.causes() && {
            let cause = CauseIx::new(slot);
            network.leads(cause).is_empty()
                && network.led_by(cause).is_empty()
                && network.brings(Source::Cause(cause)).is_empty()
        }
    }

    fn set_states_of_life(&mut self) {
        let epochs = &mut self.scratch.epochs;
        epochs.sort_unstable();
        epochs.dedup();
        for life in 0..self.lives as u32 {
            self.state_of_life.push(epochs.iter().filter(|&&e| e < life).count() as u8);
        }
    }

    /// Whether it was filled as the usual case.
    pub(crate) const fn is_plain(&self) -> bool {
        self.plain
    }

    /// The value read in each state of a group.
    pub(crate) fn read(&self, group: usize) -> Option<&[u8]> {
        match &self.groups[group] {
            Group::One { .. } => None,
            Group::Many { cluster, .. } => Some(&cluster.read),
        }
    }

    /// The group of a finding, where a report about it tells anything.
    pub(crate) fn group_of_finding(&self, finding: FindingIx) -> Option<&Group> {
        self.groups.iter().find(|group| match group {
            Group::One { finding: own, .. } => *own == finding,
            Group::Many { cluster, .. } => cluster.members.contains(&finding),
        })
    }

    /// The edge of a link into a finding's group, where it has one.
    pub(crate) fn edge_of(&self, slot: usize, finding: FindingIx, link: usize) -> Option<usize> {
        // A folded cause has but one edge, whose `next_out` then serves another list.
        let vertex = self.vertices.get(self.vertex_of[slot] as usize)?;
        let mut edge = vertex.first_out;
        while edge != NONE {
            let here = &self.edges[edge as usize];
            if here.finding == finding.0 && here.link == link as u32 {
                return Some(edge as usize);
            }
            edge = if vertex.role == Role::Folded { NONE } else { here.next_out };
        }
        None
    }

    /// The chance of the reports from leaks alone, where no cause seen contradicts that. Two layers and one epoch only.
    pub(crate) fn with_no_cause(&self) -> Wide {
        let mut product = self.base;
        if self.lights.iter().any(|light| light.slot != NONE && light.gone.is_zero()) {
            return Wide::ZERO;
        }
        for vertex in &self.vertices {
            if let Kind::Source(_) = vertex.kind {
                if self.pool[vertex.weights as usize].is_zero() {
                    return Wide::ZERO;
                }
                continue;
            }
            let n = vertex.states as usize;
            let leak = vertex.leak as usize;
            let ends = self.pool[vertex.end as usize..].iter().zip(&self.pool[leak..leak + n]);
            product.by_number(ends.fold(N::ZERO, |s, (&e, &l)| s.plus(e.times(l))));
        }
        product.value()
    }

    /// The chance that no cause that is no vertex here is there now. Led-to causes must all be vertices.
    pub(crate) fn untouched_gone(&self, network: &Network) -> Wide {
        let mut product = Wide::ONE;
        for cause in (0..network.causes()).map(CauseIx::new).filter(|c| self.vertex_of[c.at()] == NONE) {
            let prior = network.prior(cause);
            let mut gone = N::ZERO;
            fate(network, &self.fixes, cause, (1.0 - prior, prior), 0, |life, chance: N| {
                if life + 1 < self.lives {
                    gone = gone.plus(chance);
                }
            });
            product = product.times(gone.wide());
        }
        product
    }
}

impl Vertex {
    /// Whether causes are folded into its start vector, so that the table before it is wanted again.
    #[inline]
    pub(crate) const fn holds_causes(&self) -> bool {
        self.folds > 0 || self.lights != NONE
    }

    const fn new(kind: Kind, states: u32, start: u32, end: u32) -> Self {
        Self {
            kind,
            role: Role::Axis,
            states,
            start,
            end,
            turn: NONE,
            weights: NONE,
            first_in: NONE,
            first_out: NONE,
            first_fold: NONE,
            prefixes: NONE,
            folds: 0,
            lights: NONE,
            leak: start,
            ins: 0,
            outs: 0,
        }
    }
}
