//! One node as a card: what is done, under which cautions, and where each answer leads.

use super::super::number::{about, money, share, words};
use crate::model::Model;
use crate::model::catalog::Act;
use crate::model::index::FindingIx;
use crate::model::practice::{BitSet, Terms};
use crate::planner::decision_graph::{Deed, Node};
use crate::planner::{DecisionGraph, Step};
use crate::session::prompt::Caution;
use crate::session::{cautions, instruments};

/// Causes less probable than this are not named on a card.
const WORTH_NAMING: f64 = 0.05;
/// So many combinations of outcomes are spelled out for one way on.
const SPELLED: usize = 4;

/// What kind of step it is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Kind {
    /// Asking, looking, reading, trying.
    Test,
    /// A fix.
    Fix,
    /// Into a work state, or back.
    Change,
    /// Taking the complaints again.
    Prove,
    /// Putting back what was lifted, pulled or slowed.
    PutBack,
    /// Handing over.
    HandOver,
    /// Proven gone.
    Done,
    /// An emergency.
    Emergency,
    /// Nothing is planned.
    Open,
}

impl Kind {
    /// All of them.
    pub const ALL: [Self; 9] = [
        Self::Test,
        Self::Fix,
        Self::Change,
        Self::Prove,
        Self::PutBack,
        Self::HandOver,
        Self::Done,
        Self::Emergency,
        Self::Open,
    ];

    /// Its name in the machine form.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Test => "test",
            Self::Fix => "fix",
            Self::Change => "change",
            Self::Prove => "prove",
            Self::PutBack => "put-back",
            Self::HandOver => "hand-over",
            Self::Done => "done",
            Self::Emergency => "emergency",
            Self::Open => "open",
        }
    }

    /// What it is, for a legend.
    #[must_use]
    pub const fn legend(self) -> &'static str {
        match self {
            Self::Test => "find out",
            Self::Fix => "fix",
            Self::Change => "change of work state",
            Self::Prove => "prove",
            Self::PutBack => "put back",
            Self::HandOver => "hand over",
            Self::Done => "done",
            Self::Emergency => "emergency",
            Self::Open => "not planned",
        }
    }

    /// Whether it ends the plan.
    #[must_use]
    pub const fn ends(self) -> bool {
        matches!(self, Self::HandOver | Self::Done | Self::Emergency | Self::Open)
    }
}

/// One node.
#[derive(Clone, PartialEq, Debug)]
pub struct Card {
    /// Its number, from 1.
    pub number: usize,
    /// What kind of step it is.
    pub kind: Kind,
    /// The id of the test, fix, work state or competence.
    pub id: Option<String>,
    /// What kind of act, in a word or two.
    pub head: String,
    /// Cautions, worst first, to be shown before the step.
    pub cautions: Vec<Caution>,
    /// The step: a sentence, or one line per act.
    pub lines: Vec<String>,
    /// How, what is expected, when not to, with which parts: a line each.
    pub notes: Vec<String>,
    /// Where, in which work state, by whom, with what, how long.
    pub conditions: String,
    /// The work state in which it begins.
    pub work_state: String,
    /// The likeliest causes at this point.
    pub likely: Vec<(String, f64)>,
    /// Minutes' worth of the step with the way to it; for an end, what is still to be expected.
    pub minutes: f64,
    /// Minutes' worth to done from here.
    pub expected: f64,
    /// The chance of coming here.
    pub reach: f64,
    /// What may be found, the likeliest first.
    pub answers: Vec<Answer>,
}

/// Where an answer leads.
#[derive(Clone, PartialEq, Debug)]
pub struct Answer {
    /// The answer; empty where there is one way on.
    pub say: String,
    /// Finding ids with outcomes, one list per combination.
    pub found: Vec<Vec<(String, String)>>,
    /// Its chance at this card.
    pub chance: f64,
    /// The number of the next card.
    pub to: usize,
}

/// The cards of a graph, in the order of its nodes.
pub(super) fn cards(model: &Model, graph: &DecisionGraph) -> Vec<Card> {
    let mut cards: Vec<Card> = (graph.graph.node_indices())
        .map(|at| Writer { model }.card(at.index() + 1, &graph.graph[at]))
        .collect();
    for edge in graph.graph.edge_indices() {
        let Some((from, to)) = graph.graph.edge_endpoints(edge) else { continue };
        let outcome = &graph.graph[edge];
        let named = |&(finding, outcome): &(FindingIx, usize)| {
            let form = &model.findings[finding.at()];
            (form.id.clone(), form.outcomes.get(outcome).cloned().unwrap_or_default())
        };
        let found: Vec<Vec<(String, String)>> =
            outcome.found.iter().map(|one| one.iter().map(named).collect()).collect();
        let card = &mut cards[from.index()];
        card.answers.push(Answer {
            say: answer(model, card.kind, &outcome.found),
            found,
            chance: outcome.chance,
            to: to.index() + 1,
        });
    }
    for card in &mut cards {
        card.answers.sort_by(|a, b| b.chance.total_cmp(&a.chance).then(a.to.cmp(&b.to)));
    }
    cards
}

