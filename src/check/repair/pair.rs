//! Two settings changed together.
//!
//! One is moved in doubling steps, away from its present value, and for each of its values the other is looked for as
//! one setting alone is. What is found is halved towards the present value. Pairs that cannot do wherever both lie are
//! left out at once.

use super::super::bisect::bisect;
use super::Offer;
use super::candidate::{Candidate, Parts};
use super::dial::Dial;
use super::line_search::LineSearch;
use super::repair_report::{self, Rank};

/// How often the way to a first setting that does is halved.
const HALVINGS: u32 = 5;

/// The same where a figure that takes milliseconds stands behind the requirement.
const HALVINGS_COSTLY: u32 = 2;

/// A setting by its number, and the step of its dial.
type At = (usize, i64);

/// What was found.
#[derive(Debug, Default)]
pub(super) struct Two {
    pub(super) found: Option<(At, At, Rank)>,
    /// Whether it is shown that no two do, where none were found.
    pub(super) never: bool,
}

impl Two {
    /// What was found as an offer.
    pub(super) fn offer(&self, trial: &Candidate<'_>, dials: &[(Dial<'_>, u32)]) -> Option<Offer> {
        let (one, other, rank) = self.found?;
        let settings = [(&dials[one.0].0, one.1), (&dials[other.0].0, other.1)];
        repair_report::several(trial, &settings, rank)
    }
}

/// The best two settings. `also` are the results that one setting alone harms: the second may mend them.
pub(super) fn pairs(trial: &Candidate<'_>, dials: &[(Dial<'_>, u32)], also: &[usize]) -> Two {
    let mut order: Vec<(Rank, usize, usize)> = Vec::new();
    for (first, (one, unnamed)) in dials.iter().enumerate() {
        for (second, (other, more)) in dials.iter().enumerate().skip(first + 1) {
            let all = trial
                .wanted
                .iter()
                .all(|place| trial.reaches(*place, one.leaf) || trial.reaches(*place, other.leaf));
            let useful = |dial: &Dial<'_>| {
                let mut places = trial.wanted.iter().chain(also);
                places.any(|place| trial.reaches(*place, dial.leaf))
            };
            if all && useful(one) && useful(other) {
                // How far they move is not known yet.
                let ranks = [(one, unnamed), (other, more)].map(|(dial, unnamed)| Rank {
                    change: 0.0,
                    ..Rank::of(&trial.context, dial, dial.above, *unnamed)
                });
                order.push((ranks[0].and(ranks[1]), first, second));
            }
        }
    }
    order.sort_by(|one, other| one.0.compare(&other.0));
    let mut two = Two {
        found: None,
        never: true,
    };
    for (rank, first, second) in order {
        // Those that follow take longer, or are not named by the rule.
        if let Some((.., known)) = &two.found
            && (known.unnamed, known.takes) != (rank.unnamed, rank.takes)
        {
            break;
        }
        if trial.exhausted() {
            two.never = false;
            break;
        }
        let search = Pair {
            trial,
            one: &dials[first].0,
            other: &dials[second].0,
        };
        if search.hopeless() {
            continue;
        }
        let best = search.best();
        // It takes a proof over both that is not made here.
        two.never = false;
        if let Some((at, beside, change)) = best {
            let rank = Rank { change, ..rank };
            if two
                .found
                .as_ref()
                .is_none_or(|(.., known)| rank.compare(known).is_lt())
            {
                two.found = Some(((first, at), (second, beside), rank));
            }
        }
    }
    two
}

struct Pair<'s, 'a> {
    trial: &'s Candidate<'a>,
    one: &'s Dial<'s>,
    other: &'s Dial<'s>,
}

