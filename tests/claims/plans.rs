//! Plans as people write them: whole and in part, in any unit, by place and by name, with tolerances of every form.

use std::fmt::Write as _;

use super::dice::Dice;
use super::invent::{COLOURS, RUNS, mixture};
use super::model::{Kind, Place, Room, Setting, What};
use super::scale::{Id, Num, Own, SCALES, SHARE, TEMPERATURE, decimal};

/// Days on which values were read off, about the days that are asked for.
const DAYS_READ: [&str; 6] = [
    "2026-11-25",
    "2026-11-20",
    "2026-10-27",
    "2026-10-26",
    "2026-10-01",
    "2026-05-01",
];

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Plan {
    run: String,
    blocks: Vec<Block>,
    steps: Vec<Step>,
    sequence: bool,
    /// What was read off with dials somewhere else: of which setting, and what the block says.
    readings: Vec<(String, Vec<String>)>,
}

#[derive(Debug, Clone, PartialEq)]
struct Block {
    kind: String,
    name: Option<String>,
    record: Option<String>,
    clauses: Vec<(String, String)>,
}

#[derive(Debug, Clone, PartialEq)]
struct Step {
    kind: String,
    /// Setting, value, and whether the setting is named.
    parts: Vec<(String, String, bool)>,
}

impl Plan {
    /// Measures that it states: how a report names them, where they stand, and the value.
    pub(super) fn measures(&self, room: &Room) -> Vec<(String, (usize, usize), String)> {
        let mut all = Vec::new();
        for (at, block) in self.blocks.iter().enumerate() {
            let Some(kind) = room.kind(&block.kind) else {
                continue;
            };
            for (place, (name, value)) in block.clauses.iter().enumerate() {
                let setting = kind.setting(name);
                let measure = setting.is_some_and(|setting| {
                    matches!(setting.what, What::Measure(_)) && setting.formula.is_none()
                });
                if !measure {
                    continue;
                }
                let named = match &block.name {
                    Some(thing) => format!("{} {thing}: {name}", block.kind),
                    None => format!("{}.{name}", block.kind),
                };
                all.push((named, (at, place), value.clone()));
            }
        }
        all
    }

    /// Whether the standard says what is possible there.
    pub(super) fn ranged(&self, room: &Room, (block, clause): (usize, usize)) -> bool {
        let block = &self.blocks[block];
        let kind = room.kind(&block.kind);
        let setting = kind.and_then(|kind| kind.setting(&block.clauses[clause].0));
        setting.is_some_and(|setting| setting.range.is_some())
    }

    /// Whether it is counted, in whole ones.
    pub(super) fn whole(&self, room: &Room, (block, clause): (usize, usize)) -> bool {
        let block = &self.blocks[block];
        let kind = room.kind(&block.kind);
        let setting = kind.and_then(|kind| kind.setting(&block.clauses[clause].0));
        setting.is_some_and(|setting| match setting.what {
            What::Measure(scale) => SCALES[scale].whole,
            _ => false,
        })
    }

    pub(super) fn value(&self, (block, clause): (usize, usize)) -> &str {
        &self.blocks[block].clauses[clause].1
    }

    /// The same with another value there.
    pub(super) fn with(&self, (block, clause): (usize, usize), value: &str) -> Self {
        let mut plan = self.clone();
        value.clone_into(&mut plan.blocks[block].clauses[clause].1);
        plan
    }

    /// How many parts it has that may be left out.
    pub(super) fn parts(&self) -> usize {
        let clauses = self.blocks.iter().map(|block| 1 + block.clauses.len());
        let steps = self.steps.iter().map(|step| 1 + step.parts.len());
        clauses.chain(steps).sum()
    }

