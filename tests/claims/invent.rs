//! Standards drawn at random: kinds, records, rules, tables and deviations as small rooms write them.

use super::dice::Dice;
use super::model::{
    Cell, Cond, Deviation, Expr, Kind, Place, Record, Room, Rule, Setting, Table, Value, Verb, What,
};
use super::scale::{
    DIFFERENCE, Id, LENGTH, NUMBER, Num, Own, PIECES, SCALES, SHARE, SPEED, STATIONS, STROKES,
    TEMPERATURE, TENSION, THIN, THREADS, TIME, usual,
};

pub(super) const RUNS: [&str; 2] = ["4 harbour", "5 meadow"];
pub(super) const COLOURS: [&str; 3] = ["\"red\"", "\"blue\"", "\"deep red\""];
pub(super) const DAYS: [&str; 3] = ["2026-12-31", "2026-10-01", "2026-11-25"];
const HOWS: [&str; 4] = ["at least", "at most", "above", "below"];

fn words(all: &[&str]) -> Vec<String> {
    all.iter().map(|word| (*word).to_owned()).collect()
}

fn measure(dice: &mut Dice, name: &str, scale: Id, own: &[Own]) -> Setting {
    let range = dice.often(60).then(|| {
        let (low, high) = SCALES[scale].possible;
        // Often so narrow that a plan may lie outside it.
        let high = if scale != SHARE && dice.often(8) {
            usual(dice, scale).max(low)
        } else {
            high
        };
        let low = Num::any(dice, low, scale, own);
        let high = Num::any(dice, high, scale, own);
        (low, high)
    });
    Setting {
        name: name.to_owned(),
        what: What::Measure(scale),
        range,
        formula: None,
        dial: (!SCALES[scale].whole && dice.often(40))
            .then(|| Num::plain(SCALES[scale].dial, scale)),
        measured: false,
    }
}

fn other(name: &str, what: What) -> Setting {
    Setting {
        name: name.to_owned(),
        what,
        range: None,
        formula: None,
        dial: None,
        measured: false,
    }
}

fn worked(name: &str, scale: Id, formula: Expr) -> Setting {
    Setting {
        name: name.to_owned(),
        what: What::Measure(scale),
        range: None,
        formula: Some(formula),
        dial: None,
        measured: false,
    }
}

fn bin(left: Expr, how: &'static str, right: Expr) -> Expr {
    Expr::Bin(Box::new(left), how, Box::new(right))
}

