//! Policies against the exact optimum, on random small problems of three classes, 200 of each: `cargo bench --bench policies`.
//!
//! Excess is the exact expected cost of the policy, asked anew at every point, over the exact optimum. The exact solver is
//! no part of any policy. With `OPTIMA=overwrite` the optima are written for the tests.
#![allow(missing_docs, clippy::unwrap_used, clippy::print_stdout, dead_code, unused_imports, unreachable_pub)]

use std::fmt::Write as _;

use whytrip::planner::Budget;
use whytrip::planner::closed_loop::exactly;
use whytrip::planner::optimum::optimum;
use whytrip::planner::policy::Policy;

#[path = "../tests/it/planner_instances.rs"]
mod planner_instances;

use planner_instances::{CLASSES, COUNT, excess_of, mean, percentile};

/// More beliefs than any of these problems has.
const LIMIT: usize = 50_000_000;

fn main() {
    let mut optima = String::new();
    let mut table: Vec<String> = Policy::ALL.iter().map(|policy| format!("| {} |", policy.name())).collect();
    let (mut head, mut rule) = ("| mean / 95th percentile, % |".to_owned(), "| --- |".to_owned());
    for (name, class) in CLASSES {
        write!(head, " {name} |").unwrap();
        rule.push_str(" --- |");
        let problems: Vec<_> = (0..COUNT).map(class).collect();
        let best: Vec<f64> = problems.iter().map(|problem| optimum(problem, LIMIT).unwrap().value).collect();
        for value in &best {
            writeln!(optima, "{name}: {value:?}").unwrap();
        }
        for (policy, row) in Policy::ALL.into_iter().zip(&mut table) {
            let excess: Vec<f64> = (problems.iter().zip(&best))
                .map(|(problem, best)| 100.0 * excess_of(problem, policy, *best))
                .collect();
            write!(row, " {:.3} / {:.2} |", mean(&excess), percentile(&excess, 95)).unwrap();
        }
    }
    println!("{head}\n{rule}\n{}", table.join("\n"));
    if std::env::var_os("OPTIMA").is_some_and(|word| word == "overwrite") {
        std::fs::write(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/planner/optima.txt"), optima).unwrap();
    }
}
