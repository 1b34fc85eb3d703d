//! Whole phrases as people say them: a line in which one is put right is offered only if it reads then.

use std::ops::Range;

use super::grammar::{self, Rule};
use super::{Inside, ProblemNode};

/// Lines longer than this are nobody's handwriting.
const LONGEST: usize = 2_000;

/// A phrase of a line, and what to write instead.
type Phrase = (Range<usize>, String);

/// What is to blame for a line that does not read: the place, and the problem.
pub(super) fn blame(
    inside: Inside,
    line: &str,
    strict: Rule,
) -> Option<(Range<usize>, ProblemNode)> {
    if line.len() > LONGEST || line.contains('#') {
        return None;
    }
    let ways: [fn(Inside, &str) -> Option<Phrase>; 9] = [
        source_without_quotes,
        article,
        range_of,
        function_of,
        within_a_tolerance,
        tolerance_in_two_parts,
        colon_for_is,
        reads_for_shows,
        is_for_at,
    ];
    let mut found: Vec<Phrase> = Vec::new();
    for way in ways {
        let Some((at, instead)) = way(inside, line) else {
            continue;
        };
        let apart = found
            .iter()
            .all(|(known, _)| at.end <= known.start || known.end <= at.start);
        if apart {
            found.push((at, instead));
        }
    }
    found.sort_by_key(|(at, _)| at.start);
    // One phrase alone first: the fewer words are changed, the better.
    let alone = found.iter().map(std::slice::from_ref);
    for phrases in alone.chain([found.as_slice()]) {
        let put_right = put_right(line, phrases);
        let Some((at, instead)) = phrases.first() else {
            continue;
        };
        if grammar::read(strict, &put_right).is_ok() {
            return Some((
                at.clone(),
                ProblemNode::SpelledOtherwise {
                    written: line.get(at.clone())?.to_owned(),
                    instead: instead.clone(),
                    line: Some(put_right.trim().to_owned()),
                },
            ));
        }
    }
    None
}

fn put_right(line: &str, phrases: &[Phrase]) -> String {
    let mut put_right = String::with_capacity(line.len() + 16);
    let mut from = 0;
    for (at, instead) in phrases {
        put_right.push_str(line.get(from..at.start).unwrap_or(""));
        put_right.push_str(instead);
        from = at.end;
    }
    put_right.push_str(line.get(from..).unwrap_or(""));
    put_right
}

/// The words of a line with their places; none inside a text.
fn words(line: &str) -> Vec<(usize, &str)> {
    let mut words = Vec::new();
    let (mut start, mut quoted) = (None, false);
    for (at, character) in line.char_indices().chain([(line.len(), ' ')]) {
        let gap = character == ' ' || character == '\t';
        if character == '"' {
            quoted = !quoted;
        }
        if !gap && !quoted {
            start.get_or_insert(at);
        } else if let (Some(from), true) = (start, gap && !quoted) {
            words.push((from, line.get(from..at).unwrap_or("")));
            start = None;
        }
    }
    words
}

/// `per AW-114 rev 2` → `per "AW-114 rev 2"`
fn source_without_quotes(_: Inside, line: &str) -> Option<Phrase> {
    let words = words(line);
    let (per, _) = *words.iter().rev().find(|(_, word)| *word == "per")?;
    let behind = per + "per".len();
    let rest = line.get(behind..)?;
    let end = match rest.find(" reviewed ") {
        Some(reviewed) => behind + reviewed,
        None => line.trim_end().trim_end_matches(['{', ' ']).len(),
    };
    let said = line.get(behind..end)?;
    let from = behind + (said.len() - said.trim_start().len());
    let said = said.trim();
    let plain = !said.contains(['"', '“', '”', '\\']);
    // One plain word is a unit (`per min`) or `practice`, misspelt.
    let named = said.contains(|c: char| c.is_uppercase() || c.is_ascii_digit() || c == ' ');
    (plain && named).then(|| (from..from + said.len(), format!("\"{said}\"")))
}

/// `is a plastisol` → `is plastisol`
fn article(_: Inside, line: &str) -> Option<Phrase> {
    let words = words(line);
    let at = words
        .windows(2)
        .position(|two| two[0].1 == "is" && matches!(two[1].1, "a" | "an" | "the"))?;
    let (from, is) = words[at];
    let (last, article) = words[at + 1];
    Some((from..last + article.len(), is.to_owned()))
}

/// `belt reads 4 m/min at 3.6 m/min` → `belt shows 4 m/min at 3.6 m/min`
fn reads_for_shows(inside: Inside, line: &str) -> Option<Phrase> {
    let words = words(line);
    let (at, word) = *words.get(1)?;
    let other = matches!(word, "reads" | "indicates" | "says" | "displays" | "show");
    (inside == Inside::Record && other).then(|| (at..at + word.len(), "shows".to_owned()))
}