fn answer(model: &Model, kind: Kind, found: &[Vec<(FindingIx, usize)>]) -> String {
    let outcome = |&(finding, outcome): &(FindingIx, usize)| {
        words(model.findings[finding.at()].outcomes.get(outcome).map_or("", String::as_str))
    };
    if found.is_empty() {
        return "anything rarer".to_owned();
    }
    if kind == Kind::Prove {
        let still = found.iter().flatten().find(|(_, outcome)| *outcome > 0);
        return match still {
            None => "gone".to_owned(),
            Some((finding, _)) if found[0].len() > 1 => {
                format!("still there: {}", model.findings[finding.at()].name)
            }
            Some(_) => "still there".to_owned(),
        };
    }
    let many = found.iter().any(|one| one.len() > 1);
    let mut said: Vec<String> = (found.iter())
        .map(|one| {
            let parts = one.iter().map(|part| match many {
                true => format!("{}: {}", model.findings[part.0.at()].name, outcome(part)),
                false => outcome(part),
            });
            parts.collect::<Vec<String>>().join(", ")
        })
        .filter(|text| !text.is_empty())
        .collect();
    let rest = said.len().saturating_sub(SPELLED);
    said.truncate(SPELLED);
    if rest > 0 {
        said.push(format!("{rest} more"));
    }
    said.join(" or ")
}

struct Writer<'a> {
    model: &'a Model,
}

