//! Whether a condition is true at every point, at none, or at some.

use std::cell::Cell;

use super::evaluator::Evaluator;
use super::range::{Against, Aim, stop};
use super::sign::{decided, sign};
use super::{Found, Frame, Gap, Scene, Stop};
use crate::interval::Bounds;
use crate::types::{
    Compare, Condition, ConditionNode, Expression, Limits, Path, Target, Type, Value,
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
    Missing(Box<Gap>),
    /// Something cannot be worked out; a clause in plain words.
    CannotWorkOut(String),
}

impl From<Stop> for Truth {
    fn from(stop: Stop) -> Self {
        match stop {
            Stop::Missing(gap) => Self::Missing(gap),
            Stop::CannotWorkOut(words) => Self::CannotWorkOut(words),
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

/// Works out a condition for one scene and frame. The evaluator keeps worked-out settings between calls.
pub struct Conditions<'a> {
    scene: Scene<'a>,
    plain: Evaluator<'a, Bounds>,
    /// Whether what is worked out helps something to hold when it is false.
    opposite: Cell<bool>,
}

impl<'a> Conditions<'a> {
    /// For a scene.
    #[must_use]
    pub fn new(scene: Scene<'a>) -> Self {
        Self {
            scene,
            plain: Evaluator::new(scene),
            opposite: Cell::new(false),
        }
    }

    /// What a condition comes to.
    #[must_use]
    pub fn truth(&self, frame: Frame, condition: &Condition) -> Truth {
        match &condition.node {
            ConditionNode::And(list) => {
                let mut all = Truth::True;
                for part in list {
                    all = all.and(self.truth(frame, part));
                    if all == Truth::False {
                        break;
                    }
                }
                all
            }
            ConditionNode::Or(list) => {
                let mut any = Truth::False;
                for part in list {
                    any = any.or(self.truth(frame, part));
                    if any == Truth::True {
                        break;
                    }
                }
                any
            }
            ConditionNode::Not(inner) => self.truth_of_when(frame, inner).not(),
            ConditionNode::Compare {
                compare,
                left,
                right,
            } => {
                let aim = Aim {
                    value: left,
                    against: Against::Value(right),
                };
                self.compare(frame, *compare, aim, left, right)
            }
            ConditionNode::Within { subject, range } => self.within(frame, subject, range),
            ConditionNode::RangeWithin { inner, outer } => self.range_within(frame, inner, outer),
            ConditionNode::Is { path, values, .. } => self.is(frame, path, values),
            ConditionNode::Same { left, right } => self.same(frame, left, right),
            ConditionNode::IsStep { path, kinds } => match self.scene.locate(frame, path) {
                Ok(Found::Thing(step)) => {
                    let kind = self.scene.run.target(self.scene.standard, step).kind;
                    Truth::of(kinds.contains(&kind))
                }
                // Nothing stands there, so it is none of these.
                Err(Stop::Missing(gap)) if gap.field.is_none() => Truth::False,
                Ok(_) => Truth::False,
                Err(stop) => stop.into(),
            },
            ConditionNode::Stated(path) => self.stated(frame, path),
            ConditionNode::Wrong => Truth::CannotWorkOut("its text has an error".to_owned()),
        }
    }

    fn compare(
        &self,
        frame: Frame,
        compare: Compare,
        aim: Aim<'_>,
        left: &Expression,
        right: &Expression,
    ) -> Truth {
        let plain = (
            Aim::value(left).plain(&self.plain, frame),
            Aim::value(right).plain(&self.plain, frame),
        );
        if let (Ok((left, one)), Ok((right, other))) = &plain
            && let Some(known) = decided(compare, *left, *right)
        {
            return self.shown(known, one.sampled || other.sampled);
        }
        for side in [&plain.0, &plain.1] {
            if let Err(Stop::Missing(gap)) = side {
                return Truth::Missing(gap.clone());
            }
        }
        self.undecided(frame, compare, aim)
    }

    fn undecided(&self, frame: Frame, compare: Compare, aim: Aim<'_>) -> Truth {
        match sign(&self.scene, frame, aim, compare) {
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
    pub fn truth_of_when(&self, frame: Frame, condition: &Condition) -> Truth {
        self.opposite.set(!self.opposite.get());
        let truth = self.truth(frame, condition);
        self.opposite.set(!self.opposite.get());
        truth
    }

    /// The plain interval of an expression, where it has one that was not sampled.
    #[must_use]
    pub fn shown_bounds(&self, frame: Frame, expression: &Expression) -> Option<Bounds> {
        let (bounds, marks) = Aim::value(expression).plain(&self.plain, frame).ok()?;
        (!marks.sampled).then_some(bounds)
    }

    /// The range a setting holds.
    ///
    /// # Errors
    /// When it is not stated.
    pub fn limits(&self, frame: Frame, path: &Path) -> Result<&'a Limits, Stop> {
        let Found::Setting(target, kind, field) = self.scene.locate(frame, path)? else {
            return Err(Stop::CannotWorkOut(format!(
                "`{}` is not a range",
                path.text
            )));
        };
        debug_assert!(matches!(
            self.scene.standard.field(kind, field).ty,
            Type::Range(_)
        ));
        match self.scene.stated(target, field).map(|stated| &stated.value) {
            Some(Value::Range(limits)) => Ok(limits),
            _ => Err(self.scene.gap(target, field, path)),
        }
    }

    fn within(&self, frame: Frame, subject: &Expression, path: &Path) -> Truth {
        let limits = match self.limits(frame, path) {
            Ok(limits) => limits,
            Err(stop) => return stop.into(),
        };
        let value = match Aim::value(subject).plain(&self.plain, frame) {
            Ok(value) => Some(value),
            Err(Stop::Missing(gap)) => return Truth::Missing(gap),
            Err(Stop::CannotWorkOut(_)) => None,
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
                    self.undecided(frame, compare, aim)
                }
            });
        }
        both
    }

