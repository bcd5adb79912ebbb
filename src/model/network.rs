//! The numbers of the story: priors, leaks and links between causes, conditions, findings and fixes.
//!
//! In: one number after the other, through [`NetworkBuilder`]. Out: a [`Network`], dense and immutable, without a
//! single string. Invariants, checked once by [`NetworkBuilder::build`]: every chance is in 0..1; every row of chances
//! sums to 1 (its first entry, the chance of *normal*, is 1 − Σ of the others, summed left to right); every index is in
//! range; neither conditions nor `leads-to` run in a circle; a fix removes a cause at most once.
//!
//! Storage is by compressed rows (CSR): the links into one finding lie together, as do the links out of one source.

use super::index::{CauseIx, ConditionIx, FindingIx, FixIx};

/// How far a row of chances may sum over 1 before it counts as wrong and not as rounding.
const ROUNDING: f64 = 1e-9;

/// Most outcomes of a finding, normal included (an outcome fits a byte, with one value to spare).
const MOST_OUTCOMES: usize = 254;

/// Who draws: a cause or a condition.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Source {
    /// A cause.
    Cause(CauseIx),
    /// A condition.
    Condition(ConditionIx),
}

/// Rows of unequal length in one piece: row `r` is `items[start[r]..start[r + 1]]`.
#[derive(Clone, PartialEq, Debug)]
struct Rows<T> {
    start: Vec<u32>,
    items: Vec<T>,
}

impl<T: Copy> Rows<T> {
    /// Sorts `pairs` into `rows` rows, keeping the order within a row.
    fn new(rows: usize, pairs: impl Iterator<Item = (usize, T)> + Clone) -> Self {
        let mut start = vec![0_u32; rows + 1];
        for (row, _) in pairs.clone() {
            start[row + 1] += 1;
        }
        for row in 0..rows {
            start[row + 1] += start[row];
        }
        let mut sorted: Vec<(usize, T)> = pairs.collect();
        sorted.sort_by_key(|&(row, _)| row); // stable
        Self { start, items: sorted.into_iter().map(|(_, item)| item).collect() }
    }

    #[inline]
    fn row(&self, row: usize) -> &[T] {
        &self.items[self.start[row] as usize..self.start[row + 1] as usize]
    }
}

/// The numbers of the story, dense and immutable.
///
/// Sources (causes and conditions) are numbered together where they are stored: causes first, see [`Network::slot`].
#[derive(Clone, PartialEq, Debug)]
pub struct Network {
    priors: Vec<f64>,
    condition_leaks: Vec<f64>,
    /// Outcomes per finding.
    outcomes: Vec<u32>,
    /// Leak of finding f: `leaks[leak_start[f]..leak_start[f + 1]]`, all outcomes, normal first.
    leak_start: Vec<u32>,
    leaks: Vec<f64>,
    /// Links into finding f: `link_start[f]..link_start[f + 1]`.
    link_start: Vec<u32>,
    /// Per link, the slot of its source.
    link_source: Vec<u32>,
    /// Chances of the links into f begin here; each link has as many as f has outcomes, normal first.
    chance_start: Vec<u32>,
    chances: Vec<f64>,
    /// Per link, the chance of normal alone, so that normal reports need only these.
    normal_chances: Vec<f64>,
    /// Links out of a source: (finding, number of the link within the finding's row).
    shows: Rows<(FindingIx, u32)>,
    /// Conditions that a source brings about.
    brings: Rows<(ConditionIx, f64)>,
    /// Slots of the sources of a condition.
    brought_by: Rows<(u32, f64)>,
    leads: Rows<(CauseIx, f64)>,
    led_by: Rows<(CauseIx, f64)>,
    removes: Rows<(CauseIx, f64)>,
    removed_by: Rows<(FixIx, f64)>,
    /// All causes, leaders before those they lead to.
    cause_order: Vec<CauseIx>,
    /// All conditions, those that bring others about before those others.
    condition_order: Vec<ConditionIx>,
}

impl Network {
    /// The same network, every abnormal outcome of a finding that has no leak given one of `least`. Where the normal
    /// outcome has too little left, they share half of it.
    #[must_use]
    pub fn with_least_leak(mut self, least: f64) -> Self {
        for finding in 0..self.findings() {
            let leak =
                &mut self.leaks[self.leak_start[finding] as usize..self.leak_start[finding + 1] as usize];
            let without = leak.iter().skip(1).filter(|&&chance| chance == 0.0).count();
            let least = least.min(0.5 * leak[0] / without.max(1) as f64);
            for outcome in 1..leak.len() {
                if leak[outcome] == 0.0 {
                    leak[outcome] = least;
                    leak[0] -= least;
                }
            }
        }
        self
    }

