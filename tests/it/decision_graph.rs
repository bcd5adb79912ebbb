//! Decision graphs: safety in every node, minutes that add up, merging that changes nothing, exports that hold together.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use petgraph::graph::NodeIndex;
use proptest::prelude::*;
use whytrip::export::chart::{Chart, dot, html, json, markdown, sheet, svg};
use whytrip::model::Model;
use whytrip::model::index::{FindingIx, WorkStateIx};
use whytrip::model::practice::Terms;
use whytrip::planner::decision_graph::{Bounds, Course, Deed};
use whytrip::planner::{Budget, DecisionGraph, Situation, Step};
use whytrip::session::{Answer, Prompt, Session, What};

use crate::hand_made::{at, begin, drawn, kitchen, session, shipped};
use crate::planner_models::{random_model, random_situation};
use crate::support::{Run, same_as_file};

pub fn bounds(cut: f64) -> Bounds {
    Bounds { cut, most: 400, budget: Budget { samples: 48, ..Budget::QUICK } }
}

/// What a way through the graph has told so far.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
struct Told {
    /// Answers since the last fix.
    answers: BTreeMap<FindingIx, usize>,
    left: BTreeSet<String>,
    /// Complaints, found ones among them.
    complaints: BTreeSet<FindingIx>,
}

/// Follows every way, and checks what is done at each point against what was told on the way there.
pub fn safe(model: &Model, graph: &DecisionGraph) {
    let start = Told {
        answers: graph.start.answered.clone(),
        complaints: graph.start.complaints.iter().copied().collect(),
        ..Told::default()
    };
    let mut open: Vec<(NodeIndex, Told)> = vec![(graph.root, start)];
    let mut seen: BTreeSet<(NodeIndex, Told)> = BTreeSet::new();
    while let Some((node, told)) = open.pop() {
        if !seen.insert((node, told.clone())) {
            continue;
        }
        let next = check(model, graph, node, &told);
        for edge in graph.graph.edge_indices() {
            let (from, to) = graph.graph.edge_endpoints(edge).unwrap();
            if from != node {
                continue;
            }
            for found in &graph.graph[edge].found {
                let mut told = next.clone();
                told.answers.extend(found.iter().copied());
                let symptoms = found
                    .iter()
                    .filter(|(at, outcome)| *outcome > 0 && model.findings[at.at()].symptom.is_some());
                told.complaints.extend(symptoms.map(|(at, _)| *at));
                let (here, there) = (&graph.graph[from], &graph.graph[to]);
                let state = match &here.deed {
                    Deed::Take(Step::Enter(state)) => *state,
                    Deed::Take(Step::Return(_)) => WorkStateIx(0),
                    _ => here.work_state,
                };
                assert_eq!(there.work_state, state, "a work state changed without its steps");
                open.push((to, told));
            }
        }
    }
}

