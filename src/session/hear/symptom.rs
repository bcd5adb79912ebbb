//! Symptoms in the caller's own words.
//!
//! In: the words of one clause. Out: the symptoms that it reports, or the choices when several fit about equally, one fits
//! poorly, or the unit is open. A candidate's score is the share of its phrase that the clause covers, times a discount for
//! known words of the clause that it leaves unexplained.

use super::index::{Index, Known, Match};
use super::meaning::{About, Choice, Doubt, Meaning, Reported, Sure, Unclear};
use super::token::{Part, Token};
use super::unit::{Meant, meant};
use crate::model::Model;

/// Coverage below which a phrase does not count at all.
const LEAST: f64 = 0.5;
/// Coverage from which a phrase is taken without asking.
const ENOUGH: f64 = 0.66;
/// Coverage from which a denial is taken; below, it is not even asked about.
const ENOUGH_TO_DENY: f64 = 0.8;
/// A second symptom this close to the best is asked about.
const CLOSE: f64 = 0.9;
/// Discount of a symptom of one unit where another unit is named more fully.
const OUTNAMED: f64 = 0.85;
/// Choices shown at most.
const MOST_CHOICES: usize = 8;

/// A clause, looked up.
#[derive(Clone, Copy)]
pub(super) struct Clause<'a> {
    /// The line.
    pub line: &'a str,
    /// The words of the clause.
    pub tokens: &'a [Token],
    /// What the index knows of them.
    pub known: &'a [Vec<Known>],
    /// It is said with doubt.
    pub sure: Sure,
}

impl Clause<'_> {
    /// The words, as typed.
    pub(super) fn words(&self) -> String {
        match (self.tokens.first(), self.tokens.last()) {
            (Some(first), Some(last)) => self.line[first.at.start..last.at.end].to_owned(),
            _ => String::new(),
        }
    }

    /// An odd number of negations.
    pub(super) fn negative(&self) -> bool {
        self.tokens.iter().filter(|t| t.part == Part::Negation).count() % 2 == 1
    }

    fn says(&self, words: &[&str]) -> bool {
        self.tokens.iter().any(|t| words.contains(&t.text.as_str()))
    }
}

/// What a clause says of symptoms.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum Said {
    /// None that is known.
    Nothing,
    /// These.
    Symptoms(Vec<Meaning>),
    /// In doubt.
    Doubtful(Unclear),
}

struct Candidate {
    found: Match,
    meant: Meant,
    score: f64,
}

/// "The link to all drives": where a phrase well covered has the word, the symptoms of single units do not say as much.
fn all_where_said(clause: &Clause, candidates: &mut Vec<Candidate>) {
    let all = |c: &Candidate| {
        c.found.coverage >= ENOUGH
            && c.found.tokens.iter().any(|&at| matches!(clause.tokens[at].text.as_str(), "all" | "every"))
    };
    let best = candidates.first().map_or(0.0, |c| c.score);
    if candidates.iter().any(|c| all(c) && c.score >= CLOSE * best) {
        candidates.retain(all);
    }
}

/// The symptoms that `clause` reports.
pub(super) fn symptoms(index: &Index, model: &Model, clause: &Clause) -> Said {
    let mut candidates = candidates(index, clause, &[]);
    all_where_said(clause, &mut candidates);
    let Some(best) = candidates.first().map(|c| c.score) else { return Said::Nothing };
    let close = candidates.iter().take_while(|c| c.score >= CLOSE * best).count();
    let first = &candidates[0];
    let alone = candidates.get(1).is_none_or(|second| second.score < 0.6 * best);
    let all_said = (0..clause.tokens.len()).all(|at| {
        clause.tokens[at].part != Part::Content
            || first.found.tokens.contains(&at)
            || first.meant.tokens.contains(&at)
    });
    let clear = first.found.coverage >= ENOUGH || alone && all_said;
    if close > 1
        || !clear
        || first.meant.contradicted
        || denied_beside(clause, first)
        || beside_the_subject(index, clause, first)
    {
        let doubt = if close > 1 { Doubt::SeveralFit } else { Doubt::FitsPoorly };
        candidates.truncate(if close > 1 { close } else { 3 });
        let choices: Vec<Choice> =
            candidates.iter().flat_map(|c| each_unit(index, model, clause, c)).collect();
        return Said::Doubtful(doubtful(clause, doubt, choices));
    }
    let used: Vec<usize> = first.found.tokens.iter().chain(&first.meant.tokens).copied().collect();
    let mut said = match settle(index, model, clause, first) {
        Ok(meanings) => meanings,
        Err(unclear) => return Said::Doubtful(unclear),
    };
    // Two symptoms in one breath, without a word between: only where the rest is plain.
    let rest = self::candidates(index, clause, &used);
    let other = rest.iter().find(|c| {
        c.found.symptom != first.found.symptom
            && c.found.coverage > 0.99
            && c.found.weight > 0.5
            && !c.found.negative
            && !clause.negative()
            && !c.meant.contradicted
    });
    if let Some(Ok(more)) = other.map(|c| settle(index, model, clause, c)) {
        said.extend(more);
    }
    Said::Symptoms(said)
}

