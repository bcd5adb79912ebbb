//! Rings: of conditions, of causes that lead to one another, and of needs, within one unit or among what the job has
//! once. Rings through several units are looked for when the units are known.

use petgraph::algo::tarjan_scc;
use petgraph::graph::{DiGraph, NodeIndex};
use std::collections::BTreeMap;

use super::targets::{Thing, targets};
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::{Component, Item, Knowledge, Reference, Via};
use crate::source::Span;

/// A graph of things, each edge with the place where it is written.
#[derive(Default)]
struct Graph {
    graph: DiGraph<(Thing, String), Span>,
    nodes: BTreeMap<Thing, NodeIndex>,
}

impl Graph {
    fn edge(&mut self, from: (Thing, &str), to: (Thing, &str), span: Span) {
        let [from, to] = [from, to].map(|(thing, name)| {
            *self.nodes.entry(thing).or_insert_with(|| self.graph.add_node((thing, name.to_owned())))
        });
        self.graph.add_edge(from, to, span);
    }

    /// Reports each ring once, at the edge that is written first.
    fn rings(&self, what: &str, why: &str, problems: &mut Vec<Diagnostic>) {
        for ring in tarjan_scc(&self.graph) {
            let within = |node: NodeIndex| ring.contains(&node);
            let mut edges: Vec<(Span, NodeIndex, NodeIndex)> = Vec::new();
            for &node in &ring {
                for to in self.graph.neighbors(node).filter(|&to| within(to)) {
                    let written =
                        self.graph.find_edge(node, to).and_then(|edge| self.graph.edge_weight(edge));
                    edges.extend(written.map(|&span| (span, node, to)));
                }
            }
            edges.sort_unstable();
            edges.dedup();
            let Some(&(span, from, to)) = edges.first() else { continue };
            let name = |node: NodeIndex| format!("`{}`", self.graph[node].1);
            let mut problem = Diagnostic::new(Code::Cycle, span, format!("{what} in a ring"))
                .label(format!("from {} to {}", name(from), name(to)))
                .why(why)
                .help("take one of the links out");
            for &(span, from, to) in edges.iter().skip(1).take(4) {
                problem = problem.also_at(span, format!("from {} to {}", name(from), name(to)));
            }
            problems.push(problem);
        }
    }
}

pub(super) fn check(knowledge: &Knowledge, problems: &mut Vec<Diagnostic>) {
    let mut leads = Graph::default();
    let mut needs = Graph::default();
    for (at, component) in knowledge.components.iter().enumerate() {
        let inside = |reference: &Reference| match reference.via {
            Via::Same => true,
            Via::Once(_) => component.each.is_none(),
            Via::Relation(_) => false,
        };
        for link in component.leads.iter().filter(|link| inside(&link.from) && inside(&link.to)) {
            let span = if link.to.via == Via::Same { link.from.span.max(link.to.span) } else { link.to.span };
            for source in targets(knowledge, at, &link.from) {
                for target in targets(knowledge, at, &link.to) {
                    leads.edge((source, &link.from.name), (target, &link.to.name), span);
                }
            }
        }
        for (owner, finding) in needed_by(component).into_iter().filter(|(_, finding)| inside(finding)) {
            let own = &component.tests[owner];
            for (target, item) in targets(knowledge, at, finding) {
                let thing = match item {
                    Item::Given(test, _) => (target, Item::Given(test, 0)),
                    other => (target, other),
                };
                needs.edge(
                    ((at, Item::Given(owner, 0)), &own.id.value),
                    (thing, &finding.name),
                    finding.span,
                );
            }
        }
    }
    leads.rings(
        "these bring one another about",
        "a cause or condition that in the end brings itself about has no beginning",
        problems,
    );
    needs.rings(
        "these tests need one another",
        "a test that in the end needs its own result can never be asked",
        problems,
    );
}

fn needed_by(component: &Component) -> Vec<(usize, &Reference)> {
    let tests = component.tests.iter().enumerate();
    tests.flat_map(|(at, test)| test.needs.iter().map(move |(finding, _)| (at, finding))).collect()
}
