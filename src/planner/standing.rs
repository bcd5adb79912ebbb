//! Exact joint samples completed to the draws on which plans depend.
//!
//! Inference samples which causes are there, which conditions hold, and what every source drew for the findings told. A
//! plan also asks what would be left after a fix, so the draws behind a condition and behind a led-to cause are drawn here,
//! given what was sampled:
//!
//! - A condition that holds has at least one live source whose draw reached it; given that it holds, these draws are
//!   independent of everything else, so they are drawn one after the other, given that not all are no.
//! - A led-to cause that is there, its leaders there too, is either held by at least one of them (then no fix done so far
//!   could cure it) or stands in its own right (then the success draws of the fixes done on it were all no):
//!   P(held) ∝ 1 − Π(1 − l), P(own) ∝ Π(1 − l) · p · Π(1 − q).
//!
//! Given all draws, a finding is abnormal while one of its roots is there: everything is an OR of draws. So each complaint
//! comes down to its **culprits**, causes with a drawn path to it, and to whether an unlisted leak reaches it.

use std::collections::BTreeMap;

use crate::inference::World;
use crate::model::index::{CauseIx, ConditionIx, FindingIx, FixIx};
use crate::model::network::{Network, Source};

/// What holds a condition: these causes, and perhaps a leak.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug, Default)]
pub(crate) struct Roots {
    /// A leak does, whatever is fixed.
    pub(crate) always: bool,
    /// The causes that do, ascending.
    pub(crate) causes: Vec<CauseIx>,
}

/// What each source that is there drew for a finding, where that is abnormal; `None`: the leak.
pub(crate) type Draws = Vec<(FindingIx, Vec<(Option<Source>, usize)>)>;

/// One way in which everything stands, with all draws that matter.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) struct Standing {
    /// The causes that are there, ascending.
    pub(crate) causes: Vec<CauseIx>,
    /// The conditions that hold, with what holds them.
    pub(crate) conditions: Vec<(ConditionIx, Roots)>,
    /// What keeps the complaints alive.
    pub(crate) complaint: Roots,
    /// Causes that break again, each with the leaders that stand and lead to it.
    pub(crate) held: Vec<(CauseIx, Vec<CauseIx>)>,
    /// The draws of the findings told.
    pub(crate) draws: Draws,
}

/// Completes the samples and merges equal ones. Out: each standing with its share of the samples, in a fixed order.
pub(crate) fn standings(
    network: &Network,
    worlds: &[World],
    complaints: &[FindingIx],
    fixes_done: &[FixIx],
    seed: u64,
) -> Vec<(Standing, f64)> {
    let mut chance = Chance(seed);
    let mut counts: BTreeMap<Standing, u32> = BTreeMap::new();
    for world in worlds {
        let standing = complete(network, world, complaints, fixes_done, &mut chance);
        *counts.entry(standing).or_insert(0) += 1;
    }
    let share = 1.0 / worlds.len().max(1) as f64;
    counts.into_iter().map(|(standing, count)| (standing, f64::from(count) * share)).collect()
}

fn complete(
    network: &Network,
    world: &World,
    complaints: &[FindingIx],
    fixes_done: &[FixIx],
    chance: &mut Chance,
) -> Standing {
    let mut holding: BTreeMap<ConditionIx, Roots> = BTreeMap::new();
    for &condition in network.condition_order() {
        if world.conditions_now.binary_search(&condition).is_err() {
            continue;
        }
        let mut sources: Vec<(Option<Source>, f64)> = vec![(None, network.condition_leak(condition))];
        for &(slot, p) in network.brought_by(condition) {
            let source = network.source(slot as usize);
            let there = match source {
                Source::Cause(cause) => world.causes_now.binary_search(&cause).is_ok(),
                Source::Condition(other) => holding.contains_key(&other),
            };
            if there {
                sources.push((Some(source), p));
            }
        }
        let mut roots = Roots::default();
        for at in chance.at_least_one(&sources.iter().map(|(_, p)| *p).collect::<Vec<f64>>()) {
            add(&mut roots, sources[at].0, &holding);
        }
        holding.insert(condition, roots);
    }
    let mut complaint = Roots::default();
    for (finding, draws) in &world.draws {
        if complaints.contains(finding) {
            for (source, _) in draws {
                add(&mut complaint, *source, &holding);
            }
        }
    }
    let held = (world.causes_now.iter())
        .filter_map(|&cause| {
            let leaders = held_by(network, world, cause, fixes_done, chance);
            (!leaders.is_empty()).then_some((cause, leaders))
        })
        .collect();
    Standing {
        causes: world.causes_now.clone(),
        conditions: holding.into_iter().collect(),
        complaint,
        held,
        draws: world.draws.clone(),
    }
}

/// Adds what stands behind a source.
fn add(roots: &mut Roots, source: Option<Source>, holding: &BTreeMap<ConditionIx, Roots>) {
    match source {
        None => roots.always = true,
        Some(Source::Cause(cause)) => {
            if let Err(at) = roots.causes.binary_search(&cause) {
                roots.causes.insert(at, cause);
            }
        }
        Some(Source::Condition(condition)) => {
            if let Some(behind) = holding.get(&condition) {
                roots.always |= behind.always;
                for &cause in &behind.causes {
                    add(roots, Some(Source::Cause(cause)), holding);
                }
            }
        }
    }
}

/// The leaders that stand and whose draw to `cause` is yes.
fn held_by(
    network: &Network,
    world: &World,
    cause: CauseIx,
    fixes_done: &[FixIx],
    chance: &mut Chance,
) -> Vec<CauseIx> {
    let (mut leaders, mut links, mut own) = (Vec::new(), Vec::new(), 1.0 - network.prior(cause));
    for &(leader, link) in network.led_by(cause) {
        if world.causes_now.binary_search(&leader).is_ok() {
            leaders.push(leader);
            links.push(link);
        } else {
            // It may have been there, and gone since; then it counts as the cause's own right.
            own *= 1.0 - if fixes_done.is_empty() { 0.0 } else { link * network.prior(leader) };
        }
    }
    if leaders.is_empty() {
        return leaders;
    }
    let none: f64 = links.iter().map(|link| 1.0 - link).product();
    let mut failed = 1.0;
    for &(fix, q) in network.removed_by(cause) {
        if fixes_done.contains(&fix) {
            failed *= 1.0 - q;
        }
    }
    let stands_alone = none * (1.0 - own) * failed;
    let is_held = 1.0 - none;
    if chance.next() * (stands_alone + is_held) < stands_alone {
        return Vec::new();
    }
    chance.at_least_one(&links).into_iter().map(|at| leaders[at]).collect()
}

/// A deterministic source of chance: SplitMix64 (Steele, Lea & Flood 2014; from memory).
struct Chance(u64);

impl Chance {
    /// A number in [0, 1).
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ z >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ z >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ z >> 31) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Which of independent draws are yes, given that at least one is.
    fn at_least_one(&mut self, chances: &[f64]) -> Vec<usize> {
        let mut none_after: Vec<f64> = vec![1.0; chances.len() + 1];
        for at in (0..chances.len()).rev() {
            none_after[at] = none_after[at + 1] * (1.0 - chances[at]);
        }
        let mut yes = Vec::new();
        for (at, &p) in chances.iter().enumerate() {
            let given = if yes.is_empty() { p / (1.0 - none_after[at]).max(f64::MIN_POSITIVE) } else { p };
            if p > 0.0 && self.next() < given {
                yes.push(at);
            }
        }
        yes
    }
}
