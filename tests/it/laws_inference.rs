//! Laws of the inference room, on seeded random models of the whole story: conditions, `leads-to`, fixes done twice,
//! retakes, soft reports, causes seen, "one of several". The oracle is literal enumeration.
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use whytrip::inference::enumerate::{Everything, everything};
use whytrip::inference::{Evidence, InferenceError, Limits, Told, Workspace, candidates, sample};
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
