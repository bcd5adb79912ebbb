//! Calls that walk along a whole plan, through the real binary: on it, off it, and on it again.

use std::sync::OnceLock;

use serde_json::Value;

use crate::support::{Output, Run};

const COMPLAINT: &str = "VFD-3/bus-lost";

/// The plan of a call by anyone on site.
fn plan() -> Value {
    static PLAN: OnceLock<Value> = OnceLock::new();
    let chart = ["chart", COMPLAINT, "--cut", "1e-3", "--most", "100", "--json"];
    PLAN.get_or_init(|| Run::new().args(chart).go().status(0).json()).clone()
}

/// The likeliest way through it, as the numbers of its nodes and the lines that a caller types at them.
fn likeliest(plan: &Value) -> Vec<(u64, String)> {
    let nodes = plan["nodes"].as_array().unwrap();
    let node = |number: u64| &nodes[usize::try_from(number).unwrap() - 1];
    let mut way = Vec::new();
    let mut at = 1;
    while node(at)["kind"] == "test" {
        let answers = node(at)["answers"].as_array().unwrap();
        let goes_on = |answer: &&Value| {
            let found = answer["found"].as_array().unwrap();
            node(answer["to"].as_u64().unwrap())["kind"] != "open" && found.len() == 1
        };
        let Some(answer) = answers.iter().find(goes_on) else { break };
        // The outcomes of a step in the order of its findings, one line each.
        let said =
            answer["found"][0].as_array().unwrap().iter().map(|part| part["outcome"].as_str().unwrap());
        way.push((at, said.collect::<Vec<_>>().join("\n")));
        at = answer["to"].as_u64().unwrap();
    }
    way.push((at, String::new()));
    way
}

/// What was said of the plan, in order.
fn places(out: &Output) -> Vec<String> {
    let said = out.stdout.lines().filter(|line| {
        line.starts_with("(on the chart")
            || line.starts_with("(off the chart")
            || line.starts_with("(back on")
    });
    said.map(str::to_owned).collect()
}

fn call(args: &[&str], plan: &str, lines: &[&str]) -> Output {
    let opening = ["no", "the broiler drive lost its link", "yes"];
    let lines: Vec<&str> = opening.iter().chain(lines).copied().collect();
    Run::new().file("plan.json", plan).arg("attend").args(args).stdin(lines.join("\n") + "\n").go()
}

#[test]
fn a_call_goes_along_the_plan_for_many_steps_and_comes_back_to_it() {
    let plan = plan();
    let way = likeliest(&plan);
    assert!(way.len() >= 7, "too short to show anything: {way:?}");
    let text = plan.to_string();
    let lines: Vec<&str> =
        way.iter().map(|(_, line)| line.as_str()).filter(|line| !line.is_empty()).collect();
    let numbers: Vec<String> = way.iter().map(|(number, _)| format!("(on the chart: {number})")).collect();

    let out = call(&["--along", "plan.json"], &text, &lines).status(0);
    assert_eq!(places(&out), numbers, "{}", out.whole());

    // Something else is said on the way, and taken back. The work state is asked for where a step first depends on it.
    let (before, after) = lines.split_at(3);
    let detour = |known_at: usize| {
        let (until, from) = after.split_at(known_at);
        let lines = [before, &["smoke spills out of the fryer hood", "undo"], until, &["1"], from].concat();
        call(&["--along", "plan.json"], &text, &lines).status(0)
    };
    let back = format!("(back on the chart, at {})", way[3].0);
    let expected: Vec<String> = numbers[..4]
        .iter()
        .cloned()
        .chain(["(off the chart; planned anew from here)".into(), back])
        .chain(numbers[4..].iter().cloned())
        .collect();
    let came_back = (0..=after.len()).any(|known_at| places(&detour(known_at)) == expected);
    assert!(came_back, "{expected:?}\n{}", detour(0).whole());

    // Somebody else is there: the plan was for other hands.
    let other = [before, &["the electrician is here", "1"]].concat();
    let out = call(&["--along", "plan.json"], &text, &other).status(0);
    assert!(places(&out).last().unwrap().starts_with("(off the chart"), "{}", out.whole());

    // What cannot be told is not on the plan.
    let out = call(&["--along", "plan.json"], &text, &[before, &["can't tell"]].concat()).status(0);
    assert!(places(&out).last().unwrap().starts_with("(off the chart"), "{}", out.whole());

    // A correction leads to where the plan goes with the other answer, or off it; never on along the old way.
    let out = call(&["--along", "plan.json"], &text, &[before, &["change 1 no"]].concat()).status(0);
    assert!(!out.stdout.ends_with(&format!("(on the chart: {})\n", way[3].0)), "{}", out.whole());

    // An emergency stops it like any other call.
    let out = call(&["--along", "plan.json"], &text, &[before, &["I smell gas"]].concat()).status(0);
    assert_eq!(places(&out), numbers[..4], "{}", out.whole());
}

