//! Laws of whole plans: safe at every node for every demo job and person, no less known under a finer cut, bounded, the same
//! twice, and merged only where it makes no difference.

use std::sync::Arc;

use proptest::prelude::*;
use whytrip::export::chart::{Chart, Kind, json, markdown};
use whytrip::model::Model;
use whytrip::model::practice::Terms;
use whytrip::planner::decision_graph::{Bounds, Course, Deed};
use whytrip::planner::{DecisionGraph, Step};
use whytrip::session::{Answer, Session, What};

use crate::decision_graph::{bounds, complained, first_symptom, safe, sound};
use crate::hand_made::{at, begin, demo_job, demo_jobs, drawn, session};

/// Three complaints of a job, spread over its list.
fn complaints(session: &Session) -> Vec<String> {
    let model = session.model();
    let all: Vec<&String> =
        model.findings.iter().filter(|one| one.symptom.is_some()).map(|one| &one.id).collect();
    all.iter().step_by(all.len().div_ceil(3).max(1)).map(|id| (*id).clone()).collect()
}

/// What people read of each node: cautions of the step and of the door before it, and for every hand-over whom to send.
fn cards_are_whole(session: &Session, graph: &DecisionGraph) {
    let model = session.model();
    let chart = Chart::new(model, graph, session.about());
    assert!(!chart.notice.is_empty());
    let text = markdown(&chart);
    for (card, node) in chart.cards.iter().zip(graph.graph.node_weights()) {
        let has = |terms: &Terms| {
            let door = terms.inside.map(|door| model.practice.enclosures[door.at()].hazards.as_slice());
            for hazard in terms.hazards.iter().chain(door.unwrap_or_default()) {
                let form = &model.practice.hazards[hazard.at()];
                assert!(
                    card.cautions.iter().any(|one| one.text == form.caution),
                    "{}: {}",
                    card.number,
                    form.caution
                );
                assert!(text.contains(form.caution.split_whitespace().next().unwrap()));
            }
        };
        match &node.deed {
            Deed::Take(Step::Test(at)) => has(&model.tests[at.at()].terms),
            Deed::Take(Step::Fix(at)) => has(&model.fixes[at.at()].terms),
            Deed::Take(Step::Enter(at)) => has(&model.practice.work_states[at.at()].enter),
            Deed::Take(Step::Return(at)) => has(&model.practice.work_states[at.at()].back),
            Deed::Take(Step::HandOver(sent)) => {
                assert_eq!(card.kind, Kind::HandOver);
                assert!(!card.lines.is_empty(), "nobody is named at {}", card.number);
                let to = sent.competence.map(|at| model.practice.competences[at.at()].id.as_str());
                assert_eq!(card.id.as_deref(), Some(to.unwrap_or("unlisted")));
            }
            Deed::Alarm(at) => assert_eq!(card.lines, model.practice.emergencies[*at].act),
            _ => {}
        }
        for (before, after) in card.cautions.iter().zip(card.cautions.iter().skip(1)) {
            assert!(before.signal <= after.signal, "the worst comes first");
        }
    }
}

#[test]
fn every_node_of_every_plan_of_every_demo_job_is_safe() {
    let mut nodes = 0;
    for sheet in demo_jobs() {
        let source = demo_job(&sheet);
        for who in ["anyone", "installer", "electrician", "fire-contractor"] {
            for complaint in complaints(&begin(source.clone(), who)) {
                let session = complained(begin(source.clone(), who), &complaint);
                let bounds = Bounds { most: 40, ..bounds(0.01) };
                let Ok(graph) = session.chart(bounds, &mut |_| {}) else {
                    panic!("{sheet}: {complaint} cannot be planned for {who}")
                };
                safe(session.model(), &graph);
                sound(&graph);
                cards_are_whole(&session, &graph);
                assert!(graph.states <= 40);
                nodes += graph.graph.node_count();
            }
        }
    }
    assert!(nodes > 1000, "{nodes} nodes say little");
}

/// A finer cut only adds: no fewer states, no more left open.
fn finer_is_more(session: &Session, cuts: &[f64]) {
    let graphs: Vec<DecisionGraph> = cuts
        .iter()
        .filter_map(|&cut| session.chart(Bounds { most: 4000, ..bounds(cut) }, &mut |_| {}).ok())
        .collect();
    for pair in graphs.windows(2) {
        assert!(pair[0].states <= pair[1].states, "{} states, then {}", pair[0].states, pair[1].states);
        assert!(pair[0].open >= pair[1].open - 1e-9, "{} open, then {}", pair[0].open, pair[1].open);
    }
}

