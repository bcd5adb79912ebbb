//! How long an advice takes: a package-sized model, a caller and an electrician, quick and first.
#![allow(missing_docs, clippy::unwrap_used, dead_code, unused_imports, unreachable_pub)]

use criterion::{Criterion, criterion_group, criterion_main};
use whytrip::inference::World;
use whytrip::job;
use whytrip::knowledge::{Stage, load_embedded};
use whytrip::model::index::{CauseIx, FindingIx, PlaceIx};
use whytrip::model::network::Source;
use whytrip::model::practice::{BitSet, Person, Terms};
use whytrip::model::{Model, compile, trust};
use whytrip::planner::{Budget, Effort, Situation, Step, advise, advise_from};
use whytrip::source::Sources;

#[path = "../tests/it/planner_instances.rs"]
mod planner_instances;
#[path = "../tests/it/planner_models.rs"]
mod planner_models;

use planner_instances::Chance;
use planner_models::{ANYONE, Builder, CONTRACTOR, ELECTRICIAN, LOCKED, PANEL, ROOF, terms};

/// 120 causes, 20 symptoms, 150 tests, 120 fixes: every cause shows in a few findings, as a package for one job does.
fn package_sized() -> (Model, Vec<World>, Vec<FindingIx>) {
    let mut chance = Chance(5);
    let mut builder = Builder::new();
    let causes: Vec<CauseIx> = (0..120).map(|_| builder.cause(chance.log_between(0.0005, 0.02))).collect();
    let symptoms: Vec<FindingIx> = (0..20).map(|_| builder.symptom(0.002, 5.0)).collect();
    let mut shows: Vec<Vec<FindingIx>> = vec![Vec::new(); causes.len()];
    for (at, cause) in causes.iter().enumerate() {
        for _ in 0..2 {
            let symptom = symptoms[chance.below(symptoms.len())];
            if !shows[at].contains(&symptom) {
                builder.network.show(Source::Cause(*cause), symptom, &[chance.between(0.3, 1.0)]);
                shows[at].push(symptom);
            }
        }
    }
    for _ in 0..150 {
        let minutes = chance.log_between(0.5, 12.0);
        let terms = Terms {
            place: if chance.yes(0.3) { ROOF } else { PANEL },
            work_state: chance.yes(0.2).then_some(LOCKED),
            competence: if chance.yes(0.5) { ELECTRICIAN } else { ANYONE },
            ..terms(minutes)
        };
        let (_, findings) = builder.test(&[chance.between(0.001, 0.02)], terms);
        for _ in 0..6 {
            let at = chance.below(causes.len());
            if !shows[at].contains(&findings[0]) {
                builder.network.show(Source::Cause(causes[at]), findings[0], &[chance.between(0.3, 1.0)]);
                shows[at].push(findings[0]);
            }
        }
    }
    for cause in &causes {
        let minutes = chance.log_between(2.0, 50.0);
        let competence = if chance.yes(0.2) { CONTRACTOR } else { ELECTRICIAN };
        let place = if chance.yes(0.3) { ROOF } else { PANEL };
        let terms = Terms { competence, place, work_state: Some(LOCKED), ..terms(minutes) };
        builder.fix(&[(*cause, chance.between(0.8, 1.0))], terms, &[20.0]);
    }
    let model = builder.build();
    // The worlds in which the first symptom is abnormal: by rejection, as the story tells it.
    let complaint = symptoms[0];
    let mut worlds = Vec::new();
    while worlds.len() < 256 {
        let there: Vec<CauseIx> =
            causes.iter().copied().filter(|cause| chance.yes(model.network.prior(*cause))).collect();
        let mut draws = Vec::new();
        for &cause in &there {
            for (finding, chances) in model.network.shows(Source::Cause(cause)) {
                if finding == complaint && chance.yes(chances[1]) {
                    draws.push((Some(Source::Cause(cause)), 1));
                }
            }
        }
        if chance.yes(model.network.leak(complaint)[1]) {
            draws.push((None, 1));
        }
        if !draws.is_empty() {
            worlds.push(World {
                causes_now: there,
                conditions_now: Vec::new(),
                draws: vec![(complaint, draws)],
            });
        }
    }
    (model, worlds, symptoms)
}