    /// Number of causes.
    #[inline]
    #[must_use]
    pub fn causes(&self) -> usize {
        self.priors.len()
    }

    /// Number of conditions.
    #[inline]
    #[must_use]
    pub fn conditions(&self) -> usize {
        self.condition_leaks.len()
    }

    /// Number of findings.
    #[inline]
    #[must_use]
    pub fn findings(&self) -> usize {
        self.outcomes.len()
    }

    /// Number of fixes.
    #[inline]
    #[must_use]
    pub fn fixes(&self) -> usize {
        self.removes.start.len() - 1
    }

    /// Number of sources: causes and conditions.
    #[inline]
    #[must_use]
    pub fn sources(&self) -> usize {
        self.causes() + self.conditions()
    }

    /// Number of links from sources to findings.
    #[must_use]
    pub fn links(&self) -> usize {
        self.link_source.len()
    }

    /// The number of a source among all sources: causes first, then conditions.
    #[inline]
    #[must_use]
    pub fn slot(&self, source: Source) -> usize {
        match source {
            Source::Cause(cause) => cause.at(),
            Source::Condition(condition) => self.causes() + condition.at(),
        }
    }

    /// The source with that number.
    #[inline]
    #[must_use]
    pub fn source(&self, slot: usize) -> Source {
        if slot < self.causes() {
            Source::Cause(CauseIx::new(slot))
        } else {
            Source::Condition(ConditionIx::new(slot - self.causes()))
        }
    }

    /// The chance that the cause is there at first in its own right.
    #[inline]
    #[must_use]
    pub fn prior(&self, cause: CauseIx) -> f64 {
        self.priors[cause.at()]
    }

    /// All priors, by cause.
    #[inline]
    #[must_use]
    pub fn priors(&self) -> &[f64] {
        &self.priors
    }

    /// The chance that the condition holds without any source.
    #[inline]
    #[must_use]
    pub fn condition_leak(&self, condition: ConditionIx) -> f64 {
        self.condition_leaks[condition.at()]
    }

    /// Number of outcomes of a finding, normal included.
    #[inline]
    #[must_use]
    pub fn outcomes(&self, finding: FindingIx) -> usize {
        self.outcomes[finding.at()] as usize
    }

    /// The leak of a finding: the chances of all its outcomes, normal first.
    #[inline]
    #[must_use]
    pub fn leak(&self, finding: FindingIx) -> &[f64] {
        &self.leaks[self.leak_start[finding.at()] as usize..self.leak_start[finding.at() + 1] as usize]
    }

    /// Slots of the sources that show `finding`, and the chances of their links, one link after the other, each with
    /// all outcomes, normal first.
    #[inline]
    #[must_use]
    pub fn links_into(&self, finding: FindingIx) -> (&[u32], &[f64]) {
        let f = finding.at();
        (
            &self.link_source[self.link_start[f] as usize..self.link_start[f + 1] as usize],
            &self.chances[self.chance_start[f] as usize..self.chance_start[f + 1] as usize],
        )
    }

    /// Slots of the sources that show `finding`, and of each link the chance of normal alone.
    #[inline]
    #[must_use]
    pub fn normal_links_into(&self, finding: FindingIx) -> (&[u32], &[f64]) {
        let row = self.link_start[finding.at()] as usize..self.link_start[finding.at() + 1] as usize;
        (&self.link_source[row.clone()], &self.normal_chances[row])
    }

    /// The sources that show `finding`, with the chances of all outcomes, normal first.
    pub fn shown_by(&self, finding: FindingIx) -> impl Iterator<Item = (Source, &[f64])> {
        let (sources, chances) = self.links_into(finding);
        sources
            .iter()
            .zip(chances.chunks_exact(self.outcomes(finding)))
            .map(|(&s, c)| (self.source(s as usize), c))
    }

    /// The findings that `source` shows, with the chances of all outcomes, normal first.
    pub fn shows(&self, source: Source) -> impl Iterator<Item = (FindingIx, &[f64])> {
        self.shows.row(self.slot(source)).iter().map(|&(finding, link)| {
            let (_, chances) = self.links_into(finding);
            let k = self.outcomes(finding);
            (finding, &chances[link as usize * k..(link as usize + 1) * k])
        })
    }

