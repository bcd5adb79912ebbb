//! From reports to groups: which reports are remembered together, and the vertex of each group that needs one.

use super::super::InferenceError;
use super::super::cluster::{Cluster, DEAD, Report};
use super::super::evidence::{Evidence, Told};
use super::super::number::Number;
use super::links::live;
use super::{Graph, Group, Kind, NONE, Target, Vertex};
use crate::model::index::FindingIx;
use crate::model::network::Network;

impl<N: Number> Graph<N> {
    /// Groups the reports, and makes a vertex for each group that needs one.
    pub(super) fn group_reports(
        &mut self,
        network: &Network,
        evidence: &Evidence,
        target: Option<Target>,
    ) -> Result<(), InferenceError> {
        let read = match target {
            Some(Target::Finding(finding)) => Some((finding, self.fixes.len())),
            _ => None,
        };
        self.scratch.epochs.clear();
        self.scratch.parent.clear();
        self.scratch.telling.clear();
        self.scratch.epochs.extend(read.map(|(_, now)| now as u32));
        // Tie reports that share a finding together: union by smallest number.
        let mut tied = false;
        let mut number = 0_u32;
        let mut epoch = 0_u32;
        for (entry, told) in evidence.told.iter().enumerate() {
            let Told::Finding { among, weights } = told else {
                epoch += u32::from(matches!(told, Told::Fix(_)));
                continue;
            };
            if weights.iter().all(|&w| w == weights[0]) {
                // Tells nothing apart; only the probability of the evidence scales.
                if weights[0] == 0.0 {
                    return Err(InferenceError::Impossible);
                }
                self.constant.by(weights[0]);
                continue;
            }
            if self.scratch.epochs.last() != Some(&epoch) {
                self.scratch.epochs.push(epoch);
            }
            self.scratch.parent.push(number);
            self.scratch.telling.push((entry as u32, epoch));
            for finding in among {
                let seen = self.group_of[finding.at()];
                if seen == NONE {
                    self.group_of[finding.at()] = number;
                    self.scratch.marked.push(finding.0);
                } else {
                    tied = true;
                    let (a, b) = (root(&self.scratch.parent, seen), root(&self.scratch.parent, number));
                    self.scratch.parent[a.max(b) as usize] = a.min(b);
                }
            }
            tied |= among.len() > 1;
            number += 1;
        }
        if !tied && read.is_none() {
            for at in 0..self.scratch.telling.len() {
                let (entry, epoch) = self.scratch.telling[at];
                if let Told::Finding { among, weights } = &evidence.told[entry as usize] {
                    self.group_of_one(network, among[0], epoch, weights);
                }
            }
            return Ok(());
        }
        self.groups_of_many(network, evidence, read)
    }

    fn groups_of_many(
        &mut self,
        network: &Network,
        evidence: &Evidence,
        read: Option<(FindingIx, usize)>,
    ) -> Result<(), InferenceError> {
        let mut reports: Vec<Report<'_>> = Vec::new();
        for (epoch, told) in evidence.by_epoch() {
            if let Told::Finding { among, weights } = told
                && weights.iter().any(|&w| w != weights[0])
            {
                reports.push(Report { epoch, among, weights });
            }
        }
        let mut rows: Vec<Vec<Report<'_>>> = vec![Vec::new(); reports.len() + 1];
        for (number, report) in reports.into_iter().enumerate() {
            rows[root(&self.scratch.parent, number as u32) as usize].push(report);
        }
        let read_row = read.map(|(finding, _)| match self.group_of[finding.at()] {
            NONE => rows.len() - 1,
            seen => root(&self.scratch.parent, seen) as usize,
        });
        for (number, row) in rows.iter().enumerate() {
            let read = read.filter(|_| read_row == Some(number));
            match (&row[..], read) {
                ([], None) => {}
                ([report], None) if report.among.len() == 1 => {
                    self.group_of_one(network, report.among[0], report.epoch as u32, report.weights);
                }
                (row, read) => {
                    let outcomes = match (row.first(), read) {
                        (Some(report), _) => report.weights.len(),
                        (None, Some((finding, _))) => network.outcomes(finding),
                        (None, None) => continue,
                    };
                    let Some(cluster) = Cluster::new(row, outcomes, read)? else {
                        return Err(InferenceError::Impossible);
                    };
                    self.group_of_several(network, cluster, read.is_some());
                }
            }
        }
        Ok(())
    }

