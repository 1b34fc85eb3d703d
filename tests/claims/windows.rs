//! What `window` says of set points, held against `check` of the plan with the point written in.
//!
//! `STRIKEOFF_LONG=200` takes so many standards, with 500 points each; `STRIKEOFF_SEED=7` another start; `STRIKEOFF_DUMP=folder`
//! writes what is wrong into files.

use std::collections::BTreeMap;

use serde_json::Value as Json;
use strikeoff::check::{Options, Prepared, check_plan, prepare};
use strikeoff::diagnostic::{Outcome, SetPoint, Severity};
use strikeoff::names::read_text;
use strikeoff::report::window_json;
use strikeoff::source::Store;
use strikeoff::types::Date;
use strikeoff::window::{Asked, BUDGET, window};

use super::dice::Dice;
use super::invent::room;
use super::judge::{Alone, DAY};
use super::model::{Cond, Expr, Room, Rule, Verb};
use super::pairs::number;
use super::plans::{Plan, Worth, plan};
use super::scale::{Num, SCALES, decimal};

/// A plan and what of it is freed.
struct Case {
    standard: String,
    plan: Plan,
    /// How each is named, where it stands, and what follows its number and unit.
    free: Vec<(String, (usize, usize), String)>,
    /// Which of them are counted, in whole ones.
    whole: Vec<bool>,
    store: Store,
    prepared: Prepared,
    said: Json,
    /// The room around *nearest* and *most margin* as it is printed.
    around: Vec<(&'static str, Vec<(String, String)>)>,
}

/// What set points come to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Zone {
    Holds,
    AtRisk,
    Breaks,
    Unreadable,
}

#[derive(Debug, Default)]
struct Counts {
    standards: usize,
    /// Besides these, such as fail whatever is set.
    failing: usize,
    two: usize,
    points: usize,
    ends: usize,
    beside: usize,
    in_boxes: usize,
    unreadable: usize,
    not_decided: usize,
    nearest: usize,
    best: usize,
    around: usize,
    /// What was said of the points, and how often.
    zones: BTreeMap<String, usize>,
    wrong: Vec<String>,
}

/// A number with its unit, and what follows them.
fn split(value: &str) -> Option<(f64, String)> {
    let mut words = value.splitn(3, ' ');
    let number: f64 = words.next()?.parse().ok()?;
    let (unit, rest) = (words.next(), words.next());
    match (unit, rest) {
        // A number of things without its noun.
        (Some(unit), rest) if unit.starts_with(['±', '+', '-']) => {
            let rest = rest.map(|rest| format!(" {rest}")).unwrap_or_default();
            Some((number, format!(" {unit}{rest}")))
        }
        (_, None) => Some((number, String::new())),
        (_, Some(rest)) if rest.starts_with("to ") => None,
        (_, Some(rest)) => Some((number, format!(" {rest}"))),
    }
}

