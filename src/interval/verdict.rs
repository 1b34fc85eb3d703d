//! Truth that may be unknown, and comparisons that say so.
//!
//! A comparison of bounds is true if it holds for every pair of numbers inside, false if it holds
//! for none, and otherwise unknown. Logic is Kleene's: what the unknown part cannot change is known.

use std::ops;

use super::bounds::Bounds;

/// True, false, or not to be told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Truth {
    /// It holds everywhere inside.
    True,
    /// It holds nowhere inside.
    False,
    /// It holds at some points, or that cannot be told.
    Unknown,
}

impl Truth {
    /// Both.
    #[must_use]
    pub fn and(self, other: Truth) -> Truth {
        match (self, other) {
            (Truth::False, _) | (_, Truth::False) => Truth::False,
            (Truth::True, Truth::True) => Truth::True,
            _ => Truth::Unknown,
        }
    }

    /// At least one.
    #[must_use]
    pub fn or(self, other: Truth) -> Truth {
        match (self, other) {
            (Truth::True, _) | (_, Truth::True) => Truth::True,
            (Truth::False, Truth::False) => Truth::False,
            _ => Truth::Unknown,
        }
    }

    /// The opposite.
    #[must_use]
    #[allow(clippy::should_implement_trait)] // The operator is implemented below as well.
    pub fn not(self) -> Truth {
        match self {
            Truth::True => Truth::False,
            Truth::False => Truth::True,
            Truth::Unknown => Truth::Unknown,
        }
    }

    /// From two tests: true where `always` is, false where `never` is.
    fn told(always: bool, never: bool) -> Truth {
        match (always, never) {
            (true, _) => Truth::True,
            (_, true) => Truth::False,
            _ => Truth::Unknown,
        }
    }
}

impl From<bool> for Truth {
    fn from(value: bool) -> Truth {
        if value { Truth::True } else { Truth::False }
    }
}

impl ops::Not for Truth {
    type Output = Truth;
    fn not(self) -> Truth {
        Truth::not(self)
    }
}

/// Whether `a` is at least `b`.
#[must_use]
pub fn at_least(a: Bounds, b: Bounds) -> Truth {
    Truth::told(a.lo >= b.hi, a.hi < b.lo)
}

/// Whether `a` is at most `b`.
#[must_use]
pub fn at_most(a: Bounds, b: Bounds) -> Truth {
    at_least(b, a)
}

/// Whether `a` is above `b`.
#[must_use]
pub fn above(a: Bounds, b: Bounds) -> Truth {
    at_most(a, b).not()
}

/// Whether `a` is below `b`.
#[must_use]
pub fn below(a: Bounds, b: Bounds) -> Truth {
    at_least(a, b).not()
}

/// Whether `a` and `b` are the same number.
#[must_use]
pub fn equal(a: Bounds, b: Bounds) -> Truth {
    Truth::told(
        a.is_point() && b.is_point() && a.lo == b.lo,
        a.hi < b.lo || b.hi < a.lo,
    )
}
