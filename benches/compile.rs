//! How long it takes to make a model: the main package for the largest demo job, and for units as they are mentioned.
#![allow(clippy::unwrap_used, missing_docs)]

use criterion::{Criterion, criterion_group, criterion_main};
use whytrip::job::{self, Job};
use whytrip::knowledge::{Stage, load_embedded};
use whytrip::model::compile;
use whytrip::model::graph::Graph;
use whytrip::source::Sources;

fn benches(c: &mut Criterion) {
    let knowledge = load_embedded("kitchen-ventilation").knowledge.unwrap();
    let text = include_bytes!("../knowledge/demo/tin-whistle.yaml");
    let read = || job::read(&knowledge, &mut Sources::new(), "tin-whistle.yaml", text.to_vec()).0.unwrap();
    let sheet = read();
    let mut mentioned = Job::without_sheet();
    mentioned.add_unit(&knowledge, "fan", "fryer fan").unwrap();
    mentioned.add_unit(&knowledge, "fan", "supply fan").unwrap();

    let mut group = c.benchmark_group("compile");
    group.bench_function("job sheet, 24 units: read and check", |b| b.iter(read));
    group.bench_function("model of that job", |b| {
        b.iter(|| compile(&knowledge, Some(&sheet), Stage::StartUp).unwrap());
    });
    group.bench_function("model of two fans that were mentioned", |b| {
        b.iter(|| compile(&knowledge, Some(&mentioned), Stage::InService).unwrap());
    });
    let model = compile(&knowledge, Some(&sheet), Stage::StartUp).unwrap().model;
    group.bench_function("graph of that model", |b| b.iter(|| Graph::new(&model)));
    group.finish();
}

criterion_group!(all, benches);
criterion_main!(all);