    /// Leaves one of them out.
    pub(super) fn without(&mut self, mut at: usize) {
        for block in 0..self.blocks.len() {
            let clauses = self.blocks[block].clauses.len();
            if at == clauses {
                self.blocks.remove(block);
                return;
            }
            if at < clauses {
                self.blocks[block].clauses.remove(at);
                return;
            }
            at -= clauses + 1;
        }
        for step in 0..self.steps.len() {
            let parts = self.steps[step].parts.len();
            if at == parts || (at < parts && parts == 1) {
                self.steps.remove(step);
                self.sequence = !self.steps.is_empty();
                return;
            }
            if at < parts {
                self.steps[step].parts.remove(at);
                return;
            }
            at -= parts + 1;
        }
    }

    pub(super) fn text(&self) -> String {
        let mut text = format!("run \"{}\" against \"room.std\"\n", self.run);
        for block in &self.blocks {
            let _ = write!(text, "\n{}", block.kind);
            for (word, name) in [("", &block.name), (" is", &block.record)] {
                if let Some(name) = name {
                    let _ = write!(text, "{word} {name}");
                }
            }
            if block.clauses.is_empty() {
                text.push('\n');
                continue;
            }
            text.push_str(" {\n");
            for (setting, value) in &block.clauses {
                let _ = writeln!(text, "  {setting} {value}");
            }
            text.push_str("}\n");
        }
        if self.sequence {
            text.push_str("\nsequence {\n");
            for step in &self.steps {
                let parts: Vec<String> = step
                    .parts
                    .iter()
                    .map(|(setting, value, named)| {
                        if *named {
                            format!("{setting} {value}")
                        } else {
                            value.clone()
                        }
                    })
                    .collect();
                let _ = writeln!(text, "  {} {}", step.kind, parts.join(", "));
            }
            text.push_str("}\n");
        }
        for (path, clauses) in &self.readings {
            let _ = write!(
                text,
                "\nreading {path} {{\n  {}\n}}\n",
                clauses.join("\n  ")
            );
        }
        text
    }

    /// Says of some measured values when and with what they were read off, and where the dials stood.
    pub(super) fn read_off(&mut self, dice: &mut Dice, room: &Room, worth: &Worth) {
        let instruments: Vec<&String> = room.instruments.iter().map(|(name, _)| name).collect();
        for block in &mut self.blocks {
            let Some(kind) = room.kind(&block.kind) else {
                continue;
            };
            for (name, value) in &mut block.clauses {
                let measured = kind.setting(name).is_some_and(|of| of.measured);
                if !measured || value.contains(" read on ") || dice.often(30) {
                    continue;
                }
                let _ = write!(value, " read on {}", dice.of(&DAYS_READ));
                if let (true, Some(name)) = (dice.often(60), dice.one(&instruments)) {
                    let _ = write!(value, " with {name}");
                }
            }
        }
        if dice.often(50) {
            self.readings.clear();
        }
        let Some(oven) = room.kind("oven").filter(|_| dice.often(40)) else {
            return;
        };
        let measured: Vec<&Setting> = oven.settings.iter().filter(|of| of.measured).collect();
        let Some(of) = dice.one(&measured) else {
            return;
        };
        let mut clauses = vec![format!("value {}", worth.value(dice, room, of, &[]))];
        for dial in ["belt", "air", "second", "chamber"] {
            let dial = oven.setting(dial).filter(|of| !of.measured);
            if let (Some(dial), true) = (dial, dice.often(35)) {
                let value = worth.value(dice, room, dial, &[]);
                clauses.push(format!("at oven.{} {value}", dial.name));
            }
        }
        if dice.often(80) {
            clauses.push(format!("on {}", dice.of(&DAYS_READ)));
        }
        if let (true, Some(name)) = (dice.often(50), dice.one(&instruments)) {
            clauses.push(format!("with {name}"));
        }
        self.readings = vec![(format!("oven.{}", of.name), clauses)];
    }
}

/// What is worth writing: values that either standard speaks of, by measure.
#[derive(Debug, Default)]
pub(super) struct Worth {
    values: Vec<Vec<f64>>,
    own: Vec<Own>,
    words: Vec<String>,
}

