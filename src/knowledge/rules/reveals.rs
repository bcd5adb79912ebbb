//! Causes that no finding reveals, and tests that tell nothing apart.

use std::collections::{BTreeSet, HashMap, HashSet};

use super::grouped::Grouped;
use super::targets::{Thing, targets};
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{Item, Knowledge, Test};

pub(super) fn check(knowledge: &Knowledge, problems: &mut Vec<Diagnostic>) {
    // What each cause or condition brings about, and which of them show in a finding at once.
    let mut brings: HashMap<Thing, Vec<Thing>> = HashMap::new();
    let mut brought_by: HashMap<Thing, Vec<Thing>> = HashMap::new();
    let mut showing: BTreeSet<Thing> = BTreeSet::new();
    let mut shown_by: HashMap<Thing, Vec<Thing>> = HashMap::new();
    let mut needed: HashSet<Thing> = HashSet::new();
    for (at, component) in knowledge.components.iter().enumerate() {
        for link in component.leads.iter().filter(|link| link.chance > 0.0) {
            let effects = targets(knowledge, at, &link.to);
            for source in targets(knowledge, at, &link.from) {
                for &effect in &effects {
                    brings.entry(source).or_default().push(effect);
                    brought_by.entry(effect).or_default().push(source);
                }
            }
        }
        for link in component.shows.iter().filter(|link| link.chances.iter().any(|&(_, chance)| chance > 0.0))
        {
            let findings = targets(knowledge, at, &link.to);
            for source in targets(knowledge, at, &link.from) {
                if findings.is_empty() {
                    continue;
                }
                showing.insert(source);
                for &finding in &findings {
                    shown_by.entry(finding).or_default().push(source);
                }
            }
        }
        let needs = component.tests.iter().flat_map(|test| &test.needs);
        let needs = needs.chain(component.fixes.iter().flat_map(|fix| &fix.needs));
        needed.extend(needs.flat_map(|(finding, _)| targets(knowledge, at, finding)));
    }
    // Backwards from what shows at once: everything that brings it about is revealed too.
    let mut revealed = showing.clone();
    let mut open: Vec<Thing> = showing.into_iter().collect();
    while let Some(thing) = open.pop() {
        for &source in brought_by.get(&thing).into_iter().flatten() {
            if revealed.insert(source) {
                open.push(source);
            }
        }
    }
    // Forwards from the causes: the conditions that one of them brings about.
    let mut caused: HashSet<Thing> = HashSet::new();
    for (at, component) in knowledge.components.iter().enumerate() {
        let mut open: Vec<Thing> =
            (0..component.causes.len()).map(|cause| (at, Item::Cause(cause))).collect();
        while let Some(thing) = open.pop() {
            if caused.insert(thing) {
                open.extend(brings.get(&thing).into_iter().flatten());
            }
        }
    }
    for (at, component) in knowledge.components.iter().enumerate() {
        let mut hidden = Grouped::new();
        for (cause, it) in component.causes.iter().enumerate() {
            if !revealed.contains(&(at, Item::Cause(cause))) {
                hidden.add(&it.id);
            }
        }
        hidden.report(Code::NeverRevealed, |names| format!("no finding reveals {names}"), problems, |problem| {
            problem
                .why("neither it nor what it brings about shows in a finding: no answer can raise or lower it")
                .help("write what it shows: `shows: {finding: {outcome: chance}}`")
        });
        let tells = |test: usize, it: &Test| {
            (0..it.gives.len()).any(|given| {
                let finding = (at, Item::Given(test, given));
                let told =
                    shown_by.get(&finding).is_some_and(|sources| sources.iter().any(|s| caused.contains(s)));
                told || needed.contains(&finding)
            })
        };
        let mut idle = Grouped::new();
        for (test, it) in component.tests.iter().enumerate() {
            if !tells(test, it) {
                idle.add(&it.id);
            }
        }
        idle.report(
            Code::TellsNothing,
            |names| format!("{names}: no cause shows in it"),
            problems,
            |problem| {
                problem
                    .why("its answer moves no cause, and nothing needs it")
                    .help("write which causes show in it: `shown-by: {cause: {outcome: chance}}`")
            },
        );
        let mut silent = Grouped::new();
        for (symptom, it) in component.symptoms.iter().enumerate() {
            let finding = (at, Item::Symptom(symptom));
            if !shown_by.get(&finding).is_some_and(|sources| sources.iter().any(|s| caused.contains(s))) {
                silent.add(&it.finding.id);
            }
        }
        silent.report(
            Code::TellsNothing,
            |names| format!("{names}: no cause shows in it"),
            problems,
            |problem| problem.why("such a complaint leads nowhere").help("write which causes show in it"),
        );
    }
}
