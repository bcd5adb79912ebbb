//! Foreign text made harmless for a terminal.

use std::borrow::Cow;
use std::fmt::Write as _;

/// The text with control, bidirectional and invisible characters spelled out as `\u{…}`.
///
/// Line feeds stay; a tab becomes a space. Escape sequences, overwriting and "Trojan source" reordering
/// (Boucher & Anderson 2021) thus show as what they are. Cost: one pass; nothing is copied where nothing is wrong.
#[must_use]
pub fn clean(text: &str) -> Cow<'_, str> {
    if !text.chars().any(|c| c == '\t' || hidden(c)) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        match c {
            '\t' => out.push(' '),
            c if hidden(c) => {
                // Writing to a string cannot fail.
                let _ = write!(out, "\\u{{{:x}}}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    Cow::Owned(out)
}

/// Whether a terminal would act on the character, or show nothing for it.
fn hidden(c: char) -> bool {
    match c {
        '\n' => false,
        '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{feff}' => true,
        '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' => true,
        '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e0fff}' => true,
        c => c.is_control(),
    }
}

#[cfg(test)]
mod tests {
    use super::clean;

    #[test]
    fn ordinary_text_is_untouched() {
        assert!(matches!(clean("4.2 A\nKüche – 20 °C"), std::borrow::Cow::Borrowed(_)));
    }

    #[test]
    fn what_a_terminal_would_obey_is_spelled_out() {
        assert_eq!(clean("a\u{1b}[2Jb"), "a\\u{1b}[2Jb");
        assert_eq!(clean("a\u{202e}b\u{200b}\r\u{9b}"), "a\\u{202e}b\\u{200b}\\u{d}\\u{9b}");
        assert_eq!(clean("a\tb"), "a b");
    }
}
