//! Laws of compiling: the numbers know nothing of names, nor of the order in which things are written.

use std::collections::BTreeMap;

use proptest::prelude::*;
use whytrip::inference::{Evidence, InferenceError, Limits, Posterior, posterior};
use whytrip::knowledge::Stage;
use whytrip::model::{Model, compile};

use crate::compile::{FILES, SHEET, load, sheet};

/// Every id of the test package and its sheet.
const NAMES: [&str; 22] = [
    "supply", "drive", "motor", "hall", "loads", "spare", "drives", "off", "dead", "burnt", "swapped",
    "loose", "dark", "fault", "draw", "spread", "renew", "jammed", "hot", "flood", "D-1", "M-2",
];

/// A small generator: splitmix64.
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.next() % n as u64).expect("small")
    }

    fn shuffle<T>(&mut self, items: &mut [T]) {
        for at in (1..items.len()).rev() {
            items.swap(at, self.below(at + 1));
        }
    }
}

/// `text` with whole names replaced.
fn rename(text: &str, names: &BTreeMap<&str, String>) -> String {
    let part = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    let mut out = String::new();
    let mut rest = text;
    while !rest.is_empty() {
        let end = rest.find(|c| !part(c)).unwrap_or(rest.len());
        let (word, tail) = rest.split_at(end);
        out.push_str(names.get(word).map_or(word, String::as_str));
        let other = tail.find(part).unwrap_or(tail.len());
        out.push_str(&tail[..other]);
        rest = &tail[other..];
    }
    out
}

/// The same text with the entries of every list of causes, tests, units … in another order. An entry is a line with two
/// blanks before it, and the deeper lines after it.
fn reorder(text: &str, random: &mut Random) -> String {
    let mut sections: Vec<(String, Vec<String>)> = vec![(String::new(), Vec::new())];
    for line in text.split_inclusive('\n') {
        let depth = line.len() - line.trim_start_matches(' ').len();
        let (_, entries) = sections.last_mut().expect("a section");
        match (depth, entries.last_mut()) {
            (0, _) => sections.push((line.to_owned(), Vec::new())),
            (1..=2, _) | (_, None) => entries.push(line.to_owned()),
            (_, Some(entry)) => entry.push_str(line),
        }
    }
    // What stands first in a file has to stay there; the sections behind it may go anywhere.
    let mut out = String::new();
    for (_, entries) in &mut sections {
        random.shuffle(entries);
    }
    let first = sections.iter().position(|(head, _)| !head.trim().is_empty()).unwrap_or(0);
    random.shuffle(&mut sections[first + 1..]);
    for (head, entries) in sections {
        out.push_str(&head);
        entries.iter().for_each(|entry| out.push_str(entry));
    }
    out
}

fn model(files: &[(String, String)], job: &str, stage: Stage) -> Model {
    let files: Vec<(&str, &str)> = files.iter().map(|(name, text)| (&**name, &**text)).collect();
    let knowledge = load(&files);
    let (job, said) = sheet(&knowledge, job);
    assert_eq!(said, Vec::<String>::new());
    compile(&knowledge, Some(&job), stage).expect("compiles").model
}

fn ask(model: &Model, told: &[(String, usize)]) -> Result<Posterior, InferenceError> {
    let mut evidence = Evidence::new();
    for (finding, outcome) in told {
        evidence.plain(&model.network, model.ids.findings[finding], *outcome);
    }
    posterior(&model.network, &evidence, &Limits::default())
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-12 * a.abs().max(b.abs())
}

proptest! {
    #![proptest_config(crate::support::cases(48))]

    #[test]
    fn names_and_order_change_no_number(seed in any::<u64>()) {
        let mut random = Random(seed);
        let stage = Stage::ALL[random.below(3)];
        let plain: Vec<(String, String)> = FILES.iter().map(|&(n, t)| (n.to_owned(), t.to_owned())).collect();
        let one = model(&plain, SHEET, stage);

        let mut labels: Vec<usize> = (0..NAMES.len()).collect();
        random.shuffle(&mut labels);
        let names: BTreeMap<&str, String> =
            NAMES.iter().zip(labels).map(|(&name, label)| (name, format!("n{label}"))).collect();
        let mut other: Vec<(String, String)> = FILES
            .iter()
            .enumerate()
            .map(|(at, &(name, text))| {
                let name = if name == "package.yaml" { name.to_owned() } else { format!("f{}.yaml", (at * 7) % 5) };
                (name, reorder(&rename(text, &names), &mut random))
            })
            .collect();
        random.shuffle(&mut other);
        let two = model(&other, &reorder(&rename(SHEET, &names), &mut random), stage);
        let there = |id: &str| rename(id, &names);

        let mut told: Vec<(String, usize)> = Vec::new();
        for finding in &one.findings {
            if random.below(3) == 0 {
                // Mostly what a chance above zero allows; what is impossible must be so for both.
                told.push((finding.id.clone(), random.below(finding.outcomes.len())));
            }
        }
        let told_there: Vec<(String, usize)> = told.iter().map(|(id, outcome)| (there(id), *outcome)).collect();
        match (ask(&one, &told), ask(&two, &told_there)) {
            (Ok(a), Ok(b)) => {
                prop_assert!((a.ln_evidence - b.ln_evidence).abs() <= 1e-12 * a.ln_evidence.abs().max(1.0));
                prop_assert!(near(a.none_listed, b.none_listed));
                for (at, cause) in one.causes.iter().enumerate() {
                    let ix = two.ids.causes[&there(&cause.id)].at();
                    prop_assert!(near(a.now[at], b.now[ix]), "{}: {} {}", cause.id, a.now[at], b.now[ix]);
                }
                for (at, condition) in one.conditions.iter().enumerate() {
                    let ix = two.ids.conditions[&there(&condition.id)].at();
                    prop_assert!(near(a.conditions_now[at], b.conditions_now[ix]));
                }
            }
            (Err(InferenceError::Impossible), Err(InferenceError::Impossible)) => {}
            (a, b) => prop_assert!(false, "{a:?} {b:?}"),
        }
    }
}