fn advice(c: &mut Criterion) {
    let (model, worlds, symptoms) = package_sized();
    let caller = Person { competences: BitSet(0b001), instruments: BitSet(0) };
    let electrician = Person { competences: BitSet(0b011), instruments: BitSet(1) };
    for (who, person) in [("caller", caller), ("electrician", electrician)] {
        let mut situation = Situation::new(person, PANEL);
        situation.complaints = vec![symptoms[0]];
        situation.evidence.plain(&model.network, symptoms[0], 1);
        situation.answered.insert(symptoms[0], 1);
        let quick = &worlds[..Budget::QUICK.samples];
        c.bench_function(&format!("advice/quick/{who}"), |b| {
            b.iter(|| advise_from(&model, &situation, quick, &Budget::QUICK));
        });
        let plain = Budget { explain: false, ..Budget::FIRST };
        c.bench_function(&format!("advice/first without reasons/{who}"), |b| {
            b.iter(|| advise_from(&model, &situation, &worlds, &plain));
        });
        c.bench_function(&format!("advice/first/{who}"), |b| {
            b.iter(|| advise_from(&model, &situation, &worlds, &Budget::FIRST));
        });
    }
}

/// The largest invented job, after so many answers: the planner's own questions, each answered normal.
fn package(c: &mut Criterion) {
    let knowledge = load_embedded("kitchen-ventilation").knowledge.unwrap();
    let text = include_bytes!("../knowledge/demo/ferry-hall.yaml").to_vec();
    let job = job::read(&knowledge, &mut Sources::new(), "ferry-hall.yaml", text).0;
    let model = compile(&knowledge, job.as_ref(), Stage::StartUp).unwrap().model;
    let practice = &model.practice;
    let complaints = ["X-GRL/stopped", "WP/blank"];
    for competence in ["anyone", "electrician"] {
        let person = practice.person(practice.competence(competence).unwrap());
        for complaint in complaints {
            let Some(&finding) = model.ids.findings.get(complaint) else { panic!("{complaint}") };
            let mut situation = Situation::new(person, PlaceIx(0));
            situation.complaints = vec![finding];
            tell(&model, &mut situation, finding, 1);
            for answers in [1, 5, 15] {
                while situation.evidence.told.len() < answers {
                    let advice = advise(&model, &situation, &Budget::QUICK).unwrap();
                    let steps = std::iter::once(&advice.step).chain(advice.why.aim.as_ref());
                    let steps = steps.chain(advice.others.iter().map(|(step, _)| step));
                    let asked =
                        steps.filter_map(|step| if let Step::Test(at) = step { Some(*at) } else { None });
                    let Some(test) = asked.into_iter().next() else { break };
                    for gives in &model.tests[test.at()].gives {
                        if !situation.answered.contains_key(&gives.finding) {
                            tell(&model, &mut situation, gives.finding, 0);
                        }
                    }
                }
                let told = situation.evidence.told.len();
                for effort in Effort::ALL {
                    let name = format!("{}/{competence}/{complaint}/{told} answers", effort.name());
                    c.bench_function(&name, |b| {
                        b.iter(|| advise(&model, &situation, &effort.budget()).unwrap());
                    });
                }
            }
        }
    }
}

fn tell(model: &Model, situation: &mut Situation, finding: FindingIx, outcome: usize) {
    let outcomes = model.network.outcomes(finding);
    situation.evidence.soft(finding, trust::plain(outcomes, outcome, 0.95, true));
    situation.answered.insert(finding, outcome);
}

criterion_group! { name = benches; config = Criterion::default().sample_size(10); targets = advice, package }
criterion_main!(benches);
