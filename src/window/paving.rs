//! All freed settings at once: the set points in boxes, each of which holds, is at risk, breaks, or is not decided.
//!
//! What rests on one setting alone cuts the boxes first, at its own edges. The rest is split where the edge of a demand
//! runs: at the middle of one setting the edge along the other is looked for, and of the four boxes that meet there two are
//! settled. The largest box that is open is split next, until the questions are used up.

use std::cmp::Ordering;
use std::collections::{BTreeSet, BinaryHeap};

use super::corner_split::CornerSplit;
use super::oracle::{Oracle, Over};
use super::pieces::pieces;
use super::space::Region;
use super::sweep::{Lines, Sort, Standings, Step, sweep};
use crate::check::Standing;
use crate::diagnostic::Zone;
use crate::units::Exact;

/// How much a box counts that surely does not hold, and of which only the sort is open.
const FAILING: f64 = 0.1;
/// How often, over all questions, it is seen anew where the run holds; boxes there count by their share of that as well.
const LOOKS: u64 = 5;
/// How far around that is looked, in parts of it on either side.
const WIDER: f64 = 0.5;
/// Boxes that are shared out among threads.
const PARTS: usize = 16;
/// Parts of one setting's range that are told apart by the demand that makes them what they are.
const MOST_PARTS: usize = 512;
/// Boxes that are cut however few questions may be asked.
const LEAST_CUT: usize = 256;
/// A box this small is left open.
const SMALLEST: f64 = 1e-7;

/// A box that is done.
#[derive(Debug, Clone)]
pub(super) struct Tile {
    pub(super) region: Region,
    pub(super) zone: Zone,
    /// The demand that makes it so, or that is open.
    pub(super) by: Option<usize>,
    /// Not decided because figures are only sampled there: more questions change nothing.
    pub(super) sampled: bool,
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
    /// Whether one of these may break all over it, which was only sampled.
    unsure: bool,
}

/// A box, what is open of it, and what is known.
type Bare = (Region, Vec<usize>, Known);
/// One that is at risk, one that does not hold, and whether that one may break: all over a box.
type Known = (Option<usize>, Option<usize>, bool);

impl Cell {
    fn bare(self) -> Bare {
        let known = self.known();
        (self.region, self.open, known)
    }

    fn known(&self) -> Known {
        (self.risky, self.fails, self.unsure)
    }
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

/// The boxes of all set points; `budget` is how many questions may be asked, `seed` where the run is known to hold.
///
/// Two threads share the work. Which boxes each gets, and how many questions it may ask, hangs on the boxes alone, so that
/// the answer is the same on every machine.
pub(super) fn pave(oracle: &Oracle<'_>, seed: Option<Region>, budget: u64) -> Vec<Tile> {
    let mut first = Paving::new(oracle, seed.clone());
    let cells = first.start(budget);
    let costly = |cell: &Cell| cell.open.iter().any(|demand| oracle.asked[*demand].costly);
    if !cells.iter().any(costly) {
        first.run(cells, budget);
        return first.done;
    }
    let (own, other) = shared(first.parts(cells));
    let regions: Vec<_> = other.into_iter().map(Cell::bare).collect();
    std::thread::scope(|scope| {
        let (standard, run, axes, on) = (oracle.standard, oracle.run, oracle.axes, oracle.on);
        let start = oracle.start();
        let second = scope.spawn(move || {
            let oracle = Oracle::new(standard, run, axes, on, &start);
            let mut second = Paving::new(&oracle, seed);
            let cells = regions
                .into_iter()
                .map(|cell| second.numbered(cell))
                .collect();
            second.run(cells, budget / 2);
            (second.done, oracle.trials())
        });
        first.run(own, budget - budget / 2);
        match second.join() {
            Ok((done, trials)) => {
                first.done.extend(done);
                oracle.count(trials);
            }
            // Its boxes are not to be lost without a word.
            Err(panic) => std::panic::resume_unwind(panic),
        }
    });
    first.done
}

/// Boxes for two, of about the same size in all.
fn shared(cells: Vec<Cell>) -> (Vec<Cell>, Vec<Cell>) {
    let mut found = (Vec::new(), Vec::new());
    for (index, cell) in cells.into_iter().enumerate() {
        if index % 4 == 0 || index % 4 == 3 {
            found.0.push(cell);
        } else {
            found.1.push(cell);
        }
    }
    found
}

/// Where what rests on one setting alone cuts.
struct Cuts {
    /// By setting.
    lines: Vec<Lines>,
    steps: Vec<Vec<Step>>,
    /// Boxes that may be cut.
    most: usize,
}

struct Paving<'p, 'a> {
    oracle: &'p Oracle<'a>,
    queue: BinaryHeap<Cell>,
    done: Vec<Tile>,
    number: usize,
    /// Where the run holds along each setting, if it does.
    seed: Option<Region>,
    /// Where it is looked closest: around all that is known to hold.
    focus: Option<Region>,
    /// How often that was looked at.
    looks: u64,
}

impl<'p, 'a> Paving<'p, 'a> {
    fn new(oracle: &'p Oracle<'a>, seed: Option<Region>) -> Self {
        Self {
            oracle,
            queue: BinaryHeap::new(),
            done: Vec::new(),
            number: 0,
            seed,
            focus: None,
            looks: 0,
        }
    }

