//! Random small models of the whole story, with people, places, work states and doors, and what advice must never do.

use std::collections::BTreeMap;

use proptest::prelude::*;
use whytrip::inference::{Evidence, posterior};
use whytrip::model::Model;
use whytrip::model::catalog::{self, Act, Cause, Condition, Finding, Fix, Gives, Ids, Stage, Symptom, Test};
use whytrip::model::index::{
    CauseIx, CompetenceIx, ConditionIx, EnclosureIx, FindingIx, FixIx, PlaceIx, TestIx, WorkStateIx,
};
use whytrip::model::network::{NetworkBuilder, Source};
use whytrip::model::practice::{
    BitSet, Competence, Enclosure, HandOver, Instrument, Person, Place, Practice, Terms, WorkState,
};
use whytrip::planner::{Advice, Budget, Situation, Step, advise};

use super::planner_instances::Chance;

pub const ANYONE: CompetenceIx = CompetenceIx(0);
pub const ELECTRICIAN: CompetenceIx = CompetenceIx(1);
pub const CONTRACTOR: CompetenceIx = CompetenceIx(2);
pub const METER: usize = 0;
pub const LOCKED: WorkStateIx = WorkStateIx(1);
pub const ENERGISED: WorkStateIx = WorkStateIx(0);
pub const PANEL: PlaceIx = PlaceIx(0);
pub const ROOF: PlaceIx = PlaceIx(1);
const QUICK: Budget = Budget { samples: 64, tests: 48, expansions: 0, seed: 7, explain: true };

pub fn terms(minutes: f64) -> Terms {
    Terms {
        minutes: Some(minutes),
        place: PANEL,
        work_state: None,
        inside: None,
        competence: ANYONE,
        instruments: BitSet::default(),
        hazards: Vec::new(),
        leaves: Vec::new(),
        recloses: false,
    }
}

pub fn practice() -> Practice {
    let competence = |id: &str, covers: &[usize], carries: &[usize], minutes: Option<f64>| Competence {
        id: id.into(),
        name: id.into(),
        covers: covers.iter().fold(BitSet::default(), |set, at| set.with(*at)),
        carries: carries.iter().fold(BitSet::default(), |set, at| set.with(*at)),
        also: Vec::new(),
        trust: 1.0,
        hand_over: minutes.map(|minutes| HandOver { minutes, ..HandOver::default() }),
    };
    let lock = Terms { competence: ELECTRICIAN, instruments: BitSet::default().with(METER), ..terms(12.0) };
    let state = |id: &str| WorkState {
        id: id.into(),
        name: id.into(),
        steps: Vec::new(),
        enter: terms(0.0),
        back_steps: Vec::new(),
        back: terms(0.0),
        also: Vec::new(),
    };
    let place = |id: &str, minutes: f64| Place { id: id.into(), name: id.into(), minutes, also: Vec::new() };
    Practice {
        competences: vec![
            competence("anyone", &[0], &[], None),
            competence("electrician", &[0, 1], &[METER], Some(90.0)),
            competence("contractor", &[0, 2], &[], Some(240.0)),
        ],
        instruments: vec![Instrument { id: "meter".into(), name: "meter".into(), also: Vec::new() }],
        places: vec![place("panel", 0.0), place("roof", 8.0)],
        work_states: vec![
            state("energised"),
            WorkState {
                enter: lock.clone(),
                back: Terms { minutes: Some(5.0), ..lock },
                ..state("locked-out")
            },
        ],
        enclosures: vec![Enclosure {
            id: "panel".into(),
            name: "panel".into(),
            opened_by: BitSet::default().with(ELECTRICIAN.at()),
            hazards: Vec::new(),
        }],
        labour_per_hour: 90.0,
        currency: "USD".into(),
        unlisted: HandOver { minutes: 300.0, ..HandOver::default() },
        ..Practice::default()
    }
}

/// Builds a model: findings with their tests, and fixes, one after the other.
pub struct Builder {
    pub network: NetworkBuilder,
    pub model: Model,
}

impl Builder {
    pub fn new() -> Self {
        let model = Model {
            connections: Vec::new(),
            procedure: Default::default(),
            network: NetworkBuilder::new().build().unwrap(),
            stage: Stage::InService,
            practice: practice(),
            units: Vec::new(),
            causes: Vec::new(),
            conditions: Vec::new(),
            findings: Vec::new(),
            tests: Vec::new(),
            fixes: Vec::new(),
            ids: Ids::default(),
        };
        Self { network: NetworkBuilder::new(), model }
    }

