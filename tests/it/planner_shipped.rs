//! The planner on the shipped package and an invented job: calls followed to their end, with the site answering.
//!
//! The hidden truth is one cause. The site answers every finding with its likeliest outcome under that truth, and every fix
//! that removes it succeeds. What is checked is that each call ends, that nothing is asked twice, and that it ends well.

use std::collections::BTreeSet;

use whytrip::job;
use whytrip::knowledge::{self, InMemory, Options, Stage};
use whytrip::model::index::{CauseIx, FindingIx, PlaceIx, WorkStateIx};
use whytrip::model::network::Source;
use whytrip::model::practice::{BitSet, Person};
use whytrip::model::{Model, compile};
use whytrip::planner::{Budget, Situation, Step, advise};
use whytrip::source::Sources;

const BUDGET: Budget = Budget { samples: 96, tests: 48, expansions: 0, seed: 1, explain: false };
/// No call takes more steps than this.
const LONGEST: usize = 80;

pub fn tin_whistle() -> Model {
    let knowledge =
        knowledge::load(&InMemory::new(), "kitchen-ventilation", &Options::default()).knowledge.unwrap();
    let text = std::fs::read(super::support::root().join("knowledge/demo/tin-whistle.yaml")).unwrap();
    let (job, problems) = job::read(&knowledge, &mut Sources::new(), "tin-whistle.yaml", text);
    assert!(problems.is_empty());
    compile(&knowledge, job.as_ref(), Stage::StartUp).unwrap().model
}

/// A person of these competences, with all that they carry.
pub fn person(model: &Model, ids: &[&str]) -> Person {
    let none = Person { competences: BitSet::default(), instruments: BitSet::default() };
    ids.iter().fold(none, |person, id| {
        let other = model.practice.person(model.practice.competence(id).unwrap());
        Person {
            competences: person.competences.union(other.competences),
            instruments: person.instruments.union(other.instruments),
        }
    })
}

/// What a site shows while these causes are there: the likeliest outcome of everything.
pub struct Site<'a> {
    model: &'a Model,
    pub causes: BTreeSet<CauseIx>,
}

impl Site<'_> {
    fn sources(&self) -> BTreeSet<Source> {
        let network = &self.model.network;
        let mut there: BTreeSet<Source> = self.causes.iter().map(|cause| Source::Cause(*cause)).collect();
        for &condition in network.condition_order() {
            let held = network
                .brought_by(condition)
                .iter()
                .any(|&(slot, chance)| chance >= 0.5 && there.contains(&network.source(slot as usize)));
            if held {
                there.insert(Source::Condition(condition));
            }
        }
        there
    }

    pub fn shows(&self, finding: FindingIx) -> usize {
        let there = self.sources();
        (self.model.network.shown_by(finding))
            .filter(|(source, _)| there.contains(source))
            .map(|(_, chances)| {
                let likeliest =
                    (0..chances.len()).max_by(|a, b| chances[*a].total_cmp(&chances[*b]).then(b.cmp(a)));
                likeliest.unwrap()
            })
            .max()
            .unwrap_or(0)
    }
}

/// How a call ended.
#[derive(Clone, PartialEq, Debug)]
pub enum End {
    Cured,
    Sent(Option<whytrip::model::index::CompetenceIx>),
}

