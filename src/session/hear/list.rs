//! An entry of a list that was shown: by its number, or by its words.

use super::Context;
use super::answer::{Answered, answered, each};
use super::assent::{Assent, assent};
use super::index::SymptomKind;
use super::meaning::{Answer, Choice, Doubt, Meaning, Sure, Unclear};
use super::stem::misspelt;
use super::token::{Part, Token, stems};
use super::unit::meant;
use crate::model::index::FindingIx;

/// The position in a list of `len` that a line names by number.
fn position(said: &[Token], len: usize) -> Option<Result<usize, ()>> {
    const ORDINALS: &[&str] = &["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth"];
    const CARDINALS: &[&str] = &["one", "two", "three", "four", "five", "six", "seven", "eight"];
    let telling: Vec<&Token> = said
        .iter()
        .filter(|t| {
            !matches!(t.text.as_str(), "the" | "number" | "no" | "is" | "it" | "one") || said.len() == 1
        })
        .collect();
    let [token] = telling.as_slice() else { return None };
    let ordinal = token.text.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    let number = ordinal.parse::<usize>().ok().filter(|_| {
        token.text == ordinal || ["st", "nd", "rd", "th"].iter().any(|e| token.text.ends_with(e))
    });
    let in_words =
        || ORDINALS.iter().chain(CARDINALS).position(|w| *w == token.text).map(|at| at % ORDINALS.len() + 1);
    let last = || (token.text == "last").then_some(len);
    let number = number.or_else(in_words).or_else(last)?;
    Some(number.checked_sub(1).filter(|at| *at < len).ok_or(()))
}

/// The only text of a list that the words fit.
fn by_words(said: &[Token], texts: &[&str]) -> Option<usize> {
    let words: Vec<&str> = said.iter().filter(|t| t.counts()).map(|t| t.stem.as_str()).collect();
    if words.is_empty() {
        return None;
    }
    let share = |text: &&str| {
        let stems = stems(text);
        words.iter().filter(|w| stems.iter().any(|s| s == *w || misspelt(w, s).is_some())).count()
    };
    let shares: Vec<usize> = texts.iter().map(share).collect();
    let best = shares.iter().copied().max().filter(|&best| best > 0 && 2 * best > words.len())?;
    let mut fitting = shares.iter().enumerate().filter(|(_, s)| **s == best);
    let first = fitting.next()?.0;
    fitting.next().is_none().then_some(first)
}

/// A choice of an earlier doubt.
pub(super) fn choose(line: &str, said: &[Token], choices: &[Choice], context: &Context) -> Answered {
    let texts: Vec<&str> = choices.iter().map(|c| c.text.as_str()).collect();
    let take = |at: usize| Answered::Yes(choices[at].means.clone(), said.len());
    match position(said, choices.len()) {
        Some(Ok(at)) => return take(at),
        Some(Err(())) => {
            let words = said.iter().map(|t| t.text.as_str()).collect::<Vec<_>>().join(" ");
            let choices = choices.to_vec();
            return Answered::Doubtful(Unclear {
                understood: Vec::new(),
                further: Vec::new(),
                words,
                doubt: Doubt::NoSuchChoice,
                choices,
            });
        }
        None => {}
    }
    match assent(said) {
        Some((Assent::Yes(_), taken)) if choices.len() == 1 && taken == said.len() => return take(0),
        Some((Assent::No(sure), taken)) if taken == said.len() || none_of_them(&said[taken..]) => {
            return answered(Answer::YesNo { yes: false, sure }, said.len());
        }
        // Which of them, the person cannot tell: then it is one of them.
        Some((Assent::CannotTell, taken)) => {
            let one_of = |c: &Choice| {
                matches!(
                    c.means.as_slice(),
                    [Meaning::Symptom(super::Reported { about: super::About::OneOf(_), .. })]
                )
            };
            let mut groups = choices.iter().enumerate().filter(|(_, c)| one_of(c));
            return match (groups.next(), groups.next()) {
                (Some((at, _)), None) => take(at),
                _ => answered(Answer::CannotTell, taken),
            };
        }
        _ => {}
    }
    if none_of_them(said) {
        return answered(Answer::YesNo { yes: false, sure: Sure::Plain }, said.len());
    }
    if let Some(all) = several(said, choices).or_else(|| all_of_them(said, choices)) {
        return Answered::Yes(all, said.len());
    }
    let by_unit = || of_unit(line, said, choices, context);
    by_words(said, &texts).or_else(by_unit).map_or(Answered::Not, take)
}

