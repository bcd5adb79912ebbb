//! What exact posteriors cost: one query over networks of four sizes, ordering included, from a workspace that is kept.
//!
//! S and M with their evidence are those of `tests/data/networks.json`; L and XL are made here, of fixed seeds: L of the
//! size of the two-layer network published by Shwe et al. (*Methods of Information in Medicine* 30, 1991), its findings
//! with 2 to some 200 causes; XL much larger and sparser. The number in a row's name counts the abnormal findings; 40 more
//! are normal, half of them near the causes that are there.
#![allow(clippy::unwrap_used, missing_docs)]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use serde_json::Value;
use whytrip::inference::random::Random;
use whytrip::inference::{Evidence, Limits, Told, Workspace, effort};
use whytrip::model::index::{CauseIx, ConditionIx, FindingIx, FixIx};
use whytrip::model::network::{Network, NetworkBuilder, Source};

#[path = "../tests/data/networks.rs"]
mod networks;
use networks::{builder, data};

/// The evidence of the data file's cases of that kind.
fn cases(data: &Value, network: &Network, kind: &str) -> Vec<Evidence> {
    let of_kind = |c: &&Value| c["id"].as_str().unwrap().rsplit_once('-').unwrap().0 == kind;
    let cases = data["cases"].as_array().unwrap().iter().filter(of_kind);
    cases.map(|case| networks::evidence(network, case)).collect()
}

/// Priors log-uniform, links by a heavy-tailed count per finding, chances uniform.
fn generated(
    seed: u64,
    causes: usize,
    findings: usize,
    priors: (f64, f64),
    links: (f64, f64, f64),
) -> Network {
    let mut random = Random::new(seed);
    let mut builder = NetworkBuilder::new();
    let between = |random: &mut Random, low: f64, high: f64| low * (high / low).powf(random.unit());
    for _ in 0..causes {
        let prior = between(&mut random, priors.0, priors.1);
        builder.cause(prior);
    }
    let (least, tail, most) = links;
    for _ in 0..findings {
        let leak = between(&mut random, 0.0005, 0.01);
        let finding = builder.finding(2, &[leak]);
        let count = (least * (1.0 - random.unit()).powf(-1.0 / tail)).min(most) as usize;
        for _ in 0..count.max(1) {
            let cause = CauseIx::new((random.unit() * causes as f64) as usize);
            let chance = 0.05 + 0.9 * random.unit();
            builder.show(Source::Cause(cause), finding, &[chance]);
        }
    }
    builder.build().unwrap()
}

/// Evidence as it is gathered near a trouble: a few causes are there; first `abnormal` of their findings, then 40 normal.
fn gathered(seed: u64, network: &Network, abnormal: usize) -> Evidence {
    let mut random = Random::new(seed);
    let mut evidence = Evidence::new();
    let mut known = vec![false; network.findings()];
    let mut left = abnormal;
    while left > 0 {
        let cause = CauseIx::new((random.unit() * network.causes() as f64) as usize);
        let mut own = 0;
        for (finding, chances) in network.shows(Source::Cause(cause)) {
            if left > 0 && own < 6 && !known[finding.at()] && random.unit() < chances[1] {
                known[finding.at()] = true;
                evidence.plain(network, finding, 1);
                left -= 1;
                own += 1;
            } else if own > 0 && !known[finding.at()] && evidence.told.len() < abnormal + 20 {
                known[finding.at()] = true;
                evidence.plain(network, finding, 0);
            }
        }
    }
    while evidence.told.len() < abnormal + 40 {
        let finding = FindingIx::new((random.unit() * network.findings() as f64) as usize);
        if !std::mem::replace(&mut known[finding.at()], true) {
            evidence.plain(network, finding, 0);
        }
    }
    evidence
}

/// A row per case.
fn row(c: &mut Criterion, name: &str, network: &Network, evidence: &[Evidence]) {
    let mut workspace = Workspace::new(network);
    let limits = Limits { states: 1 << 24, steps: 1 << 31 };
    for (number, evidence) in evidence.iter().enumerate() {
        let cost = effort(network, evidence).unwrap();
        if cost.states > limits.states || cost.steps > limits.steps {
            continue; // refused beforehand; nothing to time
        }
        c.bench_function(
            &format!("{name} case {number} (width {}, {} steps)", cost.width, cost.steps),
            |b| {
                b.iter(|| {
                    black_box(workspace.touched(network, black_box(evidence), &limits).unwrap().ln_evidence)
                });
            },
        );
    }
}

