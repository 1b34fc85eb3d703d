//! Edits of a standard: one for every clause of the language.

use super::dice::Dice;
use super::edit_things::{
    a_cell, a_column, a_row, choices, formula, one_or_many, own_unit, parent, parts, possible,
    record_changed, record_renamed, record_there, setting_added, setting_order, setting_removed,
    setting_renamed, turned,
};
use super::invent::{DAYS, RUNS, condition, deviation, paths, plain, rule, table};
use super::model::{Cond, Expr, Place, Room, Verb, What};
use super::scale::{Num, SCALES, decimal, usual};

type Act = fn(&mut Dice, &mut Room) -> Option<()>;

/// What can be done to a standard, each with its name.
pub(super) const EDITS: &[(&str, Act)] = &[
    ("a number", number),
    ("a number", number),
    ("a unit of a number", respelt),
    ("a comparator", comparator),
    ("a comparator", comparator),
    ("a `when` added", when_added),
    ("a `when` of all choices, or always true", when_always),
    ("a `when` removed", when_removed),
    ("`and`, `or`, `not`", joined),
    ("`and`, `or`, `not`", joined),
    ("a `may`", may),
    ("`shall` or `should`", verb),
    ("`for each`", each),
    ("a clause added", clause_added),
    ("a clause removed", clause_removed),
    ("a rule added", rule_added),
    ("a rule removed", rule_removed),
    ("a rule split or renamed", rule_split),
    ("a cell", a_cell),
    ("a row", a_row),
    ("a column", a_column),
    ("`by` turned", turned),
    ("a value of a record", record_changed),
    ("a value of a record", record_changed),
    ("a record added or removed", record_there),
    ("a parent", parent),
    ("a record renamed", record_renamed),
    ("a setting added", setting_added),
    ("a setting removed", setting_removed),
    ("a setting renamed", setting_renamed),
    ("order of settings", setting_order),
    ("one or many", one_or_many),
    ("what is possible", possible),
    ("what is possible", possible),
    ("a unit of its own", own_unit),
    ("a formula", formula),
    ("a formula", formula),
    ("parts", parts),
    ("choices", choices),
    ("a value after `is`", is_value),
    ("a list", listed),
    ("`stated`", stated),
    ("a deviation", deviation_changed),
    ("a deviation", deviation_changed),
    ("a deviation added or removed", deviation_there),
    ("a function", function),
    ("operands", operands),
    ("a power", power),
];

/// Conditions of a standard, with what they are for.
pub(super) fn conditions(room: &mut Room) -> Vec<&mut Cond> {
    let mut all = Vec::new();
    for rule in &mut room.rules {
        all.extend(rule.whens.iter_mut());
        all.extend(rule.clauses.iter_mut().map(|(_, clause)| clause));
    }
    for deviation in &mut room.deviations {
        all.extend(deviation.when.iter_mut());
    }
    all
}

/// Acts on one drawn part of the conditions; `act` says whether it could.
fn on_part(
    dice: &mut Dice,
    room: &mut Room,
    act: &mut dyn FnMut(&mut Dice, &mut Cond) -> bool,
) -> Option<()> {
    let mut count = 0;
    for one in conditions(room) {
        one.each(&mut |_| count += 1);
    }
    let start = dice.below(count);
    for turn in 0..count {
        let wanted = (start + turn) % count;
        let (mut at, mut done) = (0, false);
        for one in conditions(room) {
            one.each(&mut |part| {
                if at == wanted {
                    done = act(dice, part);
                }
                at += 1;
            });
        }
        if done {
            return Some(());
        }
    }
    None
}

