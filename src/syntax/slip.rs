//! Likely slips in a broken line: spellings of other languages, of word processors, of everyday writing.
//!
//! The grammar finds them (`slip_…`); here each is told what to write instead. A line in which all are put
//! right is offered only if it reads then.

use std::ops::Range;

use super::grammar::{self, Rule};
use super::{Inside, ProblemNode};

/// Lines longer than this are nobody's handwriting, and some slips are looked for to the end of the line.
const LONGEST: usize = 2_000;

/// A slip, and what to write instead.
struct Slip {
    rule: Rule,
    at: Range<usize>,
    instead: String,
}

/// What is to blame for a line that stopped reading at `stop`: the place, and the problem.
pub(super) fn blame(
    inside: Inside,
    line: &str,
    stop: usize,
    strict: Rule,
) -> Option<(Range<usize>, ProblemNode)> {
    if line.len() > LONGEST {
        return None;
    }
    let slips = find(inside, line);
    let put_right = put_right(line, &slips);
    let reads = !slips.is_empty() && grammar::read(strict, &put_right).is_ok();
    let slip = if reads {
        // The furthest point that was read lies at the slip or a little behind it.
        let behind = slips.iter().find(|slip| slip.at.end >= stop);
        behind.or(slips.last())?
    } else {
        slips
            .iter()
            .find(|slip| slip.at.start <= stop && stop <= slip.at.end)?
    };
    let written = line.get(slip.at.clone())?.trim().to_owned();
    let number = matches!(
        slip.rule,
        Rule::slip_number
            | Rule::slip_fraction
            | Rule::slip_clock
            | Rule::slip_two_units
            | Rule::slip_feet
    );
    let node = if number {
        ProblemNode::NumberMalformed {
            instead: (!slip.instead.is_empty()).then(|| slip.instead.clone()),
            written,
        }
    } else {
        ProblemNode::SpelledOtherwise {
            written,
            instead: slip.instead.trim().to_owned(),
            line: reads.then(|| single_spaced(&put_right)),
        }
    };
    let size = line.get(slip.at.clone())?.trim_end().len();
    Some((slip.at.start..slip.at.start + size, node))
}

fn find(inside: Inside, line: &str) -> Vec<Slip> {
    let found = grammar::slips(line).into_iter();
    found
        .filter_map(|(rule, at)| {
            let instead = instead(inside, rule, line, &at)?;
            Some(Slip { rule, at, instead })
        })
        .collect()
}

/// The line with every slip put right.
fn put_right(line: &str, slips: &[Slip]) -> String {
    let mut put_right = String::with_capacity(line.len() + 16);
    let mut from = 0;
    for slip in slips {
        put_right.push_str(line.get(from..slip.at.start).unwrap_or(""));
        let words = slip.instead.starts_with(|c: char| c.is_alphanumeric());
        let touches = put_right.ends_with(|c: char| c.is_alphanumeric() || c == '%' || c == ')');
        if words && touches {
            put_right.push(' ');
        }
        put_right.push_str(&slip.instead);
        let rest = line.get(slip.at.end..).unwrap_or("");
        let worded = slip.instead.ends_with(|c: char| c.is_alphabetic());
        if worded && rest.starts_with(|c: char| c.is_alphanumeric() || c == '(' || c == '-') {
            put_right.push(' ');
        }
        from = slip.at.end;
    }
    put_right.push_str(line.get(from..).unwrap_or(""));
    put_right
}

/// The line without its indentation and with one space wherever there were several, texts left alone.
fn single_spaced(line: &str) -> String {
    let mut spaced = String::with_capacity(line.len());
    let (mut quoted, mut escaped) = (false, false);
    for character in line.trim().chars() {
        let gap = !quoted && matches!(character, ' ' | '\t');
        if gap && spaced.ends_with(' ') {
            continue;
        }
        quoted ^= character == '"' && !escaped;
        escaped = quoted && character == '\\' && !escaped;
        spaced.push(if gap { ' ' } else { character });
    }
    spaced
}

