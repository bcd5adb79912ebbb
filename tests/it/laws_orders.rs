//! Laws of the quick ways of the inference room: they answer as the general way does, and whatever the order of the sweep.

use proptest::prelude::*;
use proptest::test_runner::Config;
use whytrip::inference::{Evidence, InferenceError, Limits, Workspace, effort};
use whytrip::model::index::{CauseIx, FindingIx};
use whytrip::model::network::{Network, NetworkBuilder, Source};

use crate::laws_inference::Dice;

/// Causes and findings only. `apart`: with a condition that nothing touches, so that it is no longer of two layers, and
/// every query goes the general way.
fn two_layers(seed: u64, causes: usize, findings: usize, links: usize, apart: bool) -> Network {
    let mut dice = Dice::new(seed);
    let mut builder = NetworkBuilder::new();
    let causes: Vec<CauseIx> = (0..causes).map(|_| builder.cause(0.3 * dice.unit())).collect();
    for _ in 0..findings {
        let outcomes = 2 + dice.below(2);
        let leak = if dice.one_in(3) { vec![] } else { vec![0.05 * dice.unit()] };
        let finding = builder.finding(outcomes, &leak);
        for _ in 0..1 + dice.below(2 * links) {
            // Now and then the same cause twice: two draws.
            let whole = if dice.one_in(8) { 1.0 } else { dice.unit() };
            let first = whole * dice.unit();
            let chances = if outcomes == 2 { vec![whole] } else { vec![first, whole - first] };
            builder.show(Source::Cause(causes[dice.below(causes.len())]), finding, &chances);
        }
    }
    if apart {
        builder.condition(0.5);
    }
    builder.build().unwrap()
}

/// Reports of all kinds about findings up to `reports`, and now and then a cause seen.
fn told(seed: u64, network: &Network, reports: usize) -> Evidence {
    let mut dice = Dice::new(seed ^ 0xABCD);
    let mut evidence = Evidence::new();
    for finding in (0..reports.min(network.findings())).map(FindingIx::new) {
        let outcomes = network.outcomes(finding);
        match dice.below(6) {
            0 | 1 => evidence.plain(network, finding, 0),
            2 | 3 => evidence.plain(network, finding, 1 + dice.below(outcomes - 1)),
            4 => evidence.soft(finding, (0..outcomes).map(|_| dice.unit()).collect()),
            _ => evidence.soft(finding, vec![0.4; outcomes]),
        };
    }
    if dice.one_in(3) {
        let cause = CauseIx::new(dice.below(network.causes()));
        evidence.seen(cause, dice.one_in(2));
    }
    evidence
}

fn same(a: f64, b: f64) -> bool {
    a == b || (a - b).abs() <= 1e-12 * a.abs().max(b.abs())
}

proptest! {
    #![proptest_config(Config { cases: 400, failure_persistence: None, ..Config::default() })]

    #[test]
    fn the_usual_case_is_answered_as_the_general_one(
        seed in 0_u64..1 << 40, causes in 1_usize..14, findings in 1_usize..12, links in 1_usize..4, reports in 0_usize..9,
    ) {
        let plain = two_layers(seed, causes, findings, links, false);
        let general = two_layers(seed, causes, findings, links, true);
        let evidence = told(seed, &plain, reports);
        let limits = Limits::default();
        let (mut quick, mut slow) = (Workspace::new(&plain), Workspace::new(&general));
        let answer = slow.posterior(&general, &evidence, &limits);
        if answer == Err(InferenceError::Impossible) {
            prop_assert_eq!(quick.posterior(&plain, &evidence, &limits), Err(InferenceError::Impossible));
            return Ok(());
        }
        let (mine, theirs) = (quick.posterior(&plain, &evidence, &limits).unwrap(), answer.unwrap());
        prop_assert!((mine.ln_evidence - theirs.ln_evidence).abs() < 1e-11);
        prop_assert!(same(mine.none_listed, theirs.none_listed));
        for (cause, (a, b)) in mine.now.iter().zip(&theirs.now).enumerate() {
            prop_assert!(same(*a, *b), "cause {}: {} and {}", cause, a, b);
        }
        let mine = quick.predictions(&plain, &evidence, &limits).unwrap();
        let theirs = slow.predictions(&general, &evidence, &limits).unwrap();
        for (finding, (a, b)) in mine.iter().zip(&theirs).enumerate() {
            prop_assert!(a.iter().zip(b).all(|(a, b)| same(*a, *b)), "finding {}: {:?} and {:?}", finding, a, b);
        }
    }
}

#[test]
fn a_dear_order_is_searched_for_and_answers_alike() {
    let limits = Limits { states: 1 << 22, steps: 1 << 26 };
    let mut dear = 0;
    for seed in 0..6 {
        for apart in [false, true] {
            let network = two_layers(seed, 26, 30, 3, apart);
            let mut evidence = Evidence::new();
            for finding in (0..26).map(FindingIx::new) {
                let outcomes = network.outcomes(finding);
                let shown = usize::from(finding.at() % 2 == 0);
                let weights = (0..outcomes).map(|o| if o == shown { 0.9 } else { 0.05 }).collect();
                evidence.soft(finding, weights);
            }
            let cost = effort(&network, &evidence).unwrap();
            assert_eq!(cost, effort(&network, &evidence).unwrap(), "the same evidence, the same order");
            dear += usize::from(cost.steps > 32_000);
            let mut workspace = Workspace::new(&network);
            let posterior = workspace.posterior(&network, &evidence, &limits).unwrap();
            // P(c | e) = P(c, e)/P(e): with the cause seen, graph and order are others.
            for cause in (0..26).step_by(5).map(CauseIx::new) {
                let mut seen = evidence.clone();
                seen.seen(cause, true);
                let ln = workspace.ln_evidence(&network, &seen, &limits).unwrap();
                let share = (ln - posterior.ln_evidence).exp();
                assert!((share - posterior.now[cause.at()]).abs() < 1e-11 * share, "seed {seed}: {cause:?}");
            }
        }
    }
    assert!(dear > 6, "only {dear} were dear");
}
