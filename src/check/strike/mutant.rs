//! Small changes of a standard: limits a step up or down, comparisons turned round, conditions left out.

use std::collections::BTreeSet;

use crate::diagnostic::Nudge;
use crate::interval::Bounds;
use crate::source::{Span, Store};
use crate::types::{
    Compare, Condition, ConditionNode, Constant, Expression, ExpressionNode, Field, FieldId, Hop,
    KindId, Limits, Measure, Path, Quantity, Reading, RecordId, RuleForm, Standard, Stated, Type,
    Value, last_digit,
};
use crate::units::{Exact, Unit, show_exact};

use super::super::affected::Reach;

/// One changed standard.
#[derive(Debug, Clone)]
pub(super) struct Mutant {
    /// `rule enough-tension`, `ink soft-white`.
    pub(super) owner: String,
    /// The limit or condition.
    pub(super) span: Span,
    pub(super) nudge: Nudge,
    /// The change in words.
    pub(super) words: String,
    pub(super) change: Change,
    /// The limit before and after, for a nudge.
    pub(super) limit: Option<Moved>,
    /// The rules that can come out otherwise.
    pub(super) rules: Vec<usize>,
    /// The condition that was changed; for a value of a record the rules say where it is read.
    pub(super) condition: Option<Condition>,
}

/// A limit that was moved.
#[derive(Debug, Clone)]
pub(super) struct Moved {
    pub(super) old: Exact,
    pub(super) new: Exact,
    pub(super) unit: Unit,
    /// The ends of a span, before and after.
    pub(super) ends: Vec<Exact>,
}

/// Where a standard is changed, and what stands there then.
#[derive(Debug, Clone)]
pub(super) enum Change {
    Condition(usize, Slot, Box<Condition>),
    Value(RecordId, FieldId, Value),
}

/// A condition of a rule.
#[derive(Debug, Clone, Copy)]
pub(super) enum Slot {
    When(usize),
    Require(usize),
    May(usize),
}

impl Change {
    /// Changes the standard; the same call once more undoes it.
    pub(super) fn swap(&mut self, standard: &mut Standard) {
        match self {
            Self::Condition(rule, slot, condition) => {
                let rule = &mut standard.rules[*rule];
                let place = match *slot {
                    Slot::When(at) => rule.when.get_mut(at),
                    Slot::Require(at) => {
                        rule.requirements.get_mut(at).map(|one| &mut one.condition)
                    }
                    Slot::May(at) => rule.permissions.get_mut(at),
                };
                if let Some(place) = place {
                    std::mem::swap(place, condition.as_mut());
                }
            }
            Self::Value(record, field, value) => {
                let values = &mut standard.records[record.0 as usize].values;
                if let Some(Some(stated)) = values.get_mut(field.0 as usize) {
                    std::mem::swap(&mut stated.value, value);
                }
            }
        }
    }
}

/// All changes to try.
#[derive(Debug, Default)]
pub(super) struct Mutants {
    pub(super) all: Vec<Mutant>,
    /// Nudges that no possible value could tell from the limit.
    pub(super) beyond: usize,
    /// Limits in specs that ship, left out.
    pub(super) shipped: usize,
    /// Ranges that no rule reads.
    pub(super) unread: Vec<(Span, String)>,
}

/// Finds all changes. Those of specs that ship are only made when asked for.
pub(super) fn mutants(standard: &Standard, store: &Store, reach: &Reach, shipped: bool) -> Mutants {
    let mut maker = Maker {
        standard,
        store,
        found: Mutants::default(),
    };
    let left_out = |span: Span| !shipped && store.get(span.file).name().starts_with('<');
    for (index, rule) in standard.rules.iter().enumerate() {
        if rule.form != RuleForm::Rule {
            continue;
        }
        if left_out(rule.span) {
            maker.found.shipped += rule.requirements.len() + rule.when.len();
            continue;
        }
        let owner = format!("rule {}", rule.name);
        for (at, when) in rule.when.iter().enumerate() {
            let words = format!("`when {}` could be left out", store.slice(when.span));
            let always = Condition {
                node: ConditionNode::And(Vec::new()),
                span: when.span,
            };
            maker.condition(index, &owner, Slot::When(at), when);
            maker.found.all.push(Mutant {
                owner: owner.clone(),
                span: when.span,
                nudge: Nudge::Dropped,
                words,
                change: Change::Condition(index, Slot::When(at), Box::new(always)),
                limit: None,
                rules: vec![index],
                condition: Some(when.clone()),
            });
        }
        for (at, one) in rule.requirements.iter().enumerate() {
            maker.condition(index, &owner, Slot::Require(at), &one.condition);
        }
        for (at, may) in rule.permissions.iter().enumerate() {
            maker.condition(index, &owner, Slot::May(at), may);
        }
    }
    maker.records(reach, &left_out);
    maker.found
}

