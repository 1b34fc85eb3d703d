//! A text mended step by step until a side passes it, without losing what it shows.
//!
//! Of each requirement that fails, all that it rests on is tried in turn: records named, values stated and left out,
//! things put in and taken away. The first change that mends more than it breaks is kept; where none does, one that
//! breaks no more is taken, so that two things can be mended one after the other.

use super::neighbours::{Draw, NAMES, find, list, make_whole, set};
use super::plan_text::{Block, PlanText};
use super::search::{Question, Sample, TextSearch, Trial};
use super::vocabulary::{KindWords, SettingWords, Word};
use crate::check::Prepared;
use crate::diff::conditions::dependencies::Name;
use crate::types::{PlaceInRun, Standard};
use crate::units::Exact;

/// How many steps are taken from one text.
const MOST_CLIMBS: usize = 24;

/// How many changes are tried for one step.
const MOST_TRIED: usize = 64;

/// How many values of one setting are tried for one step.
const MOST_VALUES: usize = 14;

impl TextSearch<'_> {
    /// Mends a sample for one side; where it shows what is wanted of a part, that is kept.
    pub(super) fn climb(
        &mut self,
        question: &mut Question<'_>,
        from: Sample,
        side: usize,
        draw: &mut Draw,
    ) -> Option<Sample> {
        let keeps = question.differs(&from.trial, side);
        let mut at = from;
        for _ in 0..MOST_CLIMBS {
            let faults = at.trial.faults(side);
            if faults == 0 || !question.is_open() {
                return Some(at);
            }
            let mut level = None;
            let mut better = None;
            for plan in self.mends(&at.plan, &at.trial, side, draw) {
                if question.was_tried(&plan) {
                    continue;
                }
                let trial = self.trial(&plan)?;
                let sample = Sample { plan, trial };
                self.keep(question, sample.clone());
                if keeps && !question.differs(&sample.trial, side) {
                    continue;
                }
                let now = sample.trial.faults(side);
                if now < faults {
                    better = Some(sample);
                    break;
                }
                if now == faults && level.is_none() {
                    level = Some(sample);
                }
            }
            at = better.or(level)?;
        }
        Some(at)
    }

    /// Changes of what a requirement rests on that a side does not find kept.
    fn mends(&self, plan: &PlanText, trial: &Trial, side: usize, draw: &mut Draw) -> Vec<PlanText> {
        let (Some(run), Some(tally)) = (&trial.runs[side], &trial.tallies[side]) else {
            return Vec::new();
        };
        let mut found = Vec::new();
        let words = &self.words[side];
        let failing: Vec<_> = tally.failing().collect();
        let Some(line) = draw.one(&failing) else {
            // What is stated contradicts the rest, or its record.
            for (at, block) in plan.blocks.iter().enumerate() {
                for clause in 0..block.clauses.len() {
                    let mut fewer = plan.clone();
                    fewer.blocks[at].clauses.remove(clause);
                    found.push(fewer);
                }
            }
            for (at, step) in plan.steps.iter().enumerate() {
                for clause in 0..step.clauses.len() {
                    let mut fewer = plan.clone();
                    fewer.steps[at].clauses.remove(clause);
                    found.push(fewer);
                }
            }
            return mixed(found, draw);
        };
        if let Some(gap) = &line.gap {
            for _ in 0..4 {
                let mut more = plan.clone();
                self.state(&mut more, (side, run), gap, draw);
                found.push(more);
            }
        }
        let reads = words.reads.get(line.rule);
        let over = words.over.get(line.rule).into_iter().flatten();
        let mut kinds: Vec<&String> = over
            .chain(reads.into_iter().flatten().map(|of| &of.0))
            .collect();
        kinds.sort_unstable();
        kinds.dedup();
        let mut others = Vec::new();
        for kind in kinds.into_iter().filter_map(|kind| words.kind(kind)) {
            of_records(plan, kind, &mut others);
        }
        for of in reads.into_iter().flatten() {
            if let Some((kind, setting)) = words.setting(of) {
                of_values(plan, kind, setting, draw, &mut others);
            }
        }
        found.extend(mixed(others, draw));
        found.truncate(MOST_TRIED);
        found
    }

    /// The plan in which the first thing of its kind is a record, and says what that says; `None` where none can be.
    pub(super) fn with_record(
        &self,
        plan: &PlanText,
        record: &String,
        side: usize,
    ) -> Option<PlanText> {
        let kinds = &self.words[side].kinds;
        let kind = kinds.iter().find(|kind| kind.records.contains(record))?;
        let name = match kind.place {
            PlaceInRun::One => "",
            PlaceInRun::Many => NAMES[0],
            PlaceInRun::Step | PlaceInRun::Record => return None,
        };
        let mut named = plan.clone();
        if find(&mut named, &kind.name).is_none() {
            named.blocks.push(Block::new(&kind.name, name));
        }
        let block = find(&mut named, &kind.name)?;
        block.record = Some(record.clone());
        block.clauses.clear();
        Some(named)
    }

    /// The plan with all that is in focus stated, as far as nothing states it yet; in units of the standard's own, where
    /// `own`.
    pub(super) fn with_all_stated(
        &self,
        plan: &PlanText,
        settings: &std::collections::BTreeSet<Name>,
        (side, own): (usize, bool),
    ) -> PlanText {
        let mut full = plan.clone();
        for of in settings {
            let Some((kind, setting)) = self.words[side].setting(of) else {
                continue;
            };
            let share = kind.wholes.iter().any(|(shares, _)| shares.contains(&of.1));
            let there = find(&mut full, &of.0);
            let known = there.is_some_and(|block| {
                let stated = block.get(&of.1).is_some() || share && block.record.is_some();
                // What a record of one edition alone states is left to it.
                let mut sides = self.prepared.iter();
                stated || sides.any(|side| records_state(side, block, of))
            });
            if setting.worked_out || known {
                continue;
            }
            let things: Vec<String> = match &setting.things {
                Some(things) => {
                    let blocks = full.blocks.iter().filter(|block| block.kind == *things);
                    blocks.map(|block| block.name.clone()).collect()
                }
                None => Vec::new(),
            };
            let value = things.first().cloned().or_else(|| usual(setting, own));
            if let Some(value) = value {
                set(&mut full, kind, &of.1, &value);
            }
        }
        full
    }
}

