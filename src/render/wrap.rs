//! Wrapping by display width.

use unicode_width::UnicodeWidthStr as _;

/// The lines of `text`, none wider than `width` columns unless a single word is; line feeds in it are kept.
///
/// The first line begins with `first`, the others with `rest`. Cost: linear.
#[must_use]
pub fn wrap(text: &str, width: usize, first: &str, rest: &str) -> Vec<String> {
    let mut lines = vec![];
    for paragraph in text.split('\n') {
        let mut line = String::from(if lines.is_empty() { first } else { rest });
        let mut room = width.saturating_sub(line.width());
        let mut empty = true;
        for word in paragraph.split_whitespace() {
            let wide = word.width();
            if !empty && wide + 1 > room {
                lines.push(std::mem::replace(&mut line, rest.to_owned()));
                room = width.saturating_sub(rest.width());
                empty = true;
            }
            if !empty {
                line.push(' ');
                room = room.saturating_sub(1);
            }
            line.push_str(word);
            room = room.saturating_sub(wide);
            empty = false;
        }
        if empty {
            line.truncate(line.trim_end().len());
        }
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::wrap;

    #[test]
    fn lines_hang_and_keep_to_the_width() {
        assert_eq!(wrap("one two three", 9, "- ", "  "), ["- one two", "  three"]);
        assert_eq!(wrap("unbreakable", 4, "", ""), ["unbreakable"]);
        assert_eq!(wrap("a\nb", 9, "> ", "  "), ["> a", "  b"]);
        assert_eq!(wrap("", 9, "- ", "  "), ["-"]);
    }

    #[test]
    fn wide_characters_count_twice() {
        assert_eq!(wrap("漢字 漢字", 7, "", ""), ["漢字", "漢字"]);
    }
}
