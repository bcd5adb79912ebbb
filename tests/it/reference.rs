//! Exact answers of a reference library: 220 invented networks of the whole story, answered by pyAgrum (the script, with
//! its pinned versions, and the committed answers are in `tests/reference/`).

use std::path::Path;

use serde_json::Value;
use whytrip::inference::{self, Evidence, Limits};
use whytrip::model::index::{CauseIx, ConditionIx, FindingIx, FixIx};
use whytrip::model::network::{Network, NetworkBuilder, Source};

/// How far from the reference library an answer may be, absolute; both compute in doubles.
const TOLERANCE: f64 = 1e-9;

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn position(value: &Value) -> usize {
    usize::try_from(value.as_u64().unwrap()).unwrap()
}

fn list(value: &Value) -> &[Value] {
    value.as_array().unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    list(value).iter().map(number).collect()
}

fn source(value: &Value) -> Source {
    let (kind, at) = value.as_str().unwrap().split_at(1);
    let at = at.parse().unwrap();
    if kind == "c" { Source::Cause(CauseIx::new(at)) } else { Source::Condition(ConditionIx::new(at)) }
}

fn network(told: &Value) -> Network {
    let mut builder = NetworkBuilder::new();
    for prior in list(&told["priors"]) {
        builder.cause(number(prior));
    }
    for condition in list(&told["conditions"]) {
        builder.condition(number(&condition["leak"]));
    }
    for finding in list(&told["findings"]) {
        let leak = numbers(&finding["leak"]);
        builder.finding(leak.len() + 1, &leak);
    }
    for link in list(&told["shows"]) {
        let finding = FindingIx::new(position(&link["finding"]));
        builder.show(source(&link["source"]), finding, &numbers(&link["chances"]));
    }
    for link in list(&told["brings"]) {
        let condition = ConditionIx::new(position(&link["condition"]));
        builder.bring(source(&link["source"]), condition, number(&link["chance"]));
    }
    for link in list(&told["leads"]) {
        let (leader, led) = (position(&link["leader"]), position(&link["led"]));
        builder.lead(CauseIx::new(leader), CauseIx::new(led), number(&link["chance"]));
    }
    for removes in list(&told["fixes"]) {
        let fix = builder.fix();
        for pair in list(removes) {
            builder.remove(fix, CauseIx::new(position(&pair[0])), number(&pair[1]));
        }
    }
    builder.build().unwrap()
}

fn evidence(told: &Value) -> Evidence {
    let mut evidence = Evidence::new();
    for entry in list(told) {
        if let Some(fix) = entry.get("fix") {
            evidence.fixed(FixIx::new(position(fix)));
        } else if let Some(cause) = entry.get("cause") {
            evidence.seen(CauseIx::new(position(cause)), entry["present"].as_bool().unwrap());
        } else {
            let among = list(&entry["among"]).iter().map(|f| FindingIx::new(position(f))).collect();
            evidence.among(among, numbers(&entry["weights"]));
        }
    }
    evidence
}

/// The largest difference between two lists of numbers that must be as long.
fn apart(ours: &[f64], theirs: &Value) -> f64 {
    let theirs = numbers(theirs);
    assert_eq!(ours.len(), theirs.len());
    ours.iter().zip(theirs).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
}

#[test]
fn posteriors_predictions_and_probabilities_are_the_reference_librarys() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/exact_answers.json");
    let cases: Value = serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap();
    assert!(list(&cases).len() >= 200);
    let limits = Limits::default();
    for case in list(&cases) {
        let (network, evidence, answer) =
            (network(&case["network"]), evidence(&case["evidence"]), &case["answer"]);
        let ours = inference::posterior(&network, &evidence, &limits).unwrap();
        let predictions = inference::predictions(&network, &evidence, &limits).unwrap();
        let mut worst = (ours.ln_evidence - number(&answer["ln_evidence"])).abs();
        worst = worst.max((ours.none_listed - number(&answer["none_listed"])).abs());
        worst = worst.max(apart(&ours.now, &answer["now"]));
        worst = worst.max(apart(&ours.at_first, &answer["at_first"]));
        worst = worst.max(apart(&ours.conditions_now, &answer["conditions_now"]));
        for (ours, theirs) in predictions.iter().zip(list(&answer["predictions"])) {
            worst = worst.max(apart(ours, theirs));
        }
        assert!(worst < TOLERANCE, "{}: off by {worst:e}", case["id"]);
    }
}
