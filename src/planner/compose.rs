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

use std::collections::{BTreeMap, BTreeSet};

use super::allowed::{Modes, anybody};
use super::problem::{
    Candidate, Factor, FixForm, Helper, Need, Problem, Proof, Response, Shown, Stop, TestForm,
};
use super::related::{Related, related};
use super::situation::Situation;
use super::standing::{Roots, Standing};
use super::travel::{Mode, Travel};
use crate::model::Model;
use crate::model::catalog::{Fix, Test};
use crate::model::index::{CauseIx, CompetenceIx, FindingIx, FixIx, PlaceIx, TestIx, WorkStateIx};
use crate::model::network::Source;
use crate::model::practice::{BitSet, Person, Terms};

/// A need at least this probable is taken for granted.
const GRANTED: f64 = 0.9;
/// A fix whose need is less probable than this waits until the need is answered.
const DOUBTFUL: f64 = 0.5;
/// A test has to save this many minutes, or it is not worth anybody's patience; it also keeps chance differences between
/// samples from being taken for information. A judgement.
const LEAST_SAVING: f64 = 0.5;
/// So many causes are told apart at most; with more, the least probable count as unlisted.
const TRACKED: usize = 128;

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
    model: &'a Model,
    situation: &'a Situation,
    standings: &'a [(Standing, f64)],
    modes: Modes,
    /// Minutes' worth of a minute: with a standstill it is more than 1.
    factor: f64,
    /// Minutes' worth of one unit of currency.
    money: f64,
    unproven: bool,
    candidates: Vec<Candidate>,
    /// The problem's cause for each tracked pair of cause and "fixes done on it are spent".
    local: BTreeMap<(CauseIx, bool), u8>,
    /// For each finding, the factors of what is related, by candidate ascending.
    factors: Vec<Vec<(usize, Factor)>>,
    /// For each finding, P(≤ v) of its leak and of what is not related.
    background: Vec<Vec<f64>>,
    /// What the trouble can have to do with.
    related: Related,
    /// Findings whose draws are known, from an earlier epoch.
    known: BTreeSet<FindingIx>,
}

