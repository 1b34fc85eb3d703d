//! Limits that records state, steps of a limit, and what no possible value could tell apart.

use std::collections::BTreeSet;

use crate::diagnostic::Nudge;
use crate::interval::Bounds;
use crate::source::Span;
use crate::types::{
    Compare, Condition, ConditionNode, Expression, ExpressionNode, Field, FieldId, KindId, Limits,
    Measure, Path, Quantity, Reading, RecordId, RuleForm, Standard, Stated, Type, Value,
    last_digit,
};
use crate::units::{Exact, Unit, show_exact};

use super::super::impact::Reach;
use super::mutant::{Change, Maker, Moved, Mutant, last_field};
use super::plan_edits::sharp;

impl Maker<'_> {
    /// Ranges of records, and values of records that a rule takes as a limit.
    pub(super) fn records(&mut self, reach: &Reach, left_out: &dyn Fn(Span) -> bool) {
        let limits = limit_settings(self.standard);
        for (index, record) in self.standard.records.iter().enumerate() {
            let id = RecordId(u32::try_from(index).unwrap_or(u32::MAX));
            let kind = self.standard.kind(record.kind);
            let owner = format!("{} {}", kind.name, record.name);
            for (number, stated) in record.values.iter().enumerate() {
                let Some(stated) = stated else { continue };
                let field = FieldId(u32::try_from(number).unwrap_or(u32::MAX));
                let read = |high| limits.contains(&(record.kind, field, high));
                let is_limit = read(false) || read(true);
                let ranged = matches!(stated.value, Value::Range(_));
                if !is_limit && !ranged {
                    continue;
                }
                if left_out(stated.span) {
                    self.found.shipped += 1;
                    continue;
                }
                let declared = self.standard.field(record.kind, field);
                let rules = readers(self.standard, reach, record.kind, field);
                if !is_limit || rules.is_empty() {
                    let words = format!("`{}` of {owner}", declared.name);
                    self.found.unread.push((stated.span, words));
                    continue;
                }
                if let (Value::Range(limits), true) = (&stated.value, read(false) != read(true)) {
                    let end = if read(true) { "lower" } else { "upper" };
                    let there = if read(true) {
                        &limits.low
                    } else {
                        &limits.high
                    };
                    if there.is_some() {
                        let words = format!("the {end} end of `{}` of {owner}", declared.name);
                        self.found.unread.push((stated.span, words));
                    }
                }
                let ends = (read(false), read(true));
                for (nudge, value, moved, words) in self.values(declared, stated, ends) {
                    self.found.all.push(Mutant {
                        owner: owner.clone(),
                        span: stated.span,
                        nudge,
                        words: format!("{words} in `{}`", declared.name),
                        change: Change::Value(id, field, value),
                        limit: Some(moved),
                        rules: rules.clone(),
                        condition: None,
                    });
                }
            }
        }
    }

    fn values(
        &mut self,
        field: &Field,
        stated: &Stated,
        (low_read, high_read): (bool, bool),
    ) -> Vec<(Nudge, Value, Moved, String)> {
        let mut found = Vec::new();
        let written = self.store.slice(stated.span);
        let says = |moved: &Moved| {
            let show = |value| show_exact(value, &moved.unit);
            format!("`{}` could be `{}`", show(&moved.old), show(&moved.new))
        };
        for nudge in [Nudge::Up, Nudge::Down] {
            match &stated.value {
                Value::Range(limits) => {
                    let (low, high) = ends(written);
                    let ends = [
                        (Compare::AtLeast, &limits.low, low_read, low),
                        (Compare::AtMost, &limits.high, high_read, high),
                    ];
                    for (compare, end, read, part) in ends {
                        let Some(end) = end.as_ref().filter(|_| read) else {
                            continue;
                        };
                        let step = step(Some(field), &limits.unit, part);
                        let moved = moved(end, &step, &limits.unit, nudge);
                        let is_point = limits.unit.is_point();
                        if idle(compare, &moved, field.possible.as_ref(), is_point) {
                            self.found.beyond += 1;
                            continue;
                        }
                        let mut range = (**limits).clone();
                        match compare {
                            Compare::AtLeast => range.low = Some(moved.new.clone()),
                            _ => range.high = Some(moved.new.clone()),
                        }
                        let words = says(&moved);
                        found.push((nudge, Value::Range(Box::new(range)), moved, words));
                    }
                }
                Value::Quantity(quantity) if quantity.tolerance.is_none() && !sharp(quantity) => {
                    let (low, high) = ends(written);
                    for (upper, end, part) in
                        [(false, &quantity.low, low), (true, &quantity.high, high)]
                    {
                        let step = step(Some(field), &quantity.unit, part);
                        let mut moved = moved(end, &step, &quantity.unit, nudge);
                        let (low, high) = if upper {
                            (quantity.low.clone(), moved.new.clone())
                        } else {
                            (moved.new.clone(), quantity.high.clone())
                        };
                        // A run is held to the other end, too.
                        moved.ends = vec![low.clone(), high.clone()];
                        let words = says(&moved);
                        let value = span_of(quantity, low, high);
                        found.push((nudge, value, moved, words));
                    }
                }
                Value::Quantity(quantity) => {
                    let step = step(Some(field), &quantity.unit, written);
                    let mut moved = moved(&quantity.nominal, &step, &quantity.unit, nudge);
                    let by = moved.new.sub(&moved.old);
                    let (low, high) = (quantity.low.add(&by), quantity.high.add(&by));
                    let mut words = says(&moved);
                    if !sharp(quantity) {
                        let way = if nudge == Nudge::Up {
                            "higher"
                        } else {
                            "lower"
                        };
                        let size = show_exact(&step, &quantity.unit.as_difference());
                        words = format!("`{written}` could lie {} {way}", size.replace('Δ', ""));
                        moved.ends = vec![
                            quantity.low.clone(),
                            low.clone(),
                            quantity.high.clone(),
                            high.clone(),
                        ];
                    }
                    let mut value = span_of(quantity, low, high);
                    if let Value::Quantity(value) = &mut value {
                        value.nominal = moved.new.clone();
                    }
                    found.push((nudge, value, moved, words));
                }
                _ => {}
            }
        }
        found
    }
}

