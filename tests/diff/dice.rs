//! Random runs and random edits, from numbers that can be repeated.

use strikeoff::check::Prepared;
use strikeoff::types::{
    ConditionNode, Expression, ExpressionNode, FieldId, KindId, PlaceInRun, Reading, Standard,
    Type, Value,
};
use strikeoff::units::{Dimension, Exact, Unit};

use super::room::Room;

/// SplitMix64.
#[derive(Debug, Clone)]
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    pub(crate) fn below(&mut self, count: usize) -> usize {
        usize::try_from(self.next() % (count.max(1) as u64)).unwrap_or(0)
    }

    pub(crate) fn often(&mut self, percent: u64) -> bool {
        self.next() % 100 < percent
    }

    pub(crate) fn one<'a, T>(&mut self, list: &'a [T]) -> Option<&'a T> {
        if list.is_empty() {
            None
        } else {
            list.get(self.below(list.len()))
        }
    }
}

/// All limits of two standards, so that random values come to lie on and near them.
pub(crate) struct Limits(Vec<(Dimension, Exact)>);

impl Limits {
    pub(crate) fn of(sides: [&Prepared; 2]) -> Self {
        let mut found = Vec::new();
        for side in sides {
            for rule in &side.standard.rules {
                let wanted = rule.requirements.iter().map(|of| &of.condition);
                for condition in rule.when.iter().chain(&rule.permissions).chain(wanted) {
                    condition_limits(&condition.node, &mut found);
                }
            }
            for record in &side.standard.records {
                let kind = side.standard.kind(record.kind);
                for (field, stated) in kind.fields.iter().zip(&record.values) {
                    let (Type::Range(measure), Some(stated)) = (&field.ty, stated) else {
                        continue;
                    };
                    if let Value::Range(range) = &stated.value {
                        for end in [&range.low, &range.high].into_iter().flatten() {
                            found.push((measure.dimension, end.clone()));
                        }
                    }
                }
            }
        }
        Self(found)
    }

    fn near(&self, dimension: Dimension) -> Vec<&Exact> {
        let same = self.0.iter().filter(|(of, _)| *of == dimension);
        same.map(|(_, value)| value).collect()
    }
}

fn condition_limits(node: &ConditionNode, found: &mut Vec<(Dimension, Exact)>) {
    match node {
        ConditionNode::Compare { left, right, .. } => {
            expression_limits(left, found);
            expression_limits(right, found);
        }
        ConditionNode::And(list) | ConditionNode::Or(list) => {
            list.iter()
                .for_each(|part| condition_limits(&part.node, found));
        }
        ConditionNode::Not(inner) => condition_limits(&inner.node, found),
        _ => {}
    }
}

fn expression_limits(of: &Expression, found: &mut Vec<(Dimension, Exact)>) {
    if let ExpressionNode::Constant(constant) = &of.node {
        found.push((of.dimension, constant.exact.clone()));
    }
}

/// The text of a random run.
pub(crate) fn plan(dice: &mut Dice, standard: &Standard, limits: &Limits) -> String {
    let mut text = String::from("run \"random\" against \"room.std\"\n");
    let ids = |place: PlaceInRun| -> Vec<KindId> {
        (0..standard.kinds.len())
            .filter(|index| standard.kinds[*index].place == place)
            .map(|index| KindId(index as u32))
            .collect()
    };
    let names = ["one", "two"];
    let many = ids(PlaceInRun::Many);
    let copies = 1 + dice.below(2);
    for kind in ids(PlaceInRun::One) {
        if dice.often(85) {
            thing(dice, standard, limits, kind, "", &mut text);
        }
    }
    for kind in &many {
        for name in names.iter().take(copies) {
            thing(dice, standard, limits, *kind, name, &mut text);
        }
    }
    let steps = ids(PlaceInRun::Step);
    if !steps.is_empty() && dice.often(90) {
        text.push_str("\nsequence {\n");
        for _ in 0..1 + dice.below(5) {
            let Some(kind) = dice.one(&steps) else {
                continue;
            };
            let clauses = clauses(dice, standard, limits, *kind, None, copies);
            let clauses: Vec<String> = clauses
                .into_iter()
                .map(|(name, value)| format!("{name} {value}"))
                .collect();
            let line = format!("  {} {}", standard.kind(*kind).name, clauses.join(", "));
            text.push_str(line.trim_end());
            text.push('\n');
        }
        text.push_str("}\n");
    }
    text
}

fn thing(
    dice: &mut Dice,
    standard: &Standard,
    limits: &Limits,
    kind: KindId,
    name: &str,
    text: &mut String,
) {
    let of = standard.kind(kind);
    let records: Vec<usize> = (0..standard.records.len())
        .filter(|index| standard.records[*index].kind == kind)
        .collect();
    let record = if dice.often(75) {
        dice.one(&records).copied()
    } else {
        None
    };
    text.push_str(&format!("\n{}", of.name));
    if !name.is_empty() {
        text.push_str(&format!(" {name}"));
    }
    if let Some(record) = record {
        text.push_str(&format!(" is {}", standard.records[record].name));
    }
    let clauses = clauses(dice, standard, limits, kind, record, 2);
    if clauses.is_empty() {
        text.push('\n');
        return;
    }
    text.push_str(" {\n");
    for (name, value) in clauses {
        text.push_str(&format!("  {name} {value}\n"));
    }
    text.push_str("}\n");
}

