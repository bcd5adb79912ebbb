//! What is known, epoch by epoch: which reports count, which were replaced, which were withdrawn.
//!
//! In: the entries that stand, and the model. Out: one [`Report`] per finding and answer, with what became of it.
//! Rules: an epoch ends with every fix done; within an epoch a second answer replaces the first; answering a test takes
//! its needs to be so as well; an answer against a need withdraws what hung on it in that epoch; work that changed
//! something begins anew with what was taken since.

use std::collections::{BTreeMap, BTreeSet};

use super::event::{Answer, EventNo, What};
use super::log::Entry;
use super::people::Present;
use super::readings::Weighed;
use super::{readings, trust};
use crate::model::Model;
use crate::model::index::{CauseIx, FindingIx, FixIx, TestIx};
pub(crate) use crate::model::needs::needs_of;

/// What became of a report.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Fate {
    /// It is evidence.
    Counts,
    /// It looked normal while the complaint was not there: known, but no evidence.
    NotCounted,
    /// A later answer of its epoch took its place.
    Replaced,
    /// What it hung on is not so.
    Withdrawn,
    /// It speaks of the equipment as it was before the work.
    Earlier,
}

/// One finding, reported.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Report {
    /// The event that gave it.
    pub(crate) no: EventNo,
    /// The event of its latest change, or the same.
    pub(crate) said: EventNo,
    pub(crate) epoch: usize,
    pub(crate) finding: FindingIx,
    /// The outcome answered, or the weightiest.
    pub(crate) outcome: usize,
    pub(crate) weights: Vec<f64>,
    /// Taken to be so with another answer.
    pub(crate) implied: bool,
    /// Watched under the load and for the time of a proof.
    pub(crate) proof: bool,
    pub(crate) fate: Fate,
}

/// "One of them".
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Group {
    pub(crate) no: EventNo,
    pub(crate) epoch: usize,
    /// All that it may mean.
    pub(crate) findings: Vec<FindingIx>,
    /// Those not answered singly in its epoch.
    pub(crate) open: Vec<FindingIx>,
    pub(crate) outcome: usize,
    pub(crate) weights: Vec<f64>,
    pub(crate) fate: Fate,
}

/// A cause that was seen, or seen to be absent.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct Seen {
    pub(crate) no: EventNo,
    pub(crate) epoch: usize,
    pub(crate) cause: CauseIx,
    pub(crate) present: bool,
    pub(crate) fate: Fate,
}

/// All that was reported.
#[derive(Clone, PartialEq, Debug, Default)]
pub(crate) struct Records {
    /// In order of the events that gave them.
    pub(crate) reports: Vec<Report>,
    pub(crate) groups: Vec<Group>,
    pub(crate) seen: Vec<Seen>,
    /// Fixes done since the equipment is as it is, in order: event, fix.
    pub(crate) fixes: Vec<(EventNo, FixIx)>,
    /// Events whose complaints were said to be there when asked again.
    pub(crate) confirmed: BTreeSet<EventNo>,
    /// Per finding, the report that is the last word in the present epoch.
    pub(crate) now: BTreeMap<FindingIx, usize>,
}

/// An answering entry, not yet weighed against the others of its epoch.
struct Item {
    reports: std::ops::Range<usize>,
    hung: Vec<(FindingIx, Vec<usize>)>,
    clears: Vec<FindingIx>,
    said: EventNo,
    epoch: usize,
    earlier: bool,
}