    pub fn cause(&mut self, prior: f64) -> CauseIx {
        let id = format!("c{}", self.model.causes.len());
        let cause = Cause { id: id.clone(), name: id, unit: None, note: String::new(), sources: Vec::new() };
        self.model.causes.push(cause);
        self.network.cause(prior)
    }

    pub fn condition(&mut self, leak: f64) -> ConditionIx {
        let id = format!("k{}", self.model.conditions.len());
        self.model.conditions.push(Condition { id: id.clone(), name: id, unit: None });
        self.network.condition(leak)
    }

    fn finding(&mut self, leak: f64, test: TestIx, symptom: Option<Symptom>) -> FindingIx {
        let id = format!("f{}", self.model.findings.len());
        self.model.findings.push(Finding {
            id: id.clone(),
            name: id.clone(),
            unit: None,
            kind: (String::new(), id),
            outcomes: vec!["normal".into(), "abnormal".into()],
            also: vec![vec![]; 2],
            test,
            symptom,
        });
        self.network.finding(2, &[leak])
    }

    pub fn symptom(&mut self, leak: f64, prove_minutes: f64) -> FindingIx {
        let symptom =
            Symptom { say: String::new(), also: Vec::new(), prove_under: String::new(), prove_minutes };
        let test = TestIx::new(self.model.tests.len());
        let finding = self.finding(leak, test, Some(symptom));
        self.model.tests.push(test_of(vec![finding], terms(1.0)));
        finding
    }

    pub fn test(&mut self, leaks: &[f64], terms: Terms) -> (TestIx, Vec<FindingIx>) {
        let test = TestIx::new(self.model.tests.len());
        let findings: Vec<FindingIx> = leaks.iter().map(|leak| self.finding(*leak, test, None)).collect();
        self.model.tests.push(test_of(findings.clone(), terms));
        (test, findings)
    }

    pub fn fix(&mut self, removes: &[(CauseIx, f64)], terms: Terms, parts: &[f64]) -> FixIx {
        let fix = self.network.fix();
        for &(cause, chance) in removes {
            self.network.remove(fix, cause, chance);
        }
        let id = format!("x{}", self.model.fixes.len());
        self.model.fixes.push(Fix {
            id,
            unit: None,
            steps: Vec::new(),
            say_to_caller: String::new(),
            not_for: Vec::new(),
            needs: Vec::new(),
            parts: parts.iter().map(|price| ("part".into(), *price)).collect(),
            temporary: false,
            terms,
            sources: Vec::new(),
        });
        fix
    }

    pub fn build(mut self) -> Model {
        self.model.network = self.network.build().unwrap();
        self.model
    }
}

fn test_of(findings: Vec<FindingIx>, terms: Terms) -> Test {
    Test {
        id: String::new(),
        unit: None,
        act: Act::Look,
        say: String::new(),
        say_to_caller: String::new(),
        how: String::new(),
        expect: String::new(),
        gives: (findings.into_iter())
            .map(|finding| Gives { finding, scale: None, fault_table: None, class: None, complaint: None })
            .collect(),
        reading: None,
        needs: Vec::new(),
        trust: None,
        terms,
        sources: Vec::new(),
    }
}