impl Case {
    fn of(dice: &mut Dice) -> Option<Self> {
        let mut room = room(dice);
        room.deviations.clear();
        let worth = Worth::of([&room, &room]);
        let rules = room.text();
        let plan = passing(dice, &room, &rules, &worth)?;
        let read = |name: &str| {
            let path = name.replacen(' ', ".", 1).replace(": ", ".");
            let setting = path.rsplit('.').next().unwrap_or_default();
            let rules = rules.lines().filter(|line| !line.contains(" per practice"));
            rules
                .into_iter()
                .any(|line| line.contains(&format!(".{setting}")))
        };
        // Mostly what a rule reads.
        let mut measures = plan.measures(&room);
        if dice.often(85) {
            measures.retain(|(name, ..)| read(name));
        }
        let wanted = if dice.often(30) { 2 } else { 1 };
        let mut free: Vec<(String, (usize, usize), String)> = Vec::new();
        for _ in 0..8 {
            let (name, at, value) = dice.one(&measures)?.clone();
            let known = free.iter().any(|(one, ..)| *one == name);
            if !plan.ranged(&room, at) {
                continue;
            }
            if free.len() < wanted
                && !known
                && let Some((_, rest)) = split(&value)
            {
                band(dice, &mut room, &name, &value, &rest);
                free.push((name, at, rest));
            }
        }
        if free.len() < wanted {
            return None;
        }
        let standard = room.text();
        let mut store = Store::new();
        let shelf = Alone(&standard);
        let root = read_text(&mut store, &shelf, "room.std", None).ok()?;
        let prepared = prepare(&mut store, &shelf, root);
        if !prepared.usable() {
            return None;
        }
        let whole = free
            .iter()
            .map(|(_, at, _)| plan.whole(&room, *at))
            .collect();
        let file = store.add("a.plan", plan.text());
        let names: Vec<String> = free.iter().map(|(name, ..)| name.clone()).collect();
        let asked = Asked {
            free: &names,
            budget: if wanted == 2 { 2_000 } else { BUDGET },
            on: Date::parse(DAY),
        };
        let found = window(&mut store, &prepared, file, asked).ok()?;
        let printed = |point: &Option<SetPoint>| -> Vec<(String, String)> {
            let around = point.iter().flat_map(|point| &point.around);
            let words = around.map(|(low, high)| (low.1.clone(), high.1.clone()));
            words.collect()
        };
        let around = vec![
            ("nearest", printed(&found.nearest)),
            ("most_margin", printed(&found.best)),
        ];
        let mut out = Vec::new();
        window_json(&found, &store, &mut out).unwrap();
        let said = serde_json::from_slice(&out).unwrap();
        Some(Self {
            standard,
            plan,
            free,
            whole,
            store,
            prepared,
            said,
            around,
        })
    }

    /// The plan with values, each a number and its unit.
    fn text(&self, at: &[String]) -> String {
        let mut plan = self.plan.clone();
        for ((_, place, rest), value) in self.free.iter().zip(at) {
            plan = plan.with(*place, &format!("{value}{rest}"));
        }
        plan.text()
    }

    fn check(&mut self, text: &str) -> Zone {
        check(&mut self.store, &self.prepared, text)
    }

    /// Whether something does not hold whatever is set.
    fn fails_anyhow(&self) -> bool {
        !self.said["whatever_is_set"].as_array().unwrap().is_empty()
    }

    fn unit(&self, at: usize) -> String {
        let unit = self.said["settings"][at]["unit"].as_str().unwrap();
        if unit.is_empty() {
            String::new()
        } else {
            format!(" {unit}")
        }
    }

    /// The text with these points written in.
    fn written(&self, digits: &[String]) -> String {
        let values: Vec<String> = digits
            .iter()
            .enumerate()
            .map(|(at, digits)| format!("{digits}{}", self.unit(at)))
            .collect();
        self.text(&values)
    }
}

fn check(store: &mut Store, prepared: &Prepared, text: &str) -> Zone {
    let file = store.add("point.plan", text);
    let options = Options {
        repairs: false,
        on: Date::parse(DAY),
        ..Options::default()
    };
    let report = check_plan(store, prepared, 0, file, options);
    if !report.checked {
        return Zone::Unreadable;
    }
    let mut zone = Zone::Holds;
    for said in &report.diagnostics {
        if said.severity != Severity::Error {
            continue;
        }
        let finding = said.finding.as_ref();
        if finding.is_none_or(|finding| finding.outcome == Outcome::Breaks) {
            return Zone::Breaks;
        }
        zone = Zone::AtRisk;
    }
    zone
}

/// A plan that passes if one is soon found, else any.
fn passing(dice: &mut Dice, room: &Room, text: &str, worth: &Worth) -> Option<Plan> {
    let mut store = Store::new();
    let shelf = Alone(text);
    let root = read_text(&mut store, &shelf, "room.std", None).ok()?;
    let prepared = prepare(&mut store, &shelf, root);
    if !prepared.usable() {
        return None;
    }
    let mut last = None;
    let wanted = dice.often(65);
    for _ in 0..16 {
        let plan = plan(dice, room, worth);
        match check(&mut store, &prepared, &plan.text()) {
            Zone::Holds if wanted => return Some(plan),
            Zone::Holds => {}
            Zone::Unreadable => {}
            Zone::AtRisk | Zone::Breaks => last = Some(plan),
        }
    }
    last
}

