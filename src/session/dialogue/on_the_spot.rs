//! Questions that can come at any time: answered at once from the package, whatever is asked, and nothing is taken of them.

use super::super::hear::on_the_spot;
use super::super::prompt::Prompt;
use super::{Dialogue, Said, Turn};

impl Dialogue {
    /// Answers the question that the line asks, if it asks one, and gives the rest of the line.
    pub(super) fn on_the_spot(&self, line: &str, turn: &mut Turn) -> Option<String> {
        let questions = &self.session.model().practice.on_the_spot;
        let (at, rest) = on_the_spot(line, questions)?;
        let question = &questions[at];
        let settled = matches!(
            self.session.view().prompt,
            Prompt::Emergencies(_) | Prompt::Emergency(_) | Prompt::Complaint
        );
        let not_meanwhile =
            if question.slip && !settled { self.session.slip().not_meanwhile } else { Vec::new() };
        turn.said.push(Said::OnTheSpot { lines: question.say.clone(), not_meanwhile });
        Some(rest)
    }
}
