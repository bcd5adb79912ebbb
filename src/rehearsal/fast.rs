//! The fast player: the planner against a simulated site, without a session and without words.
//!
//! In: a site and the model as the session has it. Out: a [`Played`]. It opens with what the site complains of, does what is
//! advised, proves and hands over. Advice is remembered from call to call by the state that it is for: the same state
//! gets the same advice, so remembering changes nothing but the time.

use std::collections::HashMap;

use super::known::Known;
use super::played::{Ending, Fate, Move, Played, can_remove, first_ranked};
use super::safety::breaches;
use super::site::{Site, Told};
use super::whereabouts::Whereabouts;
use crate::inference::{Limits, Workspace};
use crate::model::Model;
use crate::model::index::{CauseIx, FindingIx, WorkStateIx};
use crate::model::practice::BitSet;
use crate::planner::{Budget, Step, advise};

/// More steps than a call needs.
const MOST_STEPS: usize = 80;
/// So many causes of the ranking are kept.
const TOLD: usize = 5;
/// So many states are remembered at most.
const MOST_REMEMBERED: usize = 1 << 16;

/// The planner over one model for one person, with what it advised before.
#[derive(Debug)]
pub struct Player<'m> {
    model: &'m Model,
    budget: Budget,
    tables: Workspace,
    advised: HashMap<Vec<u32>, Step>,
    /// Advice worked out, not remembered.
    pub planned: u64,
}

impl<'m> Player<'m> {
    /// A player over the model that the planner believes in.
    #[must_use]
    pub fn new(model: &'m Model, budget: Budget) -> Self {
        let tables = Workspace::new(&model.network);
        Self { model, budget, tables, advised: HashMap::new(), planned: 0 }
    }

    /// Forgets what was advised: for another person.
    pub fn forget(&mut self) {
        self.advised.clear();
    }

    /// Plays one call that begins with these complaints; `hidden` are the causes to be found.
    pub fn play(&mut self, mut site: Site, complaints: &[FindingIx], hidden: &[CauseIx]) -> Played {
        let model = self.model;
        let caller = site.caller.clone();
        let opening: Vec<(FindingIx, usize)> =
            complaints.iter().map(|&finding| (finding, site.again(finding).max(1))).collect();
        let mut known = Known::new(model, &caller, opening.clone());
        let mut at = Whereabouts::start();
        let mut played = Played {
            opening,
            moves: Vec::new(),
            ending: Ending::Endless,
            fates: Vec::new(),
            first: Vec::new(),
            questions: 0,
            minutes: 0.0,
            breaches: Vec::new(),
        };
        let mut sent = BitSet::default();
        for _ in 0..MOST_STEPS {
            let step = self.step(&known, &site, &at);
            let found = breaches(model, &caller.person, Some(at.state), &known.answered(), &step);
            played.breaches.extend(found);
            let told = if let Step::Test(test) = step { Some(site.test(test)) } else { None };
            played.moves.push(Move { step: step.clone(), told: told.clone(), minutes: at.minutes });
            match step {
                Step::Test(test) => {
                    played.questions += 1;
                    match told.unwrap_or(Told::CannotTell) {
                        Told::Shows(shown) => {
                            at.act(&model.practice, &model.tests[test.at()].terms);
                            known.implied(model, &caller, test);
                            let open = |finding: &FindingIx| !known.answered().contains_key(finding);
                            let shown: Vec<(FindingIx, usize)> =
                                shown.into_iter().filter(|(finding, _)| open(finding)).collect();
                            for (finding, outcome) in shown {
                                known.told(model, &caller, finding, outcome);
                            }
                        }
                        Told::NotSo(finding, outcome) => {
                            at.go(&model.practice, model.tests[test.at()].terms.place);
                            if known.answered().get(&finding) == Some(&outcome) {
                                known.set_aside(test);
                            }
                            known.told(model, &caller, finding, outcome);
                        }
                        Told::CannotTell => known.set_aside(test),
                    }
                }
                Step::Fix(fix) => {
                    at.act(&model.practice, &model.fixes[fix.at()].terms);
                    site.fix(fix);
                    known.fixed(fix);
                }
                Step::Enter(state) => at.enter(&model.practice, state),
                Step::Return(_) => at.back(&model.practice),
                Step::Prove => self.prove(&mut known, &site, &mut at),
                Step::PutBack | Step::Done | Step::ConfirmWorkState => {
                    at.back(&model.practice);
                    played.ending = Ending::Proven;
                    break;
                }
                Step::HandOver(whom) => {
                    played.ending = Ending::HandedOver(whom.competence);
                    sent = whom.instruments;
                    break;
                }
            }
            if let Some(last) = played.moves.last_mut() {
                last.minutes = at.minutes;
            }
        }
        played.minutes = at.minutes;
        self.weigh(&mut played, &known, &site, hidden, sent);
        played
    }

    fn step(&mut self, known: &Known, site: &Site, at: &Whereabouts) -> Step {
        let key = known.key(at);
        if let Some(step) = self.advised.get(&key) {
            return step.clone();
        }
        self.planned += 1;
        let situation = known.situation(self.model, &site.caller, at);
        let step = match advise(self.model, &situation, &self.budget) {
            Ok(advice) => advice.step,
            Err(_) => Step::HandOver(crate::planner::Sent::default()),
        };
        if self.advised.len() < MOST_REMEMBERED {
            self.advised.insert(key, step.clone());
        }
        step
    }

    /// All complaints again, until one is still there.
    fn prove(&self, known: &mut Known, site: &Site, at: &mut Whereabouts) {
        for finding in known.complaints.clone() {
            if known.answered().get(&finding) == Some(&0) {
                continue;
            }
            let form = &self.model.findings[finding.at()];
            let terms = &self.model.tests[form.test.at()].terms;
            if terms.work_state.unwrap_or(WorkStateIx(0)) == WorkStateIx(0) {
                at.back(&self.model.practice);
            }
            at.act(&self.model.practice, terms);
            at.minutes += form.symptom.as_ref().map_or(0.0, |symptom| symptom.prove_minutes);
            let outcome = site.again(finding);
            known.told(self.model, &site.caller, finding, outcome);
            if outcome != 0 {
                return;
            }
        }
    }

    /// The ranking at the end, and what became of the hidden causes.
    fn weigh(&mut self, played: &mut Played, known: &Known, site: &Site, hidden: &[CauseIx], sent: BitSet) {
        let network = &self.model.network;
        let posterior = self.tables.causes(network, &known.evidence(), &Limits::default());
        let now = posterior.map_or_else(|_| Vec::new(), |posterior| posterior.now);
        let first = first_ranked(&now, site.truth.causes().len());
        let to = match played.ending {
            Ending::HandedOver(Some(competence)) => Some(competence),
            _ => None,
        };
        let head = first_ranked(&now, TOLD);
        played.first = head.iter().take(TOLD).map(|&cause| (cause, now[cause.at()])).collect();
        let fates = hidden.iter().map(|&cause| Fate {
            cause,
            fixed: network.removed_by(cause).iter().any(|(fix, _)| known.fixes.contains(fix)),
            ranked: first.contains(&cause),
            right_hand: to.is_some_and(|to| can_remove(self.model, to, sent, cause)),
        });
        played.fates = fates.collect();
    }
}
