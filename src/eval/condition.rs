//! Whether a condition is true at every point, at none, or at some.

use std::cell::Cell;

use super::evaluator::Evaluator;
use super::range::{Against, Aim, stop};
use super::sign::{decided, sign};
use super::{Binding, EvalContext, EvalError, Found, MissingValue, age};
use crate::interval::Bounds;
use crate::types::{
    Compare, Condition, ConditionNode, Constant, Expression, Limits, Path, PlaceInRun, Stating,
    Target, Type, Value,
};

/// What a condition comes to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Truth {
    /// True at every point.
    True,
    /// True at no point.
    False,
    /// True at some, or it cannot be shown.
    Unknown,
    /// Something is missing.
    Missing(Box<MissingValue>),
    /// Something cannot be worked out; a clause in plain words.
    CannotWorkOut(String),
}

impl From<EvalError> for Truth {
    fn from(stop: EvalError) -> Self {
        match stop {
            EvalError::Missing(gap) => Self::Missing(gap),
            EvalError::CannotWorkOut(words) => Self::CannotWorkOut(words),
        }
    }
}

impl Truth {
    fn of(known: bool) -> Self {
        if known { Self::True } else { Self::False }
    }

    /// How far it is from an answer, for joining: a gap weighs more than a doubt.
    fn weight(&self) -> u8 {
        match self {
            Self::True | Self::False => 0,
            Self::Unknown => 1,
            Self::CannotWorkOut(_) => 2,
            Self::Missing(_) => 3,
        }
    }

    /// Both.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        match (&self, &other) {
            (Self::False, _) | (_, Self::True) => self,
            (_, Self::False) | (Self::True, _) => other,
            _ if other.weight() > self.weight() => other,
            _ => self,
        }
    }

    /// Either.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        self.not().and(other.not()).not()
    }

    /// The opposite.
    #[must_use]
    #[allow(clippy::should_implement_trait)]
    pub fn not(self) -> Self {
        match self {
            Self::True => Self::False,
            Self::False => Self::True,
            other => other,
        }
    }
}

/// What a path leads to, for `is`.
#[derive(Debug, Clone, Copy)]
pub enum Held<'a> {
    /// A record or a thing of the run.
    Thing(Target),
    /// A choice, a text, an answer.
    Value(&'a Value),
    /// The place of a step.
    Place,
}

/// Works out a condition for one context and binding. The evaluator keeps worked-out settings between calls.
pub struct Conditions<'a> {
    context: EvalContext<'a>,
    plain: Evaluator<'a, Bounds>,
    /// Whether what is worked out helps something to hold when it is false.
    opposite: Cell<bool>,
}

impl<'a> Conditions<'a> {
    /// For a context.
    #[must_use]
    pub fn new(context: EvalContext<'a>) -> Self {
        Self {
            context,
            plain: Evaluator::new(context),
            opposite: Cell::new(false),
        }
    }

    /// What a condition comes to.
    #[must_use]
    pub fn truth(&self, binding: Binding, condition: &Condition) -> Truth {
        match &condition.node {
            ConditionNode::And(list) => {
                let mut all = Truth::True;
                for part in list {
                    all = all.and(self.truth(binding, part));
                    if all == Truth::False {
                        break;
                    }
                }
                all
            }
            ConditionNode::Or(list) => {
                let mut any = Truth::False;
                for part in list {
                    any = any.or(self.truth(binding, part));
                    if any == Truth::True {
                        break;
                    }
                }
                any
            }
            ConditionNode::Not(inner) => self.truth_of_when(binding, inner).not(),
            ConditionNode::Compare {
                compare,
                left,
                right,
            } => {
                let aim = Aim::difference(left, right);
                self.compare(binding, *compare, aim, left, right)
            }
            ConditionNode::Within { subject, range } => self.within(binding, subject, range),
            ConditionNode::RangeWithin { inner, outer } => self.range_within(binding, inner, outer),
            ConditionNode::Is { path, values, .. } => self.is(binding, path, values),
            ConditionNode::Same { left, right } => self.same(binding, left, right),
            ConditionNode::IsStep { path, kinds } => match self.context.locate(binding, path) {
                Ok(Found::Thing(step)) => {
                    let kind = self.context.run.target(self.context.standard, step).kind;
                    Truth::of(kinds.contains(&kind))
                }
                // Nothing stands there, so it is none of these.
                Err(EvalError::Missing(gap)) if gap.field.is_none() => Truth::False,
                Ok(_) => Truth::False,
                Err(stop) => stop.into(),
            },
            ConditionNode::Stated { path, how } => match how {
                Stating::Anyhow => self.stated(binding, path),
                Stating::WithTolerance | Stating::ReadWithin(_) => {
                    self.stated_so(binding, path, how)
                }
            },
            ConditionNode::NotOlder { path, than } => self.not_older(binding, path, than),
            ConditionNode::Wrong => Truth::CannotWorkOut("its text has an error".to_owned()),
        }
    }