/// A random small model: 3–6 causes, up to 2 conditions, 1–2 symptoms, 3–6 tests, a fix or two for most causes.
pub fn random_model(seed: u64) -> Model {
    let mut chance = Chance(seed);
    let mut builder = Builder::new();
    let causes: Vec<CauseIx> =
        (0..3 + chance.below(4)).map(|_| builder.cause(chance.between(0.02, 0.2))).collect();
    let conditions: Vec<ConditionIx> = (0..chance.below(3)).map(|_| builder.condition(0.01)).collect();
    let mut sources: Vec<Source> = causes.iter().map(|cause| Source::Cause(*cause)).collect();
    sources.extend(conditions.iter().map(|condition| Source::Condition(*condition)));
    for &condition in &conditions {
        for &cause in &causes {
            if chance.yes(0.4) {
                builder.network.bring(Source::Cause(cause), condition, chance.between(0.5, 1.0));
            }
        }
    }
    if chance.yes(0.4) {
        builder.network.lead(causes[0], causes[1], chance.between(0.3, 0.9));
    }
    for _ in 0..1 + chance.below(2) {
        let symptom = builder.symptom(chance.between(0.002, 0.02), chance.between(0.0, 20.0));
        for &source in &sources {
            if chance.yes(0.7) {
                builder.network.show(source, symptom, &[chance.between(0.3, 1.0)]);
            }
        }
    }
    let anywhere = |chance: &mut Chance, minutes: f64| Terms {
        place: if chance.yes(0.3) { ROOF } else { PANEL },
        work_state: [None, Some(ENERGISED), Some(LOCKED)][chance.below(3)],
        inside: chance.yes(0.3).then_some(EnclosureIx(0)),
        competence: [ANYONE, ANYONE, ELECTRICIAN, CONTRACTOR][chance.below(4)],
        instruments: if chance.yes(0.3) { BitSet::default().with(METER) } else { BitSet::default() },
        ..terms(minutes)
    };
    for _ in 0..3 + chance.below(4) {
        let leaks: Vec<f64> = (0..1 + chance.below(2)).map(|_| chance.between(0.001, 0.05)).collect();
        let minutes = chance.log_between(0.5, 12.0);
        let terms = anywhere(&mut chance, minutes);
        let (_, findings) = builder.test(&leaks, terms);
        for finding in findings {
            for &source in &sources {
                if chance.yes(0.4) {
                    builder.network.show(source, finding, &[chance.between(0.3, 1.0)]);
                }
            }
        }
    }
    for &cause in &causes {
        if chance.yes(0.85) {
            let mut removes = vec![(cause, chance.between(0.7, 1.0))];
            let other = causes[chance.below(causes.len())];
            if chance.yes(0.3) && other != cause {
                removes.push((other, chance.between(0.5, 1.0)));
            }
            let minutes = chance.log_between(2.0, 50.0);
            let terms = anywhere(&mut chance, minutes);
            let parts: &[f64] = if chance.yes(0.3) { &[40.0] } else { &[] };
            builder.fix(&removes, terms, parts);
        }
    }
    let mut model = builder.build();
    for at in 0..model.tests.len() {
        if model.findings[model.tests[at].gives[0].finding.at()].symptom.is_none() && chance.yes(0.3) {
            let needed = model.findings.iter().position(|f| f.symptom.is_none() && f.test.at() < at);
            if let Some(needed) = needed {
                model.tests[at].needs.push((FindingIx::new(needed), chance.below(2)));
            }
        }
    }
    for fix in &mut model.fixes {
        if chance.yes(0.2) {
            let needed = model.findings.iter().position(|finding| finding.symptom.is_none()).unwrap();
            fix.needs.push((FindingIx::new(needed), 0));
            fix.terms.recloses = chance.yes(0.5);
        }
    }
    model
}

pub fn person(seed: u64) -> Person {
    let mut chance = Chance(seed ^ 0x5EED);
    let competences = [&[0][..], &[0, 1], &[0, 2], &[0, 1, 2]][chance.below(4)];
    let competences = competences.iter().fold(BitSet::default(), |set, at| set.with(*at));
    let instruments = if chance.yes(0.5) { BitSet::default().with(METER) } else { BitSet::default() };
    Person { competences, instruments }
}

/// A random reachable situation: the first symptom is a complaint, some tests are answered, perhaps a fix was done.
pub fn random_situation(model: &Model, seed: u64) -> Situation {
    let mut chance = Chance(seed ^ 0xCAFE);
    let mut situation = Situation::new(person(seed), if chance.yes(0.8) { PANEL } else { ROOF });
    situation.work_state = [Some(ENERGISED), Some(ENERGISED), Some(LOCKED), None][chance.below(4)];
    let symptoms: Vec<FindingIx> = (0..model.findings.len())
        .map(FindingIx::new)
        .filter(|finding| model.findings[finding.at()].symptom.is_some())
        .collect();
    let tell = |situation: &mut Situation, finding: FindingIx, outcome: usize| {
        situation.evidence.plain(&model.network, finding, outcome);
        situation.answered.insert(finding, outcome);
    };
    let complaints = 1 + chance.below(symptoms.len());
    for &symptom in symptoms.iter().take(complaints) {
        tell(&mut situation, symptom, 1);
        situation.complaints.push(symptom);
    }
    let others = |chance: &mut Chance, situation: &mut Situation, share: f64| {
        for at in 0..model.findings.len() {
            let finding = FindingIx::new(at);
            if !situation.answered.contains_key(&finding) && !symptoms.contains(&finding) && chance.yes(share)
            {
                let outcome = usize::from(chance.yes(0.3));
                tell(situation, finding, outcome);
            }
        }
    };
    others(&mut chance, &mut situation, 0.25);
    if chance.yes(0.3) && !model.fixes.is_empty() {
        let fix = FixIx::new(chance.below(model.fixes.len()));
        situation.evidence.fixed(fix);
        situation.done_fixes.push(fix);
        situation.answered.clear();
        others(&mut chance, &mut situation, 0.15);
    }
    situation
}