fn posteriors(c: &mut Criterion) {
    let data = data();
    for (name, kinds) in [("S", &["S-8", "S-16"][..]), ("M", &["M-12", "M-16", "M-24"])] {
        let network = builder(&data, name).build().unwrap();
        for kind in kinds {
            row(c, kind, &network, &cases(&data, &network, kind));
        }
    }
    let large = generated(1991, 600, 4000, (1e-4, 0.02), (5.0, 1.7, 190.0));
    for abnormal in [8, 12, 16, 20, 24] {
        let evidence: Vec<Evidence> = (0..3).map(|seed| gathered(seed, &large, abnormal)).collect();
        row(c, &format!("L-{abnormal}"), &large, &evidence);
    }
    let sparse = generated(2026, 5000, 10_000, (1e-5, 0.01), (2.6, 3.0, 19.0));
    for abnormal in [16, 40] {
        let evidence: Vec<Evidence> = (0..3).map(|seed| gathered(seed, &sparse, abnormal)).collect();
        row(c, &format!("XL-{abnormal}"), &sparse, &evidence);
    }
}

/// M with twelve abnormal findings, and more of the story.
fn story(c: &mut Criterion) {
    let data = data();
    let plain = builder(&data, "M").build().unwrap();
    let cases = cases(&data, &plain, "M-12");

    let mut soft = cases.clone();
    for evidence in &mut soft {
        for told in evidence.told.iter_mut().rev().take(6) {
            if let Told::Finding { weights, .. } = told {
                *weights = vec![0.85, 0.15];
            }
        }
    }
    row(c, "M-12 with 6 soft normal findings", &plain, &soft);

    for (number, evidence) in cases.iter().enumerate() {
        // Twenty conditions, each brought about by three causes that the evidence touches, each shown by two of the
        // findings that it speaks of.
        let mut builder = builder(&data, "M");
        let reported: Vec<FindingIx> = evidence
            .told
            .iter()
            .filter_map(|t| if let Told::Finding { among, .. } = t { Some(among[0]) } else { None })
            .collect();
        let near: Vec<Source> =
            reported.iter().flat_map(|&f| plain.shown_by(f).map(|s| s.0).collect::<Vec<_>>()).collect();
        let mut random = Random::new(number as u64);
        let mut pick = |n: usize| (random.unit() * n as f64) as usize;
        for condition in 0..20 {
            let condition_ix: ConditionIx = builder.condition(0.001);
            for _ in 0..3 {
                builder.bring(near[pick(near.len())], condition_ix, 0.7);
            }
            for _ in 0..2 {
                let finding = reported[(condition + pick(3) * 7) % reported.len()];
                builder.show(Source::Condition(condition_ix), finding, &[0.6]);
            }
        }
        let network = builder.build().unwrap();
        row(
            c,
            &format!("M-12 ({number}) with 20 conditions touched"),
            &network,
            std::slice::from_ref(evidence),
        );
    }

    for (number, evidence) in cases.iter().enumerate() {
        let mut builder = builder(&data, "M");
        let fixes: Vec<FixIx> = (0..2).map(|_| builder.fix()).collect();
        let abnormal: Vec<FindingIx> = evidence
            .told
            .iter()
            .filter_map(|t| match t {
                Told::Finding { among, weights } if weights[0] == 0.0 => Some(among[0]),
                _ => None,
            })
            .collect();
        for (fix, &finding) in fixes.iter().zip(&abnormal) {
            for (source, _) in plain.shown_by(finding) {
                if let Source::Cause(cause) = source {
                    builder.remove(*fix, cause, 0.9);
                }
            }
        }
        let network = builder.build().unwrap();
        let mut told = evidence.clone();
        told.fixed(fixes[0]).plain(&network, abnormal[0], 0).plain(&network, abnormal[1], 1);
        told.fixed(fixes[1]).plain(&network, abnormal[1], 0);
        row(c, &format!("M-12 ({number}) with two fixes and three retakes"), &network, &[told]);
    }
}

fn predictions(c: &mut Criterion) {
    let data = data();
    let medium = builder(&data, "M").build().unwrap();
    let large = generated(1991, 600, 4000, (1e-4, 0.02), (5.0, 1.7, 190.0));
    let limits = Limits::default();
    for (name, network, evidence) in [
        ("M-8", &medium, cases(&data, &medium, "M-8")),
        ("L-8", &large, (0..3).map(|seed| gathered(seed, &large, 8)).collect()),
    ] {
        let mut workspace = Workspace::new(network);
        for (number, evidence) in evidence.iter().enumerate() {
            c.bench_function(&format!("{name} case {number}: predictions of all findings"), |b| {
                b.iter(|| {
                    black_box(workspace.predictions(network, black_box(evidence), &limits).unwrap().len())
                });
            });
        }
    }
}

fn settings() -> Criterion {
    Criterion::default().sample_size(50).measurement_time(std::time::Duration::from_secs(2))
}

criterion_group! { name = benches; config = settings(); targets = posteriors, story, predictions }
criterion_main!(benches);
