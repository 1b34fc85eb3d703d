//! Quantities in running text, and pairs of them that are meant to be the same.

use std::ops::Range;

use crate::units::{Exact, Unit};

/// Words behind a number that are looked at for a unit.
const LONGEST_UNIT: usize = 24;

/// A number or a range with its unit, as it stands in a text.
#[derive(Debug, Clone)]
pub(super) struct Written {
    /// Bytes of the text.
    pub(super) place: Range<usize>,
    /// The ends in SI base units; twice the same for a single number.
    ends: [Exact; 2],
    /// How far each may be off by the way it is rounded.
    slack: [Exact; 2],
    /// The unit.
    pub(super) unit: Unit,
    /// Whether a word stands between number and unit: `120 threads/cm`.
    single: bool,
}

impl Written {
    /// The first value of this one that the other does not give, and what the other gives.
    pub(super) fn disagrees(&self, other: &Self) -> Option<(Exact, Exact)> {
        if self.single != other.single {
            return None;
        }
        (0..2).find_map(|end| {
            let (mine, theirs) = (&self.ends[end], &other.ends[end]);
            let mut allowed = other.slack[end].clone();
            if !self.unit.is_point() {
                // Trade sizes are nominal to a part in a hundred.
                let part = mine.abs().mul(&Exact::ratio(1, 100));
                allowed = Exact::max(&allowed, &part);
            }
            let apart = mine.sub(theirs).abs() > allowed;
            apart.then(|| (mine.clone(), theirs.clone()))
        })
    }
}

/// Pairs of quantities of one dimension in two units that stand beside each other: `A (B)`, `A = B`, `A; B`.
pub(super) fn pairs(text: &str) -> Vec<(Written, Written)> {
    let all = quantities(text);
    let mut found = Vec::new();
    for two in all.windows(2) {
        let [one, other] = two else { continue };
        let between = text.get(one.place.end..other.place.start).unwrap_or("");
        let between = between.trim_matches([' ', '"']);
        let joined = matches!(
            between,
            "(" | "=" | ";" | "," | "(=" | "or" | "i.e." | "(i.e." | "is" | "are"
        );
        let differs = one.unit.spelling() != other.unit.spelling();
        if joined && differs && one.unit.dimension() == other.unit.dimension() {
            found.push((one.clone(), other.clone()));
        }
    }
    found
}

/// All quantities of a text.
fn quantities(text: &str) -> Vec<Written> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(start) = text
        .get(at..)
        .and_then(|rest| rest.find(|c: char| c.is_ascii_digit()))
    {
        let start = at + start;
        let before = text.get(..start).and_then(|head| head.chars().next_back());
        let inside = before.is_some_and(|c| c.is_alphanumeric() || c == '.');
        let Some((first, size)) = number(&text[start..]) else {
            at = start + 1;
            continue;
        };
        at = start + size;
        if inside {
            continue;
        }
        let mut numbers = [first.clone(), first];
        let mut end = at;
        let mut single = true;
        if let Some((second, size)) = range_end(&text[at..]) {
            numbers[1] = second;
            end = at + size;
            single = false;
        }
        let Some((unit, size)) = unit(&text[end..]) else {
            continue;
        };
        let place = start..end + size;
        at = place.end;
        let slack = numbers
            .clone()
            .map(|number| unit.as_difference().to_base(&number.slack));
        found.push(Written {
            place,
            ends: numbers.map(|number| unit.to_base(&number.value)),
            slack,
            unit,
            single,
        });
    }
    found
}

#[derive(Debug, Clone)]
struct Number {
    value: Exact,
    /// Half of what its last digit counts in: tens for 150, fives for 165.
    slack: Exact,
}