struct Maker<'a> {
    standard: &'a Standard,
    store: &'a Store,
    found: Mutants,
}

/// A changed condition, still inside the one it is part of.
struct Variant {
    condition: Condition,
    /// The part that was changed.
    part: Condition,
    span: Span,
    nudge: Nudge,
    words: String,
    limit: Option<Moved>,
}

impl<'a> Maker<'a> {
    fn condition(&mut self, rule: usize, owner: &str, slot: Slot, condition: &Condition) {
        for variant in self.variants(condition) {
            self.found.all.push(Mutant {
                owner: owner.to_owned(),
                span: variant.span,
                nudge: variant.nudge,
                words: variant.words,
                change: Change::Condition(rule, slot, Box::new(variant.condition)),
                limit: variant.limit,
                rules: vec![rule],
                condition: Some(variant.part),
            });
        }
    }

    fn variants(&mut self, condition: &Condition) -> Vec<Variant> {
        let span = condition.span;
        let inside = |node| Condition { node, span };
        match &condition.node {
            ConditionNode::And(list) | ConditionNode::Or(list) => {
                let and = matches!(condition.node, ConditionNode::And(_));
                let mut found = Vec::new();
                for (at, part) in list.iter().enumerate() {
                    for mut variant in self.variants(part) {
                        let mut list = list.clone();
                        list[at] = variant.condition;
                        variant.condition = inside(match and {
                            true => ConditionNode::And(list),
                            false => ConditionNode::Or(list),
                        });
                        found.push(variant);
                    }
                }
                found
            }
            ConditionNode::Not(inner) => {
                let mut found = self.variants(inner);
                for variant in &mut found {
                    let changed =
                        std::mem::replace(&mut variant.condition, inside(ConditionNode::Wrong));
                    variant.condition = inside(ConditionNode::Not(Box::new(changed)));
                }
                found
            }
            ConditionNode::Wrong => Vec::new(),
            ConditionNode::Compare {
                compare,
                left,
                right,
            } => self.compared(condition, *compare, left, right),
            _ => vec![self.negated(condition)],
        }
    }

    fn negated(&self, condition: &Condition) -> Variant {
        Variant {
            condition: Condition {
                node: ConditionNode::Not(Box::new(condition.clone())),
                span: condition.span,
            },
            part: condition.clone(),
            span: condition.span,
            nudge: Nudge::Flipped,
            words: format!(
                "`{}` could be its opposite",
                self.store.slice(condition.span)
            ),
            limit: None,
        }
    }

