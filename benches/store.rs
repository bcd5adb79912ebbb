//! One event made durable, and a session of 60 events opened.
#![allow(clippy::unwrap_used, missing_docs)]

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use whytrip::knowledge::Stage;
use whytrip::session::{Event, What, Who};
use whytrip::store::{Cases, DataFolder};

fn start() -> Event {
    let who = Who { name: String::new(), competences: vec!["anyone".into()], instruments: None };
    Event { at: 0, what: What::Started { knowledge: "k".into(), job: None, stage: Stage::InService, who } }
}

fn told(n: usize) -> Event {
    let what = What::Volunteered {
        finding: format!("EF{n}/dead"),
        outcome: "yes".into(),
        sure: true,
        words: "the fryer fan is dead".into(),
    };
    Event { at: n as i64, what }
}

fn store(c: &mut Criterion) {
    let dir = tempfile::tempdir().unwrap();
    let folder = DataFolder::find(Some(dir.path())).unwrap();
    let mut cases = Cases::open(&folder).unwrap();
    let id = cases.create("k", &start()).unwrap();
    let mut seq = 0;
    c.bench_function("append an event durably", |b| {
        b.iter(|| {
            seq += 1;
            cases.append(&id, seq, &told(seq)).unwrap();
        });
    });
    let sixty = cases.create("k", &start()).unwrap();
    cases.append_all(&sixty, 1, &(1..60).map(told).collect::<Vec<_>>()).unwrap();
    drop(cases);
    c.bench_function("open a session of 60 events", |b| {
        b.iter_batched(
            || (),
            |()| Cases::open(&folder).unwrap().events(&sixty).unwrap(),
            BatchSize::PerIteration,
        );
    });
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(30);
    targets = store
}
criterion_main!(benches);
