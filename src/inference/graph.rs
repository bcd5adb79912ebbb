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
//! Weights are in [`Number`]s; `risk` and `bits` tell whether the doubles could leave their range (then the graph is made
//! again in wide numbers). That is a bound, not a guess: see [`Graph::count_bits`].

use super::cluster::{Cluster, DEAD, Report};
use super::number::{Number, Product, Wide};
use super::{Evidence, InferenceError, Told};
use crate::model::index::{CauseIx, ConditionIx, FindingIx, FixIx};
use crate::model::network::{Network, Source};

/// No index.
pub(crate) const NONE: u32 = u32::MAX;

/// The most binary digits that all factors of one term may take before the graph is made in wide numbers: doubles have
/// 1022 below 1.
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
}

impl<N: Number> Graph<N> {
    /// An empty graph for that network, to be filled again and again.
    pub(crate) fn new(network: &Network) -> Self {
        Self {
            lives: 2,
            vertices: Vec::new(),
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
        for &finding in &self.scratch.marked {
            self.group_of[finding as usize] = NONE;
        }
        self.scratch.marked.clear();
        self.scratch.folded.clear();
        self.vertices.clear();
        self.edges.clear();
        self.groups.clear();
        self.pool.clear();
        self.classes.clear();
        self.fixes.clear();
        self.state_of_life.clear();
        self.constant = Product::ONE;
        self.risk = false;
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

    /// Groups the reports, and makes a vertex for each group that needs one.
    fn group_reports(
        &mut self,
        network: &Network,
        evidence: &Evidence,
        target: Option<Target>,
    ) -> Result<(), InferenceError> {
        let read = match target {
            Some(Target::Finding(finding)) => Some((finding, self.fixes.len())),
            _ => None,
        };
        self.scratch.epochs.clear();
        self.scratch.parent.clear();
        self.scratch.telling.clear();
        self.scratch.epochs.extend(read.map(|(_, now)| now as u32));
        // Tie reports that share a finding together: union by smallest number.
        let mut tied = false;
        let mut number = 0_u32;
        let mut epoch = 0_u32;
        for (entry, told) in evidence.told.iter().enumerate() {
            let Told::Finding { among, weights } = told else {
                epoch += u32::from(matches!(told, Told::Fix(_)));
                continue;
            };
            if weights.iter().all(|&w| w == weights[0]) {
                // Tells nothing apart; only the probability of the evidence scales.
                if weights[0] == 0.0 {
                    return Err(InferenceError::Impossible);
                }
                self.constant.by(weights[0]);
                continue;
            }
            if self.scratch.epochs.last() != Some(&epoch) {
                self.scratch.epochs.push(epoch);
            }
            self.scratch.parent.push(number);
            self.scratch.telling.push((entry as u32, epoch));
            for finding in among {
                let seen = self.group_of[finding.at()];
                if seen == NONE {
                    self.group_of[finding.at()] = number;
                    self.scratch.marked.push(finding.0);
                } else {
                    tied = true;
                    let (a, b) = (root(&self.scratch.parent, seen), root(&self.scratch.parent, number));
                    self.scratch.parent[a.max(b) as usize] = a.min(b);
                }
            }
            tied |= among.len() > 1;
            number += 1;
        }
        if !tied && read.is_none() {
            for at in 0..self.scratch.telling.len() {
                let (entry, epoch) = self.scratch.telling[at];
                if let Told::Finding { among, weights } = &evidence.told[entry as usize] {
                    self.group_of_one(network, among[0], epoch, weights);
                }
            }
            return Ok(());
        }
        self.groups_of_many(network, evidence, read)
    }

    fn groups_of_many(
        &mut self,
        network: &Network,
        evidence: &Evidence,
        read: Option<(FindingIx, usize)>,
    ) -> Result<(), InferenceError> {
        let mut reports: Vec<Report<'_>> = Vec::new();
        for (epoch, told) in evidence.by_epoch() {
            if let Told::Finding { among, weights } = told
                && weights.iter().any(|&w| w != weights[0])
            {
                reports.push(Report { epoch, among, weights });
            }
        }
        let mut rows: Vec<Vec<Report<'_>>> = vec![Vec::new(); reports.len() + 1];
        for (number, report) in reports.into_iter().enumerate() {
            rows[root(&self.scratch.parent, number as u32) as usize].push(report);
        }
        let read_row = read.map(|(finding, _)| match self.group_of[finding.at()] {
            NONE => rows.len() - 1,
            seen => root(&self.scratch.parent, seen) as usize,
        });
        for (number, row) in rows.iter().enumerate() {
            let read = read.filter(|_| read_row == Some(number));
            match (&row[..], read) {
                ([], None) => {}
                ([report], None) if report.among.len() == 1 => {
                    self.group_of_one(network, report.among[0], report.epoch as u32, report.weights);
                }
                (row, read) => {
                    let outcomes = match (row.first(), read) {
                        (Some(report), _) => report.weights.len(),
                        (None, Some((finding, _))) => network.outcomes(finding),
                        (None, None) => continue,
                    };
                    let Some(cluster) = Cluster::new(row, outcomes, read)? else {
                        return Err(InferenceError::Impossible);
                    };
                    self.group_of_several(network, cluster, read.is_some());
                }
            }
        }
        Ok(())
    }

    /// One report about one finding: a state per run of equal weights; zeros at the upper end are dead.
    fn group_of_one(&mut self, network: &Network, finding: FindingIx, epoch: u32, weights: &[f64]) {
        let class_at = self.classes.len();
        let last = weights.iter().rposition(|&w| w > 0.0).unwrap_or(0);
        if last == 0 {
            // Normal for certain: nothing to remember.
            self.classes.push(0);
            self.classes.resize(class_at + weights.len(), DEAD);
            self.constant.by(weights[0]);
            self.constant.by(network.leak(finding)[0]);
            self.groups.push(Group::One {
                finding,
                epoch,
                class_at: class_at as u32,
                states: 1,
                vertex: NONE,
            });
            return;
        }
        let end = self.pool.len();
        let mut states = 0;
        for (at, &weight) in weights.iter().enumerate() {
            if at > last {
                self.classes.push(DEAD);
                continue;
            }
            if at == 0 || weight != weights[at - 1] {
                self.pool.push(N::of(weight));
                states += 1;
            }
            self.classes.push((states - 1) as u8);
        }
        let leak = network.leak(finding);
        let class = &self.classes[class_at..];
        if states == 1 {
            let fits = live(class, leak);
            self.constant.by_number(self.pool[end]);
            self.constant.by(fits);
            self.pool.truncate(end);
            self.groups.push(Group::One {
                finding,
                epoch,
                class_at: class_at as u32,
                states: 1,
                vertex: NONE,
            });
            return;
        }
        let start = self.pool.len();
        self.pool.resize(start + states, N::ZERO);
        for (&class, &chance) in class.iter().zip(leak) {
            if class != DEAD {
                let entry = &mut self.pool[start + class as usize];
                *entry = entry.plus(N::of(chance));
            }
        }
        let vertex = self.vertices.len() as u32;
        let group = Kind::Group(self.groups.len() as u32);
        self.vertices.push(Vertex::new(group, states as u32, start as u32, end as u32));
        let states = states as u32;
        self.groups.push(Group::One { finding, epoch, class_at: class_at as u32, states, vertex });
    }

    fn group_of_several(&mut self, network: &Network, cluster: Cluster, target: bool) {
        let n = cluster.states;
        // The leaks live in all epochs.
        let mut state = vec![N::ZERO; n];
        state[0] = N::ONE;
        for (member, &finding) in cluster.members.iter().enumerate() {
            let mut moved = vec![N::ZERO; n];
            for (outcome, &chance) in network.leak(finding).iter().enumerate() {
                for (from, &to) in cluster.moves(member, cluster.epochs.len(), outcome).iter().enumerate() {
                    if to != DEAD {
                        moved[to as usize] = moved[to as usize].plus(state[from].times(N::of(chance)));
                    }
                }
            }
            state = moved;
        }
        let mut vertex = NONE;
        if n == 1 && !target {
            self.constant.by_number(state[0]);
            self.constant.by(cluster.end[0]);
        } else {
            vertex = self.vertices.len() as u32;
            let start = self.pool.len();
            self.pool.extend(state);
            let end = self.pool.len();
            self.pool.extend(cluster.end.iter().map(|&w| N::of(w)));
            let group = Kind::Group(self.groups.len() as u32);
            self.vertices.push(Vertex::new(group, n as u32, start as u32, end as u32));
            if target {
                self.target = vertex;
            }
        }
        self.groups.push(Group::Many { cluster: Box::new(cluster), vertex });
    }

    /// All links into the findings of a group.
    fn take_in_group(&mut self, network: &Network, group: usize) {
        match &self.groups[group] {
            &Group::One { finding, epoch, class_at, states: 1, .. } => {
                let k = network.outcomes(finding);
                let (sources, chances) = network.links_into(finding);
                let only_normal = self.classes[class_at as usize + 1] == DEAD;
                if only_normal && self.lives == 2 {
                    for (&slot, chances) in sources.iter().zip(chances.chunks_exact(k)) {
                        let vertex = self.touch(network, slot as usize);
                        self.weigh_life(vertex, 1, chances[0]);
                    }
                    return;
                }
                for (&slot, chances) in sources.iter().zip(chances.chunks_exact(k)) {
                    let fits = live(&self.classes[class_at as usize..class_at as usize + k], chances);
                    let vertex = self.touch(network, slot as usize);
                    self.weigh(vertex, epoch as usize + 1, fits);
                }
            }
            &Group::One { finding, epoch, class_at, states, vertex } => {
                let k = network.outcomes(finding);
                let (sources, chances) = network.links_into(finding);
                for (link, (&slot, chances)) in sources.iter().zip(chances.chunks_exact(k)).enumerate() {
                    let from = self.touch(network, slot as usize);
                    let n = states as usize;
                    let matrices = self.pool.len();
                    let mut bits = 0.0_f64;
                    for state in 1..self.vertices[from as usize].states as usize {
                        let life = self.life_of_state(network, slot as usize, state);
                        if n == 2 && life > epoch as usize {
                            let classes = &self.classes[class_at as usize..class_at as usize + k];
                            let (mut stays, mut moves) = (0.0, 0.0);
                            for (&class, &chance) in classes.iter().zip(chances) {
                                match class {
                                    0 => stays += chance,
                                    1 => moves += chance,
                                    _ => {}
                                }
                                if class != DEAD {
                                    bits = bits.max(N::of(chance).bits());
                                }
                            }
                            let matrix = [stays, 0.0, moves, stays + moves];
                            self.pool.extend(matrix.map(N::of));
                            continue;
                        }
                        let at = self.pool.len();
                        self.pool.resize(at + n * n, N::ZERO);
                        let matrix = &mut self.pool[at..];
                        if life <= epoch as usize {
                            identity(matrix, n);
                            continue;
                        }
                        // Column by column: a draw of class c moves state x to the higher of the two.
                        let classes = &self.classes[class_at as usize..class_at as usize + k];
                        for (&class, &chance) in classes.iter().zip(chances) {
                            if class == DEAD || chance == 0.0 {
                                continue;
                            }
                            bits = bits.max(N::of(chance).bits());
                            for x in 0..n {
                                let entry = &mut matrix[x.max(class as usize) * n + x];
                                *entry = entry.plus(N::of(chance));
                            }
                        }
                    }
                    self.edge(from, vertex, matrices as u32, bits, (finding.0, link as u32));
                }
            }
            Group::Many { .. } => self.take_in_several(network, group),
        }
    }

    fn take_in_several(&mut self, network: &Network, group: usize) {
        let Group::Many { cluster, vertex } = self.groups[group].clone() else { return };
        let n = cluster.states;
        for (member, &finding) in cluster.members.iter().enumerate() {
            let (sources, all) = network.links_into(finding);
            for (link, (&slot, chances)) in sources.iter().zip(all.chunks_exact(cluster.outcomes)).enumerate()
            {
                let from = self.touch(network, slot as usize);
                if vertex == NONE {
                    for life in 1..self.lives {
                        let lived = cluster.lived(life);
                        if lived > 0 {
                            let fits = |&(outcome, _): &(usize, &f64)| {
                                cluster.moves(member, lived, outcome)[0] != DEAD
                            };
                            let sum = chances.iter().enumerate().filter(fits).map(|(_, &c)| c).sum();
                            self.weigh_life(from, life, sum);
                        }
                    }
                    continue;
                }
                let matrices = self.pool.len();
                let mut bits = 0.0_f64;
                for state in 1..self.vertices[from as usize].states as usize {
                    let life = self.life_of_state(network, slot as usize, state);
                    let lived = cluster.lived(life);
                    let at = self.pool.len();
                    self.pool.resize(at + n * n, N::ZERO);
                    let matrix = &mut self.pool[at..];
                    if lived == 0 {
                        identity(matrix, n);
                        continue;
                    }
                    for (outcome, &chance) in chances.iter().enumerate().filter(|(_, c)| **c > 0.0) {
                        bits = bits.max(N::of(chance).bits());
                        for (x, &to) in cluster.moves(member, lived, outcome).iter().enumerate() {
                            if to != DEAD {
                                let entry = &mut matrix[to as usize * n + x];
                                *entry = entry.plus(N::of(chance));
                            }
                        }
                    }
                }
                self.edge(from, vertex, matrices as u32, bits, (finding.0, link as u32));
            }
        }
    }

    /// A life that stands for a state of a source.
    #[inline]
    fn life_of_state(&self, network: &Network, slot: usize, state: usize) -> usize {
        if self.lives == 2 || !Self::shares_states(network, slot) {
            state
        } else {
            self.state_of_life.iter().position(|&s| s as usize == state).unwrap_or(0)
        }
    }

    /// A report that fits only a share of the draws of a source that lives beyond `from`.
    #[inline]
    fn weigh(&mut self, vertex: u32, from: usize, fits: f64) {
        for life in from..self.lives {
            self.weigh_life(vertex, life, fits);
        }
    }

    #[inline]
    fn weigh_life(&mut self, vertex: u32, life: usize, fits: f64) {
        let entry = &mut self.pool[self.vertices[vertex as usize].weights as usize + life];
        let weighed = entry.times(N::of(fits));
        if weighed.under(TINY) {
            self.risk |= fits > 0.0 && !entry.is_zero();
        }
        *entry = weighed;
    }

    /// The vertex of a source, made at first touch.
    #[inline]
    fn touch(&mut self, network: &Network, slot: usize) -> u32 {
        let seen = self.vertex_of[slot];
        if seen != NONE {
            return seen;
        }
        let vertex = self.vertices.len() as u32;
        self.vertex_of[slot] = vertex;
        let weights = self.pool.len() as u32;
        let lives = self.lives;
        let mut states = lives;
        if slot < network.causes() && network.led_by(CauseIx::new(slot)).is_empty() {
            let prior = network.prior(CauseIx::new(slot));
            if lives == 2 {
                self.pool.push(N::of(1.0 - prior));
                self.pool.push(N::of(prior));
            } else {
                let cause = CauseIx::new(slot);
                self.pool.resize(weights as usize + lives, N::ZERO);
                let row = &mut self.pool[weights as usize..];
                fate(network, &self.fixes, cause, (1.0 - prior, prior), 0, |life, chance| row[life] = chance);
                if Self::shares_states(network, slot) {
                    states = self.state_of_life[lives - 1] as usize + 1;
                }
            }
        } else {
            self.pool.resize(weights as usize + lives, N::ONE);
        }
        let mut fresh = Vertex::new(Kind::Source(slot as u32), states as u32, weights, NONE);
        fresh.weights = weights;
        self.vertices.push(fresh);
        vertex
    }

    /// What brings a condition about, or leads to a cause.
    fn take_in_parents(&mut self, network: &Network, at: usize) {
        let Kind::Source(slot) = self.vertices[at].kind else { return };
        match network.source(slot as usize) {
            Source::Condition(condition) => {
                for &(parent, chance) in network.brought_by(condition) {
                    self.bring(network, parent as usize, at as u32, chance);
                }
            }
            Source::Cause(cause) => {
                for &(leader, chance) in network.led_by(cause) {
                    self.bring(network, leader.at(), at as u32, chance);
                }
            }
        }
    }

    /// An edge by which `to` takes over the life of its parent, if that is later and the draw says yes.
    fn bring(&mut self, network: &Network, parent: usize, to: u32, chance: f64) {
        if chance == 0.0 {
            return;
        }
        let from = self.touch(network, parent);
        let n = self.lives;
        let matrices = self.pool.len();
        let (yes, no) = (N::of(chance), N::of(1.0 - chance));
        for life in 1..n {
            let at = self.pool.len();
            self.pool.resize(at + n * n, N::ZERO);
            let matrix = &mut self.pool[at..];
            for x in 0..n {
                if x < life {
                    matrix[x * n + x] = no;
                    matrix[life * n + x] = yes;
                } else {
                    matrix[x * n + x] = N::ONE;
                }
            }
        }
        self.edge(from, to, matrices as u32, yes.bits().max(no.bits()), (NONE, NONE));
    }

    fn edge(&mut self, from: u32, to: u32, matrices: u32, bits: f64, (finding, link): (u32, u32)) {
        let edge = self.edges.len() as u32;
        let next_out = std::mem::replace(&mut self.vertices[from as usize].first_out, edge);
        let next_in = std::mem::replace(&mut self.vertices[to as usize].first_in, edge);
        self.vertices[from as usize].outs += 1;
        self.vertices[to as usize].ins += 1;
        self.edges.push(Edge { from, to, matrices, next_in, next_out, finding, link, bits });
    }

    /// Start and end vectors of sources, once all their reports are in.
    fn finish_sources(&mut self, network: &Network, ask: Ask) {
        let two_layer = network.is_two_layer();
        for v in 0..self.vertices.len() {
            let Kind::Source(slot) = self.vertices[v].kind else { continue };
            if two_layer && self.lives == 2 {
                // The usual case, told apart for speed only.
                let Vertex { weights, outs, .. } = self.vertices[v];
                let (gone, there) = (self.pool[weights as usize], self.pool[weights as usize + 1]);
                let vertex = &mut self.vertices[v];
                vertex.start = weights;
                if outs == 0 || there.is_zero() {
                    vertex.role = Role::Free;
                    self.constant.by_number(gone.plus(there));
                } else if outs == 1 && !ask.unfolded {
                    vertex.role = Role::Folded;
                    self.scratch.folded.push(v as u32);
                }
                continue;
            }
            let Vertex { weights, outs, .. } = self.vertices[v];
            let weights = weights as usize;
            match network.source(slot as usize) {
                Source::Cause(cause) if network.led_by(cause).is_empty() => {
                    let is_target = v as u32 == self.target;
                    // Known to be absent throughout: it draws nothing that counts.
                    let absent = self.pool[weights + 1..weights + self.lives].iter().all(|w| w.is_zero());
                    if (outs == 0 || absent) && !is_target {
                        self.vertices[v].role = Role::Free;
                        let sum =
                            (0..self.lives).fold(N::ZERO, |sum, life| sum.plus(self.pool[weights + life]));
                        self.constant.by_number(sum);
                        continue;
                    }
                    if outs == 1 && !ask.unfolded && !is_target {
                        self.vertices[v].role = Role::Folded;
                        self.scratch.folded.push(v as u32);
                    }
                    if self.lives > 2 && Self::shares_states(network, slot as usize) {
                        let start = self.pool.len();
                        self.pool.resize(start + self.vertices[v].states as usize, N::ZERO);
                        for life in 0..self.lives {
                            let state = self.state_of_life[life] as usize;
                            self.pool[start + state] =
                                self.pool[start + state].plus(self.pool[weights + life]);
                        }
                        self.vertices[v].start = start as u32;
                    } else {
                        self.vertices[v].start = weights as u32;
                    }
                }
                Source::Cause(cause) => self.finish_led(network, v, cause),
                Source::Condition(condition) => self.finish_condition(network, v, condition),
            }
        }
    }

    fn finish_led(&mut self, network: &Network, v: usize, cause: CauseIx) {
        let (n, weights) = (self.lives, self.vertices[v].weights as usize);
        let turn = self.pool.len();
        self.pool.resize(turn + n * n, N::ZERO);
        let prior = network.prior(cause);
        for latest in 0..n {
            let first = if latest == 0 { (1.0 - prior, prior) } else { (0.0, 1.0) };
            let (fixes, pool) = (&self.fixes, &mut self.pool);
            fate(network, fixes, cause, first, latest, |life, chance: N| {
                pool[turn + life * n + latest] = chance.times(pool[weights + life]);
            });
        }
        self.vertices[v].turn = turn as u32;
        self.vertices[v].start = self.pool.len() as u32;
        self.pool.push(N::ONE);
        self.pool.resize(self.pool.len() + n - 1, N::ZERO);
    }

    fn finish_condition(&mut self, network: &Network, v: usize, condition: ConditionIx) {
        let (n, weights) = (self.lives, self.vertices[v].weights as usize);
        let leak = network.condition_leak(condition);
        self.vertices[v].start = self.pool.len() as u32;
        self.pool.push(N::of(1.0 - leak));
        self.pool.resize(self.pool.len() + n - 2, N::ZERO);
        self.pool.push(N::of(leak));
        if self.pool[weights..weights + n].iter().any(|&w| w != N::ONE) {
            self.vertices[v].end = weights as u32;
        }
    }

    /// Applies the only edge of each folded cause to the start vector at its other end.
    fn fold(&mut self) {
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
        for vertex in &self.vertices {
            if let Kind::Source(_) = vertex.kind {
                if self.pool[vertex.weights as usize].is_zero() {
                    return Wide::ZERO;
                }
                continue;
            }
            let n = vertex.states as usize;
            let leak = if vertex.folds > 0 { vertex.prefixes } else { vertex.start } as usize;
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

    /// Per vertex, its share in a bound on the binary digits of any term of its part that counts: every positive entry of
    /// every table of the sweep, forward or backward, has a way to come about whose factors take at most so many.
    ///
    /// Such a way needs, for each target, at most as many sources in an effective state as the target has steps up
    /// (states − 1); all other causes can rest in state 0 without changing where it leads. Vertices other than plain
    /// causes are counted with their least positive entries.
    fn count_bits(&mut self) {
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

impl Vertex {
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
            ins: 0,
            outs: 0,
        }
    }
}

/// The smallest number tied to `at`.
fn root(parent: &[u32], mut at: u32) -> u32 {
    while parent[at as usize] != at {
        at = parent[at as usize];
    }
    at
}

/// The chance of a draw that no report contradicts.
#[inline]
fn live(classes: &[u8], chances: &[f64]) -> f64 {
    classes.iter().zip(chances).filter(|(class, _)| **class != DEAD).map(|(_, &chance)| chance).sum()
}

fn identity<N: Number>(matrix: &mut [N], n: usize) {
    for x in 0..n {
        matrix[x * n + x] = N::ONE;
    }
}

/// The chance of each life of a cause, told to `each`: absent with the first of `at_first`, there with the second, and
/// then under the fixes from number `latest` on (the first fix is number 1). A repeated fix repeats its draw.
pub(crate) fn fate<N: Number>(
    network: &Network,
    fixes: &[FixIx],
    cause: CauseIx,
    at_first: (f64, f64),
    latest: usize,
    mut each: impl FnMut(usize, N),
) {
    each(0, N::of(at_first.0));
    let mut rest = N::of(at_first.1);
    let from = latest.max(1);
    for number in 1..=fixes.len() {
        let fix = fixes[number - 1];
        let counts = number >= from && !fixes[from - 1..number - 1].contains(&fix);
        let success = network.removed_by(cause).iter().find(|r| counts && r.0 == fix).map_or(0.0, |r| r.1);
        each(number, rest.times(N::of(success)));
        rest = rest.times(N::of(1.0 - success));
    }
    each(fixes.len() + 1, rest);
}