/// Sometimes a rule whose band the value with its tolerance just fills, or nearly.
fn band(dice: &mut Dice, room: &mut Room, name: &str, value: &str, rest: &str) {
    let Some(size) = rest.strip_prefix(" ± ") else {
        return;
    };
    if !dice.often(60) || name.contains(':') {
        return;
    }
    let Some((number, _)) = split(value) else {
        return;
    };
    let unit = value.split(' ').nth(1).unwrap_or_default();
    let half = match size.split_once(' ') {
        Some((size, "%")) => {
            let share: f64 = size.parse().unwrap();
            // Of a share it is in points, of all else of the value.
            if unit == "%" {
                share
            } else {
                number * share / 100.0
            }
        }
        Some((size, _)) => size.parse().unwrap(),
        None => size.parse().unwrap(),
    };
    let scale = SCALES
        .iter()
        .position(|scale| scale.units.iter().any(|known| known.0 == unit));
    let number_of = |digits: f64| Num {
        digits: decimal(digits, 6),
        unit: unit.to_owned(),
        scale: scale.unwrap_or(0),
    };
    let wider = dice.of(&[0.0, 0.0, 0.0, 0.001, -0.001]);
    let shall = Cond::Within(
        Expr::path(name),
        number_of(number - half - wider),
        number_of(number + half + wider),
    );
    room.rules.push(Rule {
        name: format!("fits-{}", room.rules.len()),
        each: None,
        whens: Vec::new(),
        clauses: vec![(Verb::Shall, shall)],
    });
}

/// The exact decimal of a fraction, where it has one that is short.
fn exact(end: &Json) -> Option<String> {
    let text = end["exact"].as_str()?;
    let Some((above, below)) = text.split_once('/') else {
        return Some(text.to_owned());
    };
    let (above, below): (i128, i128) = (above.parse().ok()?, below.parse().ok()?);
    for places in 0..18_u32 {
        let scaled = above.checked_mul(10_i128.checked_pow(places)?)?;
        if scaled % below == 0 {
            let whole = scaled / below;
            let sign = if whole < 0 { "-" } else { "" };
            let places = places as usize;
            let digits = format!("{:0>width$}", whole.abs(), width = places + 1);
            let (before, after) = digits.split_at(digits.len() - places);
            return Some(if after.is_empty() {
                format!("{sign}{before}")
            } else {
                format!("{sign}{before}.{after}")
            });
        }
    }
    None
}

fn at(end: &Json) -> f64 {
    end["at"].as_f64().unwrap()
}

/// Zones that are claimed for a value: by the stretch around it, or by those that say it is theirs at an end.
fn claimed(stretches: &[Json], digits: &str) -> Vec<String> {
    let value: f64 = digits.parse().unwrap();
    let close = |end: f64| (value - end).abs() <= 1e-9 * end.abs().max(1e-3);
    let mut zones = Vec::new();
    for one in stretches {
        let (low, high) = (at(&one["low"]), at(&one["high"]));
        let ends = |end: &Json| close(at(end)) && exact(end).as_deref() == Some(digits);
        let on = |end: &Json| ends(end) && end["within"] == true;
        let inside = low < value && value < high && !close(low) && !close(high);
        if inside || on(&one["low"]) || on(&one["high"]) {
            zones.push(one["zone"].as_str().unwrap().to_owned());
        } else if (close(low) && !ends(&one["low"])) || (close(high) && !ends(&one["high"])) {
            // Too close to an end that is not known exactly.
            zones.push("not decided".to_owned());
        }
    }
    zones
}

fn agrees(zone: &str, found: Zone) -> bool {
    match (zone, found) {
        ("not decided", _) => true,
        ("holds", found) => found == Zone::Holds,
        ("at risk", found) => matches!(found, Zone::AtRisk | Zone::Unreadable),
        ("breaks", found) => matches!(found, Zone::Breaks | Zone::Unreadable),
        ("does not hold", found) => found != Zone::Holds,
        (other, _) => panic!("a zone of its own: {other}"),
    }
}