    /// Asks about these boxes until the questions are used up.
    fn run(&mut self, cells: Vec<Cell>, budget: u64) {
        let since = self.oracle.trials();
        for cell in cells {
            self.settle(cell);
        }
        while let Some(cell) = self.queue.pop() {
            let asked = self.oracle.trials() - since;
            if asked >= budget || cell.weight < SMALLEST {
                self.leave(cell);
                continue;
            }
            if asked >= (budget / LOOKS).max(1) * self.looks {
                self.looks += 1;
                self.queue.push(cell);
                self.weigh_again();
                continue;
            }
            let oracle = self.oracle;
            oracle.counted(|| self.split(cell));
        }
        self.confirm();
    }

    /// What the corners show of all of a box a check need not show at each point of it: it then says that it is at risk.
    fn confirm(&mut self) {
        let oracle = self.oracle;
        let doubtful = |demand: &usize| oracle.asked[*demand].costly && oracle.is_sampled(*demand);
        let doubtful: Vec<usize> = oracle.moving().into_iter().filter(doubtful).collect();
        for tile in &mut self.done {
            let parts = |standing: &Standing| {
                let mut of_tile = doubtful.iter();
                of_tile
                    .find(|demand| {
                        (tile.zone == Zone::Holds || tile.by == Some(**demand))
                            && !oracle.is_same_across(**demand, &tile.region, standing)
                    })
                    .copied()
            };
            match tile.zone {
                Zone::Holds => {
                    if let Some(open) = parts(&Standing::Holds) {
                        tile.zone = Zone::NotDecided;
                        tile.by = Some(open);
                        tile.sampled = true;
                    }
                }
                Zone::Breaks if parts(&Standing::Breaks).is_some() => tile.zone = Zone::Fails,
                _ => {}
            }
        }
    }

    /// The largest halved until there are enough to share.
    fn parts(&mut self, mut cells: Vec<Cell>) -> Vec<Cell> {
        let mut stuck = 0;
        while cells.len() + stuck < PARTS {
            let share = |cell: &Cell| cell.region.share(self.oracle.axes);
            let largest = (0..cells.len() - stuck)
                .max_by(|one, other| share(&cells[*one]).total_cmp(&share(&cells[*other])));
            let Some(largest) = largest else { break };
            let cell = cells.swap_remove(largest);
            let axes: Vec<usize> = (0..self.oracle.axes.len()).collect();
            match self.halves(&cell.region, &axes) {
                Some(halves) => {
                    for region in halves {
                        let part = self.cell(region, cell.open.clone(), cell.known());
                        cells.push(part);
                    }
                }
                None => {
                    cells.push(cell);
                    stuck += 1;
                }
            }
        }
        cells.sort_by(|one, other| one.region.low.cmp(&other.region.low));
        cells
    }