    fn compared(
        &mut self,
        condition: &Condition,
        compare: Compare,
        left: &Expression,
        right: &Expression,
    ) -> Vec<Variant> {
        let span = condition.span;
        let with = |compare, left: &Expression, right: &Expression| Condition {
            node: ConditionNode::Compare {
                compare,
                left: left.clone(),
                right: right.clone(),
            },
            span,
        };
        let mut found = Vec::new();
        let (flipped, edge) = match compare {
            Compare::AtLeast => (Compare::AtMost, Compare::Above),
            Compare::AtMost => (Compare::AtLeast, Compare::Below),
            Compare::Above => (Compare::Below, Compare::AtLeast),
            Compare::Below => (Compare::Above, Compare::AtMost),
            Compare::Is => {
                found.push(self.negated(condition));
                (compare, compare)
            }
        };
        if compare != Compare::Is {
            let limit = self.store.slice(right.span);
            for (nudge, other) in [(Nudge::Flipped, flipped), (Nudge::Edge, edge)] {
                let words = format!(
                    "`{} {limit}` could be `{} {limit}`",
                    word(compare),
                    word(other)
                );
                found.push(Variant {
                    condition: with(other, left, right),
                    part: condition.clone(),
                    span: right.span,
                    nudge,
                    words,
                    limit: None,
                });
            }
        }
        let field = self.setting(left).or_else(|| self.setting(right));
        let direct = matches!(right.node, ExpressionNode::Constant(_));
        for (side, of) in [(false, left), (true, right)] {
            for nudge in [Nudge::Up, Nudge::Down] {
                for (changed, at, moved) in self.nudged(of, field, nudge) {
                    let range = field.and_then(|field| field.possible.as_ref());
                    let point = moved.unit.is_point();
                    if side && direct && idle(compare, &moved, range, point) {
                        self.found.beyond += 1;
                        continue;
                    }
                    let words = format!(
                        "`{}` could be `{}`",
                        self.store.slice(at),
                        show_exact(&moved.new, &moved.unit)
                    );
                    let condition = match side {
                        false => with(compare, &changed, right),
                        true => with(compare, left, &changed),
                    };
                    found.push(Variant {
                        condition,
                        part: Condition {
                            node: ConditionNode::Compare {
                                compare,
                                left: left.clone(),
                                right: right.clone(),
                            },
                            span,
                        },
                        span: at,
                        nudge,
                        words,
                        limit: (side && direct).then_some(moved),
                    });
                }
            }
        }
        found
    }

    /// The setting an expression is.
    fn setting(&self, expression: &Expression) -> Option<&'a Field> {
        match &expression.node {
            ExpressionNode::Path(path) => {
                let (kind, field) = last_field(path)?;
                Some(self.standard.field(kind, field))
            }
            ExpressionNode::Over {
                body: Some(body), ..
            } => self.setting(body),
            _ => None,
        }
    }

    /// An expression with one of its numbers a step off, for each of them.
    fn nudged(
        &self,
        expression: &Expression,
        field: Option<&Field>,
        nudge: Nudge,
    ) -> Vec<(Expression, Span, Moved)> {
        let of = |node| Expression {
            node,
            ..expression.clone()
        };
        let inner = |part: &Expression| self.nudged(part, None, nudge);
        match &expression.node {
            ExpressionNode::Constant(constant) => {
                let written = self.store.slice(expression.span);
                let step = step(field, &constant.unit, written);
                let moved = moved(&constant.exact, &step, &constant.unit, nudge);
                let (low, high) = (moved.new.outward().0, moved.new.outward().1);
                let node = ExpressionNode::Constant(Constant {
                    exact: moved.new.clone(),
                    bounds: Bounds::new(low, high),
                    unit: constant.unit.clone(),
                });
                vec![(of(node), expression.span, moved)]
            }
            ExpressionNode::Negative(part) => inner(part)
                .into_iter()
                .map(|(part, at, moved)| (of(ExpressionNode::Negative(Box::new(part))), at, moved))
                .collect(),
            ExpressionNode::Power(part, power) => inner(part)
                .into_iter()
                .map(|(part, at, moved)| {
                    (of(ExpressionNode::Power(Box::new(part), *power)), at, moved)
                })
                .collect(),
            ExpressionNode::Binary {
                operator,
                left,
                right,
            } => {
                let node = |left: &Expression, right: &Expression| {
                    of(ExpressionNode::Binary {
                        operator: *operator,
                        left: Box::new(left.clone()),
                        right: Box::new(right.clone()),
                    })
                };
                let mut found = Vec::new();
                for (part, at, moved) in inner(left) {
                    found.push((node(&part, right), at, moved));
                }
                for (part, at, moved) in inner(right) {
                    found.push((node(left, &part), at, moved));
                }
                found
            }
            ExpressionNode::Call(function, arguments) => {
                let mut found = Vec::new();
                for (index, argument) in arguments.iter().enumerate() {
                    for (part, at, moved) in inner(argument) {
                        let mut arguments = arguments.clone();
                        arguments[index] = part;
                        found.push((of(ExpressionNode::Call(*function, arguments)), at, moved));
                    }
                }
                found
            }
            ExpressionNode::Over {
                aggregate,
                kind,
                body: Some(body),
            } => inner(body)
                .into_iter()
                .map(|(part, at, moved)| {
                    let node = ExpressionNode::Over {
                        aggregate: *aggregate,
                        kind: *kind,
                        body: Some(Box::new(part)),
                    };
                    (of(node), at, moved)
                })
                .collect(),
            _ => Vec::new(),
        }
    }

    /// Ranges of records, and values of records that a rule takes as a limit.
    fn records(&mut self, reach: &Reach, left_out: &dyn Fn(Span) -> bool) {
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
                    let step_of = |part| step(Some(field), &limits.unit, part);
                    if let Some(end) = limits.low.as_ref().filter(|_| low_read) {
                        let moved = moved(end, &step_of(low), &limits.unit, nudge);
                        if idle(
                            Compare::AtLeast,
                            &moved,
                            field.possible.as_ref(),
                            limits.unit.is_point(),
                        ) {
                            self.found.beyond += 1;
                        } else {
                            let range = Limits {
                                low: Some(moved.new.clone()),
                                ..(**limits).clone()
                            };
                            let words = says(&moved);
                            found.push((nudge, Value::Range(Box::new(range)), moved, words));
                        }
                    }
                    if let Some(end) = limits.high.as_ref().filter(|_| high_read) {
                        let moved = moved(end, &step_of(high), &limits.unit, nudge);
                        if idle(
                            Compare::AtMost,
                            &moved,
                            field.possible.as_ref(),
                            limits.unit.is_point(),
                        ) {
                            self.found.beyond += 1;
                        } else {
                            let range = Limits {
                                high: Some(moved.new.clone()),
                                ..(**limits).clone()
                            };
                            let words = says(&moved);
                            found.push((nudge, Value::Range(Box::new(range)), moved, words));
                        }
                    }
                }
                Value::Quantity(quantity) => {
                    let step = step(Some(field), &quantity.unit, written);
                    let mut moved = moved(&quantity.nominal, &step, &quantity.unit, nudge);
                    let by = moved.new.sub(&moved.old);
                    let (low, high) = (quantity.low.add(&by), quantity.high.add(&by));
                    let mut words = says(&moved);
                    if quantity.low != quantity.high {
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
                    let value = Quantity {
                        nominal: moved.new.clone(),
                        bounds: Bounds::new(low.outward().0, high.outward().1),
                        low,
                        high,
                        ..(**quantity).clone()
                    };
                    found.push((nudge, Value::Quantity(Box::new(value)), moved, words));
                }
                _ => {}
            }
        }
        found
    }
}

