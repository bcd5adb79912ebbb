//! The choice of the next act: one-step look-ahead over all tests, and further while the effort lasts.
//!
//! V₀(b) is the value of the base plan. A test t is worth V₁(b, t) = cost(t) + Σ over results of V₀(b after the result);
//! it is taken when it beats V₀(b): the value of sample information net of its cost (Raiffa & Schlaifer 1961; from
//! memory). Where a result opens further tests that needed it, these are looked at in the same step. With effort to
//! spare, the acts are valued again by roll-out with two steps ([`super::policy`]).
//!
//! Every value is that of a plan that can be carried out, so it bounds the optimum from above; V₀ includes stopping at
//! once, so nothing here ever costs more than that. Effort is counted in beliefs valued, so results repeat. Ties go to
//! the cheaper act, then to the smaller index.

use super::acts::FINE;
use super::base_plan::{Act, From, Item, NOTHING, base_plan, base_value, best_stop, stop_value};
use super::belief::{Belief, Particle, Result, merge};
use super::policy::{Policies, SHORTLIST};
use super::prepared::Prepared;
use super::problem::{Problem, Proof};
use super::screen::{Promise, Rows, opened_by, promising};
use super::travel::Mode;
use crate::model::practice::BitSet;

/// A test must save at least this many minutes' worth, or it is talk.
const WORTH: f64 = 1e-9;
/// From this share on a class is taken for all but certain, and a test has to save the other share of what is to be expected
/// without it: samples know no finer. A judgement.
const CERTAIN: f64 = 0.95;
const SHARE: f64 = 0.01;
/// Before somebody is sent, a question of so few minutes' worth may save less: nobody travels for what could be asked.
const QUESTION: f64 = 2.0;
/// Tests worse than the base plan by more than this share are not listed.
const NEAR: f64 = 0.1;
/// Tests whose values differ by less than this part of the least saving are taken for equal: samples cannot tell them apart.
const TIE: f64 = 0.2;
/// A test is looked at while it may save this share of what the best one saves.
const WORTH_A_LOOK: f64 = 0.5;
/// So many fixes, best by chance over cost, are valued as the first act.
const FIXES: usize = 6;

/// What to do about a problem.
#[derive(Clone, PartialEq, Debug)]
pub struct Plan {
    /// The act to take.
    pub act: Act,
    /// Expected cost of this act and the plan behind it, per unit of weight.
    pub value: f64,
    /// Expected cost of the best plan without tests.
    pub base: f64,
    /// The base plan's acts, with the chance that each is reached.
    pub base_acts: Vec<(Act, f64)>,
    /// Acts valued, cheapest first, the chosen one included. A stop or fix appears with the plan behind it.
    pub valued: Vec<(Act, f64)>,
    /// The cheapest stop at once, with its value.
    pub stop: Option<(usize, f64)>,
    /// For a test: its results.
    pub branches: Vec<PlanBranch>,
    /// Perfect-information bound: no plan can expect less.
    pub bound: f64,
    /// Beliefs valued.
    pub expansions: u64,
}

/// A result of the chosen test, and what follows.
#[derive(Clone, PartialEq, Debug)]
pub struct PlanBranch {
    /// An outcome per finding; `None` where it was too unlikely to be split off.
    pub outcomes: Vec<Option<usize>>,
    /// Its chance.
    pub probability: f64,
    /// The act that follows under the base plan or the next test.
    pub then: Act,
    /// Expected cost from there.
    pub value: f64,
}

/// Plans for a problem, with at most `expansions` beliefs valued beyond the one-step look-ahead over all tests.
#[must_use]
pub fn plan(problem: &Problem, expansions: u64) -> Plan {
    let prepared = Prepared::new(problem);
    plan_over(&prepared, &Belief::start(problem), usize::MAX, expansions)
}