/// Follows the planner's advice, the site answering; gives the steps and how it ended.
pub fn follow(model: &Model, truth: CauseIx, complaint: FindingIx, person: Person) -> (Vec<Step>, End) {
    let mut site = Site { model, causes: BTreeSet::from([truth]) };
    let mut situation = Situation::new(person, PlaceIx(0));
    let tell = |situation: &mut Situation, finding: FindingIx, outcome: usize| {
        let outcomes = model.network.outcomes(finding);
        let weights =
            (0..outcomes).map(|o| if o == outcome { 0.97 } else { 0.03 / (outcomes - 1) as f64 }).collect();
        situation.evidence.soft(finding, weights);
        situation.answered.insert(finding, outcome);
    };
    tell(&mut situation, complaint, site.shows(complaint).max(1));
    situation.complaints.push(complaint);
    let mut steps = Vec::new();
    while steps.len() < LONGEST {
        let advice = advise(model, &situation, &BUDGET).unwrap_or_else(|error| {
            for told in &situation.evidence.told {
                println!(
                    "  {}",
                    match told {
                        whytrip::inference::Told::Finding { among, weights } =>
                            format!("{} {weights:?}", model.findings[among[0].at()].id),
                        whytrip::inference::Told::Fix(fix) => format!("FIX {}", model.fixes[fix.at()].id),
                        other => format!("{other:?}"),
                    }
                );
            }
            panic!("{error}")
        });
        assert!(advice.bound_minutes <= advice.expected_minutes + 1e-6);
        steps.push(advice.step.clone());
        match advice.step {
            Step::Test(test) => {
                let test = &model.tests[test.at()];
                situation.place = test.terms.place;
                let open: Vec<FindingIx> = (test.gives.iter().map(|gives| gives.finding))
                    .filter(|finding| !situation.answered.contains_key(finding))
                    .collect();
                assert!(!open.is_empty(), "asked twice: {}", test.id);
                for finding in open {
                    let outcome = site.shows(finding);
                    tell(&mut situation, finding, outcome);
                }
            }
            Step::Fix(fix) => {
                situation.place = model.fixes[fix.at()].terms.place;
                site.causes
                    .retain(|cause| model.network.removes(fix).iter().all(|(other, _)| other != cause));
                situation.evidence.fixed(fix);
                situation.done_fixes.push(fix);
                situation.answered.clear();
            }
            Step::Prove => {
                for complaint in situation.complaints.clone() {
                    let outcome = site.shows(complaint);
                    tell(&mut situation, complaint, outcome);
                }
            }
            Step::Enter(state) => {
                situation.work_state = Some(state);
                situation.place = model.practice.work_states[state.at()].enter.place;
            }
            Step::Return(state) => {
                situation.work_state = Some(WorkStateIx(0));
                situation.place = model.practice.work_states[state.at()].back.place;
            }
            Step::HandOver(sent) => return (steps, End::Sent(sent.competence)),
            Step::Done => return (steps, End::Cured),
            Step::PutBack | Step::ConfirmWorkState => panic!("nothing was left, and the work state is known"),
        }
    }
    panic!("no end: {:?}", &steps[LONGEST - 10..]);
}

fn named(model: &Model, step: &Step) -> String {
    match step {
        Step::Test(test) => format!("test {}", model.tests[test.at()].id),
        Step::Fix(fix) => format!("fix {}", model.fixes[fix.at()].id),
        Step::HandOver(sent) => format!(
            "send {:?} for {:?}",
            sent.competence.map(|at| &model.practice.competences[at.at()].id),
            sent.fixes.iter().map(|fix| &model.fixes[fix.at()].id).collect::<Vec<_>>()
        ),
        other => format!("{other:?}"),
    }
}

fn play(model: &Model, cause: &str, complaint: &str, people: &[&str]) -> (Vec<Step>, End) {
    let begun = std::time::Instant::now();
    let (steps, end) =
        follow(model, model.ids.causes[cause], model.ids.findings[complaint], person(model, people));
    println!("{cause}, {people:?}: {end:?} in {} steps, {:?}", steps.len(), begun.elapsed());
    for step in &steps {
        println!("    {}", named(model, step));
    }
    (steps, end)
}

/// Calls with the right people present end with the cause cured, in few steps.
#[test]
fn calls_end_cured_where_the_people_are_there() {
    let model = tin_whistle();
    for (cause, complaint, people) in [
        ("F-3/locked-by-others", "VFD-3/bus-lost", &["electrician", "installer"][..]),
        ("M-1/reversed", "VFD-1/trips", &["electrician", "installer"]),
        ("VFD-1/wrong-motor-data", "VFD-1/trips", &["electrician", "installer"]),
        ("TS-2/not-landed", "CTRL/sensor-missing", &["electrician", "installer"]),
    ] {
        let (steps, end) = play(&model, cause, complaint, people);
        assert_eq!(end, End::Cured, "{cause}");
        assert!(steps.len() <= 40, "{cause}: {} steps", steps.len());
    }
}

/// A caller without instruments ends with the cause cured or with somebody sent for, never in a circle.
#[test]
fn callers_end_with_somebody_sent_or_cured() {
    let model = tin_whistle();
    for (cause, complaint) in [
        ("F-3/locked-by-others", "VFD-3/bus-lost"),
        ("M-1/reversed", "VFD-1/trips"),
        ("FS-1/wrong-contact", "FS-1/fire-shown"),
        ("GV-1/not-reset", "GV-1/no-gas"),
    ] {
        let (steps, _) = play(&model, cause, complaint, &["anyone"]);
        assert!(steps.len() <= 40, "{cause}: {} steps", steps.len());
        for step in &steps {
            if let Step::Fix(fix) = step {
                let person = person(&model, &["anyone"]);
                assert!(model.practice.allows(&person, &model.fixes[fix.at()].terms));
            }
        }
    }
}