fn kinds(dice: &mut Dice, own: &[Own]) -> Vec<Kind> {
    let mut oven = vec![
        measure(dice, "chamber", LENGTH, own),
        measure(dice, "belt", SPEED, own),
        measure(dice, "air", TEMPERATURE, own),
        worked(
            "dwell",
            TIME,
            bin(Expr::path("chamber"), "/", Expr::path("belt")),
        ),
    ];
    if dice.often(60) {
        oven.push(measure(dice, "second", TEMPERATURE, own));
        oven.push(worked(
            "hottest",
            TEMPERATURE,
            Expr::Call(
                "most".to_owned(),
                vec![Expr::path("air"), Expr::path("second")],
            ),
        ));
    }
    if dice.often(50) {
        oven.push(measure(dice, "swing", DIFFERENCE, own));
    }
    if dice.often(50) {
        oven.push(other("fan", What::YesNo));
    }
    if dice.often(50) {
        oven.push(other(
            "mode",
            What::Choice(words(&["slow", "quick", "idle"])),
        ));
    }
    let mut cloth = vec![
        measure(dice, "cotton", SHARE, own),
        measure(dice, "polyester", SHARE, own),
        measure(dice, "elastane", SHARE, own),
        other(
            "shade",
            What::Choice(words(&["white", "light", "dark"][..2 + dice.below(2)])),
        ),
    ];
    if dice.often(60) {
        cloth.push(other("colour", What::Text));
    }
    if dice.often(60) {
        cloth.push(other("youth", What::YesNo));
    }
    if dice.often(50) {
        cloth.push(other("heat", What::Range(TEMPERATURE)));
    }
    let parts = dice
        .often(75)
        .then(|| (words(&["cotton", "polyester", "elastane"]), 100));
    let mut job = vec![measure(dice, "pieces", PIECES, own)];
    job.push(measure(dice, "spoilage", NUMBER, own));
    if dice.often(60) {
        job.push(worked(
            "to-print",
            PIECES,
            bin(Expr::path("pieces"), "*", Expr::path("spoilage")),
        ));
    }
    let mut ink = vec![
        other("cure", What::Range(TEMPERATURE)),
        other("family", What::Choice(words(&["plastic", "water"]))),
    ];
    if dice.often(70) {
        ink.push(measure(dice, "grain", THIN, own));
    }
    if dice.often(60) {
        ink.push(other("mesh", What::Range(THREADS)));
    }
    let mut pan = vec![
        other("ink", What::Of("ink".to_owned())),
        measure(dice, "mesh", THREADS, own),
        measure(dice, "thread", THIN, own),
    ];
    if dice.often(60) {
        let one = Expr::Lit(Num::plain(1.0, NUMBER));
        let gap = bin(bin(one, "/", Expr::path("mesh")), "-", Expr::path("thread"));
        pan.push(worked("gap", THIN, gap));
    }
    if dice.often(60) {
        pan.push(measure(dice, "tension", TENSION, own));
    }
    let mut dab = vec![
        other("pan", What::Of("pan".to_owned())),
        measure(dice, "strokes", STROKES, own),
    ];
    if dice.often(30) {
        dab.push(measure(dice, "again", STROKES, own));
    }
    let mut bake = vec![measure(dice, "time", TIME, own)];
    if dice.often(60) {
        bake.push(measure(dice, "pause", TIME, own));
    }
    if dice.often(40) {
        bake.push(measure(dice, "heat", TEMPERATURE, own));
    }
    let rest = vec![measure(dice, "stations", STATIONS, own)];
    let kind = |name: &str, place, settings, parts| Kind {
        name: name.to_owned(),
        place,
        settings,
        parts,
    };
    let mut all = vec![
        kind("oven", Place::One, oven, None),
        kind("cloth", Place::One, cloth, parts),
        kind("job", Place::One, job, None),
    ];
    if dice.often(75) {
        all.push(kind("ink", Place::Records, ink, None));
        all.push(kind("pan", Place::Many, pan, None));
        if dice.often(60) {
            all.push(kind("dab", Place::Step, dab, None));
        }
    }
    if dice.often(55) {
        all.push(kind("bake", Place::Step, bake, None));
        if dice.often(50) {
            all.push(kind("rest", Place::Step, rest, None));
        }
    }
    all
}

/// A value for a setting of a record; a child's range stays inside its parent's.
pub(super) fn record_value(dice: &mut Dice, room: &Room, setting: &Setting) -> Option<Value> {
    let own = &room.units;
    match &setting.what {
        What::Measure(scale) => {
            let tolerance = match dice.below(6) {
                0 if !SCALES[*scale].whole && *scale != TEMPERATURE => " ± 5 %".to_owned(),
                1 if *scale == TEMPERATURE => " ± 4 K".to_owned(),
                _ => String::new(),
            };
            let value = usual(dice, *scale);
            Some(Value::Measure(
                Num::any(dice, value, *scale, own),
                tolerance,
            ))
        }
        What::Range(scale) => {
            let (one, two) = (usual(dice, *scale), usual(dice, *scale));
            let low = Num::plain(one.min(two), *scale);
            let high = Num::plain(one.max(two), *scale);
            Some(match dice.below(5) {
                0 => Value::AtLeast(low),
                1 => Value::AtMost(high),
                _ => Value::Span(low, high),
            })
        }
        What::Choice(options) => dice.one(options).cloned().map(Value::Word),
        What::YesNo => Some(Value::Word(dice.of(&["yes", "no"]).to_owned())),
        What::Text => Some(Value::Word(dice.of(&COLOURS).to_owned())),
        What::Of(kind) => {
            let known = room.records_of(kind);
            dice.one(&known).cloned().map(Value::Word)
        }
    }
}

/// Shares that add up, each with its name.
pub(super) fn mixture(dice: &mut Dice) -> Vec<(&'static str, u32)> {
    match dice.below(6) {
        0 => vec![("cotton", 100)],
        1 => vec![("cotton", 50), ("polyester", 50)],
        2 => vec![("polyester", 100)],
        3 => vec![("polyester", 90), ("elastane", 10)],
        4 => vec![("cotton", 60), ("polyester", 30), ("elastane", 10)],
        _ => vec![("cotton", 80), ("polyester", 20)],
    }
}

