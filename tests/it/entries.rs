//! Entries of several quantities, through the binary: three currents and the speed in a line, in any order, asked back for what
//! is missing, weighed into several findings.

use serde_json::Value;

use super::support::{Run, root};

const PACKAGE: &str = "\
format: 1
package: shop
scale: {}
";

const SAW: &str = r#"
component: saw
each: saw
title: "saw"
nameplate: {amps: {measured-in: A, ask: "Nameplate amps?", about: "amps"}}
causes:
  dull: {name: "{unit} is dull", prior: 1 in 10, shows: {stops: {yes: 0.9}, level: {over: 0.9}}, sources: [judgement]}
  lead-off: {name: "A lead of {unit} is off", prior: 1 in 10, shows: {stops: {yes: 0.9}, legs: {one-dead: 0.95}}, sources: [judgement]}
symptoms:
  stops: {say: "{unit} stops", ask: "Does {unit} stop?", minutes: 1, competence: anyone, sources: [judgement]}
tests:
  legs-amps:
    read: "Three currents of {unit}, and its frequency"
    readings:
      currents: {measured-in: A, count: 3, name: "the currents"}
      hertz: {measured-in: Hz, name: "the frequency"}
    gives:
      level: {name: "Level of {unit}", value: "mean(currents) / fan_motor_amps(unit.amps, 60.0, hertz)", accuracy: 3 %, outcomes: {normal: "< 1.1", over: ">= 1.1"}}
      legs: {name: "Legs of {unit}", value: "min(currents) / max(currents)", accuracy: 3 %, outcomes: {all: ">= 0.15", one-dead: "< 0.15"}}
    minutes: 2
    competence: anyone
    sources: [judgement]
fixes:
  sharpen: {do: "Sharpen {unit}.", removes: {dull: 0.95}, minutes: 30, competence: anyone, sources: [judgement]}
  land: {do: "Land the lead of {unit}.", removes: {lead-off: 0.95}, minutes: 30, competence: anyone, sources: [judgement]}
"#;

const JOB: &str = r#"
format: 1
job: J-1
site: "Invented shop"
stage: in-service
units:
  SAW-1: {is: saw, name: "rip saw", nameplate: {amps: 10 A}}
"#;

fn shop() -> Run {
    let run = Run::new();
    run.file("shop/package.yaml", PACKAGE).file("shop/saw.yaml", SAW).file("job.yaml", JOB)
}

fn call(lines: &str) -> String {
    let out = shop().args(["attend", "--knowledge", "shop", "--job", "job.yaml", "--echo"]).stdin(lines).go();
    format!("{}{}", out.stdout, out.stderr)
}

/// Each entry says the same, whatever its order and its units.
#[test]
fn an_entry_is_heard_in_any_order() {
    for entry in [
        "6.9 7.0 7.1 at 48 Hz",
        "48 Hz, 6.9 7.0 7.1",
        "6900 mA 7000 mA 7.1 A 48",
        "L1 6.9, L2 7.0, L3 7.1 amps at 48",
    ] {
        let said = call(&format!("no\nthe rip saw stops\nyes\n{entry}\nanswers\n"));
        assert!(said.contains("3 readings in A, then a reading in Hz"), "{said}");
        assert!(said.contains("Level of rip saw (SAW-1): normal"), "{entry}: {said}");
    }
}

/// What is missing is asked back; it can be typed alone, or all of it again.
#[test]
fn an_incomplete_entry_is_asked_back() {
    let said = call("no\nthe rip saw stops\nyes\n12.0 12.1 11.9\n60 Hz\nanswers\n");
    assert!(said.contains("Still wanted: the frequency in Hz."), "{said}");
    assert!(said.contains("Level of rip saw (SAW-1): over"), "{said}");
    let bit_by_bit = call("no\nthe rip saw stops\nyes\n12.0\n12.1 11.9\n60 Hz\nanswers\n");
    assert!(bit_by_bit.contains("Still wanted: 2 numbers in A and the frequency in Hz."), "{bit_by_bit}");
    assert!(bit_by_bit.contains("Level of rip saw (SAW-1): over"), "{bit_by_bit}");
    let anew = call("no\nthe rip saw stops\nyes\n12.0 12.1\n7.0 7.1 6.9 48 Hz\nanswers\n");
    assert!(anew.contains("Level of rip saw (SAW-1): normal"), "{anew}");
    let wrong = call("no\nthe rip saw stops\nyes\n12 12 12 at 208 V\nanswers\n");
    assert!(!wrong.contains("Level of rip saw (SAW-1): "), "{wrong}");
}

fn rank(job: &str, set: &str) -> Value {
    let job = root().join("knowledge/demo").join(job);
    let out = Run::new().args(["rank", "--json", "--job"]).arg(job).args(["--set", set]).go().status(0);
    serde_json::from_str(&out.stdout).unwrap()
}

fn posterior(answer: &Value, cause: &str) -> f64 {
    let causes = answer["causes"].as_array().unwrap();
    causes.iter().find(|row| row["id"] == cause).unwrap()["posterior"].as_f64().unwrap()
}

/// On the shipped package: the level is that at the speed, so that the same currents mean nothing at full speed and an
/// overload at a lower one; a dead leg and a level are read from one entry.
#[test]
fn currents_are_weighed_at_their_speed() {
    // 8.9 A on the nameplate of M-1.
    let at = |set: &str, cause: &str| posterior(&rank("tin-whistle.yaml", set), cause);
    let (full, slow) = ("VFD-1/leg-amps=8.6,8.7,8.5,60", "VFD-1/leg-amps=8.6,8.7,8.5,42");
    assert!(at(full, "EF-1/overspeed") < at(slow, "EF-1/overspeed") / 10.0);
    let dead = "VFD-1/leg-amps=7.0,7.1,0.05,60";
    assert!(at(dead, "M-1/splice-open") > 20.0 * at(full, "M-1/splice-open"));
    // The far readings of one entry fill all findings of the test, and only these.
    let answer = rank("tin-whistle.yaml", full);
    let open = answer["findings"].as_object().unwrap();
    for finding in ["VFD-1/leg-level", "VFD-1/leg-balance", "VFD-1/dead-leg"] {
        assert!(!open.contains_key(finding), "{finding}");
    }
    assert!(open.contains_key("VFD-1/amps"));
}