/// The same from the belief at the start, over no more than `tests` tests: where there are more, the most promising ones.
///
/// Cost: one base plan for each result of each test that is valued.
pub(crate) fn plan_over(prepared: &Prepared<'_>, belief: &Belief, tests: usize, expansions: u64) -> Plan {
    let problem = prepared.problem;
    let weight = belief.weight();
    let mut search = Search { prepared, spent: 0, rows: Rows::default(), items: Vec::new() };
    if weight <= 0.0 {
        return Plan {
            act: Act::Done,
            value: 0.0,
            base: 0.0,
            base_acts: Vec::new(),
            valued: Vec::new(),
            stop: None,
            branches: Vec::new(),
            bound: 0.0,
            expansions: 0,
        };
    }
    let items = belief.items(prepared);
    let base = base_plan(prepared, &items, belief.from());
    search.spent += 1;
    let stop = best_stop(prepared, &items, belief.from(), f64::INFINITY);
    let mut valued: Vec<(Act, f64, f64)> = Vec::new(); // act, value, cost of the act itself
    let first = base.acts.first().map_or(Act::Done, |(act, _)| *act);
    valued.push((first, base.value, search.cost(belief, first)));
    // What is clearly worse than doing without is not worth its exact value.
    let near = base.value + NEAR * base.value.abs();
    let mut best = base.value;
    let promises = if problem.tests.len() > tests {
        promising(prepared, belief, base.value / weight, &mut search.rows)
    } else {
        (0..problem.tests.len()).map(|test| Promise { test, saves: f64::INFINITY }).collect()
    };
    for promise in promises.into_iter().take(tests) {
        // Less than the best so far saves, and a share of that, is not worth its exact value.
        if promise.saves < WORTH_A_LOOK * (base.value - best) {
            break;
        }
        if let Some(value) = search.test(belief, promise.test, near) {
            valued.push((Act::Test(promise.test), value, search.cost(belief, Act::Test(promise.test))));
            best = best.min(value);
        }
    }
    for which in 0..problem.stops.len() {
        if first != Act::Stop(which) {
            let value = stop_value(prepared, which, &items, belief.from());
            valued.push((Act::Stop(which), value, 0.0));
        }
    }
    for fix in search.likely_fixes(belief, &items) {
        if first == Act::Fix(fix) {
            continue;
        }
        if let Some(value) = search.fix(belief, fix) {
            valued.push((Act::Fix(fix), value, search.cost(belief, Act::Fix(fix))));
        }
    }
    // Where one class is all but certain, what else is asked has to save a share of what is to be expected.
    let certain = items.iter().any(|item| item.weight >= CERTAIN * weight);
    let share = if certain && problem.least_saving > 0.0 { SHARE * base.value / weight } else { 0.0 };
    let least = problem.least_saving.max(share) * weight;
    let worth =
        Worth { nothing: WORTH * (1.0 + base.value.abs()), least, ending: matches!(first, Act::Stop(_)) };
    sort(&mut valued, worth, base.value);
    let mut spent = search.spent;
    if expansions > 0 {
        // Behind the first act only the tests that do best now are looked at.
        let tests =
            valued.iter().filter_map(|(act, ..)| if let Act::Test(test) = act { Some(*test) } else { None });
        let mut policies = Policies::new(prepared, expansions);
        policies.look_only_at(tests.take(SHORTLIST));
        for (act, value) in policies.thorough(belief) {
            match valued.iter_mut().find(|(known, ..)| *known == act) {
                Some(known) => known.1 = known.1.min(value),
                None => valued.push((act, value, search.cost(belief, act))),
            }
        }
        spent += policies.spent;
        sort(&mut valued, worth, base.value);
    }
    valued.retain(|(_, value, _)| value.is_finite());
    settle(&mut valued, TIE * least);
    let (act, value) = valued.first().map_or((first, base.value), |&(act, value, _)| (act, value));
    let branches = match act {
        Act::Test(test) => search.branches(belief, test),
        _ => Vec::new(),
    };
    Plan {
        act,
        value: value / weight,
        base: base.value / weight,
        base_acts: base.acts.iter().map(|(act, reach)| (*act, reach / weight)).collect(),
        valued: valued.iter().map(|(act, value, _)| (*act, value / weight)).collect(),
        stop: stop.map(|(value, which)| (which, value / weight)),
        branches,
        bound: prepared.perfect(),
        expansions: spent,
    }
}

/// What a test has to save.
#[derive(Clone, Copy)]
struct Worth {
    /// Rounding.
    nothing: f64,
    /// The least saving.
    least: f64,
    /// The plan without tests ends the work of the person present at once.
    ending: bool,
}

impl Worth {
    fn of(self, cost: f64) -> f64 {
        let short = self.ending && cost <= QUESTION;
        self.nothing + self.least * if short { TIE } else { 1.0 }
    }
}

