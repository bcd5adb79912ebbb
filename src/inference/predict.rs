//! What every finding would show now.
//!
//! In: evidence. Out: per finding and outcome, the probability that it would show now, findings seen before included.
//!
//! Most findings need no sweep of their own. Sources in different connected parts are independent given the evidence, so
//! where no two sources of a finding hang together, its distribution is a product:
//! P(highest ≤ …) is built up link by link, each source there with its posterior, v′(y) = Σ_{max(x, u) = y} v(x)·(gone·[u
//! = normal] + now·c(u)). Several sources in one part draw together, by [`super::layers`] over one plan for all findings.
//! What remains (a finding with reports of its own, sources behind conditions or fixes) is asked for by a sweep in which
//! the finding is a vertex left open; see [`super::graph::Target`].

use super::engine::Engine;
use super::graph::{Graph, Kind, NONE, Place, Role, Target, fate};
use super::layers::Layers;
use super::order::Plan;
use super::{Evidence, InferenceError, Limits, Told, Workspace};
use crate::model::index::{CauseIx, FindingIx, FixIx};
use crate::model::network::{Network, Source};

impl Workspace {
    /// Per finding and outcome, the probability that it would show now. Cost: one posterior, then the links of all
    /// findings, and a sweep for each finding whose sources hang together.
    ///
    /// # Errors
    /// As [`Workspace::touched`].
    pub fn predictions(
        &mut self,
        network: &Network,
        evidence: &Evidence,
        limits: &Limits,
    ) -> Result<Vec<Vec<f64>>, InferenceError> {
        let sources = self.sources(network, evidence, limits)?;
        let mut seen = vec![false; network.findings()];
        for told in &evidence.told {
            if let Told::Finding { among, .. } = told {
                for finding in among {
                    seen[finding.at()] = true;
                }
            }
        }
        let mut rows = vec![None; network.findings()];
        {
            let (engine, chain) = self.base(network, evidence, limits)?;
            let plain = chain && engine.graph.is_plain() && !engine.graph.risk;
            let mut product = Product::new(network, &sources, plain.then_some(engine));
            for finding in (0..network.findings()).map(FindingIx::new) {
                rows[finding.at()] = match settled(network, evidence, finding, &seen) {
                    Some(outcome) => Some(one(network.outcomes(finding), outcome)),
                    None if seen[finding.at()] => None,
                    None => product.row(finding),
                };
            }
        }
        let mut whole = Vec::with_capacity(rows.len());
        for (at, row) in rows.into_iter().enumerate() {
            whole.push(match row {
                Some(row) => row,
                None => self.target_share(network, evidence, limits, Target::Finding(FindingIx::new(at)))?,
            });
        }
        let rows = whole;
        Ok(rows)
    }

    /// Every source: the probabilities that it is there now and that it is not, and what it hangs together with.
    fn sources(
        &mut self,
        network: &Network,
        evidence: &Evidence,
        limits: &Limits,
    ) -> Result<Vec<Standing>, InferenceError> {
        let touched = self.touched(network, evidence, limits)?.clone();
        let fixes: Vec<FixIx> = evidence.fixes().collect();
        let mut sources: Vec<Standing> = Vec::with_capacity(network.sources());
        for cause in (0..network.causes()).map(CauseIx::new) {
            let prior = network.prior(cause);
            let (mut now, mut gone) = (0.0, 0.0);
            fate(network, &fixes, cause, (1.0 - prior, prior), 0, |life, chance: f64| {
                if life == fixes.len() + 1 { now = chance } else { gone += chance }
            });
            let plain = network.led_by(cause).is_empty();
            sources.push(Standing { now, gone, hangs: if plain { Hangs::Alone } else { Hangs::Unknown } });
        }
        sources.resize(network.sources(), Standing { now: 0.0, gone: 0.0, hangs: Hangs::Unknown });
        let (engine, _) = self.base(network, evidence, limits)?;
        let Engine { graph, plan, .. } = engine;
        for (v, vertex) in graph.vertices.iter().enumerate() {
            if let Kind::Source(slot) = vertex.kind {
                sources[slot as usize].hangs = hangs(graph, plan, v);
            }
        }
        for light in graph.lights.iter().filter(|light| light.slot != NONE && light.to != NONE) {
            sources[light.slot as usize].hangs = with(graph, plan, light.to);
        }
        for cause in &touched.causes {
            let source = &mut sources[cause.cause.at()];
            (source.now, source.gone) = (cause.now, cause.gone);
        }
        for condition in &touched.conditions_now {
            let source = &mut sources[network.slot(Source::Condition(condition.condition))];
            (source.now, source.gone) = (condition.now, condition.gone);
        }
        Ok(sources)
    }
}

/// How a source stands, given the evidence.
#[derive(Clone, Copy, Debug)]
struct Standing {
    now: f64,
    gone: f64,
    hangs: Hangs,
}

/// What a source depends on, given the evidence.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Hangs {
    /// On nothing else.
    Alone,
    /// On everything in that part of the sweep.
    Part(u32),
    /// On what brings it about, without evidence of its own: to be asked for.
    Unknown,
}