impl Records {
    /// Works through `entries`. `present` and `there` say who was there, and whether the complaint was, at an event.
    pub(crate) fn new(
        model: &Model,
        entries: &[Entry],
        present: impl Fn(EventNo) -> Present,
        there: impl Fn(EventNo) -> bool,
    ) -> Self {
        let since = begins(entries);
        let mut records = Self::default();
        let mut items: Vec<Item> = Vec::new();
        for (at, entry) in entries.iter().enumerate() {
            let (earlier, epoch) = (at < since, records.fixes.len());
            if let What::FixDone { fix, .. } = &entry.what {
                if let (false, Some(&fix)) = (earlier, model.ids.fixes.get(fix)) {
                    records.fixes.push((entry.no, fix));
                }
                continue;
            }
            let person = present(entry.said);
            let fate = if earlier { Fate::Earlier } else { Fate::Counts };
            match &entry.what {
                What::OneOf { findings, outcome, sure, .. } => {
                    if let Some(group) = group(model, findings, outcome) {
                        let (findings, outcome, outcomes) = group;
                        let weights = trust::plain(outcomes, outcome, person.trust, *sure);
                        let open = findings.clone();
                        records.groups.push(Group {
                            no: entry.no,
                            epoch,
                            findings,
                            open,
                            outcome,
                            weights,
                            fate,
                        });
                    }
                }
                What::CauseSeen { cause, present, .. } => {
                    if let Some(&cause) = model.ids.causes.get(cause) {
                        let same = |seen: &&mut Seen| {
                            seen.cause == cause && seen.epoch == epoch && seen.fate == fate
                        };
                        for old in records.seen.iter_mut().filter(same) {
                            old.fate = Fate::Replaced;
                        }
                        records.seen.push(Seen { no: entry.no, epoch, cause, present: *present, fate });
                    }
                }
                what => {
                    let Some(answered) = answered(model, what, person.trust) else { continue };
                    let from = records.reports.len();
                    let hung = needs_of(model, answered.test);
                    let proof = is_full_proof(model, what);
                    let mut push = |finding: FindingIx, outcome: usize, weights: Vec<f64>, implied: bool| {
                        let uncounted = outcome == 0 && !there(entry.said) && fate == Fate::Counts;
                        records.reports.push(Report {
                            no: entry.no,
                            said: entry.said,
                            epoch,
                            finding,
                            outcome,
                            weights,
                            implied,
                            proof: proof && !implied,
                            fate: if uncounted { Fate::NotCounted } else { fate },
                        });
                    };
                    let own: Vec<FindingIx> = answered.reports.iter().map(|report| report.0).collect();
                    for (finding, outcome, weights) in answered.reports {
                        push(finding, outcome, weights, false);
                    }
                    if answered.clears.is_empty() {
                        for (finding, allowed) in hung.iter().filter(|(finding, _)| !own.contains(finding)) {
                            let outcomes = model.findings[finding.at()].outcomes.len();
                            let weights = trust::among(outcomes, allowed, person.trust, answered.sure);
                            push(*finding, allowed[0], weights, true);
                        }
                    }
                    items.push(Item {
                        reports: from..records.reports.len(),
                        hung,
                        clears: answered.clears,
                        said: entry.said,
                        epoch,
                        earlier,
                    });
                }
            }
        }
        records.settle(items);
        records
    }

    /// Takes complaints that came before the event `confirmed` as certainly not normal: there was a call for them, and they
    /// were said to be there when asked again.
    ///
    /// By trust alone a report of something rarer than a false report would rather be taken for one, and every ranking
    /// would begin with *none of the listed causes*. Two independent soft reports do not mend that: at a trust of 0.85 they
    /// are worth 32 to 1, while a complaint's own chance is some in a thousand. What mends it is how the case came about:
    /// people ring up about what is there, so that calls about nothing are far rarer than false answers to a question, and
    /// one that stands when asked again is rarer still; the weight of *normal* is taken as its limit, 0. Which abnormal
    /// outcome it is stays as soft as it was told. The same goes for a complaint that is added plainly (`added`) while the
    /// trouble is there: whoever adds it has just looked.
    pub(crate) fn take_as_real(&mut self, model: &Model, confirmed: EventNo, added: &BTreeSet<EventNo>) {
        let real = |no: EventNo| no < confirmed || added.contains(&no);
        let symptom = |finding: FindingIx| model.findings[finding.at()].symptom.is_some();
        for report in &mut self.reports {
            if real(report.no) && report.outcome != 0 && !report.implied && symptom(report.finding) {
                report.weights[0] = 0.0;
                self.confirmed.insert(report.no);
            }
        }
        for group in &mut self.groups {
            if real(group.no) && group.outcome != 0 && group.findings.iter().all(|&at| symptom(at)) {
                group.weights[0] = 0.0;
                self.confirmed.insert(group.no);
            }
        }
    }

