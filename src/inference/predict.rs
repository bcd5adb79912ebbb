//! What every finding would show now.
//!
//! In: evidence. Out: per finding and outcome, the probability that it would show now, findings seen before included.
//!
//! Most findings need no sweep of their own. Sources in different connected parts are independent given the evidence, so
//! where no two sources of a finding hang together, its distribution is a product:
//! P(highest ≤ …) is built up link by link, each source there with its posterior, v′(y) = Σ_{max(x, u) = y} v(x)·(gone·[u
//! = normal] + now·c(u)). All others (a finding with reports of its own, or with two sources in one part) are asked for
//! by a sweep in which the finding is a vertex left open; see [`super::graph::Target`].

use super::graph::{Graph, Kind, NONE, Role, Target, fate};
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
        let mut met = Vec::new();
        let mut rows = Vec::with_capacity(network.findings());
        for finding in (0..network.findings()).map(FindingIx::new) {
            let row = match settled(network, evidence, finding, &seen) {
                Some(outcome) => Some(one(network.outcomes(finding), outcome)),
                None if seen[finding.at()] => None,
                None => product(network, finding, &sources, &mut met),
            };
            rows.push(match row {
                Some(row) => row,
                None => self.target_share(network, evidence, limits, Target::Finding(finding))?,
            });
        }
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
        let (graph, plan) = self.base(network, evidence, limits)?;
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

/// The distribution over independent sources; `None` if they are not.
fn product(
    network: &Network,
    finding: FindingIx,
    sources: &[Standing],
    met: &mut Vec<(u32, u32)>,
) -> Option<Vec<f64>> {
    met.clear();
    let k = network.outcomes(finding);
    let mut row = network.leak(finding).to_vec();
    let (slots, chances) = network.links_into(finding);
    for (&slot, chances) in slots.iter().zip(chances.chunks_exact(k)) {
        let Standing { now, gone, hangs } = sources[slot as usize];
        match hangs {
            Hangs::Unknown => return None,
            Hangs::Part(part) => {
                if met.iter().any(|&(other, _)| other == part) {
                    return None;
                }
                met.push((part, slot));
            }
            Hangs::Alone => {
                // Two draws of one source depend on each other.
                if met.iter().any(|&(_, other)| other == slot) {
                    return None;
                }
                met.push((NONE, slot));
            }
        }
        // From the top: the highest stays y if this draw is at most y, or becomes y from below.
        for y in (0..k).rev() {
            let at_most = (1..=y).fold(gone + now * chances[0], |sum, u| sum + now * chances[u]);
            let below = (0..y).fold(0.0, |sum, x| sum + row[x]);
            row[y] = row[y] * at_most + below * (now * chances[y]);
        }
    }
    Some(row)
}
