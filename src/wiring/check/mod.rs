//! Mistakes in the wire list itself, found before anybody touches a wire.
//!
//! In: a [`WireList`]. Out: diagnostics, in the order of the sheet. One file per rule. Invariants: a job without wires has
//! no list and nothing is said; each rule looks at terminals whose row is known; a mistake is told once, at the wire where
//! it stands.
//!
//! Cost: linear in wires, but for pairs of terminals within one potential.

mod bus;
mod capacity;
mod contact;
mod count;
mod dead_end;
mod earth;
mod kinds;
mod legs;
mod made;
mod pairs;
mod partner;
mod poles;
mod rows;
mod sides;
mod unknown;
mod volts;

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::list::WireList;
use crate::diagnostic::{Code, Diagnostic, ENOUGH, too_many};
use crate::job::Job;
use crate::knowledge::{Knowledge, TerminalRole};
use crate::source::Span;

/// All mistakes of the wire list of a job, by position; none where it has no wires.
#[must_use]
pub fn check(knowledge: &Knowledge, job: &Job) -> Vec<Diagnostic> {
    if job.wires.is_empty() {
        return Vec::new();
    }
    let list = WireList::new(knowledge, job);
    let mut problems = Vec::new();
    let rules: [fn(&WireList<'_>, &mut Vec<Diagnostic>); 16] = [
        unknown::check,
        sides::check,
        legs::check,
        poles::check,
        kinds::check,
        rows::check,
        earth::check,
        partner::check,
        pairs::check,
        contact::check,
        bus::check,
        count::check,
        volts::check,
        capacity::check,
        made::check,
        dead_end::check,
    ];
    for rule in rules {
        rule(&list, &mut problems);
        if problems.len() >= ENOUGH {
            break;
        }
    }
    problems.sort_by_cached_key(Diagnostic::order);
    let mut seen = BTreeSet::new();
    problems.retain(|problem| seen.insert(problem.order()));
    if problems.len() > ENOUGH {
        problems.truncate(ENOUGH);
        let last = problems.iter().rev().find_map(|problem| problem.primary.as_ref());
        problems.extend(last.map(|label| too_many(label.span)));
    }
    problems
}

/// A terminal of a known row.
#[derive(Clone, Copy)]
pub(super) struct Known<'a> {
    pub(super) at: usize,
    pub(super) unit: usize,
    pub(super) role: &'a TerminalRole,
}

impl<'a> WireList<'a> {
    /// The terminals of a potential whose row is known.
    pub(super) fn known(&self, potential: usize) -> Vec<Known<'a>> {
        let known = |&at: &usize| Some(Known { at, unit: self.terminals[at].unit?, role: self.role(at)? });
        self.potentials[potential].iter().filter_map(known).collect()
    }

    pub(super) fn potentials_known(&self) -> impl Iterator<Item = Vec<Known<'a>>> + '_ {
        (0..self.potentials.len()).map(|potential| self.known(potential))
    }

    /// Wires from one terminal to another of its potential, by breadth.
    pub(super) fn path(&self, from: usize, to: usize) -> Vec<usize> {
        let mut beside: BTreeMap<usize, Vec<(usize, usize)>> = BTreeMap::new();
        for (at, wire, [a, b]) in self.wires() {
            if wire.through.is_empty() && self.terminals[a].potential == self.terminals[from].potential {
                beside.entry(a).or_default().push((b, at));
                beside.entry(b).or_default().push((a, at));
            }
        }
        let mut came: BTreeMap<usize, (usize, usize)> = BTreeMap::new();
        let mut open = VecDeque::from([from]);
        while let Some(at) = open.pop_front() {
            if at == to {
                break;
            }
            for &(next, wire) in beside.get(&at).map_or(&[][..], Vec::as_slice) {
                if next != from && !came.contains_key(&next) {
                    came.insert(next, (at, wire));
                    open.push_back(next);
                }
            }
        }
        let (mut path, mut at) = (Vec::new(), to);
        while let Some(&(before, wire)) = came.get(&at) {
            path.push(wire);
            at = before;
        }
        path.reverse();
        path
    }

    /// Where a wire is landed on a terminal.
    pub(super) fn landed(&self, wire: usize, terminal: usize) -> Option<Span> {
        let end = self.ends[wire].iter().position(|&end| end == terminal)?;
        self.job.wires[wire].spans.map(|spans| spans.ends[end])
    }

    /// A problem of a terminal.
    pub(super) fn at(&self, code: Code, terminal: usize, words: impl Into<String>) -> Diagnostic {
        place(code, self.terminals[terminal].span, words)
    }

    /// A problem of two terminals that are joined: told at the first, with the second and the way between them.
    pub(super) fn between(&self, code: Code, a: usize, b: usize, words: impl Into<String>) -> Diagnostic {
        let path = self.path(a, b);
        let first = path.first().and_then(|&wire| self.landed(wire, a)).or(self.terminals[a].span);
        let mut problem = place(code, first, words);
        if let Some(span) = path.last().and_then(|&wire| self.landed(wire, b)) {
            problem = problem.also_at(span, format!("joined to `{}`", self.label(b)));
        }
        let mut via: Vec<String> = Vec::new();
        let mut at = a;
        for &wire in &path {
            let [from, to] = self.ends[wire];
            at = if from == at { to } else { from };
            if at != b {
                via.push(format!("`{}`", self.label(at)));
            }
        }
        if via.is_empty() {
            problem
        } else {
            problem.why(format!("they are joined by way of {}", via.join(", ")))
        }
    }

    /// A problem of a unit.
    pub(super) fn at_unit(&self, code: Code, unit: usize, words: impl Into<String>) -> Diagnostic {
        place(code, self.job.units[unit].span.or(self.job.wires_at), words)
    }

    /// The units of which something is known, with their rows.
    pub(super) fn units(&self) -> impl Iterator<Item = (usize, &'a [TerminalRole])> + '_ {
        self.job.units.iter().enumerate().filter_map(|(at, unit)| {
            let terminals = self.component(unit)?.terminals.as_slice();
            (!terminals.is_empty()).then_some((at, terminals))
        })
    }

    /// The other units on the potentials of these terminals: their terminals.
    pub(super) fn others(&self, unit: usize, terminals: &[usize]) -> Vec<Known<'a>> {
        let potentials: BTreeSet<usize> = terminals.iter().map(|&at| self.terminals[at].potential).collect();
        let all = potentials.into_iter().flat_map(|potential| self.known(potential));
        all.filter(|known| known.unit != unit).collect()
    }
}

fn place(code: Code, span: Option<Span>, words: impl Into<String>) -> Diagnostic {
    match span {
        Some(span) => Diagnostic::new(code, span, words),
        None => Diagnostic::nowhere(code, words),
    }
}