/// `belt shows 4 m/min is 3.6 m/min` → `belt shows 4 m/min at 3.6 m/min`
fn is_for_at(inside: Inside, line: &str) -> Option<Phrase> {
    let mut words = words(line).into_iter().skip(2);
    let (at, word) = words.find(|(_, word)| matches!(*word, "is" | "for" | "when" | "means"))?;
    (inside == Inside::Record).then(|| (at..at + word.len(), "at".to_owned()))
}

/// `range temperature` → `range of temperature`
fn range_of(inside: Inside, line: &str) -> Option<Phrase> {
    if inside != Inside::Kind {
        return None;
    }
    let words = words(line);
    let (at, word) = *words.get(1)?;
    let (_, next) = *words.get(2)?;
    let short = matches!(word, "range" | "choice") && next != "of";
    short.then(|| (at..at + word.len(), format!("{word} of")))
}

/// `count screen` → `count(screen)`
fn function_of(_: Inside, line: &str) -> Option<Phrase> {
    let words = words(line);
    let at = words.windows(2).position(|two| {
        let name = two[1].1.starts_with(|c: char| c.is_alphabetic());
        let function = matches!(
            two[0].1,
            "count" | "total" | "root" | "low" | "high" | "round-up"
        );
        function && name && two[1].1 != "of"
    })?;
    let ((from, function), (of, name)) = (words[at], words[at + 1]);
    Some((from..of + name.len(), format!("{function}({name})")))
}

/// `within x ± 3 %` → `within 0.97 * x to 1.03 * x`, `within x ± 3 s` → `within x - 3 s to x + 3 s`
fn within_a_tolerance(inside: Inside, line: &str) -> Option<Phrase> {
    if matches!(inside, Inside::Record | Inside::Sequence) {
        return None;
    }
    let words = words(line);
    let at = words.iter().position(|(_, word)| *word == "within")?;
    let sign = words
        .iter()
        .position(|(_, word)| matches!(*word, "±" | "+-" | "+/-"))?;
    let (first, _) = *words.get(at + 1)?;
    let (sign_at, _) = words[sign];
    let (by_at, by) = *words.get(sign + 1)?;
    let (unit_at, unit) = *words.get(sign + 2)?;
    let of = line.get(first..sign_at)?.trim();
    let end = unit_at + unit.len();
    if sign <= at + 1 || of.contains(" to ") {
        return None;
    }
    let instead = if unit == "%" {
        let (low, high) = hundredths(by)?;
        format!("{low} * {of} to {high} * {of}")
    } else {
        let by = line.get(by_at..end)?;
        format!("{of} - {by} to {of} + {by}")
    };
    Some((first..end, instead))
}

/// `3` → `0.97` and `1.03`; nothing for what is no plain number below a hundred.
fn hundredths(by: &str) -> Option<(String, String)> {
    let (whole, part) = by.split_once('.').unwrap_or((by, ""));
    let digits = |text: &str| text.chars().all(|c| c.is_ascii_digit());
    if !digits(whole) || !digits(part) || whole.is_empty() || whole.len() > 2 || part.len() > 3 {
        return None;
    }
    let one = 100 * 10_u64.pow(u32::try_from(part.len()).ok()?);
    let by: u64 = format!("{whole}{part}").parse().ok()?;
    let places = part.len() + 2;
    let written = |of: u64| {
        let text = format!("{}.{:0places$}", of / one, of % one);
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    };
    Some((written(one.checked_sub(by)?), written(one + by)))
}

/// `+ 0 % - 8 %` and `+0/-8 %` → `+0 % -8 %`
fn tolerance_in_two_parts(inside: Inside, line: &str) -> Option<Phrase> {
    if !matches!(inside, Inside::Record | Inside::Sequence) {
        return None;
    }
    let plus = line.find('+')?;
    let rest = line.get(plus..)?.trim_end();
    let size = |text: &str| {
        let text = text.trim();
        let number = text.starts_with(|c: char| c.is_ascii_digit());
        number.then(|| text.to_owned())
    };
    let (more, less) = rest.get(1..)?.split_once(['-', '−'])?;
    let more = more.trim().trim_end_matches('/');
    let (more, less) = (size(more)?, size(less)?);
    let unit = less
        .trim_start_matches(|c: char| c.is_ascii_digit() || c == '.')
        .trim();
    let bare = more.chars().all(|c| c.is_ascii_digit() || c == '.');
    let more = if bare && !unit.is_empty() {
        format!("{more} {unit}")
    } else {
        more
    };
    Some((plus..plus + rest.len(), format!("+{more} -{less}")))
}

/// `screen underbase: coarse {` → `screen underbase is coarse {`
fn colon_for_is(inside: Inside, line: &str) -> Option<Phrase> {
    if inside != Inside::File {
        return None;
    }
    let at = line.find(':')?;
    let before = line.get(..at)?.split_ascii_whitespace().count();
    let behind = line.get(at + 1..)?;
    let named = behind.trim_start().starts_with(|c: char| c.is_alphabetic());
    let is = if behind.starts_with(' ') {
        " is"
    } else {
        " is "
    };
    (before <= 2 && named).then(|| (at..at + 1, is.to_owned()))
}
