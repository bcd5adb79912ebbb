//! From a model, a situation and samples to the pure problem.
//!
//! In: standings (completed samples) and who is present. Out: a [`Problem`] with what its indices stand for. Only what
//! can matter comes in: tests with a finding that some candidate shows differently, fixes that remove something wanted,
//! and of both only what the person present may and can do. Findings answered since the last fix are left out, with what
//! needed another answer of them.
//!
//! What a step `needs`: a known answer decides; an unknown one is taken for granted from [`GRANTED`] on, except where the
//! step recloses something; below, the needed finding is asked first: a test then waits for it, a fix carries its
//! minutes. A fix whose needs are improbable is not offered before they are answered.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use super::allowed::{Modes, anybody};
use super::problem::{Candidate, Factor, FixForm, Need, Problem, TestForm};
use super::related::{Related, related};
use super::situation::Situation;
use super::standing::Standing;
use super::travel::Travel;
use crate::model::Model;
use crate::model::catalog::Test;
use crate::model::index::{CauseIx, CompetenceIx, FindingIx, FixIx, TestIx, WorkStateIx};
use crate::model::practice::{BitSet, Person};

/// A need at least this probable is taken for granted.
const GRANTED: f64 = 0.9;
/// A fix whose need is less probable than this waits until the need is answered.
pub(super) const DOUBTFUL: f64 = 0.5;
/// A test has to save this many minutes, or it is not worth anybody's patience; it also keeps chance differences between
/// samples from being taken for information. A judgement.
const LEAST_SAVING: f64 = 0.5;

/// A problem, and what its indices stand for.
pub(crate) struct Composed {
    pub(crate) problem: Problem,
    pub(crate) modes: Modes,
    pub(crate) tests: Vec<TestIx>,
    /// For each test, the findings that it shows.
    pub(crate) findings: Vec<Vec<FindingIx>>,
    pub(crate) fixes: Vec<FixIx>,
    /// For each fix, tests that have to be taken before it may be done.
    pub(crate) ask_first: Vec<Vec<TestIx>>,
    /// For each stop, whom it sends; `None`: somebody unlisted.
    pub(crate) stops: Vec<Option<CompetenceIx>>,
}

/// Makes problems of one situation.
pub(crate) struct Composer<'a> {
    pub(super) model: &'a Model,
    pub(super) situation: &'a Situation,
    pub(super) standings: &'a [(Standing, f64)],
    pub(super) modes: Modes,
    /// Minutes' worth of a minute: with a standstill it is more than 1.
    pub(super) factor: f64,
    /// Minutes' worth of one unit of currency.
    pub(super) money: f64,
    pub(super) unproven: bool,
    pub(super) candidates: Vec<Candidate>,
    /// The problem's cause for each tracked pair of cause and "fixes done on it are spent".
    pub(super) local: BTreeMap<(CauseIx, bool), u8>,
    /// Sources that are there in some candidates for the same roots, and those candidates.
    pub(super) lives: Vec<(BitSet, Vec<u32>)>,
    /// For each finding, which of them show it, with what chances.
    pub(super) shown_by: Vec<Vec<(u32, &'a [f64])>>,
    /// For each source, the chance that it is there in any candidate: of what is not related.
    pub(super) shares: Vec<f64>,
    /// Which sources the standings tell of, by slot.
    pub(super) drawn: &'a [bool],
    /// What the trouble can have to do with.
    pub(super) related: Related,
    /// Findings whose draws are known, from an earlier epoch, candidate by candidate.
    pub(super) known: BTreeMap<FindingIx, Vec<(u32, Vec<Factor>)>>,
    /// Chances of needs, once worked out.
    pub(super) chances: RefCell<BTreeMap<(FindingIx, BitSet), f64>>,
}

impl<'a> Composer<'a> {
    /// Prepares what all problems of a situation share. O(standings × links of what is there).
    /// `drawn`: which sources the standings tell of, by slot; the others count by their priors.
    pub(crate) fn new(
        model: &'a Model,
        situation: &'a Situation,
        standings: &'a [(Standing, f64)],
        drawn: &'a [bool],
    ) -> Self {
        let rate = model.practice.labour_per_hour;
        let money = if rate > 0.0 { 60.0 / rate } else { 0.0 };
        let again = situation.evidence.epoch() > 0 || !situation.done_fixes.is_empty();
        let failing = situation
            .complaints
            .iter()
            .any(|finding| situation.answered.get(finding).is_some_and(|o| *o > 0));
        let mut composer = Self {
            model,
            situation,
            standings,
            modes: Modes::of(&model.practice),
            factor: 1.0 + situation.standstill_per_minute.max(0.0) * money,
            money,
            unproven: again && !failing,
            candidates: Vec::new(),
            local: BTreeMap::new(),
            lives: Vec::new(),
            shown_by: vec![Vec::new(); model.network.findings()],
            shares: vec![0.0; model.network.sources()],
            drawn,
            related: related(&model.network, &situation.evidence, &situation.complaints),
            known: BTreeMap::new(),
            chances: RefCell::default(),
        };
        composer.undrawn();
        composer.track();
        composer.collect_factors();
        composer
    }