fn hangs(graph: &Graph<f64>, plan: &Plan, v: usize) -> Hangs {
    let vertex = &graph.vertices[v];
    match vertex.role {
        Role::Free => Hangs::Alone,
        Role::Axis => Hangs::Part(plan.part_of[v]),
        Role::Folded if vertex.first_out != NONE => {
            with(graph, plan, graph.edges[vertex.first_out as usize].to)
        }
        Role::Folded => Hangs::Alone,
    }
}

/// On what a source hangs that is folded into `vertex`; a vertex that needs no sweep is a part of its own.
fn with(graph: &Graph<f64>, plan: &Plan, vertex: u32) -> Hangs {
    match graph.vertices[vertex as usize].role {
        Role::Free => Hangs::Part(NONE - 1 - vertex),
        _ => Hangs::Part(plan.part_of[vertex as usize]),
    }
}

/// The outcome that a finding shows for certain: reported so for certain in this epoch, or normal for certain in any (no
/// draw comes to count later that did not count before).
fn settled(network: &Network, evidence: &Evidence, finding: FindingIx, seen: &[bool]) -> Option<usize> {
    if !seen[finding.at()] {
        return None;
    }
    let now = evidence.epoch();
    evidence.by_epoch().find_map(|(epoch, told)| match told {
        Told::Finding { among, weights } if among[..] == [finding] => {
            let mut possible = (0..network.outcomes(finding)).filter(|&o| weights[o] > 0.0);
            let only = possible.next()?;
            (possible.next().is_none() && (epoch == now || only == 0)).then_some(only)
        }
        _ => None,
    })
}

fn one(outcomes: usize, shown: usize) -> Vec<f64> {
    (0..outcomes).map(|o| f64::from(u8::from(o == shown))).collect()
}

/// Distributions over sources in parts that are independent of one another.
struct Product<'a> {
    network: &'a Network,
    sources: &'a [Standing],
    /// For sources that hang together; `None` where they are asked for one by one.
    engine: Option<&'a Engine<f64>>,
    layers: Layers,
    /// The part of each source of the finding at hand, its slot, and its link.
    met: Vec<(u32, u32, u32)>,
}

/// 2^-900: weights of at least this lose nothing that counts to the limited range of doubles.
const SURE: f64 = 1.183e-271;

impl<'a> Product<'a> {
    fn new(network: &'a Network, sources: &'a [Standing], engine: Option<&'a Engine<f64>>) -> Self {
        Self { network, sources, engine, layers: Layers::default(), met: Vec::new() }
    }

    /// What a finding without reports would show; `None` where it has to be asked for by a sweep of its own.
    fn row(&mut self, finding: FindingIx) -> Option<Vec<f64>> {
        let k = self.network.outcomes(finding);
        let mut row = self.network.leak(finding).to_vec();
        let (slots, all) = self.network.links_into(finding);
        let chances = |link: u32| &all[link as usize * k..][..k];
        self.met.clear();
        for (link, &slot) in slots.iter().enumerate() {
            let part = match self.sources[slot as usize].hangs {
                Hangs::Unknown => return None,
                Hangs::Part(part) => part,
                Hangs::Alone => NONE,
            };
            self.met.push((part, slot, link as u32));
        }
        self.met.sort_unstable();
        let mut at = 0;
        while at < self.met.len() {
            let (part, slot, link) = self.met[at];
            let mut next = at + 1;
            if part == NONE {
                // Two draws of one source depend on each other.
                if self.met.get(next).is_some_and(|other| other.1 == slot) {
                    return None;
                }
            } else {
                next += self.met[next..].iter().take_while(|other| other.0 == part).count();
            }
            if next == at + 1 {
                let Standing { now, gone, .. } = self.sources[slot as usize];
                let drawn = chances(link);
                highest(&mut row, |u| if u == 0 { gone + now * drawn[0] } else { now * drawn[u] });
            } else {
                let engine = self.engine?;
                self.layers.begin(&engine.graph, k);
                for &(_, slot, link) in &self.met[at..next] {
                    let place = engine.graph.place(slot);
                    // Folded into a vertex with its own matrices.
                    let folded = matches!(place, Place::Vertex(v) if engine.graph.vertices[v as usize].role != Role::Axis);
                    if folded || !self.layers.draw(place, chances(link)) {
                        return None;
                    }
                }
                let weights = match engine.plan.parts.get(part as usize) {
                    Some(steps) => self.layers.weigh_part(&engine.graph, &engine.plan, steps),
                    None => self.layers.weigh_lone(&engine.graph, NONE - 1 - part),
                };
                let drawn = |u: usize| self.met[at..next].iter().any(|&(_, _, link)| chances(link)[u] > 0.0);
                if (0..k).any(|u| weights[u] < SURE && (u == 0 || drawn(u))) {
                    return None;
                }
                let whole: f64 = weights.iter().sum();
                highest(&mut row, |u| weights[u] / whole);
            }
            at = next;
        }
        Some(row)
    }
}

/// The highest of what is in `row` and of another independent draw.
fn highest(row: &mut [f64], chance: impl Fn(usize) -> f64) {
    // From the top: the highest stays y if this draw is at most y, or becomes y from below.
    for y in (0..row.len()).rev() {
        let at_most = (1..=y).fold(chance(0), |sum, u| sum + chance(u));
        let below = (0..y).fold(0.0, |sum, x| sum + row[x]);
        row[y] = row[y] * at_most + below * chance(y);
    }
}
