//! Everything that stated evidence says: posteriors, predictions, the next step.

use super::statement::Stated;
use crate::inference::{InferenceError, Limits, Posterior, enumerate, posterior, predictions};
use crate::model::Model;
use crate::model::index::{FindingIx, PlaceIx};
use crate::model::practice::{BitSet, Person};
use crate::planner::{Advice, Budget, Situation};
use crate::planner::{PlanError, advise};

/// What the evidence says.
#[derive(Clone, PartialEq, Debug)]
pub struct Standing {
    /// Causes and conditions.
    pub posterior: Posterior,
    /// Per finding and outcome, the probability that it would show now.
    pub predictions: Vec<Vec<f64>>,
    /// Findings that are not answered since the last fix.
    pub unanswered: Vec<FindingIx>,
}

/// Why there is no next step.
#[derive(Clone, PartialEq, Debug)]
pub enum Next {
    /// This one.
    Step(Box<Advice>),
    /// Nothing is complained of.
    NoComplaint,
    /// Nothing has minutes, or there is no fix: nothing can be planned.
    NothingToPlan,
    /// It cannot be planned within the limits.
    OutOfReach(PlanError),
}

/// Why there is no standing.
pub type RankError = InferenceError;

/// Posteriors and predictions under stated evidence.
///
/// # Errors
/// Evidence of probability zero; a network too entangled for the limits.
pub fn rank(model: &Model, stated: &Stated, limits: &Limits) -> Result<Standing, RankError> {
    let posterior = posterior(&model.network, &stated.evidence, limits)?;
    let predictions = predictions(&model.network, &stated.evidence, limits)?;
    let findings = (0..model.findings.len()).map(FindingIx::new);
    let unanswered = findings.filter(|finding| !stated.answered.contains_key(finding)).collect();
    Ok(Standing { posterior, predictions, unanswered })
}

/// The next step for somebody of every competence with every instrument, at the panel, energised.
#[must_use]
pub fn next(model: &Model, stated: &Stated, budget: &Budget) -> Next {
    let all = |count: usize| (0..count).fold(BitSet::default(), BitSet::with);
    let person = Person {
        competences: all(model.practice.competences.len()),
        instruments: all(model.practice.instruments.len()),
    };
    let situation = match situation(model, stated, person) {
        Ok(situation) => situation,
        Err(next) => return next,
    };
    match advise(model, &situation, budget) {
        Ok(advice) => Next::Step(Box::new(advice)),
        Err(error) => Next::OutOfReach(error),
    }
}

/// The situation that statements describe, with that person at the panel, energised.
///
/// # Errors
/// Why nothing can be planned: no complaint, or no fix with minutes.
pub fn situation(model: &Model, stated: &Stated, person: Person) -> Result<Situation, Next> {
    let complaint = |finding: &&FindingIx| model.findings[finding.at()].symptom.is_some();
    let complaints: Vec<FindingIx> = stated.abnormal.iter().filter(complaint).copied().collect();
    if complaints.is_empty() {
        return Err(Next::NoComplaint);
    }
    let timed = |terms: &crate::model::practice::Terms| terms.minutes.is_some();
    if !model.fixes.iter().any(|fix| timed(&fix.terms)) {
        return Err(Next::NothingToPlan);
    }
    Ok(Situation {
        complaints,
        evidence: stated.evidence.clone(),
        answered: stated.answered.clone(),
        done_fixes: stated.evidence.fixes().collect(),
        ..Situation::new(person, PlaceIx(0))
    })
}

/// How far a standing and the oracle are apart.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Verified {
    /// Greatest difference of any posterior, prediction, or of the share of none listed.
    pub greatest: f64,
    /// Relative difference of the probability of the evidence.
    pub evidence: f64,
}

/// Holds a standing against literal enumeration of at most `ways` ways.
///
/// # Errors
/// Too many ways.
pub fn verify(model: &Model, stated: &Stated, standing: &Standing, ways: u64) -> Result<Verified, RankError> {
    let told = enumerate::everything(&model.network, &stated.evidence, ways)?;
    let (ours, theirs) = (&standing.posterior, &told.posterior);
    let pairs = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
    let parts = [
        pairs(&ours.now, &theirs.now),
        pairs(&ours.at_first, &theirs.at_first),
        pairs(&ours.conditions_now, &theirs.conditions_now),
        (ours.none_listed - theirs.none_listed).abs(),
        pairs(&standing.predictions.concat(), &told.predictions.concat()),
    ];
    let evidence = (ours.ln_evidence - theirs.ln_evidence).exp_m1().abs();
    Ok(Verified { greatest: parts.into_iter().fold(0.0, f64::max), evidence })
}
