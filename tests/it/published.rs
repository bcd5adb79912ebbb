//! Worked examples of the literature; each names its source.
#![allow(clippy::unwrap_used)]

use whytrip::inference::{Evidence, Limits, Workspace, conflict};
use whytrip::model::index::{CauseIx, FindingIx};
use whytrip::model::network::{Network, NetworkBuilder, Source};

#[path = "../data/networks.rs"]
mod networks;

/// P(outcome of `finding`) when exactly these causes are there.
fn shown(network: &Network, finding: FindingIx, there: &[bool]) -> Vec<f64> {
    let mut evidence = Evidence::new();
    for (c, &present) in there.iter().enumerate() {
        evidence.seen(CauseIx::new(c), present);
    }
    let mut workspace = Workspace::new(network);
    workspace.predictions(network, &evidence, &Limits::default()).unwrap()[finding.at()].clone()
}

/// A finding with a leak, and causes of prior 1/2 with their chances.
fn noisy_or(leak: &[f64], links: &[f64]) -> (Network, FindingIx) {
    let mut builder = NetworkBuilder::new();
    let causes: Vec<CauseIx> = links.iter().map(|_| builder.cause(0.5)).collect();
    let finding = builder.finding(2, leak);
    for (&cause, &chance) in causes.iter().zip(links) {
        builder.show(Source::Cause(cause), finding, &[chance]);
    }
    (builder.build().unwrap(), finding)
}

/// Russell & Norvig, *Artificial Intelligence: A Modern Approach*: fever by cold, flu, malaria, inhibitors .6, .2, .1.
#[test]
fn fever() {
    let (network, fever) = noisy_or(&[], &[0.4, 0.8, 0.9]);
    let printed = [0.0, 0.9, 0.8, 0.98, 0.4, 0.94, 0.88, 0.988];
    for (row, expected) in printed.into_iter().enumerate() {
        let p = shown(&network, fever, &[row & 4 > 0, row & 2 > 0, row & 1 > 0])[1];
        assert!((p - expected).abs() < 1e-12, "row {row}: {p}");
    }
}

/// The test "unemployment" of the open library pyAgrum: noisy-OR with a leak, five causes, 32 rows as printed (six
/// digits, some of them cut and not rounded).
#[test]
fn unemployment() {
    let (network, effect) = noisy_or(&[0.0001], &[0.1, 0.3, 0.5, 0.7, 0.9]);
    let printed = [
        0.0001, 0.90001, 0.70003, 0.970003, 0.50005, 0.950005, 0.850015, 0.985002, 0.30007, 0.930007,
        0.790021, 0.979002, 0.650035, 0.965004, 0.895011, 0.989501, 0.10009, 0.910009, 0.730027, 0.973003,
        0.550045, 0.955005, 0.865014, 0.986501, 0.370063, 0.937006, 0.811019, 0.981101, 0.685032, 0.968503,
        0.905509, 0.990551,
    ];
    for (row, expected) in printed.into_iter().enumerate() {
        let there: Vec<bool> = (0..5).map(|c| row >> (4 - c) & 1 == 1).collect();
        let p = shown(&network, effect, &there)[1];
        assert!((p - expected).abs() <= 1e-6, "row {row}: {p}");
    }
}

/// The two readings of a leak. A link's number is the chance that this cause alone does it, leak excluded (Henrion, *Some
/// practical issues in constructing belief networks*, UAI 1987); with the leak included (Díez, *Parameter adjustment in
/// Bayes networks: the generalized noisy OR-gate*, UAI 1993) net = (compound − leak)/(1 − leak).
#[test]
fn the_two_readings_of_a_leak() {
    let excluded = [0.2, 0.76, 0.52, 0.856];
    let included = [0.2, 0.70, 0.40, 0.775];
    let net = |compound: f64| (compound - 0.2) / (1.0 - 0.2);
    for (links, expected) in [([0.4, 0.7], excluded), ([net(0.4), net(0.7)], included)] {
        let (network, finding) = noisy_or(&[0.2], &links);
        let rows = [[false, false], [false, true], [true, false], [true, true]];
        for (there, expected) in rows.into_iter().zip(expected) {
            assert!((shown(&network, finding, &there)[1] - expected).abs() < 1e-12);
        }
    }
}

/// Noisy-MAX with a leak, a unit test of the open program OpenMarkov. Its parent A has grades; each grade is a cause here.
#[test]
fn noisy_max() {
    for (leak, expected) in [
        (&[0.01, 0.001][..], [0.989, 0.01, 0.2997, 0.0999, 0.0, 0.98002]),
        (&[][..], [1.0, 0.0, 0.3, 0.1, 0.0, 0.98]),
    ] {
        let mut builder = NetworkBuilder::new();
        let causes: Vec<CauseIx> = (0..3).map(|_| builder.cause(0.5)).collect();
        let child = builder.finding(3, leak);
        for (&cause, chances) in causes.iter().zip([[0.3, 0.7], [0.1, 0.9], [0.2, 0.8]]) {
            builder.show(Source::Cause(cause), child, &chances);
        }
        let network = builder.build().unwrap();
        let p = |a: usize, b: bool| shown(&network, child, &[a == 1, a == 2, b]);
        let found =
            [p(0, false)[0], p(0, false)[1], p(1, false)[1], p(2, false)[1], p(2, true)[0], p(2, true)[2]];
        for (found, expected) in found.into_iter().zip(expected) {
            assert!((found - expected).abs() < 1e-9, "{found} beside {expected}");
        }
    }
}

