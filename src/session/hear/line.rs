//! A whole line: clause by clause, each heard as what it is.
//!
//! In: the words of a line that holds no emergency. Out: everything that it says, in its order, or what is in doubt. The
//! answer to the present question goes first; then people, symptoms, fault numbers, work state and place. A clause without
//! a unit takes that of the clause before it. Invariant: what is not understood is never dropped silently when nothing
//! else in the line was, nor when it speaks in words that are known here; filler is.

use super::answer::{Answered, answer, volunteered_number, with_table};
use super::assent::sure;
use super::clause::{clauses, one_phrase};
use super::fault_number::{shows_a_code, unlisted, without_amounts, without_measures};
use super::index::{Known, SymptomKind};
use super::meaning::{Choice, Doubt, Heard, Meaning, PersonChange, PersonSaid, Unclear};
use super::people;
use super::same_unit::{both, narrow, of_the_same};
use super::symptom::{Clause, Said, symptoms};
use super::token::{Part, Token};
use super::unit::meant;
use super::{Context, Expecting};
use crate::model::index::FindingIx;

/// What `said`, the words of `line`, means.
pub(super) fn understand(line: &str, said: &[Token], context: &Context) -> Heard {
    if said.is_empty() {
        return Heard::Nothing;
    }
    if matches!(context.expecting, Expecting::Words) {
        return match answer(line, said, context, false) {
            Answered::Yes(meanings, taken)
                if taken == said.len()
                    && !matches!(meanings.as_slice(), [Meaning::Answer(super::Answer::YesNo { .. })]) =>
            {
                Heard::Understood(meanings)
            }
            _ => Heard::Understood(vec![Meaning::Answer(super::Answer::Words(line.trim().to_owned()))]),
        };
    }
    let known = context.ear.index.look_up(said);
    let asked_who = matches!(context.expecting, Expecting::Person);
    if let Some(person) = people::person(&context.ear.people, line, said, asked_who) {
        return with_rest(line, said, &known, context, person);
    }
    let mut heard = Gathered::default();
    let mut rest = said;
    let mut known_rest = known.as_slice();
    match answer(line, said, context, names_elsewhere(said, &known, context)) {
        Answered::Yes(meanings, taken) => {
            heard.meanings.extend(meanings);
            rest = &said[taken.min(said.len())..];
            known_rest = &known[taken.min(said.len())..];
        }
        Answered::Doubtful(unclear) => {
            // A clause of it may still be plain: "208 V, and the fan hums".
            if clauses(said).len() < 2 {
                return plainly_other(line, said, &known, context)
                    .map_or(Heard::Unclear(unclear), Heard::Understood);
            }
            heard.first_doubt = Some(unclear);
        }
        Answered::Not => {}
    }
    gather(line, rest, known_rest, context, &mut heard);
    heard.finish(line)
}

/// Symptoms that a line reports plainly although the question's own reading of it is in doubt.
fn plainly_other(
    line: &str,
    said: &[Token],
    known: &[Vec<Known>],
    context: &Context,
) -> Option<Vec<Meaning>> {
    let clause = Clause { line, tokens: said, known, sure: sure(said) };
    let content = said.iter().filter(|t| t.part == Part::Content).count();
    match symptoms(&context.ear.index, context.model, &clause) {
        Said::Symptoms(meanings) if content > 1 => Some(meanings),
        _ => None,
    }
}

/// A line that speaks of a person: what else its other clauses say is kept.
fn with_rest(
    line: &str,
    said: &[Token],
    known: &[Vec<Known>],
    context: &Context,
    person: PersonSaid,
) -> Heard {
    let mut heard = Gathered { meanings: vec![Meaning::Person(person)], ..Gathered::default() };
    let pieces = clauses(said);
    if pieces.len() > 1 {
        for piece in pieces {
            let (said, known) = (&said[piece.clone()], &known[piece]);
            if people::person(&context.ear.people, line, said, false).is_some()
                || people::names_somebody(&context.ear.people, said).is_some()
            {
                continue;
            }
            let clause = Clause { line, tokens: said, known, sure: sure(said) };
            match symptoms(&context.ear.index, context.model, &clause) {
                Said::Symptoms(meanings) => heard.meanings.extend(meanings),
                Said::Doubtful(unclear) if matches!(unclear.doubt, Doubt::WhichUnit) => heard.doubt(unclear),
                _ => heard.meanings.extend(work(said, context)),
            }
        }
    }
    heard.finish(line)
}

