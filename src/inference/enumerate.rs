//! The oracle: the story told literally, over every way in which all its draws can fall.
//!
//! In: a small network and evidence. Out: everything that the room computes, by plain enumeration. It shares nothing
//! with the sweep but the numbers and is kept naive on purpose: tests and `--verify` hold the sweep against it.
//!
//! The story: every draw is made once, beforehand, whether or not its owner is there (a cause in its own right, each
//! link, each leak, each pair of fix and cause). Then the epochs are lived through one by one: who is there, which
//! conditions hold, what every finding shows.
//!
//! Cost: the product of the numbers of ways of all draws, times the size of the network. Beyond a stated limit it
//! refuses with [`InferenceError::TooWide`].

use std::collections::BTreeMap;

use super::{Candidate, Effort, Evidence, InferenceError, Posterior, Told};
use crate::model::index::{CauseIx, ConditionIx, FindingIx, FixIx};
use crate::model::network::{Network, Source};

/// All results at once.
#[derive(Clone, PartialEq, Debug)]
pub struct Everything {
    /// Causes and conditions.
    pub posterior: Posterior,
    /// Per finding and outcome, the probability that it would show now.
    pub predictions: Vec<Vec<f64>>,
    /// Every set of causes that is possible now, most probable first, ties by the causes in it.
    pub candidates: Vec<Candidate>,
}

/// Enumerates at most `limit` ways.
///
/// # Errors
/// Evidence that does not fit the network, has probability zero, or a model with more ways than `limit`.
pub fn everything(network: &Network, evidence: &Evidence, limit: u64) -> Result<Everything, InferenceError> {
    evidence.check(network)?;
    let draws = draws(network);
    let ways = draws.iter().fold(1_u64, |n, d| n.saturating_mul(d.ways.len() as u64));
    if ways > limit {
        return Err(InferenceError::TooWide(Effort { width: draws.len(), states: 1, steps: ways }));
    }
    let mut sums = Sums::new(network);
    let mut drawn = vec![0; draws.len()];
    tell(&draws, 0, 1.0, &mut drawn, &mut |drawn, chance| {
        let fallen = Fallen::new(&draws, drawn);
        let history = live(network, evidence, &fallen);
        let weight = chance * evidence_weight(evidence, &history);
        if weight > 0.0 {
            sums.add(&history, weight);
        }
    });
    sums.results()
}

/// What is drawn.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
enum What {
    /// Whether a cause is there in its own right.
    Own(CauseIx),
    /// Whether the n-th link into a led cause says yes.
    Lead(CauseIx, usize),
    /// Whether a fix succeeds with a cause.
    Success(FixIx, CauseIx),
    /// Whether a condition holds without a source.
    ConditionLeak(ConditionIx),
    /// Whether the n-th link into a condition says yes.
    Bring(ConditionIx, usize),
    /// The outcome of a finding's leak.
    Leak(FindingIx),
    /// The outcome of the n-th link into a finding.
    Show(FindingIx, usize),
}

/// One draw with the ways in which it can fall; impossible ways left out.
struct Draw {
    what: What,
    ways: Vec<(usize, f64)>,
}

fn draws(network: &Network) -> Vec<Draw> {
    let mut draws = Vec::new();
    let mut push = |what, chances: &[f64]| {
        let ways = chances.iter().copied().enumerate().filter(|&(_, c)| c > 0.0).collect();
        draws.push(Draw { what, ways });
    };
    let yes = |chance: f64| [1.0 - chance, chance];
    for cause in (0..network.causes()).map(CauseIx::new) {
        push(What::Own(cause), &yes(network.prior(cause)));
        for (n, &(_, chance)) in network.led_by(cause).iter().enumerate() {
            push(What::Lead(cause, n), &yes(chance));
        }
        for &(fix, chance) in network.removed_by(cause) {
            push(What::Success(fix, cause), &yes(chance));
        }
    }
    for condition in (0..network.conditions()).map(ConditionIx::new) {
        push(What::ConditionLeak(condition), &yes(network.condition_leak(condition)));
        for (n, &(_, chance)) in network.brought_by(condition).iter().enumerate() {
            push(What::Bring(condition, n), &yes(chance));
        }
    }
    for finding in (0..network.findings()).map(FindingIx::new) {
        push(What::Leak(finding), network.leak(finding));
        for (n, (_, chances)) in network.shown_by(finding).enumerate() {
            push(What::Show(finding, n), chances);
        }
    }
    draws
}

