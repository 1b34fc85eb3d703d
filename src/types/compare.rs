//! The algebra of comparisons.

use std::cmp::Ordering;

use super::terms::Compare;

impl Compare {
    /// The same comparison read from the other side: `a at least b` is `b at most a`.
    #[must_use]
    pub const fn mirrored(self) -> Self {
        match self {
            Self::AtLeast => Self::AtMost,
            Self::AtMost => Self::AtLeast,
            Self::Above => Self::Below,
            Self::Below => Self::Above,
            Self::Is => Self::Is,
        }
    }

    /// The comparison that is true where this one is false; that of `is` has no word.
    #[must_use]
    pub const fn negated(self) -> Option<Self> {
        match self {
            Self::AtLeast => Some(Self::Below),
            Self::AtMost => Some(Self::Above),
            Self::Above => Some(Self::AtMost),
            Self::Below => Some(Self::AtLeast),
            Self::Is => None,
        }
    }

    /// Whether it is true of two values in this order.
    #[must_use]
    pub const fn holds(self, order: Ordering) -> bool {
        match self {
            Self::AtLeast => order.is_ge(),
            Self::AtMost => order.is_le(),
            Self::Above => order.is_gt(),
            Self::Below => order.is_lt(),
            Self::Is => order.is_eq(),
        }
    }

    /// Of two ranges, each with its ends included: whether it is true of all their points, or false of all; `None`
    /// where it is true of some.
    #[must_use]
    pub fn holds_between<T: PartialOrd>(self, left: (&T, &T), right: (&T, &T)) -> Option<bool> {
        let (all, none) = match self {
            Self::AtLeast => (left.0 >= right.1, left.1 < right.0),
            Self::AtMost => (left.1 <= right.0, left.0 > right.1),
            Self::Above => (left.0 > right.1, left.1 <= right.0),
            Self::Below => (left.1 < right.0, left.0 >= right.1),
            Self::Is => (
                left.0 == left.1 && right.0 == right.1 && left.0 == right.0,
                left.1 < right.0 || left.0 > right.1,
            ),
        };
        match (all, none) {
            (true, _) => Some(true),
            (_, true) => Some(false),
            _ => None,
        }
    }

    /// Whether it is a lower limit on what stands before it.
    #[must_use]
    pub const fn is_lower_limit(self) -> bool {
        matches!(self, Self::AtLeast | Self::Above)
    }

    /// As it is written.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::AtLeast => "at least",
            Self::AtMost => "at most",
            Self::Above => "above",
            Self::Below => "below",
            Self::Is => "is",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ALL: [Compare; 5] = [
        Compare::AtLeast,
        Compare::AtMost,
        Compare::Above,
        Compare::Below,
        Compare::Is,
    ];
    const ORDERS: [Ordering; 3] = [Ordering::Less, Ordering::Equal, Ordering::Greater];

    #[test]
    fn mirrored_and_negated_are_what_they_say() {
        for compare in ALL {
            assert_eq!(compare.mirrored().mirrored(), compare);
            for order in ORDERS {
                let turned = compare.mirrored().holds(order.reverse());
                assert_eq!(turned, compare.holds(order), "{compare:?} {order:?}");
                if let Some(negated) = compare.negated() {
                    assert_ne!(negated.holds(order), compare.holds(order));
                }
            }
        }
    }

    #[test]
    fn ranges_agree_with_their_points() {
        let ends: Vec<(i32, i32)> = (0..4)
            .flat_map(|low| (low..4).map(move |high| (low, high)))
            .collect();
        for compare in ALL {
            for left in &ends {
                for right in &ends {
                    let known = compare.holds_between((&left.0, &left.1), (&right.0, &right.1));
                    // A range has more points than the whole ones, but these decide all five.
                    let points: Vec<bool> = (left.0..=left.1)
                        .flat_map(|one| (right.0..=right.1).map(move |other| one.cmp(&other)))
                        .map(|order| compare.holds(order))
                        .collect();
                    let all = points.iter().all(|holds| *holds);
                    let none = points.iter().all(|holds| !holds);
                    let expected = (all || none).then_some(all);
                    assert_eq!(known, expected, "{compare:?} {left:?} {right:?}");
                }
            }
        }
    }
}