    fn numbered(&mut self, bare: Bare) -> Cell {
        let (region, open, known) = bare;
        self.cell(region, open, known)
    }

    fn weigh(&self, cell: &mut Cell) {
        let share = cell.region.weight(self.oracle.axes);
        if cell.fails.is_some() {
            cell.weight = share * FAILING;
            return;
        }
        let inside = self.focus.as_ref().and_then(|focus| {
            let part = cell.region.meets(focus)?.share(self.oracle.axes);
            Some(part / focus.share(self.oracle.axes).max(f64::MIN_POSITIVE))
        });
        cell.weight = share + inside.unwrap_or(0.0);
    }

    /// Weighs all open boxes by what is known of where the run holds.
    fn weigh_again(&mut self) {
        let holding = self.done.iter().filter(|tile| tile.zone == Zone::Holds);
        let known = holding.map(|tile| &tile.region).chain(&self.seed);
        let around = known.cloned().reduce(|one, other| one.hull(&other));
        self.focus = around.map(|around| around.wider(self.oracle.axes, WIDER));
        let mut cells = std::mem::take(&mut self.queue).into_vec();
        for cell in &mut cells {
            self.weigh(cell);
        }
        self.queue = cells.into();
    }

    /// Cuts along the edges of what rests on one setting alone.
    fn start(&mut self, budget: u64) -> Vec<Cell> {
        let oracle = self.oracle;
        let point: Vec<Exact> = oracle.axes.iter().map(|axis| axis.low.clone()).collect();
        let mut lines: Vec<Lines> = vec![Vec::new(); oracle.axes.len()];
        let mut together = Vec::new();
        for demand in oracle.moving() {
            let axes: Vec<usize> = oracle.asked[demand].axes().collect();
            match axes.as_slice() {
                [axis] => lines[*axis].push((demand, pieces(oracle, demand, *axis, &point))),
                _ => together.push(demand),
            }
        }
        let region = Region {
            low: point.clone(),
            high: oracle.axes.iter().map(|axis| axis.high.clone()).collect(),
        };
        let cell = self.cell(region, together, (None, None, false));
        let mut cells = Vec::new();
        let steps: Vec<Vec<Step>> = lines
            .iter()
            .enumerate()
            .map(|(axis, of)| self.steps(of, axis, &point))
            .collect();
        let cuts = Cuts {
            lines,
            steps,
            most: usize::try_from(budget).unwrap_or(usize::MAX).max(LEAST_CUT),
        };
        self.cut(&cuts, 0, cell, &mut cells);
        cells
    }

    fn cell(&mut self, region: Region, open: Vec<usize>, (risky, fails, unsure): Known) -> Cell {
        self.number += 1;
        Cell {
            region,
            weight: 0.0,
            number: self.number,
            open,
            risky,
            fails,
            unsure,
        }
    }

    /// The parts of a setting's range at which what rests on it alone cuts; of very many, neighbours that come to the same
    /// are one.
    fn steps(&self, lines: &Lines, axis: usize, point: &[Exact]) -> Vec<Step> {
        let steps = sweep(self.oracle, lines, axis, point);
        if steps.len() <= MOST_PARTS {
            return steps;
        }
        let mut standings = Standings::new(lines.len());
        let mut joined: Vec<Step> = Vec::new();
        let mut known = None;
        for (atom, changes) in steps {
            standings.step(&changes);
            let any = |sort| standings.first(sort).is_some();
            // What breaks by one demand breaks, whatever the others come to.
            let comes = match any(Sort::Breaks) {
                true => (true, false, false, BTreeSet::new()),
                false => (
                    false,
                    any(Sort::Fails),
                    any(Sort::AtRisk),
                    standings.all(Sort::NotDecided).clone(),
                ),
            };
            match joined.last_mut() {
                Some((last, known_changes)) if known.as_ref() == Some(&comes) => {
                    last.high = atom.high;
                    last.open = atom.open;
                    known_changes.extend(changes);
                }
                _ => joined.push((atom, changes)),
            }
            known = Some(comes);
        }
        joined
    }

