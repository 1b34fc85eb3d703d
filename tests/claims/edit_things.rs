//! Edits of tables, records, kinds and units.

use super::dice::Dice;
use super::edit::conditions;
use super::invent::{cell, paths, record, record_value};
use super::model::{Cond, Expr, Place, Room, Value, What};
use super::scale::{NUMBER, Num, SCALES, usual};

fn scale_of(room: &Room, path: &str, each: Option<&str>) -> Option<usize> {
    let known = paths(room, each);
    let (_, what) = known.into_iter().find(|(known, _)| known == path)?;
    match what {
        What::Measure(scale) => Some(scale),
        _ => None,
    }
}

pub(super) fn a_cell(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let table = room.tables.first()?.clone();
    let scale = scale_of(room, &table.of, table.each.as_deref())?;
    let cells = &mut room.tables[0].cells;
    let row = dice.below(cells.len());
    let column = dice.below(cells.get(row)?.len());
    cells[row][column] = if cells[row][column].is_some() && dice.often(30) {
        None
    } else {
        Some(cell(dice, scale))
    };
    Some(())
}

pub(super) fn a_row(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let table = room.tables.first_mut()?;
    if table.rows.len() < 2 {
        return None;
    }
    let at = dice.below(table.rows.len());
    match dice.below(3) {
        0 => {
            table.rows.swap(at, 0);
            if dice.often(60) {
                table.cells.swap(at, 0);
            }
        }
        1 => {
            let cells = table.cells[at].clone();
            let to = dice.below(table.cells.len());
            table.cells[to] = cells;
        }
        _ => {
            table.rows.remove(at);
            table.cells.remove(at);
        }
    }
    Some(())
}

pub(super) fn a_column(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let table = room.tables.first_mut()?;
    if table.columns.len() < 2 {
        return None;
    }
    let at = dice.below(table.columns.len());
    if dice.often(50) {
        table.columns.remove(at);
        for cells in &mut table.cells {
            cells.remove(at);
        }
    } else {
        table.columns.swap(0, at);
        if dice.often(50) {
            for cells in &mut table.cells {
                cells.swap(0, at);
            }
        }
    }
    Some(())
}

/// Rows and columns change places: the same table.
pub(super) fn turned(_: &mut Dice, room: &mut Room) -> Option<()> {
    let table = room
        .tables
        .first_mut()
        .filter(|table| table.by.len() == 2)?;
    table.by.reverse();
    let cells = (0..table.columns.len())
        .map(|column| table.cells.iter().map(|row| row[column].clone()).collect())
        .collect();
    table.cells = cells;
    std::mem::swap(&mut table.rows, &mut table.columns);
    Some(())
}

pub(super) fn record_changed(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let at = dice.below(room.records.len());
    let kind = room.kind(&room.records.get(at)?.kind)?.clone();
    let setting = dice.one(&kind.settings)?.clone();
    let value = record_value(dice, room, &setting)?;
    let values = &mut room.records[at].values;
    let there = values.iter().position(|(name, _)| *name == setting.name);
    match there {
        Some(there) if dice.often(30) => drop(values.remove(there)),
        Some(there) => {
            if let (Value::Measure(_, tolerance), Value::Measure(..), true) =
                (&mut values[there].1, &value, dice.often(25))
            {
                *tolerance = if tolerance.is_empty() {
                    " ± 10 %".to_owned()
                } else {
                    String::new()
                };
            } else {
                values[there].1 = value;
            }
        }
        None => values.push((setting.name, value)),
    }
    Some(())
}

pub(super) fn record_there(dice: &mut Dice, room: &mut Room) -> Option<()> {
    if dice.often(50) {
        let gone = room.records.pop()?;
        for table in &mut room.tables {
            if let Some(row) = table.rows.iter().position(|row| *row == gone.name) {
                table.rows.remove(row);
                table.cells.remove(row);
            }
        }
        return Some(());
    }
    let kinds: Vec<_> = room
        .kinds
        .iter()
        .filter(|kind| kind.place != Place::Step)
        .cloned()
        .collect();
    let kind = dice.one(&kinds)?;
    let new = record(dice, room, kind, 4);
    room.records.push(new);
    Some(())
}

