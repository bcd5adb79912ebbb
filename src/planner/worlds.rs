//! Joint samples of the story given the evidence.
//!
//! Causes are proposed one by one from their exact posterior, everything else from the story itself; each trial weighs
//! P(story) ÷ P(proposal) × P(evidence | trial) (importance sampling; Rubin 1987 for the resampling). The findings are not
//! drawn but summed out: only for the trials that are kept, what each source drew is then drawn given what was reported.
//! Systematic resampling keeps the number of copies of each trial within one of its share, and the same seed gives the same
//! samples. As the number of trials grows the samples become exact; the proposal already has the exact marginals.
//!
//! A finding that is reported more than once (retaken, or also among several) has its draws in common, so it is drawn in
//! every trial. Cost: trials × (causes that the evidence touches + links of what is there into findings told).

use std::collections::BTreeSet;

use super::standing::{Chance, Draws};
use crate::inference::{Evidence, InferenceError, Limits, Told, World, posterior};
use crate::model::index::{CauseIx, ConditionIx, FindingIx, FixIx};
use crate::model::network::{Network, Source};

/// Trials for each sample that is kept.
const TRIALS: usize = 4;
/// No proposal is surer than this, so that no truth is left out.
const SUREST: f64 = 0.98;

/// `count` worlds drawn with their probability given the evidence.
///
/// # Errors
/// As [`posterior`]; [`InferenceError::Impossible`] too where no trial agrees with the evidence.
pub(crate) fn worlds(
    network: &Network,
    evidence: &Evidence,
    count: usize,
    seed: u64,
) -> Result<Vec<World>, InferenceError> {
    let believed = posterior(network, evidence, &Limits::default())?;
    let plan = Plan::new(network, evidence, &believed.at_first, &believed.conditions_now);
    let mut chance = Chance(seed);
    let mut trials = Vec::new();
    // More rounds while nothing agrees: evidence that only rare draws explain.
    for _ in 0..16 {
        for _ in 0..count * TRIALS {
            let trial = plan.trial(&mut chance);
            if trial.weight > 0.0 {
                trials.push(trial);
            }
        }
        if !trials.is_empty() {
            break;
        }
    }
    let total: f64 = trials.iter().map(|trial| trial.weight).sum();
    if total <= 0.0 {
        return Err(InferenceError::Impossible);
    }
    let step = total / count as f64;
    let mut next = chance.next() * step;
    let (mut sum, mut kept) = (0.0, Vec::with_capacity(count));
    for trial in &trials {
        sum += trial.weight;
        while next < sum && kept.len() < count {
            kept.push(plan.world(trial, &mut chance));
            next += step;
        }
    }
    while kept.len() < count {
        let Some(trial) = trials.last() else { break };
        kept.push(plan.world(trial, &mut chance));
    }
    Ok(kept)
}

/// One way in which everything may have come, findings reported once aside.
struct Trial {
    weight: f64,
    /// For each epoch, causes there (by position in the network) and conditions that hold.
    epochs: Vec<(Vec<bool>, Vec<bool>)>,
    /// Draws of the findings that are reported more than once: for each of these, the leak, then its links.
    drawn: Vec<Vec<usize>>,
}

struct Plan<'a> {
    network: &'a Network,
    evidence: &'a Evidence,
    fixes: Vec<FixIx>,
    /// For each cause, the chance with which it is proposed to be there in its own right.
    proposed: Vec<f64>,
    leaks: Vec<f64>,
    /// Findings reported more than once.
    shared: Vec<FindingIx>,
    /// Findings that the evidence speaks of.
    told: Vec<FindingIx>,
}

impl<'a> Plan<'a> {
    fn new(network: &'a Network, evidence: &'a Evidence, at_first: &[f64], conditions: &[f64]) -> Self {
        let proposed = (at_first.iter().zip(network.priors()))
            .map(|(&now, &prior)| match prior {
                p if p <= 0.0 || p >= 1.0 => p,
                p => now.clamp(p.min(1.0 - SUREST).max(p * 0.5), SUREST.max(p)),
            })
            .collect();
        let leaks = (conditions.iter().enumerate())
            .map(|(at, &now)| match network.condition_leak(ConditionIx::new(at)) {
                p if p <= 0.0 || p >= 1.0 => p,
                p => p.max(0.25 * now),
            })
            .collect();
        let mut counts: std::collections::BTreeMap<FindingIx, usize> = Default::default();
        for told in &evidence.told {
            if let Told::Finding { among, .. } = told {
                for finding in among {
                    *counts.entry(*finding).or_insert(0) += 1;
                }
            }
        }
        let shared = counts.iter().filter(|(_, count)| **count > 1).map(|(finding, _)| *finding).collect();
        Self {
            network,
            evidence,
            fixes: evidence.fixes().collect(),
            proposed,
            leaks,
            shared,
            told: counts.into_keys().collect(),
        }
    }

