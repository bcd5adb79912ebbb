//! How long a whole plan takes, and what memory: `cargo bench --bench graph`.
//!
//! One complaint of the built-in package on its largest demo job, an electrician at the panel: seconds, states a second,
//! peak memory of the process, and what is left open, under the path probability cut of 1e-4 and coarser ones.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

use std::time::Instant;

use whytrip::job;
use whytrip::knowledge::{self, InMemory, Options, Stage};
use whytrip::model::compile;
use whytrip::model::index::PlaceIx;
use whytrip::planner::decision_graph::Bounds;
use whytrip::planner::{DecisionGraph, Situation};
use whytrip::source::Sources;

fn main() {
    let knowledge =
        knowledge::load(&InMemory::new(), "kitchen-ventilation", &Options::default()).knowledge.unwrap();
    let path = format!("{}/knowledge/demo/tin-whistle.yaml", env!("CARGO_MANIFEST_DIR"));
    let (job, _) = job::read(&knowledge, &mut Sources::new(), "tin-whistle", std::fs::read(path).unwrap());
    let model = compile(&knowledge, job.as_ref(), Stage::InService).unwrap().model;
    println!(
        "| complaint | cut | states | nodes | seconds | states a second | open | expected minutes | peak MB |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- | --- |");
    for complaint in ["VFD-3/bus-lost", "EF-1/stopped"] {
        for cut in [1e-2, 1e-3, 1e-4] {
            let electrician = model.practice.person(model.practice.competence("electrician").unwrap());
            let mut start = Situation::new(electrician, PlaceIx(0));
            let finding = model.ids.findings[complaint];
            start.complaints = vec![finding];
            start.answered.insert(finding, 1);
            let outcomes = model.network.outcomes(finding);
            start.evidence.soft(finding, (0..outcomes).map(|at| f64::from(u8::from(at == 1))).collect());
            let bounds = Bounds { cut, most: 100_000, ..Bounds::default() };
            let begun = Instant::now();
            let graph = DecisionGraph::compile(&model, &start, bounds, &mut |_| {}).unwrap();
            let seconds = begun.elapsed().as_secs_f64();
            println!(
                "| {complaint} | {cut:e} | {} | {} | {seconds:.2} | {:.0} | {:.1} % | {:.0} | {} |",
                graph.states,
                graph.graph.node_count(),
                graph.states as f64 / seconds,
                100.0 * graph.open,
                graph.expected_minutes(),
                peak().map_or_else(|| "?".to_owned(), |mb| format!("{mb:.0}")),
            );
        }
    }
}

/// Peak resident memory of this process in MB, where the system tells it.
fn peak() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM"))?;
    Some(line.split_whitespace().nth(1)?.parse::<f64>().ok()? / 1024.0)
}
