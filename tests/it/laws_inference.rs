//! Laws of the inference room, on seeded random models of the whole story: conditions, `leads-to`, fixes done twice,
//! retakes, soft reports, causes seen, "one of several". The oracle is literal enumeration.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use whytrip::inference::enumerate::{Everything, everything};
use whytrip::inference::{
    Evidence, InferenceError, Limits, Told, Workspace, bounds, candidates, effort, explain, sample,
};
use whytrip::model::index::{CauseIx, ConditionIx, FindingIx, FixIx};
use whytrip::model::network::{Network, NetworkBuilder, Source};

/// xorshift64*: good enough to make models.
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    fn roll(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 11
    }

    pub(crate) fn below(&mut self, n: usize) -> usize {
        (self.roll() % n as u64) as usize
    }

    pub(crate) fn unit(&mut self) -> f64 {
        self.roll() as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }

    /// A chance; now and then exactly 0 or 1, or tiny.
    fn chance(&mut self) -> f64 {
        match self.below(14) {
            0 => 0.0,
            1 => 1.0,
            2 => 1e-7 * self.unit(),
            _ => self.unit(),
        }
    }

    fn chances(&mut self, outcomes: usize) -> Vec<f64> {
        let total = self.chance();
        let shares: Vec<f64> = (1..outcomes).map(|_| self.unit()).collect();
        let sum: f64 = shares.iter().sum();
        shares.iter().map(|s| s / sum * total).collect()
    }
}

/// A random model whose draws fall in at most `most` ways.
pub(crate) fn model(dice: &mut Dice, most: f64) -> Network {
    loop {
        let mut builder = NetworkBuilder::new();
        let mut ways = 1.0;
        let causes: Vec<CauseIx> = (0..1 + dice.below(4)).map(|_| builder.cause(dice.chance())).collect();
        ways *= 2_f64.powi(causes.len() as i32);
        let conditions: Vec<ConditionIx> = (0..dice.below(3))
            .map(|_| {
                let leak = if dice.one_in(2) {
                    0.0
                } else {
                    ways *= 2.0;
                    dice.chance()
                };
                builder.condition(leak)
            })
            .collect();
        let mut findings: Vec<(FindingIx, usize)> = Vec::new();
        let outcomes = 2 + dice.below(2);
        for _ in 0..1 + dice.below(3) {
            let leak = if dice.one_in(2) {
                Vec::new()
            } else {
                ways *= outcomes as f64;
                dice.chances(outcomes)
            };
            findings.push((builder.finding(outcomes, &leak), outcomes));
        }
        for (i, &cause) in causes.iter().enumerate() {
            for &(finding, outcomes) in &findings {
                if dice.one_in(2) {
                    builder.show(Source::Cause(cause), finding, &dice.chances(outcomes));
                    ways *= outcomes as f64;
                }
            }
            for &condition in &conditions {
                if dice.one_in(3) {
                    builder.bring(Source::Cause(cause), condition, dice.chance());
                    ways *= 2.0;
                }
            }
            for &led in &causes[i + 1..] {
                if dice.one_in(5) {
                    builder.lead(cause, led, dice.chance());
                    ways *= 2.0;
                }
            }
        }
        for (i, &condition) in conditions.iter().enumerate() {
            for &(finding, outcomes) in &findings {
                if dice.one_in(2) {
                    builder.show(Source::Condition(condition), finding, &dice.chances(outcomes));
                    ways *= outcomes as f64;
                }
            }
            for &other in &conditions[i + 1..] {
                if dice.one_in(2) {
                    builder.bring(Source::Condition(condition), other, dice.chance());
                    ways *= 2.0;
                }
            }
        }
        for _ in 0..dice.below(3) {
            let fix = builder.fix();
            for &cause in &causes {
                if dice.one_in(2) {
                    builder.remove(fix, cause, dice.chance());
                    ways *= 2.0;
                }
            }
        }
        if ways <= most {
            return builder.build().unwrap();
        }
    }
}