    fn cut(&mut self, cuts: &Cuts, axis: usize, mut cell: Cell, cells: &mut Vec<Cell>) {
        let Some(of_axis) = cuts.lines.get(axis) else {
            return cells.push(cell);
        };
        if cells.len() >= cuts.most {
            // More boxes than questions: what is not cut is asked of all of the box.
            let left = cuts.lines[axis..].iter().flatten();
            cell.open.extend(left.map(|(demand, _)| *demand));
            return cells.push(cell);
        }
        let whole = self.oracle.axes[axis].whole;
        let steps = &cuts.steps[axis];
        let mut standings = Standings::new(of_axis.len());
        let demand = |line: usize| of_axis[line].0;
        for (number, (atom, changes)) in steps.iter().enumerate() {
            let before: Vec<(usize, Option<Standing>)> = changes
                .iter()
                .map(|(line, _)| (*line, standings.of(*line).cloned()))
                .collect();
            standings.step(changes);
            let before = (number > 0).then_some(before.as_slice());
            let after = steps.get(number + 1).map(|(_, changes)| changes.as_slice());
            let mut neighbours = before.into_iter().chain(after);
            // An end is part of the boxes on either side, but for one at which something holds that holds in neither.
            let is_inner = !whole && atom.is_point() && steps.len() > 1;
            if is_inner && neighbours.any(|beside| standings.no_better(beside)) {
                continue;
            }
            let region = cell.region.with(axis, &atom.low, &atom.high);
            if let Some(by) = standings.first(Sort::Breaks) {
                self.done.push(Tile {
                    region,
                    zone: Zone::Breaks,
                    by: Some(demand(by)),
                    sampled: false,
                });
                continue;
            }
            let (risky, fails, unsure) = cell.known();
            let (at_risk, failing) = (standings.first(Sort::AtRisk), standings.first(Sort::Fails));
            let first = at_risk.into_iter().chain(failing).min();
            let known = (
                risky.or(at_risk.map(demand)),
                fails.or(first.map(demand)),
                unsure || failing.is_some(),
            );
            let mut open = cell.open.clone();
            open.extend(
                standings
                    .all(Sort::NotDecided)
                    .iter()
                    .map(|line| demand(*line)),
            );
            let part = self.cell(region, open, known);
            self.cut(cuts, axis + 1, part, cells);
        }
    }

    /// Asks what is open of all of a box; what stays open waits to be split.
    fn settle(&mut self, mut cell: Cell) {
        let mut open: Vec<(usize, Option<Standing>)> = Vec::new();
        let mut sampled = 0;
        for demand in std::mem::take(&mut cell.open) {
            match self.oracle.over(demand, &cell.region) {
                Over::Same(Standing::Holds) => {}
                Over::Same(Standing::Breaks) => {
                    return self.done.push(Tile {
                        region: cell.region,
                        zone: Zone::Breaks,
                        by: Some(demand),
                        sampled: false,
                    });
                }
                // What is sampled at some places of it may yet hold at others.
                Over::Same(Standing::NotShown)
                    if !self.oracle.surely_fails(demand, &cell.region) =>
                {
                    sampled += 1;
                    open.push((demand, Some(Standing::NotShown)));
                }
                Over::Same(Standing::Fails) => {
                    cell.fails = cell.fails.or(Some(demand));
                    cell.unsure = true;
                }
                Over::Same(_) => {
                    cell.risky = cell.risky.or(Some(demand));
                    cell.fails = cell.fails.or(Some(demand));
                }
                Over::Between(worst, best) => {
                    if best != Standing::Holds && worst != Standing::Holds && !beyond(&best) {
                        cell.fails = cell.fails.or(Some(demand));
                    }
                    open.push((demand, Some(worst)));
                }
                Over::Open => open.push((demand, None)),
            }
        }
        if cell.fails.is_some() {
            // Where it does not hold anyhow, only what may break is still of interest.
            let may_break = |worst: &Option<Standing>| {
                let not = [Standing::AtRisk, Standing::NotShown, Standing::Holds];
                let worst = worst.as_ref();
                worst.is_none_or(|worst| *worst != Standing::Fails && !not.contains(worst))
            };
            let sampled = Some(Standing::Fails);
            cell.unsure |= open.iter().any(|(_, worst)| *worst == sampled);
            open.retain(|(_, worst)| may_break(worst));
            if open.is_empty() {
                cell.risky = cell.risky.or(cell.fails);
            }
        }
        let open: Vec<usize> = open.into_iter().map(|(demand, _)| demand).collect();
        if cell.fails.is_none() && sampled > 0 && sampled == open.len() {
            cell.open = open;
            return self.left(cell, true);
        }
        if open.is_empty() {
            let (zone, by) = match cell.known() {
                (_, Some(by), true) => (Zone::Fails, Some(by)),
                (Some(by), ..) => (Zone::AtRisk, Some(by)),
                _ => (Zone::Holds, None),
            };
            return self.done.push(Tile {
                region: cell.region,
                zone,
                by,
                sampled: false,
            });
        }
        cell.open = open;
        self.weigh(&mut cell);
        self.queue.push(cell);
    }

