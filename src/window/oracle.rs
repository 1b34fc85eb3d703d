//! Asks demands at set points, each question once, and counts the questions.

use std::cell::{Cell, RefCell};
use std::collections::HashMap;

use super::space::{Axis, Region};
use crate::check::{Demand, Standing};
use crate::eval::{EvalContext, ExactInterval, FigureCache, Leaf, Trend, carried};
use crate::types::{Carried, Date, Run, Standard};
use crate::units::Exact;

/// Work that counts as much as a question, in units of the figure cache: about a pass through the tunnel.
const WORK: u64 = 1_500;
/// Answers kept before all are forgotten.
const MOST_KEPT: usize = 200_000;

/// A demand with what the freed settings do to it.
pub(super) struct Asked<'a> {
    pub(super) demand: Demand<'a>,
    /// What raising each freed setting does.
    pub(super) trends: Vec<Trend>,
    /// Whether figures that take milliseconds stand behind it.
    pub(super) costly: bool,
    /// Whether it rests on a reading that has to be taken again where a freed setting is moved.
    pub(super) by_reading: bool,
}

impl Asked<'_> {
    /// The freed settings it rests on.
    pub(super) fn axes(&self) -> impl Iterator<Item = usize> + '_ {
        let rests = |(index, trend): (usize, &Trend)| (*trend != Trend::Flat).then_some(index);
        self.trends.iter().enumerate().filter_map(rests)
    }

    /// Whether it only gets better or worse with each of them, wherever that is.
    pub(super) fn is_monotone(&self) -> bool {
        let goes = |trend: &Trend| *trend != Trend::Unknown && !trend.is_conditional();
        self.trends.iter().all(goes)
    }

    /// Whether that hangs on where it is.
    fn is_conditional(&self) -> bool {
        self.trends.iter().any(|trend| trend.is_conditional())
    }
}

/// What a demand comes to all over a region.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Over {
    /// The same everywhere.
    Same(Standing),
    /// At its worst and at its best set point.
    Between(Standing, Standing),
    /// Nothing is shown of all of it.
    Open,
}

/// Where in a region a demand is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum At {
    /// Every setting at one value.
    Point,
    /// The same, whatever is known of the points around it.
    Alone,
    /// Everything inside the tolerance of any set point of the region.
    Hull,
    /// What lies inside the tolerance of every set point of it.
    Core,
}

/// Set points, as plain numbers, with what was answered there.
type Seen = Vec<(Vec<f64>, Standing)>;

/// A run with its freed settings, and the answers so far.
pub(super) struct Oracle<'a> {
    pub(super) standard: &'a Standard,
    pub(super) run: &'a Run,
    pub(super) on: Option<Date>,
    pub(super) axes: &'a [Axis],
    pub(super) asked: Vec<Asked<'a>>,
    start: Vec<Exact>,
    /// Demands that are left aside.
    aside: RefCell<Vec<usize>>,
    cache: FigureCache,
    known: RefCell<HashMap<(usize, At, Region), Standing>>,
    /// Of which demands the figures are shown all over a region.
    shown: RefCell<HashMap<Region, Vec<(usize, bool)>>>,
    /// Answers at set points, by demand: whatever lies between two that are alike is like them.
    points: RefCell<Vec<Seen>>,
    trials: Cell<u64>,
}

