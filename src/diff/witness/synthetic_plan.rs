//! A run made up to show something: few things, few settings, written as a plan for either standard.

use crate::diff::edition::Edition;
use crate::diff::texts::plan_text::{Block, PlanText};
use crate::types::{KindId, PlaceInRun, Standard, Type};
use crate::units::{Exact, Unit};

/// What is stated for a setting.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::diff) enum Setting {
    /// A quantity, and the unit it is best written in.
    Number(Exact, Option<Unit>),
    /// A choice, `yes` or `no`.
    Word(String),
    /// A text.
    Text(String),
    /// A record, by its new name.
    Record(String),
    /// A thing of the run.
    Thing(String),
}

/// A thing of the run, with the new names of its kind, record and settings.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::diff) struct Thing {
    /// Its kind.
    pub(in crate::diff) kind: String,
    /// Its name, where a run has many.
    pub(in crate::diff) name: String,
    /// The record it is.
    pub(in crate::diff) record: Option<String>,
    /// What is stated.
    pub(in crate::diff) settings: Vec<(String, Setting)>,
}

/// A run.
#[derive(Debug, Clone, PartialEq, Default)]
pub(in crate::diff) struct SyntheticPlan {
    /// Its things.
    pub(in crate::diff) things: Vec<Thing>,
    /// Its steps, in order.
    pub(in crate::diff) steps: Vec<Thing>,
}

/// A number in a unit that reads back as just this value; `None` where it has no short decimal.
pub(in crate::diff) fn written(value: &Exact, unit: &Unit) -> Option<String> {
    let number = unit.from_base(value).decimal()?;
    if number.len() > 24 {
        return None;
    }
    Some(match unit.spelling() {
        "" => number,
        spelling => format!("{number} {spelling}"),
    })
}

impl SyntheticPlan {
    /// The thing of a kind and name; it is put in where it is not there.
    pub(in crate::diff) fn thing(&mut self, kind: &str, name: &str) -> &mut Thing {
        let at = self
            .things
            .iter()
            .position(|thing| thing.kind == kind && thing.name == name);
        let at = at.unwrap_or_else(|| {
            self.things.push(Thing {
                kind: kind.to_owned(),
                name: name.to_owned(),
                record: None,
                settings: Vec::new(),
            });
            self.things.len() - 1
        });
        &mut self.things[at]
    }

    /// All things and steps.
    pub(in crate::diff) fn all(&self) -> impl Iterator<Item = &Thing> {
        self.things.iter().chain(&self.steps)
    }

    /// How much it states.
    pub(in crate::diff) fn size(&self) -> usize {
        let settings: usize = self.all().map(|thing| thing.settings.len()).sum();
        settings + self.things.len() + self.steps.len()
    }

    /// The text of the plan for a standard of this name; `None` where the standard does not know its words.
    pub(in crate::diff) fn text(&self, world: &Edition<'_>, against: &str) -> Option<String> {
        Some(self.plan(world)?.text(against))
    }

    /// The plan in the words of a standard; `None` where it does not know them.
    pub(in crate::diff) fn plan(&self, world: &Edition<'_>) -> Option<PlanText> {
        let mut plan = PlanText::default();
        for thing in &self.things {
            let (kind, name) = world.kind_name(&thing.kind)?;
            let mut block = Block::new(name, &thing.name);
            if let Some(record) = &thing.record {
                block.record = Some(world.record_name(kind, record)?.1.to_owned());
            }
            self.clauses(world, kind, thing, &mut block)?;
            plan.blocks.push(block);
        }
        for step in &self.steps {
            let (kind, name) = world.kind_name(&step.kind)?;
            let mut block = Block::new(name, "");
            self.clauses(world, kind, step, &mut block)?;
            plan.steps.push(block);
        }
        Some(plan)
    }

    fn clauses(
        &self,
        world: &Edition<'_>,
        kind: KindId,
        thing: &Thing,
        block: &mut Block,
    ) -> Option<()> {
        for (field, setting) in &thing.settings {
            let (id, name) = world.field_name(kind, field)?;
            let value = match setting {
                Setting::Number(value, unit) => {
                    let unit = unit.as_ref().and_then(|unit| written(value, unit));
                    let usual = world.standard.field(kind, id).usual_unit();
                    unit.or_else(|| written(value, &usual))
                        .or_else(|| written(value, &Unit::usual(usual.dimension())))
                        .or_else(|| written(value, &Unit::si(usual.dimension())))?
                }
                Setting::Word(word) => word.clone(),
                Setting::Text(text) => format!("{text:?}"),
                Setting::Thing(name) => name.clone(),
                Setting::Record(record) => match world.standard.field(kind, id).ty {
                    Type::Reference(to) => world.record_name(to, record)?.1.to_owned(),
                    _ => return None,
                },
            };
            block.state(name, &value);
        }
        // The shares of a whole that is stated in part: one more of them is the rest.
        for whole in &world.standard.kind(kind).parts {
            if thing.record.is_some() {
                continue;
            }
            let own = |field: &crate::types::FieldId| world.view.field(kind, *field).name.clone();
            let mut sum = Exact::ZERO;
            let mut stated = false;
            let mut free = None;
            for field in &whole.fields {
                let name = own(field);
                match thing.settings.iter().find(|(of, _)| *of == name) {
                    Some((_, Setting::Number(value, _))) => {
                        sum = sum.add(value);
                        stated = true;
                    }
                    _ => free = free.or(Some(field)),
                }
            }
            if let Some(field) = free
                && stated
                && sum < whole.total
            {
                let rest = written(&whole.total.sub(&sum), &Unit::percent())?;
                block.state(&world.standard.field(kind, *field).name, &rest);
            }
        }
        Some(())
    }
}

/// Whether a run has many things of a kind.
pub(in crate::diff) fn place(standard: &Standard, kind: KindId) -> PlaceInRun {
    standard.kind(kind).place
}
