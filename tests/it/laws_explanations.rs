//! Explanations are true: what is said can be recomputed, and what is foretold comes about when it is tried.

use proptest::prelude::*;
use whytrip::session::{Answer, Prompt, Session, What};

use crate::hand_made::at;
use crate::walk::{over, walk};

fn after(session: &Session, what: What) -> Option<Session> {
    let mut session = session.clone();
    let no = session.events().len();
    session.apply(at(no, what)).ok()?;
    Some(session)
}

/// The factors lead from the first odds to those of the ranking, for every cause.
fn factors_multiply(session: &Session) {
    let ranking = session.ranking();
    for cause in ranking.causes.iter().filter(|cause| cause.bounds.is_none()) {
        let Some((first, factors)) = session.odds(&cause.id) else { continue };
        let odds = factors.iter().map(|one| one.factor).fold(first, |odds, factor| odds * factor);
        if !odds.is_finite() {
            continue; // seen, so certain
        }
        let (p, gone) = (cause.posterior, odds.recip() / (1.0 + odds.recip()));
        let told = if odds > 1.0 { 1.0 - gone } else { odds / (1.0 + odds) };
        assert!(
            (told - p).abs() <= 1e-9 * p.max(1e-300),
            "{}: {told} by factors, {p} in the ranking",
            cause.id
        );
    }
}

/// Each result that is named leads to the step that is named, and to another than the present one.
fn what_would_change_does(session: &Session) {
    let (Prompt::Test(step), Some(why)) = (session.view().prompt, session.why()) else { return };
    let [choice] = step.choices.as_slice() else { return };
    let mut tried = 0;
    for outcome in &choice.outcomes {
        let model = session.model();
        let finding = model.ids.findings[&choice.finding];
        let named = format!("{}: {outcome}", model.findings[finding.at()].name);
        let Some(at) = why.separates.iter().position(|one| one.0 == named) else { continue };
        let answer = Answer::Outcomes(vec![(choice.finding.clone(), outcome.clone())]);
        let what = What::Answered { test: step.test.clone(), answer, sure: true, words: String::new() };
        let Some(then) = after(session, what) else { continue };
        // An answer may be an emergency; then nothing is planned.
        let Some(reason) = then.why() else { continue };
        assert_eq!(reason.step, why.follows[at].0, "after {named}");
        assert!((reason.expected_minutes - why.follows[at].1).abs() < 1e-9);
        assert_ne!(reason.step, why.step, "{named} does not change the step");
        tried += 1;
    }
    let _ = tried;
}

/// Each other outcome of each answer, tried for real, brings what was said of it.
fn what_if_is_so(session: &Session) {
    for (no, what) in session.entries() {
        let alternatives = session.otherwise(no);
        for one in &alternatives {
            let model = session.model();
            let finding = model.findings.iter().find(|form| form.name == one.about).unwrap();
            let outcome = finding.outcomes.iter().find(|outcome| **outcome == one.outcome);
            let (Some(outcome), id) = (outcome, finding.id.clone()) else { continue };
            let to = match what {
                What::Volunteered { sure, .. } => What::Volunteered {
                    finding: id,
                    outcome: outcome.clone(),
                    sure: *sure,
                    words: String::new(),
                },
                What::Answered { test, answer: Answer::Outcomes(all), sure, .. } if all.len() == 1 => {
                    let answer = Answer::Outcomes(vec![(id, outcome.clone())]);
                    What::Answered { test: test.clone(), answer, sure: *sure, words: String::new() }
                }
                _ => continue,
            };
            let then = after(session, What::Change { event: no, to: Some(Box::new(to)) }).unwrap();
            let ranking = then.ranking();
            let most = ranking.causes.first().map(|cause| (cause.name.clone(), cause.posterior));
            assert_eq!(one.likeliest, most);
            let ratio = (ranking.ln_evidence - session.ranking().ln_evidence).exp();
            assert!((one.fits - ratio).abs() <= 1e-9 * ratio.max(1e-300));
            if let Some(why) = then.why() {
                assert_eq!(one.step, why.step);
            }
        }
    }
}

/// The answer that is named in a conflict is worth looking at: without it the others are as much more probable as is said.
fn the_doubted_answer_disagrees(session: &Session) {
    let Some(doubt) = session.view().doubt.filter(|doubt| doubt.ln_gain.is_finite()) else { return };
    let alone = session.reported(doubt.event).iter().filter(|report| !report.2).count();
    assert!(alone > 0 || doubt.test.is_empty(), "no answer is named");
    assert!(doubt.ln_gain > 0.0, "{} is named and agrees", doubt.name);
    // Withdrawing a complaint changes more than the evidence: what is taken as real, and what counts as answered.
    let symptom = |at: &whytrip::model::index::FindingIx| session.model().findings[at.at()].symptom.is_some();
    if session.model().ids.findings.get(&doubt.finding).is_none_or(symptom) {
        return;
    }
    let Some(without) = after(session, What::Change { event: doubt.event, to: None }) else { return };
    let gain = without.ranking().ln_evidence - session.ranking().ln_evidence;
    assert!(gain > 0.0, "{} is named and agrees", doubt.name);
}

proptest! {
    #![proptest_config(crate::support::cases(48))]

    #[test]
    fn explanations_of_random_calls_are_true(
        seed in any::<u64>(),
        choices in proptest::collection::vec(any::<u32>(), 1..24),
    ) {
        // Models by hand or drawn at random; the shipped package has a test of its own.
        let session = walk(over(seed / 8 * 8 + 1 + seed % 7), &choices, |_| {});
        factors_multiply(&session);
        what_would_change_does(&session);
        what_if_is_so(&session);
        the_doubted_answer_disagrees(&session);
    }
}

#[test]
fn explanations_of_a_call_over_the_shipped_package_are_true() {
    for choices in [[0u32, 0, 0, 1, 0, 0, 0].as_slice(), &[2, 0, 2, 0, 1, 0, 0, 0, 0]] {
        let session = walk(over(0), choices, |_| {});
        factors_multiply(&session);
        what_would_change_does(&session);
        what_if_is_so(&session);
    }
}
