//! A decision graph as people read it: one card for each node, with every text that belongs to it, and one writer per form.
//!
//! In: a [`DecisionGraph`] and its model. Out: [`Chart`], and from it a drawing (SVG), a graph description (DOT), Markdown,
//! JSON, a page for a phone and a sheet to print. Invariants: the standing notice stands in every form; cautions stand
//! before the step that they belong to, worst first; foreign text is escaped; everything is in one file, and nothing is
//! fetched.

mod card;
mod course;
mod dot;
mod drawing;
mod escape;
mod json;
mod layers;
mod legend;
mod markdown;
mod page;
mod sheet;
mod svg;

pub use card::{Answer, Card, Kind};
pub use course::{NoCourse, read_course};
pub use dot::dot;
pub use json::json;
pub use markdown::markdown;
pub use page::html;
pub use sheet::sheet;
pub use svg::svg;

use super::number::{about, share};
use crate::model::Model;
use crate::planner::DecisionGraph;
use crate::planner::decision_graph::Course;

/// A plan as people read it.
#[derive(Clone, PartialEq, Debug)]
pub struct Chart {
    /// What it is about: the complaints.
    pub title: String,
    /// For whom, for what job, from which knowledge.
    pub about: Vec<String>,
    /// The standing notice.
    pub notice: Vec<String>,
    /// Cards; the first is where it begins. Card `n` stands at position `n - 1`.
    pub cards: Vec<Card>,
    /// Minutes to done, expected.
    pub expected: f64,
    /// No plan can expect fewer minutes.
    pub bound: f64,
    /// The chance of ending where nothing is planned.
    pub open: f64,
    /// Paths rarer than this were not followed.
    pub cut: f64,
    /// States planned for.
    pub states: usize,
    /// More is open than the cut alone would leave.
    pub full: bool,
    /// By what a session finds its way along it, as data.
    pub course: serde_json::Value,
}

impl Chart {
    /// The cards of a graph. `of` is the id of the package, and of the job where there is one.
    #[must_use]
    pub fn new(model: &Model, graph: &DecisionGraph, of: (&str, Option<&str>)) -> Self {
        let complaints: Vec<String> = (graph.start.complaints.iter())
            .map(|finding| {
                let finding = &model.findings[finding.at()];
                finding.symptom.as_ref().map_or_else(|| finding.name.clone(), |symptom| symptom.say.clone())
            })
            .collect();
        let practice = &model.practice;
        let person = graph.start.person;
        let competences: Vec<&str> = (practice.competences.iter().enumerate())
            .filter(|(at, form)| {
                let covered = practice.competences.iter().enumerate().any(|(other, wide)| {
                    other != *at
                        && person.competences.has(other)
                        && wide.covers.has(*at)
                        && !form.covers.has(other)
                });
                person.competences.has(*at) && !covered
            })
            .map(|(_, form)| &*form.name)
            .collect();
        let instruments = crate::session::instruments(model, person.instruments);
        let at_hand =
            if instruments.is_empty() { "no instruments".to_owned() } else { instruments.join(", ") };
        let stage = model.stage.id();
        let mut about_it = vec![
            format!("For: {}; at hand: {at_hand}", competences.join(", ")),
            format!("Job: {}; stage: {stage}; knowledge: {}", of.1.unwrap_or("no job sheet"), of.0),
            format!(
                "Expected: {} to done; with perfect information no plan could do better than {}, so the best plan lies between",
                about(graph.expected_minutes()),
                super::number::minutes(graph.bound)
            ),
        ];
        if graph.open > 0.0 {
            about_it.push(format!(
                "Ways rarer than {} are left open, {} of all calls together: there, stop and plan anew or hand over",
                share(graph.bounds.cut),
                share(graph.open)
            ));
        }
        if graph.full {
            about_it.push(format!(
                "The plan is larger than the {} states that were allowed: its rarest ways are left open",
                graph.bounds.most
            ));
        }
        for emergency in &practice.emergencies {
            let announced = |finding: &crate::model::index::FindingIx| {
                emergency.shown_by.contains(&model.findings[finding.at()].kind)
            };
            if graph.start.complaints.iter().any(announced) {
                about_it.push(format!("First of all: {} {}", emergency.act.join(" "), emergency.all_clear));
            }
        }
        Self {
            title: complaints.join("; "),
            about: about_it,
            notice: practice.notice.clone(),
            cards: card::cards(model, graph),
            expected: graph.expected_minutes(),
            bound: graph.bound,
            open: graph.open,
            cut: graph.bounds.cut,
            states: graph.states,
            full: graph.full,
            course: course::course(model, &Course::of(model, graph)),
        }
    }

    /// The card of a number.
    #[must_use]
    pub fn card(&self, number: usize) -> Option<&Card> {
        self.cards.get(number.checked_sub(1)?)
    }
}