fn on_expression(
    dice: &mut Dice,
    room: &mut Room,
    act: &mut dyn FnMut(&mut Dice, &mut Expr) -> bool,
) -> Option<()> {
    fn walk(
        dice: &mut Dice,
        expr: &mut Expr,
        act: &mut dyn FnMut(&mut Dice, &mut Expr) -> bool,
    ) -> bool {
        if act(dice, expr) {
            return true;
        }
        match expr {
            Expr::Bin(left, _, right) => walk(dice, left, act) || walk(dice, right, act),
            Expr::Call(_, given) => given.iter_mut().any(|one| walk(dice, one, act)),
            Expr::Power(base, _) => walk(dice, base, act),
            Expr::Path(_) | Expr::Lit(_) => false,
        }
    }
    if dice.often(30) {
        let formulas = room.kinds.iter_mut().flat_map(|kind| &mut kind.settings);
        let mut formulas: Vec<&mut Expr> = formulas
            .filter_map(|setting| setting.formula.as_mut())
            .collect();
        let at = dice.below(formulas.len());
        if walk(dice, formulas.get_mut(at)?, act) {
            return Some(());
        }
    }
    on_part(dice, room, &mut |dice, part| match part {
        Cond::Compare(left, _, right) => walk(dice, left, act) || walk(dice, right, act),
        Cond::Within(of, ..) => walk(dice, of, act),
        _ => false,
    })
}

fn number(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let mut count = 0;
    room.numbers(&mut |_| count += 1);
    let wanted = dice.below(count);
    let mut at = 0;
    let mut done = None;
    room.numbers(&mut |number| {
        if at == wanted {
            let before = number.digits.clone();
            let digits: f64 = before.parse().unwrap();
            if number.unit == SCALES[number.scale].units[0].0 && dice.often(70) {
                *number = Num::plain(usual(dice, number.scale), number.scale);
            } else if dice.often(30) {
                // The digits stay and the unit is another.
                number.unit = dice.of(SCALES[number.scale].units).0.to_owned();
                done = Some(());
            } else {
                let by = dice.of(&[0.5, 0.9, 1.1, 2.0]);
                let places = if SCALES[number.scale].whole { 0 } else { 3 };
                number.digits = decimal(digits * by, places);
            }
            if number.digits != before {
                done = Some(());
            }
        }
        at += 1;
    });
    done
}

/// The same value in another unit, as well as it can be written.
fn respelt(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let own = room.units.clone();
    let mut count = 0;
    room.numbers(&mut |_| count += 1);
    let wanted = dice.below(count);
    let mut at = 0;
    let mut done = None;
    room.numbers(&mut |number| {
        if at == wanted {
            let other = Num::any(dice, number.value(&own), number.scale, &own);
            done = (other != *number).then_some(());
            *number = other;
        }
        at += 1;
    });
    done
}

fn comparator(dice: &mut Dice, room: &mut Room) -> Option<()> {
    on_part(dice, room, &mut |dice, part| {
        let Cond::Compare(_, how, _) = part else {
            return false;
        };
        let other = dice.of(&["at least", "at most", "above", "below", "is not"]);
        let changed = other != *how;
        *how = other;
        changed
    })
}

fn a_rule(dice: &mut Dice, room: &Room) -> Option<usize> {
    (!room.rules.is_empty()).then(|| dice.below(room.rules.len()))
}

fn when_added(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let at = a_rule(dice, room)?;
    let each = room.rules[at].each.clone();
    let when = condition(dice, room, each.as_deref());
    room.rules[at].whens.push(when);
    Some(())
}

/// One that is true whatever is stated, added or taken out again.
fn when_always(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let at = a_rule(dice, room)?;
    let each = room.rules[at].each.clone();
    let known = paths(room, each.as_deref());
    let (path, what) = dice.one(&known)?.clone();
    let when = match what {
        What::Choice(options) => Cond::OneOf(path, options.clone(), options),
        What::YesNo => {
            let all = vec!["yes".to_owned(), "no".to_owned()];
            Cond::OneOf(path, all.clone(), all)
        }
        What::Measure(scale) => {
            let low = Num::plain(SCALES[scale].possible.0, scale);
            Cond::Compare(Expr::Path(path), "at least", Expr::Lit(low))
        }
        _ => Cond::Or(vec![
            Cond::Stated(path.clone()),
            Cond::Not(Box::new(Cond::Stated(path))),
        ]),
    };
    if dice.often(70) {
        room.rules[at].whens.push(when);
    } else {
        let verb = dice.of(&[Verb::Shall, Verb::Shall, Verb::Should]);
        room.rules[at].clauses.push((verb, when));
    }
    Some(())
}

