//! The structure of a model as a graph: causes, conditions, findings, tests and fixes, without their numbers.
//!
//! Links with chance 0 are no links here. Definitions: a cause *reaches* a finding if a path of shows, brings and leads
//! runs from one to the other; two items are *connected* if they are, links taken without direction, in one part.

use petgraph::Direction;
use petgraph::algo::tarjan_scc;
use petgraph::graph::{DiGraph, NodeIndex};
use petgraph::unionfind::UnionFind;
use petgraph::visit::{Dfs, EdgeFiltered, EdgeRef, Reversed};

use super::catalog::Model;
use super::index::{CauseIx, ConditionIx, FindingIx, FixIx, TestIx};
use super::network::Source;

/// An item of a model.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Node {
    /// A cause.
    Cause(CauseIx),
    /// A condition.
    Condition(ConditionIx),
    /// A finding.
    Finding(FindingIx),
    /// A test.
    Test(TestIx),
    /// A fix.
    Fix(FixIx),
}

/// How one item bears on another.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Link {
    /// A cause or a condition shows a finding.
    Shows,
    /// A cause or a condition brings about a condition.
    Brings,
    /// A cause leads to a cause.
    Leads,
    /// A test gives a finding.
    Gives,
    /// A test makes sense only after a finding.
    Needs,
    /// A fix removes a cause.
    Removes,
}

impl Link {
    /// Whether the link is part of the story (not of what people do about it).
    #[must_use]
    pub const fn is_story(self) -> bool {
        matches!(self, Self::Shows | Self::Brings | Self::Leads)
    }
}

/// The structure of a model.
#[derive(Clone, Debug)]
pub struct Graph {
    graph: DiGraph<Node, Link>,
    /// First nodes of conditions, findings, tests and fixes; causes begin at 0.
    starts: [usize; 4],
}

impl Graph {
    /// The graph of `model`. Cost: linear in items and links.
    #[must_use]
    pub fn new(model: &Model) -> Self {
        let network = &model.network;
        let conditions = network.causes();
        let findings = conditions + network.conditions();
        let tests = findings + network.findings();
        let fixes = tests + model.tests.len();
        let mut this = Self { graph: DiGraph::new(), starts: [conditions, findings, tests, fixes] };
        let nodes = (0..network.causes())
            .map(|at| Node::Cause(CauseIx::new(at)))
            .chain((0..network.conditions()).map(|at| Node::Condition(ConditionIx::new(at))))
            .chain((0..network.findings()).map(|at| Node::Finding(FindingIx::new(at))))
            .chain((0..model.tests.len()).map(|at| Node::Test(TestIx::new(at))))
            .chain((0..network.fixes()).map(|at| Node::Fix(FixIx::new(at))));
        nodes.for_each(|node| {
            this.graph.add_node(node);
        });
        for slot in 0..network.sources() {
            let source = network.source(slot);
            let from = match source {
                Source::Cause(cause) => Node::Cause(cause),
                Source::Condition(condition) => Node::Condition(condition),
            };
            for (finding, chances) in network.shows(source) {
                if chances[1..].iter().any(|&chance| chance > 0.0) {
                    this.link(from, Node::Finding(finding), Link::Shows);
                }
            }
            for &(condition, chance) in network.brings(source) {
                if chance > 0.0 {
                    this.link(from, Node::Condition(condition), Link::Brings);
                }
            }
            if let Source::Cause(leader) = source {
                for &(led, chance) in network.leads(leader) {
                    if chance > 0.0 {
                        this.link(from, Node::Cause(led), Link::Leads);
                    }
                }
            }
        }
        for (at, test) in model.tests.iter().enumerate() {
            let test_node = Node::Test(TestIx::new(at));
            for gives in &test.gives {
                this.link(test_node, Node::Finding(gives.finding), Link::Gives);
            }
            for &(finding, _) in &test.needs {
                this.link(Node::Finding(finding), test_node, Link::Needs);
            }
        }
        for fix in (0..network.fixes()).map(FixIx::new) {
            for &(cause, chance) in network.removes(fix) {
                if chance > 0.0 {
                    this.link(Node::Fix(fix), Node::Cause(cause), Link::Removes);
                }
            }
        }
        this
    }

    fn link(&mut self, from: Node, to: Node, link: Link) {
        let (from, to) = (self.at(from), self.at(to));
        self.graph.update_edge(from, to, link);
    }