/// What was gathered of a line.
#[derive(Default)]
pub(super) struct Gathered {
    /// What it says.
    pub meanings: Vec<Meaning>,
    /// The first thing in doubt.
    pub first_doubt: Option<Unclear>,
    /// Everything else in doubt.
    further: Vec<Unclear>,
    /// Something carried meaning and was not understood.
    lost: bool,
    /// The first clause of it that has words of the trade: worth saying that it was not understood.
    lost_words: Option<String>,
}

impl Gathered {
    /// Keeps a doubt; they are asked back in their order.
    pub(super) fn doubt(&mut self, unclear: Unclear) {
        match &self.first_doubt {
            None => self.first_doubt = Some(unclear),
            Some(first) if first.choices == unclear.choices => {}
            Some(_) if unclear.choices.is_empty() => {}
            Some(_) => self.further.push(unclear),
        }
    }

    fn finish(mut self, line: &str) -> Heard {
        dedup(&mut self.meanings);
        match self.first_doubt {
            Some(mut unclear) => {
                unclear.understood = self.meanings;
                unclear.further = self.further;
                unclear.further.extend(self.lost_words.map(|words| Unclear {
                    understood: Vec::new(),
                    further: Vec::new(),
                    words,
                    doubt: Doubt::NothingFits,
                    choices: Vec::new(),
                }));
                Heard::Unclear(unclear)
            }
            None if !self.meanings.is_empty() => match self.lost_words {
                None => Heard::Understood(self.meanings),
                Some(words) => Heard::Unclear(Unclear {
                    understood: self.meanings,
                    further: Vec::new(),
                    words,
                    doubt: Doubt::NothingFits,
                    choices: Vec::new(),
                }),
            },
            None if self.lost => Heard::Unclear(Unclear {
                understood: Vec::new(),
                further: Vec::new(),
                words: line.trim().chars().take(200).collect(),
                doubt: Doubt::NothingFits,
                choices: Vec::new(),
            }),
            None => Heard::Nothing,
        }
    }
}

fn dedup(meanings: &mut Vec<Meaning>) {
    let mut seen: Vec<Meaning> = Vec::new();
    for meaning in meanings.drain(..) {
        let same = |known: &Meaning| match (known, &meaning) {
            (Meaning::Symptom(a), Meaning::Symptom(b)) => a.about == b.about && a.outcome == b.outcome,
            (a, b) => a == b,
        };
        if !seen.iter().any(same) {
            seen.push(meaning);
        }
    }
    *meanings = seen;
}