/// A decimal or a fraction at the start of a text, and its length.
fn number(text: &str) -> Option<(Number, usize)> {
    let size = text
        .find(|c: char| !c.is_ascii_digit() && c != '.')
        .unwrap_or(text.len());
    let digits = text.get(..size)?.trim_end_matches('.');
    let value = Exact::parse_decimal(digits).ok()?;
    let rest = text.get(digits.len()..)?;
    if let Some(below) = rest.strip_prefix('/')
        && below.starts_with(|c: char| c.is_ascii_digit())
    {
        let size = below
            .find(|c: char| !c.is_ascii_digit())
            .unwrap_or(below.len());
        let value = value.div(&Exact::parse_decimal(below.get(..size)?).ok()?)?;
        let slack = Exact::ZERO;
        return Some((Number { value, slack }, digits.len() + 1 + size));
    }
    let slack = match digits.split_once('.') {
        Some((_, decimals)) => {
            let places = i32::try_from(decimals.len()).ok()?;
            Exact::from_int(10).powi(-places)?.mul(&Exact::ratio(1, 2))
        }
        None if digits.ends_with('0') && digits != "0" => Exact::from_int(5),
        None if digits.ends_with('5') => Exact::ratio(5, 2),
        None => Exact::ratio(1, 2),
    };
    Some((Number { value, slack }, digits.len()))
}

/// `-160`, `–160` or ` to 160` at the start of a text.
fn range_end(text: &str) -> Option<(Number, usize)> {
    for sign in ["-", "–", " - ", " – ", " to "] {
        if let Some(rest) = text.strip_prefix(sign)
            && let Some((value, size)) = number(rest)
        {
            return Some((value, sign.len() + size));
        }
    }
    None
}

/// A unit at the start of a text; a noun before the stroke (`threads/cm`) is passed over.
fn unit(text: &str) -> Option<(Unit, usize)> {
    let blanks = text.len() - text.trim_start_matches(' ').len();
    let rest = text.get(blanks..)?;
    let word_size = rest
        .find(|c: char| c.is_whitespace() || matches!(c, ')' | '(' | ';' | ',' | '"' | '=' | ':'))
        .unwrap_or(rest.len())
        .min(LONGEST_UNIT);
    let word = rest.get(..word_size)?.trim_end_matches('.');
    let parsed = |word: &str| {
        Unit::parse(word)
            .ok()
            .filter(|unit| !unit.is_bare() && !unit.is_percent())
    };
    if let Some(found) = parsed(word) {
        return Some((found, blanks + word.len()));
    }
    // `120 threads/cm`, `225 threads/inch`, `305 threads per inch`.
    if let Some(stroke) = word.find('/')
        && word.get(..stroke)?.chars().all(char::is_alphabetic)
    {
        let below = match word.get(stroke + 1..)? {
            "inch" | "inches" => "in",
            other => other,
        };
        let found = parsed(&format!("/{below}"))?;
        return Some((found, blanks + word.len()));
    }
    // `90 mesh per cm`
    let (noun, after) = rest.split_once(" per ")?;
    if noun.is_empty() || !noun.chars().all(char::is_alphabetic) {
        return None;
    }
    let size = after
        .find(|c: char| !c.is_alphabetic())
        .unwrap_or(after.len());
    let below = match after.get(..size)? {
        "inch" => "in",
        "centimetre" | "centimeter" => "cm",
        other => other,
    };
    let found = parsed(&format!("/{below}"))?;
    Some((found, blanks + noun.len() + 5 + size))
}

#[cfg(test)]
mod tests {
    use super::pairs;

    fn wrong(text: &str) -> usize {
        pairs(text)
            .iter()
            .filter(|(one, other)| one.disagrees(other).is_some())
            .count()
    }

    /// Section 9.4 of the handbook: printed pairs, and the same put right.
    #[test]
    fn printed_pairs_disagree() {
        for slip in [
            "320 degF (135 degC)",
            "300-330 degF (143-166 degC)",
            "115-160 degC; 265-320 degF",
            "160 degC (350 degF)",
            "120 threads/cm (205 threads/in)",
            "90 mesh/cm = 225 mesh/in",
            "320 °F (150 °C)",
            "1/6 in (1.35 mm)",
            "300 to 330 °F (149 to 176 °C)",
        ] {
            assert_eq!(wrong(slip), 1, "{slip}");
        }
    }

    #[test]
    fn right_pairs_agree() {
        for fine in [
            "320 °F (160 °C)",
            "300 to 330 °F (149 to 166 °C)",
            "300 °F (150 °C)",
            "160 °C (320 °F)",
            "43 /cm (110 /in)",
            "120 threads/cm (305 threads/in)",
            "1/16 in (1.6 mm)",
            "30 s at 150 °C, then 320 °F for 20 s",
            "120 threads/cm (5 or 6 times as many threads per inch)",
        ] {
            assert_eq!(wrong(fine), 0, "{fine}");
        }
    }
}
