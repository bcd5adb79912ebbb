//! Answers to the present question.
//!
//! In: a clause, and what the session waits for. Out: the answer, a doubt with its choices, or nothing where the clause
//! speaks of something else. Invariant: what names another unit than the question's is no answer to it.

use super::assent::{Assent, assent, sure};
use super::fault_number::fault_number;
use super::list::{choose, pick};
use super::meaning::{Answer, Choice, Doubt, FaultNumber, Meaning, Sure, Unclear};
use super::number::{Numbers, entered, numbers};
use super::outcome::of_finding;
use super::token::{Part, Token, tokens};
use super::{Context, Expecting};
use crate::model::catalog::{FaultTable, Model};
use crate::model::index::{FindingIx, TestIx};

/// What a clause is as an answer.
pub(super) enum Answered {
    /// No answer to this question.
    Not,
    /// An answer; the number of words of the clause that it takes.
    Yes(Vec<Meaning>, usize),
    /// An answer in doubt.
    Doubtful(Unclear),
}

pub(super) fn answered(answer: Answer, taken: usize) -> Answered {
    Answered::Yes(vec![Meaning::Answer(answer)], taken)
}

/// The line as it is, where it is exactly an answer: so that no standing word shadows it.
pub(super) fn exact(line: &str, said: &[Token], context: &Context) -> Option<Vec<Meaning>> {
    let same = |text: &str| {
        let theirs = tokens(text);
        !theirs.is_empty()
            && theirs.len() == said.len()
            && theirs.iter().zip(said).all(|(a, b)| a.text == b.text)
    };
    match context.expecting {
        Expecting::Finding(finding) => {
            let form = &context.model.findings[finding.at()];
            let named = |o: &String| same(o) || o.eq_ignore_ascii_case(line.trim());
            let also = || form.also.iter().position(|words| words.iter().any(|word| same(word)));
            let outcome = form.outcomes.iter().position(named).or_else(also)?;
            Some(vec![Meaning::Answer(Answer::Outcome { finding: *finding, outcome, sure: Sure::Plain })])
        }
        Expecting::Pick(texts) => {
            let at = texts.iter().position(|t| same(t))?;
            Some(vec![Meaning::Answer(Answer::Pick(at))])
        }
        Expecting::Choose(choices) => choices.iter().find(|c| same(&c.text)).map(|c| c.means.clone()),
        _ => None,
    }
}

/// The whole line, or one clause of it, as an answer. `elsewhere`: its words name another unit than the question's.
pub(super) fn answer(line: &str, said: &[Token], context: &Context, elsewhere: bool) -> Answered {
    match context.expecting {
        Expecting::OwnWords | Expecting::Person | Expecting::Words => match assent(said) {
            Some((Assent::CannotTell, taken)) => answered(Answer::CannotTell, taken),
            Some((Assent::Yes(sure), taken)) if taken == said.len() => {
                answered(Answer::YesNo { yes: true, sure }, taken)
            }
            Some((Assent::No(sure), taken)) if taken == said.len() => {
                answered(Answer::YesNo { yes: false, sure }, taken)
            }
            _ => Answered::Not,
        },
        Expecting::Finding(finding) => of_finding(line, said, context, *finding, elsewhere),
        Expecting::Readings(test) => of_readings(line, said, context, *test),
        Expecting::YesNo | Expecting::Step => yes_no(line, said),
        Expecting::Choose(choices) => choose(line, said, choices, context),
        Expecting::Pick(texts) => pick(said, texts),
        Expecting::Numbers(measured_in, count) => match numbers(line, measured_in, *count) {
            Numbers::Read(values) => answered(Answer::Numbers(values), said.len()),
            Numbers::Doubtful(doubt, meanings) => {
                Answered::Doubtful(number_doubt(line, doubt, &meanings, |value| Answer::Numbers(vec![value])))
            }
            Numbers::Incomplete(_) | Numbers::None => cannot_tell(said),
        },
        Expecting::Number(measured_in) => match numbers(line, measured_in, 1) {
            Numbers::Read(values) => match values.first() {
                Some(&value) => answered(Answer::Number(value), said.len()),
                None => Answered::Not,
            },
            Numbers::Doubtful(doubt, meanings) => {
                Answered::Doubtful(number_doubt(line, doubt, &meanings, Answer::Number))
            }
            Numbers::Incomplete(_) | Numbers::None => cannot_tell(said),
        },
    }
}

fn cannot_tell(said: &[Token]) -> Answered {
    match assent(said) {
        Some((Assent::CannotTell, taken)) => answered(Answer::CannotTell, taken),
        _ => Answered::Not,
    }
}

