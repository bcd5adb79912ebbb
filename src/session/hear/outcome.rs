//! The answer to a question about one finding: yes and no, an outcome's name, a fault number, the question's own words.

use super::Context;
use super::answer::{Answered, answered, contradicts, each, maybe, table, yes_and_no};
use super::assent::{Assent, CONJUNCTIONS, assent, sure};
use super::fault_number::{by_label, fault_number};
use super::meaning::{Answer, Doubt, Sure, Unclear};
use super::stem::misspelt;
use super::token::{Part, Token, stems, tokens};
use crate::model::Model;
use crate::model::catalog::Finding;
use crate::model::index::FindingIx;

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

/// A clause as an answer to the question about `ix`.
pub(super) fn of_finding(
    line: &str,
    said: &[Token],
    context: &Context,
    ix: FindingIx,
    elsewhere: bool,
) -> Answered {
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
    let stop =
        |at: usize| at > taken && (said[at].after_stop || CONJUNCTIONS.contains(&said[at].text.as_str()));
    let end = (taken..said.len()).find(|&at| stop(at)).unwrap_or(said.len());
    let repeats =
        said[taken..end].iter().all(|t| t.part != Part::Content || question.stems.contains(&t.stem));
    if repeats { end } else { taken }
}

/// The outcome that the words name: wholly, by an unambiguous beginning, or misspelt.
fn named_outcome(question: &Question, line: &str, said: &[Token], hedged: Sure) -> Option<Answered> {
    let outcomes = &question.finding.outcomes;
    let words = |name: &String| -> Vec<String> {
        tokens(name).into_iter().filter(|t| t.part != Part::Filler).map(|t| t.stem).collect()
    };
    let names: Vec<Vec<String>> = outcomes.iter().map(words).collect();
    // What an outcome is called: its own name, unless that is yes or no, and the package's further words for it.
    let called: Vec<(usize, Vec<String>)> = (0..outcomes.len())
        .flat_map(|o| {
            let own = (!matches!(outcomes[o].as_str(), "yes" | "no")).then(|| names[o].clone());
            let also = question.finding.also.get(o).into_iter().flatten().map(words);
            own.into_iter().chain(also).map(move |name| (o, name))
        })
        .collect();
    let is = |said: &str, name: &str| said == name || misspelt(said, name).is_some();
    let content: Vec<&Token> = said.iter().filter(|t| t.counts()).collect();
    let negatives = said.iter().filter(|t| t.part == Part::Negation).count();
    // "on the panel": a preposition, and no outcome "on".
    let preposition = |at: usize| {
        said[at].part == Part::Particle
            && said.get(at + 1).is_some_and(|next| {
                !next.after_stop
                    && matches!(
                        next.text.as_str(),
                        "the" | "a" | "an" | "my" | "our" | "this" | "that" | "it"
                    )
            })
    };
    let spoken: Vec<&Token> = (0..said.len()).filter(|&at| !preposition(at)).map(|at| &said[at]).collect();
    let holds = |name: &Vec<String>| {
        let told = |n: &String| {
            let fits = |t: &Token| is(&t.stem, n) || t.part == Part::Negation && t.stem == *n;
            // In a name of several words it is no preposition: "tag on it".
            if name.len() > 1 { said.iter().any(fits) } else { spoken.iter().any(|t| fits(t)) }
        };
        !name.is_empty() && name.iter().all(told)
    };
    let mut named: Vec<&(usize, Vec<String>)> = called.iter().filter(|(_, name)| holds(name)).collect();
    // A longer name holds a shorter one: "very low" is not "low".
    let longest = named.iter().map(|(_, name)| name.len()).max().unwrap_or(0);
    named.retain(|(_, name)| name.len() == longest);
    let spelt = |name: &Vec<String>| name.iter().all(|n| said.iter().any(|t| t.stem == *n));
    if named.iter().any(|(_, name)| spelt(name)) {
        named.retain(|(_, name)| spelt(name));
    }
    named.dedup_by_key(|(outcome, _)| *outcome);
    match named.as_slice() {
        [(one, name)] => {
            let in_name =
                name.iter().filter(|n| matches!(n.as_str(), "no" | "not" | "none" | "nothing")).count();
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
                .map(|(o, _)| (outcomes[*o].replace('-', " "), question.outcome(*o, hedged)))
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