fn when_removed(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let with: Vec<usize> = (0..room.rules.len())
        .filter(|at| !room.rules[*at].whens.is_empty())
        .collect();
    let whens = &mut room.rules[*dice.one(&with)?].whens;
    whens.remove(dice.below(whens.len()));
    Some(())
}

fn joined(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let at = a_rule(dice, room)?;
    let each = room.rules[at].each.clone();
    let more = plain(dice, room, each.as_deref());
    let rule = &mut room.rules[at];
    let mut all: Vec<&mut Cond> = rule.whens.iter_mut().collect();
    all.extend(rule.clauses.iter_mut().map(|(_, clause)| clause));
    let drawn = dice.below(all.len());
    let of: &mut Cond = all[drawn];
    let before = of.clone();
    *of = match (before, dice.below(7)) {
        (Cond::And(mut all) | Cond::Or(mut all), 0 | 1) => all.remove(dice.below(all.len())),
        (Cond::And(all), 2) => Cond::Or(all),
        (Cond::Or(all), 2) => Cond::And(all),
        // The same in other words.
        (Cond::And(all), 3) => {
            let all = all.into_iter().map(|one| Cond::Not(Box::new(one)));
            Cond::Not(Box::new(Cond::Or(all.collect())))
        }
        (Cond::Or(mut all), 3) => {
            all.reverse();
            Cond::Or(all)
        }
        (Cond::Not(one), 0 | 1) => *one,
        (one, 4) => Cond::Not(Box::new(one)),
        (one, 5) => Cond::Not(Box::new(Cond::Not(Box::new(one)))),
        (one, 6) => Cond::And(vec![one, more]),
        (one, _) => Cond::Or(vec![one, more]),
    };
    Some(())
}

fn may(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let at = a_rule(dice, room)?;
    let each = room.rules[at].each.clone();
    let old = room.rules[at]
        .clauses
        .iter()
        .position(|(verb, _)| *verb == Verb::May);
    match old {
        Some(old) => drop(room.rules[at].clauses.remove(old)),
        None => {
            let clause = condition(dice, room, each.as_deref());
            room.rules[at].clauses.push((Verb::May, clause));
        }
    }
    Some(())
}

fn verb(dice: &mut Dice, room: &mut Room) -> Option<()> {
    if let (Some(table), true) = (room.tables.first_mut(), dice.often(25)) {
        table.verb = match table.verb {
            Verb::Shall => Verb::Should,
            _ => Verb::Shall,
        };
        return Some(());
    }
    let at = a_rule(dice, room)?;
    let clauses = &mut room.rules[at].clauses;
    let drawn = dice.below(clauses.len());
    clauses[drawn].0 = match clauses[drawn].0 {
        Verb::Shall => Verb::Should,
        Verb::Should => Verb::Shall,
        Verb::May => return None,
    };
    Some(())
}

fn each(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let at = a_rule(dice, room)?;
    let many: Vec<String> = room
        .kinds
        .iter()
        .filter(|kind| matches!(kind.place, Place::Many | Place::Step))
        .map(|kind| kind.name.clone())
        .collect();
    let rule = &mut room.rules[at];
    rule.each = match rule.each {
        Some(_) => None,
        None => Some(dice.one(&many)?.clone()),
    };
    Some(())
}

fn clause_added(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let at = a_rule(dice, room)?;
    let each = room.rules[at].each.clone();
    let clause = condition(dice, room, each.as_deref());
    let verb = dice.of(&[Verb::Shall, Verb::Shall, Verb::Should]);
    room.rules[at].clauses.insert(0, (verb, clause));
    Some(())
}

