//! Breaking text into lines.

use std::borrow::Cow;
use std::io::{self, Write};

use crate::source::visible;

/// Breaks at spaces so that no line is wider than `width` characters, unless one word is.
/// The first line starts with `first`, the others with `rest`.
pub(super) fn fold(text: &str, width: usize, first: &str, rest: &str) -> String {
    let mut folded = String::with_capacity(text.len() + first.len());
    folded.push_str(first);
    let mut column = first.chars().count();
    let mut empty = true;
    for piece in pieces(text) {
        let size = piece.chars().count();
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
        folded.push_str(&piece);
        column += size;
        empty = false;
    }
    folded.push('\n');
    folded
}

/// A heading with an empty line below it, bold where there is colour.
pub(super) fn heading(
    words: &str,
    width: usize,
    colour: bool,
    out: &mut dyn Write,
) -> io::Result<()> {
    let text = fold(words, width, "", "  ");
    if colour {
        writeln!(out, "\u{1b}[1m{}\u{1b}[0m\n", text.trim_end())
    } else {
        writeln!(out, "{text}")
    }
}

/// A line of a block: its name in the margin, the text beside it from `column` on.
pub(super) fn beside(
    name: &str,
    text: &str,
    width: usize,
    column: usize,
    out: &mut dyn Write,
) -> io::Result<()> {
    let first = format!("  {name:<width$}", width = column - 2);
    let text = fold(&visible(text), width, &first, &" ".repeat(column));
    out.write_all(text.as_bytes())
}

/// The longest piece that is kept together, in bytes.
const LONGEST_PIECE: usize = 24;

/// Words; a number keeps its unit and its tolerance beside it.
fn pieces(text: &str) -> Vec<Cow<'_, str>> {
    let mut pieces: Vec<Cow<'_, str>> = Vec::new();
    // A no-break space is no place to break.
    for word in text.split([' ', '\t', '\n']) {
        if word.is_empty() {
            continue;
        }
        match pieces.last_mut() {
            Some(last)
                if (last.ends_with(|end: char| end.is_ascii_digit()) || last.ends_with('±'))
                    && last.len() + word.len() < LONGEST_PIECE =>
            {
                let last = last.to_mut();
                last.push(' ');
                last.push_str(word);
            }
            _ => pieces.push(Cow::Borrowed(word)),
        }
    }
    pieces
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
    fn a_number_keeps_its_unit() {
        assert_eq!(fold("at most 305 °F", 12, "", ""), "at most\n305 °F\n");
        assert_eq!(fold("belt ± 5 %", 8, "", ""), "belt\n± 5 %\n");
        // A row of numbers is still broken.
        assert!(fold(&"1 ".repeat(100), 30, "", "").lines().count() > 4);
    }

    #[test]
    fn counts_characters_not_bytes() {
        assert_eq!(fold("°°° °°°", 7, "", ""), "°°° °°°\n");
        assert_eq!(fold("a 80\u{a0}s", 4, "", ""), "a\n80\u{a0}s\n");
    }
}
