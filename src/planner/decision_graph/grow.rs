//! Unrolls the plan: the likeliest state first, until every path is settled or rarer than the bound.
//!
//! A state is as likely as the likeliest path to it, and a step's outcome is followed where such a path with it is at least
//! as likely as the bound. States are taken in the order of that chance (the shortest paths of Dijkstra 1959, with products
//! for sums), so that each is final when it is taken, and a lower bound only ever adds states. What is to be done in a state
//! depends on the state alone: the next few are planned for side by side, which changes nothing but the time.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BinaryHeap};

use super::gate::gated;
use super::minutes::Rates;
use super::outcomes::{Outcomes, QUICKLY, Way};
use super::position::{Frame, Key, Position};
use super::{Bounds, Found, Progress};
use crate::inference::Workspace;
use crate::model::index::{CauseIx, FindingIx, PlaceIx, WorkStateIx};
use crate::model::{Fingerprint, Model};
use crate::planner::advice::Step;
use crate::planner::advise::{PlanError, advise};
use crate::planner::situation::Situation;

/// Changes of work state with nothing done between them, at most: in, and back again.
const CHANGES: u8 = 2;
/// So many causes are kept for a state.
const CAUSES: usize = 3;
/// Progress is told after so many states.
const TELL: usize = 64;
/// So many states are planned for side by side.
const SIDE_BY_SIDE: usize = 16;

/// A state and what is done in it.
pub(super) struct Grown {
    pub(super) states: Vec<State>,
    pub(super) frame: Frame,
    pub(super) full: bool,
    /// No plan from the start can expect less.
    pub(super) bound: f64,
}

/// A state.
pub(super) struct State {
    /// By which a session finds it.
    pub(super) mark: Fingerprint,
    pub(super) work_state: WorkStateIx,
    pub(super) place: PlaceIx,
    pub(super) left: Vec<Step>,
    pub(super) complaints: Vec<FindingIx>,
    /// An answer announced this emergency: nothing of the plan goes on.
    pub(super) alarm: Option<usize>,
    /// `None`: nothing is planned here.
    pub(super) step: Option<Step>,
    pub(super) minutes: f64,
    pub(super) causes: Vec<(CauseIx, f64)>,
    pub(super) ways: Vec<(Found, f64, usize)>,
    /// What is to be expected where nothing is planned after its step.
    pub(super) otherwise: f64,
    /// The chance of the likeliest path to it.
    chance: f64,
    /// Where it stands, until it is planned for.
    position: Option<Position>,
}

/// What is done in a state, and what may come of it.
struct Planned {
    step: Step,
    minutes: f64,
    otherwise: f64,
    bound: f64,
    causes: Vec<(CauseIx, f64)>,
    ways: Vec<Way>,
}

/// A state to plan for; the likeliest first, then the one found first.
#[derive(Clone, Copy)]
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
    let planner = Planner { model, frame: &frame, rates: &Rates::new(model, start), bounds };
    let hands = std::thread::available_parallelism().map_or(1, usize::from).min(SIDE_BY_SIDE);
    let mut tables: Vec<Workspace> = (0..hands).map(|_| Workspace::new(&model.network)).collect();
    let mut states = States { frame: &frame, states: Vec::new(), index: BTreeMap::new() };
    let mut open = BinaryHeap::new();
    let mut ready: BTreeMap<usize, Result<Option<Planned>, PlanError>> = BTreeMap::new();
    let (mut settled, mut planned, mut full, mut bound) = (0.0, 0, false, 0.0);
    let first = Position::new(start.clone(), Default::default());
    states.put(first, 1.0);
    open.push(Open { chance: 1.0, at: 0 });
    while let Some(Open { chance, at }) = open.pop() {
        if states.states[at].position.is_none() || chance < states.states[at].chance {
            continue; // planned for already, or found again by a likelier path
        }
        if planned >= bounds.most {
            full = true;
            break;
        }
        if !ready.contains_key(&at) {
            let wanted = states.next(at, bounds.most - planned, &mut open, &ready);
            planner.side_by_side(&states.states, &wanted, bounds.cut / chance, &mut tables, &mut ready);
        }
        planned += 1;
        states.states[at].position = None;
        match ready.remove(&at) {
            Some(Ok(Some(known))) => {
                if at == 0 {
                    bound = known.bound;
                }
                let state = &mut states.states[at];
                (state.minutes, state.otherwise) = (known.minutes, known.otherwise);
                (state.causes, state.step) = (known.causes, Some(known.step));
                let least = bounds.cut / chance;
                let mut followed = false;
                for way in known.ways.into_iter().filter(|way| way.chance >= least) {
                    followed = true;
                    let alarm = way.to.alarm.is_some();
                    let (to, better) = states.put(way.to, chance * way.chance);
                    if alarm {
                        states.states[to].minutes = known.otherwise;
                        settled += chance * way.chance;
                    } else if better {
                        open.push(Open { chance: chance * way.chance, at: to });
                    }
                    states.states[at].ways.push((way.found, way.chance, to));
                }
                settled += if followed { 0.0 } else { chance };
            }
            Some(Err(error)) if at == 0 => return Err(error),
            _ => settled += chance,
        }
        if planned % TELL == 0 {
            progress(Progress { states: planned, settled: settled.min(1.0) });
        }
    }
    progress(Progress { states: planned, settled: settled.min(1.0) });
    let states = states.states;
    Ok(Grown { states, frame, full, bound })
}