impl Pair<'_, '_> {
    /// Whether no two values of the settings can do.
    fn hopeless(&self) -> bool {
        let (one, other) = (self.one, self.other);
        if one.first > one.last || other.first > other.last {
            return true;
        }
        let over = |high: bool, also: bool| {
            let parts: Parts = vec![
                (one.leaf, one.ends(one.first, one.last, high)),
                (other.leaf, other.ends(other.first, other.last, also)),
            ];
            self.trial.hopeless(&parts)
        };
        over(true, true) || over(false, false) || over(true, false) || over(false, true)
    }

    /// The nearest values found, with how far they move.
    fn best(&self) -> Option<(i64, i64, f64)> {
        let mut best: Option<(i64, i64, f64)> = None;
        for up in [true, false] {
            self.along(up, &mut best);
        }
        let (one, other, _) = best?;
        let one = self.back(self.one, one, (self.other, other));
        let other = self.back(self.other, other, (self.one, one));
        Some((one, other, self.one.change(one) + self.other.change(other)))
    }

    /// The value of a setting brought back towards the present one as far as it does, the other at a value.
    fn back(&self, dial: &Dial<'_>, at: i64, (other, beside): (&Dial<'_>, i64)) -> i64 {
        let start = if at >= dial.above {
            dial.above
        } else {
            dial.below
        };
        let place = |offset: i64| {
            if at >= start {
                start + offset
            } else {
                start - offset
            }
        };
        let does = |offset| {
            let parts: Parts = vec![
                (dial.leaf, dial.stretch(place(offset))),
                (other.leaf, other.stretch(beside)),
            ];
            self.trial.works(&parts).is_ok()
        };
        let far = (at - start).abs();
        place(bisect(far, -1, || !self.trial.exhausted(), does).0)
    }

    fn along(&self, up: bool, best: &mut Option<(i64, i64, f64)>) {
        let (start, count) = if up {
            (self.one.above, self.one.last.saturating_sub(self.one.above))
        } else {
            (
                self.one.below,
                self.one.below.saturating_sub(self.one.first),
            )
        };
        if count < 0 {
            return;
        }
        let place = |offset: i64| if up { start + offset } else { start - offset };
        let (mut last, mut next) = (-1_i64, 0_i64);
        while last < count {
            let offset = next.min(count);
            let far = best.is_some_and(|(.., known)| self.one.change(place(offset)) >= known);
            if far || self.trial.exhausted() {
                return;
            }
            if let Some(found) = self.at(place(offset)) {
                keep(best, found);
                self.nearer(last, offset, &place, best);
                return;
            }
            last = offset;
            next = 2 * offset + 1;
        }
    }

    /// Halves the way between a value that does not do and one that does.
    fn nearer(
        &self,
        last: i64,
        good: i64,
        place: &dyn Fn(i64) -> i64,
        best: &mut Option<(i64, i64, f64)>,
    ) {
        let halvings = if self.trial.costly {
            HALVINGS_COSTLY
        } else {
            HALVINGS
        };
        let mut tried = 0;
        let may_go_on = || {
            tried += 1;
            tried <= halvings && !self.trial.exhausted()
        };
        bisect(good, last, may_go_on, |offset| {
            let found = self.at(place(offset));
            found.into_iter().for_each(|found| keep(best, found));
            found.is_some()
        });
    }

    /// The nearest value of the other setting with the first at a value.
    fn at(&self, at: i64) -> Option<(i64, i64, f64)> {
        let beside: Parts = vec![(self.one.leaf, self.one.stretch(at))];
        let search = LineSearch {
            trial: self.trial,
            dial: self.other,
            others: &beside,
        };
        if search.hopeless(self.other.first, self.other.last) {
            return None;
        }
        let change = |found: i64| self.one.change(at) + self.other.change(found);
        let found = [search.look(true).at, search.look(false).at];
        found
            .into_iter()
            .flatten()
            .map(|found| (at, found, change(found)))
            .min_by(|one, other| one.2.total_cmp(&other.2))
    }
}

fn keep(best: &mut Option<(i64, i64, f64)>, found: (i64, i64, f64)) {
    if best.is_none_or(|(.., known)| found.2 < known) {
        *best = Some(found);
    }
}