/// "It runs sideways" denies that it does not run, but says something else that is not known.
fn denied_beside(clause: &Clause, candidate: &Candidate) -> bool {
    let fine = [
        "fine",
        "good",
        "right",
        "normal",
        "normally",
        "properly",
        "alright",
        "great",
        "correctly",
        "smoothly",
        "steady",
    ];
    candidate.found.negative
        && !clause.negative()
        && (0..clause.tokens.len()).any(|at| {
            clause.tokens[at].part == Part::Content
                && clause.known[at].is_empty()
                && !fine.contains(&clause.tokens[at].text.as_str())
                && !candidate.meant.tokens.contains(&at)
        })
}

/// An outcome told unasked, without a word of its question.
fn beside_the_subject(index: &Index, clause: &Clause, candidate: &Candidate) -> bool {
    let symptom = &index.symptoms[candidate.found.symptom];
    let of_it = |at: usize| clause.known[at].iter().any(|k| symptom.subject.contains(&k.word));
    symptom.only.is_some()
        && !(0..clause.tokens.len()).any(|at| !candidate.found.tokens.contains(&at) && of_it(at))
}

/// Candidates, best first; ties in the order of the model.
fn candidates(index: &Index, clause: &Clause, used: &[usize]) -> Vec<Candidate> {
    let usable = |at: usize| !used.contains(&at) && clause.tokens[at].counts();
    let matches = index.matches(clause.known, &usable, clause.negative(), LEAST);
    let weight = |at: usize| {
        let weigh = |k: &Known| {
            k.quality * index.of(k.word).weight.max(if index.of(k.word).units > 0 { 0.4 } else { 0.0 })
        };
        clause.known[at].iter().map(weigh).fold(0.0, f64::max)
    };
    let countable: Vec<usize> = (0..clause.tokens.len()).filter(|&at| usable(at)).collect();
    let total: f64 = countable.iter().map(|&at| weight(at)).sum();
    let mut out: Vec<Candidate> = matches
        .into_iter()
        .map(|found| {
            let symptom = &index.symptoms[found.symptom];
            let meant = meant(index, clause.line, clause.tokens, clause.known, &found.tokens, symptom);
            let explained: f64 = countable
                .iter()
                .filter(|at| found.tokens.contains(at) || meant.tokens.contains(at))
                .map(|&at| weight(at))
                .sum();
            let share = if total > 0.0 { explained / total } else { 1.0 };
            let discount = if meant.outnamed { OUTNAMED } else { 1.0 };
            Candidate { score: found.coverage * (0.4 + 0.6 * share) * discount, found, meant }
        })
        .collect();
    // "is running backwards" denies no "does not run" while "backwards" says something else.
    let denies = |c: &Candidate| c.found.negative && !clause.negative();
    let unsaid = |c: &Candidate| {
        countable.iter().any(|&at| {
            clause.tokens[at].part == Part::Content
                && !c.found.tokens.contains(&at)
                && !c.meant.tokens.contains(&at)
                && clause.known[at].iter().any(|k| index.of(k.word).weight > 0.0)
        })
    };
    // A poor denial is no news; nor are words that only name a unit.
    let names_only = |c: &Candidate| {
        c.found.tokens.iter().all(|&at| clause.known[at].iter().all(|k| index.of(k.word).units > 0))
    };
    // Not this outcome may still be another.
    out.retain(|c| {
        let symptom = &index.symptoms[c.found.symptom];
        symptom.only.is_none() || symptom.outcomes.len() == 2 || clause.negative() == c.found.negative
    });
    out.retain(|c| match clause.negative() == c.found.negative {
        true => c.found.coverage > 0.99 || !names_only(c),
        false => c.found.coverage >= ENOUGH_TO_DENY && !names_only(c),
    });
    if out.iter().any(|c| !denies(c)) {
        out.retain(|c| !(denies(c) && unsaid(c)));
    }
    // What is a symptom in so many words is no answer to a question that nobody asked: "trips after 12 minutes".
    let outright = |c: &Candidate| {
        index.symptoms[c.found.symptom].only.is_none() && c.found.coverage > 0.99 && !c.meant.contradicted
    };
    if let Some(score) = out.iter().filter(|c| outright(c)).map(|c| c.score).reduce(f64::max) {
        out.retain(|c| index.symptoms[c.found.symptom].only.is_none() || score < CLOSE * c.score);
    }
    out.sort_by(|a, b| b.score.total_cmp(&a.score).then(a.found.symptom.cmp(&b.found.symptom)));
    out
}