fn clauses(
    dice: &mut Dice,
    standard: &Standard,
    limits: &Limits,
    kind: KindId,
    record: Option<usize>,
    copies: usize,
) -> Vec<(String, String)> {
    let of = standard.kind(kind);
    let mut found = Vec::new();
    let stated = |field: FieldId| {
        let mut at = record;
        while let Some(index) = at {
            if standard.records[index].values[field.0 as usize].is_some() {
                return true;
            }
            at = standard.records[index].parent.map(|id| id.0 as usize);
        }
        false
    };
    let parts: Vec<FieldId> = of
        .parts
        .iter()
        .flat_map(|whole| whole.fields.clone())
        .collect();
    if record.is_none() {
        for whole in &of.parts {
            let mut left = 100;
            for field in &whole.fields {
                if left > 0 && dice.often(40) {
                    let share = if dice.often(30) {
                        left
                    } else {
                        5 * (1 + dice.below(left / 5))
                    };
                    let share = share.min(left);
                    left -= share;
                    found.push((
                        of.fields[field.0 as usize].name.clone(),
                        format!("{share} %"),
                    ));
                }
            }
            if left > 0 {
                let first = whole.fields.iter().find(|field| {
                    !found
                        .iter()
                        .any(|(name, _)| *name == of.fields[field.0 as usize].name)
                });
                match first {
                    Some(field) => {
                        found.push((
                            of.fields[field.0 as usize].name.clone(),
                            format!("{left} %"),
                        ));
                    }
                    None => found.clear(),
                }
            }
        }
    }
    for (number, field) in of.fields.iter().enumerate() {
        let id = FieldId(number as u32);
        if parts.contains(&id) || stated(id) {
            continue;
        }
        let likely = if field.formula.is_some() || field.reference.is_some() {
            25
        } else {
            75
        };
        if !dice.often(likely) {
            continue;
        }
        let value = match &field.ty {
            Type::Quantity(measure) => {
                let unit = match (&field.possible, &measure.reading) {
                    (Some(possible), _) => possible.unit.clone(),
                    (None, Reading::Share) => Unit::percent(),
                    (None, Reading::Unit) => Unit::usual(measure.dimension),
                    _ => Unit::bare(),
                };
                number_text(
                    dice,
                    limits,
                    measure.dimension,
                    &unit,
                    field.possible.as_ref(),
                    &measure.reading,
                )
            }
            Type::Choice(words) => dice.one(words).cloned(),
            Type::YesNo => Some(if dice.often(50) { "yes" } else { "no" }.to_owned()),
            Type::Reference(to) => match standard.kind(*to).place {
                PlaceInRun::Record => {
                    let names: Vec<&String> = standard
                        .records
                        .iter()
                        .filter(|record| record.kind == *to)
                        .map(|record| &record.name)
                        .collect();
                    dice.one(&names).map(|name| (*name).clone())
                }
                PlaceInRun::Many => Some(["one", "two"][dice.below(copies)].to_owned()),
                _ => None,
            },
            Type::Text | Type::Range(_) => None,
        };
        if let Some(value) = value {
            found.push((field.name.clone(), value));
        }
    }
    found
}

fn number_text(
    dice: &mut Dice,
    limits: &Limits,
    dimension: Dimension,
    unit: &Unit,
    possible: Option<&strikeoff::types::Limits>,
    reading: &Reading,
) -> Option<String> {
    let near = limits.near(dimension);
    let ends = possible.and_then(|possible| possible.low.clone().zip(possible.high.clone()));
    let value = if !near.is_empty() && dice.often(70) {
        let base = unit.from_base(dice.one(&near)?);
        let step = Exact::ratio([0, 0, 1, -1, 5, -5, 20, -20][dice.below(8)], 10);
        let scale = base.abs().nearest().max(1.0) / 20.0;
        base.add(&step.mul(&Exact::from_f64(scale)?))
    } else {
        let (low, high) = ends.clone()?;
        let (low, high) = (unit.from_base(&low), unit.from_base(&high));
        let share = Exact::ratio(dice.below(1001) as i64, 1000);
        low.add(&high.sub(&low).mul(&share))
    };
    let text = value.decimal().filter(|text| text.len() < 9);
    let text = text.unwrap_or_else(|| value.decimal_near(3));
    let whole = matches!(reading, Reading::Count(_));
    let text = if whole {
        value.floor().decimal_near(0)
    } else {
        text
    };
    let back = unit.to_base(&Exact::parse_decimal(&text).ok()?);
    if let Some((low, high)) = ends
        && (back < low || back > high)
    {
        return None;
    }
    Some(match unit.spelling() {
        "" => text,
        spelling => format!("{text} {spelling}"),
    })
}

/// The settings of the shipped kinds that hold a range: limits that rules read.
const RANGES: [&str; 9] = [
    "mesh", "eom", "squeegee", "reducer", "catalyst", "pot-life", "flash", "gel", "cure",
];

/// What a random edit did.
#[derive(Debug, Clone)]
pub(crate) struct Edit {
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
    let (line, new, what) = match dice.below(5) {
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
    Some(Edit { room, words })
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