    /// The conditions that `source` brings about, each with its chance.
    #[inline]
    #[must_use]
    pub fn brings(&self, source: Source) -> &[(ConditionIx, f64)] {
        self.brings.row(self.slot(source))
    }

    /// The sources that bring `condition` about, as slots, each with its chance.
    #[inline]
    #[must_use]
    pub fn brought_by(&self, condition: ConditionIx) -> &[(u32, f64)] {
        self.brought_by.row(condition.at())
    }

    /// The causes that `leader` leads to, each with its chance.
    #[inline]
    #[must_use]
    pub fn leads(&self, leader: CauseIx) -> &[(CauseIx, f64)] {
        self.leads.row(leader.at())
    }

    /// The causes that lead to `led`, each with its chance.
    #[inline]
    #[must_use]
    pub fn led_by(&self, led: CauseIx) -> &[(CauseIx, f64)] {
        self.led_by.row(led.at())
    }

    /// The causes that `fix` removes, each with its chance.
    #[inline]
    #[must_use]
    pub fn removes(&self, fix: FixIx) -> &[(CauseIx, f64)] {
        self.removes.row(fix.at())
    }

    /// The fixes that remove `cause`, each with its chance.
    #[inline]
    #[must_use]
    pub fn removed_by(&self, cause: CauseIx) -> &[(FixIx, f64)] {
        self.removed_by.row(cause.at())
    }

    /// All causes, leaders before those they lead to.
    #[must_use]
    pub fn cause_order(&self) -> &[CauseIx] {
        &self.cause_order
    }

    /// All conditions, those that bring others about before those others.
    #[must_use]
    pub fn condition_order(&self) -> &[ConditionIx] {
        &self.condition_order
    }

    /// Whether no cause leads to another and there is no condition: causes and findings only.
    #[must_use]
    pub fn is_two_layer(&self) -> bool {
        self.condition_leaks.is_empty() && self.leads.items.is_empty()
    }
}

/// A link from a source to a finding, as told to the builder.
#[derive(Clone, Debug)]
struct Show {
    source: Source,
    finding: FindingIx,
    chances: Vec<f64>,
}

/// Collects the numbers and checks them once.
///
/// The same source may show the same finding (or bring about the same condition) more than once: one independent draw
/// each.
#[derive(Clone, Debug, Default)]
pub struct NetworkBuilder {
    priors: Vec<f64>,
    condition_leaks: Vec<f64>,
    findings: Vec<(usize, Vec<f64>)>,
    shows: Vec<Show>,
    brings: Vec<(Source, ConditionIx, f64)>,
    leads: Vec<(CauseIx, CauseIx, f64)>,
    fixes: usize,
    removes: Vec<(FixIx, CauseIx, f64)>,
}

/// Why a network was refused.
#[derive(Clone, PartialEq, Debug, thiserror::Error)]
pub enum NetworkError {
    /// A probability outside 0..1 or not a number.
    #[error("{what} is {value}, which is no probability")]
    NotAProbability {
        /// Which number.
        what: String,
        /// Its value.
        value: f64,
    },
    /// The chances of abnormal outcomes sum over 1.
    #[error("{what} sum to {value}, which is over 1")]
    SumOverOne {
        /// Which numbers.
        what: String,
        /// Their sum.
        value: f64,
    },
    /// Too many chances for the outcomes of a finding, or a finding with fewer than two outcomes.
    #[error("{what}: {given} chances given for {outcomes} outcomes")]
    Outcomes {
        /// Which numbers.
        what: String,
        /// How many were given, normal left out.
        given: usize,
        /// Outcomes of the finding, normal included.
        outcomes: usize,
    },
    /// An index that the builder did not give.
    #[error("{what} is unknown")]
    Unknown {
        /// Which item.
        what: String,
    },
    /// A circle of conditions or of `leads-to`.
    #[error("{what} runs in a circle")]
    Circle {
        /// Which item.
        what: String,
    },
    /// The same fix removes the same cause twice.
    #[error("{what} is stated twice")]
    Twice {
        /// Which pair.
        what: String,
    },
}

impl NetworkBuilder {
    /// An empty network.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// A cause with its prior.
    pub fn cause(&mut self, prior: f64) -> CauseIx {
        self.priors.push(prior);
        CauseIx::new(self.priors.len() - 1)
    }

    /// A condition with its leak.
    pub fn condition(&mut self, leak: f64) -> ConditionIx {
        self.condition_leaks.push(leak);
        ConditionIx::new(self.condition_leaks.len() - 1)
    }

