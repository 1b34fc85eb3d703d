//! What is tried of a change of how plans are read, and what came of it.

use std::cell::Cell;

use super::completion::{Completion, numbers, values};
use super::outcome;
use super::plan_text::{Block, PlanText};
use crate::check::Prepared;
use crate::constraint::{read_run, written_value};
use crate::diagnostic::{PlanOutcome, ReadingShows};
use crate::eval::{Aim, Binding, EvalContext, EvalError, range};
use crate::types::{Date, FieldId, Kind, KindId, PlaceInRun, RecordId, Standard, Target, Type};
use crate::units::{Exact, Unit};

/// Reads and checks that one change may take, and all together.
const EACH: u64 = 400;
const ALL: u64 = 6_000;

/// How many texts are tried for one change, by side.
const MOST_TEXTS: usize = 48;

/// A change of how plans are read, by the names of each edition.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::diff) enum Probe {
    /// A setting: renamed, removed, added, of another type, or with another possible range.
    Setting([Option<(KindId, FieldId)>; 2]),
    /// The settings of a step, which may go without their names.
    Places([KindId; 2]),
    /// Shares that make a whole.
    Parts([KindId; 2]),
    /// A unit of the standard's own.
    Unit(String),
    /// A record.
    Record([Option<RecordId>; 2]),
    /// A kind.
    Kind([Option<KindId>; 2]),
    /// A figure that may be stated as well as worked out, of a record where one is given.
    Figure([Option<(KindId, FieldId)>; 2], [Option<RecordId>; 2]),
}

/// What was found: texts that show it, at most one for each way.
#[derive(Debug, Clone, Default)]
pub(in crate::diff) struct Found {
    pub(in crate::diff) shows: Vec<ReadingShows>,
}

impl Found {
    pub(in crate::diff) fn way(&self, tighter: bool) -> Option<&ReadingShows> {
        self.shows.iter().find(|shows| shows.tighter == tighter)
    }
}

/// Tries changes, within one budget.
pub(in crate::diff) struct Probes<'p> {
    prepared: [&'p Prepared; 2],
    on: Option<Date>,
    /// What the plans name as their standard.
    against: String,
    left: u64,
}

impl<'p> Probes<'p> {
    pub(in crate::diff) fn new(
        prepared: [&'p Prepared; 2],
        on: Option<Date>,
        against: String,
    ) -> Self {
        Self {
            prepared,
            on,
            against,
            left: ALL,
        }
    }

    fn standard(&self, side: usize) -> &'p Standard {
        &self.prepared[side].standard
    }

    /// The plan, with more stated, so that it passes one side as a whole and not the other.
    pub(in crate::diff) fn flips(&mut self, side: usize, plan: &PlanText) -> Option<PlanText> {
        let each = Cell::new(self.share());
        let given = each.get();
        let completion = Completion {
            prepared: self.prepared[side],
            on: self.on,
            left: &each,
        };
        let (found, mine) = completion.complete(plan);
        self.left = self.left.saturating_sub(given - each.get());
        let theirs = outcome(self.prepared[1 - side], &found.text("standard"), self.on);
        (mine == PlanOutcome::Passes && theirs != PlanOutcome::Passes).then_some(found)
    }

    /// What one question may take: where a check is dear, fewer are made.
    fn share(&self) -> u64 {
        let rules = u64::try_from(self.prepared[1].standard.rules.len()).unwrap_or(u64::MAX);
        self.left.min((EACH * 12 / rules.max(12)).max(24))
    }

    /// Tries one change.
    pub(in crate::diff) fn ask(&mut self, probe: &Probe) -> Found {
        let each = Cell::new(self.share());
        let given = each.get();
        let mut found: [Option<ReadingShows>; 2] = [None, None];
        for side in [0, 1] {
            let mut fallback: Option<ReadingShows> = None;
            for text in self.texts(side, probe, &each).into_iter().take(MOST_TEXTS) {
                let completion = Completion {
                    prepared: self.prepared[side],
                    on: self.on,
                    left: &each,
                };
                let (plan, mine) = completion.complete(&text);
                let written = plan.text(&self.against);
                let theirs = outcome(self.prepared[1 - side], &written, self.on);
                let show = |plan: String| ReadingShows {
                    tighter: side == 0,
                    plan,
                    old: if side == 0 { mine } else { theirs },
                    new: if side == 0 { theirs } else { mine },
                };
                if mine == PlanOutcome::Passes && theirs != PlanOutcome::Passes {
                    found[side] = Some(show(written));
                    break;
                }
                if mine < theirs && fallback.is_none() {
                    fallback = Some(show(written));
                }
                if each.get() == 0 {
                    break;
                }
            }
            found[side] = found[side].take().or(fallback);
        }
        self.left = self.left.saturating_sub(given - each.get());
        Found {
            shows: found.into_iter().flatten().collect(),
        }
    }