fn clause_removed(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let at = a_rule(dice, room)?;
    let clauses = &mut room.rules[at].clauses;
    if clauses.len() < 2 {
        return None;
    }
    clauses.remove(dice.below(clauses.len()));
    Some(())
}

fn rule_added(dice: &mut Dice, room: &mut Room) -> Option<()> {
    if dice.often(25) {
        let table = table(dice, room, 7)?;
        room.tables.push(table);
        return Some(());
    }
    let rule = rule(dice, room, 90);
    room.rules.push(rule);
    Some(())
}

fn rule_removed(dice: &mut Dice, room: &mut Room) -> Option<()> {
    if !room.tables.is_empty() && dice.often(30) {
        room.tables.pop();
        return Some(());
    }
    let at = a_rule(dice, room)?;
    let gone = room.rules.remove(at);
    room.deviations.retain(|one| one.rule != gone.name);
    Some(())
}

fn rule_split(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let at = a_rule(dice, room)?;
    let rule = &mut room.rules[at];
    let may = rule.clauses.iter().any(|(verb, _)| *verb == Verb::May);
    if rule.clauses.len() > 1 && !may && dice.often(70) {
        let mut other = rule.clone();
        other.name = "r-split".to_owned();
        other.clauses.remove(0);
        rule.clauses.truncate(1);
        room.rules.push(other);
    } else {
        let (old, new) = (rule.name.clone(), "r-renamed".to_owned());
        rule.name.clone_from(&new);
        for deviation in &mut room.deviations {
            if deviation.rule == old {
                deviation.rule.clone_from(&new);
            }
        }
    }
    Some(())
}

fn is_value(dice: &mut Dice, room: &mut Room) -> Option<()> {
    on_part(dice, room, &mut |dice, part| {
        let Cond::Is(_, denied, value, options) = part else {
            return false;
        };
        let other = dice.of(options);
        if other == *value || dice.often(15) {
            *denied = !*denied;
        } else {
            *value = other;
        }
        true
    })
}

fn listed(dice: &mut Dice, room: &mut Room) -> Option<()> {
    on_part(dice, room, &mut |dice, part| match part {
        Cond::OneOf(_, values, options) => {
            let missing: Vec<String> = options
                .iter()
                .filter(|one| !values.contains(one))
                .cloned()
                .collect();
            match dice.one(&missing) {
                Some(more) if dice.often(60) || values.len() < 2 => values.push(more.clone()),
                _ if values.len() > 1 => drop(values.pop()),
                _ => return false,
            }
            true
        }
        Cond::Is(path, false, value, options) if options.len() > 1 => {
            let mut values = vec![value.clone()];
            if dice.often(50) {
                values.extend(options.iter().find(|one| *one != value).cloned());
            }
            let other = Cond::OneOf(path.clone(), values, options.clone());
            let named = path.contains("ink") || path == "cloth" || path.contains("next");
            if named || path.contains("previous") {
                return false;
            }
            *part = other;
            true
        }
        _ => false,
    })
}

fn stated(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let at = a_rule(dice, room)?;
    let each = room.rules[at].each.clone();
    let known = paths(room, each.as_deref());
    let path = dice.one(&known)?.0.clone();
    let rule = &mut room.rules[at];
    if dice.often(50) {
        rule.clauses.push((Verb::Shall, Cond::Stated(path)));
    } else {
        rule.whens.push(Cond::Stated(path));
    }
    Some(())
}