    fn compare(
        &self,
        binding: Binding,
        compare: Compare,
        aim: Aim<'_>,
        left: &Expression,
        right: &Expression,
    ) -> Truth {
        let plain = (
            Aim::value(left).plain(&self.plain, binding),
            Aim::value(right).plain(&self.plain, binding),
        );
        if let (Ok((left, one)), Ok((right, other))) = &plain
            && let Some(known) = decided(compare, *left, *right)
        {
            return self.shown(known, one.sampled || other.sampled);
        }
        for side in [&plain.0, &plain.1] {
            if let Err(EvalError::Missing(gap)) = side {
                return Truth::Missing(gap.clone());
            }
        }
        self.undecided(binding, compare, aim)
    }

    fn undecided(&self, binding: Binding, compare: Compare, aim: Aim<'_>) -> Truth {
        match sign(&self.context, binding, aim, compare) {
            Ok(found) => found
                .known
                .map_or(Truth::Unknown, |known| self.shown(known, found.sampled)),
            Err(stop) => stop.into(),
        }
    }

    /// What a comparison is worth: sampled bounds show that something breaks, but are never the
    /// ground on which it holds.
    fn shown(&self, known: bool, sampled: bool) -> Truth {
        if sampled && known != self.opposite.get() {
            return Truth::Unknown;
        }
        Truth::of(known)
    }

    /// What a condition comes to on which something depends that holds when it is false: a `when`.
    #[must_use]
    pub fn truth_of_when(&self, binding: Binding, condition: &Condition) -> Truth {
        self.opposite.set(!self.opposite.get());
        let truth = self.truth(binding, condition);
        self.opposite.set(!self.opposite.get());
        truth
    }