    fn leave(&mut self, cell: Cell) {
        self.left(cell, false);
    }

    fn left(&mut self, cell: Cell, sampled: bool) {
        self.done.push(Tile {
            region: cell.region,
            zone: if cell.fails.is_some() {
                Zone::Fails
            } else {
                Zone::NotDecided
            },
            by: cell.fails.or(cell.open.first().copied()),
            sampled,
        });
    }

    fn split(&mut self, cell: Cell) {
        let Some(demand) = self.chosen(&cell) else {
            return self.leave(cell);
        };
        let axes: Vec<usize> = self.oracle.asked[demand]
            .axes()
            .filter(|axis| cell.region.low[*axis] < cell.region.high[*axis])
            .collect();
        let parts = match axes.as_slice() {
            [one, other] => {
                let across = CornerSplit {
                    oracle: self.oracle,
                };
                across.split(&cell.region, demand, *one, *other)
            }
            _ => None,
        };
        let parts = parts.or_else(|| self.halves(&cell.region, &axes));
        let Some(parts) = parts else {
            return self.leave(cell);
        };
        for region in parts {
            let part = self.cell(region, cell.open.clone(), cell.known());
            self.settle(part);
        }
    }

    /// The demand whose edge the box is split along: one that decides whether it holds goes first.
    fn chosen(&self, cell: &Cell) -> Option<usize> {
        let undecided = |demand: &&usize| {
            cell.fails.is_none()
                && matches!(
                    self.oracle.over(**demand, &cell.region),
                    Over::Between(_, Standing::Holds)
                )
        };
        let first = cell.open.iter().find(undecided).or(cell.open.first());
        first.copied()
    }

    /// Halves of the longest side that counts.
    fn halves(&self, region: &Region, axes: &[usize]) -> Option<Vec<Region>> {
        let length = |axis: &usize| {
            let of = &self.oracle.axes[*axis];
            of.size(&region.low[*axis], &region.high[*axis]) / of.span()
        };
        let longest = axes.iter().copied().reduce(|one, other| {
            if length(&other) > length(&one) {
                other
            } else {
                one
            }
        })?;
        let axis = &self.oracle.axes[longest];
        let middle = axis.middle(&region.low[longest], &region.high[longest])?;
        Some(vec![
            region.with(longest, &region.low[longest], &middle),
            region.with(longest, &axis.after(&middle), &region.high[longest]),
        ])
    }
}

/// Whether what holds may lie on the worse side of it: far from a limit a film may still be wet, or the model end.
fn beyond(best: &Standing) -> bool {
    matches!(
        best,
        Standing::NotShown | Standing::CannotWorkOut(_) | Standing::NotStated(_)
    )
}
