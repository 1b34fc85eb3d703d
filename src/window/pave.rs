//! All freed settings at once: the set points in boxes, each of which holds, is at risk, breaks, or is not decided.
//!
//! What rests on one setting alone cuts the boxes first, at its own edges. The rest is split where the edge of a demand
//! runs: at the middle of one setting the edge along the other is looked for, and of the four boxes that meet there two are
//! settled. The largest box that is open is split next, until the questions are used up.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use super::line::{Piece, pieces};
use super::probe::{Over, Probe};
use super::space::Region;
use crate::check::Standing;
use crate::diagnostic::Zone;
use crate::eval::Trend;
use crate::units::Exact;

/// How much a box counts that surely does not hold, and of which only the sort is open.
const FAILING: f64 = 0.2;
/// An edge is followed to this part of the box.
const NEAR: f64 = 0.07;
/// Tries to find it.
const TRIES: usize = 5;
/// A box this small is left open.
const SMALLEST: f64 = 1e-7;

/// A box that is done.
#[derive(Debug, Clone)]
pub(super) struct Tile {
    pub(super) region: Region,
    pub(super) zone: Zone,
    /// The demand that makes it so, or that is open.
    pub(super) by: Option<usize>,
    /// Whether it surely does not hold, though not decided.
    pub(super) fails: bool,
}

/// A box that is open.
struct Cell {
    region: Region,
    weight: f64,
    number: usize,
    /// The demands that are not settled.
    open: Vec<usize>,
    /// One that is at risk all over it.
    risky: Option<usize>,
    /// One that does not hold anywhere in it.
    fails: Option<usize>,
}

impl PartialEq for Cell {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Cell {}

impl PartialOrd for Cell {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Cell {
    fn cmp(&self, other: &Self) -> Ordering {
        self.weight
            .total_cmp(&other.weight)
            .then(other.number.cmp(&self.number))
    }
}

/// The boxes of all set points; `budget` is how many questions may be asked.
pub(super) fn pave(probe: &Probe<'_>, budget: u64) -> Vec<Tile> {
    let mut paving = Paving {
        probe,
        queue: BinaryHeap::new(),
        done: Vec::new(),
        number: 0,
    };
    paving.start();
    let since = probe.trials();
    while let Some(cell) = paving.queue.pop() {
        if probe.trials() - since >= budget || cell.weight < SMALLEST {
            paving.leave(cell);
            continue;
        }
        paving.split(cell);
    }
    paving.done
}

struct Paving<'p, 'a> {
    probe: &'p Probe<'a>,
    queue: BinaryHeap<Cell>,
    done: Vec<Tile>,
    number: usize,
}

impl Paving<'_, '_> {
    /// Cuts along the edges of what rests on one setting alone.
    fn start(&mut self) {
        let probe = self.probe;
        let point: Vec<Exact> = probe.axes.iter().map(|axis| axis.low.clone()).collect();
        let mut lines: Vec<Vec<(usize, Vec<Piece>)>> = vec![Vec::new(); probe.axes.len()];
        let mut together = Vec::new();
        for demand in probe.moving() {
            let axes: Vec<usize> = probe.asked[demand].axes().collect();
            match axes.as_slice() {
                [axis] => lines[*axis].push((demand, pieces(probe, demand, *axis, &point))),
                _ => together.push(demand),
            }
        }
        let region = Region {
            low: point,
            high: probe.axes.iter().map(|axis| axis.high.clone()).collect(),
        };
        let cell = self.cell(region, together, None, None);
        self.cut(&lines, 0, cell);
    }

    fn cell(
        &mut self,
        region: Region,
        open: Vec<usize>,
        risky: Option<usize>,
        fails: Option<usize>,
    ) -> Cell {
        let share = region.share(self.probe.axes);
        self.number += 1;
        Cell {
            region,
            weight: share,
            number: self.number,
            open,
            risky,
            fails,
        }
    }

    fn cut(&mut self, lines: &[Vec<(usize, Vec<Piece>)>], axis: usize, cell: Cell) {
        let Some(of_axis) = lines.get(axis) else {
            return self.settle(cell);
        };
        for (low, high) in stretches(of_axis, &cell.region, axis, self.probe.axes[axis].whole) {
            let region = cell.region.with(axis, &low, &high);
            let (mut open, mut risky, mut fails) = (cell.open.clone(), cell.risky, cell.fails);
            let mut broken = None;
            for (demand, pieces) in of_axis {
                let inside = pieces.iter().find(|p| p.low <= low && high <= p.high);
                match inside.map(|piece| piece.standing.as_ref()) {
                    Some(Some(Standing::Holds)) => {}
                    Some(Some(Standing::Breaks)) => broken = broken.or(Some(*demand)),
                    Some(Some(_)) => {
                        risky = risky.or(Some(*demand));
                        fails = fails.or(Some(*demand));
                    }
                    _ => open.push(*demand),
                }
            }
            if let Some(by) = broken {
                self.done.push(Tile {
                    region,
                    zone: Zone::Breaks,
                    by: Some(by),
                    fails: true,
                });
                continue;
            }
            let part = self.cell(region, open, risky, fails);
            self.cut(lines, axis + 1, part);
        }
    }

