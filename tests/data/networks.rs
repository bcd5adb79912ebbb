//! The reference networks and their cases, read from `networks.json` beside this file; for tests and benches.

use serde_json::Value;
use whytrip::inference::Evidence;
use whytrip::model::index::{CauseIx, FindingIx};
use whytrip::model::network::{Network, NetworkBuilder, Source};

/// The whole file.
pub(crate) fn data() -> Value {
    serde_json::from_str(include_str!("networks.json")).unwrap()
}

/// A list of numbers.
pub(crate) fn floats(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
}

/// A network of the file, to be built or extended.
pub(crate) fn builder(data: &Value, name: &str) -> NetworkBuilder {
    let mut builder = NetworkBuilder::new();
    for prior in floats(&data["networks"][name]["priors"]) {
        builder.cause(prior);
    }
    for finding in data["networks"][name]["findings"].as_array().unwrap() {
        let ix = builder.finding(finding["levels"].as_u64().unwrap() as usize, &floats(&finding["leak"]));
        for link in finding["links"].as_array().unwrap() {
            let row = floats(link);
            builder.show(Source::Cause(CauseIx(row[0] as u32)), ix, &row[1..]);
        }
    }
    builder
}

/// The evidence of a case.
pub(crate) fn evidence(network: &Network, case: &Value) -> Evidence {
    let mut evidence = Evidence::new();
    for entry in case["evidence"].as_array().unwrap() {
        let entry = floats(entry);
        evidence.plain(network, FindingIx(entry[0] as u32), entry[1] as usize);
    }
    evidence
}
