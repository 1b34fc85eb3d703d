//! Names that a reader cannot tell apart, though they are not the same.
//!
//! A name is written by one person and read by another. `white-bаse` with a Cyrillic `а` is another ink than
//! `white-base`, and nobody sees it. Two names *read alike* when they are one after compatibility
//! normalization (NFKC, UAX #15), without regard to case, with every letter replaced by the one it is confusable
//! with (the skeleton of UTS #39).

use std::collections::HashMap;

use unicode_normalization::UnicodeNormalization as _;
use unicode_script::{Script, UnicodeScript as _};
use unicode_security::{MixedScript as _, skeleton};

use crate::diagnostic::{Code, Diagnostic};
use crate::source::Span;
use crate::syntax::tree::Word;

/// What is left of a name when everything is taken away that a reader may not see. Empty space counts once.
#[must_use]
pub fn folded(name: &str) -> String {
    let spaced = name.split_whitespace().collect::<Vec<_>>().join(" ");
    let plain: String = spaced.nfkc().collect::<String>().to_lowercase();
    // Lower case once more: the skeleton of `0` is `O`.
    skeleton(&plain).collect::<String>().to_lowercase()
}

/// Whether two texts show the same letters and are not the same: a capital is seen, another alphabet is not.
#[must_use]
pub fn shows_the_same(one: &str, other: &str) -> bool {
    let shown = |name: &str| skeleton(&name.nfkc().collect::<String>()).collect::<String>();
    one != other && shown(one) == shown(other)
}

/// A letter that looks like one of the script that the other letters of the word are of.
fn foreign(word: &str) -> Option<(char, Script, Script)> {
    if word.is_ascii() || word.is_single_script() {
        return None;
    }
    let own =
        |script: Script| !matches!(script, Script::Common | Script::Inherited | Script::Unknown);
    let scripts: Vec<Script> = word
        .chars()
        .map(|letter| letter.script())
        .filter(|script| own(*script))
        .collect();
    word.chars().find_map(|letter| {
        let mine = letter.script();
        let shown = skeleton(letter.encode_utf8(&mut [0; 4])).next()?.script();
        let passes = own(mine) && own(shown) && shown != mine && scripts.contains(&shown);
        passes.then_some((letter, mine, shown))
    })
}

/// The names of one sort that were met, by what they fold to.
#[derive(Default)]
pub(super) struct Lookalikes<'t> {
    names: HashMap<(String, String), (&'t str, Span)>,
}

impl<'t> Lookalikes<'t> {
    /// Takes a name in, and says what is odd about it: letters of two scripts, or another name that reads like it.
    /// `sort` keeps apart what is never named in the same place.
    pub(super) fn add(&mut self, sort: &str, name: Word<'t>, problems: &mut Vec<Diagnostic>) {
        if let Some((letter, mine, shown)) = foreign(name.text) {
            problems.push(
                Diagnostic::new(
                    Code::MixedScripts,
                    name.span,
                    format!(
                        "`{}` mixes letters of two scripts: its `{letter}` (U+{:04X}) is {}, and looks like a letter that is {}",
                        name.text,
                        u32::from(letter),
                        mine.full_name(),
                        shown.full_name(),
                    ),
                    "read letter by letter, this is another word",
                )
                .help("write the whole word in one script"),
            );
        }
        let key = (sort.to_owned(), folded(name.text));
        match self.names.get(&key) {
            Some((first, at)) if *first != name.text => problems.push(
                Diagnostic::new(
                    Code::LooksAlike,
                    name.span,
                    format!(
                        "{sort} `{}` reads like {sort} `{first}`, and is another",
                        name.text
                    ),
                    "taken for the other",
                )
                .related(*at, "reads like this one")
                .help("give one of them a name that can be told apart aloud and on paper"),
            ),
            Some(_) => {}
            None => {
                self.names.insert(key, (name.text, name.span));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{folded, foreign, shows_the_same};

    #[test]
    fn names_that_read_alike_fold_to_one() {
        for (one, other) in [
            ("white-base", "White-Base"),
            ("white-base", "white-b\u{430}se"),
            ("white-base", "\u{ff57}hite-base"),
            ("bl\u{e9}u", "ble\u{301}u"),
            ("coat-0", "coat-o"),
            ("coat-1", "coat-l"),
            ("two  words", "two words"),
        ] {
            assert_eq!(folded(one), folded(other), "{one} {other}");
        }
        assert_ne!(folded("white-base"), folded("white-bases"));
        assert_ne!(folded("mesh-43-80"), folded("mesh-48-30"));
    }

    #[test]
    fn a_capital_is_seen_and_another_alphabet_is_not() {
        assert!(shows_the_same("bl\u{e9}u", "ble\u{301}u"));
        assert!(shows_the_same("belt", "b\u{435}lt"));
        assert!(!shows_the_same("belt", "Belt"));
        assert!(!shows_the_same("belt", "belt"));
    }

    #[test]
    fn a_letter_of_another_script_is_found_where_it_looks_like_one_of_the_word() {
        let letter = |word: &str| foreign(word).map(|(letter, ..)| letter);
        assert_eq!(letter("white-b\u{430}se"), Some('\u{430}'));
        assert_eq!(letter("white-base"), None);
        // A whole word of another script, and a sign of physics, are what they look like.
        assert_eq!(letter("\u{431}\u{435}\u{43b}\u{44b}\u{439}"), None);
        assert_eq!(letter("\u{394}t"), None);
        assert_eq!(letter("film-\u{b5}m"), None);
    }
}