    /// The range a setting holds.
    ///
    /// # Errors
    /// When it is not stated.
    pub fn limits(&self, binding: Binding, path: &Path) -> Result<&'a Limits, EvalError> {
        let Found::Setting(target, kind, field) = self.context.locate(binding, path)? else {
            return Err(EvalError::CannotWorkOut(format!(
                "`{}` is not a range",
                path.text
            )));
        };
        debug_assert!(matches!(
            self.context.standard.field(kind, field).ty,
            Type::Range(_)
        ));
        match self
            .context
            .stated(target, field)
            .map(|stated| &stated.value)
        {
            Some(Value::Range(limits)) => Ok(limits),
            _ => Err(self.context.gap(target, field, path)),
        }
    }

    fn within(&self, binding: Binding, subject: &Expression, path: &Path) -> Truth {
        let limits = match self.limits(binding, path) {
            Ok(limits) => limits,
            Err(stop) => return stop.into(),
        };
        let value = match Aim::value(subject).plain(&self.plain, binding) {
            Ok(value) => Some(value),
            Err(EvalError::Missing(gap)) => return Truth::Missing(gap),
            Err(EvalError::CannotWorkOut(_)) => None,
        };
        let mut both = Truth::True;
        for (compare, end) in [
            (Compare::AtLeast, &limits.low),
            (Compare::AtMost, &limits.high),
        ] {
            let Some(end) = end else { continue };
            let (low, high) = end.outward();
            let limit = Bounds::new(low, high);
            let quick = value
                .and_then(|(value, marks)| Some((decided(compare, value, limit)?, marks.sampled)));
            both = both.and(match quick {
                Some((known, sampled)) => self.shown(known, sampled),
                None => {
                    let aim = Aim {
                        value: subject,
                        against: Against::Limit(end),
                    };
                    self.undecided(binding, compare, aim)
                }
            });
        }
        both
    }

    fn range_within(&self, binding: Binding, inner: &Path, outer: &Path) -> Truth {
        let (inner, outer) = match (self.limits(binding, inner), self.limits(binding, outer)) {
            (Ok(inner), Ok(outer)) => (inner, outer),
            (Err(stop), _) | (_, Err(stop)) => return stop.into(),
        };
        Truth::of(inner.lie_within(outer))
    }

    fn is(&self, binding: Binding, path: &Path, values: &[Value]) -> Truth {
        match self.held(binding, path) {
            Ok(Held::Thing(found)) => {
                Truth::of(values.iter().any(|value| self.descends(found, value)))
            }
            Ok(Held::Value(held)) => Truth::of(values.iter().any(|value| same(held, value))),
            Ok(Held::Place) => Truth::False,
            Err(stop) => stop.into(),
        }
    }

    /// What `is` looks at: the thing or the word that a path leads to.
    ///
    /// # Errors
    /// When it is not stated.
    pub fn held(&self, binding: Binding, path: &Path) -> Result<Held<'a>, EvalError> {
        match self.context.locate(binding, path)? {
            Found::Setting(target, kind, field) => {
                if let Type::Reference(_) = self.context.standard.field(kind, field).ty {
                    let found = self.context.refer(target, kind, field, path, 0)?;
                    return Ok(Held::Thing(found));
                }
                match self.context.stated(target, field) {
                    Some(stated) => Ok(Held::Value(&stated.value)),
                    None => Err(self.context.gap(target, field, path)),
                }
            }
            Found::Thing(found) => {
                let thing = self.context.run.target(self.context.standard, found);
                let standard = self.context.standard;
                // Which of the records it is was not said, and may be any of them.
                let unsaid = || {
                    standard.kind(thing.kind).place == PlaceInRun::One
                        && !thing.not_listed
                        && standard.records_of(thing.kind).next().is_some()
                };
                if thing.parent.is_none() && (thing.header.is_none() || unsaid()) {
                    return Err(EvalError::Missing(Box::new(MissingValue {
                        at: Some(found),
                        field: None,
                        path: path.text.clone(),
                        words: None,
                    })));
                }
                Ok(Held::Thing(found))
            }
            Found::Place(_) => Ok(Held::Place),
        }
    }

    /// Whether a thing is a record, or takes its values from it.
    fn descends(&self, found: Target, value: &Value) -> bool {
        let Value::Reference(wanted) = value else {
            return false;
        };
        if found == *wanted {
            return true;
        }
        let Target::Record(wanted) = wanted else {
            return false;
        };
        let start = match found {
            Target::Record(record) => Some(record),
            Target::Thing(id) => self.context.run.instance(id).parent,
        };
        start.is_some_and(|record| self.context.standard.descends(record, *wanted))
    }

    fn same(&self, binding: Binding, left: &Path, right: &Path) -> Truth {
        let side = |path: &Path| -> Result<Value, EvalError> {
            match self.context.locate(binding, path)? {
                Found::Setting(target, kind, field) => {
                    if let Type::Reference(_) = self.context.standard.field(kind, field).ty {
                        return Ok(Value::Reference(
                            self.context.refer(target, kind, field, path, 0)?,
                        ));
                    }
                    match self.context.stated(target, field) {
                        Some(stated) => Ok(stated.value.clone()),
                        None => Err(self.context.gap(target, field, path)),
                    }
                }
                Found::Thing(target) => Ok(Value::Reference(target)),
                Found::Place(_) => Ok(Value::Wrong),
            }
        };
        match (side(left), side(right)) {
            (Ok(left), Ok(right)) => Truth::of(same(&left, &right)),
            (Err(stop), _) | (_, Err(stop)) => stop.into(),
        }
    }

    /// Whether a value is stated with a tolerance, or was read off lately. What is not counts as not stated: there may be
    /// a value, but not one that is good enough to say that this is so, nor one that says it is not.
    fn stated_so(&self, binding: Binding, path: &Path, how: &Stating) -> Truth {
        let (target, kind, field) = match self.context.locate(binding, path) {
            Ok(Found::Setting(target, kind, field)) => (target, kind, field),
            Ok(_) => return Truth::True,
            Err(EvalError::Missing(gap)) if gap.field.is_none() => return Truth::False,
            Err(stop) => return stop.into(),
        };
        let missing = |words: Option<String>| {
            Truth::Missing(Box::new(MissingValue {
                at: Some(target),
                field: Some(field),
                path: path.text.clone(),
                words,
            }))
        };
        let run = self.context.run;
        let Some(stated) = run.stated(self.context.standard, target, field) else {
            return missing(None);
        };
        let lacks = match how {
            Stating::Anyhow => None,
            Stating::WithTolerance => match &stated.value {
                Value::Quantity(of) if of.tolerance.is_some() || of.low < of.high => None,
                _ => Some("is stated without `±`, and how far it may be off is wanted".to_owned()),
            },
            Stating::ReadWithin(time) => {
                let standard = self.context.standard;
                age::too_old(standard, run, stated.taken.as_deref(), time)
            }
        };
        let declared = self.context.standard.field(kind, field);
        match lacks {
            None => Truth::True,
            Some(lacks) => missing(Some(format!("`{}` {lacks}", declared.name))),
        }
    }

    /// Whether a day lies at most so long back; the day of the check itself does, and one still to come.
    fn not_older(&self, binding: Binding, path: &Path, than: &Constant) -> Truth {
        match self.held(binding, path) {
            Ok(Held::Value(Value::Day(day))) => match self.context.run.on {
                Some(on) => Truth::of(day.days_to(on) <= age::days(than)),
                None => Truth::CannotWorkOut("it is not said for which day".to_owned()),
            },
            Ok(_) => Truth::False,
            Err(stop) => stop.into(),
        }
    }

    fn stated(&self, binding: Binding, path: &Path) -> Truth {
        match self.context.locate(binding, path) {
            Ok(Found::Setting(target, kind, field)) => {
                if self.context.stated(target, field).is_some() {
                    return Truth::True;
                }
                let declared = self.context.standard.field(kind, field);
                if let Some(formula) = &declared.formula {
                    let leaf = super::Leaf { target, field };
                    self.plain.begin();
                    return match self.plain.formula(leaf, formula).map_err(stop) {
                        Ok(_) => Truth::True,
                        Err(EvalError::Missing(_)) => Truth::False,
                        // There is a value, only not one that is known at every point.
                        Err(stop) => stop.into(),
                    };
                }
                if declared.reference.is_some() {
                    return Truth::of(self.context.refer(target, kind, field, path, 0).is_ok());
                }
                Truth::False
            }
            Ok(_) => Truth::True,
            // No such step is an answer; but whether an ink states something is not known of no ink.
            Err(EvalError::Missing(gap)) if gap.field.is_none() => Truth::False,
            Err(stop) => stop.into(),
        }
    }
}

/// Whether two values are the same choice, text, answer or thing.
fn same(one: &Value, other: &Value) -> bool {
    match (one, other) {
        (Value::Text(one), Value::Text(other)) => one == other,
        (Value::YesNo(one), Value::YesNo(other)) => one == other,
        (Value::Day(one), Value::Day(other)) => one == other,
        (Value::Choice(one), Value::Choice(other)) => one == other,
        (Value::Reference(one), Value::Reference(other)) => one == other,
        _ => false,
    }
}
