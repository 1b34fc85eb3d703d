//! Random runs, also such as state something else than the record they use.

use strikeoff::types::{FieldId, KindId, PlaceInRun, Reading, Standard, Type};
use strikeoff::units::{Dimension, Exact, Unit};

use super::dice::{Dice, Limits};

/// How often in a hundred a plan states a setting instead of its record.
const INSTEAD: u64 = 8;

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
        if parts.contains(&id) || stated(id) && !dice.often(INSTEAD) {
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
            Type::Day => Some("2026-01-01".to_owned()),
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