    /// A finding of `outcomes` outcomes, with the leak of outcomes 1, 2, … (those left out are 0).
    pub fn finding(&mut self, outcomes: usize, leak: &[f64]) -> FindingIx {
        self.findings.push((outcomes, leak.to_vec()));
        FindingIx::new(self.findings.len() - 1)
    }

    /// `source` shows `finding`: the chances of outcomes 1, 2, … (those left out are 0).
    pub fn show(&mut self, source: Source, finding: FindingIx, chances: &[f64]) {
        self.shows.push(Show { source, finding, chances: chances.to_vec() });
    }

    /// `source` brings about `condition`.
    pub fn bring(&mut self, source: Source, condition: ConditionIx, chance: f64) {
        self.brings.push((source, condition, chance));
    }

    /// `leader` leads to `led`.
    pub fn lead(&mut self, leader: CauseIx, led: CauseIx, chance: f64) {
        self.leads.push((leader, led, chance));
    }

    /// A fix.
    pub fn fix(&mut self) -> FixIx {
        self.fixes += 1;
        FixIx::new(self.fixes - 1)
    }

    /// `fix` removes `cause` with that chance.
    pub fn remove(&mut self, fix: FixIx, cause: CauseIx, chance: f64) {
        self.removes.push((fix, cause, chance));
    }

    /// Checks every number and every cycle, and freezes. Cost: linear in the numbers, plus a sort of the links.
    ///
    /// # Errors
    /// The first number that is no probability, row that sums over 1, unknown index, cycle, or fix stated twice.
    pub fn build(self) -> Result<Network, NetworkError> {
        let Self { priors, condition_leaks, findings, shows, brings, leads, fixes, removes } = self;
        let (causes, conditions) = (priors.len(), condition_leaks.len());
        for (at, &prior) in priors.iter().enumerate() {
            probability(prior, || format!("the prior of cause {at}"))?;
        }
        for (at, &leak) in condition_leaks.iter().enumerate() {
            probability(leak, || format!("the leak of condition {at}"))?;
        }
        let slot = |source: Source| match source {
            Source::Cause(cause) => in_range(cause.at(), causes, "cause"),
            Source::Condition(condition) => Ok(causes + in_range(condition.at(), conditions, "condition")?),
        };

        let mut outcomes = Vec::with_capacity(findings.len());
        let (mut leak_start, mut leaks) = (vec![0], Vec::new());
        for (at, (count, leak)) in findings.iter().enumerate() {
            push_row(&mut leaks, *count, leak, || format!("the leak of finding {at}"))?;
            outcomes.push(*count as u32);
            leak_start.push(leaks.len() as u32);
        }

        let mut sources = Vec::with_capacity(shows.len());
        for show in &shows {
            in_range(show.finding.at(), findings.len(), "finding")?;
            sources.push(slot(show.source)?);
        }
        let by_finding =
            Rows::new(findings.len(), shows.iter().enumerate().map(|(i, s)| (s.finding.at(), i)));
        let (mut link_source, mut chance_start, mut chances) =
            (Vec::with_capacity(shows.len()), vec![0], Vec::new());
        let mut normal_chances = Vec::with_capacity(shows.len());
        let mut out = Vec::with_capacity(shows.len());
        for (at, &count) in outcomes.iter().enumerate() {
            for (number, &i) in by_finding.row(at).iter().enumerate() {
                link_source.push(sources[i] as u32);
                let first = chances.len();
                push_row(&mut chances, count as usize, &shows[i].chances, || {
                    format!("the chances of {:?} for finding {at}", shows[i].source)
                })?;
                normal_chances.push(chances[first]);
                out.push((sources[i], (FindingIx::new(at), number as u32)));
            }
            chance_start.push(chances.len() as u32);
        }

        let mut bring_slots = Vec::with_capacity(brings.len());
        for &(source, condition, chance) in &brings {
            probability(chance, || format!("the chance of {source:?} for condition {}", condition.at()))?;
            in_range(condition.at(), conditions, "condition")?;
            bring_slots.push((slot(source)?, condition, chance));
        }
        for &(leader, led, chance) in &leads {
            probability(chance, || format!("the chance of cause {} for cause {}", leader.at(), led.at()))?;
            in_range(leader.at(), causes, "cause")?;
            in_range(led.at(), causes, "cause")?;
        }
        for &(fix, cause, chance) in &removes {
            probability(chance, || format!("the chance of fix {} for cause {}", fix.at(), cause.at()))?;
            in_range(fix.at(), fixes, "fix")?;
            in_range(cause.at(), causes, "cause")?;
        }
        let mut pairs: Vec<_> = removes.iter().map(|&(fix, cause, _)| (fix, cause)).collect();
        pairs.sort_unstable();
        if let Some(twice) = pairs.windows(2).find(|w| w[0] == w[1]) {
            let what = format!("what fix {} does for cause {}", twice[0].0.at(), twice[0].1.at());
            return Err(NetworkError::Twice { what });
        }

        let cause_order = sorted(causes, leads.iter().map(|&(from, to, _)| (from.at(), to.at())))
            .map_err(|at| NetworkError::Circle { what: format!("what cause {at} leads to") })?;
        let among_conditions =
            bring_slots.iter().filter(|b| b.0 >= causes).map(|&(from, to, _)| (from - causes, to.at()));
        let condition_order = sorted(conditions, among_conditions)
            .map_err(|at| NetworkError::Circle { what: format!("what condition {at} brings about") })?;

        Ok(Network {
            outcomes,
            leak_start,
            leaks,
            link_start: by_finding.start,
            link_source,
            chance_start,
            chances,
            normal_chances,
            shows: Rows::new(causes + conditions, out.iter().copied()),
            brings: Rows::new(causes + conditions, bring_slots.iter().map(|&(s, k, c)| (s, (k, c)))),
            brought_by: Rows::new(conditions, bring_slots.iter().map(|&(s, k, c)| (k.at(), (s as u32, c)))),
            leads: Rows::new(causes, leads.iter().map(|&(from, to, c)| (from.at(), (to, c)))),
            led_by: Rows::new(causes, leads.iter().map(|&(from, to, c)| (to.at(), (from, c)))),
            removes: Rows::new(fixes, removes.iter().map(|&(fix, cause, c)| (fix.at(), (cause, c)))),
            removed_by: Rows::new(causes, removes.iter().map(|&(fix, cause, c)| (cause.at(), (fix, c)))),
            cause_order: cause_order.into_iter().map(CauseIx::new).collect(),
            condition_order: condition_order.into_iter().map(ConditionIx::new).collect(),
            priors,
            condition_leaks,
        })
    }
}

