//! What a session shows, as text for a terminal: the question or step, what there is to say, the ranking, the slip.
//!
//! In: views of the session. Out: pieces on a `Page`. Cautions come before the step, signal word first; one
//! question stands at a time; the words of the trade come from the views, only the words between them are from here.

mod bibliography;
mod check_sheet;
mod closing;
mod note;
mod on_chart;
mod prompt;
mod ranking;
mod reckon;
mod record;
mod said;
mod slip;
mod step;
mod what_if;
mod wires;

pub use bibliography::bibliography;
pub use check_sheet::check_sheet;
pub use closing::closing;
pub use note::note;
pub use on_chart::on_chart;
pub use prompt::{doubt, hint, notice, own_hint, question, reminder};
pub use ranking::{moved, ranked, ranking};
pub use reckon::{function, functions, reckoned, unreckoned};
pub use record::record;
pub use said::{help, said};
pub use slip::slip;
pub use what_if::what_if;

/// `a, b or c`.
#[must_use]
pub fn either<T: AsRef<str>>(items: &[T]) -> String {
    joined(items, "or")
}

/// `a, b and c`.
#[must_use]
pub fn all<T: AsRef<str>>(items: &[T]) -> String {
    joined(items, "and")
}

fn joined<T: AsRef<str>>(items: &[T], word: &str) -> String {
    match items {
        [] => String::new(),
        [only] => only.as_ref().to_owned(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} {word} {}", first.join(", "), last.as_ref())
        }
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn lists_read_as_people_say_them() {
        assert_eq!(super::either(&["yes"]), "yes");
        assert_eq!(super::either(&["a", "b", "c"]), "a, b or c");
        assert_eq!(super::all::<&str>(&[]), "");
    }
}
