//! Which causes the trouble can have to do with.
//!
//! Given evidence in which a cause reaches nothing that was reported abnormal, that cause is independent of all others:
//! the factors of normal findings multiply (noisy-MAX: P(finding ≤ 0) is a product over the sources). Samples do not know
//! that and show chance coincidences, which a search over many tests would take for information. So only **related**
//! causes differ from candidate to candidate; the others enter every candidate with their share of the samples.
//!
//! Related is: a path from the cause, over conditions and `leads-to`, to a finding reported as possibly abnormal; and what
//! such a cause leads to.

use std::collections::BTreeSet;

use crate::inference::{Evidence, Told};
use crate::model::index::{CauseIx, ConditionIx, FindingIx};
use crate::model::network::{Network, Source};

/// What the trouble can have to do with.
pub(crate) struct Related {
    /// Findings reported as possibly abnormal.
    pub(crate) findings: BTreeSet<FindingIx>,
    /// The causes with a path to one of them.
    pub(crate) causes: BTreeSet<CauseIx>,
    /// These causes and all conditions that they or a finding have to do with, by slot.
    pub(crate) sources: Vec<bool>,
}

/// What is related to what was reported abnormal. Cost: linear in the links behind it.
pub(crate) fn related(network: &Network, evidence: &Evidence, complaints: &[FindingIx]) -> Related {
    let mut findings: BTreeSet<FindingIx> = complaints.iter().copied().collect();
    let mut causes: BTreeSet<CauseIx> = BTreeSet::new();
    for told in &evidence.told {
        match told {
            Told::Finding { among, weights } if weights.iter().skip(1).any(|weight| *weight > weights[0]) => {
                findings.extend(among.iter().copied());
            }
            Told::Cause { cause, .. } => {
                causes.insert(*cause);
            }
            _ => {}
        }
    }
    let mut conditions: BTreeSet<ConditionIx> = BTreeSet::new();
    let mut open: Vec<Source> =
        findings.iter().flat_map(|finding| network.shown_by(*finding)).map(|(s, _)| s).collect();
    open.extend(causes.iter().map(|cause| Source::Cause(*cause)));
    causes.clear();
    while let Some(source) = open.pop() {
        match source {
            Source::Condition(condition) => {
                if conditions.insert(condition) {
                    let behind = network.brought_by(condition).iter();
                    open.extend(behind.map(|&(slot, _)| network.source(slot as usize)));
                }
            }
            Source::Cause(cause) => {
                if causes.insert(cause) {
                    open.extend(network.led_by(cause).iter().map(|(leader, _)| Source::Cause(*leader)));
                    open.extend(network.leads(cause).iter().map(|(led, _)| Source::Cause(*led)));
                }
            }
        }
    }
    let mut sources = vec![false; network.sources()];
    for &condition in &conditions {
        sources[network.slot(Source::Condition(condition))] = true;
    }
    let mut open: Vec<Source> = causes.iter().map(|cause| Source::Cause(*cause)).collect();
    while let Some(source) = open.pop() {
        let slot = network.slot(source);
        if !sources[slot] || matches!(source, Source::Cause(_)) {
            sources[slot] = true;
            let brought = network.brings(source).iter().map(|(condition, _)| Source::Condition(*condition));
            open.extend(brought.filter(|brought| !sources[network.slot(*brought)]));
        }
    }
    Related { findings, causes, sources }
}
