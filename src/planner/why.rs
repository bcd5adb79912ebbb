//! The reasons in detail: what a test would separate, what a fix would remove, what is withheld, what stays silent.

use super::advice::{Branch, Step, Withheld};
use super::allowed::anybody;
use super::base_plan::{Act, base_value};
use super::belief::{Belief, merge};
use super::compose::{Composed, Composer};
use super::lookahead::Plan;
use super::prepared::Prepared;
use super::situation::Situation;
use super::standing::Standing;
use crate::inference::{Limits, Workspace};
use crate::model::Model;
use crate::model::catalog::Test;
use crate::model::index::{CauseIx, CompetenceIx, EnclosureIx, FixIx};
use crate::model::practice::{Person, Terms};

/// So many results of a test are explained.
const BRANCHES: usize = 6;
/// So many causes are named per result.
const MOVED: usize = 5;
/// A cause has to move by this much to be named.
const MOVES: f64 = 0.005;
/// So many withheld steps are named.
const WITHHELD: usize = 3;
/// A withheld step has to save this many minutes' worth, and this share of the plan, to be named. A judgement.
const WORTH_MINUTES: f64 = 5.0;
const WORTH_SHARE: f64 = 0.05;
/// A cause that shows in no complaint is listed from this chance on.
const LISTED: f64 = 0.05;

/// What the chosen test would separate, its likeliest results first. The chances before and after are exact posteriors
/// under the evidence as told, so each can be recomputed by adding the answer.
pub(super) fn separates(
    model: &Model,
    situation: &Situation,
    composed: &Composed,
    plan: &Plan,
    act: Act,
    named: impl Fn(Act) -> Step,
) -> Vec<Branch> {
    let Act::Test(test) = act else { return Vec::new() };
    let limits = Limits::default();
    let mut tables = Workspace::new(&model.network);
    let before = tables.causes(&model.network, &situation.evidence, &limits).ok();
    (plan.branches.iter().take(BRANCHES))
        .map(|branch| {
            let mut evidence = situation.evidence.clone();
            let mut outcomes = Vec::new();
            for ((&finding, outcome), shown) in
                composed.findings[test].iter().zip(&branch.outcomes).zip(&composed.problem.tests[test].shows)
            {
                let Some(outcome) = *outcome else { continue };
                outcomes.push((finding, outcome));
                let elsewhere = (1.0 - shown.trust) / (shown.outcomes.max(2) - 1) as f64;
                let weights = (0..shown.outcomes)
                    .map(|at| if at == outcome { shown.trust } else { elsewhere })
                    .collect();
                evidence.soft(finding, weights);
            }
            let after = tables.causes(&model.network, &evidence, &limits).ok();
            let moved = match (&before, &after) {
                (Some(before), Some(after)) => moved(&before.now, &after.now),
                _ => Vec::new(),
            };
            Branch {
                outcomes,
                probability: branch.probability,
                moved,
                then: named(branch.then),
                minutes: branch.value,
            }
        })
        .collect()
}

fn moved(before: &[f64], after: &[f64]) -> Vec<(CauseIx, f64, f64)> {
    let mut moved: Vec<(CauseIx, f64, f64)> = (before.iter().zip(after).enumerate())
        .filter(|(_, (before, after))| (*after - *before).abs() >= MOVES)
        .map(|(at, (before, after))| (CauseIx::new(at), *before, *after))
        .collect();
    moved.sort_by(|a, b| (b.2 - b.1).abs().total_cmp(&(a.2 - a.1).abs()).then(a.0.cmp(&b.0)));
    moved.truncate(MOVED);
    moved
}

/// The causes that a fix may remove, with the chance that each is there.
pub(super) fn removes(
    model: &Model,
    composer: &Composer<'_>,
    standings: &[(Standing, f64)],
    fix: FixIx,
) -> Vec<(CauseIx, f64)> {
    let mut removes: Vec<(CauseIx, f64)> = (model.network.removes(fix).iter())
        .map(|&(cause, _)| {
            let there =
                standings.iter().filter(|(standing, _)| standing.causes.binary_search(&cause).is_ok());
            (cause, there.map(|(_, weight)| weight).sum::<f64>().max(composer.undrawn_chance(cause)))
        })
        .filter(|(_, chance)| *chance > 0.0)
        .collect();
    removes.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    removes
}