impl Worth {
    pub(super) fn of(rooms: [&Room; 2]) -> Self {
        let mut worth = Self {
            values: vec![Vec::new(); SCALES.len()],
            ..Self::default()
        };
        for room in rooms {
            let own = room.units.clone();
            let mut copy = room.clone();
            copy.numbers(&mut |number| {
                let value = number.value(&own);
                let known = &mut worth.values[number.scale];
                if !known.contains(&value) {
                    known.push(value);
                }
            });
            worth.own.extend(own);
            let settings = room.kinds.iter().flat_map(|kind| &kind.settings);
            for setting in settings {
                if let What::Choice(options) = &setting.what {
                    worth.words.extend(options.iter().cloned());
                }
            }
        }
        worth
    }

    fn number(&self, dice: &mut Dice, scale: Id) -> Num {
        let known = &self.values[scale];
        let mut value = match dice.one(known) {
            Some(known) if dice.often(60) => *known,
            _ => dice.of(SCALES[scale].grid),
        };
        if dice.often(15) {
            let by = if SCALES[scale].whole {
                1.0
            } else {
                value * 0.01
            };
            value += if dice.often(50) { by } else { -by };
        }
        if scale == SHARE {
            value = value.clamp(0.0, 100.0);
        }
        if SCALES[scale].whole {
            value = value.round();
        }
        Num::any(dice, value, scale, &self.own)
    }

    /// Inside what is possible, mostly.
    fn possible(&self, dice: &mut Dice, room: &Room, setting: &Setting, scale: Id) -> String {
        let range = setting.range.as_ref();
        let (least, most) = range.map_or(SCALES[scale].possible, |(low, high)| {
            (low.value(&room.units), high.value(&room.units))
        });
        let inside = |number: &Num| (least..=most).contains(&number.value(&room.units));
        let mut number = self.number(dice, scale);
        for _ in 0..6 {
            if inside(&number) || dice.often(2) {
                break;
            }
            number = self.number(dice, scale);
        }
        let text = self.measure(dice, scale, &number);
        // A tolerance that reaches out of it is refused.
        let wide = number.value(&room.units);
        let close = wide * 0.55 < least || wide * 1.45 > most;
        if close && !dice.often(5) {
            number.text()
        } else {
            text
        }
    }

    fn measure(&self, dice: &mut Dice, scale: Id, number: &Num) -> String {
        let text = number.text();
        if dice.often(76) {
            return text;
        }
        let digits: f64 = number.digits.parse().unwrap();
        let unit = match number.unit.as_str() {
            "°C" => "K",
            "°F" => "Δ°F",
            "%" => "points",
            other => other,
        };
        let size = |share: f64| {
            let places = if SCALES[scale].whole { 0 } else { 3 };
            let size = decimal(
                (digits.abs() * share).max(1.0 - f64::from(places.min(1) as u8)),
                places,
            );
            format!("{size} {unit}").trim_end().to_owned()
        };
        let share = dice.of(&[0.05, 0.1, 0.2, 0.4]);
        match dice.below(5) {
            0 if !SCALES[scale].whole && scale != TEMPERATURE && scale != SHARE => {
                format!("{text} ± {} %", decimal(share * 100.0, 0))
            }
            0 | 1 => format!("{text} ± {}", size(share)),
            2 => format!("{text} +{}", size(share)),
            3 => format!("{text} -{} +{}", size(share), size(share / 2.0)),
            _ => {
                let mut high = number.clone();
                let places = if SCALES[scale].whole { 0 } else { 3 };
                high.digits = decimal(digits * (1.0 + share), places);
                format!("{text} to {}", high.text())
            }
        }
    }

