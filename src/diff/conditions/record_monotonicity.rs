//! Which way the values of records can move what is worked out from them.
//!
//! A figure takes all values that the spans behind it allow. Where the old standard allows every value
//! that the new one does, what was kept stays kept: that direction is excluded without a search. A value
//! that a figure needs and that is missing, or a span of which the figure can only be sampled, keeps
//! nothing: it is as wide as can be.

use std::cell::Cell;
use std::collections::BTreeSet;

use crate::diff::clause_effect::conditions;
use crate::diff::conditions::dependencies::{Name, Setting, inherited, name, passed};
use crate::diff::conditions::overrides::is_rest;
use crate::diff::edition::Edition;
use crate::diff::pairing::clauses::Part;
use crate::diff::pairing::rename_matching::record_ids;
use crate::diff::witness::synthetic_plan::place;
use crate::diff::witness::witness_query::{Choice, Reads, Way, WitnessQuery};
use crate::physics::Direction;
use crate::types::{
    Condition, ConditionNode, Expression, ExpressionNode, Function, Path, PlaceInRun, RecordId,
    Value,
};
use crate::units::Exact;

/// What a record lets a figure be worked out with.
#[derive(Debug, Clone, PartialEq)]
enum Span {
    /// Every value between two.
    Values(Exact, Exact),
    /// The figure can only be sampled, or lies outside what it is valid for, and so keeps nothing.
    Any,
    /// The figure cannot be worked out, and so keeps nothing.
    Missing,
    /// What it does is not known here.
    Unknown,
}

impl Span {
    /// Whether all it allows is allowed by another.
    fn lies_in(&self, other: &Self) -> bool {
        match (self, other) {
            (_, Self::Any | Self::Missing) => true,
            (_, Self::Unknown) | (Self::Unknown | Self::Any | Self::Missing, _) => false,
            (Self::Values(low, high), Self::Values(least, most)) => least <= low && high <= most,
        }
    }
}

impl WitnessQuery<'_, '_> {
    /// Whether figures that are worked out may move a clause this way, for a choice of records.
    pub(in crate::diff) fn figures_may(&self, way: Way, choice: &Choice) -> bool {
        let mut seen: BTreeSet<(bool, Name)> = BTreeSet::new();
        self.reads.iter().any(|read| {
            passed(&read.path).any(|setting| {
                let own = name(self.worlds()[usize::from(read.new)].view, setting);
                seen.insert((read.new, own)) && self.figure_may(way, choice, read, setting)
            })
        })
    }

    fn figure_may(&self, way: Way, choice: &Choice, read: &Reads, setting: Setting) -> bool {
        let world = self.worlds()[usize::from(read.new)];
        let own = name(world.view, setting);
        let differences = &self.worlds.differences;
        if differences.formulas.contains(&own) {
            return true;
        }
        world
            .closures
            .of(&own)
            .any(|of| differences.formulas.contains(of) || self.value_may(way, choice, &own, of))
    }

    /// Whether what records say of one setting may move another that is worked out from it.
    pub(in crate::diff) fn value_may(
        &self,
        way: Way,
        choice: &Choice,
        own: &Name,
        of: &Name,
    ) -> bool {
        let Some(records) = self.worlds.differences.values.get(of) else {
            return false;
        };
        let view = self.worlds.new.view;
        let kind = view.kind_names.get(&of.0);
        let one = kind.is_some_and(|kind| place(view, *kind) == PlaceInRun::One);
        let chosen = [of.0.clone(), format!("any {}", of.0)];
        let chosen = chosen
            .iter()
            .find_map(|key| choice.get(key))
            .filter(|_| one);
        records
            .iter()
            .filter(|record| chosen.is_none_or(|chosen| chosen.as_ref() == Some(*record)))
            .any(|record| {
                let [old, new] = self.worlds().map(|world| span(world, own, of, record));
                let gone = |span: &Span| matches!(span, Span::Missing | Span::Unknown);
                if gone(&old) != gone(&new) && self.asks_what_is_stated(of) {
                    return true;
                }
                match way {
                    Way::Tighter => !new.lies_in(&old),
                    Way::Looser => !old.lies_in(&new),
                }
            })
    }

    /// Whether the clause asks if something is stated that rests on a setting.
    fn asks_what_is_stated(&self, of: &Name) -> bool {
        let sides = self.worlds().into_iter().zip(self.parts());
        sides.into_iter().any(|(world, part)| {
            let Some(part) = part else { return false };
            asked(world, part).into_iter().any(|path| {
                passed(path).any(|setting| {
                    let own = name(world.view, setting);
                    own == *of || world.closures.of(&own).any(|read| read == of)
                })
            })
        })
    }
}

