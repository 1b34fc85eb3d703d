//! What a variable may be: numbers, words, and whether it may be left out. All exact.

use super::segment::{End, Segment, compare_low, touch};
use super::words::Words;
use crate::types::Compare;
use crate::units::Exact;

/// The values a variable may have, *not stated* among them.
///
/// The complement is taken in all there is: the complement of *at least 5* is *below 5*, any word,
/// and *not stated*; met with what the variable may be at all, only what fits it is left. So a
/// condition has one set where it is true and one where it is false, and what is missing lies in
/// neither: the false one is no complement of the true one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Domain {
    /// In order, none touching the next.
    numbers: Vec<Segment>,
    words: Words,
    not_stated: bool,
}

impl Domain {
    /// Nothing at all: no value, and not left out either.
    pub(crate) const NOTHING: Self = Self {
        numbers: Vec::new(),
        words: Words::NONE,
        not_stated: false,
    };

    /// The value is left out.
    pub(crate) const NOT_STATED: Self = Self {
        numbers: Vec::new(),
        words: Words::NONE,
        not_stated: true,
    };

    /// Any number, any word, or nothing stated.
    pub(crate) fn everything() -> Self {
        Self::NOTHING.complement()
    }

    /// Any value, so that it is stated.
    pub(crate) fn stated() -> Self {
        Self::NOT_STATED.complement()
    }

    /// Any number.
    pub(crate) fn numbers() -> Self {
        Self::between(None, None)
    }

    /// Numbers between two ends; a missing end is unbounded.
    pub(crate) fn between(low: Option<End>, high: Option<End>) -> Self {
        Self {
            numbers: Segment::between(low, high).into_iter().collect(),
            ..Self::NOTHING
        }
    }

    /// Numbers from an end up.
    pub(crate) fn from(low: End) -> Self {
        Self::between(Some(low), None)
    }

    /// Numbers up to an end.
    pub(crate) fn to(high: End) -> Self {
        Self::between(None, Some(high))
    }

    /// One number.
    pub(crate) fn point(value: Exact) -> Self {
        Self::between(Some(End::closed(value.clone())), Some(End::closed(value)))
    }

    /// The numbers that compare so with a limit.
    pub(crate) fn compared(compare: Compare, limit: &Exact) -> Self {
        let limit = limit.clone();
        match compare {
            Compare::AtLeast => Self::from(End::closed(limit)),
            Compare::AtMost => Self::to(End::closed(limit)),
            Compare::Above => Self::from(End::open(limit)),
            Compare::Below => Self::to(End::open(limit)),
            Compare::Is => Self::point(limit),
        }
    }

    /// Words.
    pub(crate) fn words(words: Words) -> Self {
        Self {
            words,
            ..Self::NOTHING
        }
    }

    /// The words among its values.
    pub(crate) fn of_words(&self) -> &Words {
        &self.words
    }

    /// The numbers among its values: in order, none touching the next.
    pub(crate) fn segments(&self) -> &[Segment] {
        &self.numbers
    }

    /// The same, or left out.
    pub(crate) fn or_not_stated(mut self) -> Self {
        self.not_stated = true;
        self
    }

    /// The same, and stated.
    pub(crate) fn and_stated(mut self) -> Self {
        self.not_stated = false;
        self
    }

    /// Whether it may be left out.
    pub(crate) fn may_be_missing(&self) -> bool {
        self.not_stated
    }

    /// Whether there is no such value.
    pub(crate) fn is_empty(&self) -> bool {
        self.numbers.is_empty() && self.words.is_empty() && !self.not_stated
    }

    /// What both hold.
    pub(crate) fn meet(&self, other: &Self) -> Self {
        let mut numbers = Vec::new();
        let (mut one, mut two) = (0, 0);
        while let (Some(mine), Some(theirs)) = (self.numbers.get(one), other.numbers.get(two)) {
            numbers.extend(mine.meet(theirs));
            if super::segment::compare_high(mine.high.as_ref(), theirs.high.as_ref()).is_lt() {
                one += 1;
            } else {
                two += 1;
            }
        }
        Self {
            numbers,
            words: self.words.meet(&other.words),
            not_stated: self.not_stated && other.not_stated,
        }
    }

