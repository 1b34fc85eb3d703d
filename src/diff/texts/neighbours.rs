//! Texts that lie one step from another.

use super::focus::Focus;
use super::plan_text::{Block, Clause, PlanText};
use super::search::{TextSearch, Trial};
use super::vocabulary::{KindWords, SettingWords, Word};
use crate::constraint::{read_run, written_value};
use crate::diff::conditions::dependencies::Name;
use crate::diff::witness::round_value::near;
use crate::eval::{Aim, Binding, EvalContext, MissingValue, range};
use crate::types::{PlaceInRun, Run, Target};
use crate::units::Exact;

/// Names of things of which a run has many.
pub(super) const NAMES: [&str; 6] = ["one", "two", "three", "four", "five", "six"];

/// The most steps whose settings go by their places that are begun with, for each number of them.
const MOST_PLACED: usize = 24;

/// From how many rules on a check is dear.
const MANY_RULES: usize = 60;

/// The most steps that a sequence is given.
const MOST_STEPS: usize = 6;

/// To how many signs a value is written with which nothing else agrees.
const FINE_DIGITS: usize = 13;

/// A fixed row of numbers that look drawn by chance.
pub(super) struct Draw(u64);

impl Draw {
    pub(super) fn new() -> Self {
        Self(0x2545_f491_4f6c_dd1d)
    }

    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    pub(super) fn below(&mut self, count: usize) -> usize {
        let count = u64::try_from(count.max(1)).unwrap_or(1);
        usize::try_from((self.next() >> 11) % count).unwrap_or(0)
    }

    pub(super) fn often(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }

    pub(super) fn one<'t, T>(&mut self, of: &'t [T]) -> Option<&'t T> {
        of.get(self.below(of.len()))
    }
}

/// The blocks, or the steps, that are of a kind.
pub(super) fn list(plan: &mut PlanText, place: PlaceInRun) -> &mut Vec<Block> {
    match place {
        PlaceInRun::Step => &mut plan.steps,
        _ => &mut plan.blocks,
    }
}

pub(super) fn find<'p>(plan: &'p mut PlanText, kind: &str) -> Option<&'p mut Block> {
    let all = plan.blocks.iter_mut().chain(&mut plan.steps);
    let mut of = all.filter(|block| block.kind == kind);
    of.next()
}

/// States a setting of the first thing of a kind that is there; whether there is one.
pub(super) fn put(plan: &mut PlanText, kind: &KindWords, setting: &str, value: &str) -> bool {
    match find(plan, &kind.name) {
        Some(block) => {
            block.state(setting, value);
            make_whole(block, kind, setting, 0);
            true
        }
        None => false,
    }
}

/// The same; a thing is put in where there is none. Whether a plan may have one.
pub(super) fn set(plan: &mut PlanText, kind: &KindWords, setting: &str, value: &str) -> bool {
    if kind.place == PlaceInRun::Record {
        return false;
    }
    if find(plan, &kind.name).is_none() {
        let name = match kind.place {
            PlaceInRun::Many => NAMES[0],
            _ => "",
        };
        list(plan, kind.place).push(Block::new(&kind.name, name));
    }
    put(plan, kind, setting, value)
}

/// Lets the shares of a whole add up again, one of which was stated: another is the rest, and the others go.
pub(super) fn make_whole(block: &mut Block, kind: &KindWords, setting: &str, keep: usize) {
    if block.record.is_some() && keep.is_multiple_of(2) {
        // Beside the others of its record.
        return;
    }
    for (shares, total) in &kind.wholes {
        if !shares.iter().any(|share| share == setting) {
            continue;
        }
        let percent = |text: &str| {
            let number = text.split_whitespace().next()?;
            Exact::parse_decimal(number).ok()
        };
        let Some(value) = block.get(setting).and_then(percent) else {
            continue;
        };
        let rest = total.mul(&Exact::from_int(100)).sub(&value);
        let others: Vec<&String> = shares.iter().filter(|share| *share != setting).collect();
        block
            .clauses
            .retain(|clause| clause.name == setting || !shares.contains(&clause.name));
        let other = others.get(keep % others.len().max(1));
        if let Some(number) = rest.decimal().filter(|_| !rest.is_zero())
            && let Some(other) = other
        {
            block.state(other, &format!("{number} %"));
        }
        if block.record.is_some() && keep == 3 {
            // What its record gives for the others goes only where something else is stated.
            for none in others.iter().filter(|of| Some(*of) != other) {
                block.state(none, "0 %");
            }
        }
    }
}

