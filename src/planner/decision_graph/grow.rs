//! Unrolls the plan: the likeliest state first, until every path is settled or rarer than the bound.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BinaryHeap};
use std::sync::Arc;

use super::gate::gated;
use super::minutes::Rates;
use super::outcomes::{Outcomes, QUICKLY};
use super::position::{Frame, Key, Position};
use super::{Bounds, Found, Progress};
use crate::inference::Workspace;
use crate::model::Model;
use crate::model::index::CauseIx;
use crate::planner::advice::{Advice, Step};
use crate::planner::advise::{PlanError, advise};
use crate::planner::situation::Situation;

/// Changes of work state with nothing done between them, at most: in, and back again.
const CHANGES: u8 = 2;
/// So many causes are kept for a state.
const CAUSES: usize = 3;
/// Progress is told after so many states.
const TELL: usize = 64;

/// A state and what is done in it.
pub(super) struct Grown {
    pub(super) states: Vec<State>,
    pub(super) frame: Frame,
    pub(super) full: bool,
}

/// A state.
pub(super) struct State {
    pub(super) position: Position,
    pub(super) key: Key,
    /// `None`: nothing is planned here.
    pub(super) advice: Option<Arc<Advice>>,
    pub(super) step: Option<Step>,
    pub(super) minutes: f64,
    pub(super) causes: Vec<(CauseIx, f64)>,
    pub(super) ways: Vec<(Found, f64, usize)>,
    /// What is to be expected where nothing is planned after its step.
    pub(super) otherwise: f64,
}

/// A state to plan for; the likeliest first, then the one found first.
struct Open {
    chance: f64,
    at: usize,
}

impl PartialEq for Open {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Open {}
impl PartialOrd for Open {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Open {
    fn cmp(&self, other: &Self) -> Ordering {
        self.chance.total_cmp(&other.chance).then(other.at.cmp(&self.at))
    }
}

pub(super) fn grow(
    model: &Model,
    start: &Situation,
    bounds: Bounds,
    progress: &mut dyn FnMut(Progress),
) -> Result<Grown, PlanError> {
    let frame = Frame::of(model, &start.complaints);
    let rates = Rates::new(model, start);
    let mut outcomes = Outcomes { model, frame: &frame, tables: Workspace::new(&model.network) };
    let mut states: Vec<State> = Vec::new();
    let mut index: BTreeMap<(Key, u8), usize> = BTreeMap::new();
    let mut open = BinaryHeap::new();
    let mut settled = 0.0;
    let mut planned = 0;
    let first = Position::new(start.clone(), Default::default()).canonical(&frame);
    let mut put = |states: &mut Vec<State>, position: Position| -> (usize, bool) {
        let position = position.canonical(&frame);
        let key = position.key(&frame);
        let found = *index.entry((key.clone(), position.changes)).or_insert(states.len());
        let new = found == states.len();
        if new {
            states.push(State {
                position,
                key,
                advice: None,
                step: None,
                minutes: 0.0,
                causes: Vec::new(),
                ways: Vec::new(),
                otherwise: 0.0,
            });
        }
        (found, new)
    };
    put(&mut states, first);
    open.push(Open { chance: 1.0, at: 0 });
    let mut full = false;
    while let Some(Open { chance, at }) = open.pop() {
        if planned >= bounds.most {
            full = true;
            break;
        }
        planned += 1;
        let position = states[at].position.clone();
        if at > 0 && outcomes.ln(&position).is_none() {
            settled += chance;
            continue;
        }
        let advice = match advise(model, &position.situation, &bounds.budget) {
            Ok(advice) => advice,
            Err(error) if at == 0 => return Err(error),
            Err(_) => continue,
        };
        let mut step = gated(model, &position, &advice);
        if position.changes > CHANGES && matches!(step, Step::Enter(_) | Step::Return(_)) {
            step = Step::HandOver(Default::default());
        }
        let (minutes, work_state, place) = rates.of(&position.situation, &step, &advice);
        let mut there = position.clone();
        there.situation.work_state = position.situation.work_state.map(|_| work_state);
        there.situation.place = place;
        let ways = outcomes.of(&position, &step, there, bounds.cut / chance);
        if ways.is_empty() {
            settled += chance;
        }
        let state = &mut states[at];
        state.minutes = minutes;
        state.otherwise = advice.why.hand_over_minutes;
        state.causes = likeliest(&mut outcomes, &position);
        state.advice = Some(Arc::new(advice));
        state.step = Some(step);
        for way in ways {
            let (to, new) = put(&mut states, way.to);
            if states[to].position.alarm.is_some() {
                states[to].minutes = states[at].otherwise;
                settled += if new { chance * way.chance } else { 0.0 };
            } else if new {
                open.push(Open { chance: chance * way.chance, at: to });
            }
            states[at].ways.push((way.found, way.chance, to));
        }
        if planned % TELL == 0 {
            progress(Progress { states: planned, settled });
        }
    }
    progress(Progress { states: planned, settled });
    Ok(Grown { states, frame, full })
}

fn likeliest(outcomes: &mut Outcomes<'_>, position: &Position) -> Vec<(CauseIx, f64)> {
    let network = &outcomes.model.network;
    let told = &position.situation.evidence;
    let Ok(posterior) = outcomes.tables.causes(network, told, &QUICKLY) else { return Vec::new() };
    let mut causes: Vec<(CauseIx, f64)> =
        posterior.now.iter().enumerate().map(|(at, chance)| (CauseIx::new(at), *chance)).collect();
    causes.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    causes.truncate(CAUSES);
    causes
}
