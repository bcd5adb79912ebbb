//! Questions that come at any time: answered at once and on the safe side, without taking anything from the call; an emergency
//! in the same line comes first, and no answer helps to defeat a safety device.

use super::support::{Run, root};

fn call(lines: &str) -> String {
    let job = root().join("knowledge/demo/tin-whistle.yaml");
    let out = Run::new().args(["attend", "--echo", "--job"]).arg(job).stdin(lines).go();
    let said = format!("{}{}", out.stdout, out.stderr);
    said.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Callers' ways of asking, and a piece of the answer.
const ASKED: &[(&str, &str)] = &[
    ("can they keep cooking?", "burners and fryers under it go off"),
    ("is it ok to cook on the other line", "Under another hood, yes"),
    ("do we have to close", "In doubt: stop"),
    ("what must the kitchen not do meanwhile", "Nobody resets, bridges or opens anything"),
    ("what should we do in the meantime", "Somebody watches the hood"),
    ("can I just reset it", "Not before the reason is known"),
    ("what if I reset the drive", "a reset wipes out"),
    ("can you bypass it", "not even for one meal or one try"),
    ("could we jumper the fire contact for tonight?", "Nothing that protects people is bypassed"),
    ("can I flip the breaker back on", "stays off until a qualified person"),
    ("should I open the panel", "leave every door and cover shut"),
    ("how long will it take", "cannot be promised from here"),
    ("is it dangerous?", "If you are in doubt, leave"),
    ("can we relight the pilot", "every burner and pilot valve"),
];

#[test]
fn questions_are_answered_whatever_is_asked_just_now() {
    for (asked, answer) in ASKED {
        // At the first question, at the complaint, and in the middle of the search.
        for before in ["", "no\n", "no\nthe broiler drive lost its link\nyes\n"] {
            let said = call(&format!("{before}{asked}\n"));
            assert!(said.contains(answer), "{before:?} {asked}: {said}");
        }
    }
}

/// The question that stood goes on standing, and nothing is taken of what was asked.
#[test]
fn nothing_is_taken_of_a_question() {
    let without = call("no\nthe broiler drive lost its link\nyes\nlocked off\nanswers\n");
    let with = call(
        "no\nthe broiler drive lost its link\ncan they keep cooking?\nyes\ncan I just reset it\nlocked off\nanswers\n",
    );
    let answers = |said: &str| {
        let so_far = said.split("> answers").nth(1).unwrap();
        so_far.split("(`change").next().unwrap().to_owned()
    };
    assert_eq!(answers(&without), answers(&with));
}

/// What else the line says is heard; an emergency in it comes first.
#[test]
fn the_rest_of_the_line_is_heard() {
    let both = call("no\nthe broiler drive lost its link, can they keep cooking?\n");
    assert!(both.contains("burners and fryers under it go off"), "{both}");
    assert!(both.contains("has lost the link to drive of the broiler fan"), "{both}");
    let fire = call("no\nthere is smoke coming out of the panel, can we keep cooking?\n");
    assert!(fire.contains("Get everybody away and out."), "{fire}");
}

/// What a slip forbids meanwhile belongs to the answer once the search is on.
#[test]
fn the_slip_belongs_to_it() {
    let said = call("no\nthe broiler drive lost its link\nyes\nwhat must the kitchen not do meanwhile\n");
    assert!(said.contains("Not meanwhile:"), "{said}");
}

/// Ordinary sentences with such words are no questions.
#[test]
fn statements_are_no_questions() {
    for line in
        ["we pressed the reset", "the grease fan shakes while cooking", "somebody found a jumper on the wire"]
    {
        let said = call(&format!("no\n{line}\n"));
        for answer in ["Not before the reason", "burners and fryers under it go off", "is bypassed, bridged"]
        {
            assert!(!said.contains(answer), "{line}: {said}");
        }
    }
}

/// No answer gives leave to bridge, bypass, hold or force anything: such a word stands in a sentence that forbids it.
#[test]
fn no_answer_helps_to_defeat_a_safety_device() {
    use whytrip::knowledge::{self, InMemory, Options};
    let loaded = knowledge::load(&InMemory::new(), "kitchen-ventilation", &Options::default());
    let knowledge = loaded.knowledge.unwrap();
    assert!(knowledge.practice.on_the_spot.len() >= 9);
    for question in &knowledge.practice.on_the_spot {
        let said: Vec<&str> = question.say.iter().map(|text| text.value.as_str()).collect();
        for sentence in said.join(" ").split(['.', ':']) {
            let words = sentence.to_lowercase();
            let defeats = ["bypass", "bridge", "jumper", "forced", "override", "hold it", "holds it"];
            let denies = ["no ", "nothing", "nobody", "not ", "without"];
            let harmful = defeats.iter().any(|word| words.contains(word));
            assert!(
                !harmful || denies.iter().any(|word| words.contains(word)),
                "{}: {sentence}",
                question.id.value
            );
        }
    }
}