pub(super) fn parent(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let at = dice.below(room.records.len());
    let kind = room.records.get(at)?.kind.clone();
    let others: Vec<String> = room
        .records_of(&kind)
        .into_iter()
        .filter(|name| *name != room.records[at].name)
        .collect();
    let parent = if dice.often(30) {
        None
    } else {
        dice.one(&others).cloned()
    };
    let changed = parent != room.records[at].parent;
    room.records[at].parent = parent;
    changed.then_some(())
}

pub(super) fn record_renamed(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let old = dice.one(&room.records)?.name.clone();
    let new = format!("{old}-new");
    for record in &mut room.records {
        if record.name == old {
            record.name.clone_from(&new);
        }
        if record.parent.as_ref() == Some(&old) {
            record.parent = Some(new.clone());
        }
        for (_, value) in &mut record.values {
            if *value == Value::Word(old.clone()) {
                *value = Value::Word(new.clone());
            }
        }
    }
    for table in &mut room.tables {
        for name in table.rows.iter_mut().chain(&mut table.columns) {
            if *name == old {
                name.clone_from(&new);
            }
        }
    }
    for one in conditions(room) {
        one.each(&mut |part| {
            if let Cond::Is(_, _, value, _) = part
                && *value == old
            {
                value.clone_from(&new);
            }
        });
    }
    Some(())
}

pub(super) fn setting_added(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let at = dice.below(room.kinds.len());
    let settings = &mut room.kinds[at].settings;
    let mut new = dice.one(settings)?.clone();
    new.name = "fresh".to_owned();
    new.formula = None;
    new.dial = None;
    let place = dice.below(settings.len() + 1);
    settings.insert(place, new);
    Some(())
}

pub(super) fn setting_removed(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let at = dice.below(room.kinds.len());
    let settings = &mut room.kinds[at].settings;
    settings.remove(dice.below(settings.len()));
    Some(())
}

pub(super) fn setting_renamed(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let at = dice.below(room.kinds.len());
    let kind = room.kinds[at].name.clone();
    let setting = dice.below(room.kinds[at].settings.len());
    let old = room.kinds[at].settings[setting].name.clone();
    let new = format!("{old}-now");
    room.kinds[at].settings[setting].name.clone_from(&new);
    if let Some((parts, _)) = &mut room.kinds[at].parts {
        for part in parts.iter_mut().filter(|part| **part == old) {
            part.clone_from(&new);
        }
    }
    let (before, after) = (format!("{kind}.{old}"), format!("{kind}.{new}"));
    let of = |path: &str| {
        if path == before || path.ends_with(&format!(".{before}")) {
            format!("{}{after}", &path[..path.len() - before.len()])
        } else if path.starts_with(&format!("{before}.")) {
            format!("{after}{}", &path[before.len()..])
        } else {
            path.to_owned()
        }
    };
    let inside = |path: &str| {
        if path == old {
            new.clone()
        } else {
            path.to_owned()
        }
    };
    for setting in &mut room.kinds[at].settings {
        if let Some(formula) = &mut setting.formula {
            formula.rename(&inside);
        }
    }
    for record in room.records.iter_mut().filter(|one| one.kind == kind) {
        for (name, _) in record.values.iter_mut().filter(|(name, _)| *name == old) {
            name.clone_from(&new);
        }
    }
    for one in conditions(room) {
        one.rename(&of);
    }
    for table in &mut room.tables {
        table.of = of(&table.of);
        table.by.iter_mut().for_each(|path| *path = of(path));
    }
    Some(())
}

pub(super) fn setting_order(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let steps: Vec<usize> = (0..room.kinds.len())
        .filter(|at| room.kinds[*at].settings.len() > 1)
        .filter(|at| room.kinds[*at].place == Place::Step || at % 4 == 0)
        .collect();
    let settings = &mut room.kinds[*dice.one(&steps)?].settings;
    let at = dice.below(settings.len() - 1);
    settings.swap(at, at + 1);
    Some(())
}

pub(super) fn one_or_many(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let things: Vec<usize> = (0..room.kinds.len())
        .filter(|at| matches!(room.kinds[*at].place, Place::One | Place::Many))
        .collect();
    let kind = &mut room.kinds[*dice.one(&things)?];
    kind.place = if kind.place == Place::One {
        Place::Many
    } else {
        Place::One
    };
    Some(())
}