    /// A report that needs no axis: one state says all of it.
    fn without_axis(&mut self, finding: FindingIx, epoch: u32, class_at: usize) {
        self.groups.push(Group::One { finding, epoch, class_at: class_at as u32, states: 1, vertex: NONE });
    }

    /// One report about one finding: a state per run of equal weights; zeros at the upper end are dead.
    pub(super) fn group_of_one(
        &mut self,
        network: &Network,
        finding: FindingIx,
        epoch: u32,
        weights: &[f64],
    ) {
        let class_at = self.classes.len();
        let last = weights.iter().rposition(|&w| w > 0.0).unwrap_or(0);
        if last == 0 {
            // Normal for certain: nothing to remember.
            self.classes.push(0);
            self.classes.resize(class_at + weights.len(), DEAD);
            self.constant.by(weights[0]);
            self.constant.by(network.leak(finding)[0]);
            return self.without_axis(finding, epoch, class_at);
        }
        let end = self.pool.len();
        let mut states = 0;
        for (at, &weight) in weights.iter().enumerate() {
            if at > last {
                self.classes.push(DEAD);
                continue;
            }
            if at == 0 || weight != weights[at - 1] {
                self.pool.push(N::of(weight));
                states += 1;
            }
            self.classes.push((states - 1) as u8);
        }
        let leak = network.leak(finding);
        let class = &self.classes[class_at..];
        if states == 1 {
            let fits = live(class, leak);
            self.constant.by_number(self.pool[end]);
            self.constant.by(fits);
            self.pool.truncate(end);
            return self.without_axis(finding, epoch, class_at);
        }
        let start = self.pool.len();
        self.pool.resize(start + states, N::ZERO);
        for (&class, &chance) in class.iter().zip(leak) {
            if class != DEAD {
                let entry = &mut self.pool[start + class as usize];
                *entry = entry.plus(N::of(chance));
            }
        }
        let vertex = self.vertices.len() as u32;
        let group = Kind::Group(self.groups.len() as u32);
        self.vertices.push(Vertex::new(group, states as u32, start as u32, end as u32));
        let states = states as u32;
        self.groups.push(Group::One { finding, epoch, class_at: class_at as u32, states, vertex });
    }

    fn group_of_several(&mut self, network: &Network, cluster: Cluster, target: bool) {
        let n = cluster.states;
        // The leaks live in all epochs.
        let mut state = vec![N::ZERO; n];
        state[0] = N::ONE;
        for (member, &finding) in cluster.members.iter().enumerate() {
            let mut moved = vec![N::ZERO; n];
            for (outcome, &chance) in network.leak(finding).iter().enumerate() {
                for (from, &to) in cluster.moves(member, cluster.epochs.len(), outcome).iter().enumerate() {
                    if to != DEAD {
                        moved[to as usize] = moved[to as usize].plus(state[from].times(N::of(chance)));
                    }
                }
            }
            state = moved;
        }
        let mut vertex = NONE;
        if n == 1 && !target {
            self.constant.by_number(state[0]);
            self.constant.by(cluster.end[0]);
        } else {
            vertex = self.vertices.len() as u32;
            let start = self.pool.len();
            self.pool.extend(state);
            let end = self.pool.len();
            self.pool.extend(cluster.end.iter().map(|&w| N::of(w)));
            let group = Kind::Group(self.groups.len() as u32);
            self.vertices.push(Vertex::new(group, n as u32, start as u32, end as u32));
            if target {
                self.target = vertex;
            }
        }
        self.groups.push(Group::Many { cluster: Box::new(cluster), vertex });
    }
}

/// The smallest number tied to `at`.
fn root(parent: &[u32], mut at: u32) -> u32 {
    while parent[at as usize] != at {
        at = parent[at as usize];
    }
    at
}