/// The plan without what is stated for a setting, thing by thing.
pub(super) fn without(plan: &PlanText, kind: &str, setting: &str) -> Vec<PlanText> {
    let mut found = Vec::new();
    for step in [false, true] {
        let blocks = if step { &plan.steps } else { &plan.blocks };
        for (at, block) in blocks.iter().enumerate() {
            if block.kind == kind && block.get(setting).is_some() {
                let mut smaller = plan.clone();
                let list = if step {
                    &mut smaller.steps
                } else {
                    &mut smaller.blocks
                };
                list[at].clauses.retain(|clause| clause.name != setting);
                found.push(smaller);
            }
        }
    }
    found
}

/// The plan without one block, step, record or clause.
pub(super) fn fewer(plan: &PlanText) -> Vec<PlanText> {
    let mut found = Vec::new();
    let mut add = |change: &dyn Fn(&mut PlanText)| {
        let mut smaller = plan.clone();
        change(&mut smaller);
        found.push(smaller);
    };
    for at in (0..plan.steps.len()).rev() {
        add(&|plan| drop(plan.steps.remove(at)));
    }
    for at in (0..plan.blocks.len()).rev() {
        add(&|plan| drop(plan.blocks.remove(at)));
    }
    for (at, block) in plan.blocks.iter().enumerate() {
        if block.record.is_some() {
            add(&|plan| plan.blocks[at].record = None);
        }
        for clause in (0..block.clauses.len()).rev() {
            add(&|plan| drop(plan.blocks[at].clauses.remove(clause)));
        }
    }
    for (at, step) in plan.steps.iter().enumerate() {
        for clause in (0..step.clauses.len()).rev() {
            add(&|plan| drop(plan.steps[at].clauses.remove(clause)));
        }
    }
    found
}

/// A plan with one step whose settings go by their places: the first values of each, between and the last.
fn placed(plan: &PlanText, kind: &KindWords) -> Vec<PlanText> {
    let settings: Vec<&SettingWords> = kind.settings.iter().filter(|of| !of.worked_out).collect();
    let mut ways: Vec<Vec<Clause>> = vec![Vec::new()];
    let mut found = Vec::new();
    for setting in settings.iter().take(3) {
        let last = setting.values.len().saturating_sub(1);
        let mut some: Vec<&Word> = [0, 1, last / 2, last.saturating_sub(1)]
            .iter()
            .filter_map(|at| setting.values.get(*at))
            .collect();
        some.dedup();
        ways = ways
            .iter()
            .flat_map(|way| {
                some.iter().map(|value| {
                    let mut way = way.clone();
                    way.push(Clause {
                        name: setting.name.clone(),
                        value: value.text(),
                        placed: true,
                    });
                    way
                })
            })
            .take(MOST_PLACED)
            .collect();
        for way in &ways {
            let mut plan = plan.clone();
            if let Some(step) = plan.steps.iter_mut().find(|step| step.kind == kind.name) {
                step.clauses.clone_from(way);
            }
            found.push(plan);
        }
    }
    found
}