pub(super) fn record(dice: &mut Dice, room: &Room, kind: &Kind, number: usize) -> Record {
    let name = format!("{}-{}", kind.name, ["a", "b", "c", "d", "e"][number % 5]);
    let known = room.records_of(&kind.name);
    let parent = dice
        .often(40)
        .then(|| dice.one(&known).cloned())
        .flatten()
        .filter(|parent| *parent != name);
    let mut values = Vec::new();
    if kind.name == "cloth" && parent.is_none() {
        for (part, share) in mixture(dice) {
            if kind.setting(part).is_some() {
                let share = Num::plain(f64::from(share), SHARE);
                values.push((part.to_owned(), Value::Measure(share, String::new())));
            }
        }
    }
    for setting in &kind.settings {
        let range = matches!(setting.what, What::Range(_));
        let mixed = matches!(setting.name.as_str(), "cotton" | "polyester" | "elastane");
        let stays = parent.is_some() && (range || dice.often(60));
        if mixed || setting.formula.is_some() || stays || dice.often(25) {
            continue;
        }
        if let Some(value) = record_value(dice, room, setting) {
            values.push((setting.name.clone(), value));
        }
    }
    Record {
        kind: kind.name.clone(),
        name,
        parent,
        values,
    }
}

/// Paths that a rule may speak of, and what stands there.
pub(super) fn paths(room: &Room, each: Option<&str>) -> Vec<(String, What)> {
    let mut all = Vec::new();
    for kind in &room.kinds {
        if kind.place == Place::One || each == Some(kind.name.as_str()) {
            below(room, &kind.name, kind, 0, &mut all);
        }
    }
    all
}

fn below(room: &Room, path: &str, kind: &Kind, depth: usize, all: &mut Vec<(String, What)>) {
    for setting in &kind.settings {
        let path = format!("{path}.{}", setting.name);
        if let (What::Of(of), true) = (&setting.what, depth < 2)
            && let Some(of) = room.kind(of)
        {
            below(room, &path, of, depth + 1, all);
        }
        all.push((path, setting.what.clone()));
    }
}

/// An expression of a measure.
pub(super) fn expression(dice: &mut Dice, room: &Room, each: Option<&str>, scale: Id) -> Expr {
    let known = paths(room, each);
    let fitting: Vec<&str> = known
        .iter()
        .filter(|(_, what)| *what == What::Measure(scale))
        .map(|(path, _)| path.as_str())
        .collect();
    let Some(path) = dice.one(&fitting) else {
        let value = usual(dice, scale);
        return Expr::Lit(Num::any(dice, value, scale, &room.units));
    };
    let path = Expr::path(path);
    let again = |dice: &mut Dice| Expr::path(dice.of(&fitting));
    let literal = |dice: &mut Dice| {
        let value = usual(dice, scale);
        Expr::Lit(Num::any(dice, value, scale, &room.units))
    };
    let point = scale == TEMPERATURE;
    let call = |name: &str, given: Vec<Expr>| Expr::Call(name.to_owned(), given);
    match dice.below(20) {
        0 if !point => bin(path, "+", again(dice)),
        1 if !point => {
            let by = Num::plain(dice.of(&[1.5, 2.0, 0.5, 0.8]), NUMBER);
            bin(path, "*", Expr::Lit(by))
        }
        2 if point => {
            let by = Num::plain(usual(dice, DIFFERENCE), DIFFERENCE);
            bin(path, dice.of(&["+", "-"]), Expr::Lit(by))
        }
        3 => call("least", vec![path, again(dice)]),
        4 => call("most", vec![path, literal(dice)]),
        5 | 6 => call("otherwise", vec![path, literal(dice)]),
        7 if !point => call("root", vec![bin(path, "*", again(dice))]),
        8 => {
            let strokes = known
                .iter()
                .find(|(_, what)| *what == What::Measure(STROKES));
            match strokes {
                Some((by, _)) => call("choose", vec![Expr::path(by), path, literal(dice)]),
                None => path,
            }
        }
        _ => path,
    }
}

