//! Entries of several quantities that are typed in pieces: what came is kept until the rest does.

use super::super::hear::{Answer, Context, Doubt, Expecting, Heard, Meaning, Unclear, hear};
use super::super::prompt::{Prompt, View};
use super::{Dialogue, Pending};

impl Dialogue {
    pub(super) fn context<'a>(&'a self, expecting: &'a Expecting) -> Context<'a> {
        Context { model: self.session.model(), ear: self.ear(), expecting }
    }

    /// What an entry comes to with what was still wanted of it, where the line alone is no whole answer.
    pub(super) fn completed(&self, line: &str, view: &View, alone: &Heard) -> Option<Heard> {
        let (Pending::Entry { test, typed }, Prompt::Test(step)) = (&self.pending, &view.prompt) else {
            return None;
        };
        let open = matches!(alone, Heard::Unclear(unclear) if unclear.doubt == Doubt::Incomplete);
        if step.test != *test || !open {
            return None;
        }
        let whole = hear(&format!("{typed} {line}"), &self.context(&self.waits_for(&view.prompt)));
        let told = match &whole {
            Heard::Understood(meanings) => {
                matches!(meanings[..], [Meaning::Answer(Answer::Readings { .. })])
            }
            Heard::Unclear(unclear) => unclear.doubt == Doubt::Incomplete,
            _ => false,
        };
        Some(whole).filter(|_| told)
    }

    /// Keeps a line of which something is still wanted, with those before it where they belong together.
    pub(super) fn keep_entry(&mut self, unclear: &Unclear, line: &str, view: &View) {
        let (Doubt::Incomplete, Prompt::Test(step)) = (unclear.doubt, &view.prompt) else { return };
        let before = match std::mem::take(&mut self.pending) {
            Pending::Entry { test, typed } if test == step.test => typed,
            _ => String::new(),
        };
        let both = format!("{before} {line}");
        let together = hear(&both, &self.context(&self.waits_for(&view.prompt)));
        let grows = matches!(together, Heard::Unclear(unclear) if unclear.doubt == Doubt::Incomplete);
        let typed = if grows { both } else { line.to_owned() };
        self.pending = Pending::Entry { test: step.test.clone(), typed };
    }
}
