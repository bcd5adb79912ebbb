//! A command that could not do its job, in words for a person.

use std::fmt::Display;

use super::exit_status::ExitStatus;
use crate::export::clean;
use crate::render::{Look, Page, Role};

/// What a command hands back instead of a status.
#[derive(Debug)]
pub(crate) enum Failure {
    /// The reader of the output went away: nothing is wrong.
    ReaderGone,
    /// It could not be done.
    Said {
        /// What, in a short clause.
        message: String,
        /// Why, one cause after the other.
        causes: Vec<String>,
        /// What to do.
        hints: Vec<String>,
        /// How the command ends.
        status: ExitStatus,
    },
}

impl Failure {
    /// It could not be done, for this reason.
    pub(crate) fn new(message: impl Into<String>) -> Self {
        Self::Said { message: message.into(), causes: vec![], hints: vec![], status: ExitStatus::Unable }
    }

    /// It could not be done because of an error and what lies under it.
    pub(crate) fn because(message: impl Into<String>, error: &dyn std::error::Error) -> Self {
        let mut reasons = vec![error.to_string()];
        let mut next = error.source();
        while let Some(error) = next {
            reasons.push(error.to_string());
            next = error.source();
        }
        match Self::new(message) {
            Self::Said { message, hints, status, .. } => {
                Self::Said { message, causes: reasons, hints, status }
            }
            gone => gone,
        }
    }

    /// With a hint.
    pub(crate) fn hint(mut self, hint: impl Into<String>) -> Self {
        if let Self::Said { hints, .. } = &mut self {
            hints.push(hint.into());
        }
        self
    }

    /// Ending with another status.
    pub(crate) fn ending(mut self, with: ExitStatus) -> Self {
        if let Self::Said { status, .. } = &mut self {
            *status = with;
        }
        self
    }

    /// The status with which the program ends.
    pub(crate) const fn status(&self) -> ExitStatus {
        match self {
            Self::ReaderGone => ExitStatus::Done,
            Self::Said { status, .. } => *status,
        }
    }

    /// The message: error, causes, hints.
    pub(crate) fn text(&self, look: Look) -> String {
        let Self::Said { message, causes, hints, .. } = self else { return String::new() };
        let mut page = Page::new(look);
        page.labelled(Role::Danger, "error", message);
        for cause in causes {
            page.labelled(Role::Aside, "because", cause);
        }
        for hint in hints {
            page.labelled(Role::Notice, "hint", hint);
        }
        page.finish()
    }
}

impl From<std::io::Error> for Failure {
    /// Only for errors of our own two streams.
    fn from(error: std::io::Error) -> Self {
        if error.kind() == std::io::ErrorKind::BrokenPipe {
            Self::ReaderGone
        } else {
            Self::because("cannot write the result", &error)
        }
    }
}

/// `name` in back-ticks, made harmless.
pub(crate) fn quoted(name: impl Display) -> String {
    format!("`{}`", clean(&name.to_string()))
}
