//! Characters that no file of a package holds: tabs, control characters, and those that turn the direction of text.
//!
//! Everything read here may reach a terminal or a page; there, such a character could hide or forge words.

use crate::diagnostic::{Code, Diagnostic};
use crate::source::{FileId, Span};

/// At most that many characters are reported one by one.
const REPORTED: usize = 8;

/// Whether a character may stand in a text.
#[must_use]
pub(super) fn allowed(character: char) -> bool {
    !matches!(character,
        '\0'..='\u{9}' | '\u{b}'..='\u{1f}' | '\u{7f}'..='\u{9f}'       // C0, DEL, C1; the line break is allowed
        | '\u{ad}' | '\u{61c}' | '\u{180e}'
        | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}'
        | '\u{feff}' | '\u{fff9}'..='\u{fffc}' | '\u{e0000}'..='\u{e0fff}')
}

/// What was found in a text.
pub(super) struct Cleaned {
    /// The text with every such character replaced by blanks of the same length, where there was any.
    pub(super) text: Option<String>,
    /// Whether the layout is in doubt, because a tab indents a line.
    pub(super) tab_indents: bool,
}

/// Reports each character that may not stand there, and blanks it out, all positions staying as they were.
pub(super) fn clean(file: FileId, text: &str, problems: &mut Vec<Diagnostic>) -> Cleaned {
    let bytes = text.as_bytes();
    let suspicious = |&byte: &u8| byte < 0x20 && byte != b'\n' || byte >= 0x7f;
    if !bytes.iter().any(suspicious) {
        return Cleaned { text: None, tab_indents: false };
    }
    let mut blanked: Vec<(usize, usize)> = Vec::new();
    let mut found = 0;
    let mut tab_indents = false;
    let mut indent = true;
    for (at, character) in text.char_indices() {
        let was_indent = indent;
        indent = character == '\n' || was_indent && character == ' ';
        let fine = allowed(character)
            || at == 0 && character == '\u{feff}'
            || character == '\r' && bytes.get(at + 1) == Some(&b'\n');
        if fine {
            continue;
        }
        let span = Span::new(file, at, at + character.len_utf8());
        blanked.push((at, at + character.len_utf8()));
        found += 1;
        let is_tab = character == '\t';
        if is_tab && was_indent {
            tab_indents = true;
            indent = true;
        }
        if found <= REPORTED {
            problems.push(if is_tab { tab(span) } else { control(span, character) });
        } else if found == REPORTED + 1 {
            let message = "further characters of this kind are not listed";
            problems.push(Diagnostic::new(Code::ControlCharacter, span, message));
        }
    }
    if blanked.is_empty() {
        return Cleaned { text: None, tab_indents };
    }
    let mut clean = String::with_capacity(text.len());
    let mut from = 0;
    for (start, end) in blanked {
        clean.push_str(&text[from..start]);
        clean.extend(std::iter::repeat_n(' ', end - start));
        from = end;
    }
    clean.push_str(&text[from..]);
    Cleaned { text: Some(clean), tab_indents }
}

fn tab(span: Span) -> Diagnostic {
    Diagnostic::new(Code::Tab, span, "a tab")
        .why("files are indented and spaced with blanks: a tab looks different everywhere")
        .help("put blanks instead")
}

fn control(span: Span, character: char) -> Diagnostic {
    let message = format!("the character U+{:04X} may not stand in a file", u32::from(character));
    Diagnostic::new(Code::ControlCharacter, span, message)
        .why("control characters and invisible ones could hide or forge words on a screen")
        .help("remove it")
}

/// Reports a text that got such a character by an escape (`"\x1b"`).
pub(super) fn escaped(span: Span, text: &str) -> Option<Diagnostic> {
    let bad = text.chars().find(|&character| !allowed(character))?;
    let message = format!("this text holds the character U+{:04X}", u32::from(bad));
    let problem = Diagnostic::new(Code::ControlCharacter, span, message)
        .why("control characters and invisible ones could hide or forge words on a screen")
        .help("remove the escape");
    Some(problem)
}