    fn value(&self, dice: &mut Dice, room: &Room, setting: &Setting, pans: &[String]) -> String {
        match &setting.what {
            What::Measure(scale) => self.possible(dice, room, setting, *scale),
            What::Range(scale) => {
                let (one, two) = (self.number(dice, *scale), self.number(dice, *scale));
                let (a, b) = (one.value(&self.own), two.value(&self.own));
                match dice.below(4) {
                    0 => format!("at least {}", one.text()),
                    1 => format!("at most {}", one.text()),
                    _ => {
                        let (low, high) = (a.min(b), a.max(b));
                        let (low, high) = (Num::plain(low, *scale), Num::plain(high, *scale));
                        format!("{} to {}", low.text(), high.text())
                    }
                }
            }
            What::Choice(options) => {
                let any = if dice.often(10) { &self.words } else { options };
                dice.one(any).cloned().unwrap_or_default()
            }
            What::YesNo => dice.of(&["yes", "no"]).to_owned(),
            What::Text => dice.of(&COLOURS).to_owned(),
            What::Of(kind) => {
                let mut known = room.records_of(kind);
                if kind == "pan" {
                    known.extend(pans.iter().cloned());
                    known.extend(pans.iter().cloned());
                }
                dice.one(&known)
                    .cloned()
                    .unwrap_or_else(|| "none".to_owned())
            }
        }
    }
}

/// Settings of a thing that a plan states; `gaps` in a hundred are left out.
fn clauses(
    dice: &mut Dice,
    room: &Room,
    worth: &Worth,
    kind: &Kind,
    named: bool,
    gaps: usize,
) -> Vec<(String, String)> {
    let mut all = Vec::new();
    let mut mixed = Vec::new();
    if let (true, Some((parts, _))) = (kind.name == "cloth", &kind.parts) {
        mixed.clone_from(parts);
        if !named || dice.often(20) {
            for (part, share) in mixture(dice) {
                if kind.setting(part).is_some() && !dice.often(gaps) {
                    let off = if dice.often(5) { 5 } else { 0 };
                    let tolerance = if (20..=80).contains(&share) && dice.often(20) {
                        " ± 10 %"
                    } else {
                        ""
                    };
                    all.push((part.to_owned(), format!("{} %{tolerance}", share - off)));
                }
            }
        }
    }
    for setting in &kind.settings {
        if mixed.contains(&setting.name) {
            continue;
        }
        let out = match (&setting.formula, named) {
            (Some(_), _) => 90,
            (None, true) => 55,
            (None, false) => gaps,
        };
        if dice.often(out) {
            continue;
        }
        all.push((setting.name.clone(), worth.value(dice, room, setting, &[])));
    }
    if dice.often(15) && all.len() > 1 {
        let (one, two) = (dice.below(all.len()), dice.below(all.len()));
        all.swap(one, two);
    }
    all
}

fn step(
    dice: &mut Dice,
    room: &Room,
    worth: &Worth,
    kind: &Kind,
    pans: &[String],
    gaps: usize,
) -> Step {
    let by_name = dice.often(35);
    let mut parts = Vec::new();
    for setting in &kind.settings {
        if setting.formula.is_some() || dice.often(gaps) {
            continue;
        }
        let value = worth.value(dice, room, setting, pans);
        parts.push((setting.name.clone(), value, by_name));
    }
    if by_name && dice.often(20) {
        parts.reverse();
    }
    Step {
        kind: kind.name.clone(),
        parts,
    }
}

/// A plan for a standard.
pub(super) fn plan(dice: &mut Dice, room: &Room, worth: &Worth) -> Plan {
    let gaps = match dice.below(20) {
        0..=11 => 0,
        12..=16 => 12,
        _ => 35,
    };
    let mut plan = Plan {
        run: dice.of(&RUNS).to_owned(),
        blocks: Vec::new(),
        steps: Vec::new(),
        sequence: false,
        readings: Vec::new(),
    };
    let mut pans = Vec::new();
    for kind in &room.kinds {
        let count = match kind.place {
            Place::One => usize::from(!dice.often(gaps / 3)),
            Place::Many => dice.of(&[1, 1, 1, 2, 2, 3, 0]),
            Place::Records | Place::Step => 0,
        };
        for number in 0..count {
            let known = room.records_of(&kind.name);
            let record = if dice.often(55) {
                dice.one(&known).cloned()
            } else {
                None
            };
            let name = (kind.place == Place::Many).then(|| format!("{}-{}", kind.name, number + 1));
            if kind.name == "pan" {
                pans.extend(name.clone());
            }
            let clauses = clauses(dice, room, worth, kind, record.is_some(), gaps);
            plan.blocks.push(Block {
                kind: kind.name.clone(),
                name,
                record,
                clauses,
            });
        }
    }
    let steps: Vec<&Kind> = room
        .kinds
        .iter()
        .filter(|kind| kind.place == Place::Step)
        .collect();
    if !steps.is_empty() && !dice.often(8) {
        plan.sequence = true;
        for _ in 0..dice.of(&[1, 1, 2, 2, 3, 4]) {
            let kind = dice.of(&steps);
            let step = step(dice, room, worth, kind, &pans, gaps / 2);
            plan.steps.push(step);
        }
        plan.steps.retain(|step| !step.parts.is_empty());
        plan.sequence = !plan.steps.is_empty();
    }
    plan
}

