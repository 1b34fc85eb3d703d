//! Numbers that are a multiple of one variable and something beside it.

use std::collections::BTreeSet;

use super::formula::Variable;
use crate::types::Arithmetic;
use crate::units::Exact;

/// A number `factor * variable + low`, where what stands beside may be anything up to `high`.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Affine {
    /// What it is a multiple of; the factor is not zero.
    pub(crate) term: Option<(Variable, Exact)>,
    /// What stands beside it, at least.
    pub(crate) low: Exact,
    /// What stands beside it, at most. More than `low` where a record states a tolerance.
    pub(crate) high: Exact,
    /// Whether both ends are reached, rather than rounded outward.
    pub(crate) reached: bool,
    /// Variables without which it has no value.
    pub(crate) needs: BTreeSet<Variable>,
}

impl Affine {
    /// A number.
    pub(crate) fn constant(value: Exact) -> Self {
        Self::between(value.clone(), value, true)
    }

    /// A number somewhere between two.
    pub(crate) fn between(low: Exact, high: Exact, reached: bool) -> Self {
        Self {
            term: None,
            low,
            high,
            reached,
            needs: BTreeSet::new(),
        }
    }

    /// A variable.
    pub(crate) fn variable(variable: Variable) -> Self {
        Self {
            term: Some((variable, Exact::ONE)),
            needs: BTreeSet::from([variable]),
            ..Self::constant(Exact::ZERO)
        }
    }

    /// Whether it is one number exactly.
    fn is_exact(&self) -> bool {
        self.low == self.high && self.reached
    }

    /// The exact number that it is, whatever the variables are.
    fn exact(&self) -> Option<&Exact> {
        (self.term.is_none() && self.is_exact()).then_some(&self.low)
    }

    /// So many times as much.
    pub(crate) fn times(self, factor: &Exact) -> Self {
        let (one, other) = (self.low.mul(factor), self.high.mul(factor));
        let (low, high) = if factor.signum() < 0 {
            (other, one)
        } else {
            (one, other)
        };
        let scaled = |(variable, by): (Variable, Exact)| (variable, by.mul(factor));
        Self {
            term: self.term.map(scaled).filter(|(_, by)| !by.is_zero()),
            low,
            high,
            ..self
        }
    }

    /// The sum; `None` where it is a multiple of two variables, or both have a tolerance, which may be the same one.
    pub(crate) fn plus(self, other: Self) -> Option<Self> {
        if !self.is_exact() && !other.is_exact() {
            return None;
        }
        let term = match (self.term, other.term) {
            (None, term) | (term, None) => term,
            (Some((variable, one)), Some((same, two))) if variable == same => {
                Some((variable, one.add(&two))).filter(|(_, by)| !by.is_zero())
            }
            _ => return None,
        };
        Some(Self {
            term,
            low: self.low.add(&other.low),
            high: self.high.add(&other.high),
            reached: self.reached && other.reached,
            needs: &self.needs | &other.needs,
        })
    }

    /// The difference, where it is affine too.
    pub(crate) fn minus(self, other: Self) -> Option<Self> {
        self.plus(other.times(&Exact::from_int(-1)))
    }

    /// Both joined by an operator, where that is affine too.
    pub(crate) fn joined(self, operator: Arithmetic, other: Self) -> Option<Self> {
        let needs = &self.needs | &other.needs;
        let joined = match operator {
            Arithmetic::Add => self.plus(other)?,
            Arithmetic::Subtract => self.minus(other)?,
            Arithmetic::Multiply => match (self.exact().cloned(), other.exact().cloned()) {
                (_, Some(factor)) => self.times(&factor),
                (Some(factor), _) => other.times(&factor),
                _ => return None,
            },
            Arithmetic::Divide => {
                let by = Exact::ONE.div(other.exact()?)?;
                self.times(&by)
            }
        };
        Some(Self { needs, ..joined })
    }
}