/// What must hold of every advice.
fn check(model: &Model, situation: &Situation, advice: &Advice) {
    let practice = &model.practice;
    let person = &situation.person;
    assert!(advice.expected_minutes.is_finite() && advice.expected_minutes >= 0.0);
    let close = 1e-9 * advice.expected_minutes.max(1.0);
    assert!(advice.bound_minutes <= advice.expected_minutes + close);
    if advice.step != Step::Done {
        assert!(advice.expected_minutes <= advice.why.hand_over_minutes + close);
        assert!(advice.why.hand_over_minutes <= practice.unlisted.minutes + close);
    }
    for (step, minutes) in std::iter::once((&advice.step, advice.expected_minutes))
        .chain(advice.others.iter().map(|(step, minutes)| (step, *minutes)))
    {
        assert!(minutes.is_finite());
        allowed(model, situation, step);
    }
    // A test that saves less than half a minute is talk, and ties are within a tenth.
    let least = 0.6;
    for (_, minutes) in &advice.others {
        assert!(*minutes + least + 1e-6 >= advice.expected_minutes, "{minutes} {}", advice.expected_minutes);
    }
    match &advice.step {
        Step::Enter(state) => assert!(practice.allows(person, &practice.work_states[state.at()].enter)),
        Step::Return(state) => {
            assert_eq!(situation.work_state, Some(*state));
            assert!(practice.allows(person, &practice.work_states[state.at()].back));
        }
        // A step that is taken now needs no other work state than the one that holds.
        Step::Test(test) => now(situation, &model.tests[test.at()].terms),
        Step::Fix(fix) => now(situation, &model.fixes[fix.at()].terms),
        Step::Prove => assert_eq!(situation.work_state, Some(ENERGISED)),
        _ => {}
    }
    if situation.work_state.is_none() {
        assert_eq!(advice.step, Step::ConfirmWorkState);
    }
    for withheld in &advice.why.withheld {
        let terms = match &withheld.step {
            Step::Test(test) => &model.tests[test.at()].terms,
            Step::Fix(fix) => &model.fixes[fix.at()].terms,
            other => panic!("{other:?} withheld"),
        };
        let lock =
            terms.work_state == Some(LOCKED) && !practice.allows(person, &practice.work_states[1].enter);
        assert!(!practice.allows(person, terms) || lock, "{withheld:?} is theirs");
        assert!(withheld.competence.is_some() || !withheld.instruments.is_empty());
        assert!(withheld.saves > 0.0);
    }
}

fn now(situation: &Situation, terms: &Terms) {
    assert!(terms.work_state.is_none() || terms.work_state == situation.work_state, "{terms:?}");
}

fn allowed(model: &Model, situation: &Situation, step: &Step) {
    let practice = &model.practice;
    let held = |needs: &[(FindingIx, usize)], strictly: bool| {
        needs.iter().all(|(finding, outcome)| match situation.answered.get(finding) {
            Some(answer) => answer == outcome,
            None => !strictly,
        })
    };
    match step {
        Step::Test(test) => {
            let form = &model.tests[test.at()];
            assert!(practice.allows(&situation.person, &form.terms), "{test:?} is not theirs");
            assert!(!situation.set_aside.contains(test));
            assert!(held(&form.needs, form.terms.recloses));
            let open = form.gives.iter().any(|gives| !situation.answered.contains_key(&gives.finding));
            assert!(open, "{test:?} is answered");
        }
        Step::Fix(fix) => {
            let form = &model.fixes[fix.at()];
            assert!(practice.allows(&situation.person, &form.terms), "{fix:?} is not theirs");
            assert!(held(&form.needs, form.terms.recloses));
            assert!(!situation.declined.contains(fix));
        }
        Step::HandOver(sent) => {
            if let Some(competence) = sent.competence {
                let theirs = practice.person(competence);
                for fix in &sent.fixes {
                    assert!(practice.allows(&theirs, &model.fixes[fix.at()].terms));
                }
                assert!(sent.instruments.within(theirs.instruments));
            }
        }
        _ => {}
    }
}