fn comparison(dice: &mut Dice, room: &Room, each: Option<&str>) -> Cond {
    let known = paths(room, each);
    let measures: Vec<Id> = known
        .iter()
        .filter_map(|(_, what)| match what {
            What::Measure(scale) => Some(*scale),
            _ => None,
        })
        .collect();
    let scale = dice.of(&measures);
    let how = dice.of(&HOWS);
    let left = expression(dice, room, each, scale);
    if dice.often(8) && !matches!(scale, TEMPERATURE | THIN | THREADS | SPEED) {
        // A power, against the power of a limit.
        let limit = usual(dice, scale);
        let by = 2;
        let limit = Expr::Power(Box::new(Expr::Lit(Num::plain(limit, scale))), by);
        return Cond::Compare(Expr::Power(Box::new(left), by), how, limit);
    }
    if dice.often(12) {
        let (one, two) = (usual(dice, scale), usual(dice, scale));
        let low = Num::plain(one.min(two), scale);
        let high = Num::plain(one.max(two), scale);
        return Cond::Within(left, low, high);
    }
    if dice.often(12) {
        let right = expression(dice, room, each, scale);
        return Cond::Compare(left, how, right);
    }
    let limit = usual(dice, scale);
    let limit = Expr::Lit(Num::any(dice, limit, scale, &room.units));
    let how = if dice.often(6) {
        dice.of(&["is", "is not"])
    } else {
        how
    };
    Cond::Compare(left, how, limit)
}

fn aggregate(dice: &mut Dice, room: &Room) -> Option<Cond> {
    let pan = room.kind("pan")?;
    let how = dice.of(&HOWS);
    let call = |name: &str, of: &str| Expr::Call(name.to_owned(), vec![Expr::path(of)]);
    if dice.often(40) {
        let limit = Expr::Lit(Num::plain(dice.of(&[1.0, 2.0, 3.0]), NUMBER));
        return Some(Cond::Compare(call("count", "pan"), how, limit));
    }
    let setting = if pan.setting("tension").is_some() {
        ("pan.tension", TENSION)
    } else {
        ("pan.thread", THIN)
    };
    let name = dice.of(&["total", "most", "least"]);
    let limit = Expr::Lit(Num::plain(usual(dice, setting.1), setting.1));
    Some(Cond::Compare(call(name, setting.0), how, limit))
}

/// A condition that is no `and`, `or` or `not`.
pub(super) fn plain(dice: &mut Dice, room: &Room, each: Option<&str>) -> Cond {
    let known = paths(room, each);
    for _ in 0..4 {
        let found = match dice.below(20) {
            0 => aggregate(dice, room),
            1 | 2 => inside(dice, &known),
            3..=6 => word(dice, &known),
            7 => dice.one(&known).map(|(path, _)| Cond::Stated(path.clone())),
            8 => record_of(dice, room, each),
            9 => place(dice, room, each),
            _ => Some(comparison(dice, room, each)),
        };
        if let Some(found) = found {
            return found;
        }
    }
    comparison(dice, room, each)
}

fn inside(dice: &mut Dice, known: &[(String, What)]) -> Option<Cond> {
    let ranges: Vec<(&String, Id)> = known
        .iter()
        .filter_map(|(path, what)| match what {
            What::Range(scale) => Some((path, *scale)),
            _ => None,
        })
        .collect();
    let (range, scale) = dice.one(&ranges)?;
    let values: Vec<&String> = known
        .iter()
        .filter(|(_, what)| *what == What::Measure(*scale))
        .map(|(path, _)| path)
        .collect();
    let value = dice.one(&values)?;
    match dice.below(4) {
        0 => {
            let end = Expr::Call("low".to_owned(), vec![Expr::path(range)]);
            Some(Cond::Compare(Expr::path(value), "at least", end))
        }
        _ => Some(Cond::Inside(Expr::path(value), (*range).clone())),
    }
}

fn word(dice: &mut Dice, known: &[(String, What)]) -> Option<Cond> {
    let fitting: Vec<&(String, What)> = known
        .iter()
        .filter(|(_, what)| matches!(what, What::Choice(_) | What::YesNo | What::Text))
        .collect();
    let (path, what) = dice.one(&fitting)?;
    let options = match what {
        What::Choice(options) => options.clone(),
        What::YesNo => words(&["yes", "no"]),
        _ => words(&COLOURS),
    };
    if dice.often(30) && *what != What::YesNo {
        // All of them often, which is no condition at all where it is stated.
        let listed = if dice.often(40) {
            options.clone()
        } else {
            options.iter().take(1 + dice.below(2)).cloned().collect()
        };
        return Some(Cond::OneOf(path.clone(), listed, options));
    }
    let value = dice.of(&options);
    Some(Cond::Is(path.clone(), dice.often(20), value, options))
}