/// What to write instead; `None` when it is no slip here after all.
fn instead(inside: Inside, rule: Rule, line: &str, at: &Range<usize>) -> Option<String> {
    let written = line.get(at.clone())?;
    let plain = matches!(inside, Inside::Record | Inside::Sequence);
    let cells = inside == Inside::Table && line.contains('|');
    let before = line.get(..at.start)?.trim_end();
    Some(match rule {
        Rule::slip_late_verb => late_verb(written)?,
        Rule::slip_must => "shall".to_owned(),
        Rule::slip_mark if inside == Inside::Kind && written == "=" => return None,
        Rule::slip_mark | Rule::slip_colon => mark(inside, line, at),
        Rule::slip_is if plain => String::new(),
        Rule::slip_call => written.replace([' ', '\t'], ""),
        Rule::slip_comment => {
            let words = written.get(2..)?.trim_start_matches(['/', '-']).trim();
            format!("# {words}")
        }
        Rule::slip_quote => {
            let inner = written.trim_matches(['\'', '`', '"', '“', '”', '„', '«', '»']);
            format!("\"{}\"", inner.replace('"', "\\\""))
        }
        Rule::slip_number => number(written).unwrap_or_default(),
        // Behind these words a date is right as it stands.
        Rule::slip_date if !plain || before.ends_with("reviewed") => return None,
        Rule::slip_date => format!("\"{written}\""),
        Rule::slip_clock => String::new(),
        Rule::slip_two_units if plain => String::new(),
        Rule::slip_feet => feet(written).unwrap_or_default(),
        Rule::slip_degree => degree(written)?,
        Rule::slip_apart if plain => apart(written)?,
        Rule::slip_wide => written.chars().map(narrow).collect(),
        Rule::slip_range if inside == Inside::File => return None,
        Rule::slip_range => range(written),
        Rule::slip_spaced_range if plain => range(written),
        Rule::slip_between => {
            let low = written.strip_prefix("between")?.strip_suffix("and")?.trim();
            let within = if plain { "" } else { "within " };
            format!("{within}{low} to")
        }
        Rule::slip_word => word(plain, written)?,
        Rule::slip_tolerance => "±".to_owned(),
        Rule::slip_sign => sign(plain, written)?.to_owned(),
        Rule::slip_minus => {
            let number = line
                .get(at.end..)?
                .starts_with(|c: char| c.is_ascii_digit());
            if number { "-" } else { " - " }.to_owned()
        }
        Rule::slip_fraction => fraction(written).unwrap_or_default(),
        Rule::slip_end => String::new(),
        // No formula stands in a value or in a cell.
        Rule::slip_operator if plain || cells => return None,
        Rule::slip_operator => spaced(line, at)?,
        _ => return None,
    })
}

/// `dryer.dwell shall be` → `shall dryer.dwell`
fn late_verb(written: &str) -> Option<String> {
    let mut words = written.split_ascii_whitespace();
    let (path, verb) = (words.next()?, words.next()?);
    let starts = ["shall", "should", "may", "must", "when", "per", "because"];
    if starts.contains(&path) {
        return None;
    }
    let verb = if verb == "must" { "shall" } else { verb };
    Some(format!("{verb} {path}"))
}

/// A colon or equals sign: nothing stands there, but at the end of a header a brace does.
fn mark(inside: Inside, line: &str, at: &Range<usize>) -> String {
    let last = line.get(at.end..).unwrap_or("").trim().is_empty();
    if inside == Inside::File && last {
        " {".to_owned()
    } else {
        String::new()
    }
}

/// `2,4` → `2.4`; nothing where it cannot be told what was meant.
fn number(written: &str) -> Option<String> {
    let (sign, digits) = match written.strip_prefix('-') {
        Some(digits) => ("-", digits),
        None => ("", written),
    };
    if digits.starts_with('.') {
        return Some(format!("{sign}0{digits}"));
    }
    if let Some(whole) = digits.strip_suffix('.') {
        return Some(format!("{sign}{whole}"));
    }
    let marks: Vec<&str> = digits.matches([',', '.', '_', '\'']).collect();
    let (last, before) = marks.split_last()?;
    let groups = |digits: &str, marks: &[&str]| {
        let same = marks.iter().all(|mark| Some(mark) == marks.first());
        let threes = digits
            .split([',', '.', '_', '\''])
            .skip(1)
            .all(|group| group.len() == 3);
        (same && threes).then(|| digits.replace([',', '.', '_', '\''], ""))
    };
    let number = match (*last, before) {
        // `1,200` may be twelve hundred or one and a fifth.
        (",", []) if groups(digits, &marks).is_some() => return None,
        (",", []) => digits.replace(',', "."),
        ("_" | "'", []) => digits.replace(['_', '\''], ""),
        (_, before) if before.contains(last) => groups(digits, &marks)?,
        (last, before) => {
            let (whole, part) = digits.rsplit_once(last)?;
            format!("{}.{part}", groups(whole, before)?)
        }
    };
    Some(format!("{sign}{number}"))
}

/// `80-` → `80 to `
fn range(written: &str) -> String {
    let low = written.trim_end_matches([' ', '\t', '-', '–', '—', '.', '…', '~']);
    format!("{low} to ")
}

fn word(plain: bool, written: &str) -> Option<String> {
    if written.contains('_') {
        let joined = written.trim_matches('_').replace('_', "-");
        return Some(joined);
    }
    let words: Vec<&str> = written.split_ascii_whitespace().collect();
    let more = |word: &str| {
        matches!(
            word,
            "more" | "greater" | "higher" | "longer" | "larger" | "faster"
        )
    };
    Some(
        match *words.as_slice() {
            ["is", "not", "one", "of"] => "not … is one of",
            ["is" | "be"] => "",
            ["no" | "not", word, "than"] if more(word) => "at most",
            ["no" | "not", _, "than"] => "at least",
            [word, "than"] if more(word) && plain => "at least",
            [_, "than"] if plain => "at most",
            [word, "than"] if more(word) => "above",
            [_, "than"] => "below",
            ["up", "to"] | ["maximum" | "max"] => "at most ",
            ["minimum" | "min"] => "at least ",
            ["equals"] | ["equal", "to"] => "is",
            _ => return None,
        }
        .to_owned(),
    )
}