    /// Texts to try, in the words of one side.
    fn texts(&self, side: usize, probe: &Probe, left: &Cell<u64>) -> Vec<PlanText> {
        let standard = self.standard(side);
        match probe {
            Probe::Setting(at) => at[side].map_or_else(Vec::new, |setting| {
                self.values(at, side)
                    .into_iter()
                    .filter_map(|value| stating(standard, setting, value))
                    .collect()
            }),
            Probe::Places(kinds) => places(standard, kinds[side]),
            Probe::Parts(kinds) => self.parts(side, *kinds),
            Probe::Unit(name) => self.unit(side, name),
            Probe::Record(at) => at[side].map_or_else(Vec::new, |id| record(standard, id)),
            Probe::Kind(at) => at[side].map_or_else(Vec::new, |id| kind(standard, id)),
            Probe::Figure(at, records) => self.figure(side, at, records, left),
        }
    }

    /// Values of a setting, the ends of what is possible on either side among them.
    fn values(&self, at: &[Option<(KindId, FieldId)>; 2], side: usize) -> Vec<String> {
        let standard = self.standard(side);
        let Some((kind, field)) = at[side] else {
            return Vec::new();
        };
        let of = standard.field(kind, field);
        let mut found = Vec::new();
        if let Type::Quantity(_) = of.ty {
            let unit = plain_unit(standard, &of.usual_unit());
            for (standard, setting) in self.prepared.iter().zip(at) {
                let Some((kind, field)) = setting else {
                    continue;
                };
                let other = standard.standard.field(*kind, *field);
                let possible = other.possible.iter();
                for end in possible.flat_map(|of| [&of.low, &of.high]).flatten() {
                    let text = written_value(end, &unit);
                    if !found.contains(&text) {
                        found.push(text);
                    }
                }
            }
            for value in numbers(standard, of.possible.as_ref(), &unit) {
                found.push(written_value(&value, &unit));
            }
        }
        found.extend(values(standard, (kind, field)));
        // What only this side reads shows more than what both do: the words of a choice last declared.
        if let Type::Choice(words) = &of.ty {
            found = words.iter().rev().cloned().collect();
        }
        found
    }

    fn parts(&self, side: usize, kinds: [KindId; 2]) -> Vec<PlanText> {
        let own = self.standard(side).kind(kinds[side]);
        let mut totals = vec![Exact::ONE];
        let mut names: Vec<String> = Vec::new();
        for (standard, kind) in self.prepared.iter().zip(kinds) {
            let kind = standard.standard.kind(kind);
            for whole in &kind.parts {
                if !totals.contains(&whole.total) {
                    totals.push(whole.total.clone());
                }
                for field in &whole.fields {
                    let name = &kind.fields[field.0 as usize].name;
                    if own.field_names.contains_key(name) && !names.contains(name) {
                        names.push(name.clone());
                    }
                }
            }
        }
        let share = |value: &Exact| written_value(value, &Unit::percent());
        let mut found = Vec::new();
        for total in &totals {
            for (at, name) in names.iter().enumerate() {
                found.push(vec![(name.clone(), share(total))]);
                let part = total.mul(&Exact::ratio(3, 5));
                let rest = total.sub(&part);
                for other in names.iter().skip(at + 1) {
                    found.push(vec![
                        (name.clone(), share(&part)),
                        (other.clone(), share(&rest)),
                    ]);
                }
            }
        }
        for name in &names {
            found.push(vec![(name.clone(), share(&Exact::ratio(3, 5)))]);
        }
        let records = self.standard(side).records.iter();
        let mut plans: Vec<PlanText> = records
            .filter(|of| of.kind == kinds[side])
            .filter_map(|of| {
                let mut plan = at_kind(own)?;
                let block = plan.blocks.first_mut()?;
                block.header = format!("{} is {}", block.header, of.name);
                Some(plan)
            })
            .collect();
        let shares = found.into_iter().filter_map(|clauses| {
            let mut plan = at_kind(own)?;
            let block = plan.blocks.first_mut().or(plan.steps.first_mut())?;
            block.clauses = clauses;
            Some(plan)
        });
        plans.splice(0..0, shares);
        plans
    }

