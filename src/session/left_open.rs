//! What was lifted, pulled, put in local, simulated or slowed, and has to be put back.
//!
//! What a test or a fix leaves behind stays on the list even when its answer is taken back, because nothing that is
//! unsaid puts a conductor back; what a person put on the list in so many words can be taken off by an undo.

use super::event::{Event, LeftId, What};
use super::log::Entry;
use super::prompt::Left;
use crate::model::Model;

/// One thing left, and what became of it.
#[derive(Clone, PartialEq, Debug)]
pub(crate) struct LeftThing {
    pub(crate) left: Left,
    pub(crate) fate: LeftFate,
}

impl LeftThing {
    /// The text, and to whom it was handed over (empty: it is put back); `None` while it is open.
    pub(crate) fn settled(&self) -> Option<(String, String)> {
        let to = match &self.fate {
            LeftFate::Open => return None,
            LeftFate::PutBack => String::new(),
            LeftFate::HandedOver(to) => to.clone(),
        };
        Some((self.left.text.clone(), to))
    }
}

/// What became of a thing left.
#[derive(Clone, PartialEq, Debug)]
pub(crate) enum LeftFate {
    Open,
    PutBack,
    HandedOver(String),
}

/// All that was left behind, in order, with what became of it.
pub(crate) fn things(model: &Model, log: &[Event], entries: &[Entry]) -> Vec<LeftThing> {
    let mut things: Vec<LeftThing> = Vec::new();
    let stands = |no: usize| entries.binary_search_by_key(&no, |entry| entry.no).is_ok();
    for (no, event) in log.iter().enumerate() {
        let (texts, temporary): (Vec<&str>, bool) = match &event.what {
            What::Answered { test, .. } => match model.ids.tests.get(test) {
                Some(test) => (texts(&model.tests[test.at()].terms.leaves), false),
                None => continue,
            },
            What::FixDone { fix, .. } => match model.ids.fixes.get(fix) {
                Some(fix) => {
                    let fix = &model.fixes[fix.at()];
                    // A measure for the meantime always leaves something: itself.
                    let leaves = if fix.temporary && fix.terms.leaves.is_empty() {
                        &fix.steps
                    } else {
                        &fix.terms.leaves
                    };
                    (texts(leaves), fix.temporary)
                }
                None => continue,
            },
            What::StepTaken { step, outcome, .. } => {
                match model.procedure.steps.iter().find(|form| form.id == *step) {
                    Some(form) if form.outcomes.first() == Some(outcome) => {
                        if stands(no) {
                            let back =
                                form.puts_back.iter().map(|&at| &model.procedure.steps[at].terms.leaves);
                            let back: Vec<&String> = back.flatten().collect();
                            for thing in things.iter_mut().filter(|thing| back.contains(&&thing.left.text)) {
                                thing.fate = LeftFate::PutBack;
                            }
                        }
                        (texts(&form.terms.leaves), false)
                    }
                    _ => continue,
                }
            }
            What::Left { item } if stands(no) => (vec![item], false),
            What::Meanwhile { measure } if stands(no) => {
                match model.practice.meanwhile.iter().find(|meanwhile| meanwhile.id == *measure) {
                    Some(meanwhile) => (vec![&meanwhile.put_back], true),
                    None => continue,
                }
            }
            What::PutBack { item } if stands(no) => {
                settle(&mut things, *item, &LeftFate::PutBack);
                continue;
            }
            What::LeftHandedOver { item, to } if stands(no) => {
                settle(&mut things, *item, &LeftFate::HandedOver(to.clone()));
                continue;
            }
            What::HandedOver { competence, to } if stands(no) => {
                let name = model.practice.competence(competence);
                let name = name.map_or("", |at| &*model.practice.competences[at.at()].name);
                let to = if to.is_empty() { name } else { to };
                for thing in things.iter_mut().filter(|thing| thing.fate == LeftFate::Open) {
                    thing.fate = LeftFate::HandedOver(to.to_owned());
                }
                continue;
            }
            _ => continue,
        };
        for (at, text) in texts.into_iter().enumerate() {
            let listed = |thing: &LeftThing| thing.left.text == text && thing.fate == LeftFate::Open;
            if !things.iter().any(listed) {
                let left = Left { id: LeftId { event: no, at }, text: text.to_owned(), temporary };
                things.push(LeftThing { left, fate: LeftFate::Open });
            }
        }
    }
    things
}

fn texts(texts: &[String]) -> Vec<&str> {
    texts.iter().map(String::as_str).collect()
}

fn settle(things: &mut [LeftThing], id: LeftId, fate: &LeftFate) {
    for thing in things.iter_mut().filter(|thing| thing.left.id == id) {
        thing.fate = fate.clone();
    }
}