/// A value from the middle of those that are above nothing; in a unit of the standard's own, where `own` and there is one.
pub(super) fn usual(setting: &SettingWords, own: bool) -> Option<String> {
    let numbers = setting.values.iter();
    let mut numbers = numbers.filter(|value| matches!(value, Word::Number(..)));
    if own && numbers.next().is_some() {
        let others = setting.values.iter().rev().map(Word::text);
        let above = |text: &String| text.starts_with(|sign: char| ('1'..='9').contains(&sign));
        let spelling = setting.unit.spelling();
        let found = others.filter(|text| above(text) && !text.ends_with(spelling));
        if let Some(value) = found.min_by_key(String::len) {
            return Some(value);
        }
    }
    let above = setting.values.iter().filter(|value| match value {
        Word::Number(number, _) => *number > Exact::ZERO,
        Word::Text(_) => false,
    });
    let above: Vec<&Word> = above.collect();
    let middle = setting.values.get(setting.values.len() / 2);
    let found = above.get(above.len() / 2).copied().or(middle);
    found.map(Word::text)
}

/// Whether the record that a block is, or one above it, states a setting.
fn records_state(prepared: &Prepared, block: &Block, of: &Name) -> bool {
    let standard: &Standard = &prepared.standard;
    let stated = || {
        let kind = *standard.kind_names.get(&of.0)?;
        let field = *standard.kind(kind).field_names.get(&of.1)?;
        let name = block.record.clone()?;
        let record = *standard.record_names.get(&(kind, name))?;
        crate::diff::conditions::dependencies::inherited(standard, record, field)
    };
    stated().is_some()
}

