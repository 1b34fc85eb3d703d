//! What a setting may be: a stretch with open or closed ends, or some of its words. All exact.

use crate::units::Exact;

/// An end of a stretch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct End {
    /// Where it lies, in SI base units.
    pub(crate) value: Exact,
    /// Whether the end itself is left out.
    pub(crate) open: bool,
}

impl End {
    /// An end that belongs to the stretch.
    pub(crate) fn closed(value: Exact) -> Self {
        Self { value, open: false }
    }

    /// An end that does not.
    pub(crate) fn open(value: Exact) -> Self {
        Self { value, open: true }
    }
}

/// Values of one setting.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Set {
    /// Numbers; a missing end is unbounded.
    ExactInterval {
        /// Lower end.
        low: Option<End>,
        /// Upper end.
        high: Option<End>,
    },
    /// Words of a choice by number, or `no` (0) and `yes` (1).
    Words(u64),
}

/// The end that lets through less: the higher of two lower ends, or the lower of two upper ones.
fn stricter(one: Option<&End>, other: Option<&End>, lower: bool) -> Option<End> {
    let (Some(a), Some(b)) = (one, other) else {
        return one.or(other).cloned();
    };
    if a.value == b.value {
        return Some(if a.open { a } else { b }.clone());
    }
    Some(if (a.value > b.value) == lower { a } else { b }.clone())
}

impl Set {
    /// Everything.
    pub(crate) const ALL: Self = Self::ExactInterval {
        low: None,
        high: None,
    };

    /// From an end up.
    pub(crate) fn from(low: End) -> Self {
        Self::ExactInterval {
            low: Some(low),
            high: None,
        }
    }

    /// Up to an end.
    pub(crate) fn to(high: End) -> Self {
        Self::ExactInterval {
            low: None,
            high: Some(high),
        }
    }

    /// What both hold; `None` when that is nothing.
    pub(crate) fn meet(&self, other: &Self) -> Option<Self> {
        match (self, other) {
            (Self::Words(one), Self::Words(other)) => {
                let both = one & other;
                (both != 0).then_some(Self::Words(both))
            }
            (
                Self::ExactInterval { low, high },
                Self::ExactInterval {
                    low: other_low,
                    high: other_high,
                },
            ) => {
                let low = stricter(low.as_ref(), other_low.as_ref(), true);
                let high = stricter(high.as_ref(), other_high.as_ref(), false);
                if let (Some(low), Some(high)) = (&low, &high) {
                    let empty = low.value > high.value
                        || (low.value == high.value && (low.open || high.open));
                    if empty {
                        return None;
                    }
                }
                Some(Self::ExactInterval { low, high })
            }
            // A number is no word.
            _ => None,
        }
    }

    /// The whole numbers of a stretch, closed ends throughout; `None` when there are none.
    pub(crate) fn whole(&self) -> Option<Self> {
        let Self::ExactInterval { low, high } = self else {
            return Some(self.clone());
        };
        let low = low.as_ref().map(|end| {
            let up = end.value.ceil();
            let past = end.open && up == end.value;
            End::closed(if past { up.add(&Exact::ONE) } else { up })
        });
        let high = high.as_ref().map(|end| {
            let down = end.value.floor();
            let past = end.open && down == end.value;
            End::closed(if past { down.sub(&Exact::ONE) } else { down })
        });
        Self::ExactInterval { low, high }.meet(&Self::ALL)
    }

    /// Its ends.
    pub(crate) fn ends(&self) -> (Option<&End>, Option<&End>) {
        match self {
            Self::ExactInterval { low, high } => (low.as_ref(), high.as_ref()),
            Self::Words(_) => (None, None),
        }
    }

    /// Whether it holds a value.
    pub(crate) fn holds(&self, value: &Exact) -> bool {
        let point = Self::ExactInterval {
            low: Some(End::closed(value.clone())),
            high: Some(End::closed(value.clone())),
        };
        self.meet(&point).is_some()
    }
}

#[cfg(test)]
mod tests {
    use super::{End, Set};
    use crate::units::Exact;

    fn at(value: i64) -> Exact {
        Exact::from_int(value)
    }

    #[test]
    fn an_open_end_at_a_closed_one_leaves_nothing() {
        let above = Set::from(End::open(at(3)));
        let up_to = Set::to(End::closed(at(3)));
        assert!(above.meet(&up_to).is_none());
        assert!(Set::from(End::closed(at(3))).meet(&up_to).is_some());
    }

    #[test]
    fn whole_numbers_between_open_ends() {
        let between = Set::ExactInterval {
            low: Some(End::open(at(5))),
            high: Some(End::open(at(6))),
        };
        assert!(between.whole().is_none());
        assert!(between.meet(&Set::ALL).is_some());
    }
}