impl Counts {
    fn wrong(&mut self, case: &Case, name: &str, what: &str, text: &str) {
        let words = format!(
            "{name}: {what}\nfreed: {:?}\n",
            case.free.iter().map(|free| &free.0).collect::<Vec<_>>()
        );
        if let Ok(folder) = std::env::var("STRIKEOFF_DUMP") {
            let folder =
                std::path::Path::new(&folder).join(format!("window/{name}-{}", self.wrong.len()));
            std::fs::create_dir_all(&folder).unwrap();
            for (file, text) in [
                ("room.std", case.standard.as_str()),
                ("a.plan", &case.plan.text()),
                ("point.plan", text),
                ("README", &words),
                (
                    "window.json",
                    &serde_json::to_string_pretty(&case.said).unwrap(),
                ),
            ] {
                std::fs::write(folder.join(file), text).unwrap();
            }
        }
        let standard = &case.standard;
        let plan = case.plan.text();
        self.wrong.push(format!(
            "{words}--- standard\n{standard}\n--- plan\n{plan}\n--- the point\n{text}"
        ));
    }

    /// Where something is said to fail whatever is set, no point passes.
    fn failing(&mut self, case: &mut Case, dice: &mut Dice, name: &str) {
        self.failing += 1;
        for _ in 0..20 {
            let mut digits = Vec::new();
            for (which, whole) in case.whole.iter().enumerate() {
                let end = |end: &str| case.said["settings"][which][end].as_f64().unwrap();
                let (low, high) = (end("low"), end("high"));
                let value = low + (high - low) * dice.unit();
                digits.push(decimal(if *whole { value.round() } else { value }, 9));
            }
            let text = case.written(&digits);
            let found = case.check(&text);
            self.points += 1;
            if found == Zone::Holds {
                let what = format!("it fails whatever is set, but {digits:?} holds");
                self.wrong(case, name, &what, &text);
            }
        }
    }

    /// Along one setting, the others as they are.
    fn along(&mut self, case: &mut Case, dice: &mut Dice, name: &str, which: usize, points: usize) {
        let setting = case.said["settings"][which].clone();
        let stretches = setting["stretches"].as_array().unwrap().clone();
        if stretches.is_empty() {
            return;
        }
        let (low, high) = (
            setting["low"].as_f64().unwrap(),
            setting["high"].as_f64().unwrap(),
        );
        let step = setting["step"].as_f64();
        let mut wanted: Vec<(String, bool)> = Vec::new();
        for one in &stretches {
            for end in [&one["low"], &one["high"]] {
                wanted.extend(exact(end).map(|digits| (digits, true)));
                let small = (high - low) * 1e-6;
                for by in [Some(small), step].into_iter().flatten() {
                    wanted.push((decimal(at(end) - by, 12), false));
                    wanted.push((decimal(at(end) + by, 12), false));
                }
            }
        }
        wanted.extend(
            split(case.plan.value(case.free[which].1)).and_then(|(value, _)| {
                let present = setting["present"].as_f64()?;
                let same = (present - value).abs() < 1e-9 * value.abs();
                same.then(|| (decimal(value, 9), false))
            }),
        );
        wanted.sort();
        wanted.dedup();
        while wanted.len() < points {
            let mut value = low + (high - low) * dice.unit();
            if case.whole[which] {
                value = value.round();
            }
            wanted.push((decimal(value, 9), false));
        }
        for (digits, end) in wanted {
            let value: f64 = digits.parse().unwrap();
            if value < low || value > high || (case.whole[which] && value.fract() != 0.0) {
                continue;
            }
            let mut zones = claimed(&stretches, &digits);
            if zones.len() > 1 && zones.iter().all(|zone| zone != "not decided") {
                let what = format!("{digits} is claimed twice: {zones:?}");
                self.wrong(case, name, &what, "");
            }
            let Some(zone) = zones.pop() else {
                // Nobody claims it.
                let what = format!("{digits} is in no stretch");
                self.wrong(case, name, &what, "");
                continue;
            };
            let mut all: Vec<String> = Vec::new();
            for at in 0..case.free.len() {
                if at == which {
                    all.push(format!("{digits}{}", case.unit(at)));
                } else {
                    let (_, place, rest) = &case.free[at];
                    let value = case.plan.value(*place);
                    all.push(value.strip_suffix(rest.as_str()).unwrap().to_owned());
                }
            }
            let text = case.text(&all);
            let found = case.check(&text);
            self.points += 1;
            self.ends += usize::from(end);
            self.beside += usize::from(!end);
            self.unreadable += usize::from(found == Zone::Unreadable);
            self.not_decided += usize::from(zone == "not decided");
            *self.zones.entry(zone.clone()).or_default() += 1;
            if !agrees(&zone, found) {
                let what = format!("{zone} is said of {digits}, and check says {found:?}");
                self.wrong(case, name, &what, &text);
            }
        }
    }

