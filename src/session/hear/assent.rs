//! Yes, no, and "can't tell", with how sure they are.
//!
//! In: the words of a line. Out: the assent that it begins with, and how many words that takes. "No" before a noun is no
//! answer ("no power"), before a pronoun or a stop it is ("no, the fan …", "no it isn't").

use std::sync::LazyLock;

use super::meaning::Sure;
use super::token::{Part, Token, tokens};

/// What a line begins with.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Assent {
    /// Yes.
    Yes(Sure),
    /// No.
    No(Sure),
    /// "Maybe", and nothing else: which?
    Maybe,
    /// Cannot tell.
    CannotTell,
}

const PHRASES: &[(&str, Assent)] = &[
    ("i don't think so", Assent::No(Sure::Think)),
    ("don't think so", Assent::No(Sure::Think)),
    ("not that i can see", Assent::No(Sure::Think)),
    ("not that i know of", Assent::No(Sure::Think)),
    ("not that i know", Assent::No(Sure::Think)),
    ("i don't believe so", Assent::No(Sure::Think)),
    ("i think not", Assent::No(Sure::Think)),
    ("i think no", Assent::No(Sure::Think)),
    ("probably not", Assent::No(Sure::Think)),
    ("probably no", Assent::No(Sure::Think)),
    ("maybe not", Assent::No(Sure::Think)),
    ("maybe no", Assent::No(Sure::Think)),
    ("i doubt it", Assent::No(Sure::Think)),
    ("doubt it", Assent::No(Sure::Think)),
    ("not really", Assent::No(Sure::Think)),
    ("unlikely", Assent::No(Sure::Think)),
    ("i think so", Assent::Yes(Sure::Think)),
    ("think so", Assent::Yes(Sure::Think)),
    ("i guess so", Assent::Yes(Sure::Think)),
    ("i guess", Assent::Yes(Sure::Think)),
    ("guess so", Assent::Yes(Sure::Think)),
    ("i believe so", Assent::Yes(Sure::Think)),
    ("i suppose so", Assent::Yes(Sure::Think)),
    ("i suppose", Assent::Yes(Sure::Think)),
    ("i think yes", Assent::Yes(Sure::Think)),
    ("probably yes", Assent::Yes(Sure::Think)),
    ("probably", Assent::Yes(Sure::Think)),
    ("maybe yes", Assent::Yes(Sure::Think)),
    ("most likely", Assent::Yes(Sure::Think)),
    ("likely", Assent::Yes(Sure::Think)),
    ("seems so", Assent::Yes(Sure::Think)),
    ("seems to be", Assent::Yes(Sure::Think)),
    ("looks like it", Assent::Yes(Sure::Think)),
    ("pretty sure", Assent::Yes(Sure::Think)),
    ("maybe", Assent::Maybe),
    ("perhaps", Assent::Maybe),
    ("possibly", Assent::Maybe),
    ("might be", Assent::Maybe),
    ("could be", Assent::Maybe),
    ("i don't know", Assent::CannotTell),
    ("i really don't know", Assent::CannotTell),
    ("don't know", Assent::CannotTell),
    ("i do not know", Assent::CannotTell),
    ("dunno", Assent::CannotTell),
    ("i dunno", Assent::CannotTell),
    ("idk", Assent::CannotTell),
    ("dont no", Assent::CannotTell),
    ("no idea", Assent::CannotTell),
    ("no clue", Assent::CannotTell),
    ("i have no idea", Assent::CannotTell),
    ("not sure", Assent::CannotTell),
    ("i'm not sure", Assent::CannotTell),
    ("unsure", Assent::CannotTell),
    ("not certain", Assent::CannotTell),
    ("hard to say", Assent::CannotTell),
    ("hard to tell", Assent::CannotTell),
    ("can't tell", Assent::CannotTell),
    ("i can't tell", Assent::CannotTell),
    ("can't say", Assent::CannotTell),
    ("i can't say", Assent::CannotTell),
    ("couldn't say", Assent::CannotTell),
    ("couldn't tell", Assent::CannotTell),
    ("can't see", Assent::CannotTell),
    ("i can't see", Assent::CannotTell),
    ("can't see it", Assent::CannotTell),
    ("i can't see it", Assent::CannotTell),
    ("can't check", Assent::CannotTell),
    ("i can't check", Assent::CannotTell),
    ("can't check that", Assent::CannotTell),
    ("i can't check that", Assent::CannotTell),
    ("can't do that", Assent::CannotTell),
    ("i can't do that", Assent::CannotTell),
    ("i can't", Assent::CannotTell),
    ("can't", Assent::CannotTell),
    ("don't remember", Assent::CannotTell),
    ("i don't remember", Assent::CannotTell),
    ("who knows", Assent::CannotTell),
    ("skip", Assent::CannotTell),
    ("skip it", Assent::CannotTell),
    ("pass", Assent::CannotTell),
];