    fn at(&self, node: Node) -> NodeIndex {
        let [conditions, findings, tests, fixes] = self.starts;
        NodeIndex::new(match node {
            Node::Cause(ix) => ix.at(),
            Node::Condition(ix) => conditions + ix.at(),
            Node::Finding(ix) => findings + ix.at(),
            Node::Test(ix) => tests + ix.at(),
            Node::Fix(ix) => fixes + ix.at(),
        })
    }

    /// The graph itself, for walks that are not offered here.
    #[must_use]
    pub fn as_petgraph(&self) -> &DiGraph<Node, Link> {
        &self.graph
    }

    /// The items that `node` bears on directly, with how, in the order of items.
    #[must_use]
    pub fn links_from(&self, node: Node) -> Vec<(Link, Node)> {
        let mut links: Vec<_> =
            self.graph.edges(self.at(node)).map(|edge| (*edge.weight(), self.graph[edge.target()])).collect();
        links.sort_unstable();
        links
    }

    /// The items that bear on `node` directly, with how, in the order of items.
    #[must_use]
    pub fn links_to(&self, node: Node) -> Vec<(Link, Node)> {
        let edges = self.graph.edges_directed(self.at(node), Direction::Incoming);
        let mut links: Vec<_> = edges.map(|edge| (*edge.weight(), self.graph[edge.source()])).collect();
        links.sort_unstable();
        links
    }

    /// The findings that a cause can bring about, directly or through conditions and other causes, ascending.
    ///
    /// Cost: linear in what is reached.
    #[must_use]
    pub fn findings_of(&self, cause: CauseIx) -> Vec<FindingIx> {
        let story = EdgeFiltered::from_fn(&self.graph, |edge| edge.weight().is_story());
        let mut walk = Dfs::new(&story, self.at(Node::Cause(cause)));
        let mut found = Vec::new();
        while let Some(at) = walk.next(&story) {
            if let Node::Finding(finding) = self.graph[at] {
                found.push(finding);
            }
        }
        found.sort_unstable();
        found
    }

    /// The causes that can bring a finding about, ascending.
    ///
    /// Cost: linear in what is reached.
    #[must_use]
    pub fn causes_of(&self, finding: FindingIx) -> Vec<CauseIx> {
        let story = EdgeFiltered::from_fn(&self.graph, |edge| edge.weight().is_story());
        let back = Reversed(&story);
        let mut walk = Dfs::new(&back, self.at(Node::Finding(finding)));
        let mut found = Vec::new();
        while let Some(at) = walk.next(&back) {
            if let Node::Cause(cause) = self.graph[at] {
                found.push(cause);
            }
        }
        found.sort_unstable();
        found
    }

    /// Causes, conditions and findings in parts that no link of the story connects; each part ascending, the parts by
    /// their first item.
    ///
    /// Cost: close to linear (union–find).
    #[must_use]
    pub fn parts(&self) -> Vec<Vec<Node>> {
        let mut joined = UnionFind::<usize>::new(self.graph.node_count());
        for edge in self.graph.edge_references().filter(|edge| edge.weight().is_story()) {
            joined.union(edge.source().index(), edge.target().index());
        }
        let story_nodes = self.starts[2];
        let mut part_of: std::collections::BTreeMap<usize, usize> = std::collections::BTreeMap::new();
        let mut parts: Vec<Vec<Node>> = Vec::new();
        for (at, root) in joined.into_labeling().into_iter().enumerate().take(story_nodes) {
            let part = *part_of.entry(root).or_insert_with(|| {
                parts.push(Vec::new());
                parts.len() - 1
            });
            parts[part].push(self.graph[NodeIndex::new(at)]);
        }
        parts
    }

    /// The circles among the links that `counts`, as sets of items, each ascending. A compiled model has none among
    /// brings, leads or needs.
    #[must_use]
    pub fn circles(&self, counts: impl Fn(Link) -> bool) -> Vec<Vec<Node>> {
        let filtered = EdgeFiltered::from_fn(&self.graph, |edge| counts(*edge.weight()));
        let mut circles: Vec<Vec<Node>> = tarjan_scc(&filtered)
            .into_iter()
            .filter(|knot| {
                knot.len() > 1
                    || self.graph.edges_connecting(knot[0], knot[0]).any(|edge| counts(*edge.weight()))
            })
            .map(|knot| {
                let mut nodes: Vec<Node> = knot.into_iter().map(|at| self.graph[at]).collect();
                nodes.sort_unstable();
                nodes
            })
            .collect();
        circles.sort_unstable();
        circles
    }
}