/// All states found, equal ones once.
struct States<'a> {
    frame: &'a Frame,
    states: Vec<State>,
    index: BTreeMap<(Key, u8), usize>,
}

impl States<'_> {
    /// The state of a position reached with this chance, and whether that is the likeliest path to it so far.
    fn put(&mut self, position: Position, chance: f64) -> (usize, bool) {
        let position = position.canonical(self.frame);
        let key = position.key(self.frame);
        let mark = key.mark();
        let at = *self.index.entry((key, position.changes)).or_insert(self.states.len());
        if let Some(known) = self.states.get_mut(at) {
            let better = chance > known.chance && known.position.is_some();
            if better {
                known.chance = chance;
            }
            return (at, better);
        }
        self.states.push(State {
            mark,
            work_state: position.situation.work_state.unwrap_or(WorkStateIx(0)),
            place: position.situation.place,
            left: position.left.clone(),
            complaints: position.situation.complaints.clone(),
            alarm: position.alarm,
            step: None,
            minutes: 0.0,
            causes: Vec::new(),
            ways: Vec::new(),
            otherwise: 0.0,
            chance,
            position: position.alarm.is_none().then_some(position),
        });
        (at, true)
    }

    /// This state and those that are likely to come next.
    fn next<T>(
        &self,
        at: usize,
        most: usize,
        open: &mut BinaryHeap<Open>,
        ready: &BTreeMap<usize, T>,
    ) -> Vec<usize> {
        let mut wanted = vec![at];
        let mut taken = Vec::new();
        while wanted.len() < most.min(SIDE_BY_SIDE) {
            let Some(one) = open.pop() else { break };
            let state = &self.states[one.at];
            if state.position.is_none() || one.chance < state.chance {
                continue;
            }
            taken.push(one);
            if !ready.contains_key(&one.at) {
                wanted.push(one.at);
            }
        }
        open.extend(taken);
        wanted
    }
}

#[derive(Clone, Copy)]
struct Planner<'a> {
    model: &'a Model,
    frame: &'a Frame,
    rates: &'a Rates<'a>,
    bounds: Bounds,
}

impl Planner<'_> {
    /// Plans for these states, each with all that is at least as likely as `least`.
    fn side_by_side(
        self,
        states: &[State],
        wanted: &[usize],
        least: f64,
        tables: &mut [Workspace],
        ready: &mut BTreeMap<usize, Result<Option<Planned>, PlanError>>,
    ) {
        let hands = tables.len().max(1);
        std::thread::scope(|scope| {
            let shares: Vec<_> = (tables.iter_mut().enumerate())
                .map(|(hand, tables)| {
                    scope.spawn(move || {
                        let mine = wanted.iter().skip(hand).step_by(hands);
                        mine.filter_map(|&at| {
                            let position = states[at].position.as_ref()?;
                            Some((at, self.plan(position, at == 0, least, tables)))
                        })
                        .collect::<Vec<_>>()
                    })
                })
                .collect();
            for share in shares {
                match share.join() {
                    Ok(planned) => ready.extend(planned),
                    Err(panic) => std::panic::resume_unwind(panic),
                }
            }
        });
    }

    /// `None`: what was told cannot be weighed quickly.
    fn plan(
        self,
        position: &Position,
        first: bool,
        least: f64,
        tables: &mut Workspace,
    ) -> Result<Option<Planned>, PlanError> {
        let mut outcomes = Outcomes { model: self.model, frame: self.frame, tables };
        if !first && outcomes.ln(position).is_none() {
            return Ok(None);
        }
        let advice = advise(self.model, &position.situation, &self.bounds.budget)?;
        let mut step = gated(self.model, position, &advice);
        if position.changes > CHANGES && matches!(step, Step::Enter(_) | Step::Return(_)) {
            step = Step::HandOver(Default::default());
        }
        let (minutes, work_state, place) = self.rates.of(&position.situation, &step, &advice);
        let mut there = position.clone();
        there.situation.work_state = position.situation.work_state.map(|_| work_state);
        there.situation.place = place;
        let ways = outcomes.of(position, &step, there, least);
        let causes = likeliest(&mut outcomes, position);
        Ok(Some(Planned {
            step,
            minutes,
            otherwise: advice.why.hand_over_minutes,
            bound: advice.bound_minutes,
            causes,
            ways,
        }))
    }
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