    /// Draws everything but the findings that are reported once, and weighs it.
    fn trial(&self, chance: &mut Chance) -> Trial {
        let network = self.network;
        let mut weight = 1.0;
        let mut causes = vec![false; network.causes()];
        let mut leads: BTreeSet<(CauseIx, CauseIx)> = BTreeSet::new();
        for &cause in network.cause_order() {
            let (q, p) = (self.proposed[cause.at()], network.prior(cause));
            let own = chance.next() < q;
            if q != p {
                weight *= if own { p / q } else { (1.0 - p) / (1.0 - q) };
            }
            let mut led = false;
            for &(leader, link) in network.led_by(cause) {
                if causes[leader.at()] && chance.next() < link {
                    leads.insert((leader, cause));
                    led = true;
                }
            }
            causes[cause.at()] = own || led;
        }
        let mut condition_leak = Vec::with_capacity(network.conditions());
        let mut brought: Vec<Vec<bool>> = Vec::with_capacity(network.conditions());
        for at in 0..network.conditions() {
            let condition = ConditionIx::new(at);
            let (q, p) = (self.leaks[at], network.condition_leak(condition));
            let leak = q > 0.0 && chance.next() < q;
            if q != p {
                weight *= if leak { p / q } else { (1.0 - p) / (1.0 - q) };
            }
            condition_leak.push(leak);
            brought
                .push(network.brought_by(condition).iter().map(|(_, link)| chance.next() < *link).collect());
        }
        let holds = |causes: &[bool]| {
            let mut conditions = vec![false; network.conditions()];
            for &condition in network.condition_order() {
                let reached = network.brought_by(condition).iter().enumerate().any(|(link, &(slot, _))| {
                    brought[condition.at()][link]
                        && match network.source(slot as usize) {
                            Source::Cause(cause) => causes[cause.at()],
                            Source::Condition(other) => conditions[other.at()],
                        }
                });
                conditions[condition.at()] = reached || condition_leak[condition.at()];
            }
            conditions
        };
        let first = holds(&causes);
        let mut epochs = vec![(causes.clone(), first)];
        let mut done: BTreeSet<(FixIx, CauseIx)> = BTreeSet::new(); // success draws that came out no
        for &fix in &self.fixes {
            for &cause in network.cause_order() {
                let Some(&(_, q)) = network.removes(fix).iter().find(|(other, _)| *other == cause) else {
                    continue;
                };
                let breaks_again = (network.led_by(cause).iter())
                    .any(|(leader, _)| causes[leader.at()] && leads.contains(&(*leader, cause)));
                if !causes[cause.at()] || breaks_again || done.contains(&(fix, cause)) {
                    continue;
                }
                if chance.next() < q {
                    causes[cause.at()] = false;
                } else {
                    done.insert((fix, cause));
                }
            }
            let conditions = holds(&causes);
            epochs.push((causes.clone(), conditions));
        }
        let drawn: Vec<Vec<usize>> = (self.shared.iter())
            .map(|&finding| {
                let mut draws = vec![chance.pick(network.leak(finding))];
                draws.extend(network.shown_by(finding).map(|(_, chances)| chance.pick(chances)));
                draws
            })
            .collect();
        let mut trial = Trial { weight, epochs, drawn };
        trial.weight *= self.agreement(&trial);
        trial
    }

    /// P(evidence | trial), the findings that are reported once summed out.
    fn agreement(&self, trial: &Trial) -> f64 {
        let mut weight = 1.0;
        for (epoch, told) in self.evidence.by_epoch() {
            weight *= match told {
                Told::Fix(_) => 1.0,
                Told::Cause { cause, present } => {
                    f64::from(u8::from(trial.epochs[epoch].0[cause.at()] == *present))
                }
                Told::Finding { among, weights } => {
                    let at_most = self.at_most(trial, epoch, among, weights.len());
                    (0..weights.len())
                        .map(|v| weights[v] * (at_most[v] - if v > 0 { at_most[v - 1] } else { 0.0 }))
                        .sum::<f64>()
                        .max(0.0)
                }
            };
            if weight <= 0.0 {
                return 0.0;
            }
        }
        weight
    }

    /// P(the highest over these findings ≤ v) in an epoch.
    fn at_most(&self, trial: &Trial, epoch: usize, among: &[FindingIx], outcomes: usize) -> Vec<f64> {
        let mut at_most = vec![1.0; outcomes];
        for &finding in among {
            for (_, chances) in self.sources(trial, epoch, finding) {
                let mut sum = 0.0;
                for (v, whole) in at_most.iter_mut().enumerate() {
                    sum += chances.get(v).copied().unwrap_or(0.0);
                    *whole *= if v + 1 == outcomes { 1.0 } else { sum.min(1.0) };
                }
            }
        }
        at_most
    }