fn gather(line: &str, said: &[Token], known: &[Vec<Known>], context: &Context, heard: &mut Gathered) {
    let pieces = clauses(said);
    let mut at = 0;
    // Words of a unit that an earlier clause named, for clauses that name none.
    let mut unit: Vec<(Token, Vec<Known>)> = Vec::new();
    let mut waiting: Option<(std::ops::Range<usize>, bool)> = None;
    while at < pieces.len() {
        let piece = pieces[at].clone();
        let two = pieces.get(at + 1).map(|next| piece.start..next.end);
        let (piece, took) = match two {
            Some(two) if one_phrase(said, known, &two, pieces[at + 1].start, context) => (two, 2),
            _ => (piece, 1),
        };
        at += took;
        let mut tokens: Vec<Token> = said[piece.clone()].to_vec();
        let mut words: Vec<Vec<Known>> = known[piece.clone()].to_vec();
        if let Some(first) = tokens.first_mut() {
            first.after_stop = false;
        }
        let own_unit = unit_words(&tokens, &words, context);
        let content = tokens.iter().filter(|t| t.part == Part::Content).count();
        // "the fryer and the grill fan are dead": a bare unit takes the symptom of the next clause.
        if own_unit.len() == content && content > 0 && !tokens.iter().any(|t| t.part == Part::Negation) {
            let well = tokens.iter().any(|t| matches!(t.text.as_str(), "ok" | "okay" | "well"));
            if well && pieces.len() > 1 {
                // "The grill fan is ok": nothing is wrong with it, and what follows is said of something else.
                continue;
            }
            if at < pieces.len() {
                waiting = Some((piece.clone(), false));
            } else if let Some(narrowed) = narrow(line, &tokens, &words, context, heard) {
                heard.meanings.extend(narrowed);
            } else {
                heard.lost = true;
            }
            continue;
        }
        if let Answered::Yes(meanings, taken) = answer_clause(line, &tokens, &words, context, heard) {
            heard.meanings.extend(meanings);
            tokens.drain(..taken.min(tokens.len()));
            words.drain(..taken.min(words.len()));
            if tokens.is_empty() {
                continue;
            }
        }
        (tokens, words) = without_measures(&tokens, &words);
        let own_unit = unit_words(&tokens, &words, context);
        let found_fault = fault(line, &tokens, &words, context);
        if found_fault.is_none() && unlisted(&without_amounts(&tokens, &|_| false)).is_some() {
            said_of_a_code(&mut tokens, &mut words, context);
        }
        let clause = Clause { line, tokens: &tokens, known: &words, sure: sure(&tokens) };
        let mut found = match found_fault {
            Some(said) => said,
            None => symptoms(&context.ear.index, context.model, &clause),
        };
        if own_unit.is_empty() {
            found = of_the_same(line, found, &unit, &tokens, &words, context, heard);
        } else if !own_unit.is_empty() {
            unit = own_unit.iter().map(|&at| (tokens[at].clone(), words[at].clone())).collect();
        }
        if let (Some((bare, _)), Said::Symptoms(_)) = (waiting.take(), &found) {
            both(line, said, known, &bare, &tokens, &words, context, heard);
        }
        // What no symptom fits well may be a cause that somebody saw.
        let doubtful = |said: &Said| match said {
            Said::Symptoms(_) => false,
            Said::Nothing => true,
            Said::Doubtful(unclear) => unclear.doubt == Doubt::FitsPoorly,
        };
        if doubtful(&found) {
            let clause = Clause { line, tokens: &tokens, known: &words, sure: sure(&tokens) };
            match (context.ear.causes.seen(context.model, &clause), &mut found) {
                (Said::Doubtful(seen), Said::Doubtful(unclear)) => {
                    unclear.choices.splice(0..0, seen.choices);
                    unclear.doubt = Doubt::SeveralFit;
                }
                (Said::Nothing, _) => {}
                (seen, _) => found = seen,
            }
        }
        match found {
            Said::Symptoms(meanings) => heard.meanings.extend(meanings),
            other => match work(&tokens, context) {
                Some(meaning) => heard.meanings.push(meaning),
                None => match other {
                    Said::Doubtful(unclear) => heard.doubt(unclear),
                    _ => {
                        heard.lost |= content > 0 || pieces.len() == 1;
                        let of_the_trade = (0..tokens.len())
                            .filter(|&at| tokens[at].part == Part::Content && !words[at].is_empty())
                            .count();
                        if of_the_trade > 1 {
                            let clause = Clause { line, tokens: &tokens, known: &words, sure: sure(&tokens) };
                            heard.lost_words.get_or_insert_with(|| clause.words());
                        }
                    }
                },
            },
        }
    }
    let nothing = heard.meanings.is_empty() && heard.first_doubt.is_none();
    if let (true, Some(competence)) = (nothing, people::names_somebody(&context.ear.people, said)) {
        let name = context.model.practice.competences[competence.at()].name.clone();
        let said = PersonSaid {
            competences: vec![competence],
            change: PersonChange::Comes,
            ..PersonSaid::default()
        };
        heard.doubt(Unclear {
            understood: Vec::new(),
            further: Vec::new(),
            words: line.trim().chars().take(200).collect(),
            doubt: Doubt::FitsPoorly,
            choices: vec![Choice {
                text: format!("{name} is there now"),
                means: vec![Meaning::Person(said)],
            }],
        });
    }
}

/// A clause of several as an answer to the question, where none was given yet.
fn answer_clause(
    line: &str,
    tokens: &[Token],
    words: &[Vec<Known>],
    context: &Context,
    heard: &Gathered,
) -> Answered {
    let given = heard.meanings.iter().any(|m| matches!(m, Meaning::Answer(_))) || heard.first_doubt.is_some();
    if given || matches!(context.expecting, Expecting::OwnWords) {
        return Answered::Not;
    }
    let (Some(first), Some(last)) = (tokens.first(), tokens.last()) else { return Answered::Not };
    let part = line.get(first.at.start..last.at.end).unwrap_or("");
    answer(part, tokens, context, names_elsewhere(tokens, words, context))
}

/// Work state, place: what a clause may say that is no symptom.
fn work(tokens: &[Token], context: &Context) -> Option<Meaning> {
    people::place(&context.ear.people, tokens)
        .map(Meaning::Place)
        .or_else(|| people::work_state(&context.ear.people, tokens))
}

