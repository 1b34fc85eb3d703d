//! Splitting a box where the edge of a demand runs through it.

use super::oracle::{Oracle, Over};
use super::space::Region;
use crate::check::Standing;
use crate::eval::Trend;
use crate::units::Exact;

/// An edge is followed to this part of the box.
const NEAR: f64 = 0.08;
/// Tries to find it.
const TRIES: usize = 4;

/// Splits boxes of one run.
pub(super) struct CornerSplit<'p, 'a> {
    pub(super) oracle: &'p Oracle<'a>,
}

impl CornerSplit<'_, '_> {
    /// Four boxes that meet where the edge of a demand crosses the middle of a setting.
    pub(super) fn split(
        &self,
        region: &Region,
        demand: usize,
        one: usize,
        other: usize,
    ) -> Option<Vec<Region>> {
        let length = |axis: usize| {
            let of = &self.oracle.axes[axis];
            of.size(&region.low[axis], &region.high[axis]) / of.span()
        };
        let (wide, narrow) = if length(one) >= length(other) {
            (one, other)
        } else {
            (other, one)
        };
        let wanted = match self.oracle.over(demand, region) {
            Over::Between(worst, best) => Wanted::between(&worst, &best)?,
            _ => return None,
        };
        let trends = &self.oracle.asked[demand].trends;
        let axis = &self.oracle.axes[wide];
        let middle = axis.middle(&region.low[wide], &region.high[wide])?;
        let halves = |low: &Exact, high: &Exact| {
            vec![
                region.with(wide, &region.low[wide], low),
                region.with(wide, high, &region.high[wide]),
            ]
        };
        let after = axis.after(&middle);
        if [wide, narrow]
            .iter()
            .any(|axis| trends[*axis] == Trend::Workable)
        {
            return None;
        }
        let up = trends[narrow].is_better();
        let (bad_end, good_end) = if up {
            (&region.low[narrow], &region.high[narrow])
        } else {
            (&region.high[narrow], &region.low[narrow])
        };
        let mut point = region.low.clone();
        point[wide] = middle.clone();
        let corner = |worst: bool| {
            let at = trends.iter().enumerate().map(|(index, trend)| {
                if trend.is_better() == worst {
                    region.low[index].clone()
                } else {
                    region.high[index].clone()
                }
            });
            let at: Vec<Exact> = at.collect();
            self.slack(demand, &at, wanted)
        };
        let slacks = (corner(true), corner(false));
        let ends = (bad_end, good_end);
        let Some((bad, good)) = self.edge(demand, wanted, point, narrow, ends, slacks) else {
            return Some(halves(&middle, &after));
        };
        let [below, above] = halves(&middle, &after).try_into().ok()?;
        let (worse, better) = if trends[wide].is_better() {
            (below, above)
        } else {
            (above, below)
        };
        let mut parts = self.cut_at(&worse, narrow, &bad, up);
        parts.extend(self.cut_at(&better, narrow, &good, !up));
        Some(parts)
    }

    /// A region in two at a value that belongs to the lower, or to the higher, of them.
    fn cut_at(&self, region: &Region, axis: usize, at: &Exact, to_lower: bool) -> Vec<Region> {
        let of = &self.oracle.axes[axis];
        let (end, start) = match (of.whole, to_lower) {
            (false, _) => (at.clone(), at.clone()),
            (true, true) => (at.clone(), at.add(&Exact::ONE)),
            (true, false) => (at.sub(&Exact::ONE), at.clone()),
        };
        let mut parts = Vec::new();
        let (low, high) = (&region.low[axis], &region.high[axis]);
        if of.whole && end < *low || !of.whole && end <= *low {
            return vec![region.clone()];
        }
        parts.push(region.with(axis, low, &end));
        if of.whole && start <= *high || !of.whole && start < *high {
            parts.push(region.with(axis, &start, high));
        }
        parts
    }