/// Cheapest first; a test that saves less than it is worth against the base plan is talk, and comes behind it.
fn sort(valued: &mut [(Act, f64, f64)], worth: Worth, base: f64) {
    valued.sort_by(|a, b| {
        let talk = |(act, value, cost): &(Act, f64, f64)| {
            matches!(act, Act::Test(_)) && *value > base - worth.of(*cost)
        };
        (talk(a).cmp(&talk(b))).then(a.1.total_cmp(&b.1)).then(a.2.total_cmp(&b.2)).then(a.0.cmp(&b.0))
    });
}

/// Where the best is a test, another one that is as good but for `tie` and costs less by itself comes first; the first of
/// equals in the order of the problem.
fn settle(valued: &mut [(Act, f64, f64)], tie: f64) {
    let Some(&(Act::Test(_), best, _)) = valued.first() else { return };
    let as_good = (valued.iter().enumerate())
        .filter(|(_, (act, value, _))| matches!(act, Act::Test(_)) && *value <= best + tie)
        .min_by(|(_, a), (_, b)| a.2.total_cmp(&b.2).then(a.0.cmp(&b.0)));
    if let Some((at, _)) = as_good {
        valued[..=at].rotate_right(1);
    }
}

struct Search<'a, 'p> {
    prepared: &'a Prepared<'p>,
    spent: u64,
    rows: Rows,
    items: Vec<Item>,
}

impl Search<'_, '_> {
    /// The value of the base plan, and its first act.
    fn base(&mut self, belief: &Belief) -> (f64, Act) {
        self.spent += 1;
        base_value(self.prepared, &belief.items(self.prepared), belief.from())
    }

    /// Minutes' worth of an act by itself.
    fn cost(&self, belief: &Belief, act: Act) -> f64 {
        match act {
            Act::Test(test) => belief.to_test(self.prepared.problem, test).0,
            Act::Fix(fix) => self.prepared.present.to_fix(belief.mode, fix).0,
            Act::Prove => self.prepared.present.to_proof(belief.mode),
            Act::Stop(_) | Act::Done => 0.0,
        }
    }

    /// The fixes that remove something wanted, best by chance over cost first, as many as are valued.
    fn likely_fixes(&self, belief: &Belief, items: &[Item]) -> Vec<usize> {
        let crew = &self.prepared.present;
        let gain = self.prepared.gains(items);
        let least = NOTHING * belief.weight();
        let mut fixes: Vec<(f64, usize)> = (0..gain.len())
            .filter(|&fix| !belief.tried[fix] && gain[fix] > least)
            .map(|fix| {
                let (cost, there) = crew.to_fix(belief.mode, fix);
                (gain[fix] / (cost + crew.to_proof(there)).max(1e-9), fix)
            })
            .filter(|(ratio, _)| *ratio > 0.0)
            .collect();
        fixes.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        fixes.into_iter().take(FIXES).map(|(_, fix)| fix).collect()
    }

    /// No plan from here can cost less: perfect information, less the way here from the start.
    fn floor(&self, particles: &[Particle], mode: Mode, unproven: bool) -> f64 {
        let problem = self.prepared.problem;
        let way = problem.travel.minutes(problem.start, mode);
        if unproven != problem.unproven || !way.is_finite() {
            return f64::NEG_INFINITY;
        }
        let mut floor = 0.0;
        for particle in particles {
            let class = self.prepared.class_of[particle.candidate];
            match particle.gone.is_empty() {
                true => floor += particle.weight * (self.prepared.bound[class] - way),
                false => return f64::NEG_INFINITY,
            }
        }
        floor
    }

    /// The value of taking a test first; `None` where it cannot be taken now, tells
    /// nothing, or cannot come below `below`.
    fn test(&mut self, belief: &Belief, test: usize, below: f64) -> Option<f64> {
        let problem = self.prepared.problem;
        if !belief.open(problem, test) {
            return None;
        }
        let (cost, mode) = belief.to_test(problem, test);
        let weight = belief.weight();
        let (way, _) = problem.travel.nearest(belief.mode, &problem.tests[test].at);
        let floor = self.floor(&belief.particles, belief.mode, belief.unproven);
        if !cost.is_finite() || (cost - way) * weight + floor >= below {
            return None;
        }
        if belief.untouched() && problem.tests[test].shows.len() == 1 && self.opened_by(test).is_empty() {
            return self.plain_test(belief, test, (cost, mode), below);
        }
        let mut results = belief.results(problem, test, FINE);
        if results.len() < 2 {
            return None;
        }
        results.sort_by(|a, b| b.weight.total_cmp(&a.weight).then(a.outcomes.cmp(&b.outcomes)));
        let floors: Vec<f64> =
            results.iter().map(|result| self.floor(&result.particles, mode, belief.unproven)).collect();
        let mut value = cost * weight;
        for (at, result) in results.iter().enumerate() {
            value += self.follow(belief, test, result, mode);
            if value + floors[at + 1..].iter().sum::<f64>() >= below {
                return None;
            }
        }
        Some(value)
    }

