//! The check sheet of the field wiring: what is to be read, by enclosure, and what comes before the first reading.
//!
//! In: a model of a job with a wire list, in a package whose procedure walks it. Out: a [`CheckSheet`]. Invariant: every
//! connection that is made on site stands in it exactly once; the cautions stand before the connections.

use std::collections::BTreeSet;

use super::prompt::Caution;
use super::steps::{cautions, instruments};
use super::wires::expected;
use crate::model::Model;
use crate::wiring::{Connection, Whereabouts};

/// The check sheet.
#[derive(Clone, PartialEq, Debug)]
pub struct CheckSheet {
    /// The standing notice.
    pub notice: Vec<String>,
    /// Cautions, worst first.
    pub cautions: Vec<Caution>,
    /// What is confirmed before the first reading, in order.
    pub before: Vec<String>,
    /// Who may read, by name.
    pub competence: String,
    /// With what, by name.
    pub instruments: Vec<String>,
    /// The question that the whole sheet answers.
    pub ask: String,
    /// How to read.
    pub how: Vec<String>,
    /// What is said where supply and motor conductors turn out exchanged.
    pub danger: String,
    /// The connections by enclosure.
    pub sections: Vec<Section>,
}

/// The connections from one enclosure to another.
#[derive(Clone, PartialEq, Debug)]
pub struct Section {
    /// Where their near ends are, by name.
    pub near: String,
    /// Where their far ends are, by name.
    pub far: String,
    /// The connections, in the order of their numbers.
    pub rows: Vec<CheckRow>,
}

/// A connection to be ticked.
#[derive(Clone, PartialEq, Debug)]
pub struct CheckRow {
    /// The connection.
    pub connection: Connection,
    /// What is expected; empty where the package does not say.
    pub expect: String,
}

/// The check sheet of a model; `None` where its job has no wire list, or its package no step that walks one.
#[must_use]
pub fn check_sheet(model: &Model) -> Option<CheckSheet> {
    let procedure = &model.procedure;
    let at = procedure.steps.iter().position(|step| step.walks)?;
    if model.connections.is_empty() {
        return None;
    }
    let step = &procedure.steps[at];
    let mut gates: BTreeSet<usize> = BTreeSet::new();
    let mut open = vec![at];
    while let Some(step) = open.pop() {
        open.extend(procedure.steps[step].gates.iter().copied().filter(|&gate| gates.insert(gate)));
    }
    let mut sections: Vec<(Whereabouts, Whereabouts, Section)> = Vec::new();
    for connection in &model.connections {
        let (near, far) = (&connection.near, &connection.far);
        let row = CheckRow {
            connection: connection.clone(),
            expect: expected(connection, &step.expects).unwrap_or_default().to_owned(),
        };
        match sections.last_mut().filter(|last| last.0 == near.at && last.1 == far.at) {
            Some(last) => last.2.rows.push(row),
            None => {
                let section = Section { near: near.place(), far: far.place(), rows: vec![row] };
                sections.push((near.at.clone(), far.at.clone(), section));
            }
        }
    }
    Some(CheckSheet {
        notice: model.practice.notice.clone(),
        cautions: cautions(model, [&step.terms]),
        before: gates.into_iter().map(|gate| procedure.steps[gate].say.clone()).collect(),
        competence: model.practice.competences[step.terms.competence.at()].name.clone(),
        instruments: instruments(model, step.terms.instruments),
        ask: step.say.clone(),
        how: step.how.clone(),
        danger: step.danger.clone(),
        sections: sections.into_iter().map(|(_, _, section)| section).collect(),
    })
}