    fn unit(&self, side: usize, name: &str) -> Vec<PlanText> {
        let standard = self.standard(side);
        let own = standard.own_units();
        let Some((_, unit)) = own.iter().find(|(of, _)| *of == name) else {
            return Vec::new();
        };
        let mut found = Vec::new();
        for (kind, of) in settings(standard) {
            let field = standard.field(kind, of);
            if !matches!(field.ty, Type::Quantity(_))
                || field.usual_unit().dimension() != unit.dimension()
            {
                continue;
            }
            // Limits of both sides, each as this side writes and as the other reads it.
            for other in [0, 1] {
                let units = self.standard(other).own_units();
                let theirs = units.iter().find(|(of, _)| *of == name).map(|(_, of)| *of);
                for value in numbers(self.standard(other), field.possible.as_ref(), unit) {
                    for unit in [Some(*unit), theirs].into_iter().flatten() {
                        let Some(number) = unit.from_base(&value).decimal() else {
                            continue;
                        };
                        if number.len() < 16 {
                            let text = format!("{number} {name}");
                            found.extend(stating(standard, (kind, of), text));
                        }
                    }
                }
            }
        }
        found.dedup();
        found
    }

    /// A figure stated beside all that it is worked out from, as either side works it out.
    fn figure(
        &self,
        side: usize,
        at: &[Option<(KindId, FieldId)>; 2],
        records: &[Option<RecordId>; 2],
        left: &Cell<u64>,
    ) -> Vec<PlanText> {
        let mut found = Vec::new();
        for other in [1 - side, side] {
            let Some(setting) = at[other] else { continue };
            let standard = self.standard(other);
            if standard.field(setting.0, setting.1).formula.is_none() {
                continue;
            }
            let Some(mut plan) = at_kind(standard.kind(setting.0)) else {
                continue;
            };
            if let Some(record) = records[other].map(|id| standard.record(id)) {
                let kind = standard.kind(record.kind);
                if record.kind == setting.0 {
                    if let Some(block) = plan.blocks.first_mut() {
                        block.header = format!("{} is {}", block.header, record.name);
                    }
                } else if let Some(of) =
                    at_kind(kind).and_then(|plan| plan.blocks.into_iter().next())
                {
                    let header = format!("{} is {}", of.header, record.name);
                    plan.blocks.push(Block::new(header));
                }
            }
            let completion = Completion {
                prepared: self.prepared[other],
                on: self.on,
                left,
            };
            let Some(worked_out) = completion.work_out(&mut plan, setting) else {
                continue;
            };
            let field = standard.field(setting.0, setting.1);
            let unit = plain_unit(standard, &field.usual_unit());
            let near =
                |value: &Exact| crate::diff::witness::round_value::near(&unit.from_base(value), 6);
            let [low, high] = &worked_out;
            let far = high.mul(&Exact::ratio(3, 2));
            let Some(middle) = low.add(high).div(&Exact::from_int(2)) else {
                continue;
            };
            for value in [middle, low.clone(), high.clone(), far] {
                let mut plan = plan.clone();
                let text = written_value(&unit.to_base(&near(&value)), &unit);
                let block = plan.steps.first_mut().or(plan.blocks.first_mut());
                let Some(block) = block else { continue };
                block.clauses.push((field.name.clone(), text));
                found.push(plan);
            }
        }
        found
    }
}

impl Completion<'_> {
    /// Works out a figure of the first thing of a plan, with all stated that it needs.
    fn work_out(
        &self,
        plan: &mut PlanText,
        (kind, field): (KindId, FieldId),
    ) -> Option<[Exact; 2]> {
        let standard = &self.prepared.standard;
        let formula = standard.field(kind, field).formula.as_ref()?;
        let mut turns = Vec::new();
        for _ in 0..20 {
            self.left
                .get()
                .checked_sub(1)
                .map(|left| self.left.set(left))?;
            let run = read_run(standard, &plan.text("standard"))?;
            let single = run.singles.get(kind.0 as usize).copied().flatten();
            let id = single.or_else(|| run.many.get(kind.0 as usize)?.first().copied())?;
            let binding = Binding {
                own: Some(Target::Thing(id)),
                ..Binding::default()
            };
            let context = EvalContext::new(standard, &run);
            match range(&context, binding, Aim::value(formula)) {
                Ok(found) => {
                    return found.exact.map(|(low, high)| [low, high]).or_else(|| {
                        let bounds = found.bounds;
                        Some([Exact::from_f64(bounds.lo)?, Exact::from_f64(bounds.hi)?])
                    });
                }
                Err(EvalError::Missing(gap)) => {
                    if !self.state(plan, &run, &gap, &mut turns) {
                        return None;
                    }
                }
                Err(EvalError::CannotWorkOut(_)) => return None,
            }
        }
        None
    }
}

