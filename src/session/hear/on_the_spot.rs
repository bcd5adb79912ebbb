//! Questions of people at the site that can come at any time: "can they keep cooking?", "can I just reset it?".
//!
//! In: a line and the package's questions. Out: the question that it asks, and the rest of the line. A question is asked where
//! the words of one of its phrases stand in one clause, in their order and near one another.

use super::token::{Token, tokens};
use crate::model::practice::OnTheSpot;

/// So many other words may stand between two words of a phrase.
const LOOSE: usize = 2;

/// The question that the line asks, as its position, and the line without the clause that asks it.
#[must_use]
pub fn on_the_spot(line: &str, questions: &[OnTheSpot]) -> Option<(usize, String)> {
    let said = tokens(line);
    let mut clauses: Vec<Vec<Token>> = Vec::new();
    for token in said {
        let parts = token.after_stop || matches!(token.text.as_str(), "but" | "then");
        match clauses.last_mut().filter(|_| !parts) {
            Some(clause) => clause.push(token),
            None => clauses.push(vec![token]),
        }
    }
    let (at, question) = clauses.iter().enumerate().find_map(|(at, clause)| {
        let asks = |question: &OnTheSpot| {
            let held = |phrase: &String| stands_in(phrase, clause);
            question.words.iter().any(held) && !question.not.iter().any(held)
        };
        Some((at, questions.iter().position(asks)?))
    })?;
    let (first, last) = (clauses[at].first()?, clauses[at].last()?);
    let rest = format!("{} {}", &line[..first.at.start], &line[last.at.end..]);
    let is_left = tokens(&rest).len() > 1 || tokens(&rest).iter().any(|token| token.text != "but");
    Some((question, if is_left { rest.trim().to_owned() } else { String::new() }))
}

fn stands_in(phrase: &str, clause: &[Token]) -> bool {
    let wanted = tokens(phrase);
    let Some((first, others)) = wanted.split_first() else { return false };
    let starts = (0..clause.len()).filter(|&at| clause[at].text == first.text);
    let mut starts = starts;
    starts.any(|start| {
        let mut at = start;
        others.iter().all(|word| {
            let near = (at + 1..clause.len()).take(LOOSE + 1).find(|&next| clause[next].text == word.text);
            near.inspect(|&next| at = next).is_some()
        })
    })
}