impl Writer<'_> {
    fn card(&self, number: usize, node: &Node) -> Card {
        let practice = &self.model.practice;
        let likely = (node.causes.iter())
            .filter(|(_, chance)| *chance >= WORTH_NAMING)
            .map(|(cause, chance)| (self.model.causes[cause.at()].name.clone(), *chance));
        let mut card = Card {
            number,
            kind: Kind::Open,
            id: None,
            head: "Not planned".to_owned(),
            cautions: Vec::new(),
            lines: Vec::new(),
            notes: Vec::new(),
            conditions: String::new(),
            work_state: practice
                .work_states
                .get(node.work_state.at())
                .map(|s| s.name.clone())
                .unwrap_or_default(),
            likely: likely.collect(),
            minutes: node.minutes,
            expected: node.expected,
            reach: node.reach,
            answers: Vec::new(),
        };
        match &node.deed {
            Deed::Open => {
                card.lines.push(
                    "Rarer than this plan goes. Stop: plan anew from what is known, or hand over.".to_owned(),
                );
            }
            Deed::Alarm(at) => {
                let emergency = &practice.emergencies[*at];
                (card.kind, card.id) = (Kind::Emergency, Some(emergency.id.clone()));
                card.head = "Emergency: this comes first".to_owned();
                card.lines.extend(emergency.act.iter().cloned());
                card.notes.extend(labelled("Nothing goes on before this", &emergency.all_clear));
                self.left(node, |text| card.notes.push(format!("Still to be put back: {text}")));
            }
            Deed::Take(step) => self.fill(&mut card, step, node),
        }
        card
    }

    fn fill(&self, card: &mut Card, step: &Step, node: &Node) {
        let model = self.model;
        let practice = &model.practice;
        match step {
            Step::Test(at) => {
                let test = &model.tests[at.at()];
                (card.kind, card.id) = (Kind::Test, Some(test.id.clone()));
                card.head = match test.act {
                    Act::Ask => "Ask",
                    Act::Look => "Look",
                    Act::Read => "Read",
                    Act::Try => "Try",
                }
                .to_owned();
                card.lines.push(test.say.clone());
                card.notes.extend(labelled("How", &test.how));
                card.notes.extend(labelled("Expected", &test.expect));
                self.terms(card, &test.terms);
            }
            Step::Fix(at) => {
                let fix = &model.fixes[at.at()];
                (card.kind, card.id, card.head) = (Kind::Fix, Some(fix.id.clone()), "Fix".to_owned());
                card.lines.extend(fix.steps.iter().cloned());
                card.notes.extend(fix.not_for.iter().flat_map(|text| labelled("Not where", text)));
                let parts = fix.parts.iter().map(|(name, price)| match *price > 0.0 {
                    true => format!("{name} ({})", money(*price, &practice.currency)),
                    false => name.clone(),
                });
                card.notes.extend(labelled("Parts", &parts.collect::<Vec<String>>().join(", ")));
                self.terms(card, &fix.terms);
            }
            Step::Enter(at) | Step::Return(at) => {
                let state = &practice.work_states[at.at()];
                let enter = matches!(step, Step::Enter(_));
                (card.kind, card.id) = (Kind::Change, Some(state.id.clone()));
                let (head, acts, terms) = match enter {
                    true => (state.name.clone(), &state.steps, &state.enter),
                    false => (format!("Back from: {}", state.name), &state.back_steps, &state.back),
                };
                card.head = head;
                card.lines.extend(acts.iter().cloned());
                self.terms(card, terms);
            }
            Step::Prove => {
                (card.kind, card.head) = (Kind::Prove, "Prove: is it gone?".to_owned());
                let mut all: Vec<&Terms> = Vec::new();
                for complaint in &node.complaints {
                    let form = &model.findings[complaint.at()];
                    all.push(&model.tests[form.test.at()].terms);
                    let Some(symptom) = &form.symptom else { continue };
                    card.lines.push(symptom.say.clone());
                    card.notes.extend(labelled("Under", &symptom.prove_under));
                    if symptom.prove_minutes > 0.0 {
                        card.notes.push(format!(
                            "Watch it for {}",
                            super::super::number::minutes(symptom.prove_minutes)
                        ));
                    }
                }
                card.cautions = cautions(model, all.iter().copied());
                if let Some(first) = all.first() {
                    card.conditions = self.conditions(card, first);
                }
            }
            Step::PutBack => {
                (card.kind, card.head) = (Kind::PutBack, "Put back".to_owned());
                self.left(node, |text| card.lines.push(text));
            }
            Step::HandOver(sent) => {
                let competence = sent.competence.map(|at| &practice.competences[at.at()]);
                card.kind = Kind::HandOver;
                card.id = Some(competence.map_or_else(|| "unlisted".to_owned(), |form| form.id.clone()));
                card.head = competence
                    .map_or_else(|| "Hand over".to_owned(), |form| format!("Hand over to: {}", form.name));
                let hand_over =
                    competence.and_then(|form| form.hand_over.as_ref()).unwrap_or(&practice.unlisted);
                card.lines.extend((!hand_over.say.is_empty()).then(|| hand_over.say.clone()));
                card.notes.extend(labelled("Instruments", &instruments(model, sent.instruments).join(", ")));
                let parts = sent.parts.iter().filter_map(|&(fix, at)| model.fixes[fix.at()].parts.get(at));
                let parts: Vec<String> = parts.map(|(name, _)| name.clone()).collect();
                card.notes.extend(labelled("Parts", &parts.join(", ")));
                card.notes
                    .extend(hand_over.not_meanwhile.iter().flat_map(|text| labelled("Not meanwhile", text)));
                self.left(node, |text| card.notes.push(format!("Still to be put back: {text}")));
                let theirs: Vec<&Terms> = sent.fixes.iter().map(|fix| &model.fixes[fix.at()].terms).collect();
                card.cautions = cautions(model, theirs);
                card.conditions = format!("left {}", card.work_state);
            }
            Step::Done => {
                (card.kind, card.head) = (Kind::Done, "Done".to_owned());
                card.lines.push("Every complaint is proven gone, and everything is put back.".to_owned());
            }
            Step::ConfirmWorkState => {
                card.head = "Work state".to_owned();
                card.lines.push("Which work state it is in has to be confirmed first.".to_owned());
            }
        }
    }

    fn left(&self, node: &Node, mut each: impl FnMut(String)) {
        for step in &node.left {
            let leaves = match step {
                Step::Test(at) => &self.model.tests[at.at()].terms.leaves,
                Step::Fix(at) => &self.model.fixes[at.at()].terms.leaves,
                _ => continue,
            };
            leaves.iter().for_each(|text| each(text.clone()));
        }
    }

    fn terms(&self, card: &mut Card, terms: &Terms) {
        card.cautions = cautions(self.model, [terms]);
        card.conditions = self.conditions(card, terms);
    }

    fn conditions(&self, card: &Card, terms: &Terms) -> String {
        let practice = &self.model.practice;
        let mut parts = vec![practice.places[terms.place.at()].name.clone()];
        match terms.work_state.filter(|_| card.kind != Kind::Change) {
            Some(state) => parts.push(practice.work_states[state.at()].name.clone()),
            None if card.kind == Kind::Prove => parts.push(card.work_state.clone()),
            None => {}
        }
        if let Some(door) = terms.inside {
            parts.push(format!("open: {}", practice.enclosures[door.at()].name));
        }
        if terms.competence.at() > 0 {
            parts.push(practice.competences[terms.competence.at()].name.clone());
        }
        if terms.instruments != BitSet::default() {
            parts.push(format!("with {}", instruments(self.model, terms.instruments).join(", ")));
        }
        parts.push(about(card.minutes));
        parts.retain(|part| !part.is_empty());
        parts.join("; ")
    }
}

fn labelled(label: &str, text: &str) -> Option<String> {
    (!text.is_empty()).then(|| format!("{label}: {text}"))
}

impl Card {
    /// The likeliest causes in a line; empty where none is worth naming.
    #[must_use]
    pub fn likely_line(&self) -> String {
        let named: Vec<String> =
            self.likely.iter().take(2).map(|(name, chance)| format!("{name} ({})", share(*chance))).collect();
        if named.is_empty() { String::new() } else { format!("Most likely here: {}", named.join("; ")) }
    }

    /// How often it is reached and what is still to be expected, in a line.
    #[must_use]
    pub fn foot(&self) -> String {
        let here = format!("{} of calls", share(self.reach));
        if self.kind == Kind::Done { here } else { format!("{here}; {} to done", about(self.expected)) }
    }
}
