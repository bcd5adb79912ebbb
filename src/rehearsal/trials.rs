//! Many calls: each cause by itself, and random pairs of causes.
//!
//! In: stories of one site or more, callers, how many calls, a seed. Out: a [`Tally`] per kind of cause and caller. Each
//! kind of cause is a piece of work of its own with its own player, so that the result does not depend on the number of
//! threads.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use super::caller::Caller;
use super::chance::{bits, named};
use super::fast::Player;
use super::played::Played;
use super::site::Site;
use super::tally::Tally;
use super::truth::{Story, Truth};
use crate::model::Model;
use crate::model::index::{CauseIx, FindingIx};
use crate::planner::Budget;

/// So many sites are drawn for a call before the causes count as silent there.
const DRAWS: u64 = 20;

/// A site for trials: the story that is told, and the model that the planner believes in.
#[derive(Clone, Debug)]
pub struct Ground {
    /// How it is called in reports: the job and the stage.
    pub name: String,
    /// What is so.
    pub story: Arc<Story>,
    /// What the planner believes: the same with the least leaks of a session.
    pub believed: Model,
}

impl Ground {
    /// The ground of a compiled model.
    #[must_use]
    pub fn new(name: String, model: Model) -> Self {
        let mut believed = model.clone();
        believed.network = believed.network.with_least_leak(crate::session::LEAST_LEAK);
        Self { name, story: Arc::new(Story::new(model, true)), believed }
    }
}

/// How trials are made.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Plan {
    /// Calls per kind of cause and caller, or pairs per caller.
    pub calls: u32,
    /// The seed of the sites.
    pub seed: u64,
    /// Threads; the result does not depend on it.
    pub threads: usize,
    /// The planner's effort.
    pub budget: Budget,
}

/// A kind of cause and what came of its calls, per caller.
#[derive(Clone, PartialEq, Debug)]
pub struct Row {
    /// `component/cause`; of a pair, both.
    pub kind: String,
    /// The ground on which it was played.
    pub ground: String,
    /// Parallel to the callers.
    pub tallies: Vec<Tally>,
    /// Per caller, the calls that did not find every hidden cause.
    pub missed: Vec<Vec<Played>>,
}

/// The kinds of causes on these grounds, each with the first ground on which it can be there, and its instances.
#[must_use]
pub fn kinds(grounds: &[Ground]) -> BTreeMap<String, (usize, Vec<CauseIx>)> {
    let mut kinds: BTreeMap<String, (usize, Vec<CauseIx>)> = BTreeMap::new();
    for (at, ground) in grounds.iter().enumerate() {
        let model = &ground.story.model;
        for (cause, form) in model.causes.iter().enumerate() {
            let cause = CauseIx::new(cause);
            let possible = model.network.prior(cause) > 0.0 || !model.network.led_by(cause).is_empty();
            let name = form.id.rsplit('/').next().unwrap_or_default();
            let component = form.unit.map_or_else(
                || form.id.split('/').next().unwrap_or_default(),
                |unit| &model.units[unit.at()].component,
            );
            if possible {
                let kind = kinds.entry(format!("{component}/{name}")).or_insert((at, Vec::new()));
                if kind.0 == at {
                    kind.1.push(cause);
                }
            }
        }
    }
    kinds
}

/// Plays each kind of cause by itself (those that hold the text `only`), `plan.calls` calls per caller, its instances in turn.
#[must_use]
pub fn each_cause(grounds: &[Ground], callers: &[Caller], only: Option<&str>, plan: &Plan) -> Vec<Row> {
    let wanted = |kind: &str| only.is_none_or(|only| kind.contains(only));
    let kinds: Vec<(String, (usize, Vec<CauseIx>))> =
        kinds(grounds).into_iter().filter(|(kind, _)| wanted(kind)).collect();
    parted(kinds.len(), plan.threads, |at| {
        let (kind, (ground, causes)) = &kinds[at];
        let ground = &grounds[*ground];
        let mut player = Player::new(&ground.believed, plan.budget);
        let counted = callers.iter().map(|caller| {
            player.forget();
            let mut counted = (Tally::default(), Vec::new());
            for call in 0..plan.calls {
                let cause = causes[call as usize % causes.len()];
                let seed = bits(plan.seed, &[named(kind), u64::from(call)]);
                call_of(&mut player, ground, caller, &[cause], seed, &mut counted);
            }
            counted
        });
        let (tallies, missed) = counted.unzip();
        Row { kind: kind.clone(), ground: ground.name.clone(), tallies, missed }
    })
}

