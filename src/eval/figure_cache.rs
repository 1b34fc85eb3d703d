//! Figures that were worked out before, so that no pass through the tunnel is made twice.

use std::cell::{Cell, RefCell};
use std::collections::{HashMap, HashSet};

use crate::physics::{Accuracy, Function, Outside, Passes, over};

/// Why a value has none, where all the work there is was done.
pub(super) const TOO_MUCH: &str = "it takes too much work to work out";

/// Passes kept before all are forgotten; each holds a few kilobytes.
const MOST_PASSES: usize = 4_000;

/// Bounds kept before all are forgotten.
const MOST_BOUNDS: usize = 100_000;

type Key = (&'static str, Vec<(u64, u64)>);
/// Bounds, and whether they were sampled rather than shown.
type Ends = Result<(f64, f64, bool), Outside>;

/// How much work one value may take; beyond it, it cannot be worked out.
const MOST_WORK: u64 = 300_000;

/// How many values may take so much; after them, a tenth of it is all there is.
const MOST_GIVEN_UP: u32 = 10;

/// How much work one search for a worst case may take before it settles for what it has shown.
const MOST_SEARCH: u64 = 200_000;

/// How much work all searches of one check may take.
const MOST_SEARCHES: u64 = 1_000_000;

/// How much work the figures of one check may take that take milliseconds; beyond it, none is worked out.
const MOST_FIGURES: u64 = 6_000_000;

/// How much work may go into saying what would help in all of a check, where nothing else is said.
pub const MOST_HELPS: u64 = 8_000_000;

/// What part of it may go into one finding: so many fortieths.
const FOR_ONE: u64 = 3;

/// What part of it may go into searches, so that there is some left to tell of what they found: so many eighths.
const FOR_SEARCHES: u64 = 7;

/// What a check remembers of figures: bounds by inputs, and passes by inputs. It counts the work too.
///
/// Work is counted, not timed, so that the same text has the same answer on every machine. A unit is
/// about what one operation on two intervals takes.
#[derive(Debug)]
pub struct FigureCache {
    bounds: RefCell<HashMap<Key, Ends>>,
    passes: RefCell<Passes>,
    work: Cell<u64>,
    given_up: Cell<u32>,
    searched: Cell<u64>,
    helped: Cell<u64>,
    figures: Cell<u64>,
    /// Whether only what is shown counts, as when a change is tried.
    proving: Cell<bool>,
    /// Boxes over which a figure was found to be sampled, without working out its bounds.
    unproven: RefCell<HashSet<Key>>,
    /// How much work may go into saying what would help.
    help: u64,
}

impl Default for FigureCache {
    fn default() -> Self {
        Self::allowing(MOST_HELPS)
    }
}

impl FigureCache {
    /// Nothing remembered yet; so much work may go into saying what would help.
    #[must_use]
    pub fn allowing(help: u64) -> Self {
        Self {
            bounds: RefCell::default(),
            passes: RefCell::default(),
            work: Cell::default(),
            given_up: Cell::default(),
            searched: Cell::default(),
            helped: Cell::default(),
            figures: Cell::default(),
            proving: Cell::default(),
            unproven: RefCell::default(),
            help,
        }
    }

    /// Counts some work.
    pub(super) fn count(&self, units: u64) {
        self.work.set(self.work.get().saturating_add(units));
    }

    /// The same figures with the work forgotten: what comes next is judged as a check of its own.
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

    /// Works something out of which only what *holds* counts.
    ///
    /// Bounds that are sampled are never the ground on which anything holds, so their search is left off as soon as it
    /// is clear that they would be.
    pub fn proving<T>(of: Option<&Self>, work_out: impl FnOnce() -> T) -> T {
        let Some(cache) = of else {
            return work_out();
        };
        let before = cache.proving.replace(true);
        let result = work_out();
        cache.proving.set(before);
        result
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

/// Whether the bounds of a figure over a box of inputs are sampled, not exact.
#[must_use]
pub fn is_sampled(
    cache: Option<&FigureCache>,
    figure: &'static Function,
    inputs: &[(f64, f64)],
) -> bool {
    worst(cache, figure, inputs).is_ok_and(|(.., sampled)| sampled)
}

/// The bounds of a figure over a box of inputs.
pub(super) fn worst(
    cache: Option<&FigureCache>,
    figure: &'static Function,
    inputs: &[(f64, f64)],
) -> Ends {
    let Some(cache) = cache else {
        return work_out(figure, inputs, &mut Passes::default());
    };
    let bits: Vec<(u64, u64)> = inputs
        .iter()
        .map(|(low, high)| (low.to_bits(), high.to_bits()))
        .collect();
    let key = (figure.name, bits);
    if let Some(known) = cache.bounds.borrow().get(&key) {
        return known.clone();
    }
    let proving = cache.proving.get();
    if proving && cache.unproven.borrow().contains(&key) {
        return UNPROVEN;
    }
    let mut passes = cache.passes.borrow_mut();
    if passes.made() > MOST_PASSES {
        *passes = Passes::default();
    }
    if cache.figures.get() > MOST_FIGURES && figure.accuracy != Accuracy::Rounding {
        return Err(Outside::Together(TOO_MUCH));
    }
    let before = passes.work();
    let found = if proving {
        shown(figure, inputs, &mut passes)
    } else {
        work_out(figure, inputs, &mut passes)
    };
    let took = passes.work().saturating_sub(before);
    cache.figures.set(cache.figures.get().saturating_add(took));
    cache.count(took);
    if proving && found == UNPROVEN {
        cache.unproven.borrow_mut().insert(key);
        return found;
    }
    let mut bounds = cache.bounds.borrow_mut();
    if bounds.len() > MOST_BOUNDS {
        bounds.clear();
    }
    bounds.insert(key, found.clone());
    found
}

/// Bounds of which nothing is shown.
const UNPROVEN: Ends = Ok((f64::NEG_INFINITY, f64::INFINITY, true));

/// The bounds where every input moves the figure one way.
fn shown(figure: &'static Function, inputs: &[(f64, f64)], passes: &mut Passes) -> Ends {
    over::exact(figure, inputs, passes)?
        .map_or(UNPROVEN, |worst| Ok((worst.low, worst.high, false)))
}

fn work_out(figure: &'static Function, inputs: &[(f64, f64)], passes: &mut Passes) -> Ends {
    let worst = over::worst(figure, inputs, passes)?;
    Ok((worst.low, worst.high, worst.basis != over::Basis::Exact))
}