/// The outcome that a clause says of a symptom: `None` when it has several abnormal ones and the words name none.
fn outcome(index: &Index, clause: &Clause, candidate: &Candidate) -> Option<usize> {
    let symptom = &index.symptoms[candidate.found.symptom];
    let outcomes = &symptom.outcomes;
    if clause.negative() != candidate.found.negative {
        return Some(0);
    }
    if symptom.only.is_some() {
        return symptom.only;
    }
    if outcomes.len() <= 2 {
        return Some(1);
    }
    let named: Vec<usize> = (1..outcomes.len())
        .filter(|&at| {
            let said = |name: &String| {
                let stems = super::token::stems(name);
                !stems.is_empty() && stems.iter().all(|stem| clause.tokens.iter().any(|t| t.stem == *stem))
            };
            said(&outcomes[at]) || symptom.also.get(at).is_some_and(|words| words.iter().any(said))
        })
        .collect();
    (named.len() == 1).then(|| named[0])
}

/// What a candidate means, or what is open about it.
fn settle(
    index: &Index,
    model: &Model,
    clause: &Clause,
    candidate: &Candidate,
) -> Result<Vec<Meaning>, Unclear> {
    let Some(outcome) = outcome(index, clause, candidate) else {
        let choices = each_unit(index, model, clause, candidate);
        return Err(doubtful(clause, Doubt::SeveralFit, choices));
    };
    let say = |about| Meaning::Symptom(Reported { about, outcome, sure: clause.sure, words: clause.words() });
    let symptom = &index.symptoms[candidate.found.symptom];
    if let Some(name) = &candidate.meant.new {
        return Ok(vec![say(About::NewUnit {
            component: symptom.component.clone(),
            name: name.clone(),
            symptom: symptom.name.clone(),
        })]);
    }
    let findings = &candidate.meant.findings;
    let every = clause.says(&["all", "every", "each", "everything", "none"])
        || findings.len() == 2 && clause.says(&["both", "neither"]);
    if findings.len() <= 1 || every {
        return Ok(findings.iter().map(|&f| say(About::Finding(f))).collect());
    }
    if clause.says(&["one", "some", "any", "another"]) && outcome > 0 {
        return Ok(vec![say(About::OneOf(findings.clone()))]);
    }
    Err(doubtful(clause, Doubt::WhichUnit, each_unit(index, model, clause, candidate)))
}

/// A candidate as choices: each unit that it may be, each outcome, and one of the units without saying which.
fn each_unit(index: &Index, model: &Model, clause: &Clause, candidate: &Candidate) -> Vec<Choice> {
    let symptom = &index.symptoms[candidate.found.symptom];
    let outcomes: Vec<usize> = match outcome(index, clause, candidate) {
        Some(outcome) => vec![outcome],
        None => (1..symptom.outcomes.len()).collect(),
    };
    let mut choices = Vec::new();
    for &outcome in &outcomes {
        let say = |about| {
            vec![Meaning::Symptom(Reported { about, outcome, sure: clause.sure, words: clause.words() })]
        };
        let worded = |say: &str| match (outcome, outcomes.len()) {
            (0, _) => format!("not so: {say}"),
            (_, 1) => say.to_owned(),
            _ => format!("{say}: {}", symptom.outcomes[outcome]),
        };
        if let Some(name) = &candidate.meant.new {
            let title = index.titles.get(&symptom.component).map_or("it", String::as_str);
            let called = name.as_deref().unwrap_or(title);
            let about = About::NewUnit {
                component: symptom.component.clone(),
                name: name.clone(),
                symptom: symptom.name.clone(),
            };
            choices.push(Choice { text: worded(&symptom.say.replace("{unit}", called)), means: say(about) });
            continue;
        }
        let findings = &candidate.meant.findings;
        for &finding in findings {
            let told = &model.findings[finding.at()];
            let text = match (&told.symptom, symptom.only) {
                (Some(symptom), _) => symptom.say.clone(),
                (None, Some(only)) => {
                    let colon = if told.name.ends_with('?') { "" } else { ":" };
                    format!("{}{colon} {}", told.name, told.outcomes[only].replace('-', " "))
                }
                (None, None) => told.name.clone(),
            };
            choices.push(Choice { text: worded(&text), means: say(About::Finding(finding)) });
        }
        if findings.len() > 1 && outcome > 0 {
            choices.push(Choice {
                text: "one of these, not known which".into(),
                means: say(About::OneOf(findings.clone())),
            });
        }
    }
    choices
}

fn doubtful(clause: &Clause, doubt: Doubt, mut choices: Vec<Choice>) -> Unclear {
    choices.truncate(MOST_CHOICES);
    Unclear { understood: Vec::new(), further: Vec::new(), words: clause.words(), doubt, choices }
}
