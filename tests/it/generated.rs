//! Packages of any size, made by rule: for how loading grows, and for what must not depend on size.

use std::fmt::Write as _;

use whytrip::knowledge::InMemory;

/// A package of one component with `causes` causes, half as many tests and fixes, and some 190 bytes a cause.
pub(crate) fn package(causes: usize) -> InMemory {
    let tests = causes.div_ceil(2);
    let mut text = String::from("component: plant\ntitle: \"plant\"\ncauses:\n");
    for cause in 0..causes {
        // Three findings each, far apart and near.
        let findings = [cause / 2, (cause * 7 + 3) % tests, (cause * 31 + 11) % tests];
        let _ = write!(
            text,
            "  cause-{cause}: {{name: \"part {cause} is out of order\", prior: 1 in {}, shows: {{",
            cause % 900 + 100
        );
        let mut written: Vec<usize> = Vec::new();
        for finding in findings {
            if !written.contains(&finding) {
                let _ = write!(
                    text,
                    "{}finding-{finding}: {{no: 0.{}}}",
                    if written.is_empty() { "" } else { ", " },
                    finding % 8 + 1
                );
                written.push(finding);
            }
        }
        text.push_str("}, sources: [judgement]}\n");
    }
    text.push_str("tests:\n");
    for test in 0..tests {
        let _ = writeln!(
            text,
            "  finding-{test}: {{ask: \"Is part {test} in order?\", otherwise: {{no: 0.001}}, minutes: {}, sources: [judgement]}}",
            test % 9 + 1
        );
    }
    text.push_str("fixes:\n");
    for fix in 0..tests {
        let _ = writeln!(
            text,
            "  renew-{fix}: {{do: \"Renew part {fix}.\", removes: {{cause-{}: 0.95, cause-{}: 0.9}}, minutes: 5, sources: [judgement]}}",
            fix * 2,
            (fix * 2 + 1).min(causes - 1)
        );
    }
    InMemory::new().with("plant", "package.yaml", "format: 1\npackage: plant\n").with(
        "plant",
        "plant.yaml",
        text,
    )
}