/// Causes that are there and reach no complaint, with their chance.
pub(super) fn silent(
    model: &Model,
    composer: &Composer<'_>,
    standings: &[(Standing, f64)],
) -> Vec<(CauseIx, f64)> {
    let undrawn =
        (0..model.causes.len()).map(CauseIx::new).map(|cause| (cause, composer.undrawn_chance(cause)));
    let mut chances: std::collections::BTreeMap<CauseIx, f64> =
        undrawn.filter(|(_, chance)| *chance >= LISTED).collect();
    for (standing, weight) in standings {
        for &cause in &standing.causes {
            let leads = standing.held.iter().any(|(_, leaders)| leaders.contains(&cause));
            if !leads && standing.complaint.causes.binary_search(&cause).is_err() {
                *chances.entry(cause).or_insert(0.0) += weight;
            }
        }
    }
    let mut silent: Vec<(CauseIx, f64)> =
        chances.into_iter().filter(|(_, chance)| *chance >= LISTED).collect();
    silent.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    silent
}

/// Steps that the person present may not or cannot do, with what each alone would save. Each is valued as if somebody did
/// it and left everything else as it is.
pub(super) fn withheld(
    model: &Model,
    situation: &Situation,
    composer: &Composer<'_>,
    own: &Composed,
    minutes: f64,
) -> Vec<Withheld> {
    let wide = composer.compose(Some(&anybody()));
    let problem = &wide.problem;
    let prepared = Prepared::new(problem);
    let mut belief = Belief::start(problem);
    let weight = belief.weight();
    if weight <= 0.0 {
        return Vec::new();
    }
    // Only own fixes count in the plans; what is beyond the person is marked as tried.
    let beyond: Vec<bool> = (wide.fixes.iter().enumerate())
        .map(|(at, fix)| {
            let theirs = own.fixes.iter().position(|other| other == fix);
            problem.fixes[at].cost.is_finite()
                && theirs.is_none_or(|own_at| !own.problem.fixes[own_at].cost.is_finite())
        })
        .collect();
    for (tried, beyond) in belief.tried.iter_mut().zip(&beyond) {
        *tried |= *beyond;
    }
    let value = |belief: &Belief| base_value(&prepared, &belief.items(&prepared), belief.from()).0 / weight;
    let person = &situation.person;
    let lacks = |step: Step, terms: &Terms, saves: f64| lacking(model, person, step, terms, saves);
    let mut withheld: Vec<Withheld> = Vec::new();
    for (at, test) in wide.tests.iter().enumerate() {
        if own.tests.contains(test) || !problem.tests[at].cost.is_finite() || !belief.open(problem, at) {
            continue;
        }
        let cost = problem.tests[at].cost;
        if cost >= minutes {
            continue;
        }
        let mut expected = cost;
        for result in belief.results(problem, at, 1e-2) {
            let items = merge(&prepared, &result.particles);
            expected += base_value(&prepared, &items, belief.from()).0 / weight;
        }
        let form: &Test = &model.tests[test.at()];
        withheld.extend(lacks(Step::Test(*test), &form.terms, minutes - expected));
    }
    for (at, fix) in wide.fixes.iter().enumerate() {
        if beyond[at] {
            let mut with = belief.clone();
            with.tried[at] = false;
            withheld.extend(lacks(Step::Fix(*fix), &model.fixes[fix.at()].terms, minutes - value(&with)));
        }
    }
    withheld.retain(|step| step.saves >= WORTH_MINUTES.max(WORTH_SHARE * minutes));
    withheld.sort_by(|a, b| b.saves.total_cmp(&a.saves).then(a.step.cmp(&b.step)));
    withheld.truncate(WITHHELD);
    withheld
}

/// What a person lacks for a step or, where they could do it itself, for the change of work state before it; `None` where
/// they lack nothing.
fn lacking(model: &Model, person: &Person, step: Step, terms: &Terms, saves: f64) -> Option<Withheld> {
    let practice = &model.practice;
    let enter =
        terms.work_state.filter(|state| state.at() > 0).map(|state| &practice.work_states[state.at()].enter);
    std::iter::once(terms).chain(enter).find_map(|terms| {
        let shut = terms
            .inside
            .is_some_and(|door| practice.enclosures[door.at()].opened_by.0 & person.competences.0 == 0);
        let opens =
            |door: EnclosureIx| practice.enclosures[door.at()].opened_by.iter().next().map(CompetenceIx::new);
        let competence = match (person.competences.has(terms.competence.at()), shut) {
            (false, _) => Some(terms.competence),
            (true, true) => terms.inside.and_then(opens),
            (true, false) => None,
        };
        let instruments = terms.instruments.minus(person.instruments);
        (competence.is_some() || !instruments.is_empty()).then(|| Withheld {
            step: step.clone(),
            competence,
            instruments,
            saves,
        })
    })
}