pub(super) fn possible(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let own = room.units.clone();
    let settings = room.kinds.iter_mut().flat_map(|kind| &mut kind.settings);
    let mut settings: Vec<_> = settings
        .filter(|setting| matches!(setting.what, What::Measure(_)))
        .collect();
    let at = dice.below(settings.len());
    let setting = settings.get_mut(at)?;
    let What::Measure(scale) = setting.what else {
        return None;
    };
    setting.range = if setting.range.is_some() && dice.often(25) {
        None
    } else {
        let (low, high) = setting.range.clone().unwrap_or_else(|| {
            let (low, high) = SCALES[scale].possible;
            (Num::plain(low, scale), Num::plain(high, scale))
        });
        let (mut low, mut high) = (low.value(&own), high.value(&own));
        match dice.below(3) {
            0 => low = usual(dice, scale),
            1 => high = usual(dice, scale),
            _ => {}
        }
        let (low, high) = (low.min(high), low.max(high));
        Some((
            Num::any(dice, low, scale, &own),
            Num::any(dice, high, scale, &own),
        ))
    };
    Some(())
}

pub(super) fn own_unit(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let at = dice.below(room.units.len());
    let unit = room.units.get_mut(at)?;
    if dice.often(15) {
        unit.name = format!("{}s", unit.name);
    } else if dice.often(15) {
        room.units.remove(at);
    } else {
        unit.size *= dice.of(&[0.5, 2.0, 1.5]);
    }
    Some(())
}

pub(super) fn formula(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let at = dice.below(room.kinds.len());
    let settings = &mut room.kinds[at].settings;
    let with: Vec<usize> = (0..settings.len())
        .filter(|at| settings[*at].formula.is_some())
        .collect();
    if let (Some(one), true) = (dice.one(&with), dice.often(75)) {
        let formula = &mut settings[*one].formula;
        if dice.often(35) {
            *formula = None;
        } else if let Some(old) = formula.take() {
            let by = Num::plain(dice.of(&[1.0, 1.2, 0.8]), NUMBER);
            *formula = Some(match old {
                Expr::Call(name, mut given) if dice.often(70) => {
                    let other = if name == "most" { "least" } else { "most" };
                    given.reverse();
                    let name = if dice.often(60) {
                        other.to_owned()
                    } else {
                        name
                    };
                    Expr::Call(name, given)
                }
                Expr::Call(..) => {
                    settings.remove(*one);
                    return Some(());
                }
                Expr::Bin(left, "*", right) if dice.often(50) => Expr::Bin(right, "*", left),
                old => Expr::Bin(Box::new(old), "*", Box::new(Expr::Lit(by))),
            });
        }
        return Some(());
    }
    // One that had none takes that of another setting.
    let scales: Vec<(usize, usize)> = settings
        .iter()
        .enumerate()
        .filter_map(|(at, setting)| match setting.what {
            What::Measure(scale) => Some((at, scale)),
            _ => None,
        })
        .collect();
    let (at, scale) = dice.one(&scales)?;
    let other = scales
        .iter()
        .find(|(other, of)| other != at && of == scale)?;
    let name = settings[other.0].name.clone();
    settings[*at].formula = Some(Expr::Path(name));
    Some(())
}

pub(super) fn parts(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let kind = room.kinds.iter_mut().find(|kind| kind.name == "cloth")?;
    kind.parts = match kind.parts.take() {
        None => Some((vec!["cotton".to_owned(), "polyester".to_owned()], 100)),
        Some(_) if dice.often(40) => None,
        Some((parts, _)) if dice.often(40) => Some((parts, 90)),
        Some((mut parts, whole)) => {
            parts.pop();
            Some((parts, whole))
        }
    };
    Some(())
}

pub(super) fn choices(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let settings = room.kinds.iter_mut().flat_map(|kind| &mut kind.settings);
    let mut all: Vec<&mut Vec<String>> = settings
        .filter_map(|setting| match &mut setting.what {
            What::Choice(options) => Some(options),
            _ => None,
        })
        .collect();
    let at = dice.below(all.len());
    let options = all.get_mut(at)?;
    match dice.below(4) {
        0 => options.reverse(),
        1 if options.len() > 1 => {
            options.pop();
        }
        _ => options.push("odd".to_owned()),
    }
    Some(())
}