proptest! {
    #![proptest_config(crate::support::cases(60))]

    #[test]
    fn advice_keeps_to_its_limits(seed in any::<u64>()) {
        let model = random_model(seed);
        let situation = random_situation(&model, seed);
        match advise(&model, &situation, &QUICK) {
            Ok(advice) => {
                check(&model, &situation, &advice);
                prop_assert_eq!(&advise(&model, &situation, &QUICK).unwrap(), &advice, "the same again");
            }
            Err(error) => prop_assert!(posterior(&model.network, &situation.evidence, &Default::default()).is_err(), "{}", error),
        }
    }

    /// Nobody locks out, or brings back, for a step that is then not taken.
    #[test]
    fn a_change_of_work_state_is_followed_by_what_it_was_made_for(seed in any::<u64>()) {
        let model = random_model(seed);
        let mut situation = random_situation(&model, seed);
        let Ok(before) = advise(&model, &situation, &QUICK) else { return Ok(()) };
        situation.came_from = situation.work_state;
        match before.step {
            Step::Enter(state) => situation.work_state = Some(state),
            Step::Return(_) => situation.work_state = Some(ENERGISED),
            _ => return Ok(()),
        }
        let after = advise(&model, &situation, &QUICK).unwrap();
        prop_assert_eq!(Some(&after.step), before.why.aim.as_ref());
        prop_assert!(after.expected_minutes <= before.expected_minutes);
        check(&model, &situation, &after);
    }

    #[test]
    fn a_more_able_person_is_no_slower(seed in any::<u64>()) {
        let model = random_model(seed);
        let mut situation = random_situation(&model, seed);
        situation.work_state = Some(ENERGISED);
        let Ok(less) = advise(&model, &situation, &QUICK) else { return Ok(()) };
        situation.person = Person { competences: BitSet(7), instruments: BitSet(1) };
        let more = advise(&model, &situation, &QUICK).unwrap();
        prop_assert!(more.bound_minutes <= less.expected_minutes + 1e-9);
    }
}