/// "both", "all of them": each single unit of the choices.
fn all_of_them(said: &[Token], choices: &[Choice]) -> Option<Vec<Meaning>> {
    let telling: Vec<&str> =
        said.iter().filter(|t| t.part != Part::Filler).map(|t| t.text.as_str()).collect();
    let every = said.iter().any(|t| matches!(t.text.as_str(), "every" | "each"));
    let all = matches!(telling.as_slice(), ["both" | "all"] | ["both" | "all", "two" | "three"]);
    if !(all || every && telling.is_empty()) {
        return None;
    }
    let single = |choice: &Choice| match choice.means.as_slice() {
        [only @ Meaning::Symptom(super::Reported { about: super::About::Finding(_), .. })] => {
            Some(only.clone())
        }
        _ => None,
    };
    let all: Vec<Meaning> = choices.iter().filter_map(single).collect();
    let two = matches!(telling.first(), Some(&"both"));
    (all.len() > 1 && (!two || all.len() == 2)).then_some(all)
}

/// "1 and 3": several entries by their numbers.
fn several(said: &[Token], choices: &[Choice]) -> Option<Vec<Meaning>> {
    let telling: Vec<&Token> =
        said.iter().filter(|t| t.part != Part::Filler && t.text != "number" && t.text != "plus").collect();
    let picked: Vec<&Choice> = telling
        .iter()
        .map(|token| choices.get(token.text.parse::<usize>().ok()?.checked_sub(1)?))
        .collect::<Option<_>>()?;
    (picked.len() > 1).then(|| picked.into_iter().flat_map(|choice| choice.means.clone()).collect())
}

/// The only choice whose unit the words name, by whatever name it bears: "the left one".
fn of_unit(line: &str, said: &[Token], choices: &[Choice], context: &Context) -> Option<usize> {
    let finding = |choice: &Choice| match choice.means.as_slice() {
        [Meaning::Symptom(super::Reported { about: super::About::Finding(finding), .. })]
        | [Meaning::FaultNumber { finding, .. }] => Some(*finding),
        _ => None,
    };
    let of: Vec<(usize, FindingIx)> =
        choices.iter().enumerate().filter_map(|(at, choice)| Some((at, finding(choice)?))).collect();
    let first = &context.model.findings[of.first()?.1.at()];
    let kind = SymptomKind {
        component: first.kind.0.clone(),
        name: first.kind.1.clone(),
        findings: of.iter().map(|&(_, f)| (f, context.model.findings[f.at()].unit)).collect(),
        ..SymptomKind::default()
    };
    let known = context.ear.index.look_up(said);
    let meant = meant(&context.ear.index, line, said, &known, &[], &kind);
    let [only] = meant.findings.as_slice() else { return None };
    let mut fitting = of.iter().filter(|(_, finding)| finding == only);
    let at = fitting.next()?.0;
    fitting.next().is_none().then_some(at)
}

fn none_of_them(said: &[Token]) -> bool {
    matches!(said.first().map(|t| t.text.as_str()), Some("none" | "neither" | "nothing"))
        && said.iter().all(|t| t.part != Part::Content)
}

/// An entry of a list of texts.
pub(super) fn pick(said: &[Token], texts: &[String]) -> Answered {
    match position(said, texts.len()) {
        Some(Ok(at)) => return answered(Answer::Pick(at), said.len()),
        Some(Err(())) => {
            let words = said.iter().map(|t| t.text.as_str()).collect::<Vec<_>>().join(" ");
            let all = texts.iter().enumerate().map(|(at, t)| (t.clone(), Answer::Pick(at))).collect();
            return Answered::Doubtful(each(&words, Doubt::NoSuchChoice, all));
        }
        None => {}
    }
    if let Some((Assent::CannotTell, taken)) = assent(said) {
        return answered(Answer::CannotTell, taken);
    }
    if let (1, Some((Assent::Yes(_), taken))) = (texts.len(), assent(said)) {
        return answered(Answer::Pick(0), taken);
    }
    if none_of_them(said) || matches!(assent(said), Some((Assent::No(_), taken)) if taken == said.len()) {
        return answered(Answer::YesNo { yes: false, sure: Sure::Plain }, said.len());
    }
    let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
    if said.iter().any(|t| t.part == Part::Negation) {
        return Answered::Not;
    }
    by_words(said, &texts).map_or(Answered::Not, |at| answered(Answer::Pick(at), said.len()))
}
