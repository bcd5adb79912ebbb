//! All posteriors of one query on the reference networks S and M, one median a case, as JSON for
//! `tests/reference/side_by_side.py`, which times a reference library on the same queries in the same run.
//!
//! `cargo bench --bench peers -- FILE` writes `[{"id", "nanoseconds", "posterior": {cause: p}}]` to the file.
#![allow(clippy::unwrap_used, clippy::print_stdout, missing_docs)]

use std::hint::black_box;
use std::time::Instant;

use serde_json::{Value, json};
use whytrip::inference::{Limits, Workspace};

/// Queries in one batch, and batches of which the median is taken.
const BATCH: u32 = 200;
const BATCHES: usize = 31;

#[path = "../tests/data/networks.rs"]
mod networks;

fn main() {
    let data = networks::data();
    let limits = Limits::default();
    let mut rows = Vec::new();
    for case in data["cases"].as_array().unwrap() {
        let network = networks::builder(&data, case["network"].as_str().unwrap()).build().unwrap();
        let evidence = networks::evidence(&network, case);
        let mut workspace = Workspace::new(&network);
        let answer = workspace.posterior(&network, &evidence, &limits).unwrap();
        let mut took: Vec<f64> = (0..BATCHES)
            .map(|_| {
                let start = Instant::now();
                for _ in 0..BATCH {
                    black_box(workspace.posterior(&network, black_box(&evidence), &limits).unwrap());
                }
                start.elapsed().as_nanos() as f64 / f64::from(BATCH)
            })
            .collect();
        took.sort_by(f64::total_cmp);
        let posterior: serde_json::Map<String, Value> =
            answer.now.iter().enumerate().map(|(cause, p)| (cause.to_string(), json!(p))).collect();
        rows.push(json!({"id": case["id"], "nanoseconds": took[BATCHES / 2], "posterior": posterior}));
    }
    let text = serde_json::to_string_pretty(&rows).unwrap();
    // cargo passes `--bench` to every bench.
    match std::env::args().skip(1).find(|word| !word.starts_with("--")) {
        Some(file) => std::fs::write(file, text).unwrap(),
        None => println!("{text}"),
    }
}