    /// The number of fixes done since the equipment is as it is.
    pub(crate) fn epoch(&self) -> usize {
        self.fixes.len()
    }

    /// The last word on a finding in the present epoch.
    pub(crate) fn latest(&self, finding: FindingIx) -> Option<&Report> {
        self.now.get(&finding).map(|&at| &self.reports[at])
    }

    /// Whether a finding was proven normal in the present epoch, and never seen otherwise since.
    pub(crate) fn is_proven(&self, finding: FindingIx) -> bool {
        let of = |report: &&Report| {
            report.finding == finding && report.epoch == self.epoch() && report.fate != Fate::Earlier
        };
        let proof = self.reports.iter().filter(of).filter(|report| report.proof && report.outcome == 0);
        let Some(proof) = proof.map(|report| report.said).max() else { return false };
        self.reports.iter().filter(of).all(|report| report.said <= proof || report.outcome == 0)
    }

    /// Whether a report gave way to a proof.
    pub(crate) fn gave_way_to_proof(&self, old: &Report) -> bool {
        old.fate == Fate::Replaced
            && self.reports.iter().any(|new| {
                new.finding == old.finding
                    && new.epoch == old.epoch
                    && new.proof
                    && new.outcome == 0
                    && new.said > old.said
            })
    }

    /// Weighs the answers of each epoch against each other, in the order in which they were said.
    fn settle(&mut self, mut items: Vec<Item>) {
        items.sort_by_key(|item| (item.earlier, item.epoch, item.said));
        let mut last: BTreeMap<FindingIx, usize> = BTreeMap::new(); // finding: the report that is the last word
        let mut standing: Vec<usize> = Vec::new(); // items of this epoch that were not withdrawn
        let mut single: BTreeMap<(usize, FindingIx), ()> = BTreeMap::new();
        for at in 0..items.len() {
            let item = &items[at];
            if item.earlier {
                continue;
            }
            if at > 0 && (items[at - 1].epoch != item.epoch || items[at - 1].earlier) {
                (last, standing) = (BTreeMap::new(), Vec::new());
            }
            for finding in &item.clears {
                if let Some(old) = last.remove(finding) {
                    self.reports[old].fate = Fate::Replaced;
                }
            }
            for new in item.reports.clone() {
                let (finding, outcome, implied) =
                    (self.reports[new].finding, self.reports[new].outcome, self.reports[new].implied);
                if let Some(&old) = last.get(&finding) {
                    let allowed = |&(need, ref allowed): &(FindingIx, Vec<usize>)| {
                        need == finding && allowed.contains(&self.reports[old].outcome)
                    };
                    // What is taken to be so adds nothing to an answer that says so.
                    if implied && item.hung.iter().any(allowed) {
                        self.reports[new].fate = Fate::Replaced;
                        continue;
                    }
                }
                // What hangs on another outcome of this finding falls.
                standing.retain(|&other| {
                    let falls = items[other]
                        .hung
                        .iter()
                        .any(|(need, allowed)| *need == finding && !allowed.contains(&outcome));
                    if falls {
                        for report in items[other].reports.clone() {
                            let report = &mut self.reports[report];
                            if matches!(report.fate, Fate::Counts | Fate::NotCounted) {
                                report.fate = Fate::Withdrawn;
                            }
                        }
                        last.retain(|_, report| !items[other].reports.contains(report));
                    }
                    !falls
                });
                if let Some(old) = last.insert(finding, new) {
                    self.reports[old].fate = Fate::Replaced;
                }
            }
            standing.push(at);
            if items.get(at + 1).is_none_or(|next| next.earlier || next.epoch != item.epoch) {
                single.extend(last.keys().map(|&finding| ((item.epoch, finding), ())));
                if item.epoch == self.epoch() {
                    self.now = last.clone();
                }
            }
        }
        let mut later: Vec<(usize, Vec<FindingIx>)> = Vec::new();
        for group in self.groups.iter_mut().rev().filter(|group| group.fate == Fate::Counts) {
            group.open.retain(|&finding| !single.contains_key(&(group.epoch, finding)));
            let said = (group.epoch, group.findings.clone());
            if group.open.is_empty() || later.contains(&said) {
                group.fate = Fate::Replaced;
            }
            later.push(said);
        }
    }
}

