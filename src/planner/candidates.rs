//! From completed samples to candidates, and to what each finding would show of them.
//!
//! In: standings (completed samples). Out: the candidates of the problem, and per finding the factors of what differs from
//! candidate to candidate. Only causes that some candidate wants gone are numbered; what the trouble cannot have to do with
//! enters every candidate alike.

use std::collections::{BTreeMap, HashMap};

use super::compose::Composer;
use super::problem::{Candidate, Factor, Response, Shown};
use super::related::Related;
use super::standing::{Roots, Standing};
use crate::model::index::{CauseIx, FindingIx};
use crate::model::network::Source;
use crate::model::practice::BitSet;

/// So many causes are told apart at most; with more, the least probable count as unlisted.
const TRACKED: usize = 128;

impl Composer<'_> {
    /// Numbers the causes that some candidate wants gone, likeliest first, and makes the candidates.
    pub(super) fn track(&mut self) {
        let mut chances: BTreeMap<(CauseIx, bool), f64> = BTreeMap::new();
        for (standing, weight) in self.standings {
            for key in wanted(standing) {
                *chances.entry(key).or_insert(0.0) += weight;
            }
        }
        let mut order: Vec<((CauseIx, bool), f64)> = chances.into_iter().collect();
        order.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        self.local = order.iter().take(TRACKED).enumerate().map(|(at, (key, _))| (*key, at as u8)).collect();
        self.candidates =
            self.standings.iter().map(|(standing, weight)| self.candidate(standing, *weight)).collect();
    }

    pub(super) fn candidate(&self, standing: &Standing, weight: f64) -> Candidate {
        let number = |cause: CauseIx| self.local.get(&(cause, spent(standing, cause))).copied();
        let mut candidate = Candidate { weight, unlisted: standing.complaint.always, ..Candidate::default() };
        for &cause in &standing.causes {
            if let Some(at) = number(cause) {
                candidate.causes = candidate.causes.with(at.into());
            }
        }
        for &cause in &standing.complaint.causes {
            match number(cause) {
                Some(at) => candidate.culprits = candidate.culprits.with(at.into()),
                None => candidate.unlisted = true,
            }
        }
        for (cause, leaders) in &standing.held {
            if let Some(at) = number(*cause) {
                let by = leaders.iter().filter_map(|leader| number(*leader));
                candidate.held.push((at, by.fold(BitSet::default(), |set, leader| set.with(leader.into()))));
            }
        }
        candidate
    }

    /// Collects who shows what in which candidates.
    pub(super) fn collect_factors(&mut self) {
        let network = &self.model.network;
        let later = self.situation.evidence.epoch() > 0;
        let standings = self.standings;
        let mut numbers: HashMap<(Source, BitSet), u32> = HashMap::new();
        for (at, (standing, weight)) in standings.iter().enumerate() {
            if later {
                for (finding, draws) in &standing.draws {
                    let known = self.known.entry(*finding).or_default();
                    let abnormal = self.related.findings.contains(finding);
                    let mut factors = Vec::new();
                    for &(source, outcome) in draws {
                        if !abnormal
                            && !source.is_some_and(|source| is_related(&self.related, standing, source))
                        {
                            continue;
                        }
                        let at_most = (0..network.outcomes(*finding))
                            .map(|v| if v < outcome { 0.0 } else { 1.0 })
                            .collect();
                        let roots = source
                            .map_or_else(BitSet::default, |source| roots(&self.local, standing, source));
                        factors.push(Factor { roots, at_most, absent: false });
                    }
                    known.push((at as u32, factors));
                }
            }
            let causes = standing.causes.iter().map(|cause| Source::Cause(*cause));
            let conditions = standing.conditions.iter().map(|(condition, _)| Source::Condition(*condition));
            for source in causes.chain(conditions) {
                let slot = network.slot(source);
                if !is_related(&self.related, standing, source) {
                    self.shares[slot] += weight;
                    continue;
                }
                let roots = roots(&self.local, standing, source);
                let next = self.lives.len() as u32;
                let live = *numbers.entry((source, roots)).or_insert(next);
                if live == next {
                    self.lives.push((roots, Vec::new()));
                    for (finding, chances) in network.shows(source) {
                        self.shown_by[finding.at()].push((live, chances));
                    }
                }
                self.lives[live as usize].1.push(at as u32);
            }
        }
    }

    /// The chance that each source that was not drawn is there, from its prior and from what else was not drawn: what is
    /// not related counts alike in all candidates.
    pub(super) fn undrawn(&mut self) {
        let (network, drawn) = (&self.model.network, self.drawn);
        for &cause in network.cause_order() {
            let slot = network.slot(Source::Cause(cause));
            if !drawn[slot] {
                let led = network.led_by(cause).iter();
                let not: f64 = led
                    .map(|&(leader, chance)| 1.0 - chance * self.shares[network.slot(Source::Cause(leader))])
                    .product();
                self.shares[slot] = 1.0 - (1.0 - network.prior(cause)) * not;
                for &(fix, chance) in network.removed_by(cause) {
                    if self.done(fix) {
                        self.shares[slot] *= 1.0 - chance;
                    }
                }
            }
        }
        for &condition in network.condition_order() {
            let slot = network.slot(Source::Condition(condition));
            let leak = if drawn[slot] { 0.0 } else { network.condition_leak(condition) };
            let brought = network.brought_by(condition).iter();
            let not: f64 =
                brought.map(|&(parent, chance)| 1.0 - chance * self.shares[parent as usize]).product();
            self.shares[slot] = 1.0 - (1.0 - leak) * not;
        }
    }

    /// The chance of a cause that was not drawn; 0 of one that was.
    pub(super) fn undrawn_chance(&self, cause: CauseIx) -> f64 {
        let slot = self.model.network.slot(Source::Cause(cause));
        if self.drawn[slot] { 0.0 } else { self.shares[slot] }
    }

    /// P(≤ v) of the leak of a finding and of what is not related.
    fn background(&self, finding: FindingIx) -> Vec<f64> {
        let network = &self.model.network;
        let mut at_most = cumulative(network.leak(finding));
        let (sources, chances) = network.links_into(finding);
        for (slot, chances) in sources.iter().zip(chances.chunks_exact(at_most.len())) {
            let share = self.shares[*slot as usize];
            if share > 0.0 {
                let mut sum = 0.0;
                let last = at_most.len() - 1;
                for (whole, chance) in at_most[..last].iter_mut().zip(chances) {
                    sum += chance;
                    *whole *= 1.0 - share * (1.0 - sum);
                }
            }
        }
        at_most
    }

    /// Whether some candidate shows a finding differently.
    pub(super) fn differs(&self, finding: FindingIx) -> bool {
        !self.shown_by[finding.at()].is_empty()
            || self
                .known
                .get(&finding)
                .is_some_and(|known| known.iter().any(|(_, factors)| !factors.is_empty()))
    }

    /// What a finding shows, as reported with this trust. Candidates in which the same sources show it share a response.
    pub(super) fn shown(&self, finding: FindingIx, trust: f64) -> Shown {
        let leak = Factor { roots: BitSet::default(), at_most: self.background(finding), absent: false };
        let outcomes = leak.at_most.len();
        let mut responses = vec![Response(vec![leak])];
        let mut of = vec![0; self.candidates.len()];
        if let Some(known) = self.known.get(&finding) {
            // Draws are known candidate by candidate: the leak's are among them.
            for (at, factors) in known {
                let same = responses[1..].iter().position(|other| other.0 == *factors);
                of[*at as usize] = same.map_or(responses.len(), |same| same + 1) as u32;
                if same.is_none() {
                    responses.push(Response(factors.clone()));
                }
            }
            return Shown { outcomes, of, responses, trust };
        }
        for (live, chances) in &self.shown_by[finding.at()] {
            let (roots, candidates) = &self.lives[*live as usize];
            let factor = Factor { roots: *roots, at_most: cumulative(chances), absent: false };
            // From the response that a candidate had so far to the one with this source as well.
            let mut with: Vec<(u32, u32)> = Vec::new();
            for &at in candidates {
                let so_far = of[at as usize];
                of[at as usize] = match with.iter().find(|(before, _)| *before == so_far) {
                    Some((_, after)) => *after,
                    None => {
                        let mut wider = responses[so_far as usize].clone();
                        wider.0.push(factor.clone());
                        responses.push(wider);
                        with.push((so_far, responses.len() as u32 - 1));
                        responses.len() as u32 - 1
                    }
                };
            }
        }
        Shown { outcomes, of, responses, trust }
    }

    /// The chance that a finding has one of these outcomes now.
    pub(super) fn chance(&self, finding: FindingIx, outcomes: BitSet) -> f64 {
        if let Some(&known) = self.chances.borrow().get(&(finding, outcomes)) {
            return known;
        }
        let shown = self.shown(finding, 1.0);
        let mut row = vec![0.0; shown.outcomes];
        let mut shares = vec![0.0; shown.responses.len()];
        let mut example = vec![0; shown.responses.len()];
        for (at, candidate) in self.candidates.iter().enumerate() {
            let response = shown.of[at] as usize;
            shares[response] += candidate.weight;
            example[response] = at;
        }
        let (mut sum, mut mass) = (0.0, 0.0);
        for (share, example) in shares.iter().zip(example).filter(|(share, _)| **share > 0.0) {
            shown.chances(example, BitSet::default(), &mut row);
            sum += share * outcomes.iter().filter_map(|outcome| row.get(outcome)).sum::<f64>();
            mass += share;
        }
        let chance = if mass > 0.0 { sum / mass } else { 0.0 };
        self.chances.borrow_mut().insert((finding, outcomes), chance);
        chance
    }
}