impl<'a> Composer<'a> {
    /// Prepares what all problems of a situation share. O(standings × links of what is there).
    pub(crate) fn new(model: &'a Model, situation: &'a Situation, standings: &'a [(Standing, f64)]) -> Self {
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
            factors: vec![Vec::new(); model.network.findings()],
            background: (0..model.network.findings())
                .map(|at| cumulative(model.network.leak(FindingIx::new(at))))
                .collect(),
            related: related(&model.network, &situation.evidence, &situation.complaints),
            known: BTreeSet::new(),
        };
        composer.track();
        composer.collect_factors();
        composer
    }

    /// Minutes' worth of a minute, and of one unit of currency.
    pub(crate) fn rates(&self) -> (f64, f64) {
        (self.factor, self.money)
    }

    /// Numbers the causes that some candidate wants gone, likeliest first, and makes the candidates.
    fn track(&mut self) {
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

    fn candidate(&self, standing: &Standing, weight: f64) -> Candidate {
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

    fn collect_factors(&mut self) {
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
                        self.factors[finding.at()].push((at, Factor { roots, at_most }));
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
                        self.factors[finding.at()].push((at, Factor { roots, at_most: cumulative(chances) }));
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
    fn is_related(&self, standing: &Standing, source: Source) -> bool {
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
    fn roots(&self, standing: &Standing, source: Source) -> BitSet {
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
    fn shown(&self, finding: FindingIx, trust: f64) -> Shown {
        let network = &self.model.network;
        let leak = Factor { roots: BitSet::default(), at_most: self.background[finding.at()].clone() };
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
    fn chance(&self, finding: FindingIx, outcomes: BitSet) -> f64 {
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

    /// The needs that are not known to hold, one for each finding; `None` where one is known not to.
    fn open_needs(&self, needs: &[(FindingIx, usize)]) -> Option<Vec<(FindingIx, BitSet)>> {
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
    fn to_ask(&self, needs: &[(FindingIx, BitSet)], recloses: bool) -> Vec<(FindingIx, BitSet, f64)> {
        (needs.iter())
            .map(|&(finding, outcomes)| (finding, outcomes, self.chance(finding, outcomes)))
            .filter(|(_, _, chance)| recloses || *chance < GRANTED)
            .collect()
    }

    /// Whether a test can be offered at all, needs aside.
    fn offered(&self, person: &Person, at: TestIx, test: &Test) -> bool {
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
            let findings: Vec<FindingIx> = self
                .open_findings(test)
                .into_iter()
                .filter(|finding| !self.factors[finding.at()].is_empty())
                .collect();
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
            });
            kept.push((*at, findings.clone()));
        }
        let mut fixes = Vec::new();
        let mut fix_forms = Vec::new();
        let mut ask_first = Vec::new();
        for (at, fix) in self.model.fixes.iter().enumerate() {
            let at = FixIx::new(at);
            if self.situation.declined.contains(&at) {
                continue;
            }
            let removes = self.removes(at);
            if removes.is_empty() {
                continue;
            }
            let own = self.fix_for(person, fix, &travel, start);
            let beyond = own.is_none() && also.is_some();
            let form = match (own, also.and_then(|other| self.fix_for(other, fix, &everywhere, start))) {
                (Some((cost, ask)), _) => Some((
                    FixForm {
                        cost,
                        at: self.modes.at(&fix.terms),
                        removes: removes.clone(),
                        parts: !fix.parts.is_empty(),
                    },
                    ask,
                )),
                (None, Some((cost, _))) if beyond => {
                    let cost = cost + self.detour(&everywhere, &fix.terms, start);
                    Some((
                        FixForm { cost, at: Vec::new(), removes: removes.clone(), parts: false },
                        Vec::new(),
                    ))
                }
                _ => None,
            };
            // Helpers may do it even if the person present may not: it keeps its place, at no price that is ever paid.
            let (form, ask) = form.unwrap_or_else(|| {
                (
                    FixForm {
                        cost: f64::INFINITY,
                        at: Vec::new(),
                        removes: removes.clone(),
                        parts: !fix.parts.is_empty(),
                    },
                    Vec::new(),
                )
            });
            fixes.push(at);
            fix_forms.push(form);
            ask_first.push(ask);
        }
        let (stops, whom) = self.stops(&fixes, &fix_forms, start);
        let problem = Problem {
            candidates: self.candidates.clone(),
            tests: forms,
            fixes: fix_forms,
            proof: self.proof(person),
            stops,
            travel,
            start,
            unproven: self.unproven,
            least_saving: LEAST_SAVING * self.factor,
        };
        let (tests, findings) = kept.into_iter().unzip();
        Composed { problem, modes: self.modes, tests, findings, fixes, ask_first, stops: whom }
    }

    /// The tracked causes that a fix removes. Fixes done are spent on causes that stood in their own right.
    fn removes(&self, fix: FixIx) -> Vec<(u8, f64)> {
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

    fn done(&self, fix: FixIx) -> bool {
        self.situation.done_fixes.contains(&fix) || self.situation.evidence.fixes().any(|done| done == fix)
    }

    /// Cost of a fix for a person, ways aside, and the tests that have to be taken before; `None`: not for them.
    fn fix_for(&self, person: &Person, fix: &Fix, travel: &Travel, from: Mode) -> Option<(f64, Vec<TestIx>)> {
        let mut cost = self.fix_cost(fix)?;
        if !self.model.practice.allows(person, &fix.terms) {
            return None;
        }
        let mut first = Vec::new();
        for (finding, _, chance) in self.to_ask(&self.open_needs(&fix.needs)?, fix.terms.recloses) {
            let at = self.model.findings[finding.at()].test;
            let test = &self.model.tests[at.at()];
            let settled = self.open_needs(&test.needs)?.is_empty();
            if chance < DOUBTFUL || !settled || !self.offered(person, at, test) {
                return None;
            }
            let (way, _) = travel.nearest(from, &self.modes.at(&test.terms));
            if !way.is_finite() {
                return None;
            }
            if !first.contains(&at) {
                cost += way + test.terms.minutes? * self.factor;
                first.push(at);
            }
        }
        Some((cost, first))
    }

    /// Minutes of the act, and its parts.
    fn fix_cost(&self, fix: &Fix) -> Option<f64> {
        let parts: f64 = fix.parts.iter().map(|(_, price)| price.max(0.0)).sum();
        fix.terms.minutes.map(|minutes| minutes * self.factor + parts * self.money)
    }

    /// Minutes from a mode to a step and back.
    fn detour(&self, travel: &Travel, terms: &Terms, start: Mode) -> f64 {
        let (there, mode) = travel.nearest(start, &self.modes.at(terms));
        there + travel.minutes(mode, start)
    }

    /// Taking all complaints again: each where it is seen, energised unless it says otherwise, and for the longest time
    /// that one of them has to stay away.
    pub(crate) fn proof(&self, person: &Person) -> Proof {
        let travel = self.modes.travel(&self.model.practice, person, self.factor);
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
    fn stops(
        &self,
        fixes: &[FixIx],
        forms: &[FixForm],
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
            let theirs = (fixes.iter().zip(forms))
                .map(|(fix, form)| {
                    let fix = &self.model.fixes[fix.at()];
                    self.fix_for(&person, fix, &travel, arrival).map(|(cost, _)| FixForm {
                        cost,
                        at: self.modes.at(&fix.terms),
                        removes: form.removes.clone(),
                        parts: !fix.parts.is_empty(),
                    })
                })
                .collect();
            stops.push(Stop::Sent(Helper {
                minutes: hand_over.minutes * self.factor,
                fixes: theirs,
                proof: self.proof(&person),
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

fn cumulative(chances: &[f64]) -> Vec<f64> {
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