/// Calls `each` with every way in which the draws from `at` on can fall, and its chance.
fn tell(draws: &[Draw], at: usize, chance: f64, drawn: &mut [usize], each: &mut impl FnMut(&[usize], f64)) {
    let Some(draw) = draws.get(at) else { return each(drawn, chance) };
    for &(way, way_chance) in &draw.ways {
        drawn[at] = way;
        tell(draws, at + 1, chance * way_chance, drawn, each);
    }
}

/// How all draws fell.
struct Fallen<'a> {
    draws: &'a [Draw],
    drawn: &'a [usize],
}

impl<'a> Fallen<'a> {
    const fn new(draws: &'a [Draw], drawn: &'a [usize]) -> Self {
        Self { draws, drawn }
    }

    /// How `what` fell. Draws are made in the order of their owners, not of [`What`], hence the plain search.
    fn of(&self, what: What) -> usize {
        self.draws.iter().position(|d| d.what == what).map_or(0, |at| self.drawn[at])
    }

    fn yes(&self, what: What) -> bool {
        self.of(what) == 1
    }
}

/// What was the case in one epoch.
struct Epoch {
    causes: Vec<bool>,
    conditions: Vec<bool>,
    findings: Vec<usize>,
}

/// Lives through all epochs.
fn live(network: &Network, evidence: &Evidence, fallen: &Fallen<'_>) -> Vec<Epoch> {
    let mut causes = vec![false; network.causes()];
    for &cause in network.cause_order() {
        let led = network
            .led_by(cause)
            .iter()
            .enumerate()
            .any(|(n, &(leader, _))| causes[leader.at()] && fallen.yes(What::Lead(cause, n)));
        causes[cause.at()] = led || fallen.yes(What::Own(cause));
    }
    let mut history = vec![shows(network, causes.clone(), fallen)];
    for fix in evidence.fixes() {
        for &cause in network.cause_order() {
            // Leaders come first: `causes` already says which of them stand after this fix.
            let breaks_again = network
                .led_by(cause)
                .iter()
                .enumerate()
                .any(|(n, &(leader, _))| causes[leader.at()] && fallen.yes(What::Lead(cause, n)));
            if fallen.yes(What::Success(fix, cause)) && !breaks_again {
                causes[cause.at()] = false;
            }
        }
        history.push(shows(network, causes.clone(), fallen));
    }
    history
}

/// What holds and shows while these causes are there.
fn shows(network: &Network, causes: Vec<bool>, fallen: &Fallen<'_>) -> Epoch {
    let mut conditions = vec![false; network.conditions()];
    for &condition in network.condition_order() {
        let brought = network.brought_by(condition).iter().enumerate().any(|(n, &(slot, _))| {
            let there = match network.source(slot as usize) {
                Source::Cause(cause) => causes[cause.at()],
                Source::Condition(other) => conditions[other.at()],
            };
            there && fallen.yes(What::Bring(condition, n))
        });
        conditions[condition.at()] = brought || fallen.yes(What::ConditionLeak(condition));
    }
    let mut findings = Vec::with_capacity(network.findings());
    for finding in (0..network.findings()).map(FindingIx::new) {
        let mut outcome = fallen.of(What::Leak(finding));
        for (n, (source, _)) in network.shown_by(finding).enumerate() {
            let there = match source {
                Source::Cause(cause) => causes[cause.at()],
                Source::Condition(condition) => conditions[condition.at()],
            };
            if there {
                outcome = outcome.max(fallen.of(What::Show(finding, n)));
            }
        }
        findings.push(outcome);
    }
    Epoch { causes, conditions, findings }
}