    /// What either holds.
    pub(crate) fn union(&self, other: &Self) -> Self {
        let mut all: Vec<&Segment> = self.numbers.iter().chain(&other.numbers).collect();
        all.sort_by(|one, other| compare_low(one.low.as_ref(), other.low.as_ref()));
        let mut numbers: Vec<Segment> = Vec::with_capacity(all.len());
        for next in all {
            match numbers.last_mut() {
                Some(last) if touch(last.high.as_ref(), next.low.as_ref()) => {
                    let further =
                        super::segment::compare_high(last.high.as_ref(), next.high.as_ref());
                    if further.is_lt() {
                        last.high.clone_from(&next.high);
                    }
                }
                _ => numbers.push(next.clone()),
            }
        }
        Self {
            numbers,
            words: self.words.union(&other.words),
            not_stated: self.not_stated || other.not_stated,
        }
    }

    /// All that it does not hold.
    pub(crate) fn complement(&self) -> Self {
        let mut numbers = Vec::with_capacity(self.numbers.len() + 1);
        let mut low: Option<End> = None;
        let mut ended = false;
        for segment in &self.numbers {
            if let Some(end) = &segment.low {
                numbers.extend(Segment::between(low.take(), Some(end.other_side())));
            }
            match &segment.high {
                Some(end) => low = Some(end.other_side()),
                None => ended = true,
            }
        }
        if !ended {
            numbers.extend(Segment::between(low, None));
        }
        Self {
            numbers,
            words: self.words.complement(),
            not_stated: !self.not_stated,
        }
    }

    /// The whole numbers among its numbers; words and *not stated* stay.
    pub(crate) fn whole(&self) -> Self {
        let mut numbers: Vec<Segment> = Vec::new();
        for next in self.numbers.iter().filter_map(Segment::whole) {
            let joins = |last: &Segment| {
                let ends = last.high.as_ref().zip(next.low.as_ref());
                ends.is_none_or(|(high, low)| low.value <= high.value.add(&Exact::ONE))
            };
            match numbers.last_mut() {
                Some(last) if joins(last) => last.high = next.high,
                _ => numbers.push(next),
            }
        }
        Self {
            numbers,
            words: self.words.clone(),
            not_stated: self.not_stated,
        }
    }

    /// Whether all of it lies in another.
    pub(crate) fn lies_in(&self, other: &Self) -> bool {
        (!self.not_stated || other.not_stated)
            && self.numbers.iter().all(|mine| {
                let mut theirs = other.numbers.iter();
                theirs.any(|theirs| mine.lies_in(theirs))
            })
            && self.words.lies_in(&other.words)
    }

    /// Whether it has a value in common with another, *not stated* among them.
    pub(crate) fn overlaps(&self, other: &Self) -> bool {
        (self.not_stated && other.not_stated)
            || self.numbers.iter().any(|mine| {
                let mut theirs = other.numbers.iter();
                theirs.any(|theirs| mine.overlaps(theirs))
            })
            || self.words.overlaps(&other.words)
    }

    /// Whether it holds a number.
    pub(crate) fn holds(&self, value: &Exact) -> bool {
        self.numbers.iter().any(|segment| segment.holds(value))
    }

    /// The outermost ends of its numbers.
    pub(crate) fn ends(&self) -> (Option<&End>, Option<&End>) {
        let low = self.numbers.first().and_then(|first| first.low.as_ref());
        let high = self.numbers.last().and_then(|last| last.high.as_ref());
        (low, high)
    }

    /// Whether its numbers go on without end.
    pub(crate) fn is_endless(&self) -> bool {
        let (low, high) = self.ends();
        !self.numbers.is_empty() && (low.is_none() || high.is_none())
    }

    /// The same without the ends that are those of what is possible anyhow.
    pub(crate) fn beyond(&self, possible: &Self) -> Self {
        let (least, most) = possible.ends();
        let mut beyond = self.clone();
        if let Some(first) = beyond.numbers.first_mut()
            && first.low.as_ref() == least
        {
            first.low = None;
        }
        if let Some(last) = beyond.numbers.last_mut()
            && last.high.as_ref() == most
        {
            last.high = None;
        }
        beyond
    }

    /// A number in it, near the middle of its widest part; an open end is not taken.
    pub(crate) fn pick(&self) -> Option<Exact> {
        let width = |segment: &Segment| match (&segment.low, &segment.high) {
            (Some(low), Some(high)) => high.value.sub(&low.value).nearest(),
            _ => f64::INFINITY,
        };
        let mut widest = self.numbers.first()?;
        for segment in &self.numbers {
            if width(segment) > width(widest) {
                widest = segment;
            }
        }
        widest.pick()
    }
}

#[cfg(test)]
mod tests {
    use super::{Domain, End, Words};
    use crate::types::Compare;
    use crate::units::Exact;

    fn at(value: i64) -> Exact {
        Exact::from_int(value)
    }

    fn at_least(value: i64) -> Domain {
        Domain::compared(Compare::AtLeast, &at(value))
    }

