//! Whether a condition is decided by a record alone: true or false whatever else the run states.

use crate::types::{
    Arithmetic, Condition, ConditionNode, Expression, ExpressionNode, FieldId, Hop, Instance,
    KindId, Path, PlaceInRun, RecordId, Root, Standard, Stating, Target, Type, Value,
};
use crate::units::Exact;

/// One record of a kind that a run takes one of at a place.
#[derive(Clone, Copy)]
pub(super) struct Given<'s> {
    pub(super) standard: &'s Standard,
    pub(super) kind: KindId,
    pub(super) record: RecordId,
}

impl<'s> Given<'s> {
    /// What the record states, or a record it is.
    fn stated(&self, field: FieldId) -> Option<&'s Value> {
        stated(self.standard, self.record, field).map(|(_, stated)| &stated.value)
    }

    /// The setting of the record that a path ends at.
    fn setting(&self, path: &Path) -> Option<FieldId> {
        let (last, before) = path.hops.split_last()?;
        let Hop::Field(kind, field) = last else {
            return None;
        };
        let here = match before.last() {
            Some(hop) => self.leads_to_kind(hop),
            // A run's one thing of the kind is taken to be the record.
            None => matches!(path.root, Root::Single(root) if root == self.kind),
        };
        (here && *kind == self.kind).then_some(*field)
    }

    /// Whether a path ends at the record itself: `screen.ink`.
    fn is_record(&self, path: &Path) -> bool {
        path.hops.last().is_some_and(|hop| self.leads_to_kind(hop))
    }

    fn leads_to_kind(&self, hop: &Hop) -> bool {
        let Hop::Field(kind, field) = hop else {
            return false;
        };
        self.standard.field(*kind, *field).ty == Type::Reference(self.kind)
    }

    /// The lowest and highest value of an expression; `None` when the record alone does not tell.
    fn span(&self, expression: &Expression) -> Option<(Exact, Exact)> {
        match &expression.node {
            ExpressionNode::Constant(constant) => {
                Some((constant.exact.clone(), constant.exact.clone()))
            }
            ExpressionNode::Path(path) => {
                let field = self.setting(path)?;
                match self.stated(field) {
                    Some(Value::Quantity(quantity)) => {
                        Some((quantity.low.clone(), quantity.high.clone()))
                    }
                    Some(_) => None,
                    None => self
                        .part_of_a_whole(field)
                        .then_some((Exact::ZERO, Exact::ZERO)),
                }
            }
            ExpressionNode::Binary {
                operator: Arithmetic::Add,
                left,
                right,
            } => {
                let (left, right) = (self.span(left)?, self.span(right)?);
                Some((left.0.add(&right.0), left.1.add(&right.1)))
            }
            _ => None,
        }
    }

    /// Whether a share is nothing because the stated ones make the whole already.
    fn part_of_a_whole(&self, field: FieldId) -> bool {
        let parts = &self.standard.kind(self.kind).parts;
        parts
            .iter()
            .filter(|whole| whole.fields.contains(&field))
            .any(|whole| {
                let mut total = Exact::ZERO;
                for part in &whole.fields {
                    if let Some(Value::Quantity(quantity)) = self.stated(*part) {
                        total = total.add(&quantity.nominal);
                    }
                }
                total == whole.total
            })
    }

    /// Whether a condition is true or false by the record alone.
    pub(super) fn decides(&self, condition: &Condition) -> Option<bool> {
        match &condition.node {
            ConditionNode::Compare {
                compare,
                left,
                right,
            } => {
                let (left, right) = (self.span(left)?, self.span(right)?);
                compare.holds_between((&left.0, &left.1), (&right.0, &right.1))
            }
            ConditionNode::Is { path, values, .. } => self.is_one_of(path, values),
            ConditionNode::Stated {
                path,
                how: Stating::Anyhow,
            } => {
                let field = self.setting(path)?;
                if self.stated(field).is_some() {
                    return Some(true);
                }
                // A thing of the run may state what its record leaves open; a record stays as it is.
                let declared = self.standard.field(self.kind, field);
                let closed = self.standard.kind(self.kind).place == PlaceInRun::Record
                    && declared.formula.is_none();
                closed.then_some(false)
            }
            ConditionNode::And(parts) => self.all(parts, false),
            ConditionNode::Or(parts) => self.all(parts, true),
            ConditionNode::Not(inner) => self.decides(inner).map(|inner| !inner),
            ConditionNode::Within { .. }
            | ConditionNode::RangeWithin { .. }
            | ConditionNode::Same { .. }
            | ConditionNode::Stated { .. }
            | ConditionNode::NotOlder { .. }
            | ConditionNode::IsStep { .. }
            | ConditionNode::Wrong => None,
        }
    }

    /// `or` when `settles` is true: one true part settles it; `and` when it is false.
    fn all(&self, parts: &[Condition], settles: bool) -> Option<bool> {
        let mut open = false;
        for part in parts {
            match self.decides(part) {
                Some(value) if value == settles => return Some(settles),
                Some(_) => {}
                None => open = true,
            }
        }
        (!open).then_some(!settles)
    }

    fn is_one_of(&self, path: &Path, values: &[Value]) -> Option<bool> {
        if self.is_record(path) {
            return Some(values.iter().any(|value| match value {
                Value::Reference(Target::Record(wanted)) => {
                    self.standard.descends(self.record, *wanted)
                }
                _ => false,
            }));
        }
        let stated = self.stated(self.setting(path)?)?;
        let same = |wanted: &Value| match (stated, wanted) {
            (Value::Choice(one), Value::Choice(other)) => Some(one == other),
            (Value::YesNo(one), Value::YesNo(other)) => Some(one == other),
            (Value::Text(one), Value::Text(other)) => Some(one == other),
            (Value::Reference(Target::Record(one)), Value::Reference(Target::Record(other))) => {
                Some(self.standard.descends(*one, *other))
            }
            _ => None,
        };
        let mut any = false;
        for wanted in values {
            any |= same(wanted)?;
        }
        Some(any)
    }
}

/// A value of a record, its own or one it has from a record it is, and who states it.
pub(super) fn stated(
    standard: &Standard,
    record: RecordId,
    field: FieldId,
) -> Option<(RecordId, &crate::types::Stated)> {
    let mut at = record;
    for _ in 0..=standard.records.len() {
        let here: &Instance = standard.record(at);
        if let Some(Some(stated)) = here.values.get(field.0 as usize) {
            return Some((at, stated));
        }
        at = here.parent?;
    }
    None
}