/// The plan with one thing written in another way.
pub(super) fn mutated(dice: &mut Dice, plan: &Plan, room: &Room, worth: &Worth) -> Plan {
    let mut plan = plan.clone();
    for _ in 0..1 + usize::from(dice.often(25)) {
        change(dice, &mut plan, room, worth);
    }
    plan
}

fn change(dice: &mut Dice, plan: &mut Plan, room: &Room, worth: &Worth) {
    if !plan.steps.is_empty() && dice.often(40) {
        change_step(dice, plan, room, worth);
        return;
    }
    if dice.often(5) {
        plan.run = dice.of(&RUNS).to_owned();
        return;
    }
    let at = dice.below(plan.blocks.len());
    let Some(block) = plan.blocks.get(at).cloned() else {
        return;
    };
    let Some(kind) = room.kind(&block.kind) else {
        return;
    };
    match dice.below(12) {
        0 => drop(plan.blocks.remove(at)),
        1 => {
            let known = room.records_of(&block.kind);
            plan.blocks[at].record = if dice.often(40) {
                None
            } else {
                dice.one(&known).cloned()
            };
        }
        2 | 3 if !block.clauses.is_empty() => {
            let out = dice.below(block.clauses.len());
            plan.blocks[at].clauses.remove(out);
        }
        4 | 5 => {
            // Stated besides; also what is worked out.
            let Some(setting) = dice.one(&kind.settings) else {
                return;
            };
            let there = block.clauses.iter().any(|(name, _)| *name == setting.name);
            if !there {
                let value = worth.value(dice, room, setting, &[]);
                plan.blocks[at].clauses.push((setting.name.clone(), value));
            }
        }
        _ => {
            let place = dice.below(block.clauses.len());
            let Some((name, _)) = block.clauses.get(place) else {
                return;
            };
            if let Some(setting) = kind.setting(name) {
                plan.blocks[at].clauses[place].1 = worth.value(dice, room, setting, &[]);
            }
        }
    }
}

fn change_step(dice: &mut Dice, plan: &mut Plan, room: &Room, worth: &Worth) {
    let pans: Vec<String> = plan
        .blocks
        .iter()
        .filter(|block| block.kind == "pan")
        .filter_map(|block| block.name.clone())
        .collect();
    let at = dice.below(plan.steps.len());
    let mut step = plan.steps[at].clone();
    match dice.below(8) {
        0 => {
            plan.steps.remove(at);
            plan.sequence = !plan.steps.is_empty();
            return;
        }
        1 => {
            plan.steps.insert(at, step);
            return;
        }
        2 => {
            plan.steps.swap(0, at);
            return;
        }
        3 if step.parts.len() > 1 => drop(step.parts.remove(dice.below(step.parts.len()))),
        4 => step.parts.iter_mut().for_each(|part| part.2 = !part.2),
        _ => {
            let place = dice.below(step.parts.len());
            let setting = room
                .kind(&step.kind)
                .and_then(|kind| kind.setting(&step.parts[place].0));
            if let Some(setting) = setting {
                step.parts[place].1 = worth.value(dice, room, setting, &pans);
            }
        }
    }
    plan.steps[at] = step;
}