    /// The sources of a finding that count in an epoch, each with the chances of its draw: certain for shared findings.
    fn sources(&self, trial: &Trial, epoch: usize, finding: FindingIx) -> Vec<(Option<Source>, Vec<f64>)> {
        let (causes, conditions) = &trial.epochs[epoch];
        let known = self.shared.binary_search(&finding).ok().map(|at| &trial.drawn[at]);
        let certain = |outcome: usize, outcomes: usize| {
            (0..outcomes).map(|v| f64::from(u8::from(v == outcome))).collect::<Vec<f64>>()
        };
        let chances = |chances: &[f64], at: usize| {
            known.map_or_else(|| chances.to_vec(), |draws| certain(draws[at], chances.len()))
        };
        let mut sources = vec![(None, chances(self.network.leak(finding), 0))];
        for (at, (source, own)) in self.network.shown_by(finding).enumerate() {
            let there = match source {
                Source::Cause(cause) => causes[cause.at()],
                Source::Condition(condition) => conditions[condition.at()],
            };
            if there {
                sources.push((Some(source), chances(own, at + 1)));
            }
        }
        sources
    }

    /// The world of a trial: what is there now, and what each source that is there now drew for the findings told.
    fn world(&self, trial: &Trial, chance: &mut Chance) -> World {
        let now = trial.epochs.len() - 1;
        let mut draws: Draws = Vec::new();
        for (epoch, told) in self.evidence.by_epoch() {
            let Told::Finding { among, weights } = told else { continue };
            let at_most = self.at_most(trial, epoch, among, weights.len());
            let chances: Vec<f64> = (0..weights.len())
                .map(|v| (weights[v] * (at_most[v] - if v > 0 { at_most[v - 1] } else { 0.0 })).max(0.0))
                .collect();
            let highest = chance.pick_of(&chances);
            let mut sources: Vec<(FindingIx, Option<Source>, Vec<f64>)> = Vec::new();
            for &finding in among {
                for (source, chances) in self.sources(trial, epoch, finding) {
                    sources.push((finding, source, chances));
                }
            }
            let outcomes = draw_to(&sources, highest, chance);
            for &finding in among {
                let drawn: Vec<(Option<Source>, usize)> = (sources.iter().zip(&outcomes))
                    .filter(|((of, source, _), outcome)| {
                        *of == finding && **outcome > 0 && self.there(trial, now, *source)
                    })
                    .map(|((_, source, _), outcome)| (*source, *outcome))
                    .collect();
                if !draws.iter().any(|(known, _)| *known == finding) {
                    draws.push((finding, drawn));
                }
            }
        }
        // Draws of shared findings are those of the trial, whichever report came first.
        for (&finding, known) in self.shared.iter().zip(&trial.drawn) {
            let mut all = vec![(None, known[0])];
            all.extend(
                self.network
                    .shown_by(finding)
                    .zip(&known[1..])
                    .map(|((source, _), outcome)| (Some(source), *outcome)),
            );
            all.retain(|(source, outcome)| *outcome > 0 && self.there(trial, now, *source));
            if let Some((_, drawn)) = draws.iter_mut().find(|(other, _)| *other == finding) {
                *drawn = all;
            }
        }
        draws.sort_by_key(|(finding, _)| *finding);
        debug_assert_eq!(draws.len(), self.told.len());
        let (causes, conditions) = &trial.epochs[now];
        World {
            causes_now: (0..causes.len()).filter(|&at| causes[at]).map(CauseIx::new).collect(),
            conditions_now: (0..conditions.len())
                .filter(|&at| conditions[at])
                .map(ConditionIx::new)
                .collect(),
            draws,
        }
    }

    fn there(&self, trial: &Trial, epoch: usize, source: Option<Source>) -> bool {
        let (causes, conditions) = &trial.epochs[epoch];
        match source {
            None => true,
            Some(Source::Cause(cause)) => causes[cause.at()],
            Some(Source::Condition(condition)) => conditions[condition.at()],
        }
    }
}

/// Draws of independent sources given that the highest of them is `highest`.
fn draw_to(
    sources: &[(FindingIx, Option<Source>, Vec<f64>)],
    highest: usize,
    chance: &mut Chance,
) -> Vec<usize> {
    let reaches: Vec<f64> = (sources.iter())
        .map(|(_, _, chances)| {
            let within: f64 = chances.iter().take(highest + 1).sum();
            if within > 0.0 { chances.get(highest).copied().unwrap_or(0.0) / within } else { 0.0 }
        })
        .collect();
    let reach: Vec<usize> =
        if highest == 0 { (0..sources.len()).collect() } else { chance.at_least_one(&reaches) };
    (sources.iter().enumerate())
        .map(|(at, (_, _, chances))| match reach.contains(&at) {
            true => highest,
            false => chance.pick_of(&chances[..highest.min(chances.len())]),
        })
        .collect()
}