/// Random evidence: reports of all kinds, causes seen, fixes.
pub(crate) fn evidence(dice: &mut Dice, network: &Network) -> Evidence {
    let mut evidence = Evidence::new();
    for _ in 0..1 + dice.below(6) {
        match dice.below(9) {
            0 => {
                evidence.seen(CauseIx::new(dice.below(network.causes())), dice.one_in(2));
            }
            1 | 2 if network.fixes() > 0 => {
                evidence.fixed(FixIx::new(dice.below(network.fixes())));
            }
            kind => {
                let finding = FindingIx::new(dice.below(network.findings()));
                let outcomes = network.outcomes(finding);
                let mut among = vec![finding];
                let other = FindingIx::new(dice.below(network.findings()));
                if kind == 3 && other != finding {
                    among.push(other);
                }
                let weights = if kind == 4 {
                    (0..outcomes).map(|_| if dice.one_in(4) { 0.0 } else { dice.unit() }).collect()
                } else {
                    let shown = dice.below(outcomes);
                    (0..outcomes).map(|o| f64::from(u8::from(o == shown))).collect()
                };
                evidence.among(among, weights);
            }
        }
    }
    evidence
}

/// Relative closeness; zeros exactly.
fn close(a: f64, b: f64) -> bool {
    if a == 0.0 || b == 0.0 { a == b } else { (a - b).abs() <= 1e-12 * b.abs() }
}

fn all_close(what: &str, seed: u64, a: &[f64], b: &[f64]) {
    assert_eq!(a.len(), b.len());
    for (at, (&x, &y)) in a.iter().zip(b).enumerate() {
        assert!(close(x, y), "seed {seed}: {what} {at}: {x:e} beside {y:e}");
    }
}

/// Models with their evidence and what the oracle says, `count` of them possible.
fn cases(count: usize, mut each: impl FnMut(u64, &Network, &Evidence, Result<Everything, InferenceError>)) {
    let (mut possible, mut seed) = (0, 0);
    while possible < count {
        seed += 1;
        let dice = &mut Dice::new(seed);
        let network = model(dice, 4000.0);
        let evidence = evidence(dice, &network);
        let oracle = everything(&network, &evidence, 1 << 20);
        possible += usize::from(oracle.is_ok());
        each(seed, &network, &evidence, oracle);
    }
}