/// A unit that both sides read alike, for a value that they must read alike.
fn plain_unit(standard: &Standard, unit: &Unit) -> Unit {
    let own = standard.own_units();
    if own.iter().any(|(_, of)| of.spelling() == unit.spelling()) {
        Unit::usual(unit.dimension())
    } else {
        unit.clone()
    }
}

fn settings(standard: &Standard) -> Vec<(KindId, FieldId)> {
    let kinds = (0_u32..).zip(&standard.kinds);
    kinds
        .flat_map(|(kind, of)| {
            let fields = 0..u32::try_from(of.fields.len()).unwrap_or(u32::MAX);
            fields.map(move |field| (KindId(kind), FieldId(field)))
        })
        .collect()
}

/// A plan with one thing or step of a kind.
fn at_kind(kind: &Kind) -> Option<PlanText> {
    let mut plan = PlanText::default();
    match kind.place {
        PlaceInRun::One => plan.blocks.push(Block::new(kind.name.clone())),
        PlaceInRun::Many => plan.blocks.push(Block::new(format!("{} one", kind.name))),
        PlaceInRun::Step => plan.steps.push(Block::new(kind.name.clone())),
        PlaceInRun::Record => return None,
    }
    Some(plan)
}

/// A plan that states one setting.
fn stating(
    standard: &Standard,
    (kind, field): (KindId, FieldId),
    value: String,
) -> Option<PlanText> {
    let of = standard.kind(kind);
    let mut plan = at_kind(of)?;
    let name = &of.fields[field.0 as usize].name;
    let block = plan.blocks.first_mut().or(plan.steps.first_mut())?;
    *block = block.clone().stating(name, value);
    Some(plan)
}

/// Steps whose settings go without their names.
fn places(standard: &Standard, kind: KindId) -> Vec<PlanText> {
    let of = standard.kind(kind);
    let plain = |field: &FieldId| of.fields[field.0 as usize].formula.is_none();
    let fields: Vec<FieldId> = (0..u32::try_from(of.fields.len()).unwrap_or(0))
        .map(FieldId)
        .filter(plain)
        .collect();
    let mut found = Vec::new();
    for count in (1..=fields.len()).rev() {
        let mut ways: Vec<Vec<String>> = vec![Vec::new()];
        for field in fields.iter().take(count) {
            let mut some = values(standard, (kind, *field));
            some.truncate(5);
            ways = ways
                .into_iter()
                .flat_map(|way| {
                    some.iter().map(move |value| {
                        let mut way = way.clone();
                        way.push(value.clone());
                        way
                    })
                })
                .take(MOST_TEXTS)
                .collect();
        }
        for way in ways {
            let mut plan = PlanText::default();
            let clauses = way.into_iter().map(|value| (String::new(), value));
            plan.steps.push(Block {
                header: of.name.clone(),
                clauses: clauses.collect(),
            });
            found.push(plan);
        }
    }
    found
}

/// Plans that name a record.
fn record(standard: &Standard, id: RecordId) -> Vec<PlanText> {
    let record = standard.record(id);
    let kind = standard.kind(record.kind);
    if let Some(mut plan) = at_kind(kind) {
        if let Some(block) = plan.blocks.first_mut() {
            block.header = format!("{} is {}", block.header, record.name);
        }
        return vec![plan];
    }
    settings(standard)
        .into_iter()
        .filter(|(of, field)| {
            matches!(standard.field(*of, *field).ty, Type::Reference(to) if to == record.kind)
        })
        .filter_map(|setting| stating(standard, setting, record.name.clone()))
        .collect()
}

/// Plans that have a thing of a kind, or two, or one without a name.
fn kind(standard: &Standard, id: KindId) -> Vec<PlanText> {
    let of = standard.kind(id);
    let mut found: Vec<PlanText> = Vec::new();
    let Some(plan) = at_kind(of) else {
        return found;
    };
    if of.place == PlaceInRun::Many {
        let mut two = plan.clone();
        two.blocks.push(Block::new(format!("{} two", of.name)));
        found.push(two);
    }
    for field in 0..u32::try_from(of.fields.len()).unwrap_or(0) {
        let field = FieldId(field);
        if let Some(value) = values(standard, (id, field)).into_iter().next() {
            found.extend(stating(standard, (id, field), value));
        }
    }
    found.push(plan);
    found
}
