//! The usual case, told apart for speed: two layers, no fix done, every finding reported once and alone.
//!
//! In: as for [`Graph::fill`]. Out: the same graph, but for causes on which normal reports alone bear: these make up most
//! of what a query touches, are independent of everything else, and become [`Light`] entries and no vertices.

use super::super::number::Number;
use super::super::{Evidence, InferenceError, Told};
use super::{Ask, Graph, NONE};
use crate::model::network::Network;

/// In [`Graph::vertex_of`]: the rest is a position in [`Graph::lights`].
const LIGHT: u32 = 1 << 31;

/// A cause without edges: the weights of its not being there and of its being there.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Light<N> {
    pub slot: u32,
    pub gone: N,
    pub there: N,
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
            self.take_in_group(network, group);
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
                    let prior = network.priors()[slot as usize];
                    let there = N::of(prior).times(fits);
                    self.lights.push(Light { slot, gone: N::of(1.0 - prior), there });
                    continue;
                };
                let weighed = entry.times(fits);
                risk |= weighed.under(super::TINY) && chance > 0.0 && !entry.is_zero();
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
            self.constant.by_number(light.gone.plus(light.there));
        }
        self.finish_sources(network, Ask::default());
        self.fold();
        self.count_bits();
        Ok(true)
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
            let prior = network.priors()[slot];
            self.lights.push(Light { slot: slot as u32, gone: N::of(1.0 - prior), there: N::of(prior) });
            self.lights.len() - 1
        } else {
            (seen & !LIGHT) as usize
        };
        let light = &mut self.lights[light];
        *(if present { &mut light.gone } else { &mut light.there }) = N::ZERO;
    }
}
