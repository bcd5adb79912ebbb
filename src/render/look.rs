//! How text may look on one stream: width, colour, plain or not.

use anstyle::{AnsiColor, Effects, Style};

/// What the stream at hand can show. Passed in, never read from a global.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Look {
    /// Columns at which prose is wrapped.
    pub width: usize,
    /// Whether escape codes for colour may be written.
    pub colour: bool,
    /// Linear text that makes sense read aloud: label before value, one fact per line, nothing side by side.
    pub plain: bool,
}

impl Look {
    /// Text for files and pipes: no colour, 80 columns.
    pub const TEXT: Self = Self { width: 80, colour: false, plain: false };

    /// `text` in the style of `role`, or as it is.
    #[must_use]
    pub fn paint(&self, role: Role, text: &str) -> String {
        if !self.colour || text.is_empty() {
            return text.to_owned();
        }
        let style = role.style();
        format!("{style}{text}{style:#}")
    }
}

/// What a piece of text is, for its colour. The word itself always says it too.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Role {
    /// A heading.
    Heading,
    /// What the person is asked or told to do now.
    Step,
    /// Signal word DANGER, and errors.
    Danger,
    /// Signal word WARNING, and warnings.
    Warning,
    /// Signal word CAUTION.
    Caution,
    /// Signal word NOTICE.
    Notice,
    /// Side remarks.
    Aside,
    /// Something proven or done.
    Good,
}

impl Role {
    /// One of the 16 basic colours, so that the person's own palette holds.
    const fn style(self) -> Style {
        let plain = Style::new();
        match self {
            Self::Heading => plain.effects(Effects::BOLD),
            Self::Step => plain.effects(Effects::BOLD),
            Self::Danger => AnsiColor::Red.on_default().effects(Effects::BOLD),
            Self::Warning => AnsiColor::Yellow.on_default().effects(Effects::BOLD),
            Self::Caution => AnsiColor::Yellow.on_default(),
            Self::Notice => AnsiColor::Blue.on_default(),
            Self::Aside => plain.effects(Effects::DIMMED),
            Self::Good => AnsiColor::Green.on_default(),
        }
    }
}
