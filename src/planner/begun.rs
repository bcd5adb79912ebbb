//! What a change of work state was made for comes before planning anew.
//!
//! In: a situation in which the work state was changed and nothing was learned since. Out: the advice for which it was
//! changed, if it was changed on advice. Plans are compared by estimates: where two are close, the way that has been gone
//! already could otherwise tip the choice, and the equipment would be locked out and brought back without anything having
//! been done in between.
//!
//! Invariant: the step is one that the planner chose with the same knowledge, so keeping to it loses no information.

use super::advice::{Advice, Step, Way};
use super::situation::Situation;
use crate::model::Model;
use crate::model::index::WorkStateIx;

/// The state at the start.
const START: WorkStateIx = WorkStateIx(0);

/// The advice on which the work state was changed, less the change; `None` where it was not changed just now, or not on
/// advice. Costs one plan where it was changed.
pub(super) fn begun(
    model: &Model,
    situation: &Situation,
    plan: &impl Fn(&Situation) -> Advice,
) -> Option<Advice> {
    let (from, now) = (situation.came_from?, situation.work_state?);
    let before = Situation { work_state: Some(from), came_from: None, ..situation.clone() };
    let mut advice = plan(&before);
    let change = match advice.step {
        Step::Enter(to) if to == now => Way::Enter(to),
        Step::Return(of) if of == from && now == START => Way::Return(of),
        _ => return None,
    };
    advice.step = advice.why.aim.take()?;
    let states = &model.practice.work_states;
    let terms = match change {
        Way::Return(of) => &states.get(of.at())?.back,
        _ => &states.get(now.at())?.enter,
    };
    let minutes = terms.minutes.unwrap_or_default();
    advice.expected_minutes -= minutes;
    advice.bound_minutes = (advice.bound_minutes - minutes).max(0.0);
    advice.why.step_minutes -= minutes;
    advice.why.way_minutes = (advice.why.way_minutes - minutes).max(0.0);
    advice.why.way.retain(|way| *way != change);
    Some(advice)
}