#[test]
fn steps_along_the_plan_are_those_of_the_plan() {
    let plan = plan();
    let way = likeliest(&plan);
    let lines: Vec<&str> =
        way.iter().map(|(_, line)| line.as_str()).filter(|line| !line.is_empty()).collect();
    let out = call(&["--along", "plan.json"], &plan.to_string(), &lines).status(0);
    // At anyone's hands the lay voice is asked; the reason names the test as the card does.
    for (number, _) in way.iter().filter(|(_, line)| !line.is_empty()) {
        assert!(out.stdout.contains(&format!("(on the chart: {number})")));
    }
    let why = call(&["--along", "plan.json"], &plan.to_string(), &["why"]).status(0);
    let said = plan["nodes"][0]["lines"][0].as_str().unwrap();
    let start: Vec<&str> = said.split_whitespace().take(6).collect();
    assert!(why.stdout.replace('\n', " ").contains(&start.join(" ")), "{}", why.whole());
}

#[test]
fn a_plan_that_does_not_fit_is_left_aside_and_one_that_is_none_is_refused() {
    let mut plan = plan();
    let text = plan.to_string();
    let whole = ["attend", "--along", "plan.json"];
    // Another stage is another model.
    let aside =
        Run::new().file("plan.json", &text).args(whole).args(["--stage", "after-work"]).stdin("no\n").go();
    let aside = aside.status(0).stderr_has("is left aside");
    assert!(places(&aside).is_empty());
    // For another person it fits nowhere, and says so.
    let lines = "no\nthe broiler drive lost its link\nyes\n";
    let other =
        Run::new().file("plan.json", &text).args(whole).args(["--as", "electrician"]).stdin(lines).go();
    other.status(0).stdout_has("(not on the chart; planned as ever)");
    // Broken files.
    for broken in ["{", "[]", "{\"format\": 2}", "{\"format\": 1}", "{\"format\": 1, \"course\": 3}"] {
        Run::new().file("plan.json", broken).args(whole).go().status(2).stderr_has("cannot walk along");
    }
    plan["course"]["steps"][0]["id"] = "no/such".into();
    Run::new()
        .file("plan.json", plan.to_string())
        .args(whole)
        .go()
        .status(2)
        .stderr_has("names what there is");
    Run::new().args(["attend", "--along", "none.json"]).go().status(2).stderr_has("cannot walk along");
}

/// A plan from a file may say what it likes: it is taken through the same gates.
#[test]
fn a_forged_plan_goes_through_the_gates() {
    let mut plan = plan();
    for step in ["F-3/right-breaker", "BUS/remake-line"] {
        plan["course"]["steps"][0] = serde_json::json!({"step": "fix", "id": step});
        let out = call(&["--along", "plan.json"], &plan.to_string(), &[]).status(0);
        let asked = out.stdout.lines().filter(|line| line.starts_with("Do this")).count();
        assert_eq!(asked, 0, "a fix that is not anyone's: {}", out.whole());
    }
}

/// Without a file the plan is worked out beside the call.
#[test]
fn a_plan_worked_out_beside_the_call() {
    let lines = "no\nthe broiler drive lost its link\nyes\non\nsingle\nno\nthe fryer fan squeals\n";
    let out = Run::new().args(["attend", "--echo", "--along"]).stdin(lines).go().status(0);
    let places = places(&out);
    assert!(places.len() >= 4 && places[0] == "(on the chart: 1)", "{}", out.whole());
    assert!(places.last().unwrap().starts_with("(off the chart"), "{}", out.whole());
}