fn probability(value: f64, what: impl Fn() -> String) -> Result<(), NetworkError> {
    if (0.0..=1.0).contains(&value) {
        Ok(())
    } else {
        Err(NetworkError::NotAProbability { what: what(), value })
    }
}

fn in_range(at: usize, len: usize, kind: &str) -> Result<usize, NetworkError> {
    if at < len { Ok(at) } else { Err(NetworkError::Unknown { what: format!("{kind} {at}") }) }
}

/// Appends 1 − Σ and the chances of the abnormal outcomes, zeros where none is given.
fn push_row(
    rows: &mut Vec<f64>,
    outcomes: usize,
    given: &[f64],
    what: impl Fn() -> String,
) -> Result<(), NetworkError> {
    if !(2..=MOST_OUTCOMES).contains(&outcomes) || given.len() >= outcomes {
        return Err(NetworkError::Outcomes { what: what(), given: given.len(), outcomes });
    }
    let mut sum = 0.0;
    for &chance in given {
        probability(chance, &what)?;
        sum += chance;
    }
    if sum > 1.0 + ROUNDING {
        return Err(NetworkError::SumOverOne { what: what(), value: sum });
    }
    rows.push((1.0 - sum).max(0.0));
    rows.extend_from_slice(given);
    rows.extend(std::iter::repeat_n(0.0, outcomes - 1 - given.len()));
    Ok(())
}

/// Numbers 0..n so that every arrow runs forward; among several possible, the smallest number first.
/// The error is a number in a circle.
fn sorted(n: usize, arrows: impl Iterator<Item = (usize, usize)> + Clone) -> Result<Vec<usize>, usize> {
    let out = Rows::new(n, arrows.clone());
    let mut waiting = vec![0_usize; n];
    for (_, to) in arrows {
        waiting[to] += 1;
    }
    let mut ready: std::collections::BTreeSet<usize> = (0..n).filter(|&i| waiting[i] == 0).collect();
    let mut order = Vec::with_capacity(n);
    while let Some(next) = ready.pop_first() {
        order.push(next);
        for &to in out.row(next) {
            waiting[to] -= 1;
            if waiting[to] == 0 {
                ready.insert(to);
            }
        }
    }
    if order.len() == n { Ok(order) } else { Err((0..n).find(|&i| waiting[i] > 0).unwrap_or_default()) }
}
