//! Breaking text into lines.

/// Breaks at spaces so that no line is wider than `width` characters, unless one word is.
/// The first line starts with `first`, the others with `rest`.
pub(super) fn fold(text: &str, width: usize, first: &str, rest: &str) -> String {
    let mut folded = String::with_capacity(text.len() + first.len());
    folded.push_str(first);
    let mut column = first.chars().count();
    let mut empty = true;
    // A no-break space is no place to break: it keeps a number and its unit together.
    for word in text
        .split([' ', '\t', '\n'])
        .filter(|word| !word.is_empty())
    {
        let size = word.chars().count();
        if !empty && column + 1 + size > width {
            folded.push('\n');
            folded.push_str(rest);
            column = rest.chars().count();
            empty = true;
        }
        if !empty {
            folded.push(' ');
            column += 1;
        }
        folded.push_str(word);
        column += size;
        empty = false;
    }
    folded.push('\n');
    folded
}

#[cfg(test)]
mod tests {
    use super::fold;

    #[test]
    fn breaks_at_spaces() {
        assert_eq!(fold("aa bb cc", 6, "> ", "  "), "> aa\n  bb\n  cc\n");
        assert_eq!(fold("aa bb cc", 7, "> ", "  "), "> aa bb\n  cc\n");
    }

    #[test]
    fn a_long_word_stays_whole() {
        assert_eq!(fold("abcdefgh i", 4, "", ""), "abcdefgh\ni\n");
    }

    #[test]
    fn counts_characters_not_bytes() {
        assert_eq!(fold("°°° °°°", 7, "", ""), "°°° °°°\n");
        assert_eq!(fold("a 80\u{a0}s", 4, "", ""), "a\n80\u{a0}s\n");
    }
}
