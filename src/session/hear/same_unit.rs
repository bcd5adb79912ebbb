//! Clauses that speak of the unit of another clause.
//!
//! "The fryer fan is dead and hums", "the fan is dead, the one over the fryer", "the fryer and the grill fan are dead": a unit
//! is named in one clause, the symptom in another. Invariant: this only settles what is in doubt without it.

use super::Context;
use super::assent::sure;
use super::index::{Known, SymptomKind};
use super::line::{Gathered, unit_words};
use super::meaning::{Choice, Doubt, Meaning};
use super::symptom::{Clause, Said, symptoms};
use super::token::Token;
use super::unit::meant;
use crate::model::index::FindingIx;

/// A clause that names no unit, heard as said of the unit that the line named last: where that alone settles its doubt.
pub(super) fn of_the_same(
    line: &str,
    bare: Said,
    unit: &[(Token, Vec<Known>)],
    tokens: &[Token],
    words: &[Vec<Known>],
    context: &Context,
    heard: &Gathered,
) -> Said {
    let open = match &bare {
        Said::Symptoms(meanings) => meanings.iter().any(|m| {
            matches!(
                m,
                Meaning::Symptom(super::Reported { about: super::About::NewUnit { name: None, .. }, .. })
            )
        }),
        Said::Doubtful(unclear) => matches!(unclear.doubt, Doubt::WhichUnit | Doubt::SeveralFit),
        Said::Nothing => false,
    };
    if !open {
        return bare;
    }
    if unit.is_empty() {
        return named_before(bare, heard);
    }
    let all: Vec<Token> = unit.iter().map(|u| &u.0).chain(tokens).cloned().collect();
    let known: Vec<Vec<Known>> = unit.iter().map(|u| &u.1).chain(words).cloned().collect();
    let clause = Clause { line, tokens: &all, known: &known, sure: sure(tokens) };
    let component = |m: &Meaning| match m {
        Meaning::Symptom(reported) => match &reported.about {
            super::About::Finding(f) => Some(context.model.findings[f.at()].kind.0.clone()),
            super::About::OneOf(all) => all.first().map(|f| context.model.findings[f.at()].kind.0.clone()),
            super::About::NewUnit { component, .. } => Some(component.clone()),
        },
        _ => None,
    };
    let before = heard.meanings.iter().rev().find_map(component);
    match symptoms(&context.ear.index, context.model, &clause) {
        Said::Symptoms(meanings) if meanings.iter().all(|m| before.is_none() || component(m) == before) => {
            Said::Symptoms(meanings)
        }
        _ => bare,
    }
}

/// A new unit that the line named before is meant again where a clause names none.
fn named_before(bare: Said, heard: &Gathered) -> Said {
    use super::{About, Reported};
    let named = heard.meanings.iter().rev().find_map(|m| match m {
        Meaning::Symptom(Reported { about: About::NewUnit { component, name: Some(name), .. }, .. }) => {
            Some((component.clone(), name.clone()))
        }
        _ => None,
    });
    let Some((of, called)) = named else { return bare };
    let call = |mut meaning: Meaning| {
        let Meaning::Symptom(Reported { about: About::NewUnit { component, name, .. }, .. }) = &mut meaning
        else {
            return meaning;
        };
        if *component == of && name.is_none() {
            *name = Some(called.clone());
        }
        meaning
    };
    match bare {
        Said::Symptoms(meanings) => Said::Symptoms(meanings.into_iter().map(call).collect()),
        // Several kinds have such a symptom: the one that the line speaks of is meant.
        Said::Doubtful(unclear) if unclear.doubt == Doubt::SeveralFit => {
            let of_it = |c: &&Choice| {
                matches!(c.means.as_slice(),
                    [Meaning::Symptom(Reported { about: About::NewUnit { component, .. }, .. })] if *component == of)
            };
            let mut fitting = unclear.choices.iter().filter(of_it);
            match (fitting.next(), fitting.next()) {
                (Some(one), None) => Said::Symptoms(one.means.iter().cloned().map(call).collect()),
                _ => Said::Doubtful(unclear),
            }
        }
        other => other,
    }
}

/// "the fan is dead, the one over the fryer": a bare unit settles which unit the doubt before it was about.
pub(super) fn narrow(
    line: &str,
    tokens: &[Token],
    words: &[Vec<Known>],
    context: &Context,
    heard: &mut Gathered,
) -> Option<Vec<Meaning>> {
    let unclear =
        heard.first_doubt.as_ref().filter(|u| u.doubt == Doubt::WhichUnit || u.doubt == Doubt::SeveralFit)?;
    let about = |choice: &Choice| match choice.means.as_slice() {
        [Meaning::Symptom(super::Reported { about: super::About::Finding(finding), .. })] => Some(*finding),
        _ => None,
    };
    let findings: Vec<FindingIx> = unclear.choices.iter().filter_map(about).collect();
    let first = context.model.findings.get(findings.first()?.at())?;
    let kind = SymptomKind {
        component: first.kind.0.clone(),
        name: first.kind.1.clone(),
        outcomes: first.outcomes.clone(),
        findings: findings.iter().map(|&f| (f, context.model.findings[f.at()].unit)).collect(),
        ..SymptomKind::default()
    };
    let meant = meant(&context.ear.index, line, tokens, words, &[], &kind);
    let [finding] = meant.findings.as_slice() else { return None };
    let means = unclear.choices.iter().find(|c| about(c) == Some(*finding))?.means.clone();
    heard.first_doubt = None;
    Some(means)
}

/// A bare unit before a clause with a symptom: the symptom is said of it, too.
#[allow(clippy::too_many_arguments)]
pub(super) fn both(
    line: &str,
    said: &[Token],
    known: &[Vec<Known>],
    bare: &std::ops::Range<usize>,
    tokens: &[Token],
    words: &[Vec<Known>],
    context: &Context,
    heard: &mut Gathered,
) {
    let own = unit_words(tokens, words, context);
    let kept: Vec<usize> = (0..tokens.len())
        .filter(|at| {
            let shared = words[*at]
                .iter()
                .any(|k| context.ear.index.components.values().any(|c| c.kind.contains(&k.word)));
            !own.contains(at) || shared
        })
        .collect();
    let tokens: Vec<Token> =
        said[bare.clone()].iter().chain(kept.iter().map(|&at| &tokens[at])).cloned().collect();
    let words: Vec<Vec<Known>> =
        known[bare.clone()].iter().chain(kept.iter().map(|&at| &words[at])).cloned().collect();
    let clause = Clause { line, tokens: &tokens, known: &words, sure: sure(&tokens) };
    match symptoms(&context.ear.index, context.model, &clause) {
        Said::Symptoms(meanings) => heard.meanings.extend(meanings),
        Said::Doubtful(unclear) => heard.doubt(unclear),
        Said::Nothing => {}
    }
}