fn yes_no(line: &str, said: &[Token]) -> Answered {
    if said.iter().all(|t| t.part != Part::Content) && said.first().is_some_and(|t| t.part == Part::Negation)
    {
        return match assent(said) {
            Some((Assent::CannotTell, taken)) => answered(Answer::CannotTell, taken),
            Some((Assent::No(sure), taken)) => {
                answered(Answer::YesNo { yes: false, sure }, taken.max(said.len()))
            }
            _ => answered(Answer::YesNo { yes: false, sure: sure(said) }, said.len()),
        };
    }
    let whole: Vec<&str> = said.iter().map(|t| t.text.as_str()).collect();
    if matches!(
        whole.as_slice(),
        ["all", "clear"] | ["it", "is"] | ["they", "are"] | ["it", "does"] | ["ok"] | ["okay"]
    ) {
        return answered(Answer::YesNo { yes: true, sure: Sure::Plain }, said.len());
    }
    match assent(said) {
        Some((Assent::CannotTell, taken)) => answered(Answer::CannotTell, taken),
        Some((Assent::Maybe, _)) => {
            Answered::Doubtful(maybe(line, said, |yes, sure| Answer::YesNo { yes, sure }))
        }
        Some((Assent::Yes(sure), taken)) => match contradicts(&said[taken..], true) {
            true => Answered::Doubtful(yes_and_no(line, said, |yes, sure| Answer::YesNo { yes, sure })),
            false => answered(Answer::YesNo { yes: true, sure }, tail(said, taken)),
        },
        Some((Assent::No(sure), taken)) => answered(Answer::YesNo { yes: false, sure }, tail(said, taken)),
        None => Answered::Not,
    }
}

/// The words that go with an assent up to the next stop, where they carry no meaning of their own.
fn tail(said: &[Token], taken: usize) -> usize {
    let end = (taken..said.len()).find(|&at| said[at].after_stop && at > taken).unwrap_or(said.len());
    let empty = said[taken..end].iter().all(|t| t.part != Part::Content);
    if empty { end } else { taken }
}

/// "yes it isn't": the words after it say the opposite.
pub(super) fn contradicts(rest: &[Token], yes: bool) -> bool {
    let end = (1..rest.len()).find(|&at| rest[at].after_stop).unwrap_or(rest.len());
    let rest = &rest[..end];
    let bare = !rest.is_empty() && rest.iter().all(|t| t.part != Part::Content);
    let negative = rest.iter().filter(|t| t.part == Part::Negation).count() % 2 == 1;
    bare && (yes == negative) && (negative || rest.len() > 1 && rest[0].after_stop)
}

pub(super) fn each(words: &str, doubt: Doubt, choices: Vec<(String, Answer)>) -> Unclear {
    let choices =
        choices.into_iter().map(|(text, answer)| Choice { text, means: vec![Meaning::Answer(answer)] });
    Unclear {
        understood: Vec::new(),
        further: Vec::new(),
        words: words.trim().to_owned(),
        doubt,
        choices: choices.collect(),
    }
}

pub(super) fn maybe(line: &str, _said: &[Token], answer: impl Fn(bool, Sure) -> Answer) -> Unclear {
    each(
        line,
        Doubt::SeveralFit,
        vec![
            ("I think yes".into(), answer(true, Sure::Think)),
            ("I think no".into(), answer(false, Sure::Think)),
            ("can't tell".into(), Answer::CannotTell),
        ],
    )
}

pub(super) fn yes_and_no(line: &str, _said: &[Token], answer: impl Fn(bool, Sure) -> Answer) -> Unclear {
    each(
        line,
        Doubt::YesAndNo,
        vec![
            ("yes".into(), answer(true, Sure::Plain)),
            ("no".into(), answer(false, Sure::Plain)),
            ("can't tell".into(), Answer::CannotTell),
        ],
    )
}

fn number_doubt(line: &str, doubt: Doubt, meanings: &[String], answer: impl Fn(f64) -> Answer) -> Unclear {
    let value = |m: &String| m.parse::<f64>().ok().map(|v| (m.clone(), answer(v)));
    each(line, doubt, meanings.iter().filter_map(value).collect())
}

fn of_readings(line: &str, said: &[Token], context: &Context, test: TestIx) -> Answered {
    let Some(reading) = &context.model.tests[test.at()].reading else { return Answered::Not };
    match entered(line, &reading.parts) {
        Numbers::Read(values) => answered(Answer::Readings { test, values }, said.len()),
        Numbers::Incomplete(missing) => Answered::Doubtful(Unclear {
            understood: Vec::new(),
            words: missing,
            doubt: Doubt::Incomplete,
            choices: Vec::new(),
            further: Vec::new(),
        }),
        Numbers::Doubtful(doubt, meanings) => {
            Answered::Doubtful(number_doubt(line, doubt, &meanings, |value| Answer::Readings {
                test,
                values: vec![value],
            }))
        }
        Numbers::None => cannot_tell(said),
    }
}

pub(super) fn table(model: &Model, finding: FindingIx) -> Option<&FaultTable> {
    let test = &model.tests[model.findings[finding.at()].test.at()];
    test.gives.iter().find(|g| g.finding == finding)?.fault_table.as_ref()
}

/// A fault number that was volunteered for one table.
pub(super) fn volunteered_number(said: &[Token], model: &Model, finding: FindingIx) -> Option<FaultNumber> {
    fault_number(said, table(model, finding)?, false)
}

/// Findings with a fault table.
pub(super) fn with_table(model: &Model) -> impl Iterator<Item = FindingIx> + '_ {
    model.tests.iter().flat_map(|t| &t.gives).filter(|g| g.fault_table.is_some()).map(|g| g.finding)
}