fn check(model: &Model, graph: &DecisionGraph, node: NodeIndex, told: &Told) -> Told {
    let form = &graph.graph[node];
    let person = graph.start.person;
    let mut next = told.clone();
    let allowed = |terms: &Terms, state: Option<WorkStateIx>| {
        assert!(model.practice.allows(&person, terms), "beyond the person: {:?}", form.deed);
        assert!(state.is_none_or(|state| state == form.work_state), "not in its work state: {:?}", form.deed);
    };
    let answered = |needs: &[(FindingIx, usize)]| {
        for (finding, _) in needs {
            let outcome = told.answers.get(finding).expect("a need that nobody answered");
            assert!(needs.contains(&(*finding, *outcome)), "a need that was answered otherwise");
        }
    };
    match &form.deed {
        Deed::Take(Step::Test(test)) => {
            let test = &model.tests[test.at()];
            allowed(&test.terms, test.terms.work_state);
            if test.terms.recloses {
                answered(&test.needs);
            }
            next.left.extend(test.terms.leaves.iter().cloned());
        }
        Deed::Take(Step::Fix(fix)) => {
            let fix = &model.fixes[fix.at()];
            allowed(&fix.terms, fix.terms.work_state);
            answered(&fix.needs);
            next.left.extend(fix.terms.leaves.iter().cloned());
            next.answers.clear();
        }
        Deed::Take(Step::Enter(state)) => {
            assert_eq!(form.work_state, WorkStateIx(0));
            allowed(&model.practice.work_states[state.at()].enter, None);
        }
        Deed::Take(Step::Return(state)) => {
            assert_eq!(form.work_state, *state);
            allowed(&model.practice.work_states[state.at()].back, None);
        }
        Deed::Take(Step::Prove) => {
            assert_eq!(form.complaints, told.complaints.iter().copied().collect::<Vec<_>>());
            let first = told.complaints.iter().find(|at| told.answers.get(at) != Some(&0)).unwrap();
            let terms = &model.tests[model.findings[first.at()].test.at()].terms;
            allowed(terms, Some(terms.work_state.unwrap_or(WorkStateIx(0))));
        }
        Deed::Take(Step::PutBack) => {
            assert!(!form.left.is_empty());
            next.left.clear();
        }
        Deed::Take(Step::Done) => {
            assert!(told.left.is_empty(), "done with something left: {:?}", told.left);
            assert_eq!(form.work_state, WorkStateIx(0), "done in another work state");
            assert!(told.complaints.iter().all(|at| told.answers.get(at) == Some(&0)));
        }
        Deed::Take(Step::HandOver(_) | Step::ConfirmWorkState) | Deed::Alarm(_) | Deed::Open => {}
    }
    let alarming = |(finding, outcome): (&FindingIx, &usize)| {
        let kind = &model.findings[finding.at()].kind;
        *outcome > 0
            && !graph.start.complaints.contains(finding)
            && model.practice.emergencies.iter().any(|emergency| emergency.shown_by.contains(kind))
    };
    if told.answers.iter().any(alarming) && !graph.start.answered.iter().any(alarming) {
        assert!(matches!(form.deed, Deed::Alarm(_)), "an emergency, and yet {:?}", form.deed);
    }
    next
}

/// No rings, chances that add up, minutes that are those of all ways apart.
pub fn sound(graph: &DecisionGraph) {
    assert!(!petgraph::algo::is_cyclic_directed(&graph.graph));
    let mut expected: BTreeMap<NodeIndex, f64> = BTreeMap::new();
    for node in petgraph::algo::toposort(&graph.graph, None).unwrap().into_iter().rev() {
        let (mut sum, mut whole) = (graph.graph[node].minutes, 0.0);
        for to in graph.graph.neighbors(node) {
            let edge = graph.graph.find_edge(node, to).unwrap();
            sum += graph.graph[edge].chance * expected[&to];
            whole += graph.graph[edge].chance;
        }
        assert!(whole == 0.0 || (whole - 1.0).abs() < 1e-6, "{:?}: {whole}", graph.graph[node].deed);
        expected.insert(node, sum);
    }
    let root = graph.expected_minutes();
    assert!((root - expected[&graph.root]).abs() <= 1e-9 * (1.0 + root.abs()));
    assert!((root - graph.apart).abs() <= 1e-6 * (1.0 + root.abs()), "{root} merged, {} apart", graph.apart);
    // Forward: minutes of every node by how often it is reached.
    let forward: f64 = graph.graph.node_weights().map(|node| node.reach * node.minutes).sum();
    assert!((root - forward).abs() <= 1e-6 * (1.0 + root.abs()), "{root} backward, {forward} forward");
}

fn compiled(model: &Model, situation: &Situation, cut: f64) -> Option<DecisionGraph> {
    DecisionGraph::compile(model, situation, bounds(cut), &mut |_| {}).ok()
}

/// A session with the first complaint made.
pub fn complained(mut session: Session, finding: &str) -> Session {
    let outcome = session.model().findings[session.model().ids.findings[finding].at()].outcomes[1].clone();
    let told = [
        What::EmergenciesAnswered { present: vec![] },
        What::Volunteered { finding: finding.into(), outcome, sure: true, words: "so".into() },
        What::ThereNow { there: true },
    ];
    for what in told {
        let no = session.events().len();
        session.apply(at(no, what)).unwrap();
    }
    session
}

pub fn first_symptom(model: &Model) -> String {
    model.findings.iter().find(|finding| finding.symptom.is_some()).unwrap().id.clone()
}