/// One cause, one fix, one symptom: the numbers by hand.
#[test]
fn advice_adds_up() {
    let mut builder = Builder::new();
    let cause = builder.cause(0.01);
    let symptom = builder.symptom(0.0, 4.0);
    builder.network.show(Source::Cause(cause), symptom, &[1.0]);
    let locked = Terms { work_state: Some(LOCKED), place: ROOF, competence: ELECTRICIAN, ..terms(10.0) };
    let fix = builder.fix(&[(cause, 1.0)], locked, &[30.0]);
    let model = builder.build();
    let electrician = Person { competences: BitSet(0b011), instruments: BitSet(1) };
    let mut situation = Situation::new(electrician, PANEL);
    situation.complaints = vec![symptom];
    situation.evidence.plain(&model.network, symptom, 1);
    situation.answered.insert(symptom, 1);
    let advice = advise(&model, &situation, &Budget::FIRST).unwrap();
    // Lock 12, up to the roof 4, the fix 10 and its part 30 × 60 / 90 = 20, down 4, back 5, look 1, watch 4.
    assert!((advice.expected_minutes - 60.0).abs() < 1e-9, "{}", advice.expected_minutes);
    assert_eq!(advice.step, Step::Enter(LOCKED));
    assert_eq!(advice.why.aim, Some(Step::Fix(fix)));
    assert!((advice.bound_minutes - 60.0).abs() < 1e-9);
    assert!((advice.why.succeeds - 1.0).abs() < 1e-12);
    assert_eq!(advice.why.removes, vec![(cause, 1.0)]);

    // Once locked out the fix itself; done, the way back, then the proof, then nothing.
    situation.work_state = Some(LOCKED);
    assert_eq!(advise(&model, &situation, &Budget::FIRST).unwrap().step, Step::Fix(fix));
    situation.place = ROOF;
    situation.evidence.fixed(fix);
    situation.done_fixes.push(fix);
    situation.answered.clear();
    let advice = advise(&model, &situation, &Budget::FIRST).unwrap();
    assert_eq!((advice.step, advice.why.aim), (Step::Return(LOCKED), Some(Step::Prove)));
    situation.work_state = Some(ENERGISED);
    situation.place = PANEL;
    let advice = advise(&model, &situation, &Budget::FIRST).unwrap();
    assert_eq!(advice.step, Step::Prove);
    assert!((advice.expected_minutes - 5.0).abs() < 1e-9);
    situation.answered.insert(symptom, 0);
    situation.to_put_back = 1;
    assert_eq!(advise(&model, &situation, &Budget::FIRST).unwrap().step, Step::PutBack);
    situation.to_put_back = 0;
    assert_eq!(advise(&model, &situation, &Budget::FIRST).unwrap().step, Step::Done);

    // A caller without a meter: an electrician is sent for, with meter and part; 90 minutes and the same 60.
    let mut call = Situation::new(Person { competences: BitSet(1), instruments: BitSet(0) }, PANEL);
    call.complaints = vec![symptom];
    call.evidence.plain(&model.network, symptom, 1);
    call.answered.insert(symptom, 1);
    let advice = advise(&model, &call, &Budget::FIRST).unwrap();
    assert!((advice.expected_minutes - 150.0).abs() < 1e-9);
    let Step::HandOver(sent) = advice.step else { panic!("{:?}", advice.step) };
    assert_eq!(sent.competence, Some(ELECTRICIAN));
    assert_eq!(sent.fixes, vec![fix]);
    assert_eq!(sent.parts, vec![(fix, 0)]);
    assert!(sent.instruments.has(METER));
    // What the caller may not do, and what it would save.
    assert_eq!(advice.why.withheld.len(), 1);
    assert_eq!(advice.why.withheld[0].step, Step::Fix(fix));
    assert_eq!(advice.why.withheld[0].competence, Some(ELECTRICIAN));
}

/// A question that tells whom to send is worth its minutes; without it the wrong one would come.
#[test]
fn a_question_that_tells_whom_to_send() {
    let mut builder = Builder::new();
    let (wiring, contact) = (builder.cause(0.02), builder.cause(0.02));
    let symptom = builder.symptom(0.0, 0.0);
    let (look, findings) = builder.test(&[0.0], terms(2.0));
    for cause in [wiring, contact] {
        builder.network.show(Source::Cause(cause), symptom, &[1.0]);
    }
    builder.network.show(Source::Cause(contact), findings[0], &[0.95]);
    builder.fix(&[(wiring, 0.98)], Terms { competence: ELECTRICIAN, ..terms(20.0) }, &[]);
    builder.fix(&[(contact, 0.98)], Terms { competence: CONTRACTOR, ..terms(20.0) }, &[]);
    let model = builder.build();
    let mut call = Situation::new(Person { competences: BitSet(1), instruments: BitSet(0) }, PANEL);
    call.complaints = vec![symptom];
    call.evidence.plain(&model.network, symptom, 1);
    call.answered.insert(symptom, 1);
    let advice = advise(&model, &call, &Budget::FIRST).unwrap();
    assert_eq!(advice.step, Step::Test(look));
    assert!(advice.expected_minutes < advice.why.without_tests_minutes - 10.0);
    assert_eq!(advice.why.separates.len(), 2);
    for branch in &advice.why.separates {
        let whom = if branch.outcomes == [(findings[0], 1)] { CONTRACTOR } else { ELECTRICIAN };
        let Step::HandOver(sent) = &branch.then else { panic!("{:?}", branch.then) };
        assert_eq!(sent.competence, Some(whom));
    }
    let sum: f64 = advice.why.separates.iter().map(|branch| branch.probability).sum();
    assert!((sum - 1.0).abs() < 1e-9);
    // Answered, it is not asked again; set aside, it is not offered.
    let mut told = call.clone();
    told.evidence.plain(&model.network, findings[0], 1);
    told.answered.insert(findings[0], 1);
    let Step::HandOver(sent) = advise(&model, &told, &Budget::FIRST).unwrap().step else { panic!() };
    assert_eq!(sent.competence, Some(CONTRACTOR));
    call.set_aside.insert(look);
    assert!(matches!(advise(&model, &call, &Budget::FIRST).unwrap().step, Step::HandOver(_)));
}

