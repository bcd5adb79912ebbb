//! The procedure laid out over a site: an instance per unit, gates as positions, in an order that keeps them first.
//!
//! Order: topological over the dependency graph; of steps that are free at the same time, the one that stands first in
//! the package, then that of the unit that stands first on the sheet (Kahn 1962, with a priority). A step that a unit
//! does not have (`when`), or of which the job has no unit, passes its gates on to those that wait for it.

use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap};

use petgraph::Direction;
use petgraph::graph::{DiGraph, NodeIndex};
use petgraph::visit::{Dfs, Reversed};

use super::practice::{Whereabouts, terms};
use super::site::Site;
use super::story::{Story, items};
use crate::knowledge::{Knowledge, ProcedureStep, StepRef, Text};
use crate::model::catalog::Finding;
use crate::model::index::{FindingIx, UnitIx, WorkStateIx};
use crate::model::practice::{Practice, Terms};
use crate::model::procedure::{Procedure, Step};
use crate::quantity::{Evaluated, Value};

/// The first half of the ids of steps that the job has once.
const ONCE: &str = "power-up";

/// The work state of that id, where whoever may enter it may take a step of these terms as well.
fn reached_by(practice: &Practice, id: &str, terms: &Terms) -> Option<WorkStateIx> {
    let at = practice.work_states.iter().position(|state| state.id == id)?;
    let enter = &practice.work_states[at].enter;
    let may = practice.competences[enter.competence.at()].covers.has(terms.competence.at())
        && terms.instruments.within(enter.instruments);
    may.then(|| WorkStateIx::new(at))
}

struct Layout<'a> {
    site: &'a Site<'a>,
    steps: &'a [ProcedureStep],
    /// Every possible step: its number in the package, and the instance of its component.
    all: Vec<(usize, Option<usize>)>,
    /// Whether the unit has it.
    there: Vec<bool>,
    graph: DiGraph<usize, ()>,
}

/// The procedure of a site.
pub(super) fn procedure(
    knowledge: &Knowledge,
    site: &Site<'_>,
    story: &Story,
    findings: &[Finding],
    practice: &Practice,
) -> Procedure {
    let steps = &knowledge.procedure.steps;
    let mut layout = Layout { site, steps, all: Vec::new(), there: Vec::new(), graph: DiGraph::new() };
    for (number, step) in steps.iter().enumerate() {
        match step.of {
            None => layout.add(number, None),
            Some(of) => {
                let is = |at: &usize| std::ptr::eq(site.instances[*at].component, &knowledge.components[of]);
                let instances: Vec<usize> = (0..site.instances.len()).filter(is).collect();
                instances.iter().for_each(|&at| layout.add(number, Some(at)));
                if instances.is_empty() {
                    layout.missing(number);
                }
            }
        }
    }
    layout.edges();
    let order = layout.order();
    let mut position = vec![None; layout.all.len()];
    let present: Vec<usize> = order.into_iter().filter(|&at| layout.there[at]).collect();
    for (at, &node) in present.iter().enumerate() {
        position[node] = Some(at);
    }
    let steps = present.iter().map(|&node| layout.step(node, &position, story, findings, practice)).collect();
    Procedure { title: knowledge.procedure.title.clone(), steps }
}