/// Car start: Jensen & Nielsen, *Bayesian Networks and Decision Graphs*, 2nd ed. 2007, p. 35; digits as printed in the
/// documentation of the open library pybn. Outcomes of the meter in the order half, full, empty.
#[test]
fn car_start() {
    let mut builder = NetworkBuilder::new();
    let no_fuel = builder.cause(0.02);
    let dirty = builder.cause(0.04);
    let start = builder.finding(2, &[0.01]);
    let meter = builder.finding(3, &[0.39, 0.01]);
    builder.show(Source::Cause(no_fuel), start, &[1.0]);
    // So that P(no start | dirty plugs, fuel) = .99.
    builder.show(Source::Cause(dirty), start, &[(0.99 - 0.01) / (1.0 - 0.01)]);
    // So that without fuel: full .001, half .001, empty .998.
    let half = 0.001 / 0.60;
    // P(half) = .60·h; P(half or full) = .99·(h + f) = .002.
    let full = 0.002 / 0.99 - half;
    builder.show(Source::Cause(no_fuel), meter, &[full, 1.0 - half - full]);
    let network = builder.build().unwrap();
    let mut workspace = Workspace::new(&network);
    let limits = Limits::default();
    let near = |found: f64, printed: f64, digits: f64| {
        assert!((found - printed).abs() <= digits, "{found}, {printed}")
    };

    let before = workspace.predictions(&network, &Evidence::new(), &limits).unwrap();
    near(before[start.at()][0], 0.931784, 5.1e-7);
    near(before[start.at()][1], 0.068216, 5.1e-7);
    near(before[meter.at()][1], 0.38222, 5.1e-6);
    near(before[meter.at()][0], 0.58802, 5.1e-6);
    near(before[meter.at()][2], 0.02976, 5.1e-6);

    let mut evidence = Evidence::new();
    evidence.plain(&network, start, 1);
    let posterior = workspace.posterior(&network, &evidence, &limits).unwrap();
    near(posterior.now[no_fuel.at()], 0.29318635, 5.1e-9);
    near(posterior.now[dirty.at()], 0.58062625, 5.1e-9);
    let after = workspace.predictions(&network, &evidence, &limits).unwrap();
    near(after[meter.at()][1], 0.27595051, 5.1e-9);
    near(after[meter.at()][0], 0.42438138, 5.1e-9);
    near(after[meter.at()][2], 0.29966811, 5.1e-9);

    evidence.plain(&network, meter, 0);
    let posterior = workspace.posterior(&network, &evidence, &limits).unwrap();
    near(posterior.now[no_fuel.at()], 0.00069086, 5.1e-9);
    near(posterior.now[dirty.at()], 0.80434963, 5.1e-9);

    // Jensen's measure of the same evidence: ln 1.3855933 (recomputed by enumeration).
    let found = conflict(&network, &evidence, &limits).unwrap();
    near(found.measure, 1.385_593_3_f64.ln(), 5.1e-8);
    near(found.measure, 0.3261284, 5.1e-8);
    assert_eq!(found.disagrees.map(|d| d.0), Some(0));
}

/// Invented networks of 20 × 30 and 200 × 250, and evidence with up to 24 abnormal findings. The answers come from a
/// program that shares no code with this one, and were cross-checked with a general-purpose library and with inclusion and
/// exclusion in 1500-bit arithmetic; see the note in the file.
#[test]
fn reference_networks() {
    let data = networks::data();
    let mut checked = 0;
    for name in ["S", "M"] {
        let network = networks::builder(&data, name).build().unwrap();
        let mut workspace = Workspace::new(&network);
        for case in data["cases"].as_array().unwrap().iter().filter(|c| c["network"] == name) {
            let evidence = networks::evidence(&network, case);
            let found = workspace.posterior(&network, &evidence, &Limits::default()).unwrap();
            let near = |a: f64, b: f64| (a - b).abs() <= 1e-12 * b.abs();
            let id = &case["id"];
            assert!((found.ln_evidence - case["ln_evidence"].as_f64().unwrap()).abs() <= 1e-12, "{id}");
            assert!(near(found.none_listed, case["none_listed"].as_f64().unwrap()), "{id}");
            for (c, (&now, expected)) in
                found.now.iter().zip(networks::floats(&case["posterior"])).enumerate()
            {
                assert!(near(now, expected), "{id}: cause {c}: {now:e} beside {expected:e}");
            }
            checked += 1;
        }
    }
    assert_eq!(checked, 27);
}