    fn boxes(&mut self, case: &mut Case, dice: &mut Dice, name: &str, points: usize) {
        let boxes = case.said["boxes"].as_array().unwrap().clone();
        let ends = |part: &Json| -> Vec<(f64, f64)> {
            let of = |name: &str| -> Vec<f64> {
                let all = part[name].as_array().unwrap();
                all.iter().map(|one| one.as_f64().unwrap()).collect()
            };
            of("low").into_iter().zip(of("high")).collect()
        };
        let all: Vec<(Vec<(f64, f64)>, String)> = boxes
            .iter()
            .map(|part| (ends(part), part["zone"].as_str().unwrap().to_owned()))
            .collect();
        for _ in 0..points {
            let Some((part, _)) = dice.one(&all).cloned() else {
                return;
            };
            let digits: Vec<String> = part
                .iter()
                .zip(&case.whole)
                .map(|((low, high), whole)| {
                    let value = match dice.below(8) {
                        // An end that has no short decimal is approached from inside.
                        0 => low + (high - low) * 1e-9,
                        1 => high - (high - low) * 1e-9,
                        2 => decimal(*low, 6).parse().unwrap(),
                        _ => low + (high - low) * dice.unit(),
                    };
                    decimal(if *whole { value.round() } else { value }, 12)
                })
                .collect();
            let values: Vec<f64> = digits.iter().map(|one| one.parse().unwrap()).collect();
            // On a border any of the boxes that share it may be meant.
            let zones: Vec<&String> = all
                .iter()
                .filter(|(part, _)| {
                    part.iter().zip(&values).all(|((low, high), value)| {
                        let near = 1e-9 * value.abs().max(1e-3);
                        low - near <= *value && *value <= high + near
                    })
                })
                .map(|(_, zone)| zone)
                .collect();
            let text = case.written(&digits);
            let found = case.check(&text);
            if zones.is_empty() {
                continue;
            }
            self.points += 1;
            self.in_boxes += 1;
            self.unreadable += usize::from(found == Zone::Unreadable);
            self.not_decided += usize::from(zones.iter().all(|zone| *zone == "not decided"));
            for zone in &zones {
                *self.zones.entry((*zone).clone()).or_default() += 1;
            }
            if !zones.iter().any(|zone| agrees(zone, found)) {
                let what = format!("{zones:?} is said of {digits:?}, and check says {found:?}");
                self.wrong(case, name, &what, &text);
            }
        }
    }

