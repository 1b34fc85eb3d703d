//! Hides from the grammar what may stand nowhere: control characters, and brackets nested too deep.
//!
//! Both would otherwise have to be looked for in every rule. A masked text has the same length as the
//! text itself, so all offsets agree; the tree is cut from the original.

use std::borrow::Cow;

/// How deep brackets may nest on one line.
pub(super) const DEEPEST: usize = 64;

/// The text in which U+0001 stands for every byte of a control character (tab and line ends apart)
/// and for the brackets of a line that nests deeper than [`DEEPEST`].
pub(super) fn masked(text: &str) -> Cow<'_, str> {
    let mut hidden = Vec::new();
    let mut line = 0;
    let mut brackets = 0;
    let bytes = text.as_bytes();
    for (at, &byte) in bytes.iter().enumerate() {
        match byte {
            b'\n' => {
                if brackets > DEEPEST {
                    hide_brackets(text, line..at, &mut hidden);
                }
                line = at + 1;
                brackets = 0;
            }
            b'\t' | b'\r' => {}
            b'(' => brackets += 1,
            0..=0x1f | 0x7f => hidden.push(at),
            // U+0080 to U+009F are two bytes in UTF-8.
            0xc2 if bytes.get(at + 1).is_some_and(|next| *next < 0xa0) => {
                hidden.extend([at, at + 1]);
            }
            _ => {}
        }
    }
    if brackets > DEEPEST {
        hide_brackets(text, line..text.len(), &mut hidden);
    }
    if hidden.is_empty() {
        return Cow::Borrowed(text);
    }
    let mut bytes = bytes.to_vec();
    for at in hidden {
        if let Some(byte) = bytes.get_mut(at) {
            *byte = 1;
        }
    }
    // Only whole characters were replaced, so this never changes anything.
    Cow::Owned(String::from_utf8(bytes).unwrap_or_else(|_| "\u{1}".repeat(text.len())))
}

fn hide_brackets(text: &str, line: std::ops::Range<usize>, hidden: &mut Vec<usize>) {
    let body = text.get(line.clone()).unwrap_or("");
    if deepest(body) > DEEPEST {
        let opening = body.bytes().enumerate().filter(|(_, byte)| *byte == b'(');
        hidden.extend(opening.map(|(at, _)| line.start + at));
    }
}

/// How deep brackets nest on a line, texts and comments left out.
pub(super) fn deepest(line: &str) -> usize {
    let (mut depth, mut deepest, mut quoted, mut escaped) = (0_usize, 0, false, false);
    for byte in line.bytes() {
        match byte {
            _ if escaped => escaped = false,
            b'\\' if quoted => escaped = true,
            b'"' => quoted = !quoted,
            _ if quoted => {}
            b'#' => break,
            b'(' => {
                depth += 1;
                deepest = deepest.max(depth);
            }
            b')' => depth = depth.saturating_sub(1),
            _ => {}
        }
    }
    deepest
}

#[cfg(test)]
mod tests {
    use super::{deepest, masked};
    use std::borrow::Cow;

    #[test]
    fn plain_text_is_not_copied() {
        assert!(matches!(masked("air 320 °F\t(x)\r\n"), Cow::Borrowed(_)));
    }

    #[test]
    fn control_characters_are_hidden_in_place() {
        assert_eq!(masked("a\u{7}b\u{85}c°"), "a\u{1}b\u{1}\u{1}c°");
    }

    #[test]
    fn only_lines_that_nest_too_deep_lose_their_brackets() {
        let flat = "(x) ".repeat(100);
        let deep = "(".repeat(65);
        let text = format!("{flat}\n{deep}\n{flat}");
        let expected = format!("{flat}\n{}\n{flat}", "\u{1}".repeat(65));
        assert_eq!(masked(&text), expected);
    }

    #[test]
    fn brackets_in_texts_and_comments_do_not_count() {
        assert_eq!(deepest(r#"a "((\"((" (b) # ((("#), 1);
    }
}