impl<'a> Oracle<'a> {
    /// For a run in which every freed setting is stated.
    pub(super) fn new(
        standard: &'a Standard,
        run: &'a Run,
        axes: &'a [Axis],
        on: Option<Date>,
        start: &[Exact],
    ) -> Self {
        let cache = FigureCache::default();
        let context = EvalContext::new(standard, run);
        let at = narrowed(axes, start);
        let at = carried(&context, &at);
        let point = EvalContext {
            narrowed: &at,
            ..context
        };
        let all: Vec<(Leaf, ExactInterval)> = axes
            .iter()
            .map(|axis| (axis.leaf, axis.hull(&axis.low, &axis.high)))
            .collect();
        let all = carried(&context, &all);
        let all = EvalContext {
            narrowed: &all,
            ..context
        };
        let demands = crate::check::demands(standard, &point.remembering(&cache), &all, on);
        cache.budget().rest();
        let asked: Vec<Asked<'_>> = demands
            .into_iter()
            .map(|demand| {
                let trends = demand.trends(&point, &all);
                let mut of_readings = trends.iter().skip(axes.len());
                let by_reading = of_readings.any(|trend| *trend != Trend::Flat);
                let trends = with_readings(run, axes, &all, trends);
                let costly = demand.is_costly(&point.remembering(&cache));
                cache.budget().rest();
                Asked {
                    demand,
                    trends,
                    costly,
                    by_reading,
                }
            })
            .collect();
        // Whether a worked-out value is possible is asked where a freed setting moves it; a figure that takes
        // milliseconds refuses by itself what its model does not reach.
        let asked: Vec<Asked<'_>> = asked
            .into_iter()
            .filter(|asked| {
                !asked.demand.is_possible() || asked.axes().next().is_some() && !asked.costly
            })
            .collect();
        let points = RefCell::new(vec![Vec::new(); asked.len()]);
        Self {
            standard,
            run,
            on,
            axes,
            points,
            start: start.to_vec(),
            aside: RefCell::new(Vec::new()),
            shown: RefCell::new(HashMap::new()),
            asked,
            cache,
            known: RefCell::new(HashMap::new()),
            trials: Cell::new(0),
        }
    }
}

/// What raising each freed setting does, where readings carry over: a reading moves with the settings it was taken at,
/// both of its ends the one way.
fn with_readings(
    run: &Run,
    axes: &[Axis],
    all: &EvalContext<'_>,
    mut trends: Vec<Trend>,
) -> Vec<Trend> {
    let of_readings = trends.split_off(axes.len().min(trends.len()));
    let readings = all.narrowed.iter().skip(axes.len()).zip(of_readings);
    for ((leaf, _), trend) in readings {
        let of = |of: &&Carried| (of.target, of.field) == (leaf.target, leaf.field);
        let Some(reading) = run.readings.iter().find(of) else {
            continue;
        };
        for dial in &reading.dials {
            let of = |axis: &Axis| (axis.leaf.target, axis.leaf.field) == (dial.target, dial.field);
            if let Some(index) = axes.iter().position(of) {
                trends[index] = trends[index].with(trend.through(dial.way));
            }
        }
    }
    trends
}

/// Whether one set point is no better than another for a demand with these trends.
fn no_better(trends: &[Trend], one: &[f64], other: &[f64]) -> bool {
    trends.iter().enumerate().all(|(index, trend)| match trend {
        Trend::Better => one[index] <= other[index],
        Trend::Worse => one[index] >= other[index],
        Trend::Flat => true,
        _ => one[index] == other[index],
    })
}

fn narrowed(axes: &[Axis], at: &[Exact]) -> Vec<(Leaf, ExactInterval)> {
    let each = axes.iter().zip(at);
    each.map(|(axis, at)| (axis.leaf, axis.reach(at))).collect()
}