    /// *Nearest* and *most margin* as they are printed, and points of the room around them.
    fn proposed(&mut self, case: &mut Case, dice: &mut Dice, name: &str) {
        for which in ["nearest", "most_margin"] {
            let point = case.said[which].clone();
            if point.is_null() {
                continue;
            }
            let words: Vec<String> = point["text"]
                .as_array()
                .unwrap()
                .iter()
                .map(|words| words.as_str().unwrap().to_owned())
                .collect();
            let mut plan = case.plan.clone();
            for ((_, place, rest), words) in case.free.iter().zip(&words) {
                // The number and the unit that are printed, with the tolerance of the plan.
                let mut parts = words.split(' ');
                let number = parts.next().unwrap();
                let unit = parts
                    .next()
                    .filter(|unit| !unit.starts_with(['±', '+', '-']));
                let unit = unit.map(|unit| format!(" {unit}")).unwrap_or_default();
                plan = plan.with(*place, &format!("{number}{unit}{rest}"));
            }
            let text = plan.text();
            let found = case.check(&text);
            if which == "nearest" {
                self.nearest += 1;
            } else {
                self.best += 1;
            }
            if found != Zone::Holds {
                let what = format!("{which} {words:?} comes to {found:?}");
                self.wrong(case, name, &what, &text);
            }
            // Each corner of the room around it, as it is printed.
            let around = case.around.iter().find(|(of, _)| *of == which);
            let around = around.map(|(_, around)| around.clone()).unwrap_or_default();
            for corner in 0..1 << around.len() {
                let mut plan = case.plan.clone();
                for (at, ((low, high), (_, place, rest))) in
                    around.iter().zip(&case.free).enumerate()
                {
                    let words = if corner >> at & 1 == 0 { low } else { high };
                    plan = plan.with(*place, &format!("{words}{rest}"));
                }
                let text = plan.text();
                let found = case.check(&text);
                self.around += 1;
                if found != Zone::Holds {
                    let what = format!("corner {corner} of {around:?} comes to {found:?}");
                    self.wrong(case, name, &what, &text);
                }
            }
            let of = |name: &str| -> Vec<f64> {
                let all = point[name].as_array().unwrap();
                all.iter().map(|one| one.as_f64().unwrap()).collect()
            };
            let (low, high) = (of("around_low"), of("around_high"));
            for _ in 0..6 {
                let digits: Vec<String> = low
                    .iter()
                    .zip(&high)
                    .enumerate()
                    .map(|(at, (low, high))| {
                        let share = dice.of(&[0.001, 0.999, 0.5, 0.25]);
                        let value = low + (high - low) * share;
                        let whole = case.whole[at];
                        decimal(if whole { value.round() } else { value }, 9)
                    })
                    .collect();
                let text = case.written(&digits);
                let found = case.check(&text);
                self.around += 1;
                if found != Zone::Holds {
                    let what = format!("around {which}: {digits:?} comes to {found:?}");
                    self.wrong(case, name, &what, &text);
                }
            }
        }
    }
}

fn held(seed: u64, wanted: usize, points: usize) -> Counts {
    let mut counts = Counts::default();
    let mut at = 0;
    while counts.standards < wanted {
        at += 1;
        let mut dice = Dice::new(seed.wrapping_mul(7_000_003).wrapping_add(at));
        let Some(mut case) = Case::of(&mut dice) else {
            continue;
        };
        let name = format!("{seed}-{at}");
        if case.fails_anyhow() {
            counts.failing(&mut case, &mut dice, &name);
            continue;
        }
        counts.standards += 1;
        let two = case.free.len() == 2;
        counts.two += usize::from(two);
        let text = case.plan.text();
        if case.said["nowhere"] == true && case.check(&text) == Zone::Holds {
            counts.wrong(
                &case,
                &name,
                "it holds nowhere, but it holds as set now",
                &text,
            );
        }
        let each = if two { points / 4 } else { points * 3 / 4 };
        for which in 0..case.free.len() {
            counts.along(&mut case, &mut dice, &name, which, each);
        }
        let left = if two { points / 2 } else { points / 4 };
        counts.boxes(&mut case, &mut dice, &name, left);
        counts.proposed(&mut case, &mut dice, &name);
    }
    counts
}

#[test]
fn what_a_window_says_of_a_point_is_what_a_check_of_it_says() {
    let long = number("STRIKEOFF_LONG").map(|long| usize::try_from(long).unwrap());
    let (wanted, points) = long.map_or((15, 60), |long| (long, 500));
    let seed = number("STRIKEOFF_SEED").unwrap_or(12);
    let counts = held(seed, wanted, points);
    let wrong = &counts.wrong;
    if long.is_some() {
        for said in wrong {
            println!("{}", said.lines().next().unwrap());
        }
    }
    println!(
        "seed {seed}: {} standards and {} that fail whatever is set, {} of them with two settings free; {} points ({} ends, {} beside ends and between, {} in boxes), {} of them unreadable, {} not decided; nearest {}, most margin {}, around them {}; {:?}; {} wrong",
        counts.standards,
        counts.failing,
        counts.two,
        counts.points,
        counts.ends,
        counts.beside,
        counts.in_boxes,
        counts.unreadable,
        counts.not_decided,
        counts.nearest,
        counts.best,
        counts.around,
        counts.zones,
        wrong.len()
    );
    assert!(
        wrong.is_empty(),
        "{} wrong, the first:\n{}",
        wrong.len(),
        wrong[0]
    );
}
