//! The nearest value of one setting that does, and all values around it that do.

use crate::eval::{ExactInterval, Leaf};
use crate::units::Exact;

use super::super::bisect::bisect;
use super::candidate::{Candidate, Fault, Parts};
use super::dial::Dial;

/// How many values and stretches are looked at where doubling steps found nothing.
const SCAN: u64 = 64;

/// The same where a figure that takes milliseconds stands behind the requirement.
const SCAN_COSTLY: u64 = 8;

/// After so many failures it is asked whether any value further on can do.
const ASK_AFTER: usize = 2;

/// How many values of a number of things are tried one by one, where a stretch of them has no meaning.
const MOST_THINGS: i64 = 32;

/// What a search in one direction found.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct LineResult {
    /// The nearest value that does, in steps of the dial.
    pub(super) at: Option<i64>,
    /// Whether it is shown that none does, where none was found.
    pub(super) never: bool,
    /// The nearest value with which what is wanted holds and another result is worse, and that one.
    pub(super) clash: Option<(i64, usize)>,
}

/// A search along one dial, other settings at `others`.
pub(super) struct LineSearch<'s, 'a> {
    pub(super) trial: &'s Candidate<'a>,
    pub(super) dial: &'s Dial<'s>,
    pub(super) others: &'s [(Leaf, ExactInterval)],
}

/// A stretch of a dial, counted from the present value, that was not looked at yet.
#[derive(Debug, Clone, Copy)]
struct Open {
    from: i64,
    to: i64,
}

impl LineSearch<'_, '_> {
    fn with(&self, stretch: ExactInterval) -> Parts {
        let mut parts = self.others.to_vec();
        parts.push((self.dial.leaf, stretch));
        parts
    }

    fn works(&self, at: i64) -> Result<(), Fault> {
        self.trial.works(&self.with(self.dial.stretch(at)))
    }

    /// Whether no value from one to the other can do.
    pub(super) fn hopeless(&self, one: i64, other: i64) -> bool {
        let ends = |high| self.with(self.dial.ends(one, other, high));
        self.trial.hopeless(&ends(true))
            || !self.dial.is_sharp() && self.trial.hopeless(&ends(false))
    }

    /// Looks upwards, or downwards, from the present value.
    ///
    /// Doubling steps find a value that does, halving the nearest; the one before it does not. Where they find
    /// none, stretches are cut until each is shown to have none, or the search gets too long.
    pub(super) fn look(&self, up: bool) -> LineResult {
        let dial = self.dial;
        let (count, start) = if up {
            (dial.last.saturating_sub(dial.above), dial.above)
        } else {
            (dial.below.saturating_sub(dial.first), dial.below)
        };
        let mut found = LineResult::default();
        if count < 0 {
            found.never = true;
            return found;
        }
        let place = |offset: i64| if up { start + offset } else { start - offset };
        let mut open: Vec<Open> = Vec::new();
        let mut faults: Vec<(i64, Fault)> = Vec::new();
        let (mut last, mut next) = (-1_i64, 0_i64);
        let mut failures = 0;
        let mut good = None;
        while last < count {
            let at = next.min(count);
            if self.trial.exhausted() {
                return found;
            }
            match self.works(place(at)) {
                Ok(()) => {
                    good = Some(at);
                    break;
                }
                Err(fault) => {
                    note(&mut found, place(at), fault);
                    faults.push((at, fault));
                    failures += 1;
                }
            }
            if at - last > 1 {
                open.push(Open {
                    from: last + 1,
                    to: at - 1,
                });
            }
            if failures == ASK_AFTER && at < count && self.hopeless(place(at + 1), place(count)) {
                last = count;
                break;
            }
            last = at;
            next = 2 * at + 1;
        }
        if good.is_none() {
            found.never = last >= count;
            (good, last) = match self.between(&faults, &place, &mut found) {
                Some((good, last)) => (Some(good), last),
                // Beside another setting that is moved as well, only what lies between two faults is looked for.
                None if self.trial.costly && !self.others.is_empty() => {
                    found.never = false;
                    return found;
                }
                None => self.cut(open, &place, &mut found),
            };
        }
        let Some(good) = good else {
            self.nearest_clash(up, start, &mut found);
            return found;
        };
        found.never = false;
        let does = |offset| match self.works(place(offset)) {
            Ok(()) => true,
            Err(fault) => {
                note(&mut found, place(offset), fault);
                false
            }
        };
        let (good, _) = bisect(good, last, || true, does);
        found.at = Some(place(good));
        found
    }

    /// Brings the value with which only something else fails as near as it is.
    fn nearest_clash(&self, up: bool, start: i64, found: &mut LineResult) {
        let Some((at, clash)) = found.clash.filter(|_| !self.trial.costly) else {
            return;
        };
        let place = |offset: i64| if up { start + offset } else { start - offset };
        let mut clash = clash;
        let only_harms = |offset| match self.works(place(offset)) {
            Err(Fault::Harmed(place)) => {
                clash = place;
                true
            }
            _ => false,
        };
        let near = (at - start).abs();
        let (near, _) = bisect(near, -1, || !self.trial.exhausted(), only_harms);
        found.clash = Some((place(near), clash));
    }

