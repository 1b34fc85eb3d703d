//! *Did you mean*: the nearest known word.

use super::lookalike::{folded, shows_the_same};

/// The known word nearest to `word`, if it is near enough to be a slip.
///
/// Near enough means at most one edit in three letters; a word that differs only in case, or in
/// hyphens, always is.
#[must_use]
pub fn nearest<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> Option<&'k str> {
    let plain = |text: &str| text.to_lowercase().replace(['-', '_', ' '], "");
    let wanted = plain(word);
    let read = folded(word);
    let mut best: Option<(usize, &str)> = None;
    for candidate in known {
        if candidate == word {
            continue;
        }
        // What reads like it is nearest of all, whatever it is written with.
        if folded(candidate) == read {
            if best.is_none_or(|(least, held)| (0, candidate) < (least, held)) {
                best = Some((0, candidate));
            }
            continue;
        }
        let offered = plain(candidate);
        let (mine, theirs) = (wanted.chars().count(), offered.chars().count());
        let reach = mine.max(theirs).div_ceil(3).min(4);
        // Each letter more or less is an edit of its own: most words are told apart by length alone.
        if mine.abs_diff(theirs) > reach {
            continue;
        }
        let distance = strsim::osa_distance(&wanted, &offered);
        if distance > reach {
            continue;
        }
        if best.is_none_or(|(least, held)| (distance, candidate) < (least, held)) {
            best = Some((distance, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// A help line: the nearest word, or the words there are when they are few.
#[must_use]
pub fn did_you_mean<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> Option<String> {
    let mut known: Vec<&str> = known.into_iter().collect();
    known.sort_unstable();
    known.dedup();
    if let Some(found) = nearest(word, known.iter().copied()) {
        return Some(if shows_the_same(found, word) {
            format!(
                "did you mean `{found}`? it looks the same, and is written with other characters"
            )
        } else {
            format!("did you mean `{found}`?")
        });
    }
    if known.is_empty() || known.len() > 12 {
        return None;
    }
    let list: Vec<String> = known.iter().map(|name| format!("`{name}`")).collect();
    Some(format!("there is {}", list.join(", ")))
}

#[cfg(test)]
mod tests {
    use super::{did_you_mean, nearest};

    #[test]
    fn finds_a_slip() {
        let known = ["mesh", "tension", "thread"];
        assert_eq!(nearest("mseh", known), Some("mesh"));
        assert_eq!(nearest("Tension", known), Some("tension"));
        assert_eq!(nearest("wavelength", known), None);
    }

    #[test]
    fn says_that_a_word_looks_the_same() {
        assert_eq!(
            did_you_mean("ble\u{301}u", ["bl\u{e9}u", "ble"]).as_deref(),
            Some(
                "did you mean `bl\u{e9}u`? it looks the same, and is written with other characters"
            )
        );
        assert_eq!(
            did_you_mean("Tension", ["tension"]).as_deref(),
            Some("did you mean `tension`?")
        );
    }

    #[test]
    fn lists_what_there_is_when_nothing_is_near() {
        assert_eq!(
            did_you_mean("wavelength", ["belt", "air"]).as_deref(),
            Some("there is `air`, `belt`")
        );
    }
}