fn word(compare: Compare) -> &'static str {
    match compare {
        Compare::AtLeast => "at least",
        Compare::AtMost => "at most",
        Compare::Above => "above",
        Compare::Below => "below",
        Compare::Is => "is",
    }
}

/// The setting a path ends on.
pub(super) fn last_field(path: &Path) -> Option<(KindId, FieldId)> {
    match path.hops.last()? {
        Hop::Field(kind, field) => Some((*kind, *field)),
        _ => None,
    }
}

fn moved(old: &Exact, step: &Exact, unit: &Unit, nudge: Nudge) -> Moved {
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
fn step(field: Option<&Field>, unit: &Unit, written: &str) -> Exact {
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
fn ends(written: &str) -> (&str, &str) {
    written.split_once(" to ").unwrap_or((written, written))
}

/// Whether no possible value could tell the moved limit from the old one.
fn idle(compare: Compare, moved: &Moved, possible: Option<&Limits>, point: bool) -> bool {
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
        ConditionNode::And(list) | ConditionNode::Or(list) => {
            for part in list {
                limits_in(part, found);
            }
        }
        ConditionNode::Not(inner) => limits_in(inner, found),
        ConditionNode::Compare { right, .. } => expression_settings(right, found),
        ConditionNode::Within { range: path, .. }
        | ConditionNode::RangeWithin { outer: path, .. } => both_ends(path, found),
        _ => {}
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
        ExpressionNode::Negative(part) | ExpressionNode::Power(part, _) => {
            expression_settings(part, found);
        }
        ExpressionNode::Binary { left, right, .. } => {
            expression_settings(left, found);
            expression_settings(right, found);
        }
        ExpressionNode::Call(_, arguments) => {
            for argument in arguments {
                expression_settings(argument, found);
            }
        }
        _ => {}
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
