//! What hands can do: fixes with their price, the proof, and whom to send.
//!
//! In: a person, or every competence that the firm sends. Out: the forms of fixes, proof and stops of the problem. Nothing is
//! offered that the person may not or cannot do, nor before what it needs is settled.

use std::collections::BTreeSet;

use super::compose::{Composer, DOUBTFUL};
use super::problem::{FixForm, Helper, Proof, Stop};
use super::travel::{Mode, Travel};
use crate::model::catalog::Fix;
use crate::model::index::{CompetenceIx, FixIx, PlaceIx, TestIx, WorkStateIx};
use crate::model::practice::{Person, Terms};

impl Composer<'_> {
    /// The tracked causes that a fix removes. Fixes done are spent on causes that stood in their own right.
    pub(super) fn removes(&self, fix: FixIx) -> Vec<(u8, f64)> {
        let done = self.done(fix);
        let mut removes: Vec<(u8, f64)> = Vec::new();
        for &(cause, chance) in self.model.network.removes(fix) {
            for used in [false, true] {
                if let Some(&at) = self.local.get(&(cause, used)).filter(|_| chance > 0.0 && !(used && done))
                {
                    removes.push((at, chance));
                }
            }
        }
        if self.model.fixes[fix.at()].temporary { Vec::new() } else { removes }
    }

    pub(super) fn done(&self, fix: FixIx) -> bool {
        self.situation.done_fixes.contains(&fix) || self.situation.evidence.fixes().any(|done| done == fix)
    }

    /// The tests that have to be taken before a fix; `None`: it may not be done as things stand.
    pub(super) fn first_asked(&self, fix: &Fix) -> Option<Vec<TestIx>> {
        let mut first: Vec<TestIx> = Vec::new();
        for (finding, _, chance) in self.to_ask(&self.open_needs(&fix.needs)?, fix.terms.recloses) {
            let at = self.model.findings[finding.at()].test;
            if chance < DOUBTFUL || !self.open_needs(&self.model.tests[at.at()].needs)?.is_empty() {
                return None;
            }
            if !first.contains(&at) {
                first.push(at);
            }
        }
        Some(first)
    }

    /// Cost of a fix for a person, ways aside, with the tests that have to be taken before; `None`: not for them.
    pub(super) fn fix_for(
        &self,
        person: &Person,
        fix: &Fix,
        first: &[TestIx],
        travel: &Travel,
        from: Mode,
    ) -> Option<f64> {
        let mut cost = self.fix_cost(fix)?;
        if !self.model.practice.allows(person, &fix.terms) {
            return None;
        }
        for &at in first {
            let test = &self.model.tests[at.at()];
            if !self.offered(person, at, test) {
                return None;
            }
            let (way, _) = travel.nearest(from, &self.modes.at(&test.terms));
            if !way.is_finite() {
                return None;
            }
            cost += way + test.terms.minutes? * self.factor;
        }
        Some(cost)
    }

    /// Minutes of the act, and its parts.
    pub(super) fn fix_cost(&self, fix: &Fix) -> Option<f64> {
        let parts: f64 = fix.parts.iter().map(|(_, price)| price.max(0.0)).sum();
        fix.terms.minutes.map(|minutes| minutes * self.factor + parts * self.money)
    }

    /// Minutes from a mode to a step and back.
    pub(super) fn detour(&self, travel: &Travel, terms: &Terms, start: Mode) -> f64 {
        let (there, mode) = travel.nearest(start, &self.modes.at(terms));
        there + travel.minutes(mode, start)
    }

    /// Taking all complaints again: each where it is seen, energised unless it says otherwise, and for the longest time
    /// that one of them has to stay away.
    pub(crate) fn proof(&self, person: &Person, travel: &Travel) -> Proof {
        let mut asked: BTreeSet<TestIx> = BTreeSet::new();
        let (mut cost, mut stays) = (0.0, 0.0f64);
        let mut ends: Option<(Mode, Mode)> = None;
        for &complaint in &self.situation.complaints {
            let finding = &self.model.findings[complaint.at()];
            stays = stays.max(finding.symptom.as_ref().map_or(0.0, |symptom| symptom.prove_minutes));
            if !asked.insert(finding.test) {
                continue;
            }
            let terms = &self.model.tests[finding.test.at()].terms;
            let Some(minutes) = terms.minutes.filter(|_| self.model.practice.allows(person, terms)) else {
                return Proof::Never;
            };
            let mode = self.modes.mode(terms.work_state.unwrap_or(WorkStateIx(0)), terms.place);
            cost += minutes * self.factor;
            ends = match ends {
                None => Some((mode, mode)),
                Some((from, to)) => {
                    cost += travel.minutes(to, mode);
                    Some((from, mode))
                }
            };
        }
        match ends {
            Some((from, to)) if cost.is_finite() => {
                Proof::Takes { cost: cost + stays * self.factor, from, to }
            }
            _ => Proof::Never,
        }
    }

    /// Handing over: to every competence that the firm sends and the person present does not already have with its
    /// instruments, and to somebody unlisted.
    pub(super) fn stops(
        &self,
        fixes: &[(FixIx, Option<Vec<TestIx>>)],
        start: Mode,
    ) -> (Vec<Stop>, Vec<Option<CompetenceIx>>) {
        let practice = &self.model.practice;
        let (mut stops, mut whom) = (Vec::new(), Vec::new());
        let last = practice.unlisted.minutes * self.factor;
        for (at, competence) in practice.competences.iter().enumerate() {
            let Some(hand_over) = &competence.hand_over else { continue };
            let at = CompetenceIx::new(at);
            let person = practice.person(at);
            let present = &self.situation.person;
            if person.competences.within(present.competences)
                && person.instruments.within(present.instruments)
            {
                continue;
            }
            let travel = self.modes.travel(practice, &person, self.factor);
            let arrive: Vec<Mode> = (0..self.modes.count())
                .map(|mode| self.modes.mode(self.modes.state(mode as Mode), PlaceIx(0)))
                .collect();
            let arrival = arrive[usize::from(start)];
            // What a fix removes is the problem's, whoever does it.
            let theirs = (fixes.iter())
                .map(|(fix, first)| {
                    let fix = &self.model.fixes[fix.at()];
                    self.fix_for(&person, fix, first.as_ref()?, &travel, arrival).map(|cost| FixForm {
                        cost,
                        at: self.modes.at(&fix.terms),
                        removes: Vec::new(),
                        parts: !fix.parts.is_empty(),
                    })
                })
                .collect();
            stops.push(Stop::Sent(Helper {
                minutes: hand_over.minutes * self.factor,
                fixes: theirs,
                proof: self.proof(&person, &travel),
                travel,
                arrive,
                last,
            }));
            whom.push(Some(at));
        }
        stops.push(Stop::Flat(last));
        whom.push(None);
        (stops, whom)
    }
}
