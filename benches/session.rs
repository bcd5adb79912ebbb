//! What one answer costs in a session over the main package and the largest demo job (invented).
#![allow(clippy::unwrap_used, missing_docs)]

use std::sync::Arc;

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use whytrip::job;
use whytrip::knowledge::{Stage, load_embedded};
use whytrip::session::{Answer, Event, Packaged, Session, What, Who};
use whytrip::source::Sources;

fn say(session: &mut Session, what: What) {
    let at = session.events().len() as i64;
    session.apply(Event { at, what }).unwrap();
}

/// A call with two complaints and answers to the first `tests` questions that give one plain finding.
fn call(tests: usize) -> Session {
    let knowledge = load_embedded("kitchen-ventilation").knowledge.unwrap();
    let text = include_bytes!("../knowledge/demo/tin-whistle.yaml").to_vec();
    let job = job::read(&knowledge, &mut Sources::new(), "tin-whistle.yaml", text).0;
    let who = Who { name: String::new(), competences: vec!["electrician".into()], instruments: None };
    let source = Arc::new(Packaged::new(Arc::new(knowledge), job));
    let started = What::Started { knowledge: String::new(), job: None, stage: Stage::StartUp, who };
    let mut session = Session::start(source, Event { at: 0, what: started }).unwrap();
    say(&mut session, What::EmergenciesAnswered { present: vec![] });
    let model = session.model().clone();
    let symptoms =
        model.findings.iter().filter(|finding| finding.symptom.is_some() && finding.kind.1 != "fire-shown");
    for finding in symptoms.step_by(7).take(2) {
        let (finding, outcome) = (finding.id.clone(), finding.outcomes[1].clone());
        say(&mut session, What::Volunteered { finding, outcome, sure: true, words: String::new() });
    }
    say(&mut session, What::ThereNow { there: true });
    let plain = model
        .tests
        .iter()
        .filter(|test| test.reading.is_none() && test.gives.len() == 1 && test.needs.is_empty());
    for test in plain.step_by(3).take(tests) {
        say(&mut session, answer(&model, test));
    }
    session
}

fn answer(model: &whytrip::model::Model, test: &whytrip::model::catalog::Test) -> What {
    let finding = &model.findings[test.gives[0].finding.at()];
    let outcomes = vec![(finding.id.clone(), finding.outcomes[0].clone())];
    What::Answered {
        test: test.id.clone(),
        answer: Answer::Outcomes(outcomes),
        sure: true,
        words: String::new(),
    }
}

fn benches(c: &mut Criterion) {
    let mut group = c.benchmark_group("session");
    for answers in [5, 20, 50] {
        let session = call(answers);
        let model = session.model().clone();
        let test = model
            .tests
            .iter()
            .rfind(|t| t.reading.is_none() && t.gives.len() == 1 && t.needs.is_empty())
            .unwrap();
        let event = Event { at: 1, what: answer(&model, test) };
        group.bench_function(format!("one more answer after {answers}: posteriors and ranking"), |b| {
            b.iter_batched(
                || (session.clone(), event.clone()),
                |(mut session, event)| {
                    session.apply(event).unwrap();
                    let ranking = session.ranking();
                    (session, ranking)
                },
                BatchSize::SmallInput,
            );
        });
        group.bench_function(format!("taking an answer after {answers}, no posterior"), |b| {
            b.iter_batched(
                || (session.clone(), event.clone()),
                |(mut session, event)| {
                    session.apply(event).unwrap();
                    session
                },
                BatchSize::SmallInput,
            );
        });
        group.bench_function(format!("replay of {answers} answers"), |b| {
            let source: Arc<Packaged> = {
                let knowledge = load_embedded("kitchen-ventilation").knowledge.unwrap();
                let text = include_bytes!("../knowledge/demo/tin-whistle.yaml").to_vec();
                let job = job::read(&knowledge, &mut Sources::new(), "tin-whistle.yaml", text).0;
                Arc::new(Packaged::new(Arc::new(knowledge), job))
            };
            b.iter(|| Session::replay(source.clone(), session.events().to_vec()).unwrap());
        });
    }
    group.finish();
}

criterion_group!(all, benches);
criterion_main!(all);
