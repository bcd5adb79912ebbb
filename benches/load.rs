//! Loading and checking packages: what is embedded, the same from its text, and generated ones of growing size.
#![allow(missing_docs, clippy::unwrap_used)]

use criterion::{BatchSize, BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use whytrip::knowledge::{InMemory, Options, embedded, load, load_embedded};

#[path = "../tests/it/generated.rs"]
mod generated;

fn shipped() -> InMemory {
    let mut files = InMemory::new();
    for package in embedded::packages() {
        for file in embedded::files_of(package).unwrap() {
            let text = embedded::text(package, &file).unwrap();
            files.add(package, file, text);
        }
    }
    files
}

fn packages(c: &mut Criterion) {
    c.bench_function("load/embedded", |b| b.iter(|| load_embedded("kitchen-ventilation")));
    let files = shipped();
    c.bench_function("load/from-text", |b| {
        b.iter_batched(
            || files.clone(),
            |files| load(&files, "kitchen-ventilation", &Options::default()),
            BatchSize::SmallInput,
        );
    });
    let mut group = c.benchmark_group("load/generated");
    group.sample_size(10);
    for causes in [2_500_u64, 5_000, 10_000, 20_000] {
        let files = generated::package(causes as usize);
        group.throughput(Throughput::Elements(causes));
        group.bench_with_input(BenchmarkId::from_parameter(causes), &files, |b, files| {
            b.iter(|| load(files, "plant", &Options::default()));
        });
    }
    group.finish();
}

criterion_group!(benches, packages);
criterion_main!(benches);