#[test]
fn the_sweep_agrees_with_enumeration() {
    let mut kinds = [0; 6];
    cases(400, |seed, network, evidence, oracle| {
        let mut workspace = Workspace::new(network);
        let posterior = workspace.posterior(network, evidence, &Limits::default());
        let oracle = match oracle {
            Ok(oracle) => oracle,
            Err(error) => {
                assert_eq!(posterior.err(), Some(error), "seed {seed}");
                return;
            }
        };
        let posterior = posterior.unwrap();
        assert!((posterior.ln_evidence - oracle.posterior.ln_evidence).abs() < 1e-12, "seed {seed}");
        all_close("now", seed, &posterior.now, &oracle.posterior.now);
        all_close("at first", seed, &posterior.at_first, &oracle.posterior.at_first);
        all_close("condition", seed, &posterior.conditions_now, &oracle.posterior.conditions_now);
        all_close("none", seed, &[posterior.none_listed], &[oracle.posterior.none_listed]);
        let predictions = workspace.predictions(network, evidence, &Limits::default()).unwrap();
        for (row, oracle) in predictions.iter().zip(&oracle.predictions) {
            all_close("prediction", seed, row, oracle);
            assert!((row.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        }
        let found = candidates(network, evidence, &Limits::default(), 7).unwrap();
        let ranked: Vec<f64> = found.iter().map(|c| c.probability).collect();
        let expected: Vec<f64> = oracle.candidates.iter().take(7).map(|c| c.probability).collect();
        all_close("candidate", seed, &ranked, &expected);
        for candidate in &found {
            let same = oracle.candidates.iter().find(|c| c.causes == candidate.causes).unwrap();
            all_close("candidate of", seed, &[candidate.probability], &[same.probability]);
        }
        kinds[0] += usize::from(network.conditions() > 0);
        kinds[1] += usize::from((0..network.causes()).any(|c| !network.leads(CauseIx::new(c)).is_empty()));
        kinds[2] += usize::from(evidence.epoch() > 1);
        kinds[3] += usize::from(evidence.told.iter().any(|t| matches!(t, Told::Cause { .. })));
        kinds[4] += usize::from(
            evidence.told.iter().any(|t| matches!(t, Told::Finding { among, .. } if among.len() > 1)),
        );
        kinds[5] += usize::from(evidence.told.len() > 4);
    });
    assert!(kinds.iter().all(|&n| n >= 20), "the models are of all kinds: {kinds:?}");
}

#[test]
fn samples_follow_the_posterior() {
    cases(40, |seed, network, evidence, oracle| {
        let Ok(oracle) = oracle else {
            assert_eq!(
                sample(network, evidence, &Limits::default(), 1, 1).err(),
                Some(InferenceError::Impossible)
            );
            return;
        };
        let n = 2000;
        let worlds = sample(network, evidence, &Limits::default(), n, seed).unwrap();
        assert_eq!(worlds, sample(network, evidence, &Limits::default(), n, seed).unwrap());
        // Five standard deviations of a binomial frequency, and a little for the discreteness.
        let near = |count: usize, p: f64| {
            (count as f64 / n as f64 - p).abs() <= 5.0 * (p * (1.0 - p) / n as f64).sqrt() + 1e-9
                && (p > 0.0 || count == 0)
        };
        for c in (0..network.causes()).map(CauseIx::new) {
            let count = worlds.iter().filter(|w| w.causes_now.contains(&c)).count();
            assert!(near(count, oracle.posterior.now[c.at()]), "seed {seed}: cause {}", c.at());
        }
        for c in (0..network.conditions()).map(ConditionIx::new) {
            let count = worlds.iter().filter(|w| w.conditions_now.contains(&c)).count();
            assert!(
                near(count, oracle.posterior.conditions_now[c.at()]),
                "seed {seed}: condition {}",
                c.at()
            );
        }
        // What the draws of a world make a finding show now follows the prediction.
        let told: Vec<FindingIx> = worlds[0].draws.iter().map(|d| d.0).collect();
        for (row, finding) in told.into_iter().enumerate() {
            for outcome in 0..network.outcomes(finding) {
                let shows = |w: &&whytrip::inference::World| {
                    w.draws[row].1.iter().map(|d| d.1).max().unwrap_or(0) == outcome
                };
                let count = worlds.iter().filter(shows).count();
                let p = oracle.predictions[finding.at()][outcome];
                assert!(
                    near(count, p),
                    "seed {seed}: finding {} shows {outcome}: {count} beside {p}",
                    finding.at()
                );
            }
        }
        for candidate in oracle.candidates.iter().take(5) {
            let count = worlds.iter().filter(|w| w.causes_now == candidate.causes).count();
            assert!(near(count, candidate.probability), "seed {seed}: {:?}", candidate.causes);
        }
    });
}

#[test]
fn the_order_within_an_epoch_does_not_matter_and_weights_scale() {
    cases(200, |seed, network, evidence, oracle| {
        if oracle.is_err() {
            return;
        }
        let limits = Limits::default();
        let mut workspace = Workspace::new(network);
        let before = workspace.posterior(network, evidence, &limits).unwrap();
        // Reverse every run of entries between fixes.
        let mut told = evidence.told.clone();
        for run in told.split_mut(|t| matches!(t, Told::Fix(_))) {
            run.reverse();
        }
        let after = workspace.posterior(network, &Evidence { told }, &limits).unwrap();
        assert!((before.ln_evidence - after.ln_evidence).abs() < 1e-12);
        all_close("now, reversed", seed, &after.now, &before.now);
        all_close("at first, reversed", seed, &after.at_first, &before.at_first);
        // Halve the weights of one report: everything stays, P(e) halves.
        let mut halved = evidence.clone();
        let found = halved.told.iter_mut().find_map(|t| match t {
            Told::Finding { weights, .. } => Some(weights),
            _ => None,
        });
        let Some(weights) = found else { return };
        weights.iter_mut().for_each(|w| *w *= 0.5);
        let after = workspace.posterior(network, &halved, &limits).unwrap();
        assert!(
            (before.ln_evidence - std::f64::consts::LN_2 - after.ln_evidence).abs() < 1e-12,
            "seed {seed}"
        );
        all_close("now, halved", seed, &after.now, &before.now);
        // A report that fits every outcome changes nothing.
        let mut more = evidence.clone();
        more.soft(FindingIx(0), vec![1.0; network.outcomes(FindingIx(0))]);
        all_close(
            "now, told nothing",
            seed,
            &workspace.posterior(network, &more, &limits).unwrap().now,
            &before.now,
        );
    });
}

/// A two-layer model too large for the oracle, and as much abnormal evidence as it has findings.
fn entangled(dice: &mut Dice, causes: usize, findings: usize, links: usize) -> (Network, Evidence) {
    let mut builder = NetworkBuilder::new();
    let causes: Vec<CauseIx> = (0..causes).map(|_| builder.cause(0.001 + 0.2 * dice.unit())).collect();
    let findings: Vec<FindingIx> = (0..findings).map(|_| builder.finding(2, &[0.01 * dice.unit()])).collect();
    for &cause in &causes {
        for _ in 0..links {
            builder.show(
                Source::Cause(cause),
                findings[dice.below(findings.len())],
                &[0.1 + 0.8 * dice.unit()],
            );
        }
    }
    let network = builder.build().unwrap();
    let mut evidence = Evidence::new();
    for &finding in &findings {
        if dice.one_in(3) {
            evidence.soft(finding, vec![0.1, 0.9]);
        } else {
            evidence.plain(&network, finding, 1);
        }
    }
    (network, evidence)
}

#[test]
fn bounds_hold_and_meet_where_nothing_is_left_out() {
    for seed in 0..40 {
        let dice = &mut Dice::new(seed);
        let (network, evidence) = entangled(dice, 14, 10, 3);
        let truth = Workspace::new(&network).posterior(&network, &evidence, &Limits::default()).unwrap();
        let exact = bounds(&network, &evidence, &Limits::default()).unwrap();
        assert!(exact.left_out.is_empty() && exact.causes_counted == network.causes());
        all_close("lower", seed, &exact.lower, &truth.now);
        all_close("upper", seed, &exact.upper, &truth.now);
        let tight = Limits { states: 150, steps: 500 };
        assert!(effort(&network, &evidence).unwrap().steps > tight.steps);
        let wide = bounds(&network, &evidence, &tight).unwrap();
        assert!(!wide.left_out.is_empty() && wide.causes_counted < network.causes());
        assert!(
            wide.ln_evidence.0 <= truth.ln_evidence && truth.ln_evidence <= wide.ln_evidence.1,
            "seed {seed}"
        );
        for (c, &now) in truth.now.iter().enumerate() {
            assert!(wide.lower[c] <= now && now <= wide.upper[c], "seed {seed}: cause {c}");
        }
    }
}

#[test]
fn what_moved_a_cause_can_be_recomputed() {
    cases(60, |seed, network, evidence, oracle| {
        let Ok(oracle) = oracle else { return };
        let limits = Limits::default();
        let moved = match explain(network, evidence, &limits) {
            Ok(moved) => moved,
            Err(InferenceError::Impossible) => return, // a prior of 0 met by nothing but what is left out
            Err(other) => panic!("seed {seed}: {other}"),
        };
        let prior = everything(network, &Evidence::new(), 1 << 20).unwrap().posterior.now;
        for (c, &first) in prior.iter().enumerate() {
            let product: Option<f64> = moved.iter().map(|m| m.in_turn[c]).product();
            let now = oracle.posterior.now[c];
            if let Some(product) = product.filter(|p| p.is_finite() && *p > 0.0) {
                let ratio = now / (1.0 - now) / (first / (1.0 - first));
                assert!(
                    (product / ratio - 1.0).abs() < 1e-6 || !(1e-9..1.0 - 1e-9).contains(&now),
                    "seed {seed}"
                );
            }
        }
        for (at, entry) in evidence.told.iter().enumerate().filter(|(_, t)| !matches!(t, Told::Fix(_))) {
            let mut told = evidence.told.clone();
            told.remove(at);
            let Ok(without) = everything(network, &Evidence { told }, 1 << 20) else { continue };
            for c in 0..network.causes() {
                let (a, b) = (oracle.posterior.now[c], without.posterior.now[c]);
                let Some(factor) = moved[at].left_out[c] else { continue };
                let ratio = a / (1.0 - a) / (b / (1.0 - b));
                let plain = [a, b].iter().all(|p| (1e-9..1.0 - 1e-9).contains(p));
                assert!(!plain || (factor / ratio - 1.0).abs() < 1e-6, "seed {seed}: {entry:?} on cause {c}");
            }
        }
    });
}

/// The same network with all causes, conditions, findings and fixes numbered the other way round.
fn reversed(network: &Network) -> Network {
    let mut builder = NetworkBuilder::new();
    let (causes, conditions) = (network.causes(), network.conditions());
    let turn = |source: Source| match source {
        Source::Cause(c) => Source::Cause(CauseIx::new(causes - 1 - c.at())),
        Source::Condition(c) => Source::Condition(ConditionIx::new(conditions - 1 - c.at())),
    };
    for c in (0..causes).rev().map(CauseIx::new) {
        builder.cause(network.prior(c));
    }
    for c in (0..conditions).rev().map(ConditionIx::new) {
        builder.condition(network.condition_leak(c));
    }
    for f in (0..network.findings()).rev().map(FindingIx::new) {
        builder.finding(network.outcomes(f), &network.leak(f)[1..]);
    }
    for f in (0..network.findings()).map(FindingIx::new) {
        let mirrored = FindingIx::new(network.findings() - 1 - f.at());
        for (source, chances) in network.shown_by(f) {
            builder.show(turn(source), mirrored, &chances[1..]);
        }
    }
    for c in (0..conditions).map(ConditionIx::new) {
        for &(slot, chance) in network.brought_by(c) {
            let Source::Condition(to) = turn(Source::Condition(c)) else { unreachable!() };
            builder.bring(turn(network.source(slot as usize)), to, chance);
        }
    }
    let cause = |c: CauseIx| CauseIx::new(causes - 1 - c.at());
    for c in (0..causes).map(CauseIx::new) {
        for &(led, chance) in network.leads(c) {
            builder.lead(cause(c), cause(led), chance);
        }
    }
    for _ in 0..network.fixes() {
        builder.fix();
    }
    for f in (0..network.fixes()).map(FixIx::new) {
        for &(c, chance) in network.removes(f) {
            builder.remove(FixIx::new(network.fixes() - 1 - f.at()), cause(c), chance);
        }
    }
    builder.build().unwrap()
}

#[test]
fn numbering_does_not_matter() {
    cases(150, |seed, network, evidence, oracle| {
        if oracle.is_err() {
            return;
        }
        let mirror = reversed(network);
        let told = evidence.told.iter().map(|t| match t {
            Told::Finding { among, weights } => Told::Finding {
                among: among.iter().map(|f| FindingIx::new(network.findings() - 1 - f.at())).collect(),
                weights: weights.clone(),
            },
            Told::Cause { cause, present } => {
                Told::Cause { cause: CauseIx::new(network.causes() - 1 - cause.at()), present: *present }
            }
            Told::Fix(fix) => Told::Fix(FixIx::new(network.fixes() - 1 - fix.at())),
        });
        let mirrored = Evidence { told: told.collect() };
        let limits = Limits::default();
        let a = Workspace::new(network).posterior(network, evidence, &limits).unwrap();
        let mut b = Workspace::new(&mirror).posterior(&mirror, &mirrored, &limits).unwrap();
        b.now.reverse();
        b.conditions_now.reverse();
        all_close("now", seed, &a.now, &b.now);
        all_close("condition", seed, &a.conditions_now, &b.conditions_now);
        assert!((a.ln_evidence - b.ln_evidence).abs() < 1e-12);
    });
}

#[test]
fn a_workspace_forgets_the_last_query() {
    let dice = &mut Dice::new(99);
    let network = model(dice, 1e9);
    let mut kept = Workspace::new(&network);
    for _ in 0..200 {
        let evidence = evidence(dice, &network);
        let fresh = Workspace::new(&network).posterior(&network, &evidence, &Limits::default());
        assert_eq!(kept.posterior(&network, &evidence, &Limits::default()), fresh);
    }
}

#[test]
fn tiny_numbers_are_not_impossible() {
    // One cause explains 40 findings, each with a chance of 1e-30 and no leak: ln P = ln p + 40 ln 1e-30 (about -2763).
    let mut builder = NetworkBuilder::new();
    let cause = builder.cause(1e-3);
    let other = builder.cause(0.5);
    let findings: Vec<FindingIx> = (0..40).map(|_| builder.finding(2, &[])).collect();
    for &finding in &findings {
        builder.show(Source::Cause(cause), finding, &[1e-30]);
    }
    builder.show(Source::Cause(other), findings[0], &[0.25]);
    let network = builder.build().unwrap();
    let mut evidence = Evidence::new();
    for &finding in &findings {
        evidence.plain(&network, finding, 1);
    }
    let posterior = Workspace::new(&network).posterior(&network, &evidence, &Limits::default()).unwrap();
    // P = 1e-3·1e-30^39·(0.5·1e-30 + 0.5·(1 − (1 − 1e-30)(1 − 0.25))), the second about 0.125.
    let expected = 1e-3_f64.ln() + 39.0 * 1e-30_f64.ln() + 0.125_f64.ln();
    assert!((posterior.ln_evidence - expected).abs() < 1e-11, "{}", posterior.ln_evidence - expected);
    assert_eq!(posterior.now[0], 1.0);
    assert!(close(posterior.now[1], 1.0));
    assert_eq!(posterior.none_listed, 0.0);

    // Normal findings: 1 - 0.999 for each of 400, and the cause needed for one abnormal finding.
    let mut builder = NetworkBuilder::new();
    let cause = builder.cause(0.25);
    let abnormal = builder.finding(2, &[]);
    builder.show(Source::Cause(cause), abnormal, &[0.5]);
    let normals: Vec<FindingIx> = (0..400).map(|_| builder.finding(2, &[])).collect();
    for &finding in &normals {
        builder.show(Source::Cause(cause), finding, &[0.999]);
    }
    let network = builder.build().unwrap();
    let mut evidence = Evidence::new();
    for &finding in &normals {
        evidence.plain(&network, finding, 0);
    }
    evidence.plain(&network, abnormal, 1);
    let posterior = Workspace::new(&network).posterior(&network, &evidence, &Limits::default()).unwrap();
    let expected = 0.125_f64.ln() + 400.0 * (1.0_f64 - 0.999).ln();
    assert!((posterior.ln_evidence - expected).abs() < 1e-11);
    assert_eq!(posterior.now[0], 1.0);

    // Without the cause there is nothing left that could show it.
    evidence.seen(cause, false);
    let none = Workspace::new(&network).posterior(&network, &evidence, &Limits::default());
    assert_eq!(none, Err(InferenceError::Impossible));
}

#[test]
fn what_is_too_wide_is_refused_before_it_is_paid() {
    let (network, evidence) = entangled(&mut Dice::new(5), 60, 60, 8);
    let cost = effort(&network, &evidence).unwrap();
    assert!(cost.steps > Limits::default().steps, "{cost:?}");
    let limits = Limits { states: 1 << 16, steps: 1 << 20 };
    let refused = Workspace::new(&network).posterior(&network, &evidence, &limits);
    assert_eq!(refused.err(), Some(InferenceError::TooWide(cost)));
    let bounds = bounds(&network, &evidence, &limits).unwrap();
    assert!(!bounds.left_out.is_empty());
    assert!(bounds.ln_evidence.0 < bounds.ln_evidence.1);
    for (low, high) in bounds.lower.iter().zip(&bounds.upper) {
        assert!((0.0..=1.0).contains(low) && (0.0..=1.0).contains(high) && low <= high);
    }
}

#[test]
fn entries_that_do_not_fit_are_refused() {
    let mut builder = NetworkBuilder::new();
    builder.cause(0.1);
    let finding = builder.finding(2, &[0.1]);
    let network = builder.build().unwrap();
    let invalid = |told: Told| {
        let evidence = Evidence { told: vec![told] };
        let refused = Workspace::new(&network).posterior(&network, &evidence, &Limits::default());
        assert!(matches!(refused, Err(InferenceError::Invalid { entry: 0, .. })), "{refused:?}");
    };
    invalid(Told::Fix(FixIx(0)));
    invalid(Told::Cause { cause: CauseIx(1), present: true });
    invalid(Told::Finding { among: vec![], weights: vec![1.0, 0.0] });
    invalid(Told::Finding { among: vec![FindingIx(1)], weights: vec![1.0, 0.0] });
    invalid(Told::Finding { among: vec![finding], weights: vec![1.0] });
    invalid(Told::Finding { among: vec![finding], weights: vec![1.5, 0.0] });
    invalid(Told::Finding { among: vec![finding], weights: vec![f64::NAN, 0.0] });
    invalid(Told::Finding { among: vec![finding, finding], weights: vec![1.0, 0.0] });
    let mut builder = NetworkBuilder::new();
    builder.cause(1.1);
    assert!(builder.clone().build().is_err());
    builder = NetworkBuilder::new();
    let a = builder.condition(0.0);
    let b = builder.condition(0.0);
    builder.bring(Source::Condition(a), b, 0.5);
    builder.bring(Source::Condition(b), a, 0.5);
    assert!(builder.build().is_err());
    let mut builder = NetworkBuilder::new();
    builder.finding(3, &[0.6, 0.5]);
    assert!(builder.build().is_err());
}
