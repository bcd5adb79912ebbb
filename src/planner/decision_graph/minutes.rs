//! Minutes' worth of one step from where the work stands, the way to it included: what the planner counts.

use super::super::advice::{Advice, Step};
use super::super::allowed::Modes;
use super::super::compose::Composer;
use super::super::problem::Proof;
use super::super::situation::Situation;
use super::super::travel::{Mode, Travel};
use crate::model::Model;
use crate::model::index::{PlaceIx, WorkStateIx};
use crate::model::practice::Terms;

/// The ways of the person present, and what proving takes them.
pub(super) struct Rates<'a> {
    model: &'a Model,
    modes: Modes,
    drawn: Vec<bool>,
    travel: Travel,
    factor: f64,
    money: f64,
}

impl<'a> Rates<'a> {
    pub(super) fn new(model: &'a Model, start: &Situation) -> Self {
        let modes = Modes::of(&model.practice);
        let drawn = vec![true; model.network.sources()];
        let composer = Composer::new(model, start, &[], &drawn);
        let (factor, money) = composer.rates();
        let travel = modes.travel(&model.practice, &start.person, factor);
        Self { model, modes, drawn, travel, factor, money }
    }

    /// Minutes' worth of a step, and the mode after it.
    pub(super) fn of(
        &self,
        situation: &Situation,
        step: &Step,
        advice: &Advice,
    ) -> (f64, WorkStateIx, PlaceIx) {
        let state = situation.work_state.unwrap_or(WorkStateIx(0));
        let here = self.modes.mode(state, situation.place);
        let stays = (state, situation.place);
        let (minutes, there): (f64, Mode) = match step {
            Step::Test(at) => self.act(here, &self.model.tests[at.at()].terms, 0.0),
            Step::Fix(at) => {
                let fix = &self.model.fixes[at.at()];
                let parts: f64 = fix.parts.iter().map(|(_, price)| price.max(0.0)).sum();
                self.act(here, &fix.terms, parts * self.money)
            }
            Step::Enter(to) => {
                let place = self.model.practice.work_states[to.at()].enter.place;
                let there = self.modes.mode(*to, place);
                (self.travel.minutes(here, there), there)
            }
            Step::Return(from) => {
                let place = self.model.practice.work_states[from.at()].back.place;
                let there = self.modes.mode(WorkStateIx(0), place);
                (self.travel.minutes(here, there), there)
            }
            Step::Prove => {
                match Composer::new(self.model, situation, &[], &self.drawn)
                    .proof(&situation.person, &self.travel)
                {
                    Proof::Takes { cost, from, to } => (self.travel.minutes(here, from) + cost, to),
                    Proof::AtOnce | Proof::Never => (0.0, here),
                }
            }
            Step::HandOver(_) => {
                let hands_over = matches!(advice.step, Step::HandOver(_));
                let minutes = if hands_over { advice.expected_minutes } else { advice.why.hand_over_minutes };
                return (minutes, stays.0, stays.1);
            }
            Step::PutBack | Step::ConfirmWorkState | Step::Done => return (0.0, stays.0, stays.1),
        };
        (minutes, self.modes.state(there), self.modes.place(there))
    }

    fn act(&self, here: Mode, terms: &Terms, parts: f64) -> (f64, Mode) {
        let (way, there) = self.travel.nearest(here, &self.modes.at(terms));
        (way + terms.minutes.unwrap_or(0.0) * self.factor + parts, there)
    }
}