    /// The same for a test of one finding that opens no other, before any fix: by class.
    fn plain_test(
        &mut self,
        belief: &Belief,
        test: usize,
        (cost, mode): (f64, Mode),
        below: f64,
    ) -> Option<f64> {
        let prepared = self.prepared;
        self.rows.split(prepared, belief, &prepared.problem.tests[test].shows[0]);
        if self.rows.whole.iter().filter(|weight| **weight > 0.0).count() < 2 {
            return None;
        }
        let mut order: Vec<usize> = (0..self.rows.whole.len()).collect();
        order.sort_by(|&a, &b| self.rows.whole[b].total_cmp(&self.rows.whole[a]).then(a.cmp(&b)));
        let mut value = cost * belief.weight();
        for outcome in order {
            if self.rows.whole[outcome] <= 0.0 {
                continue;
            }
            self.spent += 1;
            self.items.clear();
            self.items.extend(
                (self.rows.of(outcome).iter().enumerate())
                    .filter(|(_, weight)| **weight > 0.0)
                    .map(|(class, &weight)| Item { class, gone: BitSet::default(), weight }),
            );
            value += base_value(prepared, &self.items, From { mode, ..belief.from() }).0;
            if value >= below && prepared.least_stop >= 0.0 {
                return None;
            }
        }
        Some(value)
    }

    /// The value behind a result.
    fn follow(&mut self, belief: &Belief, test: usize, result: &Result, mode: Mode) -> f64 {
        let problem = self.prepared.problem;
        let opens = self.opened_by(test);
        if opens.is_empty() {
            self.spent += 1;
            let items = merge(self.prepared, &result.particles);
            return base_value(self.prepared, &items, From { mode, ..belief.from() }).0;
        }
        let after = belief.after(problem, test, result);
        self.look(&after, &opens).0
    }

    fn opened_by(&self, test: usize) -> Vec<usize> {
        opened_by(self.prepared.problem, test).collect()
    }

    /// The best of the base plan and of every test in `tests`.
    fn look(&mut self, belief: &Belief, tests: &[usize]) -> (f64, Act) {
        let (mut best, mut act) = self.base(belief);
        for &test in tests {
            if let Some(value) = self.test(belief, test, best).filter(|value| *value < best) {
                best = value;
                act = Act::Test(test);
            }
        }
        (best, act)
    }

    /// The value of doing a fix first and proving it, then the base plan.
    fn fix(&mut self, belief: &Belief, fix: usize) -> Option<f64> {
        let problem = self.prepared.problem;
        let (cost, there) = self.prepared.present.to_fix(belief.mode, fix);
        let whole = (cost + self.prepared.present.to_proof(there)) * belief.weight();
        if !whole.is_finite() {
            return None;
        }
        let end = match problem.proof {
            Proof::Takes { to, .. } => to,
            _ => there,
        };
        let failed = belief.fixed(problem, fix).failed(problem, end);
        if failed.particles.is_empty() {
            return Some(whole);
        }
        Some(whole + self.base(&failed).0)
    }

    fn branches(&mut self, belief: &Belief, test: usize) -> Vec<PlanBranch> {
        let problem = self.prepared.problem;
        let weight = belief.weight();
        let results = belief.results(problem, test, FINE);
        let mut branches: Vec<PlanBranch> = (results.iter())
            .map(|result| {
                let after = belief.after(problem, test, result);
                let (value, then) = self.look(&after, &self.opened_by(test));
                PlanBranch {
                    outcomes: result.outcomes.clone(),
                    probability: result.weight / weight,
                    then,
                    value: value / result.weight,
                }
            })
            .collect();
        branches.sort_by(|a, b| b.probability.total_cmp(&a.probability).then(a.outcomes.cmp(&b.outcomes)));
        branches
    }
}
