//! The two streams and what each can show.

use std::io::{self, IsTerminal as _, Write as _};

use super::options::{Colour, Options};
use crate::render::Look;

/// Where results and talk go.
#[derive(Debug)]
pub(crate) struct Streams {
    /// How results look, on the standard output.
    pub(crate) out: Look,
    /// How talk looks, on the standard error.
    pub(crate) err: Look,
    /// Whether a person types at the standard input and sees the standard output.
    pub(crate) interactive: bool,
}

impl Streams {
    /// The streams of this process under these options.
    pub(crate) fn new(options: &Options) -> Self {
        let (out, err) = (io::stdout().is_terminal(), io::stderr().is_terminal());
        let width = width();
        let look = |terminal| Look {
            width,
            colour: !options.plain && colour(options.color, terminal, |name| std::env::var_os(name)),
            plain: options.plain,
        };
        Self { out: look(out), err: look(err), interactive: io::stdin().is_terminal() && out }
    }

    /// Writes a result. A reader that went away is [`io::ErrorKind::BrokenPipe`], which ends a command well.
    pub(crate) fn result(&self, text: &str) -> io::Result<()> {
        let mut out = io::stdout().lock();
        out.write_all(text.as_bytes())?;
        out.flush()
    }

    /// Says something on the side. Whether anybody hears it changes nothing.
    pub(crate) fn talk(&self, text: &str) {
        let mut err = io::stderr().lock();
        let _ = err.write_all(text.as_bytes()).and_then(|()| err.flush());
    }
}

/// A bar that says how far something is, on a standard error that is a terminal.
#[derive(Debug)]
pub(crate) struct Bar(Option<indicatif::ProgressBar>);

/// Steps of the bar.
const WHOLE: u64 = 1000;

impl Streams {
    /// A bar; nothing is shown where the standard error is no terminal.
    pub(crate) fn progress(&self) -> Bar {
        let shown = io::stderr().is_terminal() && !self.err.plain;
        Bar(shown.then(|| indicatif::ProgressBar::new(WHOLE)))
    }
}

impl Bar {
    /// Shows a share of the whole, with a word beside it.
    pub(crate) fn tell(&self, share: f64, word: &str) {
        if let Some(bar) = &self.0 {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a share of a thousand"
            )]
            bar.set_position((share.clamp(0.0, 1.0) * WHOLE as f64) as u64);
            bar.set_message(word.to_owned());
        }
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        if let Some(bar) = &self.0 {
            bar.finish_and_clear();
        }
    }
}

/// Columns for prose: `COLUMNS`, else the terminal's, else 80; at most 100, which is as far as eyes follow a line.
fn width() -> usize {
    let told =
        std::env::var("COLUMNS").ok().and_then(|text| text.trim().parse().ok()).filter(|&n: &usize| n > 0);
    let seen = || terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
    told.or_else(seen).unwrap_or(80).clamp(24, 100)
}

/// Whether to write colours on a stream. What was asked for beats the environment; there, `NO_COLOR` beats
/// `FORCE_COLOR` and `CLICOLOR_FORCE`, and an empty variable counts as unset.
fn colour(asked: Colour, terminal: bool, variable: impl Fn(&str) -> Option<std::ffi::OsString>) -> bool {
    let set = |name| variable(name).is_some_and(|value| !value.is_empty());
    let forced = |name| variable(name).is_some_and(|value| !value.is_empty() && value != "0");
    match asked {
        Colour::Always => true,
        Colour::Never => false,
        Colour::Auto if set("NO_COLOR") => false,
        Colour::Auto if forced("FORCE_COLOR") || forced("CLICOLOR_FORCE") => true,
        Colour::Auto => terminal && variable("TERM").is_none_or(|term| term != "dumb"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colour_follows_the_conventions() {
        let with = |set: &'static [(&str, &str)]| {
            move |name: &str| set.iter().find(|(n, _)| *n == name).map(|(_, value)| (*value).into())
        };
        assert!(colour(Colour::Auto, true, with(&[])));
        assert!(!colour(Colour::Auto, false, with(&[])));
        assert!(!colour(Colour::Auto, true, with(&[("NO_COLOR", "1"), ("FORCE_COLOR", "1")])));
        assert!(colour(Colour::Auto, true, with(&[("NO_COLOR", "")])));
        assert!(colour(Colour::Auto, false, with(&[("FORCE_COLOR", "1")])));
        assert!(!colour(Colour::Auto, false, with(&[("CLICOLOR_FORCE", "0")])));
        assert!(!colour(Colour::Auto, true, with(&[("TERM", "dumb")])));
        assert!(colour(Colour::Always, false, with(&[("NO_COLOR", "1")])));
        assert!(!colour(Colour::Never, true, with(&[("FORCE_COLOR", "1")])));
    }
}
