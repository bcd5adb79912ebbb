//! What is really the case on a simulated site: the story of the model, told once for a seed.
//!
//! In: a model, a seed, the causes that are there. Out: what every finding shows, now and after every fix. The draws are
//! those of the story (causes, conditions, `leads-to`, noisy-MAX findings, success of fixes; `inference::enumerate` tells it
//! literally), each by its name ([`chance`](super::chance)), so that retaking a finding repeats its draws. Invariant:
//! nothing is drawn twice; a draw counts while its owner is there.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::chance::{fall, named, unit};
use crate::model::Model;
use crate::model::index::{CauseIx, ConditionIx, FindingIx, FixIx};
use crate::model::network::{Network, Source};

/// A model with the names by which its draws are made.
#[derive(Clone, Debug)]
pub struct Story {
    /// The model.
    pub model: Model,
    /// Whether findings and conditions also show by themselves, as the model's leaks say.
    pub leaks: bool,
    /// By slot: causes first, then conditions.
    sources: Vec<u64>,
    findings: Vec<u64>,
    fixes: Vec<u64>,
}

/// What a draw is about, beside its owners.
const OWN: u64 = 1;
const LEAD: u64 = 2;
const SUCCESS: u64 = 3;
const CONDITION_LEAK: u64 = 4;
const BRING: u64 = 5;
const LEAK: u64 = 6;
const SHOW: u64 = 7;

impl Story {
    /// The story of a model; without `leaks`, whatever no cause brings about is in order. Linear in the items.
    #[must_use]
    pub fn new(model: Model, leaks: bool) -> Self {
        let causes = model.causes.iter().map(|cause| named(&cause.id));
        let sources = causes.chain(model.conditions.iter().map(|condition| named(&condition.id))).collect();
        let findings = model.findings.iter().map(|finding| named(&finding.id)).collect();
        let fixes = model.fixes.iter().map(|fix| named(&fix.id)).collect();
        Self { model, leaks, sources, findings, fixes }
    }

    /// The symptoms of the model.
    pub fn symptoms(&self) -> impl Iterator<Item = FindingIx> {
        let all = self.model.findings.iter().enumerate();
        all.filter(|(_, finding)| finding.symptom.is_some()).map(|(at, _)| FindingIx::new(at))
    }
}

/// How everything stands on a site.
#[derive(Clone, Debug)]
pub struct Truth {
    story: Arc<Story>,
    seed: u64,
    causes: Vec<bool>,
    conditions: Vec<bool>,
    /// Conditions that some cause holds, leaks aside.
    brought: Vec<bool>,
    /// Findings that show this while some cause behind them (any cause, where none is) is there, whatever was drawn.
    pinned: BTreeMap<FindingIx, (usize, BTreeSet<CauseIx>)>,
    /// Success draws that are settled: which fix takes which cause away.
    settled: BTreeMap<(FixIx, CauseIx), bool>,
}

impl Truth {
    /// The site on which these causes are there of themselves, and with them what they lead to by their draws.
    #[must_use]
    pub fn with(story: Arc<Story>, seed: u64, hidden: &[CauseIx]) -> Self {
        Self::told(story, seed, |_, cause| hidden.contains(&cause))
    }

    /// A site drawn from the priors.
    #[must_use]
    pub fn drawn(story: Arc<Story>, seed: u64) -> Self {
        Self::told(story, seed, |story, cause| {
            unit(seed, &[OWN, story.sources[cause.at()]]) < story.model.network.prior(cause)
        })
    }

    fn told(story: Arc<Story>, seed: u64, own: impl Fn(&Story, CauseIx) -> bool) -> Self {
        let mut truth = Self {
            causes: vec![false; story.model.network.causes()],
            conditions: vec![false; story.model.network.conditions()],
            brought: vec![false; story.model.network.conditions()],
            pinned: BTreeMap::new(),
            settled: BTreeMap::new(),
            story: Arc::clone(&story),
            seed,
        };
        for &cause in story.model.network.cause_order() {
            truth.causes[cause.at()] = own(&story, cause) || truth.is_led(cause);
        }
        truth.settle();
        truth
    }

    /// The story that is told here.
    #[must_use]
    pub const fn story(&self) -> &Arc<Story> {
        &self.story
    }

    /// The seed of the draws.
    #[must_use]
    pub const fn seed(&self) -> u64 {
        self.seed
    }

    /// Lets a finding show this outcome for as long as a cause behind it is there (any cause, where none of those that are
    /// there now is behind it), whatever was drawn.
    pub fn pin(&mut self, finding: FindingIx, outcome: usize) {
        let behind = behind(&self.story.model.network, finding);
        let there = self.causes();
        let mut by: BTreeSet<CauseIx> =
            there.iter().copied().filter(|cause| behind.contains(cause)).collect();
        if by.is_empty() {
            by.extend(there);
        }
        self.pinned.insert(finding, (outcome, by));
    }

    /// Settles whether a fix takes a cause away, whatever was drawn.
    pub fn settle_fix(&mut self, fix: FixIx, cause: CauseIx, takes_away: bool) {
        self.settled.insert((fix, cause), takes_away);
    }