    fn range_within(&self, frame: Frame, inner: &Path, outer: &Path) -> Truth {
        let (inner, outer) = match (self.limits(frame, inner), self.limits(frame, outer)) {
            (Ok(inner), Ok(outer)) => (inner, outer),
            (Err(stop), _) | (_, Err(stop)) => return stop.into(),
        };
        Truth::of(inner.lie_within(outer))
    }

    fn is(&self, frame: Frame, path: &Path, values: &[Value]) -> Truth {
        match self.scene.locate(frame, path) {
            Ok(Found::Setting(target, kind, field)) => {
                if let Type::Reference(_) = self.scene.standard.field(kind, field).ty {
                    return match self.scene.refer(target, kind, field, path, 0) {
                        Ok(found) => {
                            Truth::of(values.iter().any(|value| self.descends(found, value)))
                        }
                        Err(stop) => stop.into(),
                    };
                }
                match self.scene.stated(target, field) {
                    Some(stated) => {
                        Truth::of(values.iter().any(|value| same(&stated.value, value)))
                    }
                    None => self.scene.gap(target, field, path).into(),
                }
            }
            Ok(Found::Thing(found)) => {
                let thing = self.scene.run.target(self.scene.standard, found);
                if thing.parent.is_none() && thing.header.is_none() {
                    return Stop::Missing(Box::new(Gap {
                        at: Some(found),
                        field: None,
                        path: path.text.clone(),
                        words: None,
                    }))
                    .into();
                }
                Truth::of(values.iter().any(|value| self.descends(found, value)))
            }
            Ok(Found::Place(_)) => Truth::False,
            Err(stop) => stop.into(),
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
            Target::Thing(id) => self.scene.run.instance(id).parent,
        };
        start.is_some_and(|record| self.scene.standard.descends(record, *wanted))
    }

    fn same(&self, frame: Frame, left: &Path, right: &Path) -> Truth {
        let side = |path: &Path| -> Result<Value, Stop> {
            match self.scene.locate(frame, path)? {
                Found::Setting(target, kind, field) => {
                    if let Type::Reference(_) = self.scene.standard.field(kind, field).ty {
                        return Ok(Value::Reference(
                            self.scene.refer(target, kind, field, path, 0)?,
                        ));
                    }
                    match self.scene.stated(target, field) {
                        Some(stated) => Ok(stated.value.clone()),
                        None => Err(self.scene.gap(target, field, path)),
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

    fn stated(&self, frame: Frame, path: &Path) -> Truth {
        match self.scene.locate(frame, path) {
            Ok(Found::Setting(target, kind, field)) => {
                if self.scene.stated(target, field).is_some() {
                    return Truth::True;
                }
                let declared = self.scene.standard.field(kind, field);
                if let Some(formula) = &declared.formula {
                    let leaf = super::Leaf { target, field };
                    self.plain.begin();
                    return match self.plain.formula(leaf, formula).map_err(stop) {
                        Ok(_) => Truth::True,
                        Err(Stop::Missing(_)) => Truth::False,
                        // There is a value, only not one that is known at every point.
                        Err(stop) => stop.into(),
                    };
                }
                if declared.reference.is_some() {
                    return Truth::of(self.scene.refer(target, kind, field, path, 0).is_ok());
                }
                Truth::False
            }
            Ok(_) => Truth::True,
            // No such step is an answer; but whether an ink states something is not known of no ink.
            Err(Stop::Missing(gap)) if gap.field.is_none() => Truth::False,
            Err(stop) => stop.into(),
        }
    }
}

/// What a condition comes to.
#[must_use]
pub fn condition(scene: Scene<'_>, frame: Frame, of: &Condition) -> Truth {
    Conditions::new(scene).truth(frame, of)
}

/// Whether two values are the same choice, text, answer or thing.
fn same(one: &Value, other: &Value) -> bool {
    match (one, other) {
        (Value::Text(one), Value::Text(other)) => one == other,
        (Value::YesNo(one), Value::YesNo(other)) => one == other,
        (Value::Choice(one), Value::Choice(other)) => one == other,
        (Value::Reference(one), Value::Reference(other)) => one == other,
        _ => false,
    }
}