impl Oracle<'_> {
    /// Where it began.
    pub(super) fn start(&self) -> Vec<Exact> {
        self.start.clone()
    }

    /// The set points of one setting at which readings were taken, lowest first: there they say what they say, and beside
    /// it less.
    pub(super) fn read_at(&self, axis: usize) -> Vec<Exact> {
        let of = &self.axes[axis];
        let dials = self.run.readings.iter().flat_map(|of| &of.dials);
        let mut found: Vec<Exact> = dials
            .filter(|dial| (dial.target, dial.field) == (of.leaf.target, of.leaf.field))
            .filter_map(|dial| of.set_point(&dial.low, &dial.high))
            .filter(|at| of.low <= *at && *at <= of.high)
            .collect();
        found.sort();
        found.dedup();
        found
    }

    /// Counts what was asked elsewhere.
    pub(super) fn count(&self, trials: u64) {
        self.trials.set(self.trials.get() + trials);
    }

    /// Takes a step of a search, which counts as a question even where all that it asks was answered before: so every
    /// search ends within its budget.
    pub(super) fn counted<T>(&self, step: impl FnOnce() -> T) -> T {
        let before = self.trials();
        let found = step();
        if self.trials() == before {
            self.count(1);
        }
        found
    }

    /// How many times a demand was asked.
    pub(super) fn trials(&self) -> u64 {
        self.trials.get()
    }

    /// Works something out as if these demands were not there.
    pub(super) fn without<T>(&self, aside: Vec<usize>, work_out: impl FnOnce() -> T) -> T {
        let before = self.aside.replace(aside);
        let found = work_out();
        self.aside.replace(before);
        found
    }

    /// The demands that rest on a freed setting.
    pub(super) fn moving(&self) -> Vec<usize> {
        let aside = self.aside.borrow();
        let moves =
            |index: &usize| self.asked[*index].axes().next().is_some() && !aside.contains(index);
        (0..self.asked.len()).filter(moves).collect()
    }

    /// Works something out in the context of a set point.
    pub(super) fn at<T>(&self, point: &[Exact], work_out: impl FnOnce(&EvalContext<'_>) -> T) -> T {
        let narrowed = narrowed(self.axes, point);
        self.within(&narrowed, work_out)
    }

    fn within<T>(
        &self,
        narrowed: &[(Leaf, ExactInterval)],
        work_out: impl FnOnce(&EvalContext<'_>) -> T,
    ) -> T {
        let context = EvalContext::new(self.standard, self.run).remembering(&self.cache);
        let narrowed = carried(&context, narrowed);
        let context = EvalContext {
            narrowed: &narrowed,
            ..context
        };
        let found = work_out(&context);
        let units = self.cache.budget().work() / WORK;
        self.trials.set(self.trials.get() + units);
        // Every question is judged as a check of its own.
        self.cache.budget().rest();
        found
    }

    /// What a demand comes to at a set point, as a check of the plan would find.
    pub(super) fn standing(&self, demand: usize, point: &[Exact]) -> Standing {
        let region = Region {
            low: point.to_vec(),
            high: point.to_vec(),
        };
        self.ask(demand, At::Point, region)
    }

    fn ask(&self, demand: usize, at: At, mut region: Region) -> Standing {
        let asked = &self.asked[demand];
        // What it does not rest on need not be told apart.
        for (index, trend) in asked.trends.iter().enumerate() {
            if *trend == Trend::Flat {
                region.low[index] = self.axes[index].low.clone();
                region.high[index] = self.axes[index].low.clone();
            }
        }
        let key = (demand, at, region);
        if let Some(known) = self.known.borrow().get(&key) {
            return known.clone();
        }
        let region = &key.2;
        let ends = self.axes.iter().zip(&region.low).zip(&region.high);
        let narrowed: Option<Vec<(Leaf, ExactInterval)>> = ends
            .map(|((axis, low), high)| {
                let stretch = match at {
                    At::Point | At::Alone => axis.reach(low),
                    At::Hull => axis.hull(low, high),
                    At::Core => axis.core(low, high)?,
                };
                Some((axis.leaf, stretch))
            })
            .collect();
        let Some(mut narrowed) = narrowed else {
            return Standing::AtRisk;
        };
        if at == At::Core {
            // Readings speak of every set point of the region, not of what lies inside the tolerance of all of them.
            let axes = self.axes.iter().zip(&region.low).zip(&region.high);
            let hull: Vec<(Leaf, ExactInterval)> = axes
                .map(|((axis, low), high)| (axis.leaf, axis.hull(low, high)))
                .collect();
            let context = EvalContext::new(self.standard, self.run);
            narrowed.extend(carried(&context, &hull).iter().skip(hull.len()).cloned());
        }
        let place: Vec<f64> = region.low.iter().map(Exact::nearest).collect();
        if at == At::Point
            && let Some(found) = self.between(demand, &place)
        {
            return found;
        }
        self.trials.set(self.trials.get() + 1);
        let found = self.within(&narrowed, |context| {
            let over = !matches!(at, At::Point | At::Alone);
            // Whether it holds is seen soonest; whether it breaks may take a search.
            if asked.costly {
                let shown = FigureCache::proving(context.cache, || {
                    asked.demand.standing(context, self.on, over)
                });
                let sampled = || {
                    let slack = FigureCache::proving(context.cache, || asked.demand.slack(context));
                    slack.is_none_or(|slack| slack.sampled)
                };
                match shown {
                    Standing::Holds => return shown,
                    Standing::Breaks if sampled() => return Standing::Fails,
                    Standing::Breaks => return shown,
                    _ => {}
                }
            }
            let found = asked.demand.standing(context, self.on, over);
            if !asked.costly || !matches!(found, Standing::AtRisk | Standing::Breaks) {
                return found;
            }
            let slack = asked.demand.slack(context);
            match (slack.is_none_or(|slack| slack.sampled), found) {
                (true, Standing::AtRisk) => Standing::NotShown,
                (true, _) => Standing::Fails,
                (false, found) => found,
            }
        });
        if at == At::Point && asked.costly {
            let mut points = self.points.borrow_mut();
            points[demand].push((place, found.clone()));
        }
        let mut known = self.known.borrow_mut();
        if known.len() >= MOST_KEPT {
            known.clear();
        }
        known.insert(key, found.clone());
        found
    }

    /// What a set point comes to that lies between one no better and one no worse, both of which come to the same.
    fn between(&self, demand: usize, place: &[f64]) -> Option<Standing> {
        let asked = &self.asked[demand];
        if !asked.costly || !asked.is_monotone() {
            return None;
        }
        let points = self.points.borrow();
        let (mut below, mut above) = ([false; 4], [false; 4]);
        for (known, standing) in &points[demand] {
            let sort = match standing {
                Standing::Breaks => 0,
                Standing::Fails => 1,
                Standing::AtRisk => 2,
                Standing::Holds => 3,
                _ => continue,
            };
            below[sort] |= no_better(&asked.trends, known, place);
            above[sort] |= no_better(&asked.trends, place, known);
        }
        let sorts = [
            Standing::Breaks,
            Standing::Fails,
            Standing::AtRisk,
            Standing::Holds,
        ];
        let found = sorts.into_iter().enumerate();
        let mut same = found.filter(|(sort, _)| below[*sort] && above[*sort]);
        same.next().map(|(_, standing)| standing)
    }

    /// How far a demand is kept at a set point, lowest and highest.
    pub(super) fn slack(&self, demand: usize, point: &[Exact]) -> Option<(f64, f64)> {
        let asked = &self.asked[demand];
        self.at(point, |context| {
            let bounds = asked.demand.slack(context)?.bounds;
            Some((bounds.lo, bounds.hi))
        })
    }

    /// Whether what a demand comes to changes at `edge` and nowhere else between two set points beside it.
    ///
    /// What it comes to hangs on which of its comparisons are true, false or in doubt. So it is shown where one end of
    /// one comparison is exactly zero at `edge` and has another sign on either side, and every other end keeps its sign.
    /// A comparison that stays in doubt shows nothing: what it leaves may hang together with the other.
    pub(super) fn is_edge(
        &self,
        demand: usize,
        below: &[Exact],
        edge: &[Exact],
        above: &[Exact],
    ) -> bool {
        let asked = &self.asked[demand];
        let slacks = |point: &[Exact]| {
            self.trials.set(self.trials.get() + 1);
            self.at(point, |context| asked.demand.exact_slacks(context))
        };
        let (Some(below), Some(edge), Some(above)) = (slacks(below), slacks(edge), slacks(above))
        else {
            return false;
        };
        if below.len() != edge.len() || above.len() != edge.len() {
            return false;
        }
        let mut moving = 0;
        for ((below, edge), above) in below.iter().zip(&edge).zip(&above) {
            let signs = |of: fn(&(Exact, Exact)) -> &Exact| {
                (of(below).signum(), of(edge).signum(), of(above).signum())
            };
            let ends = [signs(|ends| &ends.0), signs(|ends| &ends.1)];
            let stays = |(below, _, above): (i32, i32, i32)| below == above && below != 0;
            let turns = |(below, edge, above): (i32, i32, i32)| edge == 0 && below * above < 0;
            if ends.into_iter().all(stays) {
                if ends[0].0 != ends[1].0 {
                    return false;
                }
            } else if ends.into_iter().all(|end| stays(end) || turns(end)) {
                moving += 1;
            } else {
                return false;
            }
        }
        moving == 1
    }

    /// The corner of a region at which a demand is worst, and the one at which it is best. What goes either way stays a
    /// stretch; `shown` says that what hangs on being shown is.
    fn corners(&self, demand: usize, region: &Region, shown: bool) -> (Region, Region) {
        let (mut worst, mut best) = (region.clone(), region.clone());
        for (index, trend) in self.asked[demand].trends.iter().enumerate() {
            let goes = matches!(trend, Trend::Better | Trend::Worse)
                || shown && trend.is_conditional()
                || *trend == Trend::Workable;
            if !goes {
                continue;
            }
            let (low, high) = (&region.low[index], &region.high[index]);
            let (bad, good) = if trend.is_better() {
                (low, high)
            } else {
                (high, low)
            };
            (worst.low[index], worst.high[index]) = (bad.clone(), bad.clone());
            (best.low[index], best.high[index]) = (good.clone(), good.clone());
        }
        (worst, best)
    }

    /// What a demand comes to all over a region.
    pub(super) fn over(&self, demand: usize, region: &Region) -> Over {
        let asked = &self.asked[demand];
        let monotone = asked.is_monotone()
            || asked.is_conditional()
                && !asked.trends.contains(&Trend::Unknown)
                && self.is_shown(demand, region);
        if monotone {
            let (worst, best) = self.corners(demand, region, true);
            return self.at_corners(demand, worst, best);
        }
        let (worst, best) = self.corners(demand, region, false);
        let low = self.ask(demand, At::Hull, worst.clone());
        let high = self.ask(demand, At::Hull, best.clone());
        match (low, high) {
            (Standing::Holds, Standing::Holds) => return Over::Same(Standing::Holds),
            (_, Standing::Breaks) => return Over::Same(Standing::Breaks),
            _ => {}
        }
        // What cannot be shown at what all set points have in common can be shown at none of them.
        let (low, high) = (
            self.ask(demand, At::Core, worst),
            self.ask(demand, At::Core, best),
        );
        let apart = |index: usize| {
            let axis = &self.axes[index];
            axis.core(&region.low[index], &region.high[index]).is_none()
        };
        let common = !asked.axes().any(apart);
        match (common, low, high) {
            (true, Standing::AtRisk, Standing::AtRisk) => Over::Same(Standing::AtRisk),
            // What breaks somewhere in that breaks somewhere inside each tolerance.
            (true, _, Standing::Fails | Standing::Breaks | Standing::AtRisk) => {
                Over::Same(Standing::Fails)
            }
            _ => Over::Open,
        }
    }

    /// Whether the figures of a demand are shown all over a region, so that their conditional directions hold in it.
    fn is_shown(&self, demand: usize, region: &Region) -> bool {
        let asked = &self.asked[demand];
        let known = self.shown.borrow().get(region).and_then(|known| {
            let of = known.iter().find(|(of, _)| *of == demand);
            of.map(|(_, shown)| *shown)
        });
        if let Some(known) = known {
            return known;
        }
        let hull: Vec<(Leaf, ExactInterval)> = self
            .axes
            .iter()
            .zip(region.low.iter().zip(&region.high))
            .map(|(axis, (low, high))| (axis.leaf, axis.hull(low, high)))
            .collect();
        self.trials.set(self.trials.get() + 1);
        let shown = self.within(&hull, |context| {
            let slack = FigureCache::proving(context.cache, || asked.demand.slack(context));
            slack.is_some_and(|slack| !slack.sampled)
        });
        let mut all = self.shown.borrow_mut();
        all.entry(region.clone()).or_default().push((demand, shown));
        shown
    }

    /// The same everywhere between two corners, if it is the same at both. Where a setting only makes it workable, both of
    /// its ends count.
    fn at_corners(&self, demand: usize, worst: Region, best: Region) -> Over {
        let trends = &self.asked[demand].trends;
        let loose: Vec<usize> = (0..trends.len())
            .filter(|index| {
                trends[*index] == Trend::Workable && worst.low[*index] != best.low[*index]
            })
            .collect();
        let low = self.ask(demand, At::Point, worst.clone());
        let high = self.ask(demand, At::Point, best.clone());
        if low != high {
            return Over::Between(low, high);
        }
        for mask in 1..1_usize << loose.len() {
            let (mut worst, mut best) = (worst.clone(), best.clone());
            for (bit, index) in loose.iter().enumerate() {
                if mask >> bit & 1 == 1 {
                    std::mem::swap(&mut worst.low[*index], &mut best.low[*index]);
                    std::mem::swap(&mut worst.high[*index], &mut best.high[*index]);
                }
            }
            for corner in [worst, best] {
                let found = self.ask(demand, At::Point, corner);
                if found != low {
                    return Over::Between(low, found);
                }
            }
        }
        if low == Standing::NotShown {
            // What is sampled at two corners need not be so between them.
            let middle = self.middle(&worst, &best);
            if self.ask(demand, At::Point, middle) != low {
                return Over::Open;
            }
        }
        Over::Same(low)
    }

    fn middle(&self, worst: &Region, best: &Region) -> Region {
        let ends = worst.low.iter().zip(&best.low).zip(self.axes);
        let at: Vec<Exact> = ends
            .map(|((one, other), axis)| {
                let (low, high) = if one < other {
                    (one, other)
                } else {
                    (other, one)
                };
                axis.middle(low, high).unwrap_or_else(|| low.clone())
            })
            .collect();
        Region {
            low: at.clone(),
            high: at,
        }
    }

    /// Whether figures of a demand were only sampled at some set point.
    pub(super) fn is_sampled(&self, demand: usize) -> bool {
        let points = self.points.borrow();
        let sampled = [Standing::NotShown, Standing::Fails];
        points[demand]
            .iter()
            .any(|(_, standing)| sampled.contains(standing))
    }

    /// Whether a check comes to this at the corners of a region that are neither the worst nor the best: between two that
    /// are shown, figures may be sampled.
    pub(super) fn is_same_across(&self, demand: usize, region: &Region, wanted: &Standing) -> bool {
        let axes: Vec<usize> = self.asked[demand]
            .axes()
            .filter(|axis| region.low[*axis] < region.high[*axis])
            .collect();
        let (worst, _) = self.corners(demand, region, true);
        (1..(1_usize << axes.len()).saturating_sub(1)).all(|mask| {
            let mut corner = worst.clone();
            for (bit, axis) in axes.iter().enumerate() {
                if mask >> bit & 1 == 1 {
                    let was = &worst.low[*axis];
                    let other = if *was == region.low[*axis] {
                        region.high[*axis].clone()
                    } else {
                        region.low[*axis].clone()
                    };
                    (corner.low[*axis], corner.high[*axis]) = (other.clone(), other);
                }
            }
            self.ask(demand, At::Alone, corner) == *wanted
        })
    }

    /// Whether a demand that is sampled all over a region surely does not hold in it: it is shown not to somewhere that is
    /// no worse.
    pub(super) fn surely_fails(&self, demand: usize, region: &Region) -> bool {
        let asked = &self.asked[demand];
        if !asked.is_monotone() {
            return false;
        }
        let (_, best) = self.corners(demand, region, true);
        let best: Vec<f64> = best.low.iter().map(Exact::nearest).collect();
        let points = self.points.borrow();
        points[demand].iter().any(|(known, standing)| {
            let fails = [Standing::AtRisk, Standing::Fails, Standing::Breaks];
            fails.contains(standing) && no_better(&asked.trends, &best, known)
        })
    }
}
