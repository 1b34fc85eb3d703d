//! A stretch of numbers with exact ends, each open or closed.

use std::cmp::Ordering;

use crate::units::Exact;

/// An end of a segment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct End {
    /// Where it lies, in SI base units.
    pub(crate) value: Exact,
    /// Whether the end itself is left out.
    pub(crate) open: bool,
}

impl End {
    /// An end that belongs to the segment.
    pub(crate) fn closed(value: Exact) -> Self {
        Self { value, open: false }
    }

    /// An end that does not.
    pub(crate) fn open(value: Exact) -> Self {
        Self { value, open: true }
    }

    /// The end of what lies on its other side.
    pub(super) fn other_side(&self) -> Self {
        Self {
            value: self.value.clone(),
            open: !self.open,
        }
    }
}

/// Numbers between two ends; a missing end is unbounded. Never empty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Segment {
    /// Lower end.
    pub(crate) low: Option<End>,
    /// Upper end.
    pub(crate) high: Option<End>,
}

/// Which of two lower ends lies lower; a closed one lets through more than an open one.
pub(super) fn compare_low(one: Option<&End>, other: Option<&End>) -> Ordering {
    match (one, other) {
        (None, None) => Ordering::Equal,
        (None, Some(_)) => Ordering::Less,
        (Some(_), None) => Ordering::Greater,
        (Some(a), Some(b)) => a.value.cmp(&b.value).then(a.open.cmp(&b.open)),
    }
}

/// Which of two upper ends lies lower.
pub(super) fn compare_high(one: Option<&End>, other: Option<&End>) -> Ordering {
    match (one, other) {
        (None, None) => Ordering::Equal,
        (None, Some(_)) => Ordering::Greater,
        (Some(_), None) => Ordering::Less,
        (Some(a), Some(b)) => a.value.cmp(&b.value).then(b.open.cmp(&a.open)),
    }
}

/// Whether some number lies between a lower and an upper end.
pub(super) fn holds_some(low: Option<&End>, high: Option<&End>) -> bool {
    let (Some(low), Some(high)) = (low, high) else {
        return true;
    };
    match low.value.cmp(&high.value) {
        Ordering::Less => true,
        Ordering::Equal => !low.open && !high.open,
        Ordering::Greater => false,
    }
}

/// Whether what goes up to one end and what begins at the other leave no number out between them.
pub(super) fn touch(high: Option<&End>, low: Option<&End>) -> bool {
    let (Some(high), Some(low)) = (high, low) else {
        return true;
    };
    match low.value.cmp(&high.value) {
        Ordering::Less => true,
        Ordering::Equal => !(low.open && high.open),
        Ordering::Greater => false,
    }
}

impl Segment {
    /// Between two ends; `None` where no number lies there.
    pub(crate) fn between(low: Option<End>, high: Option<End>) -> Option<Self> {
        holds_some(low.as_ref(), high.as_ref()).then_some(Self { low, high })
    }

    /// What both hold.
    pub(super) fn meet(&self, other: &Self) -> Option<Self> {
        let low = match compare_low(self.low.as_ref(), other.low.as_ref()) {
            Ordering::Less => &other.low,
            _ => &self.low,
        };
        let high = match compare_high(self.high.as_ref(), other.high.as_ref()) {
            Ordering::Greater => &other.high,
            _ => &self.high,
        };
        holds_some(low.as_ref(), high.as_ref()).then(|| Self {
            low: low.clone(),
            high: high.clone(),
        })
    }

    /// Whether all of it lies in another.
    pub(super) fn lies_in(&self, other: &Self) -> bool {
        compare_low(self.low.as_ref(), other.low.as_ref()) != Ordering::Less
            && compare_high(self.high.as_ref(), other.high.as_ref()) != Ordering::Greater
    }

    /// Whether it has a number in common with another.
    pub(super) fn overlaps(&self, other: &Self) -> bool {
        holds_some(self.low.as_ref(), other.high.as_ref())
            && holds_some(other.low.as_ref(), self.high.as_ref())
    }

    /// Whether it holds a number.
    pub(super) fn holds(&self, value: &Exact) -> bool {
        let above = self
            .low
            .as_ref()
            .is_none_or(|low| low.value < *value || (low.value == *value && !low.open));
        let below = self
            .high
            .as_ref()
            .is_none_or(|high| high.value > *value || (high.value == *value && !high.open));
        above && below
    }

    /// Its whole numbers, with closed ends; `None` where it has none.
    pub(super) fn whole(&self) -> Option<Self> {
        let low = self.low.as_ref().map(|end| {
            let up = end.value.ceil();
            let past = end.open && up == end.value;
            End::closed(if past { up.add(&Exact::ONE) } else { up })
        });
        let high = self.high.as_ref().map(|end| {
            let down = end.value.floor();
            let past = end.open && down == end.value;
            End::closed(if past { down.sub(&Exact::ONE) } else { down })
        });
        Self::between(low, high)
    }

    /// A number in it, near the middle; an open end is not taken.
    pub(super) fn pick(&self) -> Option<Exact> {
        match (&self.low, &self.high) {
            (Some(low), Some(high)) if low.value == high.value => Some(low.value.clone()),
            (Some(low), Some(high)) => low.value.add(&high.value).div(&Exact::from_int(2)),
            (Some(low), None) if low.open => Some(low.value.add(&Exact::ONE)),
            (Some(low), None) => Some(low.value.clone()),
            (None, Some(high)) if high.open => Some(high.value.sub(&Exact::ONE)),
            (None, Some(high)) => Some(high.value.clone()),
            (None, None) => Some(Exact::ZERO),
        }
    }
}