impl Layout<'_> {
    fn add(&mut self, number: usize, instance: Option<usize>) {
        let at = self.all.len();
        self.all.push((number, instance));
        let when = self.steps[number].when.as_ref();
        let fact = |name: &str| match (instance, name) {
            (Some(at), name) => self.site.fact(at, name),
            (None, "stage") => Some(Value::Text(self.site.stage.id().to_owned())),
            (None, _) => None,
        };
        let excluded = when
            .is_some_and(|when| matches!(when.value.evaluate(&fact), Evaluated::Known(Value::Truth(false))));
        self.there.push(!excluded);
        let _ = self.graph.add_node(at);
    }

    /// A step of a component of which the job has no unit: it passes its gates on.
    fn missing(&mut self, number: usize) {
        self.graph.add_node(self.all.len());
        self.all.push((number, None));
        self.there.push(false);
    }

    /// The instances that a step names; where a relation reaches no unit, those of every unit.
    fn named(&self, own: Option<usize>, reference: &StepRef) -> Vec<usize> {
        let of_step = (0..self.all.len()).filter(|&at| self.all[at].0 == reference.step);
        let component = |at: usize| &*self.site.instances[at].component.id.value;
        match (reference.relation, own) {
            (Some(relation), Some(own)) => {
                let reached = self.site.reached(own, crate::knowledge::Via::Relation(relation));
                let (related, others): (Vec<usize>, Vec<usize>) =
                    of_step.partition(|&at| self.all[at].1.is_some_and(|of| reached.contains(&of)));
                if related.is_empty() { others } else { related }
            }
            (None, Some(own)) => {
                let all: Vec<usize> = of_step.collect();
                let same = |&at: &usize| self.all[at].1.is_some_and(|of| component(of) == component(own));
                if all.iter().any(same) {
                    all.into_iter().filter(|&at| self.all[at].1 == Some(own)).collect()
                } else {
                    all
                }
            }
            _ => of_step.collect(),
        }
    }

    fn edges(&mut self) {
        let mut edges = BTreeSet::new();
        for at in 0..self.all.len() {
            let (number, own) = self.all[at];
            let step = &self.steps[number];
            for before in step.after.iter().flat_map(|reference| self.named(own, reference)) {
                edges.insert((before, at));
            }
            let later = step.gate_for.iter().chain(&step.holds_until);
            for later in later.flat_map(|reference| self.named(own, reference)) {
                edges.insert((at, later));
            }
        }
        for (from, to) in edges {
            self.graph.add_edge(NodeIndex::new(from), NodeIndex::new(to), ());
        }
    }

    /// All steps, each after its gates.
    fn order(&self) -> Vec<usize> {
        let mut waits: Vec<usize> = (0..self.all.len())
            .map(|at| self.graph.neighbors_directed(NodeIndex::new(at), Direction::Incoming).count())
            .collect();
        let mut free: BinaryHeap<Reverse<usize>> =
            (0..self.all.len()).filter(|&at| waits[at] == 0).map(Reverse).collect();
        let mut order = Vec::with_capacity(self.all.len());
        while let Some(Reverse(at)) = free.pop() {
            order.push(at);
            for next in self.graph.neighbors(NodeIndex::new(at)) {
                waits[next.index()] -= 1;
                if waits[next.index()] == 0 {
                    free.push(Reverse(next.index()));
                }
            }
        }
        order
    }

    /// The gates of a step, through those that the unit does not have.
    fn gates(&self, node: usize, position: &[Option<usize>], found: &mut BTreeSet<usize>) {
        for before in self.graph.neighbors_directed(NodeIndex::new(node), Direction::Incoming) {
            match position[before.index()] {
                Some(at) => {
                    found.insert(at);
                }
                None => self.gates(before.index(), position, found),
            }
        }
    }

    /// What lies between the steps named and this one, both included.
    fn between(&self, node: usize, from: &[usize]) -> BTreeSet<usize> {
        let mut before = BTreeSet::new();
        let backwards = Reversed(&self.graph);
        let mut walk = Dfs::new(backwards, NodeIndex::new(node));
        while let Some(next) = walk.next(backwards) {
            before.insert(next.index());
        }
        let mut after = BTreeSet::from([node]);
        for &start in from {
            let mut walk = Dfs::new(&self.graph, NodeIndex::new(start));
            while let Some(next) = walk.next(&self.graph) {
                after.insert(next.index());
            }
        }
        before.intersection(&after).copied().collect()
    }

    fn step(
        &self,
        node: usize,
        position: &[Option<usize>],
        story: &Story,
        findings: &[Finding],
        practice: &Practice,
    ) -> Step {
        let (number, own) = self.all[node];
        let from = &self.steps[number];
        let fill = |text: &Text| own.map_or_else(|| text.value.clone(), |at| self.site.fill(at, text));
        let positions = |references: &[StepRef]| -> Vec<usize> {
            let named = references.iter().flat_map(|reference| self.named(own, reference));
            named.filter_map(|at| position[at]).collect()
        };
        let mut gates = BTreeSet::new();
        self.gates(node, position, &mut gates);
        let real = |at: &usize| {
            let step = &self.steps[self.all[*at].0];
            let ends = self
                .steps
                .iter()
                .any(|other| other.holds_until.iter().any(|until| until.step == self.all[*at].0));
            step.energises || !step.holds_until.is_empty() || ends
        };
        let start: Vec<usize> = from.redo.iter().flat_map(|reference| self.named(own, reference)).collect();
        let redo =
            self.between(node, &start).into_iter().filter(real).filter_map(|at| position[at]).collect();
        let terms_of = |whereabouts| {
            terms(&from.terms, practice, whereabouts, &|texts| texts.iter().map(&fill).collect())
        };
        let said = own.and_then(|at| self.site.instances[at].unit).map(|unit| &self.site.units[unit].said);
        let whereabouts = said.map_or(Whereabouts::PANEL, |said| Whereabouts {
            place: said.place.as_deref(),
            inside: said.inside.as_deref(),
            read_at: None,
        });
        let raises = |outcome: &str| -> Vec<(FindingIx, usize)> {
            let mut raised = Vec::new();
            for (_, reference, shown) in from.raises.iter().filter(|raise| raise.0.value == outcome) {
                for (instance, item) in own.into_iter().flat_map(|at| items(self.site, at, reference)) {
                    let Some(finding) = story.indices[instance].finding(item) else { continue };
                    let outcomes = &findings[finding.at()].outcomes;
                    raised.extend(outcomes.iter().position(|o| *o == shown.value).map(|at| (finding, at)));
                }
            }
            raised
        };
        let proves = |outcome: &str| {
            let text = from.proves.iter().find(|(of, _)| of.value == outcome);
            text.map_or_else(String::new, |(_, text)| fill(text))
        };
        let terms = terms_of(whereabouts);
        Step {
            id: format!("{}/{}", own.map_or(ONCE, |at| &*self.site.instances[at].id), from.id.value),
            kind: from.id.value.clone(),
            unit: own.and_then(|at| self.site.instances[at].unit).map(UnitIx::new),
            act: from.act,
            say: fill(&from.say),
            how: from.how.iter().map(&fill).collect(),
            expect: from.expect.as_ref().map_or_else(String::new, &fill),
            reading: from.reading.as_ref().map(|reading| (reading.measured_in.clone(), reading.count)),
            scale: from.reading.as_ref().map(|reading| {
                let value = reading.value.as_ref().map(|value| value.value.clone());
                let (mut facts, mut unknown) = (Vec::new(), Vec::new());
                let names = value.iter().flat_map(|value| value.names());
                for name in names.filter(|name| !matches!(name.as_str(), "reading" | "readings")) {
                    let Some(at) = own else { continue };
                    if let Some(value) = self.site.fact(at, name) {
                        facts.push((name.clone(), value));
                    } else if let Some((owner, key)) = name.split_once('.')
                        && let Some(unit) = self.site.owner(at, owner)
                    {
                        unknown.push((UnitIx::new(unit), key.to_owned()));
                    }
                }
                Step::scale(value, facts, unknown, reading.bands.clone())
            }),
            outcomes: from.outcomes.iter().map(|outcome| outcome.value.clone()).collect(),
            proves: from.outcomes.iter().map(|outcome| proves(&outcome.value)).collect(),
            raises: from.outcomes.iter().map(|outcome| raises(&outcome.value)).collect(),
            danger: from.danger.as_ref().map_or_else(String::new, &fill),
            gates: gates.into_iter().collect(),
            energises: from.energises,
            holds: !from.holds_until.is_empty(),
            until: positions(&from.holds_until),
            reached_by: from.reached_by.as_ref().and_then(|id| reached_by(practice, &id.value, &terms)),
            again: from.again.as_ref().map_or_else(String::new, &fill),
            redo,
            puts_back: positions(&from.puts_back),
            baseline: from.baseline,
            walks: from.walks,
            expects: from.expects.iter().map(|(carries, text)| (*carries, fill(text))).collect(),
            terms,
            sources: super::steps::shown(&from.sources),
        }
    }
}