    fn at_most(value: i64) -> Domain {
        Domain::compared(Compare::AtMost, &at(value))
    }

    /// Sets of all shapes, and their members among the numbers, words and *not stated* below.
    fn shapes() -> Vec<Domain> {
        let open = Domain::between(Some(End::open(at(1))), Some(End::open(at(4))));
        let gap = at_most(1).union(&Domain::from(End::open(at(3))));
        let points = Domain::point(at(1)).union(&Domain::point(at(2)));
        vec![
            Domain::NOTHING,
            Domain::NOT_STATED,
            Domain::everything(),
            Domain::stated(),
            Domain::numbers(),
            at_least(2),
            at_most(2),
            open.clone().or_not_stated(),
            open,
            gap.clone().or_not_stated(),
            gap,
            points,
            Domain::words(Words::of([0, 2])),
            Domain::words(Words::of([1])).complement(),
            Domain::words(Words::ANY),
        ]
    }

    /// Every member that tells the shapes apart: quarters from 0 to 5, three words and another, nothing stated.
    fn members(of: &Domain) -> Vec<bool> {
        let numbers = (0..=20).map(|quarter| of.holds(&Exact::ratio(quarter, 4)));
        let words = (0..3).map(|word| of.of_words().holds(word));
        let others = [of.of_words().holds_others(), of.may_be_missing()];
        numbers.chain(words).chain(others).collect()
    }

    #[test]
    fn the_algebra_is_that_of_sets() {
        for one in shapes() {
            let mine = members(&one);
            assert_eq!(one.complement().complement(), one);
            let other_side: Vec<bool> = mine.iter().map(|held| !held).collect();
            assert_eq!(members(&one.complement()), other_side, "{one:?}");
            assert_eq!(one.is_empty(), one == Domain::NOTHING);
            for other in shapes() {
                let theirs = members(&other);
                let pairs = || mine.iter().zip(&theirs);
                let both: Vec<bool> = pairs().map(|(a, b)| *a && *b).collect();
                let either: Vec<bool> = pairs().map(|(a, b)| *a || *b).collect();
                assert_eq!(members(&one.meet(&other)), both, "{one:?} {other:?}");
                assert_eq!(members(&one.union(&other)), either, "{one:?} {other:?}");
                assert_eq!(one.lies_in(&other), one.meet(&other) == one);
                assert_eq!(one.overlaps(&other), !one.meet(&other).is_empty());
            }
        }
    }

    #[test]
    fn what_is_not_stated_is_neither_true_nor_false() {
        let possible = Domain::numbers().or_not_stated();
        let holds = at_least(5);
        let fails = Domain::compared(Compare::Below, &at(5));
        assert_eq!(
            possible.meet(&holds.complement()),
            fails.clone().or_not_stated()
        );
        assert!(!possible.lies_in(&holds.union(&fails)));
        assert!(possible.clone().and_stated().lies_in(&holds.union(&fails)));
    }

    #[test]
    fn a_text_that_nobody_mentions_is_no_mentioned_one() {
        let red = Domain::words(Words::of([0]));
        let any = Domain::words(Words::ANY);
        assert!(any.meet(&red.complement()).of_words().holds_others());
        assert!(!any.lies_in(&red));
        let choice = Domain::words(Words::of([0, 1]));
        assert_eq!(
            choice.meet(&red.complement()),
            Domain::words(Words::of([1]))
        );
    }

    #[test]
    fn an_open_end_at_a_closed_one_leaves_nothing() {
        let above = Domain::from(End::open(at(3)));
        assert!(above.meet(&at_most(3)).is_empty());
        assert_eq!(at_least(3).meet(&at_most(3)), Domain::point(at(3)));
    }

    #[test]
    fn whole_numbers_between_open_ends() {
        let between = Domain::between(Some(End::open(at(5))), Some(End::open(at(6))));
        assert!(between.whole().is_empty());
        assert!(!between.is_empty());
        let parts = at_most(2).union(&at_least(3));
        assert_eq!(parts.whole(), Domain::numbers());
    }

    #[test]
    fn a_picked_value_lies_inside() {
        for set in shapes() {
            if let Some(picked) = set.pick() {
                assert!(set.holds(&picked), "{set:?} {picked:?}");
            } else {
                assert!(set.segments().is_empty());
            }
        }
    }

    #[test]
    fn numbers_without_end_are_called_so() {
        assert!(at_least(2).is_endless());
        assert!(!at_least(2).meet(&at_most(3)).is_endless());
        assert!(!Domain::words(Words::ANY).is_endless());
    }
}