proptest! {
    #![proptest_config(crate::support::cases(24))]

    #[test]
    fn graphs_of_random_models_are_safe_and_add_up(seed in any::<u64>()) {
        let model = random_model(seed);
        let mut situation = random_situation(&model, seed);
        situation.work_state = situation.work_state.or(Some(WorkStateIx(0)));
        if let Some(graph) = compiled(&model, &situation, 1e-3) {
            safe(&model, &graph);
            sound(&graph);
        }
    }

    #[test]
    fn graphs_of_calls_over_drawn_models_are_safe_and_add_up(seed in 0u64..400, who in 0usize..3) {
        let model = drawn(seed);
        let who = ["anyone", "electrician", "fire-contractor"][who];
        let complaint = first_symptom(&model);
        let session = complained(session(model, who), &complaint);
        if let Ok(graph) = session.chart(bounds(1e-3), &mut |_| {}) {
            safe(session.model(), &graph);
            sound(&graph);
        }
    }
}

#[test]
fn graphs_of_the_shipped_package_are_safe_and_add_up() {
    for (complaint, who) in [("VFD-3/bus-lost", "electrician"), ("VFD-1/trips", "anyone")] {
        let session = complained(begin(shipped(), who), complaint);
        let graph = session.chart(bounds(0.02), &mut |_| {}).unwrap();
        safe(session.model(), &graph);
        sound(&graph);
        let again = session.chart(bounds(0.02), &mut |_| {}).unwrap();
        assert_eq!(format!("{:?}", graph.graph), format!("{:?}", again.graph), "not the same twice");
    }
}

/// A session that walks along its plan is at the nodes that its answers lead to, asks what they say, and leaves the plan
/// when something else is told.
#[test]
fn a_session_walks_along_its_plan_until_it_leaves_it() {
    let session = complained(begin(shipped(), "electrician"), "VFD-3/bus-lost");
    let graph = Arc::new(session.chart(bounds(0.02), &mut |_| {}).unwrap());
    let course = Arc::new(Course::of(session.model(), &graph));
    let mut session = session.along(course);
    let mut steps = 0;
    for _ in 0..4 {
        let Some(node) = session.node().map(|number| NodeIndex::new(number - 1)) else { break };
        let (Prompt::Test(step), Deed::Take(Step::Test(test))) =
            (session.view().prompt, &graph.graph[node].deed)
        else {
            break;
        };
        assert_eq!(step.test, session.model().tests[test.at()].id);
        let told = step.choices.iter().map(|c| (c.finding.clone(), c.outcomes[0].clone())).collect();
        let what = What::Answered {
            test: step.test,
            answer: Answer::Outcomes(told),
            sure: true,
            words: String::new(),
        };
        let no = session.events().len();
        session.apply(at(no, what)).unwrap();
        steps += 1;
    }
    assert!(steps >= 1, "no step along the plan");
    let other = What::CauseSeen { cause: "M-1/reversed".into(), present: true, words: "seen".into() };
    let no = session.events().len();
    session.apply(at(no, other)).unwrap();
    assert_eq!(session.node(), None);
    assert!(session.why().is_some());
}

fn kitchen_chart() -> (Model, DecisionGraph) {
    let session = complained(session(kitchen(), "electrician"), "fan-1/dead");
    let graph = session.chart(bounds(1e-4), &mut |_| {}).unwrap();
    assert!(graph.graph.node_count() >= 10, "{} nodes show little", graph.graph.node_count());
    (session.model().clone(), graph)
}

#[test]
fn every_form_of_a_small_plan_reads_as_it_should() {
    let (model, graph) = kitchen_chart();
    let chart = Chart::new(&model, &graph, ("hand-made", None));
    same_as_file(&markdown(&chart), "chart/kitchen.md");
    same_as_file(&dot(&chart), "chart/kitchen.dot");
    same_as_file(&svg(&chart), "chart/kitchen.svg");
    same_as_file(&html(&chart), "chart/kitchen.html");
    same_as_file(&sheet(&chart), "chart/kitchen-sheet.html");
    same_as_file(&(serde_json::to_string_pretty(&json(&chart)).unwrap() + "\n"), "chart/kitchen.json");
}

fn parses(text: &str) {
    let options = roxmltree::ParsingOptions { allow_dtd: true, ..Default::default() };
    roxmltree::Document::parse_with_options(text, options).unwrap();
    assert!(!text.contains("src=\"http") && !text.contains("href=\"http"), "something is fetched");
}