fn record_of(dice: &mut Dice, room: &Room, each: Option<&str>) -> Option<Cond> {
    let of = match each {
        Some("pan") if dice.often(70) => ("pan.ink".to_owned(), "ink"),
        Some("dab") if dice.often(70) => ("dab.pan.ink".to_owned(), "ink"),
        _ => ("cloth".to_owned(), "cloth"),
    };
    let known = room.records_of(of.1);
    let value = dice.one(&known)?.clone();
    Some(Cond::Is(of.0, dice.often(15), value, known))
}

fn place(dice: &mut Dice, room: &Room, each: Option<&str>) -> Option<Cond> {
    let each = each?;
    if room.kind(each)?.place != Place::Step {
        return None;
    }
    let steps: Vec<&Kind> = room
        .kinds
        .iter()
        .filter(|kind| kind.place == Place::Step)
        .collect();
    let other = dice.one(&steps)?.name.clone();
    let next = dice.of(&["next", "previous"]);
    Some(match dice.below(3) {
        0 => Cond::Is(
            format!("{each}.{next}"),
            false,
            other,
            steps.iter().map(|kind| kind.name.clone()).collect(),
        ),
        1 => Cond::Stated(format!("{each}.{next}-{other}")),
        _ => {
            let limit = Expr::Lit(Num::plain(dice.of(&[1.0, 2.0, 3.0]), NUMBER));
            Cond::Compare(Expr::Path(format!("{each}.place")), dice.of(&HOWS), limit)
        }
    })
}

pub(super) fn condition(dice: &mut Dice, room: &Room, each: Option<&str>) -> Cond {
    let one = plain(dice, room, each);
    match dice.below(12) {
        0 => Cond::And(vec![one, plain(dice, room, each)]),
        1 | 2 => Cond::Or(vec![one, plain(dice, room, each)]),
        3 => Cond::Not(Box::new(one)),
        _ => one,
    }
}

pub(super) fn rule(dice: &mut Dice, room: &Room, number: usize) -> Rule {
    let many: Vec<&Kind> = room
        .kinds
        .iter()
        .filter(|kind| matches!(kind.place, Place::Many | Place::Step))
        .collect();
    let each = if dice.often(45) {
        dice.one(&many).map(|kind| kind.name.clone())
    } else {
        None
    };
    let of = each.as_deref();
    let whens = if dice.often(45) {
        (0..1 + usize::from(dice.often(20)))
            .map(|_| condition(dice, room, of))
            .collect()
    } else {
        Vec::new()
    };
    let mut clauses = Vec::new();
    for _ in 0..1 + usize::from(dice.often(25)) {
        let verb = if dice.often(85) {
            Verb::Shall
        } else {
            Verb::Should
        };
        clauses.push((verb, condition(dice, room, of)));
    }
    if dice.often(12) {
        clauses.push((Verb::May, condition(dice, room, of)));
    }
    Rule {
        name: format!("r-{number}"),
        each,
        whens,
        clauses,
    }
}

pub(super) fn cell(dice: &mut Dice, scale: Id) -> Cell {
    let (one, two) = (usual(dice, scale), usual(dice, scale));
    let low = Num::plain(one.min(two), scale);
    let high = Num::plain(one.max(two), scale);
    match dice.below(8) {
        0 | 1 => Cell::AtLeast(low),
        2 | 3 => Cell::AtMost(high),
        4 => Cell::Exactly(low),
        _ => Cell::Span(low, high),
    }
}

/// Rows or columns that a path may go by.
fn names_of(room: &Room, path: &str) -> Vec<String> {
    match path {
        "cloth" => room.records_of("cloth"),
        "pan.ink" => room.records_of("ink"),
        _ => {
            let (kind, setting) = path.split_once('.').unwrap_or((path, ""));
            let setting = room.kind(kind).and_then(|kind| kind.setting(setting));
            match setting.map(|setting| &setting.what) {
                Some(What::Choice(options)) => options.clone(),
                Some(What::YesNo) => words(&["yes", "no"]),
                _ => Vec::new(),
            }
        }
    }
}

