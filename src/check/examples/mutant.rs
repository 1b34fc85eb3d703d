//! Small changes of a standard: limits a step up or down, comparisons turned round, conditions left out.

use crate::diagnostic::Nudge;
use crate::interval::Bounds;
use crate::source::{Span, Store};
use crate::types::{
    Compare, Condition, ConditionNode, Constant, Expression, ExpressionNode, Field, FieldId, Hop,
    KindId, Path, RecordId, RuleForm, Standard, Value,
};
use crate::units::{Exact, Unit, show_exact};

use super::super::impact::Reach;
use super::cells::says_the_same;
use super::limits::{idle, moved, step};

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
    /// The conditions that must be true for the changed part to be met.
    pub(super) fn met_when(&self, standard: &Standard, rule: usize) -> Vec<Condition> {
        let built = &standard.rules[rule];
        let mut found = built.when.clone();
        if let Self::Condition(rule, Slot::Require(at), _) = self {
            let changed = &standard.rules[*rule].requirements[*at];
            found.extend(changed.when.iter().cloned());
        }
        found
    }

    /// The requirement that must be looked at for the change to be met; any, where it is none.
    pub(super) fn requirement(&self, standard: &Standard) -> Option<usize> {
        match self {
            Self::Condition(rule, Slot::Require(at), _) => {
                let changed = &standard.rules[*rule].requirements[*at];
                changed.cell.is_some().then_some(*at)
            }
            _ => None,
        }
    }

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
    /// Changes that no possible run could tell.
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
        let table = rule.table.as_deref();
        let form = if table.is_some() { "table" } else { "rule" };
        let owner = format!("{form} {}", rule.name);
        for (at, when) in rule.when.iter().enumerate() {
            let words = format!("`when {}` could be left out", store.slice(when.span));
            let always = Condition {
                node: ConditionNode::And(Vec::new()),
                span: when.span,
            };
            maker.condition(index, &owner, Slot::When(at), when);
            if table.is_some_and(|table| says_the_same(standard, table, when)) {
                maker.found.beyond += 1;
                continue;
            }
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
        if let Some(table) = table {
            maker.cells(index, &owner, rule, table);
        } else {
            for (at, one) in rule.requirements.iter().enumerate() {
                maker.condition(index, &owner, Slot::Require(at), &one.condition);
            }
        }
        for (at, may) in rule.permissions.iter().enumerate() {
            maker.condition(index, &owner, Slot::May(at), may);
        }
    }
    maker.records(reach, &left_out);
    maker.found
}

pub(super) struct Maker<'a> {
    pub(super) standard: &'a Standard,
    pub(super) store: &'a Store,
    pub(super) found: Mutants,
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
    pub(super) fn setting(&self, expression: &Expression) -> Option<&'a Field> {
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