    /// Whether the cause is there now.
    #[must_use]
    pub fn is_there(&self, cause: CauseIx) -> bool {
        self.causes.get(cause.at()).copied().unwrap_or(false)
    }

    /// The causes that are there now.
    #[must_use]
    pub fn causes(&self) -> Vec<CauseIx> {
        (0..self.causes.len()).filter(|&at| self.causes[at]).map(CauseIx::new).collect()
    }

    /// What the finding shows now.
    #[must_use]
    pub fn outcome(&self, finding: FindingIx) -> usize {
        self.highest(finding, self.story.leaks, &self.conditions)
    }

    /// Whether the finding is abnormal because of a cause, leaks aside.
    #[must_use]
    pub fn owed(&self, finding: FindingIx) -> bool {
        self.highest(finding, false, &self.brought) != 0
    }

    /// Does a fix: causes whose success draw is yes are gone, but for those that break again because a cause that leads to
    /// them stands.
    pub fn fix(&mut self, fix: FixIx) {
        let story = Arc::clone(&self.story);
        for &cause in story.model.network.cause_order() {
            if self.causes[cause.at()] && self.takes_away(fix, cause) && !self.is_led(cause) {
                self.causes[cause.at()] = false;
            }
        }
        self.settle();
    }

    fn takes_away(&self, fix: FixIx, cause: CauseIx) -> bool {
        if let Some(settled) = self.settled.get(&(fix, cause)) {
            return *settled;
        }
        let removes = self.story.model.network.removes(fix).iter();
        let draw = [SUCCESS, self.story.fixes[fix.at()], self.story.sources[cause.at()]];
        removes.into_iter().any(|&(other, chance)| other == cause && unit(self.seed, &draw) < chance)
    }

    /// Whether a cause that stands leads to this one by its draw.
    fn is_led(&self, cause: CauseIx) -> bool {
        self.story.model.network.led_by(cause).iter().enumerate().any(|(number, &(leader, chance))| {
            let about =
                [LEAD, self.story.sources[leader.at()], self.story.sources[cause.at()], number as u64];
            self.causes[leader.at()] && unit(self.seed, &about) < chance
        })
    }

    /// The conditions that hold now.
    fn settle(&mut self) {
        let story = Arc::clone(&self.story);
        let network = &story.model.network;
        let causes = network.causes();
        for &condition in network.condition_order() {
            let own = story.sources[causes + condition.at()];
            let leaked =
                story.leaks && unit(self.seed, &[CONDITION_LEAK, own]) < network.condition_leak(condition);
            let (mut holds, mut brought) = (leaked, false);
            for (number, &(slot, chance)) in network.brought_by(condition).iter().enumerate() {
                let about = [BRING, story.sources[slot as usize], own, number as u64];
                if unit(self.seed, &about) < chance {
                    holds |= self.there(network.source(slot as usize), &self.conditions);
                    brought |= self.there(network.source(slot as usize), &self.brought);
                }
            }
            (self.conditions[condition.at()], self.brought[condition.at()]) = (holds, brought);
        }
    }

    fn there(&self, source: Source, conditions: &[bool]) -> bool {
        match source {
            Source::Cause(cause) => self.causes[cause.at()],
            Source::Condition(ConditionIx(at)) => conditions[at as usize],
        }
    }

    /// The highest outcome drawn for a finding.
    fn highest(&self, finding: FindingIx, leaks: bool, conditions: &[bool]) -> usize {
        let story = &*self.story;
        if let Some((outcome, by)) = self.pinned.get(&finding)
            && by.iter().any(|cause| self.causes[cause.at()])
        {
            return *outcome;
        }
        let network = &story.model.network;
        let own = story.findings[finding.at()];
        let mut highest = if leaks { fall(unit(self.seed, &[LEAK, own]), network.leak(finding)) } else { 0 };
        let outcomes = network.outcomes(finding);
        let (sources, chances) = network.links_into(finding);
        for (at, (&slot, chances)) in sources.iter().zip(chances.chunks_exact(outcomes)).enumerate() {
            if self.there(network.source(slot as usize), conditions) {
                // The same source may show the same finding more than once.
                let number = sources[..at].iter().filter(|other| **other == slot).count() as u64;
                let draw = unit(self.seed, &[SHOW, story.sources[slot as usize], own, number]);
                highest = highest.max(fall(draw, chances));
            }
        }
        highest
    }
}

/// The causes with a path to a finding.
fn behind(network: &Network, finding: FindingIx) -> BTreeSet<CauseIx> {
    let mut open: Vec<Source> = network.shown_by(finding).map(|(source, _)| source).collect();
    let (mut causes, mut conditions) = (BTreeSet::new(), BTreeSet::new());
    while let Some(source) = open.pop() {
        match source {
            Source::Cause(cause) => {
                causes.insert(cause);
            }
            Source::Condition(condition) => {
                if conditions.insert(condition) {
                    let by = network.brought_by(condition).iter();
                    open.extend(by.map(|&(slot, _)| network.source(slot as usize)));
                }
            }
        }
    }
    causes
}