/// A value has no `above`; what comes nearest is the closed bound.
fn sign(plain: bool, written: &str) -> Option<&'static str> {
    Some(match written {
        ">=" | "=>" | "≥" => "at least",
        "<=" | "=<" | "≤" => "at most",
        ">" if plain => "at least",
        "<" if plain => "at most",
        ">" => "above",
        "<" => "below",
        "==" | "=" if plain => "",
        "==" | "=" => "is",
        "!=" | "<>" | "≠" => "is not",
        "&&" => "and",
        "||" => "or",
        "!" => "not",
        "**" => " ^ ",
        "×" => " * ",
        "÷" => " / ",
        _ => return None,
    })
}

/// `1½` → `1.5`, `1 1/8` → `1.125`; nothing where a decimal number would not be exact, or where it may be
/// no fraction at all, as in `50/50` and `137/64`.
fn fraction(written: &str) -> Option<String> {
    let eighths = |thousandths: u64| Some(thousandths * 1_000);
    let sign = written.chars().next_back()?;
    let millionths = match sign {
        '½' => eighths(500),
        '¼' => eighths(250),
        '¾' => eighths(750),
        '⅛' => eighths(125),
        '⅜' => eighths(375),
        '⅝' => eighths(625),
        '⅞' => eighths(875),
        _ => None,
    };
    let (whole, part) = match millionths {
        Some(part) => (written.trim_end_matches(sign).trim_end(), part),
        None => {
            let (over, under) = written.split_once(['/', '⁄'])?;
            let (whole, over) = over.rsplit_once([' ', '\t', '-']).unwrap_or(("", over));
            let (over, under) = (over.parse::<u32>().ok()?, under.parse::<u32>().ok()?);
            let millionths = u64::from(over) * 1_000_000;
            let under = u64::from(under);
            if u64::from(over) >= under || millionths % under != 0 {
                return None;
            }
            (whole.trim_end(), millionths / under)
        }
    };
    let whole = if whole.is_empty() { "0" } else { whole };
    let digits = format!("{part:06}");
    Some(format!("{whole}.{}", digits.trim_end_matches('0')))
}

/// `7' 6"` → `90 in`, `7'` → `7 ft`, `1/8"` → `0.125 in`
fn feet(written: &str) -> Option<String> {
    let inches = |text: &str| -> Option<String> {
        let number = text.trim_matches(['\'', '"', '″', '”', ' ', '\t', '-']);
        if number.contains(['/', '⁄']) {
            fraction(number)
        } else {
            Some(number.to_owned())
        }
    };
    let Some((feet, rest)) = written.split_once(['′', '’']).or_else(|| {
        let (feet, rest) = written.split_once('\'')?;
        (!rest.starts_with('\'')).then_some((feet, rest))
    }) else {
        return Some(format!("{} in", inches(written)?));
    };
    if rest.trim().is_empty() {
        return Some(format!("{} ft", feet.trim()));
    }
    let (whole, part) = (feet.trim().parse::<u32>().ok()?, inches(rest)?);
    let (more, decimals) = part.split_once('.').unwrap_or((&part, ""));
    let total = u64::from(whole) * 12 + u64::from(more.parse::<u32>().ok()?);
    let point = if decimals.is_empty() { "" } else { "." };
    Some(format!("{total}{point}{decimals} in"))
}

/// `300 deg F` → `300 °F`
fn degree(written: &str) -> Option<String> {
    let scale = written.chars().next_back()?;
    let number = written.trim_end_matches(|c: char| !c.is_ascii_digit());
    Some(format!("{number} °{scale}"))
}

/// `22 N / cm` → `22 N/cm`, `137 per inch` → `137 /inch`
fn apart(written: &str) -> Option<String> {
    let mut words: Vec<&str> = written.split_ascii_whitespace().collect();
    let (under, _) = (words.pop()?, words.pop()?);
    let over = words.join(" ");
    let bare = over.ends_with(|c: char| c.is_ascii_digit()) && words.len() == 1;
    Some(format!("{over}{}/{under}", if bare { " " } else { "" }))
}

/// A full-width character as the plain one.
fn narrow(wide: char) -> char {
    u32::from(wide)
        .checked_sub(0xFEE0)
        .and_then(char::from_u32)
        .unwrap_or(wide)
}

/// An operator between two operands that lacks a space.
fn spaced(line: &str, at: &Range<usize>) -> Option<String> {
    let before = line.get(..at.start)?;
    let behind = line.get(at.end..)?;
    let space = [' ', '\t'];
    let operand_before = before
        .trim_end_matches(space)
        .ends_with(|c: char| c.is_alphanumeric() || matches!(c, ')' | '%' | '²' | '³' | '"'));
    let operand_behind = behind
        .trim_start_matches(space)
        .starts_with(|c: char| c.is_alphanumeric() || c == '(');
    if !operand_before || !operand_behind || (before.ends_with(space) && behind.starts_with(space))
    {
        return None;
    }
    let left = if before.ends_with(space) { "" } else { " " };
    let right = if behind.starts_with(space) { "" } else { " " };
    Some(format!("{left}{}{right}", line.get(at.clone())?))
}
