//! Random edits of the texts of a standard.

use super::dice::Dice;
use super::room::Room;

/// The settings of the shipped kinds that hold a range: limits that rules read.
const RANGES: [&str; 9] = [
    "mesh", "eom", "squeegee", "reducer", "catalyst", "pot-life", "flash", "gel", "cure",
];

/// The kinds of edits.
pub(crate) const KINDS: [&str; 5] = [
    "limit moved",
    "comparison turned",
    "`when` changed",
    "parent changed",
    "rule dropped",
];

/// What a random edit did.
#[derive(Debug, Clone)]
pub(crate) struct Edit {
    /// Its place in [`KINDS`].
    pub(crate) kind: usize,
    pub(crate) room: Room,
    pub(crate) words: String,
}

/// A random edit of a room's texts; it may not read any more.
pub(crate) fn edit(dice: &mut Dice, room: &Room) -> Option<Edit> {
    let files: Vec<&String> = room
        .files
        .keys()
        .filter(|name| {
            !name.contains("trade") && !name.contains("heat.std") && !name.contains("meshes")
        })
        .collect();
    let file = (*dice.one(&files)?).clone();
    let lines: Vec<String> = room.files[&file].lines().map(str::to_owned).collect();
    let at = |wanted: &dyn Fn(&str) -> bool| -> Vec<usize> {
        (0..lines.len())
            .filter(|index| wanted(lines[*index].trim_start()))
            .collect()
    };
    let clause = |line: &str| line.starts_with("shall ") || line.starts_with("should ");
    let number = dice.below(KINDS.len());
    let (line, new, what) = match number {
        0 => {
            let places = at(&|line| {
                let first = line.split_whitespace().next().unwrap_or_default();
                clause(line) || RANGES.contains(&first) && line.contains(" to ")
            });
            let line = *dice.one(&places)?;
            (line, Some(moved(dice, &lines[line])?), "limit moved")
        }
        1 => {
            let line = *dice.one(&at(&clause))?;
            (
                line,
                Some(flipped(dice, &lines[line])?),
                "comparison turned",
            )
        }
        2 => {
            let line = *dice.one(&at(&|line| line.starts_with("when ")))?;
            match dice.below(3) {
                0 => (line, Some(moved(dice, &lines[line])?), "`when` moved"),
                1 => (line, Some(flipped(dice, &lines[line])?), "`when` turned"),
                _ => (line, None, "`when` dropped"),
            }
        }
        3 => {
            let header = |line: &str| {
                let mut words = line.split_whitespace();
                let kind = words
                    .next()
                    .is_some_and(|word| word == "ink" || word == "garment");
                kind && words.nth(1) == Some("is")
            };
            let line = *dice.one(&at(&header))?;
            let words: Vec<&str> = lines[line].split_whitespace().collect();
            let (kind, own, parent) = (words[0], words[1], words[3]);
            let all: Vec<String> = room
                .files
                .values()
                .flat_map(|text| text.lines())
                .filter_map(|line| {
                    let mut words = line.split_whitespace();
                    (words.next() == Some(kind)).then(|| words.next().map(str::to_owned))?
                })
                .filter(|name| name != own && name != parent)
                .collect();
            let other = dice.one(&all)?;
            let from = format!(" is {parent}");
            (
                line,
                Some(lines[line].replacen(&from, &format!(" is {other}"), 1)),
                "parent changed",
            )
        }
        _ => {
            let line = *dice.one(&at(&|line| line.starts_with("rule ")))?;
            let end = (line..lines.len()).find(|index| lines[*index].trim() == "}")?;
            let mut rest = lines.clone();
            let words = rest[line].clone();
            rest.drain(line..=end);
            let mut room = room.clone();
            room.files.insert(file, rest.join("\n") + "\n");
            return Some(Edit {
                kind: number,
                room,
                words: format!("rule dropped: {words}"),
            });
        }
    };
    let words = format!(
        "{what}: {} => {}",
        lines[line].trim(),
        new.as_deref().unwrap_or("").trim()
    );
    let mut rest = lines.clone();
    match new {
        Some(new) => rest[line] = new,
        None => {
            rest.remove(line);
        }
    }
    let mut room = room.clone();
    room.files.insert(file, rest.join("\n") + "\n");
    Some(Edit {
        kind: number,
        room,
        words,
    })
}

/// One of the numbers before any text, moved.
fn moved(dice: &mut Dice, line: &str) -> Option<String> {
    let end = line.find('"').unwrap_or(line.len());
    let (head, tail) = line.split_at(end);
    let mut numbers = Vec::new();
    let bytes = head.as_bytes();
    let mut at = 0;
    while at < bytes.len() {
        let starts = bytes[at].is_ascii_digit() && (at == 0 || bytes[at - 1] == b' ');
        if starts {
            let mut to = at;
            while to < bytes.len() && (bytes[to].is_ascii_digit() || bytes[to] == b'.') {
                to += 1;
            }
            numbers.push((at, to));
            at = to;
        }
        at += 1;
    }
    let (from, to) = *dice.one(&numbers)?;
    let number: f64 = head[from..to].parse().ok()?;
    let factor = [0.8, 0.9, 0.95, 1.05, 1.1, 1.2][dice.below(6)];
    let new = if number == 0.0 {
        5.0
    } else if head[to..].starts_with(" strokes") || number < 5.0 && head[from..to].len() == 1 {
        number + 1.0
    } else {
        (number * factor * 100.0).round() / 100.0
    };
    Some(format!("{}{new}{}{tail}", &head[..from], &head[to..]))
}

/// A comparison turned round, made strict, or an `is` denied.
fn flipped(dice: &mut Dice, line: &str) -> Option<String> {
    let pairs = [
        (" at least ", " at most "),
        (" at least ", " above "),
        (" at most ", " at least "),
        (" at most ", " below "),
        (" above ", " at most "),
        (" above ", " at least "),
        (" below ", " at most "),
        (" is ", " is not "),
        ("shall ", "should "),
    ];
    let fits: Vec<&(&str, &str)> = pairs
        .iter()
        .filter(|(from, _)| {
            line.contains(from) && !line.contains(" is not ") && !line.contains("is one of")
        })
        .collect();
    let (from, to) = *dice.one(&fits)?;
    Some(line.replacen(from, to, 1))
}