/// A stated value that lies between these two instead.
fn span_of(quantity: &Quantity, low: Exact, high: Exact) -> Value {
    let middle = low.add(&high).div(&Exact::from_int(2));
    Value::Quantity(Box::new(Quantity {
        nominal: middle.unwrap_or_else(|| quantity.nominal.clone()),
        bounds: Bounds::new(low.outward().0, high.outward().1),
        low,
        high,
        ..quantity.clone()
    }))
}

pub(super) fn moved(old: &Exact, step: &Exact, unit: &Unit, nudge: Nudge) -> Moved {
    let new = if nudge == Nudge::Down {
        old.sub(step)
    } else {
        old.add(step)
    };
    Moved {
        old: old.clone(),
        new,
        unit: unit.clone(),
        ends: Vec::new(),
    }
}

/// One step: of the setting's dial, else one unit of the last written digit. In SI base units.
pub(super) fn step(field: Option<&Field>, unit: &Unit, written: &str) -> Exact {
    if let Some(field) = field {
        let spelling = unit.as_difference();
        let own = |(_, of): &&(Exact, Unit)| {
            of.spelling() == unit.spelling() || of.spelling() == spelling.spelling()
        };
        if let Some((step, _)) = field.steps.iter().find(own).or_else(|| field.steps.first()) {
            return step.clone();
        }
        if let Type::Quantity(Measure {
            reading: Reading::Count(_),
            ..
        }) = field.ty
        {
            return Exact::ONE;
        }
    }
    let number = written
        .split(|character: char| !matches!(character, '0'..='9' | '.' | 'e' | 'E' | '-'))
        .find(|part| part.starts_with(|first: char| first.is_ascii_digit() || first == '-'));
    let digit = number.map_or(Exact::ONE, last_digit);
    unit.as_difference().to_base(&digit).abs()
}

/// The ends of a range as written: `80` and `200 /in`.
pub(super) fn ends(written: &str) -> (&str, &str) {
    written.split_once(" to ").unwrap_or((written, written))
}

/// Whether no possible value could tell the moved limit from the old one.
pub(super) fn idle(
    compare: Compare,
    moved: &Moved,
    possible: Option<&Limits>,
    point: bool,
) -> bool {
    let zero = Exact::ZERO;
    let least = match possible {
        Some(limits) => limits.low.as_ref(),
        None if point => None,
        None => Some(&zero),
    };
    let most = possible.and_then(|limits| limits.high.as_ref());
    let (low, high) = if moved.new > moved.old {
        (&moved.old, &moved.new)
    } else {
        (&moved.new, &moved.old)
    };
    // Told apart by values from the lower limit on and below the upper, or the other way round.
    let below = match compare {
        Compare::AtLeast | Compare::Below => least.is_some_and(|least| high <= least),
        _ => least.is_some_and(|least| high < least),
    };
    let above = match compare {
        Compare::AtLeast | Compare::Below => most.is_some_and(|most| low > most),
        _ => most.is_some_and(|most| low >= most),
    };
    compare != Compare::Is && (below || above)
}

/// Settings of records that some rule takes as a limit, and which end of a range.
fn limit_settings(standard: &Standard) -> BTreeSet<(KindId, FieldId, bool)> {
    let mut found = BTreeSet::new();
    for rule in &standard.rules {
        let required = rule.requirements.iter().map(|one| &one.condition);
        for condition in rule.when.iter().chain(required).chain(&rule.permissions) {
            limits_in(condition, &mut found);
        }
    }
    found
}

fn limits_in(condition: &Condition, found: &mut BTreeSet<(KindId, FieldId, bool)>) {
    match &condition.node {
        ConditionNode::Compare { right, .. } => expression_settings(right, found),
        ConditionNode::Within { range: path, .. }
        | ConditionNode::RangeWithin { outer: path, .. } => both_ends(path, found),
        _ => {
            for part in condition.children() {
                limits_in(part, found);
            }
        }
    }
}

fn both_ends(path: &Path, found: &mut BTreeSet<(KindId, FieldId, bool)>) {
    for high in [false, true] {
        found.extend(last_field(path).map(|(kind, field)| (kind, field, high)));
    }
}

fn expression_settings(expression: &Expression, found: &mut BTreeSet<(KindId, FieldId, bool)>) {
    match &expression.node {
        ExpressionNode::Path(path) => both_ends(path, found),
        ExpressionNode::RangeEnd { path, high } => {
            found.extend(last_field(path).map(|(kind, field)| (kind, field, *high)));
        }
        ExpressionNode::Over { .. } => {}
        _ => {
            for part in expression.children() {
                expression_settings(part, found);
            }
        }
    }
}

/// The rules that can rest on a setting.
fn readers(standard: &Standard, reach: &Reach, kind: KindId, field: FieldId) -> Vec<usize> {
    let reads = |(index, rule): &(usize, &crate::types::Rule)| {
        rule.form == RuleForm::Rule
            && (0..rule.requirements.len()).any(|one| reach.reads(*index, one, kind, field))
    };
    let rules = standard.rules.iter().enumerate();
    rules.filter(reads).map(|(index, _)| index).collect()
}
