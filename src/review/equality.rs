//! Requirements that two values are exactly equal of which one is measured or worked out: no run shows that.

use std::collections::BTreeSet;

use super::context::ReviewContext;
use super::symbolic_run::Setting;
use super::{finding, words};
use crate::diagnostic::{Code, Diagnostic, Evidence, ReviewFinding};
use crate::types::{
    Compare, Condition, ConditionNode, Expression, Read, Reading, Standard, Type, Value,
};

/// Requirements that ask for two values to be exactly equal, where a tolerance of either breaks that.
pub(super) fn never_equal(context: &ReviewContext<'_>) -> Vec<ReviewFinding> {
    let standard = context.standard;
    let mut found = Vec::new();
    let mut seen = BTreeSet::new();
    for id in 0..context.clauses.list.len() {
        for part in context.requirement(id).condition.conjuncts() {
            let Some((one, other)) = equality(part) else {
                continue;
            };
            let (Some(one), Some(other)) = (Side::of(standard, one), Side::of(standard, other))
            else {
                continue;
            };
            let known = one.setting == other.setting || !(one.uncertain() || other.uncertain());
            if known || !seen.insert(part.span) {
                continue;
            }
            let (left, right) = (one.words(standard), other.words(standard));
            let said = Diagnostic::new(
                Code::NeverEqual,
                part.span,
                format!(
                    "`{}` asks for {left} and {right} to be exactly equal, which no measurement shows",
                    context.rule_name(id)
                ),
                "equal to the last digit",
            );
            let (left, right) = (one.name(standard), other.name(standard));
            let next = format!(
                "say how far apart they may be: `{left} at least 0.97 * {right}` and `{left} at most 1.03 * {right}` is 3 % to either side"
            );
            found.push(finding(said.help(next), Evidence::Read));
        }
    }
    found
}

/// The sides of an equality of quantities.
fn equality(condition: &Condition) -> Option<(&Expression, &Expression)> {
    match &condition.node {
        ConditionNode::Compare {
            compare: Compare::Is,
            left,
            right,
        } => Some((left, right)),
        _ => None,
    }
}

/// How a value comes about.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Comes {
    Set,
    Measured,
    WorkedOut,
    WithTolerance,
}

/// One side of an equality.
struct Side {
    /// The setting it rests on; where there are several, one that is not simply set.
    setting: Setting,
    comes: Comes,
}

impl Side {
    /// Of an expression that reads a setting which is no count.
    fn of(standard: &Standard, expression: &Expression) -> Option<Self> {
        let mut found: Option<Self> = None;
        expression.reads(&mut |read| {
            let Read::Value(path) = read else { return };
            let Some(setting) = path.setting() else {
                return;
            };
            let field = standard.field(setting.0, setting.1);
            let counts = match &field.ty {
                Type::Quantity(measure) => matches!(measure.reading, Reading::Count(_)),
                _ => true,
            };
            let plainly = |of: &Self| of.comes == Comes::Set;
            if !counts && found.as_ref().is_none_or(plainly) {
                let comes = comes(standard, setting);
                found = Some(Self { setting, comes });
            }
        });
        found
    }

    fn uncertain(&self) -> bool {
        self.comes != Comes::Set
    }

    fn name(&self, standard: &Standard) -> String {
        words::setting(standard, self.setting)
    }

    fn words(&self, standard: &Standard) -> String {
        let name = self.name(standard);
        match self.comes {
            Comes::Set => format!("`{name}`"),
            Comes::Measured => format!("`{name}`, which is measured,"),
            Comes::WorkedOut => format!("`{name}`, which is worked out,"),
            Comes::WithTolerance => format!("`{name}`, which records state with a tolerance,"),
        }
    }
}

fn comes(standard: &Standard, (kind, field): Setting) -> Comes {
    let of = standard.field(kind, field);
    if of.measured().is_some() {
        return Comes::Measured;
    }
    if of.formula.is_some() {
        return Comes::WorkedOut;
    }
    let spans = |value: &Value| match value {
        Value::Quantity(quantity) => quantity.low < quantity.high,
        _ => false,
    };
    let mut records = standard.records_of(kind);
    let with = records.any(|(_, record)| {
        let stated = record.values[field.0 as usize].as_ref();
        stated.is_some_and(|stated| spans(&stated.value))
    });
    if with {
        Comes::WithTolerance
    } else {
        Comes::Set
    }
}