/// Plays random pairs of causes of one ground, each pair once per caller.
#[must_use]
pub fn pairs(grounds: &[Ground], callers: &[Caller], plan: &Plan) -> Vec<Row> {
    parted(plan.calls as usize, plan.threads, |at| {
        let pick =
            |what: u64, of: usize| bits(plan.seed, &[named("pair"), at as u64, what]) as usize % of.max(1);
        let ground = &grounds[pick(0, grounds.len())];
        let network = &ground.story.model.network;
        let all: Vec<CauseIx> =
            (0..network.causes()).map(CauseIx::new).filter(|&cause| network.prior(cause) > 0.0).collect();
        let (first, second) = (all[pick(1, all.len())], pick(2, all.len().saturating_sub(1)));
        let others: Vec<CauseIx> = all.into_iter().filter(|&cause| cause != first).collect();
        let pair: Vec<CauseIx> = std::iter::once(first).chain(others.get(second).copied()).collect();
        let mut player = Player::new(&ground.believed, plan.budget);
        let counted = callers.iter().map(|caller| {
            player.forget();
            let mut counted = (Tally::default(), Vec::new());
            let seed = bits(plan.seed, &[named("call"), at as u64]);
            call_of(&mut player, ground, caller, &pair, seed, &mut counted);
            counted
        });
        let (tallies, missed) = counted.unzip();
        let names: Vec<&str> = pair.iter().map(|cause| &*ground.story.model.causes[cause.at()].id).collect();
        Row { kind: names.join(" + "), ground: ground.name.clone(), tallies, missed }
    })
}

/// One call about these causes: on the first site drawn on which each of them shows in a complaint.
fn call_of(
    player: &mut Player<'_>,
    ground: &Ground,
    caller: &Caller,
    hidden: &[CauseIx],
    seed: u64,
    (tally, missed): &mut (Tally, Vec<Played>),
) {
    let Some((site, complaints)) = site_of(ground, caller, hidden, seed) else {
        tally.silent += 1;
        return;
    };
    let played = player.play(site, &complaints, hidden);
    tally.add(&played);
    if !played.found() {
        missed.push(played);
    }
}

/// The first site by these draws on which each of the causes shows in a complaint, with one complaint of each.
#[must_use]
pub fn site_of(
    ground: &Ground,
    caller: &Caller,
    hidden: &[CauseIx],
    seed: u64,
) -> Option<(Site, Vec<FindingIx>)> {
    (0..DRAWS).find_map(|draw| {
        let seed = bits(seed, &[draw]);
        let told = |causes: &[CauseIx]| {
            Site::new(Truth::with(Arc::clone(&ground.story), seed, causes), caller.clone())
        };
        let mut complaints = Vec::new();
        for &cause in hidden {
            let alone = told(&[cause]);
            complaints.push(alone.one_of(&alone.complaints())?);
        }
        complaints.sort_unstable();
        complaints.dedup();
        Some((told(hidden), complaints))
    })
}

/// `pieces` pieces of work over `threads` threads, the results in their order.
fn parted<T: Send>(pieces: usize, threads: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<(usize, T)>> = Mutex::new(Vec::with_capacity(pieces));
    std::thread::scope(|scope| {
        for _ in 0..threads.clamp(1, pieces.max(1)) {
            scope.spawn(|| {
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    if at >= pieces {
                        break;
                    }
                    let result = work(at);
                    done.lock().unwrap_or_else(std::sync::PoisonError::into_inner).push((at, result));
                }
            });
        }
    });
    let mut done = done.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, result)| result).collect()
}