/// Quotes are closed and braces balanced outside of them.
fn dot_holds_together(text: &str) {
    let (mut quoted, mut escaped, mut depth) = (false, false, 0i32);
    for c in text.chars() {
        match c {
            _ if escaped => escaped = false,
            '\\' if quoted => escaped = true,
            '"' => quoted = !quoted,
            '{' if !quoted => depth += 1,
            '}' if !quoted => depth -= 1,
            _ => {}
        }
    }
    assert!(!quoted && depth == 0);
}

#[test]
fn hostile_texts_stay_texts_in_every_form() {
    let (mut model, graph) = kitchen_chart();
    let hostile = "<script>alert('\"x\"')</script> ]]> &amp; \\ \u{1b}[2J \u{0}\u{202e} --> } digraph";
    for test in &mut model.tests {
        test.say = hostile.into();
        test.how = hostile.into();
    }
    for finding in &mut model.findings {
        finding.name = hostile.into();
        finding.outcomes.iter_mut().for_each(|outcome| outcome.push_str(hostile));
        finding.symptom.iter_mut().for_each(|symptom| symptom.say = hostile.into());
    }
    model.practice.notice = vec![hostile.into()];
    model.practice.hazards.iter_mut().for_each(|hazard| hazard.caution = hostile.into());
    model.causes.iter_mut().for_each(|cause| cause.name = hostile.into());
    let chart = Chart::new(&model, &graph, (hostile, Some(hostile)));
    for text in [svg(&chart), html(&chart), sheet(&chart)] {
        parses(&text);
        assert!(!text.contains("<script"));
    }
    dot_holds_together(&dot(&chart));
    assert!(!markdown(&chart).replace("\\<", "").contains("<script"));
    assert_eq!(json(&chart)["format"], 1);
}

/// The notice and the cautions of every step stand in every form, the cautions before the step.
#[test]
fn notice_and_cautions_stand_in_every_form() {
    let session = complained(begin(shipped(), "electrician"), "VFD-3/bus-lost");
    let graph = session.chart(bounds(0.05), &mut |_| {}).unwrap();
    let chart = Chart::new(session.model(), &graph, session.about());
    let page = html(&chart);
    parses(&page);
    parses(&svg(&chart));
    parses(&sheet(&chart));
    dot_holds_together(&dot(&chart));
    for form in
        [markdown(&chart), json(&chart).to_string(), page.clone(), sheet(&chart), svg(&chart), dot(&chart)]
    {
        let words: Vec<&str> = chart.notice[0].split_whitespace().take(3).collect();
        assert!(form.contains(&words.join(" ")), "no notice");
    }
    for (card, node) in chart.cards.iter().zip(graph.graph.node_weights()) {
        let terms = match &node.deed {
            Deed::Take(Step::Test(at)) => &session.model().tests[at.at()].terms,
            Deed::Take(Step::Fix(at)) => &session.model().fixes[at.at()].terms,
            Deed::Take(Step::Enter(at)) => &session.model().practice.work_states[at.at()].enter,
            _ => continue,
        };
        for hazard in &terms.hazards {
            let caution = &session.model().practice.hazards[hazard.at()].caution;
            assert!(card.cautions.iter().any(|one| one.text == *caution));
        }
        let (_, section) = page.split_once(&format!("<section id=\"c{}\"", card.number)).unwrap();
        if let (Some(caution), Some(step)) =
            (section.find("class=\"caution\""), section.find("class=\"small\""))
        {
            assert!(card.cautions.is_empty() || caution < step);
        }
    }
}

#[test]
fn the_command_writes_a_plan_and_names_what_is_near() {
    let out = Run::new().args(["chart", "VFD-3/bus-lost", "--cut", "0.2", "--json"]).go().status(0);
    let value = out.json();
    assert_eq!(value["format"], 1);
    assert!(value["nodes"].as_array().unwrap().len() > 1);
    Run::new().args(["chart", "VFD-3/buslost"]).go().status(2).stderr_has("VFD-3/bus-lost");
    Run::new().args(["chart", "VFD-3/bus-lost", "--cut", "2"]).go().status(2).stderr_has("no probability");
}