    /// Where along a setting a demand comes to this rank: a set point short of it, and one at which it does; `None` where
    /// it does not change between the ends. The slacks are those of the worst and of the best corner.
    fn edge(
        &self,
        demand: usize,
        wanted: Wanted,
        mut point: Vec<Exact>,
        along: usize,
        (bad_end, good_end): (&Exact, &Exact),
        slacks: (Option<f64>, Option<f64>),
    ) -> Option<(Exact, Exact)> {
        let oracle = self.oracle;
        let axis = &oracle.axes[along];
        let mut bad: Option<Exact> = None;
        let mut good: Option<Exact> = None;
        let (mut from, mut to) = slacks;
        let whole = good_end.sub(bad_end).nearest().abs();
        for tried in 0..TRIES {
            let (low, high) = (
                bad.as_ref().unwrap_or(bad_end),
                good.as_ref().unwrap_or(good_end),
            );
            let width = high.sub(low).nearest().abs();
            if width <= whole * NEAR {
                break;
            }
            let share = match (from, to) {
                (Some(from), Some(to)) if from < 0.0 && to > 0.0 && (to - from).is_finite() => {
                    let line = from / (from - to);
                    let nudge = 0.45 * NEAR * whole / width;
                    match (tried, line < 0.5) {
                        // The corners are half a side further off on either side.
                        (0, _) => (2.0 * line - 0.5).clamp(0.15, 0.85),
                        // A little further than a straight line says, so that the next try is beyond it.
                        (_, true) => (line + nudge).clamp(0.03, 0.97),
                        (_, false) => (line - nudge).clamp(0.03, 0.97),
                    }
                }
                _ => 0.5,
            };
            let value = axis
                .between(low, high, share)
                .or_else(|| axis.between(low, high, 0.5));
            let Some(value) = value else { break };
            point[along] = value.clone();
            let reaches = wanted.reached(&oracle.standing(demand, &point));
            let slack = self.slack(demand, &point, wanted);
            if reaches {
                (good, to) = (Some(value), slack);
            } else {
                (bad, from) = (Some(value), slack);
            }
        }
        // An end at which nothing was asked may be past the edge.
        let mut reaches = |value: &Exact| {
            point[along] = value.clone();
            wanted.reached(&oracle.standing(demand, &point))
        };
        let bad = match bad {
            Some(bad) => bad,
            None if reaches(bad_end) => return None,
            None => bad_end.clone(),
        };
        let good = match good {
            Some(good) => good,
            None if reaches(good_end) => good_end.clone(),
            None => return None,
        };
        Some((bad, good))
    }

    /// How far a demand is kept at a set point, as far as that decides whether it comes to a rank.
    fn slack(&self, demand: usize, point: &[Exact], wanted: Wanted) -> Option<f64> {
        match wanted.rank {
            1 => Some(self.oracle.slack(demand, point)?.1),
            2 => Some(self.oracle.slack(demand, point)?.0),
            _ => None,
        }
    }
}

/// What a demand comes to from some place on towards where it is better.
#[derive(Debug, Clone, Copy)]
struct Wanted {
    rank: u8,
    /// Whether what is only sampled lies beyond what holds: far from a limit a film may still be wet.
    beyond: bool,
}

impl Wanted {
    /// Between a worst and a best corner.
    fn between(worst: &Standing, best: &Standing) -> Option<Self> {
        let surely = matches!(worst, Standing::Breaks | Standing::Fails);
        let beyond = *best == Standing::NotShown && !surely;
        let of = Self { rank: 0, beyond };
        let rank = of.of(best);
        (of.of(worst) < rank).then_some(Self { rank, beyond })
    }

    fn of(self, standing: &Standing) -> u8 {
        match standing {
            Standing::Breaks => 0,
            Standing::NotShown if self.beyond => 3,
            Standing::Holds => 2,
            _ => 1,
        }
    }

    fn reached(self, standing: &Standing) -> bool {
        self.of(standing) >= self.rank
    }
}
