//! From completed samples to candidates, and to what each finding would show of them.
//!
//! In: standings (completed samples). Out: the candidates of the problem, and per finding the factors of what differs from
//! candidate to candidate. Only causes that some candidate wants gone are numbered; what the trouble cannot have to do with
//! enters every candidate alike.

use std::collections::BTreeMap;

use super::compose::Composer;
use super::problem::{Candidate, Factor, Response, Shown};
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

    pub(super) fn collect_factors(&mut self) {
        let network = &self.model.network;
        let later = self.situation.evidence.epoch() > 0;
        let mut shares: BTreeMap<Source, f64> = BTreeMap::new();
        for (at, (standing, weight)) in self.standings.iter().enumerate() {
            if later {
                for (finding, draws) in &standing.draws {
                    self.known.insert(*finding);
                    let abnormal = self.related.findings.contains(finding);
                    for &(source, outcome) in draws {
                        if !abnormal && !source.is_some_and(|source| self.is_related(standing, source)) {
                            continue;
                        }
                        let at_most = (0..network.outcomes(*finding))
                            .map(|v| if v < outcome { 0.0 } else { 1.0 })
                            .collect();
                        let roots =
                            source.map_or_else(BitSet::default, |source| self.roots(standing, source));
                        self.factors[finding.at()].push((at, Factor { roots, at_most, absent: false }));
                    }
                }
            }
            let causes = standing.causes.iter().map(|cause| Source::Cause(*cause));
            let conditions = standing.conditions.iter().map(|(condition, _)| Source::Condition(*condition));
            for source in causes.chain(conditions) {
                if !self.is_related(standing, source) {
                    *shares.entry(source).or_insert(0.0) += weight;
                    continue;
                }
                let roots = self.roots(standing, source);
                for (finding, chances) in network.shows(source) {
                    if !(later && standing.draws.iter().any(|(known, _)| *known == finding)) {
                        self.factors[finding.at()]
                            .push((at, Factor { roots, at_most: cumulative(chances), absent: false }));
                    }
                }
            }
        }
        // What is not related counts alike in all candidates: there with its share of the samples.
        for (source, share) in shares {
            for (finding, chances) in network.shows(source) {
                for (whole, at_most) in self.background[finding.at()].iter_mut().zip(cumulative(chances)) {
                    *whole *= 1.0 - share * (1.0 - at_most);
                }
            }
        }
    }

    /// Whether a source differs from candidate to candidate for a reason.
    pub(super) fn is_related(&self, standing: &Standing, source: Source) -> bool {
        match source {
            Source::Cause(cause) => self.related.causes.contains(&cause),
            Source::Condition(condition) => {
                (standing.conditions.iter()).find(|(other, _)| *other == condition).is_some_and(
                    |(_, roots)| roots.causes.iter().any(|cause| self.related.causes.contains(cause)),
                )
            }
        }
    }

    /// The tracked causes of which one has to be there for a source to count; empty: it counts whatever is fixed.
    pub(super) fn roots(&self, standing: &Standing, source: Source) -> BitSet {
        let number = |cause: CauseIx| self.local.get(&(cause, spent(standing, cause))).copied();
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
                    |(_, Roots { always, causes })| {
                        if *always { BitSet::default() } else { of(causes) }
                    },
                )
            }
        }
    }

    /// What a finding shows, as reported with this trust.
    pub(super) fn shown(&self, finding: FindingIx, trust: f64) -> Shown {
        let network = &self.model.network;
        let leak = Factor {
            roots: BitSet::default(),
            at_most: self.background[finding.at()].clone(),
            absent: false,
        };
        let mut responses = vec![Response(vec![leak.clone()])];
        let mut of = vec![0; self.candidates.len()];
        let known = self.known.contains(&finding);
        if known {
            // Draws are known candidate by candidate: the leak's are among them.
            for (at, (standing, _)) in self.standings.iter().enumerate() {
                if standing.draws.iter().any(|(other, _)| *other == finding) {
                    of[at] = responses.len() as u32;
                    responses.push(Response::default());
                }
            }
        }
        for (candidate, factor) in &self.factors[finding.at()] {
            if of[*candidate] == 0 {
                of[*candidate] = responses.len() as u32;
                responses.push(Response(vec![leak.clone()]));
            }
            responses[of[*candidate] as usize].0.push(factor.clone());
        }
        Shown { outcomes: network.outcomes(finding), of, responses, trust }
    }

    /// The chance that a finding has one of these outcomes now.
    pub(super) fn chance(&self, finding: FindingIx, outcomes: BitSet) -> f64 {
        let shown = self.shown(finding, 1.0);
        let mut row = vec![0.0; shown.outcomes];
        let (mut sum, mut mass) = (0.0, 0.0);
        for (at, candidate) in self.candidates.iter().enumerate() {
            shown.chances(at, BitSet::default(), &mut row);
            let chance: f64 = outcomes.iter().filter_map(|outcome| row.get(outcome)).sum();
            sum += candidate.weight * chance;
            mass += candidate.weight;
        }
        if mass > 0.0 { sum / mass } else { 0.0 }
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
