//! A data bus is one line: no branch, no ring, an end resistor at each of its two ends and nowhere else.

use std::collections::{BTreeMap, BTreeSet};

use petgraph::graph::{NodeIndex, UnGraph};

use super::super::list::WireList;
use crate::diagnostic::{Code, Diagnostic};
use crate::knowledge::Carries;

pub(super) fn check(list: &WireList<'_>, problems: &mut Vec<Diagnostic>) {
    let mut told: BTreeSet<Vec<&str>> = BTreeSet::new();
    for potential in 0..list.potentials.len() {
        let known = list.known(potential);
        let pairs = || known.iter().filter(|known| known.role.carries == Carries::Bus);
        if pairs().count() < 2 {
            continue;
        }
        let mut line = Line::new(list, potential);
        line.devices.sort_unstable();
        // Both wires of the pair run the same way: told of the first alone.
        if !told.insert(line.devices.clone()) {
            continue;
        }
        let shape = line.shape(list, problems);
        if let Some(ends) = pairs().find_map(|known| known.role.ends).filter(|_| shape) {
            resistors(list, &line, ends, problems);
        }
    }
}

/// One wire of a bus: which devices it links.
struct Line<'a> {
    devices: Vec<&'a str>,
    potential: usize,
    /// Per device, the wires that land on it.
    at: BTreeMap<&'a str, Vec<usize>>,
}

impl<'a> Line<'a> {
    fn new(list: &'a WireList<'_>, potential: usize) -> Self {
        let mut at: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
        for (number, wire, ends) in list.wires() {
            if wire.through.is_empty() && list.terminals[ends[0]].potential == potential {
                for end in ends {
                    at.entry(list.terminals[end].device.as_str()).or_default().push(number);
                }
            }
        }
        Self { devices: at.keys().copied().collect(), potential, at }
    }

    /// Whether it is a line; what it is instead is told.
    fn shape(&self, list: &WireList<'_>, problems: &mut Vec<Diagnostic>) -> bool {
        let before = problems.len();
        for (device, wires) in self.at.iter().filter(|(_, wires)| wires.len() > 2) {
            let here = |&wire: &usize| {
                list.ends[wire].into_iter().find(|&end| list.terminals[end].device == **device)
            };
            let Some((wire, end)) = wires.last().and_then(|wire| Some((*wire, here(wire)?))) else {
                continue;
            };
            let words = format!("the data bus branches at `{device}`: {} cables end there", wires.len());
            let problem = match list.landed(wire, end) {
                Some(span) => Diagnostic::new(Code::BusBranches, span, words),
                None => Diagnostic::nowhere(Code::BusBranches, words),
            };
            problems.push(
                problem
                    .why("a star or a long stub reflects every signal; the bus is one line from device to device")
                    .help("run the cable in at one device, on to the next, and so to the last"),
            );
        }
        let mut graph: UnGraph<(), ()> = UnGraph::new_undirected();
        let mut nodes: BTreeMap<&str, NodeIndex> = BTreeMap::new();
        for device in &self.devices {
            nodes.insert(device, graph.add_node(()));
        }
        for (number, wire, ends) in list.wires() {
            let [a, b] = ends.map(|end| nodes.get(list.terminals[end].device.as_str()));
            let mine = wire.through.is_empty() && list.terminals[ends[0]].potential == self.potential;
            let (Some(&a), Some(&b), true) = (a, b, mine) else { continue };
            graph.add_edge(a, b, ());
            if petgraph::algo::is_cyclic_undirected(&graph) {
                let words = format!("the data bus closes a ring with the wire to `{}`", list.label(ends[1]));
                let problem = match list.landed(number, ends[1]) {
                    Some(span) => Diagnostic::new(Code::BusRing, span, words),
                    None => Diagnostic::nowhere(Code::BusRing, words),
                };
                problems.push(
                    problem
                        .why("a ring has no ends for its end resistors, and answers come round twice")
                        .help("take out the wire that leads back"),
                );
                break;
            }
        }
        problems.len() == before
    }

    /// The devices at its ends.
    fn ends(&self) -> Vec<&'a str> {
        self.at.iter().filter(|(_, wires)| wires.len() == 1).map(|(device, _)| *device).collect()
    }
}

/// An end resistor at each end, and nowhere else.
fn resistors(list: &WireList<'_>, line: &Line<'_>, wanted: usize, problems: &mut Vec<Diagnostic>) {
    let bus = |at: usize| list.role(at).is_some_and(|role| role.carries == Carries::Bus);
    let on_line = |end: &usize| list.terminals[*end].potential == line.potential;
    let bridges: Vec<(usize, [usize; 2])> = list
        .wires()
        .filter(|(_, wire, ends)| {
            !wire.through.is_empty() && ends.iter().any(on_line) && ends.iter().any(|&end| bus(end))
        })
        .map(|(number, _, ends)| (number, ends))
        .collect();
    let devices: Vec<&str> =
        bridges.iter().map(|(_, ends)| list.terminals[ends[0]].device.as_str()).collect();
    let ends = line.ends();
    let help =
        format!("list one at each end, across the pair of {}: `through: \"end resistor\"`", quoted(&ends));
    if devices.len() != wanted {
        let words = format!("the data bus has {}, not {wanted}", counted(devices.len()));
        let known = list.known(line.potential);
        let at = bridges.last().map(|(_, ends)| ends[0]).or_else(|| known.first().map(|known| known.at));
        let problem = match at {
            Some(at) => list.at(Code::BusEnds, at, words),
            None => Diagnostic::nowhere(Code::BusEnds, words),
        };
        problems.push(
            problem
                .why("without them a signal comes back from the ends; with more, the line is loaded down")
                .help(help),
        );
        return;
    }
    for (number, landed) in bridges {
        let device = list.terminals[landed[0]].device.as_str();
        if ends.contains(&device) {
            continue;
        }
        let words = format!("an end resistor sits at `{device}`, which is no end of the data bus");
        let problem = match list.landed(number, landed[0]) {
            Some(span) => Diagnostic::new(Code::BusEnds, span, words),
            None => Diagnostic::nowhere(Code::BusEnds, words),
        };
        problems.push(problem.why(format!("its ends are {}", quoted(&ends))).help(help.clone()));
    }
}

fn quoted(devices: &[&str]) -> String {
    let all: Vec<String> = devices.iter().map(|device| format!("`{device}`")).collect();
    all.join(" and ")
}

fn counted(count: usize) -> String {
    match count {
        0 => "no end resistor".to_owned(),
        1 => "one end resistor".to_owned(),
        more => format!("{more} end resistors"),
    }
}