    /// Asks what is open of all of a box; what stays open waits to be split.
    fn settle(&mut self, mut cell: Cell) {
        let mut open = Vec::new();
        let mut first = None;
        for demand in std::mem::take(&mut cell.open) {
            match self.probe.over(demand, &cell.region) {
                Over::Same(Standing::Holds) => {}
                Over::Same(Standing::Breaks) => {
                    return self.done.push(Tile {
                        region: cell.region,
                        zone: Zone::Breaks,
                        by: Some(demand),
                        fails: true,
                    });
                }
                Over::Same(_) => {
                    cell.risky = cell.risky.or(Some(demand));
                    cell.fails = cell.fails.or(Some(demand));
                }
                Over::Between(_, best) => {
                    if best != Standing::Holds {
                        cell.fails = cell.fails.or(Some(demand));
                    }
                    open.push(demand);
                }
                Over::Open => {
                    first = first.or(Some(open.len()));
                    open.push(demand);
                }
            }
        }
        if open.is_empty() {
            let zone = if cell.risky.is_some() {
                Zone::AtRisk
            } else {
                Zone::Holds
            };
            return self.done.push(Tile {
                region: cell.region,
                zone,
                by: cell.risky,
                fails: zone != Zone::Holds,
            });
        }
        if cell.fails.is_some() {
            cell.weight *= FAILING;
        }
        cell.open = open;
        self.queue.push(cell);
    }

    fn leave(&mut self, cell: Cell) {
        self.done.push(Tile {
            region: cell.region,
            zone: Zone::NotDecided,
            by: cell.open.first().copied(),
            fails: cell.fails.is_some(),
        });
    }

    fn split(&mut self, cell: Cell) {
        let Some(demand) = self.chosen(&cell) else {
            return self.leave(cell);
        };
        let axes: Vec<usize> = self.probe.asked[demand]
            .axes()
            .filter(|axis| cell.region.low[*axis] < cell.region.high[*axis])
            .collect();
        let parts = match axes.as_slice() {
            [one, other] if self.probe.asked[demand].is_monotone() => {
                self.across(&cell.region, demand, *one, *other)
            }
            _ => None,
        };
        let parts = parts.or_else(|| self.halves(&cell.region, &axes));
        let Some(parts) = parts else {
            return self.leave(cell);
        };
        for region in parts {
            let part = self.cell(region, cell.open.clone(), cell.risky, cell.fails);
            self.settle(part);
        }
    }

    /// The demand whose edge the box is split along: one that decides whether it holds goes first.
    fn chosen(&self, cell: &Cell) -> Option<usize> {
        let undecided = |demand: &&usize| {
            cell.fails.is_none()
                && matches!(
                    self.probe.over(**demand, &cell.region),
                    Over::Between(_, Standing::Holds)
                )
        };
        let first = cell.open.iter().find(undecided).or(cell.open.first());
        first.copied()
    }

    /// Halves of the longest side that counts.
    fn halves(&self, region: &Region, axes: &[usize]) -> Option<Vec<Region>> {
        let length = |axis: &usize| {
            let of = &self.probe.axes[*axis];
            of.size(&region.low[*axis], &region.high[*axis]) / of.span()
        };
        let longest = axes.iter().copied().reduce(|one, other| {
            if length(&other) > length(&one) {
                other
            } else {
                one
            }
        })?;
        let axis = &self.probe.axes[longest];
        let middle = axis.middle(&region.low[longest], &region.high[longest])?;
        Some(vec![
            region.with(longest, &region.low[longest], &middle),
            region.with(longest, &axis.after(&middle), &region.high[longest]),
        ])
    }

