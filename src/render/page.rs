//! A text put together piece by piece, for one look.

use super::look::{Look, Role};
use super::wrap::wrap;
use crate::export::clean;

/// Text for a terminal, wrapped and painted for one [`Look`]. Every piece is cleaned on its way in.
#[derive(Clone, Debug)]
pub struct Page {
    look: Look,
    text: String,
}

impl Page {
    /// An empty page.
    #[must_use]
    pub const fn new(look: Look) -> Self {
        Self { look, text: String::new() }
    }

    /// The look for which it is made.
    #[must_use]
    pub const fn look(&self) -> Look {
        self.look
    }

    /// A heading, with an empty line before it unless it comes first.
    pub fn heading(&mut self, text: &str) -> &mut Self {
        self.gap();
        self.block(Some(Role::Heading), text, "", "")
    }

    /// A paragraph.
    pub fn line(&mut self, text: &str) -> &mut Self {
        self.block(None, text, "", "")
    }

    /// A paragraph in the style of a role.
    pub fn said(&mut self, role: Role, text: &str) -> &mut Self {
        self.block(Some(role), text, "", "")
    }

    /// A point of a list.
    pub fn point(&mut self, text: &str) -> &mut Self {
        self.block(None, text, "  - ", "    ")
    }

    /// A numbered step, counted from 1.
    pub fn numbered(&mut self, number: usize, text: &str) -> &mut Self {
        let first = format!("  {number}. ");
        let rest = " ".repeat(first.len());
        self.block(None, text, &first, &rest)
    }

    /// A box to tick on paper, with a number or none.
    pub fn ticked(&mut self, number: &str, text: &str) -> &mut Self {
        let first = if number.is_empty() { "[ ] ".to_owned() } else { format!("[ ] {number:>3}  ") };
        let rest = " ".repeat(first.len());
        self.block(None, text, &first, &rest)
    }

    /// A paragraph indented under what stands above.
    pub fn under(&mut self, text: &str) -> &mut Self {
        self.block(None, text, "    ", "    ")
    }

    /// `label: text`, the label in the style of `role`, the text hanging under it.
    pub fn labelled(&mut self, role: Role, label: &str, text: &str) -> &mut Self {
        let label = clean(label);
        let lines = wrap(&format!("{label}: {}", clean(text)), self.look.width, "", "  ");
        for (at, line) in lines.iter().enumerate() {
            match line.strip_prefix(label.as_ref()).filter(|_| at == 0) {
                Some(rest) => {
                    self.text.push_str(&self.look.paint(role, &label));
                    self.text.push_str(rest);
                }
                None => self.text.push_str(line),
            }
            self.text.push('\n');
        }
        self
    }

    /// An empty line, unless one is there already or nothing stands above.
    pub fn gap(&mut self) -> &mut Self {
        if !self.text.is_empty() && !self.text.ends_with("\n\n") {
            self.text.push('\n');
        }
        self
    }

    /// Lines as they are, neither wrapped nor cleaned: what another part of this room has made.
    pub fn made(&mut self, text: &str) -> &mut Self {
        self.text.push_str(text);
        if !text.is_empty() && !text.ends_with('\n') {
            self.text.push('\n');
        }
        self
    }

    /// Whether nothing was written.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.text.is_empty()
    }

    /// The text, each line ended.
    #[must_use]
    pub fn finish(self) -> String {
        self.text
    }

    fn block(&mut self, role: Option<Role>, text: &str, first: &str, rest: &str) -> &mut Self {
        for line in wrap(&clean(text), self.look.width, first, rest) {
            let painted = role.map_or_else(|| line.clone(), |role| self.look.paint(role, &line));
            self.text.push_str(&painted);
            self.text.push('\n');
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colour_only_adds_codes() {
        let make = |colour| {
            let mut page = Page::new(Look { width: 30, colour, plain: false });
            page.heading("Now")
                .labelled(Role::Danger, "DANGER", "Live parts behind this door may kill.")
                .point("one");
            page.finish()
        };
        let bare = make(false);
        assert_eq!(bare, "Now\nDANGER: Live parts behind this\n  door may kill.\n  - one\n");
        assert_eq!(anstream::adapter::strip_str(&make(true)).to_string(), bare);
    }
}