/// Where the present state of the equipment begins: after work that changed something, what was taken since the last fix
/// before it, or since it was said.
fn begins(entries: &[Entry]) -> usize {
    let Some(changed) = entries.iter().rposition(|entry| entry.what == What::WorkChanged) else { return 0 };
    let fix = entries[..changed].iter().rposition(|entry| matches!(entry.what, What::FixDone { .. }));
    fix.unwrap_or(changed) + 1
}

/// A complaint taken again for as long as it states.
fn is_full_proof(model: &Model, what: &What) -> bool {
    let What::Proved { finding, minutes, .. } = what else { return false };
    let symptom = model.ids.findings.get(finding).and_then(|at| model.findings[at.at()].symptom.as_ref());
    symptom.is_none_or(|symptom| *minutes >= symptom.prove_minutes)
}

/// What an entry answers.
struct Answered {
    test: TestIx,
    /// Finding, outcome, weights.
    reports: Vec<Weighed>,
    /// Findings that the person cannot tell.
    clears: Vec<FindingIx>,
    sure: bool,
}

fn answered(model: &Model, what: &What, person: f64) -> Option<Answered> {
    let plain = |finding: &str, outcome: &str, sure: bool| {
        let &finding = model.ids.findings.get(finding)?;
        let outcomes = &model.findings[finding.at()].outcomes;
        let outcome = outcomes.iter().position(|name| name == outcome)?;
        let test = model.findings[finding.at()].test;
        let trust = model.tests[test.at()].trust.unwrap_or(person);
        Some((test, (finding, outcome, trust::plain(outcomes.len(), outcome, trust, sure))))
    };
    let single = |finding: &str, outcome: &str, sure: bool| {
        let (test, report) = plain(finding, outcome, sure)?;
        Some(Answered { test, reports: vec![report], clears: Vec::new(), sure })
    };
    match what {
        What::Volunteered { finding, outcome, sure, .. } => single(finding, outcome, *sure),
        What::Proved { finding, outcome, .. } => single(finding, outcome, true),
        What::Answered { test, answer, sure, .. } => {
            let &test = model.ids.tests.get(test)?;
            let (mut reports, mut clears) = (Vec::new(), Vec::new());
            match answer {
                Answer::Outcomes(outcomes) => {
                    let told =
                        outcomes.iter().filter_map(|(finding, outcome)| plain(finding, outcome, *sure));
                    reports.extend(told.map(|(_, report)| report));
                }
                Answer::Readings(numbers) => {
                    reports = readings::measured(model, test, numbers, *sure).ok()?
                }
                Answer::FaultNumber(number) => {
                    let trust = model.tests[test.at()].trust.unwrap_or(person);
                    reports = readings::fault(model, test, number, trust, *sure).ok()?;
                }
                Answer::CantTell => {
                    clears.extend(model.tests[test.at()].gives.iter().map(|gives| gives.finding))
                }
            }
            (!reports.is_empty() || !clears.is_empty()).then_some(Answered {
                test,
                reports,
                clears,
                sure: *sure,
            })
        }
        _ => None,
    }
}

fn group(model: &Model, findings: &[String], outcome: &str) -> Option<(Vec<FindingIx>, usize, usize)> {
    let mut found: Vec<FindingIx> =
        findings.iter().filter_map(|id| model.ids.findings.get(id).copied()).collect();
    found.sort_unstable();
    found.dedup();
    let outcomes = &model.findings[found.first()?.at()].outcomes;
    let at = outcomes.iter().position(|name| name == outcome)?;
    found.retain(|finding| &model.findings[finding.at()].outcomes == outcomes);
    Some((found, at, outcomes.len()))
}