/// The chance of all reports, given what was the case.
fn evidence_weight(evidence: &Evidence, history: &[Epoch]) -> f64 {
    let mut weight = 1.0;
    for (epoch, told) in evidence.by_epoch() {
        let epoch = &history[epoch];
        weight *= match told {
            Told::Finding { among, weights } => {
                weights[among.iter().map(|f| epoch.findings[f.at()]).max().unwrap_or_default()]
            }
            Told::Cause { cause, present } => f64::from(u8::from(epoch.causes[cause.at()] == *present)),
            Told::Fix(_) => 1.0,
        };
    }
    weight
}

/// A sum of many terms with Neumaier's compensation, so that the oracle's own rounding stays near one unit in the
/// last place.
#[derive(Clone, Copy, Default)]
struct Sum(f64, f64);

impl Sum {
    fn add(&mut self, term: f64) {
        let total = self.0 + term;
        self.1 += if self.0.abs() >= term.abs() { (self.0 - total) + term } else { (term - total) + self.0 };
        self.0 = total;
    }

    fn over(self, whole: f64) -> f64 {
        (self.0 + self.1) / whole
    }
}

/// The weights of everything asked for.
struct Sums {
    all: Sum,
    now: Vec<Sum>,
    at_first: Vec<Sum>,
    conditions_now: Vec<Sum>,
    findings: Vec<Vec<Sum>>,
    sets: BTreeMap<Vec<CauseIx>, Sum>,
}

impl Sums {
    fn new(network: &Network) -> Self {
        let findings = (0..network.findings()).map(FindingIx::new);
        Self {
            all: Sum::default(),
            now: vec![Sum::default(); network.causes()],
            at_first: vec![Sum::default(); network.causes()],
            conditions_now: vec![Sum::default(); network.conditions()],
            findings: findings.map(|f| vec![Sum::default(); network.outcomes(f)]).collect(),
            sets: BTreeMap::new(),
        }
    }

    fn add(&mut self, history: &[Epoch], weight: f64) {
        let (Some(first), Some(now)) = (history.first(), history.last()) else { return };
        self.all.add(weight);
        add_where(&mut self.at_first, &first.causes, weight);
        add_where(&mut self.now, &now.causes, weight);
        add_where(&mut self.conditions_now, &now.conditions, weight);
        for (sums, &outcome) in self.findings.iter_mut().zip(&now.findings) {
            sums[outcome].add(weight);
        }
        let set = (0..now.causes.len()).filter(|&c| now.causes[c]).map(CauseIx::new).collect();
        self.sets.entry(set).or_default().add(weight);
    }

    fn results(self) -> Result<Everything, InferenceError> {
        let whole = self.all.over(1.0);
        if whole == 0.0 {
            return Err(InferenceError::Impossible);
        }
        let share = |sums: Vec<Sum>| sums.into_iter().map(|s| s.over(whole)).collect::<Vec<f64>>();
        let none_listed = self.sets.get(&Vec::new()).map_or(0.0, |s| s.over(whole));
        let mut candidates: Vec<Candidate> = self
            .sets
            .into_iter()
            .map(|(causes, sum)| Candidate { causes, probability: sum.over(whole) })
            .collect();
        candidates.sort_by(|a, b| b.probability.total_cmp(&a.probability)); // stable: ties stay in order of the sets
        Ok(Everything {
            posterior: Posterior {
                ln_evidence: whole.ln(),
                now: share(self.now),
                at_first: share(self.at_first),
                conditions_now: share(self.conditions_now),
                none_listed,
            },
            predictions: self.findings.into_iter().map(share).collect(),
            candidates,
        })
    }
}

fn add_where(sums: &mut [Sum], there: &[bool], weight: f64) {
    for (sum, _) in sums.iter_mut().zip(there).filter(|(_, there)| **there) {
        sum.add(weight);
    }
}