proptest! {
    #![proptest_config(crate::support::cases(16))]

    #[test]
    fn a_finer_cut_only_adds(seed in 0u64..400) {
        let model = drawn(seed);
        let complaint = first_symptom(&model);
        finer_is_more(&complained(session(model, "electrician"), &complaint), &[0.3, 0.1, 0.03, 0.01, 0.003]);
    }
}

#[test]
fn a_finer_cut_only_adds_for_the_shipped_package() {
    let session = complained(begin(crate::hand_made::shipped(), "anyone"), "VFD-3/bus-lost");
    finer_is_more(&session, &[0.1, 0.03, 0.01]);
}

/// A bound that is reached is said, and nothing is lost but the rarest ways.
#[test]
fn a_bound_that_is_reached_is_said() {
    let session = complained(begin(crate::hand_made::shipped(), "electrician"), "VFD-3/bus-lost");
    let graph = session.chart(Bounds { most: 12, ..bounds(1e-4) }, &mut |_| {}).unwrap();
    assert!(graph.full && graph.states <= 12 && graph.open > 0.0);
    safe(session.model(), &graph);
    sound(&graph);
    let chart = Chart::new(session.model(), &graph, session.about());
    assert!(markdown(&chart).contains("12 states"), "the bound is not said");
    assert_eq!(json(&chart)["full"], true);
    let again = session.chart(Bounds { most: 12, ..bounds(1e-4) }, &mut |_| {}).unwrap();
    let twice = Chart::new(session.model(), &again, session.about());
    assert_eq!(json(&chart).to_string(), json(&twice).to_string(), "not the same bytes twice");
}

/// The likeliest answers from the start of a plan, as long as it asks.
fn likeliest(model: &Model, graph: &DecisionGraph) -> Vec<What> {
    let mut way: Vec<What> = Vec::new();
    let mut node = graph.root;
    while let Deed::Take(Step::Test(test)) = &graph.graph[node].deed {
        let edges =
            graph.graph.edge_indices().filter(|edge| graph.graph.edge_endpoints(*edge).unwrap().0 == node);
        let most = edges
            .filter(|edge| !graph.graph[*edge].found.is_empty())
            .max_by(|a, b| graph.graph[*a].chance.total_cmp(&graph.graph[*b].chance));
        let Some(most) = most else { break };
        let told = graph.graph[most].found[0].iter().map(|(finding, outcome)| {
            let form = &model.findings[finding.at()];
            (form.id.clone(), form.outcomes[*outcome].clone())
        });
        way.push(What::Answered {
            test: model.tests[test.at()].id.clone(),
            answer: Answer::Outcomes(told.collect()),
            sure: true,
            words: String::new(),
        });
        node = graph.graph.edge_endpoints(most).unwrap().1;
    }
    way
}

/// The same answers in another order say the same, and where they end at the same place they are the same point.
#[test]
fn answers_in_another_order_are_the_same_point() {
    let (mut tried, mut met) = (0, 0);
    for (complaint, who) in [
        ("VFD-3/bus-lost", "anyone"),
        ("EF-1/stopped", "anyone"),
        ("VFD-1/trips", "installer"),
        ("EF-1/stopped", "electrician"),
        ("VFD-3/bus-lost", "electrician"),
    ] {
        let start = complained(begin(crate::hand_made::shipped(), who), complaint);
        let graph = start.chart(Bounds { most: 60, ..bounds(1e-3) }, &mut |_| {}).unwrap();
        let course = Arc::new(Course::of(start.model(), &graph));
        let mut way = likeliest(start.model(), &graph);
        let ends = |way: &[What]| {
            let mut session = start.clone().along(Arc::clone(&course));
            for what in way {
                let no = session.events().len();
                session.apply(at(no, what.clone())).ok()?;
            }
            Some((session.node(), session.ranking().ln_evidence))
        };
        for length in (3..=way.len()).rev().take(4) {
            let Some((there, ln)) = ends(&way[..length]) else { continue };
            // The last stays the last, so that the person ends at the same place.
            way[..length - 1].reverse();
            let also = ends(&way[..length]);
            way[..length - 1].reverse();
            let Some((also, ln_also)) = also else { continue };
            assert!((ln - ln_also).abs() < 1e-9, "{complaint}: {ln}, then {ln_also}");
            if there.is_some() {
                assert_eq!(there, also, "{complaint}: another order is another point");
                met += 1;
            }
            tried += 1;
        }
    }
    assert!(tried > 0 && met > 0, "{tried} orders tried, {met} on the plan");
}