    /// Four boxes that meet where the edge of a demand crosses the middle of a setting.
    fn across(
        &self,
        region: &Region,
        demand: usize,
        one: usize,
        other: usize,
    ) -> Option<Vec<Region>> {
        let length = |axis: usize| {
            let of = &self.probe.axes[axis];
            of.size(&region.low[axis], &region.high[axis]) / of.span()
        };
        let (wide, narrow) = if length(one) >= length(other) {
            (one, other)
        } else {
            (other, one)
        };
        let rank = match self.probe.over(demand, region) {
            Over::Between(worst, best) if rank(&worst) < rank(&best) => rank(&best),
            _ => return None,
        };
        let trends = &self.probe.asked[demand].trends;
        let axis = &self.probe.axes[wide];
        let middle = axis.middle(&region.low[wide], &region.high[wide])?;
        let halves = |low: &Exact, high: &Exact| {
            vec![
                region.with(wide, &region.low[wide], low),
                region.with(wide, high, &region.high[wide]),
            ]
        };
        let after = axis.after(&middle);
        let up = trends[narrow] == Trend::Better;
        let (bad_end, good_end) = if up {
            (&region.low[narrow], &region.high[narrow])
        } else {
            (&region.high[narrow], &region.low[narrow])
        };
        let mut point = region.low.clone();
        point[wide] = middle.clone();
        let Some((bad, good)) = self.edge(demand, rank, point, narrow, (bad_end, good_end)) else {
            return Some(halves(&middle, &after));
        };
        let [below, above] = halves(&middle, &after).try_into().ok()?;
        let (worse, better) = if trends[wide] == Trend::Better {
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
        let of = &self.probe.axes[axis];
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

    /// Where along a setting a demand comes to this rank: a set point short of it, and one at which it does.
    fn edge(
        &self,
        demand: usize,
        wanted: u8,
        mut point: Vec<Exact>,
        along: usize,
        (bad, good): (&Exact, &Exact),
    ) -> Option<(Exact, Exact)> {
        let probe = self.probe;
        let mut reaches = |value: &Exact| {
            point[along] = value.clone();
            rank(&probe.standing(demand, &point)) >= wanted
        };
        if reaches(bad) || !reaches(good) {
            return None;
        }
        let (mut bad, mut good) = (bad.clone(), good.clone());
        let axis = &probe.axes[along];
        let near = good.sub(&bad).nearest().abs() * NEAR;
        let slack = |value: &Exact| {
            let mut at = point.clone();
            at[along] = value.clone();
            let (low, high) = probe.slack(demand, &at)?;
            Some(if wanted == rank(&Standing::Holds) {
                low
            } else {
                high
            })
        };
        let (mut from, mut to) = (slack(&bad), slack(&good));
        for _ in 0..TRIES {
            let width = good.sub(&bad).nearest().abs();
            if width <= near {
                break;
            }
            let share = match (from, to) {
                (Some(from), Some(to)) if from < 0.0 && to > 0.0 && (to - from).is_finite() => {
                    // A little further than a straight line says, so that the next try is on the other side of it.
                    let line = from / (from - to);
                    let nudge = 0.4 * near / width;
                    (if line < 0.5 {
                        line + nudge
                    } else {
                        line - nudge
                    })
                    .clamp(0.02, 0.98)
                }
                _ => 0.5,
            };
            let Some(value) = axis
                .between(&bad, &good, share)
                .or_else(|| axis.between(&bad, &good, 0.5))
            else {
                break;
            };
            let mut at = point.clone();
            at[along] = value.clone();
            if rank(&probe.standing(demand, &at)) >= wanted {
                (good, to) = (value.clone(), slack(&value));
            } else {
                (bad, from) = (value.clone(), slack(&value));
            }
        }
        Some((bad, good))
    }
}

/// What is better is higher.
fn rank(standing: &Standing) -> u8 {
    match standing {
        Standing::Breaks => 0,
        Standing::AtRisk | Standing::NotStated(_) | Standing::CannotWorkOut(_) => 1,
        Standing::Holds => 2,
    }
}

/// The stretches of a setting between all ends of pieces.
fn stretches(
    lines: &[(usize, Vec<Piece>)],
    region: &Region,
    axis: usize,
    whole: bool,
) -> Vec<(Exact, Exact)> {
    let (low, high) = (&region.low[axis], &region.high[axis]);
    let mut starts: Vec<Exact> = vec![low.clone()];
    for (_, pieces) in lines {
        starts.extend(pieces.iter().map(|piece| piece.low.clone()));
    }
    starts.retain(|start| low <= start && start <= high);
    starts.sort();
    starts.dedup();
    let mut found = Vec::new();
    for (index, start) in starts.iter().enumerate() {
        let end = match starts.get(index + 1) {
            Some(next) if whole => next.sub(&Exact::ONE),
            Some(next) => next.clone(),
            None => high.clone(),
        };
        if whole || *start < end || low == high {
            found.push((start.clone(), end));
        }
    }
    found
}
