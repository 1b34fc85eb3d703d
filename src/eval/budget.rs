//! How much work a check may do, and what it has done of it.

use std::cell::Cell;

/// How much work one value may take; beyond it, it cannot be worked out.
const MOST_WORK: u64 = 300_000;

/// How many values may take so much; after them, a tenth of it is all there is.
const MOST_GIVEN_UP: u32 = 10;

/// How much work one search for a worst case may take before it settles for what it has shown.
const MOST_SEARCH: u64 = 200_000;

/// How much work all searches of one check may take.
const MOST_SEARCHES: u64 = 1_000_000;

/// How much work the figures of one check may take that take milliseconds; beyond it, none is worked out.
const MOST_FIGURES: u64 = 12_000_000;

/// How much work may go into saying what would help in all of a check, where nothing else is said.
pub const MOST_HELPS: u64 = 16_000_000;

/// What part of it may go into one finding: so many fortieths.
const FOR_ONE: u64 = 3;

/// What part of it may go into searches, so that there is some left to tell of what they found: so many eighths.
const FOR_SEARCHES: u64 = 7;

/// The work of one check.
///
/// Work is counted, not timed, so that the same text has the same answer on every machine. A unit is
/// about what one operation on two intervals takes.
#[derive(Debug)]
pub struct WorkBudget {
    work: Cell<u64>,
    given_up: Cell<u32>,
    searched: Cell<u64>,
    helped: Cell<u64>,
    figures: Cell<u64>,
    /// How much may go into saying what would help.
    help: u64,
}

impl WorkBudget {
    /// Nothing done yet; so much work may go into saying what would help.
    pub(super) fn allowing(help: u64) -> Self {
        Self {
            work: Cell::default(),
            given_up: Cell::default(),
            searched: Cell::default(),
            helped: Cell::default(),
            figures: Cell::default(),
            help,
        }
    }

    /// Counts some work.
    pub(super) fn count(&self, units: u64) {
        self.work.set(self.work.get().saturating_add(units));
    }

    /// Forgets the work: what comes next is judged as a check of its own.
    pub fn rest(&self) {
        let counts = [&self.work, &self.searched, &self.helped, &self.figures];
        for count in counts {
            count.set(0);
        }
        self.given_up.set(0);
    }

    /// All work so far: a mark for what begins now.
    #[must_use]
    pub fn work(&self) -> u64 {
        self.work.get()
    }

    fn since(&self, mark: u64) -> u64 {
        self.work().saturating_sub(mark)
    }

    /// Whether a value begun at a mark may go on.
    pub(super) fn may_go_on(&self, mark: u64) -> bool {
        let tenfold = self.given_up.get() < MOST_GIVEN_UP;
        let most = if tenfold { MOST_WORK } else { MOST_WORK / 10 };
        if self.since(mark) <= most {
            return true;
        }
        self.given_up.set(self.given_up.get().saturating_add(1));
        false
    }

    /// Counts what a search took.
    pub(super) fn count_search(&self, mark: u64) {
        let all = self.searched.get().saturating_add(self.since(mark));
        self.searched.set(all);
    }

    /// Whether a search begun at a mark may go on.
    pub(super) fn may_search(&self, mark: u64) -> bool {
        let took = self.since(mark);
        took < MOST_SEARCH && self.searched.get().saturating_add(took) < MOST_SEARCHES
    }

    /// Counts the work of a figure that takes milliseconds.
    pub(super) fn count_figures(&self, took: u64) {
        self.figures.set(self.figures.get().saturating_add(took));
        self.count(took);
    }

    /// Whether no more such figures may be worked out.
    pub(super) fn figures_ended(&self) -> bool {
        self.figures.get() > MOST_FIGURES
    }

    /// Counts what it took to say what would help.
    pub fn count_help(&self, mark: u64) {
        let all = self.helped.get().saturating_add(self.since(mark));
        self.helped.set(all);
    }

    /// Whether what was begun at a mark, to say what would help with one finding, may go on.
    #[must_use]
    pub fn may_help(&self, mark: u64) -> bool {
        self.since(mark) < self.help / 40 * FOR_ONE && self.may_help_more(mark)
    }

    /// The same for what is about the whole run.
    #[must_use]
    pub fn may_help_more(&self, mark: u64) -> bool {
        self.helped(mark) < self.help / 8 * FOR_SEARCHES
    }

    /// The same for telling of what was found.
    #[must_use]
    pub fn may_tell(&self, mark: u64) -> bool {
        self.helped(mark) < self.help
    }

    fn helped(&self, mark: u64) -> u64 {
        self.helped.get().saturating_add(self.since(mark))
    }
}
