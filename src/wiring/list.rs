//! The wire list as a graph: terminals, the wires between them, and which terminals are one potential.
//!
//! In: a checked job and its package. Out: a [`WireList`]. Invariants: a terminal stands once however often wires name it;
//! a wire with a part between its ends joins nothing; devices join none of their terminals.
//!
//! Cost: terminals and wires times α (union-find), and one look-up of the words of a component per terminal.

use std::collections::BTreeMap;

use petgraph::unionfind::UnionFind;

use super::name::{Named, named, tokens};
use super::whereabouts::Whereabouts;
use crate::job::{Job, Made, Unit, Wire};
use crate::knowledge::{Carries, Component, Flow, Knowledge, TerminalRole};
use crate::source::Span;

/// A terminal that some wire names.
#[derive(Clone, PartialEq, Debug)]
pub struct Terminal {
    /// The device: a unit, or a terminal strip.
    pub device: String,
    /// Its name, as the sheet first writes it.
    pub name: String,
    /// The unit: an index into [`Job::units`].
    pub(super) unit: Option<usize>,
    pub(super) named: Option<Named>,
    /// Its potential; terminals of one potential are joined.
    pub potential: usize,
    /// Where it is.
    pub at: Whereabouts,
    /// Where the sheet first names it.
    pub(super) span: Option<Span>,
}

/// The wire list of a job.
#[derive(Clone, Debug)]
pub struct WireList<'a> {
    pub(super) knowledge: &'a Knowledge,
    pub(super) job: &'a Job,
    /// Terminals, in the order in which wires name them.
    pub terminals: Vec<Terminal>,
    /// The two terminals of each wire of the job.
    pub ends: Vec<[usize; 2]>,
    /// The terminals of each potential, in their order.
    pub potentials: Vec<Vec<usize>>,
}

impl<'a> WireList<'a> {
    /// The list of that job.
    #[must_use]
    pub fn new(knowledge: &'a Knowledge, job: &'a Job) -> Self {
        let mut list =
            Self { knowledge, job, terminals: Vec::new(), ends: Vec::new(), potentials: Vec::new() };
        let mut known: BTreeMap<(String, Vec<String>), usize> = BTreeMap::new();
        for wire in &job.wires {
            let spans = wire.spans.map(|spans| spans.ends);
            let mut ends = [0; 2];
            for (at, (device, name)) in wire.ends().into_iter().enumerate() {
                let span = spans.map(|spans| spans[at]);
                let key = (device.to_owned(), tokens(name));
                ends[at] = *known.entry(key).or_insert_with(|| {
                    list.terminals.push(list.terminal(device, name, span));
                    list.terminals.len() - 1
                });
            }
            list.ends.push(ends);
        }
        let mut joined: UnionFind<usize> = UnionFind::new(list.terminals.len());
        for (wire, &[from, to]) in job.wires.iter().zip(&list.ends) {
            if wire.through.is_empty() {
                joined.union(from, to);
            }
        }
        let mut numbers: BTreeMap<usize, usize> = BTreeMap::new();
        for at in 0..list.terminals.len() {
            let next = numbers.len();
            let potential = *numbers.entry(joined.find(at)).or_insert(next);
            if potential == list.potentials.len() {
                list.potentials.push(Vec::new());
            }
            list.potentials[potential].push(at);
            list.terminals[at].potential = potential;
        }
        list
    }

    fn terminal(&self, device: &str, name: &str, span: Option<Span>) -> Terminal {
        let unit = self.job.units.iter().position(|unit| unit.id == device);
        let named = unit.and_then(|at| {
            let unit = &self.job.units[at];
            named(self.component(unit)?, unit, name)
        });
        Terminal {
            device: device.to_owned(),
            name: name.to_owned(),
            unit,
            named,
            potential: 0,
            at: Whereabouts::of_device(self.knowledge, self.job, device),
            span,
        }
    }

    pub(super) fn component(&self, unit: &Unit) -> Option<&'a Component> {
        self.knowledge.of_kind(&unit.kind).map(|at| &self.knowledge.components[at])
    }

    /// The row of a terminal, where its name says.
    #[must_use]
    pub fn role(&self, terminal: usize) -> Option<&'a TerminalRole> {
        let terminal = &self.terminals[terminal];
        let component = self.component(&self.job.units[terminal.unit?])?;
        component.terminals.get(terminal.named.as_ref()?.role)
    }

    /// `DEVICE:TERMINAL`, as the sheet has it.
    #[must_use]
    pub fn label(&self, terminal: usize) -> String {
        let Terminal { device, name, .. } = &self.terminals[terminal];
        format!("{device}:{name}")
    }

    /// The unit of a terminal.
    pub(super) fn unit(&self, terminal: usize) -> Option<&'a Unit> {
        self.terminals[terminal].unit.map(|at| &self.job.units[at])
    }

    /// What flows over a potential: by the terminals that give something, else by those that take it.
    #[must_use]
    pub fn carries(&self, potential: usize) -> Option<Carries> {
        let roles = || self.potentials[potential].iter().filter_map(|&at| self.role(at));
        let giving = roles().find(|role| role.flow == Flow::Gives);
        giving.or_else(|| roles().next()).map(|role| role.carries)
    }

    /// The terminals of a unit that some wire names, by row.
    pub(super) fn rows(&self, unit: usize) -> BTreeMap<usize, Vec<usize>> {
        let mut rows: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (at, terminal) in self.terminals.iter().enumerate().filter(|(_, t)| t.unit == Some(unit)) {
            if let Some(named) = &terminal.named {
                rows.entry(named.role).or_default().push(at);
            }
        }
        rows
    }

    /// Wires with their terminals.
    pub(super) fn wires(&self) -> impl Iterator<Item = (usize, &'a Wire, [usize; 2])> + '_ {
        self.job.wires.iter().zip(&self.ends).enumerate().map(|(at, (wire, &ends))| (at, wire, ends))
    }

    /// The wires that are made on site.
    pub(super) fn field_wires(&self) -> impl Iterator<Item = (usize, &'a Wire, [usize; 2])> + '_ {
        self.wires().filter(|(_, wire, _)| wire.by == Made::Field)
    }
}
