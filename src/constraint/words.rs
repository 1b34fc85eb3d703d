//! Sets of words: those of a choice, *no* and *yes*, or texts of which anybody may write another.

use std::collections::BTreeSet;

/// Words by number: either just the listed ones, or all but the listed ones.
///
/// A text that no standard mentions is a word too, without a number; it belongs to a set that is
/// all but some.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Words {
    listed: BTreeSet<u32>,
    but: bool,
}

impl Words {
    /// No word.
    pub(crate) const NONE: Self = Self {
        listed: BTreeSet::new(),
        but: false,
    };

    /// Any word, those included that nobody mentions.
    pub(crate) const ANY: Self = Self {
        listed: BTreeSet::new(),
        but: true,
    };

    /// These words.
    pub(crate) fn of(numbers: impl IntoIterator<Item = u32>) -> Self {
        Self {
            listed: numbers.into_iter().collect(),
            but: false,
        }
    }

    /// Whether it is none.
    pub(crate) fn is_empty(&self) -> bool {
        !self.but && self.listed.is_empty()
    }

    /// Whether it holds a word.
    pub(crate) fn holds(&self, number: u32) -> bool {
        self.listed.contains(&number) != self.but
    }

    /// Whether it holds words that nobody mentions.
    pub(crate) fn holds_others(&self) -> bool {
        self.but
    }

    /// The listed words, where it is these and no others.
    pub(crate) fn listed(&self) -> Option<&BTreeSet<u32>> {
        (!self.but).then_some(&self.listed)
    }

    /// All other words.
    pub(super) fn complement(&self) -> Self {
        Self {
            listed: self.listed.clone(),
            but: !self.but,
        }
    }

    /// The words of both.
    pub(super) fn meet(&self, other: &Self) -> Self {
        let listed = match (self.but, other.but) {
            (false, false) => &self.listed & &other.listed,
            (false, true) => &self.listed - &other.listed,
            (true, false) => &other.listed - &self.listed,
            (true, true) => &self.listed | &other.listed,
        };
        Self {
            listed,
            but: self.but && other.but,
        }
    }

    /// The words of either.
    pub(super) fn union(&self, other: &Self) -> Self {
        self.complement().meet(&other.complement()).complement()
    }

    /// Whether all of it lies in another.
    pub(super) fn lies_in(&self, other: &Self) -> bool {
        match (self.but, other.but) {
            (false, false) => self.listed.is_subset(&other.listed),
            (false, true) => self.listed.is_disjoint(&other.listed),
            // There is always one more word than those that are listed.
            (true, false) => false,
            (true, true) => other.listed.is_subset(&self.listed),
        }
    }

    /// Whether it has a word in common with another.
    pub(super) fn overlaps(&self, other: &Self) -> bool {
        !self.lies_in(&other.complement())
    }
}
