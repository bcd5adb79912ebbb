//! Hearing a line against 500 symptoms, and indexing the words of the shipped package.
#![allow(clippy::unwrap_used, missing_docs)]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use whytrip::job::Job;
use whytrip::knowledge::{Stage, load_embedded};
use whytrip::model::compile::compile;
use whytrip::session::hear::{Context, Ear, Expecting, Kind, KindSymptom, hear, kinds};

/// A package as large as will ever be: 500 kinds of symptoms of four phrases of four words each.
fn many() -> Vec<Kind> {
    let word = |n: usize| {
        format!("{}{}{}", ["bra", "stol", "klim", "pent", "vor"][n % 5], ["da", "li", "so"][n % 3], n % 97)
    };
    let letters = |n: usize| {
        word(n).chars().map(|c| c.to_digit(10).map_or(c, |d| char::from(b'a' + d as u8))).collect::<String>()
    };
    let phrase = |n: usize| (0..4).map(|k| letters(n * 7 + k * 13)).collect::<Vec<_>>().join(" ");
    (0..50)
        .map(|kind| Kind {
            component: format!("kind-{}", letters(kind)),
            words: vec![letters(kind * 31)],
            symptoms: (0..10)
                .map(|n| KindSymptom {
                    name: format!("s{n}"),
                    say: phrase(kind * 40 + n * 4),
                    also: (1..4).map(|k| phrase(kind * 40 + n * 4 + k)).collect(),
                    outcomes: vec!["no".into(), "yes".into()],
                    outcome_words: vec![vec![], vec![]],
                })
                .collect(),
        })
        .collect()
}

fn lines(c: &mut Criterion) {
    let knowledge = load_embedded("kitchen-ventilation").knowledge.unwrap();
    let model = compile(&knowledge, Some(&Job::without_sheet()), Stage::InService).unwrap().model;
    let package = kinds(&knowledge);
    let said = [
        "the fryer fan is dead and the panel beeps, but the scren is not blank",
        "I think the brodali motor of fan 2 humms and vibratse, no idea why",
        "208 V",
    ];
    for (name, kinds) in [("shipped package", package.clone()), ("500 symptoms", many())] {
        let ear = Ear::new(&model, &kinds);
        let context = Context { model: &model, ear: &ear, expecting: &Expecting::OwnWords };
        c.bench_function(&format!("three lines, {name}"), |b| {
            b.iter(|| said.iter().for_each(|line| drop(black_box(hear(line, &context)))));
        });
    }
    c.bench_function("index the shipped package", |b| b.iter(|| Ear::new(&model, &package)));
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(30);
    targets = lines
}
criterion_main!(benches);