    /// Minutes' worth of a minute, and of one unit of currency.
    pub(crate) fn rates(&self) -> (f64, f64) {
        (self.factor, self.money)
    }

    /// The needs that are not known to hold, one for each finding; `None` where one is known not to.
    pub(super) fn open_needs(&self, needs: &[(FindingIx, usize)]) -> Option<Vec<(FindingIx, BitSet)>> {
        let mut any_of: BTreeMap<FindingIx, BitSet> = BTreeMap::new();
        for &(finding, outcome) in needs {
            let outcomes = any_of.entry(finding).or_default();
            *outcomes = outcomes.with(outcome.min(127));
        }
        let mut open = Vec::new();
        for (finding, outcomes) in any_of {
            match self.situation.answered.get(&finding) {
                Some(answer) if outcomes.has((*answer).min(127)) => {}
                Some(_) => return None,
                None => open.push((finding, outcomes)),
            }
        }
        Some(open)
    }

    /// Of needs not known to hold, those that have to be asked for first, with the chance that each holds.
    pub(super) fn to_ask(
        &self,
        needs: &[(FindingIx, BitSet)],
        recloses: bool,
    ) -> Vec<(FindingIx, BitSet, f64)> {
        (needs.iter())
            .map(|&(finding, outcomes)| (finding, outcomes, self.chance(finding, outcomes)))
            .filter(|(_, _, chance)| recloses || *chance < GRANTED)
            .collect()
    }

    /// Whether a test can be offered at all, needs aside.
    pub(super) fn offered(&self, person: &Person, at: TestIx, test: &Test) -> bool {
        test.terms.minutes.is_some()
            && !self.situation.set_aside.contains(&at)
            && self.model.practice.allows(person, &test.terms)
    }

    /// How far a plain answer to a test is believed. A reading speaks for itself.
    fn trust(&self, person: &Person, test: &Test) -> f64 {
        if test.reading.is_some() {
            return 1.0;
        }
        test.trust.unwrap_or_else(|| {
            let held = person.competences.iter().filter_map(|at| self.model.practice.competences.get(at));
            held.map(|competence| competence.trust).fold(0.0, f64::max)
        })
    }

    /// Findings of a test that are still open and no complaint: complaints are retaken by proving.
    fn open_findings(&self, test: &Test) -> Vec<FindingIx> {
        (test.gives.iter().map(|gives| gives.finding))
            .filter(|finding| !self.situation.answered.contains_key(finding))
            .filter(|finding| !self.situation.complaints.contains(finding))
            .collect()
    }

