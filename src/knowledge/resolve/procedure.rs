//! The steps of procedures: which component each is of, which steps it names, which findings it raises.

use std::collections::BTreeMap;

use petgraph::algo::tarjan_scc;
use petgraph::graph::DiGraph;

use super::find::Wanted;
use super::kinds::again;
use super::{Reference, Resolver};
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::decode::{ProcedureDraft, StepDraft};
use crate::knowledge::{Name, Procedure, ProcedureStep, StepRef};
use crate::source::Spanned;

/// Expressions of a step that wait to be checked.
pub(in crate::knowledge) struct StepExpressions {
    pub(in crate::knowledge) when: Option<Spanned<String>>,
    pub(in crate::knowledge) value: Option<Spanned<String>>,
}

/// Which step has which number and component.
type Known = BTreeMap<String, (usize, Option<usize>)>;

impl Resolver<'_> {
    /// All steps, by package, then in the order of their files.
    pub(super) fn procedure(&mut self, mut drafts: Vec<ProcedureDraft>) -> (Procedure, Vec<StepExpressions>) {
        drafts.sort_by_key(|draft| draft.package);
        let mut procedure = Procedure::default();
        if let Some(title) = drafts.iter().rev().find_map(|draft| draft.title.as_ref()) {
            procedure.title.clone_from(&title.value);
        }
        let mut known = Known::new();
        let mut first: BTreeMap<String, Name> = BTreeMap::new();
        let mut unique: Vec<StepDraft> = Vec::new();
        for step in drafts.into_iter().flat_map(|draft| draft.steps) {
            if let Some(first) = first.get(&step.id.value) {
                self.problems.push(again(&step.id, first.span, "the step"));
                continue;
            }
            let of = step.of.as_ref().and_then(|of| self.component_of(of));
            first.insert(step.id.value.clone(), step.id.clone());
            known.insert(step.id.value.clone(), (unique.len(), of));
            unique.push(step);
        }
        let mut expressions = Vec::with_capacity(unique.len());
        for step in unique {
            let (resolved, pending) = self.step(step, &known);
            procedure.steps.push(resolved);
            expressions.push(pending);
        }
        self.rings(&procedure);
        (procedure, expressions)
    }

    fn component_of(&mut self, of: &Name) -> Option<usize> {
        let at = self.by_id.get(&of.value).copied();
        if at.is_none() && !self.incomplete {
            let problem = Diagnostic::new(
                Code::DanglingReference,
                of.span,
                format!("there is no component `{}`", of.value),
            )
            .nearest(&of.value, self.by_id.keys().map(String::as_str));
            self.problems.push(problem);
        }
        at
    }

    fn step(&mut self, draft: StepDraft, known: &Known) -> (ProcedureStep, StepExpressions) {
        let of = known.get(&draft.id.value).and_then(|entry| entry.1);
        let mut refs = |names: &[Name]| -> Vec<StepRef> {
            names.iter().filter_map(|name| self.step_ref(of, name, known)).collect()
        };
        let (after, gate_for) = (refs(&draft.after), refs(&draft.gate_for));
        let (holds_until, redo) = (refs(&draft.holds_until), refs(&draft.redo));
        let puts_back = refs(&draft.puts_back);
        let mut raises = Vec::new();
        for (outcome, finding, shown) in draft.raises {
            let Some(at) = of else {
                let problem =
                    Diagnostic::new(Code::WrongKind, finding.span, "a step of the whole job raises nothing")
                        .why("a finding is one of some unit")
                        .help("say of which component the step is: `of: drive`");
                self.problems.push(problem);
                continue;
            };
            let Some(found) = self.find(at, &finding, Wanted::Finding) else { continue };
            let Some((name, shown)) = self.needed(&found, shown) else { continue };
            raises.push((outcome, Reference { via: found.via, name, span: finding.span }, shown));
        }
        let pending = StepExpressions { when: draft.when, value: draft.value };
        let step = ProcedureStep {
            id: draft.id,
            of,
            when: None,
            act: draft.act,
            say: draft.say,
            how: draft.how,
            expect: draft.expect,
            reading: draft.reading,
            outcomes: draft.outcomes,
            proves: draft.proves,
            after,
            gate_for,
            energises: draft.energises,
            holds_until,
            reached_by: draft.reached_by,
            again: draft.again,
            redo,
            raises,
            puts_back,
            baseline: draft.baseline,
            walks: draft.walks,
            expects: draft.expects,
            danger: draft.danger,
            terms: draft.terms,
            sources: draft.sources,
        };
        (step, pending)
    }

    /// `step`, or `relation/step` for the units that a relation reaches.
    fn step_ref(&mut self, of: Option<usize>, name: &Name, known: &Known) -> Option<StepRef> {
        let (relation, step) = name.value.split_once('/').map_or((None, &*name.value), |(r, s)| (Some(r), s));
        let Some(&(at, of_step)) = known.get(step) else {
            if !self.incomplete {
                let problem =
                    Diagnostic::new(Code::DanglingReference, name.span, format!("there is no step `{step}`"))
                        .nearest(step, known.keys().map(String::as_str));
                self.problems.push(problem);
            }
            return None;
        };
        let Some(relation) = relation else { return Some(StepRef { relation: None, step: at }) };
        let relations = of.map_or_else(Vec::new, |of| self.drafts[of].component.relations.clone());
        let found = relations.iter().position(|other| other.id.value == relation);
        if found.is_none() {
            let message = format!("`{relation}` is no relation of the component of this step");
            let problem = Diagnostic::new(Code::DanglingReference, name.span, message)
                .nearest(relation, relations.iter().map(|other| other.id.value.as_str()));
            self.problems.push(problem);
        }
        if let (Some(found), Some(of_step)) = (found, of_step)
            && !relations[found].components.contains(&of_step)
        {
            let message = format!("`{relation}` reaches no unit that has the step `{step}`");
            let kind = &self.drafts[of_step].component.id.value;
            let problem = Diagnostic::new(Code::WrongKind, name.span, message)
                .why(format!("`{step}` is a step of `{kind}`"))
                .help(format!("name a relation to `{kind}`, or `{step}` alone: that of every unit"));
            self.problems.push(problem);
        }
        found.map(|relation| StepRef { relation: Some(relation), step: at })
    }

    /// Steps that in the end wait for themselves.
    fn rings(&mut self, procedure: &Procedure) {
        let mut graph: DiGraph<usize, ()> = DiGraph::new();
        let nodes: Vec<_> = (0..procedure.steps.len()).map(|at| graph.add_node(at)).collect();
        for (at, step) in procedure.steps.iter().enumerate() {
            for before in &step.after {
                graph.add_edge(nodes[before.step], nodes[at], ());
            }
            for later in step.gate_for.iter().chain(&step.holds_until) {
                graph.add_edge(nodes[at], nodes[later.step], ());
            }
        }
        for ring in tarjan_scc(&graph) {
            let turns = ring.len() > 1 || ring.iter().any(|&node| graph.contains_edge(node, node));
            let mut steps: Vec<usize> = ring.into_iter().map(|node| graph[node]).collect();
            steps.sort_unstable();
            let Some(first) = steps.first().filter(|_| turns).map(|&at| &procedure.steps[at].id) else {
                continue;
            };
            let names = steps.iter().map(|&at| format!("`{}`", procedure.steps[at].id.value));
            let problem =
                Diagnostic::new(Code::Cycle, first.span, "these steps wait for one another in a ring")
                    .why(format!("{} can never begin", names.collect::<Vec<_>>().join(", ")))
                    .help("take one of `after`, `gate-for` or `holds-until` out");
            self.problems.push(problem);
        }
    }
}