/// The paths of which a clause asks whether they are stated.
fn asked<'s>(world: &Edition<'s>, part: &Part) -> Vec<&'s Path> {
    fn go<'c>(of: &'c Condition, found: &mut Vec<&'c Path>) {
        match &of.node {
            ConditionNode::Stated { path, .. } => found.push(path),
            ConditionNode::And(list) | ConditionNode::Or(list) => {
                list.iter().for_each(|part| go(part, found));
            }
            ConditionNode::Not(inner) => go(inner, found),
            _ => {}
        }
    }
    let mut found = Vec::new();
    for condition in conditions(world.view, part) {
        go(condition, &mut found);
    }
    found
}

/// A figure that keeps nothing where it is worked out, as something it needs has a span in every record.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::diff) struct UnkeptFigure {
    /// Which.
    pub(in crate::diff) own: Name,
    /// Whether what differs leaves it missing, on each side.
    pub(in crate::diff) missing: [bool; 2],
}

impl WitnessQuery<'_, '_> {
    /// The one figure of a clause that is worked out from what differs, if it keeps nothing.
    pub(in crate::diff) fn unkept(&self, choice: &Choice) -> Option<UnkeptFigure> {
        let differences = &self.worlds.differences;
        let (mut own, mut keys) = (BTreeSet::new(), BTreeSet::new());
        for read in self.reads {
            let world = self.worlds()[usize::from(read.new)];
            for setting in passed(&read.path) {
                let figure = name(world.view, setting);
                let differs = |of: &Name| {
                    differences.formulas.contains(of) || differences.values.contains_key(of)
                };
                if differs(&figure) || world.closures.of(&figure).any(differs) {
                    own.insert(figure);
                    keys.insert(&read.key);
                }
            }
        }
        let own = own
            .pop_first()
            .filter(|_| own.is_empty() && keys.len() == 1)?;
        let mut missing = [false; 2];
        for of in self.worlds.new.closures.of(&own) {
            if differences.formulas.contains(of) {
                return None;
            }
            let Some(records) = differences.values.get(of) else {
                continue;
            };
            let record = choice
                .get(&of.0)
                .or_else(|| choice.get(&format!("any {}", of.0)))?;
            let Some(record) = record.as_ref().filter(|record| records.contains(*record)) else {
                continue;
            };
            for (side, world) in self.worlds().into_iter().enumerate() {
                match span(world, &own, of, record) {
                    Span::Missing => missing[side] = true,
                    Span::Any => {}
                    Span::Values(..) | Span::Unknown => return None,
                }
            }
        }
        let never = |world: &Edition<'_>| figure(world, &own).is_some_and(|of| never(world, of));
        self.worlds()
            .into_iter()
            .all(never)
            .then_some(UnkeptFigure { own, missing })
    }
}

/// The formula of a figure.
fn figure<'s>(world: &Edition<'s>, own: &Name) -> Option<&'s Expression> {
    let kind = *world.view.kind_names.get(&own.0)?;
    let field = *world.view.kind(kind).field_names.get(&own.1)?;
    world.view.field(kind, field).formula.as_ref()
}

/// Whether a figure is sampled whatever a plan states: something it needs has a span, or nothing, in every record.
fn never(world: &Edition<'_>, of: &Expression) -> bool {
    let view = world.view;
    samples(of, &|(kind, field)| {
        place(view, kind) == PlaceInRun::Record
            && view.field(kind, field).formula.is_none()
            && record_ids(view)
                .filter(|id| view.record(*id).kind == kind)
                .all(
                    |id| match inherited(view, id, field).map(|(_, stated)| &stated.value) {
                        Some(Value::Quantity(value)) => value.low < value.high,
                        None => true,
                        _ => false,
                    },
                )
    })
}

/// What a record of one standard lets a figure be worked out with.
fn span(world: &Edition<'_>, own: &Name, of: &Name, record: &str) -> Span {
    let view = world.view;
    let found = || {
        let formula = figure(world, own)?;
        let kind = *view.kind_names.get(&of.0)?;
        let field = *view.kind(kind).field_names.get(&of.1)?;
        let record = *view.record_names.get(&(kind, record.to_owned()))?;
        let setting = (kind, field);
        let lost = || samples(formula, &|of| of == setting) || never(world, formula);
        Some(match inherited(view, record, field) {
            Some((_, stated)) => match &stated.value {
                Value::Quantity(value) if value.low < value.high && lost() => Span::Any,
                Value::Quantity(_) if never(world, formula) => Span::Any,
                Value::Quantity(value)
                    if outside(
                        formula,
                        setting,
                        (value.low.nearest(), value.high.nearest()),
                    ) =>
                {
                    Span::Any
                }
                Value::Quantity(value) => Span::Values(value.low.clone(), value.high.clone()),
                _ => Span::Unknown,
            },
            None if is_rest(view, record, setting) => Span::Values(Exact::ZERO, Exact::ZERO),
            None => match others(world, formula, record, setting) {
                Some(false) => Span::Missing,
                Some(true) if never(world, formula) => Span::Any,
                _ => Span::Unknown,
            },
        })
    };
    found().unwrap_or(Span::Unknown)
}

