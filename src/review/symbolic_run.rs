//! A run made up for the review: one thing of every kind, every setting that rules read free.
//!
//! The sequence has every kind of step twice, in the order declared, so that steps meet neighbours
//! on both sides, and none. What records are chosen, and which settings are left out, is a
//! [`Situation`].

use std::collections::{BTreeMap, BTreeSet, HashMap};

use crate::constraint::{Domain, End, Variable, Words};
use crate::eval::{ExactInterval, Leaf};
use crate::source::Span;
use crate::types::{
    FieldId, Instance, InstanceId, KindId, Origin, PlaceInRun, Quantity, Reading, RecordId, Run,
    Standard, Stated, Target, Type, Value,
};
use crate::units::{Exact, Unit};

/// A setting of a kind.
pub(super) type Setting = (KindId, FieldId);

/// A setting that is free in the made-up run.
#[derive(Debug, Clone)]
pub(super) struct FreeSetting {
    /// Which, of which thing.
    pub(super) leaf: Leaf,
    /// The setting.
    pub(super) setting: Setting,
    /// What is possible.
    pub(super) domain: Domain,
    /// Whether only whole numbers are.
    pub(super) whole: bool,
}

/// Which records a run is made of, and which settings it leaves out.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Situation {
    /// The record of a kind; `None` for a thing that is none of them.
    pub(super) records: BTreeMap<KindId, Option<RecordId>>,
    /// Settings left out.
    pub(super) absent: BTreeSet<Setting>,
}

/// The run that stands for all runs of a situation.
#[derive(Debug, Clone)]
pub(super) struct SymbolicRun {
    /// The run.
    pub(super) run: Run,
    /// Its free settings.
    pub(super) settings: Vec<FreeSetting>,
    index: HashMap<Leaf, Variable>,
    template: Vec<Vec<Option<Stated>>>,
}

/// Ends that stand in for none where a figure needs some; nothing is proved by them.
pub(super) const FAR: i64 = 1_000_000_000;

fn stated(value: Value, span: Span) -> Stated {
    Stated {
        value,
        span,
        origin: Origin::Plan,
        per: None,
        loosened: None,
        taken: None,
    }
}

/// A quantity between two ends.
fn between(low: Exact, high: Exact, unit: Unit) -> Value {
    let bounds = ExactInterval::new(low.clone(), high.clone()).bounds;
    Value::Quantity(Box::new(Quantity {
        nominal: low.clone(),
        low,
        high,
        bounds,
        unit,
        tolerance: None,
        resolution: Exact::ZERO,
        scatter: None,
    }))
}

/// The unit in which values of a setting are shown.
pub(super) fn unit_of(standard: &Standard, (kind, field): Setting) -> Unit {
    standard.field(kind, field).usual_unit()
}

impl SymbolicRun {
    /// The run in which these settings are free.
    pub(super) fn new(standard: &Standard, free: &BTreeSet<Setting>) -> Self {
        let mut made = Self {
            run: Run {
                file: standard.root,
                name: String::new(),
                span: Span::new(standard.root, 0, 0),
                instances: Vec::new(),
                singles: vec![None; standard.kinds.len()],
                many: vec![Vec::new(); standard.kinds.len()],
                steps: Vec::new(),
                sequence: None,
                end: Span::new(standard.root, 0, 0),
                set_aside: Vec::new(),
                on: None,
                readings: Vec::new(),
            },
            settings: Vec::new(),
            index: HashMap::new(),
            template: Vec::new(),
        };
        let kinds = |place: PlaceInRun| {
            let of_place = move |(_, kind): &(usize, &crate::types::Kind)| kind.place == place;
            let kinds = standard.kinds.iter().enumerate().filter(of_place);
            kinds.map(|(index, _)| KindId(u32::try_from(index).unwrap_or(u32::MAX)))
        };
        for kind in kinds(PlaceInRun::One) {
            let id = made.push(standard, kind, "");
            made.run.singles[kind.0 as usize] = Some(id);
        }
        for kind in kinds(PlaceInRun::Many) {
            let id = made.push(standard, kind, "one");
            made.run.many[kind.0 as usize].push(id);
        }
        for _ in 0..2 {
            for kind in kinds(PlaceInRun::Step) {
                let id = made.push(standard, kind, "");
                made.run.steps.push(id);
                made.run.many[kind.0 as usize].push(id);
            }
        }
        for index in 0..made.run.instances.len() {
            made.fill(standard, index, free);
        }
        made.template = made
            .run
            .instances
            .iter()
            .map(|thing| thing.values.clone())
            .collect();
        made
    }

    fn push(&mut self, standard: &Standard, kind: KindId, name: &str) -> InstanceId {
        let id = InstanceId(u32::try_from(self.run.instances.len()).unwrap_or(u32::MAX));
        self.run.instances.push(Instance {
            kind,
            name: name.to_owned(),
            title: None,
            header: Some(Span::new(standard.root, 0, 0)),
            insert: None,
            values: vec![None; standard.kind(kind).fields.len()],
            calibrations: Vec::new(),
            parent: None,
            // Where it is none of the records, that is meant.
            not_listed: true,
        });
        id
    }