    /// Where one thing fails before and another behind, there may be a narrow window between them.
    fn between(
        &self,
        faults: &[(i64, Fault)],
        place: &dyn Fn(i64) -> i64,
        found: &mut LineResult,
    ) -> Option<(i64, i64)> {
        for pair in faults.windows(2) {
            let [(first, before), (last, behind)] = pair else {
                continue;
            };
            let (mut low, mut high) = (*first, *last);
            while before != behind && high - low > 1 && !self.trial.exhausted() {
                let middle = low + (high - low) / 2;
                match self.works(place(middle)) {
                    Ok(()) => return Some((middle, low)),
                    Err(fault) => {
                        note(found, place(middle), fault);
                        if fault == *before {
                            low = middle;
                        } else if fault == *behind {
                            high = middle;
                        } else {
                            break;
                        }
                    }
                }
            }
        }
        None
    }

    /// Cuts what was jumped over, the nearest first. A value that does, with the nearest one before it that is
    /// known not to.
    fn cut(
        &self,
        mut open: Vec<Open>,
        place: &dyn Fn(i64) -> i64,
        found: &mut LineResult,
    ) -> (Option<i64>, i64) {
        let most = if self.trial.costly { SCAN_COSTLY } else { SCAN };
        self.trial.rest();
        // The nearest is looked at first.
        open.reverse();
        while let Some(Open { from, to }) = open.pop() {
            if !self.trial.one_more(most) {
                found.never = false;
                return (None, 0);
            }
            if self.hopeless(place(from), place(to)) {
                continue;
            }
            let middle = from + (to - from) / 2;
            match self.works(place(middle)) {
                Ok(()) => return (Some(middle), from - 1),
                Err(fault) => note(found, place(middle), fault),
            }
            if middle < to {
                open.push(Open {
                    from: middle + 1,
                    to,
                });
            }
            if from < middle {
                open.push(Open {
                    from,
                    to: middle - 1,
                });
            }
        }
        (None, 0)
    }

    /// The values around one that does, without a gap, that do.
    ///
    /// The whole stretch is checked at once, so that it holds between the steps of the dial as well.
    pub(super) fn widen(&self, at: i64) -> Around {
        let high = self.grow(at, true);
        let low = self.grow(at, false);
        Around {
            low,
            high,
            ended: self.trial.spent(),
        }
    }

    fn grow(&self, at: i64, up: bool) -> i64 {
        let limit = if up { self.dial.last } else { self.dial.first };
        let count = if up { limit - at } else { at - limit };
        if count <= 0 {
            return at;
        }
        let place = |offset: i64| if up { at + offset } else { at - offset };
        let whole = |offset: i64| {
            let far = place(offset);
            !self.trial.spent()
                && self
                    .trial
                    .works(&self.with(self.dial.hull(at, far)))
                    .is_ok()
                // Of a stretch more can be shown at times than of a part of it, but the part is what is checked then.
                && (!self.trial.costly && !self.trial.doubts(self.dial.leaf)
                    || self.works(far).is_ok())
        };
        if !whole(1) {
            return if self.dial.counts() {
                self.one_by_one(at, up, count)
            } else {
                at
            };
        }
        if whole(count) {
            return limit;
        }
        place(bisect(1, count, || true, whole).0)
    }

    /// A number of things by which something is chosen has no value between two whole ones.
    fn one_by_one(&self, at: i64, up: bool, count: i64) -> i64 {
        let mut reached = at;
        for offset in 1..=count.min(MOST_THINGS) {
            let next = if up { at + offset } else { at - offset };
            if self.trial.spent() || self.works(next).is_err() {
                break;
            }
            reached = next;
        }
        reached
    }
}

/// How far a number of things may move to one side, and what ends it; `None` where the work ended first.
pub(in super::super) fn whole_steps(
    trial: &Candidate<'_>,
    dial: &Dial<'_>,
    up: bool,
) -> Option<(Exact, Option<Fault>)> {
    let search = LineSearch {
        trial,
        dial,
        others: &[],
    };
    let at = dial.below + 1;
    let reached = search.grow(at, up);
    if trial.spent() {
        return None;
    }
    let size = dial.value(reached).sub(&dial.value(at)).abs();
    let limit = if up { dial.last } else { dial.first };
    let next = if up { reached + 1 } else { reached - 1 };
    let fault = (reached != limit).then(|| search.works(next).err());
    Some((size, fault.flatten()))
}

/// The values around one that does.
#[derive(Debug, Clone, Copy)]
pub(super) struct Around {
    pub(super) low: i64,
    pub(super) high: i64,
    /// Whether the work ended before an end was found.
    pub(super) ended: bool,
}

/// Remembers the nearest value with which only something else fails.
fn note(found: &mut LineResult, at: i64, fault: Fault) {
    if let Fault::Harmed(place) = fault {
        let nearer = found.clash.is_none();
        if nearer {
            found.clash = Some((at, place));
        }
    }
}
