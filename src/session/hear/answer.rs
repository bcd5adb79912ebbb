//! Answers to the present question.
//!
//! In: a clause, and what the session waits for. Out: the answer, a doubt with its choices, or nothing where the clause
//! speaks of something else. Invariant: what names another unit than the question's is no answer to it.

use super::assent::{Assent, assent, sure};
use super::fault_number::{by_label, fault_number};
use super::meaning::{Answer, Choice, Doubt, FaultNumber, Meaning, Sure, Unclear};
use super::number::{Numbers, numbers};
use super::token::{Part, Token, misspelt, stems, tokens};
use super::{Context, Expecting};
use crate::model::catalog::{FaultTable, Finding, Model};
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

fn answered(answer: Answer, taken: usize) -> Answered {
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
            let outcomes = &context.model.findings[finding.at()].outcomes;
            let outcome = outcomes.iter().position(|o| same(o) || o.eq_ignore_ascii_case(line.trim()))?;
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
        Expecting::Choose(choices) => choose(said, choices),
        Expecting::Pick(texts) => pick(said, texts),
        Expecting::Number(measured_in) => match numbers(line, measured_in, 1) {
            Numbers::Read(values) => match values.first() {
                Some(&value) => answered(Answer::Number(value), said.len()),
                None => Answered::Not,
            },
            Numbers::Doubtful(doubt, meanings) => {
                Answered::Doubtful(number_doubt(line, doubt, &meanings, Answer::Number))
            }
            Numbers::None => cannot_tell(said),
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
fn contradicts(rest: &[Token], yes: bool) -> bool {
    let end = (1..rest.len()).find(|&at| rest[at].after_stop).unwrap_or(rest.len());
    let rest = &rest[..end];
    let bare = !rest.is_empty() && rest.iter().all(|t| t.part != Part::Content);
    let negative = rest.iter().filter(|t| t.part == Part::Negation).count() % 2 == 1;
    bare && (yes == negative) && (negative || rest.len() > 1 && rest[0].after_stop)
}

fn each(words: &str, doubt: Doubt, choices: Vec<(String, Answer)>) -> Unclear {
    let choices =
        choices.into_iter().map(|(text, answer)| Choice { text, means: vec![Meaning::Answer(answer)] });
    Unclear { understood: Vec::new(), words: words.trim().to_owned(), doubt, choices: choices.collect() }
}

fn maybe(line: &str, _said: &[Token], answer: impl Fn(bool, Sure) -> Answer) -> Unclear {
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

fn yes_and_no(line: &str, _said: &[Token], answer: impl Fn(bool, Sure) -> Answer) -> Unclear {
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
    match numbers(line, &reading.measured_in, reading.count) {
        Numbers::Read(values) => answered(Answer::Readings { test, values }, said.len()),
        Numbers::Doubtful(doubt, meanings) => {
            Answered::Doubtful(number_doubt(line, doubt, &meanings, |value| Answer::Readings {
                test,
                values: vec![value],
            }))
        }
        Numbers::None => cannot_tell(said),
    }
}

/// The question about a finding, as far as its words matter.
struct Question<'a> {
    finding: &'a Finding,
    ix: FindingIx,
    stems: Vec<String>,
    negative: bool,
    yes: Option<usize>,
}

impl<'a> Question<'a> {
    fn new(model: &'a Model, ix: FindingIx) -> Self {
        let finding = &model.findings[ix.at()];
        let test = &model.tests[finding.test.at()];
        let mut texts = vec![test.say.as_str(), test.say_to_caller.as_str(), finding.name.as_str()];
        if let Some(symptom) = &finding.symptom {
            texts.push(&symptom.say);
        }
        if let Some(unit) = finding.unit {
            texts.push(&model.units[unit.at()].name);
        }
        let mut all: Vec<String> = texts.iter().flat_map(|t| stems(t)).collect();
        all.sort();
        all.dedup();
        let negatives = tokens(&test.say).iter().filter(|t| t.part == Part::Negation).count();
        let mut question = Self { finding, ix, stems: all, negative: negatives % 2 == 1, yes: None };
        question.yes =
            question.finding.outcomes.iter().position(|o| o == "yes").or_else(|| question.in_its_words());
        question
    }

    /// The only outcome whose name is in the question: "Is the display lit?", lit or dark.
    fn in_its_words(&self) -> Option<usize> {
        let named = |o: &String| {
            let stems = stems(o);
            !stems.is_empty() && stems.iter().all(|s| self.stems.contains(s))
        };
        let mut fitting = self.finding.outcomes.iter().enumerate().filter(|(_, o)| named(o));
        let first = fitting.next()?;
        fitting.next().is_none().then_some(first.0)
    }

    fn no(&self) -> Option<usize> {
        let outcomes = &self.finding.outcomes;
        outcomes.iter().position(|o| o == "no").or_else(|| match (self.yes, outcomes.len()) {
            (Some(yes), 2) => Some(1 - yes),
            _ => None,
        })
    }

    fn outcome(&self, outcome: usize, sure: Sure) -> Answer {
        Answer::Outcome { finding: self.ix, outcome, sure }
    }

    fn choices(&self, line: &str, but: Option<usize>, sure: Sure) -> Unclear {
        let others = (0..self.finding.outcomes.len()).filter(|&o| Some(o) != but);
        let choices =
            others.map(|o| (self.finding.outcomes[o].replace('-', " "), self.outcome(o, sure))).collect();
        each(line, Doubt::SeveralFit, choices)
    }

    /// Yes or no as one of its outcomes.
    fn yes_no(&self, line: &str, yes: bool, sure: Sure, taken: usize) -> Answered {
        let outcome = if yes { self.yes } else { self.no() };
        match outcome {
            Some(outcome) => answered(self.outcome(outcome, sure), taken),
            None => Answered::Doubtful(self.choices(line, if yes { None } else { self.yes }, sure)),
        }
    }
}

fn table(model: &Model, finding: FindingIx) -> Option<&FaultTable> {
    let test = &model.tests[model.findings[finding.at()].test.at()];
    test.gives.iter().find(|g| g.finding == finding)?.fault_table.as_ref()
}

fn of_finding(line: &str, said: &[Token], context: &Context, ix: FindingIx, elsewhere: bool) -> Answered {
    let question = Question::new(context.model, ix);
    let outcomes = &question.finding.outcomes;
    let table = table(context.model, ix);
    if let Some(number) = table.filter(|_| !elsewhere).and_then(|t| fault_number(said, t, true)) {
        return answered(Answer::Fault { finding: ix, number }, said.len());
    }
    let hedged = sure(said);
    let yes_no_asked = outcomes.iter().any(|o| o == "yes" || o == "no") || question.yes.is_some();
    if let Some((assent, taken)) = assent(said) {
        match assent {
            Assent::CannotTell => return answered(Answer::CannotTell, taken),
            Assent::Maybe if taken == said.len() => {
                return Answered::Doubtful(if yes_no_asked {
                    maybe(line, said, |yes, sure| {
                        let outcome = if yes { question.yes } else { question.no() };
                        outcome.map_or(Answer::CannotTell, |o| question.outcome(o, sure))
                    })
                } else {
                    question.choices(line, None, Sure::Think)
                });
            }
            Assent::Maybe => {}
            Assent::Yes(sure) if !prefix_only(said, taken, outcomes, "y") => {
                if contradicts(&said[taken..], true) {
                    return Answered::Doubtful(yes_and_no(line, said, |yes, sure| {
                        let outcome = if yes { question.yes } else { question.no() };
                        outcome.map_or(Answer::CannotTell, |o| question.outcome(o, sure))
                    }));
                }
                return question.yes_no(line, true, sure.max_doubt(hedged), echo_end(&question, said, taken));
            }
            Assent::No(sure) if table.is_some() && taken == said.len() => {
                return answered(question.outcome(0, sure), taken);
            }
            Assent::No(sure) if !prefix_only(said, taken, outcomes, "n") => {
                return question.yes_no(
                    line,
                    false,
                    sure.max_doubt(hedged),
                    echo_end(&question, said, taken),
                );
            }
            _ => {}
        }
    }
    if elsewhere {
        return Answered::Not;
    }
    if let Some(answered) = named_outcome(&question, line, said, hedged) {
        return answered;
    }
    if let Some(table) = table {
        let none = said.iter().any(|t| t.part == Part::Negation)
            && said
                .iter()
                .filter(|t| t.counts())
                .all(|t| question.stems.contains(&t.stem) || is_fault_word(&t.stem));
        if none {
            return answered(question.outcome(0, hedged), said.len());
        }
        if let Some(number) = by_label(said, table) {
            return answered(Answer::Fault { finding: ix, number }, said.len());
        }
    }
    // The question's own words come back: "it is lit", "not lit", "the display is not lit".
    let content: Vec<&Token> = said.iter().filter(|t| t.part == Part::Content).collect();
    let own = |t: &&Token| question.stems.iter().any(|s| *s == t.stem || misspelt(&t.stem, s).is_some());
    let unit = question.finding.unit.map_or_else(Vec::new, |u| stems(&context.model.units[u.at()].name));
    let more_than_unit = content.iter().any(|t| !unit.contains(&t.stem));
    let negatives = said.iter().filter(|t| t.part == Part::Negation).count();
    if yes_no_asked && content.iter().all(own) && (more_than_unit || negatives > 0 && content.is_empty()) {
        let only_negation = content.is_empty() && said.len() > 4;
        if !only_negation {
            let yes = (negatives % 2 == 1) == question.negative;
            return question.yes_no(line, yes, hedged, said.len());
        }
    }
    if content.is_empty() && yes_no_asked && !said.is_empty() {
        let words: Vec<&str> = said.iter().map(|t| t.text.as_str()).collect();
        if matches!(
            words.as_slice(),
            ["it" | "they" | "he" | "she" | "there", "is" | "does" | "are" | "has" | "did" | "was" | "do"]
        ) {
            return question.yes_no(line, true, hedged, said.len());
        }
    }
    Answered::Not
}

fn is_fault_word(stem: &str) -> bool {
    matches!(stem, "fault" | "cod" | "error" | "alarm" | "number" | "show" | "display")
}

/// A single `y` or `n` that is the beginning of outcomes and of neither yes nor no.
fn prefix_only(said: &[Token], taken: usize, outcomes: &[String], letter: &str) -> bool {
    taken == 1
        && said.len() == 1
        && said[0].text == letter
        && !outcomes.iter().any(|o| o == "yes" || o == "no")
        && outcomes.iter().any(|o| o.to_lowercase().starts_with(letter))
}

/// The words after an assent that only repeat the question.
fn echo_end(question: &Question, said: &[Token], taken: usize) -> usize {
    let stop = |at: usize| {
        at > taken && (said[at].after_stop || super::assent::CONJUNCTIONS.contains(&said[at].text.as_str()))
    };
    let end = (taken..said.len()).find(|&at| stop(at)).unwrap_or(said.len());
    let repeats =
        said[taken..end].iter().all(|t| t.part != Part::Content || question.stems.contains(&t.stem));
    if repeats { end } else { taken }
}

/// The outcome that the words name: wholly, by an unambiguous beginning, or misspelt.
fn named_outcome(question: &Question, line: &str, said: &[Token], hedged: Sure) -> Option<Answered> {
    let outcomes = &question.finding.outcomes;
    let names: Vec<Vec<String>> = outcomes
        .iter()
        .map(|o| tokens(o).into_iter().filter(|t| t.part != Part::Filler).map(|t| t.stem).collect())
        .collect();
    let is = |said: &str, name: &str| said == name || misspelt(said, name).is_some();
    let content: Vec<&Token> = said.iter().filter(|t| t.counts()).collect();
    let negatives = said.iter().filter(|t| t.part == Part::Negation).count();
    let holds = |name: &Vec<String>| {
        !name.is_empty()
            && name
                .iter()
                .all(|n| said.iter().any(|t| is(&t.stem, n) || t.part == Part::Negation && t.stem == *n))
    };
    let mut named: Vec<usize> = (0..names.len()).filter(|&o| holds(&names[o])).collect();
    // A longer name holds a shorter one: "very low" is not "low".
    let longest = named.iter().map(|&o| names[o].len()).max().unwrap_or(0);
    named.retain(|&o| names[o].len() == longest && outcomes[o] != "yes" && outcomes[o] != "no");
    let exact: Vec<usize> = named
        .iter()
        .copied()
        .filter(|&o| names[o].iter().all(|n| said.iter().any(|t| t.stem == *n)))
        .collect();
    let named = if exact.is_empty() { named } else { exact };
    match named.as_slice() {
        [one] => {
            let in_name = names[*one]
                .iter()
                .filter(|n| matches!(n.as_str(), "no" | "not" | "none" | "nothing"))
                .count();
            if negatives.saturating_sub(in_name) % 2 == 0 {
                return Some(answered(question.outcome(*one, hedged), said.len()));
            }
            return Some(match outcomes.len() {
                2 => answered(question.outcome(1 - one, hedged), said.len()),
                _ => Answered::Doubtful(question.choices(line, Some(*one), hedged)),
            });
        }
        [] => {}
        several => {
            let choices = several
                .iter()
                .map(|&o| (outcomes[o].replace('-', " "), question.outcome(o, hedged)))
                .collect();
            return Some(Answered::Doubtful(each(line, Doubt::SeveralFit, choices)));
        }
    }
    // An unambiguous beginning, or one word of a name: only where nothing else is said.
    let rest: Vec<&&Token> = content.iter().filter(|t| !question.stems.contains(&t.stem)).collect();
    let [word] = rest.as_slice() else { return None };
    if negatives > 0 {
        return None;
    }
    let bare = |o: &String| o.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect::<String>();
    let begins = |o: usize| bare(&outcomes[o]).starts_with(&word.text) || names[o].contains(&word.stem);
    let fitting: Vec<usize> = (0..outcomes.len()).filter(|&o| begins(o)).collect();
    match fitting.as_slice() {
        [] => None,
        [one] => Some(answered(question.outcome(*one, hedged), said.len())),
        several if content.len() == 1 => {
            let choices = several
                .iter()
                .map(|&o| (outcomes[o].replace('-', " "), question.outcome(o, hedged)))
                .collect();
            Some(Answered::Doubtful(each(line, Doubt::SeveralFit, choices)))
        }
        _ => None,
    }
}

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

fn choose(said: &[Token], choices: &[Choice]) -> Answered {
    let texts: Vec<&str> = choices.iter().map(|c| c.text.as_str()).collect();
    let take = |at: usize| Answered::Yes(choices[at].means.clone(), said.len());
    match position(said, choices.len()) {
        Some(Ok(at)) => return take(at),
        Some(Err(())) => {
            let words = said.iter().map(|t| t.text.as_str()).collect::<Vec<_>>().join(" ");
            let choices = choices.to_vec();
            return Answered::Doubtful(Unclear {
                understood: Vec::new(),
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
    by_words(said, &texts).map_or(Answered::Not, take)
}

fn none_of_them(said: &[Token]) -> bool {
    matches!(said.first().map(|t| t.text.as_str()), Some("none" | "neither" | "nothing"))
        && said.iter().all(|t| t.part != Part::Content)
}

fn pick(said: &[Token], texts: &[String]) -> Answered {
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

/// A fault number that was volunteered for one table.
pub(super) fn volunteered_number(said: &[Token], model: &Model, finding: FindingIx) -> Option<FaultNumber> {
    fault_number(said, table(model, finding)?, false)
}

/// Findings with a fault table.
pub(super) fn with_table(model: &Model) -> impl Iterator<Item = FindingIx> + '_ {
    model.tests.iter().flat_map(|t| &t.gives).filter(|g| g.fault_table.is_some()).map(|g| g.finding)
}