/// A fault number of one drive, volunteered; of which drive is asked where several have such a table.
fn fault(line: &str, tokens: &[Token], words: &[Vec<Known>], context: &Context) -> Option<Said> {
    let index = &context.ear.index;
    let of_unit = |at: usize| words[at].iter().any(|k| index.of(k.word).units > 0);
    // "drive 1", "VFD-2": the number belongs to the name.
    let spoken = without_amounts(tokens, &|at| at > 0 && of_unit(at) && of_unit(at - 1));
    let listed = |finding: FindingIx| volunteered_number(&spoken, context.model, finding);
    let all: Vec<FindingIx> = with_table(context.model).collect();
    let mut numbered: Vec<FindingIx> = all.iter().copied().filter(|&f| listed(f).is_some()).collect();
    // No table holds it: a fault all the same, unless the code is the name of something.
    let unknown: Vec<Token> =
        (0..tokens.len()).filter(|&at| !of_unit(at)).map(|at| tokens[at].clone()).collect();
    let unlisted = unlisted(&without_amounts(&unknown, &|_| false)).filter(|_| numbered.is_empty());
    if unlisted.is_some() {
        numbered = all;
    }
    let first = *numbered.first()?;
    let entry = &context.model.findings[first.at()];
    let kind = SymptomKind {
        component: entry.kind.0.clone(),
        name: entry.kind.1.clone(),
        outcomes: entry.outcomes.clone(),
        findings: numbered.iter().map(|&f| (f, context.model.findings[f.at()].unit)).collect(),
        ..SymptomKind::default()
    };
    let meant = meant(index, line, tokens, words, &[], &kind);
    let say = |finding: FindingIx| {
        Some(Meaning::FaultNumber { finding, number: listed(finding).or_else(|| unlisted.clone())? })
    };
    if let [finding] = meant.findings.as_slice() {
        return (!meant.contradicted).then(|| say(*finding))?.map(|meaning| Said::Symptoms(vec![meaning]));
    }
    if meant.contradicted {
        return None;
    }
    let clause = Clause { line, tokens, known: words, sure: sure(tokens) };
    let choice = |&finding: &FindingIx| {
        let told = &context.model.findings[finding.at()];
        let unit = told.unit.map_or(&told.name, |unit| &context.model.units[unit.at()].name);
        Some(Choice { text: unit.clone(), means: vec![say(finding)?] })
    };
    Some(Said::Doubtful(Unclear {
        understood: Vec::new(),
        further: Vec::new(),
        words: clause.words(),
        doubt: Doubt::WhichUnit,
        choices: meant.findings.iter().filter_map(choice).collect(),
    }))
}

/// A display that shows a code shows a fault code, also that of a drive which nobody has mentioned before: the words for
/// it stand in the place of "shows F07".
fn said_of_a_code(tokens: &mut Vec<Token>, words: &mut Vec<Vec<Known>>, context: &Context) {
    let Some(at) = tokens.last().map(|last| last.at.clone()) else { return };
    let code = tokens.iter().rposition(Token::has_digit).unwrap_or(tokens.len());
    let verb = tokens[..code].iter().rposition(shows_a_code).unwrap_or(code);
    tokens.truncate(verb);
    words.truncate(verb);
    let mut more = super::token::tokens("fault code");
    more.iter_mut().for_each(|token| token.at = at.clone());
    words.extend(context.ear.index.look_up(&more));
    tokens.extend(more);
}

/// Positions of words that name a unit and stand in no symptom's phrase.
pub(super) fn unit_words(tokens: &[Token], words: &[Vec<Known>], context: &Context) -> Vec<usize> {
    let index = &context.ear.index;
    (0..tokens.len())
        .filter(|&at| tokens[at].part == Part::Content)
        .filter(|&at| {
            words[at].iter().any(|k| index.of(k.word).units > 0)
                && !words[at].iter().all(|k| index.of(k.word).weight > 0.0)
        })
        .collect()
}

/// Whether a clause names a unit other than the one the question is about.
fn names_elsewhere(tokens: &[Token], words: &[Vec<Known>], context: &Context) -> bool {
    let Expecting::Finding(finding) = context.expecting else { return false };
    let index = &context.ear.index;
    let Some(unit) = context.model.findings[finding.at()].unit else { return false };
    let own = &index.units[unit.at()];
    (0..tokens.len()).any(|at| {
        words[at].iter().any(|k| {
            let borne = |u: &super::index::Named| u.own.contains(&k.word);
            !own.own.contains(&k.word)
                && !own.kind.contains(&k.word)
                && index.units.iter().any(borne)
                && index.of(k.word).weight == 0.0
                && tokens[at].part == Part::Content
                && !tokens[at].text.bytes().all(|b| b.is_ascii_digit() || b == b'.')
        })
    })
}