impl TextSearch<'_> {
    /// A plan with one of each kind in focus.
    pub(super) fn all_of(&self, focus: &Focus) -> PlanText {
        let mut plain = PlanText::default();
        for kind in self.words.iter().flat_map(|words| &words.kinds) {
            if !focus.kinds.contains(&kind.name) || find(&mut plain, &kind.name).is_some() {
                continue;
            }
            let name = match kind.place {
                PlaceInRun::Record => continue,
                PlaceInRun::Many => NAMES[0],
                _ => "",
            };
            list(&mut plain, kind.place).push(Block::new(&kind.name, name));
        }
        plain
    }

    /// Plans to begin with: nothing, what is in focus, and that with each record, those in focus first.
    pub(super) fn seeds(&self, focus: &Focus) -> Vec<PlanText> {
        let plain = self.all_of(focus);
        let mut found = vec![PlanText::default(), plain.clone()];
        // Where a check is dear, fewer.
        let rules = self.words[1].reads.len();
        let few = if rules > MANY_RULES { 2 } else { 12 };
        for kind in self.words.iter().flat_map(|words| &words.kinds) {
            if !focus.kinds.contains(&kind.name) || kind.place == PlaceInRun::Record {
                continue;
            }
            let own = kind.records.iter().filter(|of| focus.records.contains(*of));
            let others = kind
                .records
                .iter()
                .filter(|of| !focus.records.contains(*of));
            for record in own.chain(others).take(few) {
                let mut plan = plain.clone();
                if let Some(block) = find(&mut plan, &kind.name) {
                    block.record = Some(record.clone());
                }
                if !found.contains(&plan) {
                    found.push(plan);
                }
            }
            if kind.place == PlaceInRun::Step {
                found.extend(placed(&plain, kind));
            }
        }
        found
    }

    /// States one missing value.
    pub(super) fn state(
        &self,
        plan: &mut PlanText,
        (side, run): (usize, &Run),
        gap: &MissingValue,
        draw: &mut Draw,
    ) {
        let Some(Target::Thing(id)) = gap.at else {
            // Of a kind that is gone over there is none: the words say of which.
            if let Some(kind) = self.words[side].kind(&gap.path).cloned() {
                self.add(plan, &kind, draw);
            }
            return;
        };
        let standard = &self.prepared[side].standard;
        let instance = run.instance(id);
        let kind = standard.kind(instance.kind);
        let step = run.steps.iter().position(|step| *step == id);
        let block = match step {
            Some(step) => plan.steps.get_mut(step),
            None => {
                let is = |block: &Block| block.kind == kind.name && block.name == instance.name;
                if !plan.blocks.iter().any(is) {
                    plan.blocks.push(Block::new(&kind.name, &instance.name));
                }
                plan.blocks.iter_mut().find(|block| is(block))
            }
        };
        let (Some(block), Some(field)) = (block, gap.field) else {
            return;
        };
        let name = &kind.fields[field.0 as usize].name;
        if block.get(name).is_some() {
            return;
        }
        let own = (kind.name.clone(), name.clone());
        let Some((words, setting)) = self.words[side].setting(&own) else {
            return;
        };
        let (words, setting) = (words.clone(), setting.clone());
        let at = step;
        let things = things_of(plan, &setting);
        if let Some(value) = value(&setting, &things, draw) {
            let block = match at {
                Some(step) => plan.steps.get_mut(step),
                None => plan
                    .blocks
                    .iter_mut()
                    .find(|block| block.kind == own.0 && block.name == instance.name),
            };
            if let Some(block) = block {
                block.state(&own.1, &value);
                make_whole(block, &words, &own.1, draw.below(6));
            }
        }
        // What it names has to be there.
        if let Some(things) = setting.things
            && find(plan, &things).is_none()
        {
            plan.blocks.push(Block::new(&things, NAMES[0]));
            let block = match at {
                Some(step) => plan.steps.get_mut(step),
                None => find(plan, &own.0),
            };
            if let Some(block) = block {
                block.state(&own.1, NAMES[0]);
            }
        }
    }

    /// Puts a further thing or step in.
    fn add(&self, plan: &mut PlanText, kind: &KindWords, draw: &mut Draw) {
        match kind.place {
            PlaceInRun::Record => {}
            PlaceInRun::One => {
                if find(plan, &kind.name).is_none() {
                    plan.blocks.push(Block::new(&kind.name, ""));
                }
            }
            PlaceInRun::Many => {
                let free = NAMES.iter().find(|name| {
                    !plan
                        .blocks
                        .iter()
                        .any(|block| block.kind == kind.name && block.name == **name)
                });
                if let Some(name) = free {
                    plan.blocks.push(Block::new(&kind.name, name));
                }
            }
            PlaceInRun::Step => {
                if plan.steps.len() < MOST_STEPS {
                    let at = draw.below(plan.steps.len() + 1);
                    plan.steps.insert(at, Block::new(&kind.name, ""));
                }
            }
        }
    }

    /// Changes something on which a requirement rests that one side does not find kept.
    pub(super) fn mend(&self, plan: &mut PlanText, trial: &Trial, side: usize, draw: &mut Draw) {
        let (Some(run), Some(tally)) = (&trial.runs[side], &trial.tallies[side]) else {
            self.any(plan, side, draw);
            return;
        };
        let failing: Vec<_> = tally.failing().collect();
        let Some(line) = draw.one(&failing) else {
            self.any(plan, side, draw);
            return;
        };
        if let Some(gap) = &line.gap
            && draw.often(70)
        {
            self.state(plan, (side, run), gap, draw);
            return;
        }
        // How many there are of what it goes over.
        let kinds = self.words[side].over.get(line.rule);
        let kinds: Vec<&String> = kinds.into_iter().flatten().collect();
        if !kinds.is_empty()
            && draw.often(35)
            && let Some(kind) = draw
                .one(&kinds)
                .and_then(|kind| self.words[side].kind(kind))
        {
            let kind = kind.clone();
            if draw.often(50) {
                self.add(plan, &kind, draw);
            } else {
                self.of_kind(plan, &kind, side, draw);
            }
            return;
        }
        let reads: Vec<&Name> = self.words[side]
            .reads
            .get(line.rule)
            .into_iter()
            .flatten()
            .collect();
        match draw.one(&reads) {
            Some(of) => self.turn(plan, of, side, draw),
            None => self.any(plan, side, draw),
        }
    }

    /// Changes something that is in focus, or anything at all.
    pub(super) fn change(&self, plan: &mut PlanText, focus: &Focus, side: usize, draw: &mut Draw) {
        if draw.often(15) {
            self.any(plan, side, draw);
            return;
        }
        let settings: Vec<&Name> = focus.settings.iter().collect();
        let kinds: Vec<&String> = focus.kinds.iter().collect();
        if (draw.often(70) || kinds.is_empty())
            && let Some(of) = draw.one(&settings)
        {
            self.turn(plan, of, side, draw);
            return;
        }
        let Some(kind) = draw.one(&kinds) else {
            self.any(plan, side, draw);
            return;
        };
        let Some(kind) = self.words[side].kind(kind).cloned() else {
            return;
        };
        self.of_kind(plan, &kind, side, draw);
    }

    fn any(&self, plan: &mut PlanText, side: usize, draw: &mut Draw) {
        let words = &self.words[side];
        let Some(kind) = draw.one(&words.kinds).cloned() else {
            return;
        };
        if draw.often(8)
            && let Some(run) = draw.one(&words.runs)
        {
            plan.run.clone_from(run);
            return;
        }
        if draw.often(50) {
            self.of_kind(plan, &kind, side, draw);
            return;
        }
        if let Some(setting) = draw.one(&kind.settings) {
            let of = (kind.name.clone(), setting.name.clone());
            self.turn(plan, &of, side, draw);
        }
    }

    /// How often a thing of a kind is there, which record it is, and where it stands.
    fn of_kind(&self, plan: &mut PlanText, kind: &KindWords, side: usize, draw: &mut Draw) {
        let of: Vec<usize> = list(plan, kind.place)
            .iter()
            .enumerate()
            .filter(|(_, block)| block.kind == kind.name)
            .map(|(at, _)| at)
            .collect();
        let Some(at) = draw.one(&of).copied() else {
            self.add(plan, kind, draw);
            return;
        };
        match (kind.place, draw.below(6)) {
            (_, 0) => drop(list(plan, kind.place).remove(at)),
            (PlaceInRun::Step, 1) => {
                let copy = plan.steps[at].clone();
                if plan.steps.len() < MOST_STEPS {
                    plan.steps.insert(at, copy);
                }
            }
            (PlaceInRun::Step, 2 | 3) => {
                let step = &mut plan.steps[at];
                let all = step.clauses.iter().all(|clause| clause.placed);
                for clause in &mut step.clauses {
                    clause.placed = !all;
                }
                // As they stand in the standard.
                let order = |name: &str| kind.settings.iter().position(|of| of.name == name);
                step.clauses.sort_by_key(|clause| order(&clause.name));
            }
            (PlaceInRun::Step, 4) => {
                let other = draw.below(plan.steps.len());
                plan.steps.swap(at, other);
            }
            (PlaceInRun::Step, _) | (PlaceInRun::Many, 1) => self.add(plan, kind, draw),
            (PlaceInRun::One | PlaceInRun::Many, 2..=4) => {
                let record = if draw.often(25) {
                    None
                } else {
                    draw.one(&kind.records).cloned()
                };
                plan.blocks[at].record = record;
            }
            _ => {
                if let Some(setting) = draw.one(&kind.settings) {
                    let of = (kind.name.clone(), setting.name.clone());
                    self.turn(plan, &of, side, draw);
                }
            }
        }
    }

    /// States a setting in another way, or leaves it out.
    fn turn(&self, plan: &mut PlanText, of: &Name, side: usize, draw: &mut Draw) {
        let Some((kind, setting)) = self.words[side].setting(of) else {
            return;
        };
        let (kind, setting) = (kind.clone(), setting.clone());
        if kind.place == PlaceInRun::Record {
            // What a record states is turned by naming another record.
            self.name_another(plan, &kind.name, side, draw);
            return;
        }
        let all: Vec<usize> = list(plan, kind.place)
            .iter()
            .enumerate()
            .filter(|(_, block)| block.kind == kind.name)
            .map(|(at, _)| at)
            .collect();
        let Some(at) = draw.one(&all).copied() else {
            self.add(plan, &kind, draw);
            return;
        };
        let things = things_of(plan, &setting);
        let stated = list(plan, kind.place)[at].get(&setting.name).is_some();
        let mut value = value(&setting, &things, draw);
        if setting.worked_out && draw.often(50) {
            let other = if draw.often(50) { side } else { 1 - side };
            let all = self.worked_out(plan, of, other);
            value = draw.one(&all).cloned().or(value);
        }
        let block = &mut list(plan, kind.place)[at];
        if stated && draw.often(18) {
            block.clauses.retain(|clause| clause.name != setting.name);
            return;
        }
        let Some(value) = value else { return };
        let value = match draw.below(12) {
            0 => format!("{value} ± 10 %"),
            1 => format!("{value} ± 40 %"),
            _ => value,
        };
        block.state(&setting.name, &value);
        if draw.often(85) {
            make_whole(block, &kind, &setting.name, draw.below(6));
        }
    }

    /// What one edition works out for a setting of the first thing of its kind, where the plan does not state it: its
    /// ends and its middle, and that to so many places that nothing else agrees with it.
    pub(super) fn worked_out(&self, plan: &PlanText, of: &Name, side: usize) -> Vec<String> {
        let ends = || {
            let standard = &self.prepared[side].standard;
            let kind = *standard.kind_names.get(&of.0)?;
            let field = *standard.kind(kind).field_names.get(&of.1)?;
            let formula = standard.field(kind, field).formula.as_ref()?;
            // Without what is stated for it, so that it is what the others give.
            let mut bare = plan.clone();
            for block in bare.blocks.iter_mut().chain(&mut bare.steps) {
                if block.kind == of.0 {
                    block.clauses.retain(|clause| clause.name != of.1);
                }
            }
            let run = read_run(standard, &bare.text("standard"))?;
            let single = run.singles.get(kind.0 as usize).copied().flatten();
            let id = single.or_else(|| run.many.get(kind.0 as usize)?.first().copied())?;
            let binding = Binding {
                own: Some(Target::Thing(id)),
                ..Binding::default()
            };
            let context = EvalContext::new(standard, &run);
            let found = range(&context, binding, Aim::value(formula)).ok()?;
            match found.exact {
                Some(ends) => Some(ends),
                None => Some((
                    Exact::from_f64(found.bounds.lo)?,
                    Exact::from_f64(found.bounds.hi)?,
                )),
            }
        };
        let (Some((low, high)), Some((_, setting))) = (ends(), self.words[side].setting(of)) else {
            return Vec::new();
        };
        let unit = &setting.unit;
        let Some(middle) = low.add(&high).div(&Exact::from_int(2)) else {
            return Vec::new();
        };
        let rounded = |value: &Exact| {
            let value = near(&unit.from_base(value), 6);
            written_value(&unit.to_base(&value), unit)
        };
        let mut number = unit.from_base(&middle).decimal_near(11);
        // The last digit says how far it may be off: noughts count.
        if !number.contains('.') {
            number.push('.');
        }
        while number.len() < FINE_DIGITS {
            number.push('0');
        }
        let fine = format!("{number} {}", unit.spelling());
        let mut found = vec![
            rounded(&middle),
            rounded(&low),
            rounded(&high),
            fine.trim_end().to_owned(),
        ];
        // And in units of the standard's own, which the other edition may read otherwise.
        for (spelling, own) in self.prepared[side].standard.own_units() {
            if own.dimension() == unit.dimension() {
                let number = near(&own.from_base(&middle), 6);
                found.push(format!("{} {spelling}", number.decimal_near(7)));
            }
        }
        found.dedup();
        found
    }

    /// Lets a setting that names things of a kind name another one.
    fn name_another(&self, plan: &mut PlanText, named: &str, side: usize, draw: &mut Draw) {
        let standard = &self.prepared[side].standard;
        let Some(&to) = standard.kind_names.get(named) else {
            return;
        };
        let mut found: Vec<Name> = Vec::new();
        for kind in &standard.kinds {
            for field in &kind.fields {
                if field.ty == crate::types::Type::Reference(to) {
                    found.push((kind.name.clone(), field.name.clone()));
                }
            }
        }
        if let Some(of) = draw.one(&found).cloned()
            && of.0 != named
        {
            self.turn(plan, &of, side, draw);
        }
    }
}

/// The names of the things that a setting may name.
fn things_of(plan: &PlanText, setting: &SettingWords) -> Vec<String> {
    let Some(kind) = &setting.things else {
        return Vec::new();
    };
    let of = plan.blocks.iter().filter(|block| block.kind == *kind);
    of.map(|block| block.name.clone()).collect()
}

fn value(setting: &SettingWords, things: &[String], draw: &mut Draw) -> Option<String> {
    if !things.is_empty() && draw.often(75) {
        return draw.one(things).cloned();
    }
    // The shorter of some, so that what is shown is plain.
    let some = [(), ()].map(|()| draw.one(&setting.values).map(Word::text));
    some.into_iter().flatten().min_by_key(String::len)
}
