//! Text from a file, made safe to show.

use std::borrow::Cow;

/// Shows control characters and bidirectional overrides as escapes (`\u{202e}`).
///
/// A standard or a plan is untrusted: its text must not move the cursor, colour the terminal
/// or reorder a line. Tabs stay.
#[must_use]
pub fn visible(text: &str) -> Cow<'_, str> {
    if !text.chars().any(is_hidden) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len() + 16);
    for character in text.chars() {
        if is_hidden(character) {
            shown.extend(character.escape_unicode());
        } else {
            shown.push(character);
        }
    }
    Cow::Owned(shown)
}

/// Whether a character would act on the terminal, or be invisible, instead of showing.
fn is_hidden(character: char) -> bool {
    match character {
        '\t' => false,
        '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' => true,
        '\u{061c}'
        | '\u{180e}'
        | '\u{feff}'
        | '\u{fff9}'..='\u{fffb}'
        | '\u{e0000}'..='\u{e007f}' => true,
        _ => character.is_control(),
    }
}

#[cfg(test)]
mod tests {
    use super::visible;

    #[test]
    fn plain_text_is_not_copied() {
        assert!(matches!(
            visible("64 µm ± 2 µm"),
            std::borrow::Cow::Borrowed(_)
        ));
    }

    #[test]
    fn escapes_what_would_act_on_a_terminal() {
        assert_eq!(visible("a\u{1b}[31mb"), "a\\u{1b}[31mb");
        assert_eq!(visible("a\u{202e}b"), "a\\u{202e}b");
    }
}