/// Where a setting is missing: whether the record states another that stands in for it; `None` where that is not known.
fn others(
    world: &Edition<'_>,
    of: &Expression,
    record: RecordId,
    setting: Setting,
) -> Option<bool> {
    let view = world.view;
    if needs(of, &|read| read == setting) {
        return Some(false);
    }
    // Worked out of the first that is stated: water is moisture, or else what the cloth settles at.
    let stands_in = |(kind, field): Setting| -> Option<Vec<Setting>> {
        let formula = view.field(kind, field).formula.as_ref()?;
        let ExpressionNode::Call(Function::Otherwise, arguments) = &formula.node else {
            return None;
        };
        arguments
            .iter()
            .map(|argument| match &argument.node {
                ExpressionNode::Path(path) => passed(path).last(),
                _ => None,
            })
            .collect()
    };
    let found = Cell::new(None);
    let needed = needs(of, &|read| {
        let Some(all) = stands_in(read).filter(|all| all.contains(&setting)) else {
            return false;
        };
        let known = all.iter().all(|(kind, _)| *kind == setting.0);
        let stated = |(_, field): &Setting| inherited(view, record, *field).is_some();
        found.set(known.then(|| all.iter().any(stated)));
        known
    });
    found.get().filter(|_| needed)
}

/// Whether a span of one of some settings leaves an expression to be sampled, whatever else is stated.
fn samples(of: &Expression, wanted: &dyn Fn(Setting) -> bool) -> bool {
    let is = |of: &Expression| match &of.node {
        ExpressionNode::Path(path) => passed(path).last().is_some_and(wanted),
        _ => false,
    };
    match &of.node {
        ExpressionNode::Negative(inner) | ExpressionNode::Power(inner, _) => samples(inner, wanted),
        ExpressionNode::Binary { left, right, .. } => {
            samples(left, wanted) || samples(right, wanted)
        }
        ExpressionNode::Call(Function::Figure(figure), arguments) => {
            let mut parameters = figure.parameters.iter().zip(arguments);
            parameters.any(|(parameter, argument)| {
                parameter.direction == Direction::Mixed && is(argument) || samples(argument, wanted)
            })
        }
        ExpressionNode::Call(Function::Choose, arguments) => {
            let branches = arguments.get(1..).unwrap_or_default();
            !branches.is_empty() && branches.iter().all(|branch| samples(branch, wanted))
        }
        _ => false,
    }
}

/// Whether a value of a setting lies outside what a figure is valid for, so that it cannot be worked out.
fn outside(of: &Expression, setting: Setting, (low, high): (f64, f64)) -> bool {
    let within = |of: &Expression| outside(of, setting, (low, high));
    match &of.node {
        ExpressionNode::Call(Function::Choose, arguments) => {
            let branches = arguments.get(1..).unwrap_or_default();
            !branches.is_empty() && branches.iter().all(within)
        }
        ExpressionNode::Call(Function::Figure(figure), arguments) => {
            let mut parameters = figure.parameters.iter().zip(arguments);
            parameters.any(|(parameter, argument)| match &argument.node {
                ExpressionNode::Path(path) => {
                    let near = parameter.high.abs() * 1e-9;
                    let inside = parameter.low - near..=parameter.high + near;
                    passed(path).last() == Some(setting)
                        && !(inside.contains(&low) && inside.contains(&high))
                }
                _ => within(argument),
            })
        }
        _ => false,
    }
}

/// Whether an expression cannot be worked out where one of some settings is missing.
fn needs(of: &Expression, wanted: &dyn Fn(Setting) -> bool) -> bool {
    match &of.node {
        ExpressionNode::Path(path) => passed(path).last().is_some_and(wanted),
        ExpressionNode::Negative(inner) | ExpressionNode::Power(inner, _) => needs(inner, wanted),
        ExpressionNode::Binary { left, right, .. } => needs(left, wanted) || needs(right, wanted),
        ExpressionNode::Call(Function::Choose, arguments) => {
            let branches = arguments.get(1..).unwrap_or_default();
            !branches.is_empty() && branches.iter().all(|branch| needs(branch, wanted))
        }
        ExpressionNode::Call(Function::Figure(_), arguments) => {
            arguments.iter().any(|argument| needs(argument, wanted))
        }
        _ => false,
    }
}