fn deviation_changed(dice: &mut Dice, room: &mut Room) -> Option<()> {
    let each = room.deviations.first()?.rule.clone();
    let each = room
        .rules
        .iter()
        .find(|rule| rule.name == each)?
        .each
        .clone();
    let when = plain(dice, room, each.as_deref());
    let deviation = room.deviations.first_mut()?;
    match dice.below(5) {
        0 => {
            deviation.run = match deviation.run {
                Some(_) if dice.often(50) => None,
                _ => Some(dice.of(&RUNS).to_owned()),
            };
        }
        1 => {
            let up_to = deviation.up_to.as_mut()?;
            let by = dice.of(&[0.8, 1.2, 1.5]);
            up_to.digits = decimal(up_to.digits.parse::<f64>().unwrap() * by, 3);
        }
        2 => {
            deviation.when = match deviation.when {
                Some(_) if dice.often(50) => None,
                _ => Some(when),
            };
        }
        3 => {
            deviation.pieces = match deviation.pieces {
                Some(_) if dice.often(30) => None,
                _ => Some(dice.of(&[20, 60, 100, 400])),
            };
        }
        _ => deviation.until = dice.of(&DAYS).to_owned(),
    }
    Some(())
}

fn deviation_there(dice: &mut Dice, room: &mut Room) -> Option<()> {
    if room.deviations.pop().is_none() {
        let new = deviation(dice, room)?;
        room.deviations.push(new);
    }
    Some(())
}

fn function(dice: &mut Dice, room: &mut Room) -> Option<()> {
    on_expression(dice, room, &mut |dice, expr| match expr {
        Expr::Call(name, given) => {
            let other = match name.as_str() {
                "least" => "most",
                "most" => dice.of(&["least", "otherwise"]),
                "otherwise" => dice.of(&["most", "least"]),
                "total" => "most",
                _ => "",
            };
            if other.is_empty() || (given.len() == 1 && other == "otherwise") {
                given.reverse();
                return given.len() == 2;
            }
            other.clone_into(name);
            true
        }
        Expr::Path(path) if dice.often(20) && !path.contains("ink") => {
            let inner = Expr::Path(path.clone());
            *expr = Expr::Call(
                dice.of(&["least", "most"]).to_owned(),
                vec![inner.clone(), inner],
            );
            true
        }
        _ => false,
    })
}

fn operands(dice: &mut Dice, room: &mut Room) -> Option<()> {
    on_expression(dice, room, &mut |dice, expr| match expr {
        Expr::Bin(left, how, right) => {
            match *how {
                "+" | "*" if dice.often(60) => std::mem::swap(left, right),
                "+" => *how = "-",
                "-" => *how = "+",
                _ => return false,
            }
            true
        }
        Expr::Call(_, given) if given.len() == 2 => {
            given.reverse();
            true
        }
        _ => false,
    })
}

fn power(dice: &mut Dice, room: &mut Room) -> Option<()> {
    on_part(dice, room, &mut |dice, part| match part {
        Cond::Compare(Expr::Power(one, by), how, Expr::Power(other, with)) => {
            if dice.often(60) {
                // The same for what is positive.
                *part = Cond::Compare((**one).clone(), how, (**other).clone());
            } else {
                *by = 3;
                *with = 3;
            }
            true
        }
        Cond::Compare(one @ Expr::Path(_), _, Expr::Lit(limit)) => {
            if !SCALES[limit.scale].whole
                && limit.scale != super::scale::TEMPERATURE
                && limit.unit == SCALES[limit.scale].units[0].0
            {
                let limit = Expr::Lit(limit.clone());
                let power = |of: Expr| Expr::Power(Box::new(of), 2);
                let one = power(one.clone());
                let Cond::Compare(left, _, right) = part else {
                    return false;
                };
                *left = one;
                *right = power(limit);
                return true;
            }
            false
        }
        _ => false,
    })
}

/// One edit, sometimes two or three; its words.
pub(super) fn edited(dice: &mut Dice, room: &Room) -> Option<(Room, String)> {
    let mut new = room.clone();
    let mut words = Vec::new();
    let wanted = match dice.below(10) {
        0 => 3,
        1 | 2 => 2,
        _ => 1,
    };
    for _ in 0..wanted * 4 {
        if words.len() == wanted {
            break;
        }
        let (name, act) = dice.of(EDITS);
        if act(dice, &mut new).is_some() {
            words.push(name);
        }
    }
    (new != *room).then(|| (new, words.join(", ")))
}