const YES: &[&str] = &[
    "y",
    "yes",
    "yeah",
    "yea",
    "yep",
    "yup",
    "yeh",
    "ya",
    "aye",
    "yess",
    "ye",
    "yas",
    "affirmative",
    "sure",
    "definitely",
    "absolutely",
    "certainly",
    "indeed",
    "correct",
];
const NO: &[&str] = &["n", "no", "nope", "nah", "noo", "negative", "never", "na"];

static TABLE: LazyLock<Vec<(Vec<String>, Assent)>> = LazyLock::new(|| {
    let words = |phrase: &str| tokens(phrase).into_iter().map(|t| t.text).collect();
    let mut table: Vec<(Vec<String>, Assent)> =
        PHRASES.iter().map(|(phrase, assent)| (words(phrase), *assent)).collect();
    table.sort_by_key(|(words, _)| std::cmp::Reverse(words.len()));
    table
});

/// The assent at the start of `said`, and the number of words that it takes.
pub(super) fn assent(said: &[Token]) -> Option<(Assent, usize)> {
    let leading = said.iter().take_while(|t| LEADING.contains(&t.text.as_str())).count();
    let rest = &said[leading.min(said.len().saturating_sub(1))..];
    let skipped = said.len() - rest.len();
    // A phrase must end where the words end or a stop stands: "don't know why the fan …" is no answer.
    let ends =
        |at: usize| rest.get(at).is_none_or(|t| t.after_stop || CONJUNCTIONS.contains(&t.text.as_str()));
    for (words, assent) in TABLE.iter() {
        let same = words.len() <= rest.len() && words.iter().zip(rest).all(|(w, t)| *w == t.text);
        if same && (ends(words.len()) || follows_if(rest, words.len(), *assent)) {
            let taken = if ends(words.len()) { words.len() } else { clause_end(rest) };
            return Some((*assent, skipped + taken));
        }
    }
    let first = rest.first()?;
    let next = rest.get(1);
    if YES.contains(&first.text.as_str()) {
        let sure = if first.text == "sure" && next.is_some_and(|t| !t.after_stop) {
            return None;
        } else {
            Sure::Plain
        };
        return Some((Assent::Yes(sure), skipped + 1));
    }
    if NO.contains(&first.text.as_str()) {
        let answers = next.is_none_or(|t| {
            t.after_stop
                || t.part == Part::Filler
                    && !matches!(t.text.as_str(), "one" | "more" | "such" | "any" | "longer")
                || t.part == Part::Negation
        });
        return answers.then_some((Assent::No(Sure::Plain), skipped + 1));
    }
    None
}

/// Words before an assent that change nothing.
const LEADING: &[&str] =
    &["um", "uh", "er", "oh", "well", "hmm", "ok", "okay", "hm", "so", "and", "honestly", "sorry"];

/// Words that part clauses.
pub(super) const CONJUNCTIONS: &[&str] =
    &["and", "but", "also", "plus", "then", "because", "though", "although", "or"];

/// "don't know if …": cannot tell, whatever follows.
fn follows_if(rest: &[Token], at: usize, assent: Assent) -> bool {
    assent == Assent::CannotTell && rest.get(at).is_some_and(|t| matches!(t.text.as_str(), "if" | "whether"))
}

fn clause_end(rest: &[Token]) -> usize {
    (1..rest.len()).find(|&at| rest[at].after_stop).unwrap_or(rest.len())
}

/// How sure a clause is.
pub(super) fn sure(said: &[Token]) -> Sure {
    let hedge = |t: &Token| {
        matches!(
            t.text.as_str(),
            "think"
                | "guess"
                | "probably"
                | "maybe"
                | "perhaps"
                | "might"
                | "likely"
                | "suppose"
                | "believe"
                | "possibly"
                | "seems"
                | "seem"
        )
    };
    if said.iter().any(hedge) { Sure::Think } else { Sure::Plain }
}
