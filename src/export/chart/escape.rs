//! Foreign text in XML, HTML and DOT.

use super::super::clean::clean;

/// Text for an element or a quoted attribute of XML or HTML, on one line. What XML 1.0 cannot hold is spelled out.
pub(super) fn xml(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for c in clean(text).chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' => out.push(' '),
            '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

/// Text for a quoted string of DOT, on one line.
pub(super) fn dot(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for c in clean(text).chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

/// Text in lines of at most `width` characters, broken between words; a longer word is broken where it must be.
pub(super) fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = vec![String::new()];
    for word in clean(text).split_whitespace() {
        let mut word: Vec<char> = word.chars().collect();
        while !word.is_empty() {
            let line = lines.len() - 1;
            let used = lines[line].chars().count();
            let gap = usize::from(used > 0);
            if used + gap + word.len() <= width {
                if gap > 0 {
                    lines[line].push(' ');
                }
                lines[line].extend(word.drain(..));
            } else if used > 0 {
                lines.push(String::new());
            } else {
                lines[line].extend(word.drain(..width.min(word.len())));
                if !word.is_empty() {
                    lines.push(String::new());
                }
            }
        }
    }
    lines.retain(|line| !line.is_empty());
    lines
}

#[cfg(test)]
mod tests {
    use super::{dot, wrapped, xml};

    #[test]
    fn foreign_text_stays_text() {
        assert_eq!(xml("<a b='c'>&\u{1b}\u{ffff}"), "&lt;a b=&#39;c&#39;&gt;&amp;\\u{1b}\u{fffd}");
        assert_eq!(dot("a\"\\\n\u{7}"), "a\\\"\\\\ \\\\u{7}");
    }

    #[test]
    fn lines_keep_to_their_width() {
        assert_eq!(wrapped("one two three", 7), ["one two", "three"]);
        assert_eq!(wrapped("abcdefgh ij", 3), ["abc", "def", "gh", "ij"]);
        assert!(wrapped("  ", 5).is_empty());
    }
}