    /// The problem for the person present. `also`: steps beyond them that come in all the same, done as if they needed no
    /// way of their own, by anybody; to see what they would be worth.
    pub(crate) fn compose(&self, also: Option<&Person>) -> Composed {
        let person = &self.situation.person;
        let travel = self.modes.travel(&self.model.practice, person, self.factor);
        let state = self.situation.work_state.unwrap_or(WorkStateIx(0));
        let start = self.modes.mode(state, self.situation.place);
        let everywhere = self.modes.travel(&self.model.practice, &anybody(), self.factor);
        let mut tests: Vec<(TestIx, Vec<FindingIx>, bool)> = Vec::new(); // test, findings, beyond the person
        let mut wanted_tests: BTreeSet<TestIx> = BTreeSet::new();
        for (at, test) in self.model.tests.iter().enumerate() {
            let at = TestIx::new(at);
            let own = self.offered(person, at, test);
            let beyond = !own && also.is_some_and(|other| self.offered(other, at, test));
            let Some(needs) = self.open_needs(&test.needs).filter(|_| own || beyond) else { continue };
            let findings: Vec<FindingIx> =
                self.open_findings(test).into_iter().filter(|finding| self.differs(*finding)).collect();
            if findings.is_empty() {
                continue;
            }
            let asked = self.to_ask(&needs, test.terms.recloses);
            if asked.iter().any(|(_, _, chance)| *chance < 1e-6) || (beyond && !asked.is_empty()) {
                continue;
            }
            wanted_tests.extend(asked.iter().map(|(finding, ..)| self.model.findings[finding.at()].test));
            tests.push((at, findings, beyond));
        }
        // Tests that only others need, because by themselves they tell nothing.
        for &needed in &wanted_tests {
            let test = &self.model.tests[needed.at()];
            let findings = self.open_findings(test);
            let ready = self
                .open_needs(&test.needs)
                .is_some_and(|needs| self.to_ask(&needs, test.terms.recloses).is_empty());
            if ready
                && !findings.is_empty()
                && self.offered(person, needed, test)
                && !tests.iter().any(|(other, ..)| *other == needed)
            {
                tests.push((needed, findings, false));
            }
        }
        tests.sort_by_key(|(at, ..)| *at);
        for (at, findings, _) in &mut tests {
            if wanted_tests.contains(at) {
                *findings = self.open_findings(&self.model.tests[at.at()]);
            }
        }
        let position: BTreeMap<TestIx, usize> =
            tests.iter().enumerate().map(|(at, (test, ..))| (*test, at)).collect();
        let mut forms = Vec::new();
        let mut kept = Vec::new();
        for (at, findings, beyond) in &tests {
            let test = &self.model.tests[at.at()];
            let asked = self.to_ask(&self.open_needs(&test.needs).unwrap_or_default(), test.terms.recloses);
            let needs: Option<Vec<Need>> = (asked.iter())
                .map(|&(finding, outcomes, _)| {
                    let test = *position.get(&self.model.findings[finding.at()].test)?;
                    let finding = tests[test].1.iter().position(|other| *other == finding)?;
                    Some(Need { test, finding, outcomes })
                })
                .collect();
            // A test that waits for what nobody here can tell keeps its place, but can never be taken.
            let minutes = test.terms.minutes.unwrap_or(f64::INFINITY) * self.factor;
            let (at_modes, cost) = match beyond {
                false => (self.modes.at(&test.terms), minutes),
                true => (Vec::new(), minutes + self.detour(&everywhere, &test.terms, start)),
            };
            let trust = self.trust(if *beyond { also.unwrap_or(person) } else { person }, test);
            forms.push(TestForm {
                cost: if needs.is_some() { cost } else { f64::INFINITY },
                at: at_modes,
                shows: findings.iter().map(|finding| self.shown(*finding, trust)).collect(),
                needs: needs.unwrap_or_default(),
                again: false,
            });
            kept.push((*at, findings.clone()));
        }
        let mut fixes: Vec<(FixIx, Option<Vec<TestIx>>)> = Vec::new();
        let (mut fix_forms, mut own_fixes) = (Vec::new(), Vec::new());
        for (at, fix) in self.model.fixes.iter().enumerate() {
            let at = FixIx::new(at);
            if self.situation.declined.contains(&at) {
                continue;
            }
            let removes = self.removes(at);
            if removes.is_empty() {
                continue;
            }
            let first = self.first_asked(fix);
            let cost_for =
                |person: &Person, ways: &Travel| self.fix_for(person, fix, first.as_ref()?, ways, start);
            let beyond = || {
                also.and_then(|other| cost_for(other, &everywhere))
                    .map(|cost| (cost + self.detour(&everywhere, &fix.terms, start), Vec::new()))
            };
            let own = cost_for(person, &travel).map(|cost| (cost, self.modes.at(&fix.terms)));
            let mine = own.is_some();
            // Helpers may do it even if the person present may not: it keeps its place, at no price that is ever paid.
            let (cost, at_modes) = own.or_else(beyond).unwrap_or((f64::INFINITY, Vec::new()));
            let parts = !fix.parts.is_empty() && (mine || cost.is_infinite());
            fix_forms.push(FixForm { cost, at: at_modes, removes, parts });
            fixes.push((at, first));
            own_fixes.push(mine);
        }
        let (stops, whom) = self.stops(&fixes, start);
        let ask_first = (fixes.iter().zip(own_fixes))
            .map(|((_, first), mine)| first.clone().filter(|_| mine).unwrap_or_default())
            .collect();
        let fixes = fixes.into_iter().map(|(at, _)| at).collect();
        let problem = Problem {
            candidates: self.candidates.clone(),
            tests: forms,
            fixes: fix_forms,
            proof: self.proof(person, &travel),
            stops,
            travel,
            start,
            unproven: self.unproven,
            least_saving: LEAST_SAVING * self.factor,
        };
        let (tests, findings) = kept.into_iter().unzip();
        Composed { problem, modes: self.modes, tests, findings, fixes, ask_first, stops: whom }
    }
}