/// Whether a source differs from candidate to candidate for a reason.
fn is_related(related: &Related, standing: &Standing, source: Source) -> bool {
    match source {
        Source::Cause(cause) => related.causes.contains(&cause),
        Source::Condition(condition) => (standing.conditions.iter())
            .find(|(other, _)| *other == condition)
            .is_some_and(|(_, roots)| roots.causes.iter().any(|cause| related.causes.contains(cause))),
    }
}

/// The tracked causes of which one has to be there for a source to count; empty: it counts whatever is fixed.
fn roots(local: &BTreeMap<(CauseIx, bool), u8>, standing: &Standing, source: Source) -> BitSet {
    let number = |cause: CauseIx| local.get(&(cause, spent(standing, cause))).copied();
    let of = |causes: &[CauseIx]| {
        let mut roots = BitSet::default();
        for &cause in causes {
            match number(cause) {
                Some(at) => roots = roots.with(at.into()),
                None => return BitSet::default(),
            }
        }
        roots
    };
    match source {
        Source::Cause(cause) => of(&[cause]),
        Source::Condition(condition) => {
            standing.conditions.iter().find(|(other, _)| *other == condition).map_or_else(
                BitSet::default,
                |(_, Roots { always, causes })| if *always { BitSet::default() } else { of(causes) },
            )
        }
    }
}

/// Causes that have to go for the complaints to end: culprits, and what leads to them; each with whether the fixes done
/// on it are spent.
fn wanted(standing: &Standing) -> Vec<(CauseIx, bool)> {
    let mut wanted: Vec<CauseIx> = standing.complaint.causes.clone();
    let mut at = 0;
    while at < wanted.len() {
        for (cause, leaders) in &standing.held {
            if *cause == wanted[at] {
                for leader in leaders {
                    if !wanted.contains(leader) {
                        wanted.push(*leader);
                    }
                }
            }
        }
        at += 1;
    }
    wanted.into_iter().map(|cause| (cause, spent(standing, cause))).collect()
}

/// A cause that stands in its own right has used up the success draws of the fixes done on it; one that is held has not.
fn spent(standing: &Standing, cause: CauseIx) -> bool {
    !standing.held.iter().any(|(held, _)| *held == cause)
}

pub(super) fn cumulative(chances: &[f64]) -> Vec<f64> {
    let mut sum = 0.0;
    let mut at_most: Vec<f64> = (chances.iter())
        .map(|chance| {
            sum += chance;
            sum
        })
        .collect();
    if let Some(last) = at_most.last_mut() {
        *last = 1.0;
    }
    at_most
}
