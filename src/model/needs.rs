//! What has to be so before a test makes sense.
//!
//! In: a test. Out: its needs with those of the tests that tell them. Invariant: each finding once, nearest first.

use super::Model;
use super::index::{FindingIx, TestIx};

/// All that has to be so before a test makes sense, the needs of its needs included: finding, outcomes allowed.
#[must_use]
pub fn needs_of(model: &Model, test: TestIx) -> Vec<(FindingIx, Vec<usize>)> {
    let mut needs: Vec<(FindingIx, Vec<usize>)> = Vec::new();
    let (mut tests, mut at) = (vec![test], 0);
    while let Some(&test) = tests.get(at) {
        at += 1;
        let direct = &model.tests[test.at()].needs;
        for &(finding, _) in direct {
            if needs.iter().all(|(known, _)| *known != finding) {
                let allowed = direct.iter().filter(|need| need.0 == finding).map(|need| need.1).collect();
                needs.push((finding, allowed));
            }
            let gives = model.findings[finding.at()].test;
            if !tests.contains(&gives) {
                tests.push(gives);
            }
        }
    }
    needs
}
