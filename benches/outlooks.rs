//! The plan on the built-in package and its invented jobs, beside textbook rules: `cargo bench --bench outlooks`.
//!
//! Expected minutes with an electrician at the panel, per complaint: the plan made anew at every point; repairs in a fixed
//! order, worked out once; repairs by chance over cost made anew; the test that tells most per minute, then repairs; and what
//! no plan can beat. By simulation, seed stated, with half the width of the 95 % interval.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout)]

use whytrip::job;
use whytrip::knowledge::{self, InMemory, Options, Stage};
use whytrip::model::compile;
use whytrip::model::index::{FindingIx, PlaceIx};
use whytrip::planner::closed_loop::Expected;
use whytrip::planner::outlook::outlook;
use whytrip::planner::{Budget, Situation};
use whytrip::source::Sources;

const BUDGET: Budget = Budget { samples: 96, tests: 48, expansions: 0, seed: 1, explain: false };
const CALLS: usize = 40;
/// So many complaints of each job.
const COMPLAINTS: usize = 8;

fn main() {
    let knowledge =
        knowledge::load(&InMemory::new(), "kitchen-ventilation", &Options::default()).knowledge.unwrap();
    println!("| job, complaint | plan | fixed order | repairs | entropy | bound |");
    println!("| --- | --- | --- | --- | --- | --- |");
    let mut sums = [0.0; 5];
    let mut rows = 0.0;
    for sheet in ["tin-whistle", "lantern-noodles", "orchard-school"] {
        let path = format!("{}/knowledge/demo/{sheet}.yaml", env!("CARGO_MANIFEST_DIR"));
        let (job, _) = job::read(&knowledge, &mut Sources::new(), sheet, std::fs::read(path).unwrap());
        let model = compile(&knowledge, job.as_ref(), Stage::InService).unwrap().model;
        let electrician = model.practice.person(model.practice.competence("electrician").unwrap());
        let symptoms: Vec<FindingIx> = (0..model.findings.len())
            .map(FindingIx::new)
            .filter(|finding| model.findings[finding.at()].symptom.is_some())
            .collect();
        let every = symptoms.len().div_ceil(COMPLAINTS).max(1);
        for &complaint in symptoms.iter().step_by(every) {
            let mut situation = Situation::new(electrician, PlaceIx(0));
            situation.complaints = vec![complaint];
            situation.evidence.plain(&model.network, complaint, 1);
            situation.answered.insert(complaint, 1);
            let Ok(seen) = outlook(&model, &situation, &BUDGET, CALLS) else { continue };
            let said = |e: &Expected| format!("{:.0} ± {:.0}", e.value, 1.96 * e.error);
            let fixed = seen.advice.why.without_tests_minutes;
            println!(
                "| {sheet}, {} | {} | {fixed:.0} | {} | {} | {:.0} |",
                model.findings[complaint.at()].id,
                said(&seen.plan),
                said(&seen.repairs),
                said(&seen.entropy),
                seen.bound
            );
            let row = [seen.plan.value, fixed, seen.repairs.value, seen.entropy.value, seen.bound];
            for (sum, value) in sums.iter_mut().zip(row) {
                *sum += value;
            }
            rows += 1.0;
        }
    }
    let mean = sums.map(|sum| format!("{:.0}", sum / rows));
    println!("| mean of {rows} | {} |", mean.join(" | "));
}