/// The plan with each other record in the place of what is there, with one thing less, and with one more.
fn of_records(plan: &PlanText, kind: &KindWords, found: &mut Vec<PlanText>) {
    let step = kind.place == PlaceInRun::Step;
    let mut other = plan.clone();
    let count = list(&mut other, kind.place).len();
    let mut there = 0;
    for at in 0..count {
        let block = list(&mut other, kind.place)[at].clone();
        if block.kind != kind.name {
            continue;
        }
        there += 1;
        let mut fewer = plan.clone();
        list(&mut fewer, kind.place).remove(at);
        found.push(fewer);
        if step || kind.place == PlaceInRun::Record {
            continue;
        }
        let records = kind.records.iter().cloned().map(Some);
        for record in records.chain([None]) {
            if record != block.record {
                // What the record says, it says by itself.
                for bare in [false, true] {
                    if bare && (block.clauses.is_empty() || record.is_none()) {
                        continue;
                    }
                    let mut named = plan.clone();
                    let block = &mut list(&mut named, kind.place)[at];
                    block.record.clone_from(&record);
                    if bare {
                        block.clauses.clear();
                    }
                    found.push(named);
                }
            }
        }
    }
    let name = NAMES.iter().find(|name| {
        let mut all = plan.blocks.iter();
        !all.any(|block| block.kind == kind.name && block.name == **name)
    });
    let new = match kind.place {
        PlaceInRun::Many => name.map(|name| Block::new(&kind.name, name)),
        PlaceInRun::Step if there < 6 => Some(Block::new(&kind.name, "")),
        PlaceInRun::One if there == 0 => Some(Block::new(&kind.name, "")),
        _ => None,
    };
    let Some(new) = new else { return };
    let records = kind.records.iter().cloned().map(Some);
    for record in records.chain([None]).filter(|of| of.is_none() || !step) {
        let mut more = plan.clone();
        let mut new = new.clone();
        new.record = record;
        list(&mut more, kind.place).push(new);
        found.push(more);
    }
}

/// The plan with other values of a setting, for each thing that may state it.
fn of_values(
    plan: &PlanText,
    kind: &KindWords,
    setting: &SettingWords,
    draw: &mut Draw,
    found: &mut Vec<PlanText>,
) {
    if kind.place == PlaceInRun::Record {
        return;
    }
    let count = setting.values.len();
    let stride = count.div_ceil(MOST_VALUES).max(1);
    let from = draw.below(stride);
    let mut values: Vec<String> = (from..count)
        .step_by(stride)
        .map(|at| setting.values[at].text())
        .collect();
    if let Some(things) = &setting.things {
        let blocks = plan.blocks.iter().filter(|block| block.kind == *things);
        values.extend(blocks.map(|block| block.name.clone()));
    }
    let mut of = plan.clone();
    let places: Vec<usize> = list(&mut of, kind.place)
        .iter()
        .enumerate()
        .filter(|(_, block)| block.kind == kind.name)
        .map(|(at, _)| at)
        .collect();
    if places.is_empty() {
        for value in &values {
            let mut more = plan.clone();
            if set(&mut more, kind, &setting.name, value) {
                found.push(more);
            }
        }
    }
    for at in places {
        for value in &values {
            let mut turned = plan.clone();
            let block = &mut list(&mut turned, kind.place)[at];
            if block.get(&setting.name) == Some(value.as_str()) {
                continue;
            }
            block.state(&setting.name, value);
            make_whole(block, kind, &setting.name, draw.below(6));
            found.push(turned);
        }
        let mut without = plan.clone();
        let block = &mut list(&mut without, kind.place)[at];
        if block.get(&setting.name).is_some() {
            block.clauses.retain(|clause| clause.name != setting.name);
            found.push(without);
        }
    }
}

/// The same in another order.
fn mixed(mut list: Vec<PlanText>, draw: &mut Draw) -> Vec<PlanText> {
    for at in (1..list.len()).rev() {
        let other = draw.below(at + 1);
        list.swap(at, other);
    }
    list
}
