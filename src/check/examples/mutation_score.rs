//! Which changes of the standard no example notices.

use crate::diagnostic::{Hole, Pins};
use crate::source::Store;
use crate::types::Standard;

use super::super::impact::Reach;
use super::mutant::{Mutant, mutants};
use super::synthesize::Closer;
use super::{Test, TestOptions};

/// What a set of examples notices.
pub(super) struct Watch<'t> {
    pub(super) reach: &'t Reach,
    /// The rules of each test that come out as expected by the standard as it is.
    passing: Vec<Vec<usize>>,
}

impl<'t> Watch<'t> {
    pub(super) fn new(standard: &Standard, reach: &'t Reach, tests: &[Test]) -> Self {
        let passes = |test: &Test| {
            let mut rules = test.rules();
            rules.retain(|rule| test.misses(standard, reach, *rule).is_empty());
            rules
        };
        Self {
            reach,
            passing: tests.iter().map(passes).collect(),
        }
    }

    /// Whether an expectation that passes fails when the standard is the changed one.
    pub(super) fn notices(&self, tests: &[Test], changed: &Standard, mutant: &Mutant) -> bool {
        tests.iter().zip(&self.passing).any(|(test, passing)| {
            let rules = mutant.rules.iter().filter(|rule| passing.contains(rule));
            rules
                .into_iter()
                .any(|rule| !test.misses(changed, self.reach, *rule).is_empty())
        })
    }
}

/// Tries all changes, and looks for texts that close the holes.
pub(super) fn pins(
    store: &Store,
    standard: &Standard,
    reach: &Reach,
    tests: &[Test],
    how: TestOptions,
) -> Pins {
    let found = mutants(standard, store, reach, how.shipped);
    let watch = Watch::new(standard, reach, tests);
    let mut changed = standard.clone();
    let mut open = Vec::new();
    let tried = found.all.len();
    for mut mutant in found.all {
        mutant.change.swap(&mut changed);
        let noticed = watch.notices(tests, &changed, &mutant);
        mutant.change.swap(&mut changed);
        if !noticed {
            open.push(mutant);
        }
    }
    let open_count = open.len();
    if !how.close {
        let holes = open.into_iter().map(|mutant| hole(mutant, None)).collect();
        return Pins {
            tried,
            noticed: tried - open_count,
            holes,
            closings: Vec::new(),
            shipped: found.shipped,
            beyond: found.beyond,
            unread: found.unread,
        };
    }
    let mut closer = Closer::new(store, standard, reach, tests);
    let closed: Vec<Option<usize>> = open
        .iter_mut()
        .map(|mutant| closer.close(&mut changed, mutant))
        .collect();
    // What was found one by one is tried once more as it would be written.
    let (closings, added) = closer.written();
    let alone = |at: usize| added.get(at..=at).unwrap_or(&[]);
    let watches: Vec<Watch<'_>> = (0..added.len())
        .map(|at| Watch::new(standard, reach, alone(at)))
        .collect();
    let mut holes = Vec::new();
    for (mut mutant, closed_by) in open.into_iter().zip(closed) {
        mutant.change.swap(&mut changed);
        let closed_by = closed_by.filter(|at| {
            let watch = watches.get(*at);
            watch.is_some_and(|watch| watch.notices(alone(*at), &changed, &mutant))
        });
        mutant.change.swap(&mut changed);
        holes.push(hole(mutant, closed_by));
    }
    Pins {
        tried,
        noticed: tried - holes.len(),
        holes,
        closings,
        shipped: found.shipped,
        beyond: found.beyond,
        unread: found.unread,
    }
}

fn hole(mutant: Mutant, closed_by: Option<usize>) -> Hole {
    Hole {
        owner: mutant.owner,
        span: mutant.span,
        nudge: mutant.nudge,
        words: mutant.words,
        closed_by,
    }
}