    /// States what is free, and references to things of the run.
    fn fill(&mut self, standard: &Standard, index: usize, free: &BTreeSet<Setting>) {
        let id = InstanceId(u32::try_from(index).unwrap_or(u32::MAX));
        let kind = self.run.instances[index].kind;
        let span = Span::new(standard.root, 0, 0);
        for (number, field) in standard.kind(kind).fields.iter().enumerate() {
            let field_id = FieldId(u32::try_from(number).unwrap_or(u32::MAX));
            let setting = (kind, field_id);
            let leaf = Leaf {
                target: Target::Thing(id),
                field: field_id,
            };
            let (value, domain, whole) = match &field.ty {
                Type::Reference(to) => {
                    let thing = self.run.singles[to.0 as usize]
                        .or_else(|| self.run.many[to.0 as usize].first().copied());
                    if let Some(thing) = thing.filter(|_| field.reference.is_none()) {
                        let value = Value::Reference(Target::Thing(thing));
                        self.run.instances[index].values[number] = Some(stated(value, span));
                    }
                    continue;
                }
                Type::Quantity(measure) if free.contains(&setting) => {
                    let (low, high) = match &field.possible {
                        Some(limits) => (limits.low.clone(), limits.high.clone()),
                        None => (None, None),
                    };
                    let far = |end: &Option<Exact>, sign: i64| {
                        end.clone().unwrap_or_else(|| Exact::from_int(sign * FAR))
                    };
                    let value = between(far(&low, -1), far(&high, 1), unit_of(standard, setting));
                    let domain = Domain::between(low.map(End::closed), high.map(End::closed));
                    let whole = matches!(measure.reading, Reading::Count(_));
                    let domain = if whole { domain.whole() } else { domain };
                    (value, domain, whole)
                }
                Type::Choice(words) if free.contains(&setting) => {
                    let all = u32::try_from(words.len()).unwrap_or(u32::MAX);
                    (Value::Choice(0), Domain::words(Words::of(0..all)), false)
                }
                Type::YesNo if free.contains(&setting) => {
                    (Value::YesNo(false), Domain::words(Words::of([0, 1])), false)
                }
                _ => continue,
            };
            self.run.instances[index].values[number] = Some(stated(value, span));
            let variable = Variable(self.settings.len());
            self.index.insert(leaf, variable);
            self.settings.push(FreeSetting {
                leaf,
                setting,
                domain,
                whole,
            });
        }
    }

    /// Puts the run into a situation.
    pub(super) fn put(&mut self, standard: &Standard, situation: &Situation) {
        for (index, thing) in self.run.instances.iter_mut().enumerate() {
            thing.values.clone_from(&self.template[index]);
            thing.parent = situation.records.get(&thing.kind).copied().flatten();
            let kind = standard.kind(thing.kind);
            for (number, field) in kind.fields.iter().enumerate() {
                let field_id = FieldId(u32::try_from(number).unwrap_or(u32::MAX));
                if situation.absent.contains(&(thing.kind, field_id)) {
                    thing.values[number] = None;
                }
                if let Type::Reference(to) = field.ty
                    && let Some(Some(record)) = situation.records.get(&to)
                    && standard.kind(to).place == PlaceInRun::Record
                {
                    let span = Span::new(standard.root, 0, 0);
                    let value = Value::Reference(Target::Record(*record));
                    thing.values[number] = Some(stated(value, span));
                }
            }
            let Some(parent) = thing.parent else { continue };
            let mut known = vec![false; kind.fields.len()];
            for (number, value) in thing.values.iter_mut().enumerate() {
                let field = FieldId(u32::try_from(number).unwrap_or(u32::MAX));
                if inherited(standard, parent, field).is_some() {
                    known[number] = true;
                    *value = None;
                }
            }
            // Shares that the record leaves out are zero, as in a plan that names it.
            for whole in &kind.parts {
                if !whole.fields.iter().any(|field| known[field.0 as usize]) {
                    continue;
                }
                for field in &whole.fields {
                    let number = field.0 as usize;
                    if !known[number] {
                        let zero = between(Exact::ZERO, Exact::ZERO, Unit::percent());
                        thing.values[number] = Some(stated(zero, whole.span));
                        known[number] = true;
                    }
                }
            }
        }
    }

    /// The free setting at a place of the run, if it is free in the situation it was put into.
    pub(super) fn variable(&self, leaf: Leaf) -> Option<Variable> {
        let variable = *self.index.get(&leaf)?;
        let Target::Thing(id) = leaf.target else {
            return None;
        };
        let value = self.run.instance(id).values.get(leaf.field.0 as usize)?;
        let free = match value.as_ref().map(|stated| &stated.value) {
            // A share that follows from the others is zero, and not free.
            Some(Value::Quantity(quantity)) => {
                self.of(variable).domain.ends().0.is_none() || quantity.low < quantity.high
            }
            Some(_) => true,
            None => false,
        };
        free.then_some(variable)
    }

    /// What is known of a free setting.
    pub(super) fn of(&self, variable: Variable) -> &FreeSetting {
        &self.settings[variable.0]
    }

    /// All free settings, with their variables.
    pub(super) fn numbered(&self) -> impl Iterator<Item = (Variable, &FreeSetting)> {
        let numbered = self.settings.iter().enumerate();
        numbered.map(|(index, of)| (Variable(index), of))
    }
}

/// What a record states for a setting, by itself or by its parents.
pub(super) fn inherited(standard: &Standard, record: RecordId, field: FieldId) -> Option<&Stated> {
    let mut at = standard.record(record);
    for _ in 0..=standard.records.len() {
        if let Some(stated) = at.values.get(field.0 as usize).and_then(Option::as_ref) {
            return Some(stated);
        }
        at = standard.record(at.parent?);
    }
    None
}