/// Two faults at once: after the first is cured and the complaint stays, the second is next; a third that shows in no
/// complaint costs nothing and is listed.
#[test]
fn two_faults_and_a_silent_one() {
    let mut builder = Builder::new();
    let (a, b, silent) = (builder.cause(0.1), builder.cause(0.05), builder.cause(0.3));
    let symptom = builder.symptom(0.0, 0.0);
    for cause in [a, b] {
        builder.network.show(Source::Cause(cause), symptom, &[1.0]);
    }
    let cures: Vec<FixIx> = [a, b].map(|cause| builder.fix(&[(cause, 1.0)], terms(5.0), &[])).to_vec();
    builder.fix(&[(silent, 1.0)], terms(1.0), &[]);
    let model = builder.build();
    let anyone = Person { competences: BitSet(1), instruments: BitSet(0) };
    let mut situation = Situation::new(anyone, PANEL);
    situation.complaints = vec![symptom];
    situation.evidence.plain(&model.network, symptom, 1);
    situation.answered.insert(symptom, 1);
    let advice = advise(&model, &situation, &Budget::FIRST).unwrap();
    assert_eq!(advice.step, Step::Fix(cures[0]));
    assert!(advice.why.silent.iter().any(|(cause, chance)| *cause == silent && (*chance - 0.3).abs() < 0.1));
    situation.evidence.fixed(cures[0]);
    situation.done_fixes.push(cures[0]);
    situation.answered = BTreeMap::from([(symptom, 1)]);
    situation.evidence.plain(&model.network, symptom, 1);
    let advice = advise(&model, &situation, &Budget::FIRST).unwrap();
    assert_eq!(advice.step, Step::Fix(cures[1]));
    assert!((advice.expected_minutes - 6.0).abs() < 1e-9);
}

/// A cause that another leads to breaks again while that stands: the leader is mended first.
#[test]
fn the_leader_first() {
    let mut builder = Builder::new();
    let (leader, led) = (builder.cause(0.2), builder.cause(0.0001));
    builder.network.lead(leader, led, 1.0);
    let symptom = builder.symptom(0.0, 0.0);
    builder.network.show(Source::Cause(led), symptom, &[1.0]);
    let mend_leader = builder.fix(&[(leader, 1.0)], terms(15.0), &[]);
    let mend_led = builder.fix(&[(led, 1.0)], terms(5.0), &[]);
    let model = builder.build();
    let mut situation = Situation::new(Person { competences: BitSet(1), instruments: BitSet(0) }, PANEL);
    situation.complaints = vec![symptom];
    situation.evidence.plain(&model.network, symptom, 1);
    situation.answered.insert(symptom, 1);
    let advice = advise(&model, &situation, &Budget::FIRST).unwrap();
    assert_eq!(advice.step, Step::Fix(mend_leader));
    // 15 and 5 in one run, and one proof: nothing is proven in between.
    assert!((advice.expected_minutes - 21.0).abs() < 0.5, "{}", advice.expected_minutes);
    situation.evidence.fixed(mend_leader);
    situation.done_fixes.push(mend_leader);
    situation.answered.clear();
    assert_eq!(advise(&model, &situation, &Budget::FIRST).unwrap().step, Step::Fix(mend_led));
}

/// Without a complaint there is nothing to do; with nothing that helps, somebody unlisted.
#[test]
fn nothing_to_do_and_nothing_that_helps() {
    let mut builder = Builder::new();
    let cause = builder.cause(0.1);
    let symptom = builder.symptom(0.01, 0.0);
    builder.network.show(Source::Cause(cause), symptom, &[0.9]);
    let model = builder.build();
    let mut situation = Situation::new(person(3), PANEL);
    assert_eq!(advise(&model, &situation, &Budget::FIRST).unwrap().step, Step::Done);
    situation.complaints = vec![symptom];
    situation.evidence.plain(&model.network, symptom, 1);
    situation.answered.insert(symptom, 1);
    let advice = advise(&model, &situation, &Budget::FIRST).unwrap();
    assert!(matches!(&advice.step, Step::HandOver(sent) if sent.competence.is_none()));
    assert!((advice.expected_minutes - 300.0).abs() < 1e-9);
    assert!(Evidence::new().told.is_empty() && catalog::Stage::InService == model.stage);
}