pub(super) fn table(dice: &mut Dice, room: &Room, number: usize) -> Option<Table> {
    let each = (room.kind("pan").is_some() && dice.often(50)).then(|| "pan".to_owned());
    let mut by: Vec<&str> = vec!["cloth", "cloth.shade", "cloth.youth", "oven.mode"];
    if each.is_some() {
        by.push("pan.ink");
    }
    by.retain(|path| !names_of(room, path).is_empty());
    let rows = dice.one(&by)?.to_owned().to_owned();
    let columns: Vec<&str> = by.iter().copied().filter(|path| *path != rows).collect();
    let columns = if dice.often(60) {
        dice.one(&columns).map(|path| (*path).to_owned())
    } else {
        None
    };
    let known = paths(room, each.as_deref());
    let fitting: Vec<(&String, Id)> = known
        .iter()
        .filter_map(|(path, what)| match what {
            What::Measure(scale) => Some((path, *scale)),
            _ => None,
        })
        .collect();
    let (of, scale) = dice.one(&fitting)?;
    let mut row_names = names_of(room, &rows);
    if row_names.len() > 1 && dice.often(40) {
        row_names.remove(dice.below(row_names.len()));
    }
    let column_names = columns
        .as_deref()
        .map(|path| names_of(room, path))
        .unwrap_or_default();
    let cells = row_names
        .iter()
        .map(|_| {
            (0..column_names.len().max(1))
                .map(|_| dice.often(85).then(|| cell(dice, *scale)))
                .collect()
        })
        .collect();
    Some(Table {
        name: format!("t-{number}"),
        each,
        verb: if dice.often(90) {
            Verb::Shall
        } else {
            Verb::Should
        },
        of: (*of).clone(),
        by: std::iter::once(rows).chain(columns).collect(),
        rows: row_names,
        columns: column_names,
        cells,
    })
}

/// A deviation from a rule of one plain limit.
pub(super) fn deviation(dice: &mut Dice, room: &Room) -> Option<Deviation> {
    let rule = dice.one(&room.rules)?;
    let number = match rule.clauses.first()? {
        (_, Cond::Compare(_, how, Expr::Lit(limit))) if HOWS.contains(how) => {
            let least = matches!(*how, "at least" | "above");
            let far = limit.value(&room.units) * if least { 0.5 } else { 1.5 };
            Some(Num::plain(far, limit.scale))
        }
        (_, Cond::Is(..)) => None,
        _ => return None,
    };
    let of = rule.each.as_deref();
    Some(Deviation {
        rule: rule.name.clone(),
        run: dice.often(30).then(|| dice.of(&RUNS).to_owned()),
        up_to: number,
        when: dice.often(30).then(|| plain(dice, room, of)),
        pieces: dice.often(30).then(|| dice.of(&[50, 100, 400])),
        until: dice.of(&DAYS).to_owned(),
    })
}

pub(super) fn units(dice: &mut Dice) -> Vec<Own> {
    let own = |name: &str, scale, size| Own {
        name: name.to_owned(),
        scale,
        size,
    };
    let all = [
        own("rack", PIECES, 12.0),
        own("beat", TIME, 15.0),
        own("bay", LENGTH, 0.5),
        own("hole", THIN, 10.0),
    ];
    all.into_iter().filter(|_| dice.often(35)).collect()
}

/// A standard.
pub(super) fn room(dice: &mut Dice) -> Room {
    let mut room = Room {
        units: units(dice),
        ..Room::default()
    };
    room.kinds = kinds(dice, &room.units);
    for kind in room.kinds.clone() {
        let wanted = match kind.name.as_str() {
            "cloth" | "ink" => 1 + dice.below(3),
            "oven" | "pan" => dice.below(3).saturating_sub(1),
            _ => 0,
        };
        for number in 0..wanted {
            let record = record(dice, &room, &kind, number);
            room.records.push(record);
        }
    }
    for number in 0..1 + dice.below(4) {
        let rule = rule(dice, &room, number);
        room.rules.push(rule);
    }
    if dice.often(35) {
        let table = table(dice, &room, 0);
        room.tables.extend(table);
    }
    if dice.often(30) {
        let deviation = deviation(dice, &room);
        room.deviations.extend(deviation);
    }
    room
}
