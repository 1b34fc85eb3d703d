//! Asks demands at set points, each question once, and counts the questions.

use std::cell::{Cell, RefCell};
use std::collections::HashMap;

use super::space::{Axis, Region};
use crate::check::{Demand, Standing};
use crate::eval::{Leaf, Memory, Scene, Stretch, Trend};
use crate::types::{Date, Run, Standard};
use crate::units::Exact;

/// Answers kept before all are forgotten.
const MOST_KEPT: usize = 200_000;

/// A demand with what the freed settings do to it.
pub(super) struct Asked<'a> {
    pub(super) demand: Demand<'a>,
    /// What raising each freed setting does.
    pub(super) trends: Vec<Trend>,
    /// Whether figures that take milliseconds stand behind it.
    pub(super) costly: bool,
}

impl Asked<'_> {
    /// The freed settings it rests on.
    pub(super) fn axes(&self) -> impl Iterator<Item = usize> + '_ {
        let rests = |(index, trend): (usize, &Trend)| (*trend != Trend::Flat).then_some(index);
        self.trends.iter().enumerate().filter_map(rests)
    }

    /// Whether it only gets better or worse with each of them.
    pub(super) fn is_monotone(&self) -> bool {
        !self.trends.contains(&Trend::Unknown)
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
    /// Everything inside the tolerance of any set point of the region.
    Hull,
    /// What lies inside the tolerance of every set point of it.
    Core,
}

/// A run with its freed settings, and the answers so far.
pub(super) struct Probe<'a> {
    pub(super) standard: &'a Standard,
    pub(super) run: &'a Run,
    pub(super) on: Option<Date>,
    pub(super) axes: &'a [Axis],
    pub(super) asked: Vec<Asked<'a>>,
    memory: Memory,
    known: RefCell<HashMap<(usize, At, Region), Standing>>,
    trials: Cell<u64>,
}

impl<'a> Probe<'a> {
    /// For a run in which every freed setting is stated.
    pub(super) fn new(
        standard: &'a Standard,
        run: &'a Run,
        axes: &'a [Axis],
        on: Option<Date>,
        start: &[Exact],
    ) -> Self {
        let memory = Memory::default();
        let scene = Scene::new(standard, run);
        let at = narrowed(axes, start);
        let point = Scene {
            narrowed: &at,
            ..scene
        };
        let all: Vec<(Leaf, Stretch)> = axes
            .iter()
            .map(|axis| (axis.leaf, axis.hull(&axis.low, &axis.high)))
            .collect();
        let all = Scene {
            narrowed: &all,
            ..scene
        };
        let demands = crate::check::demands(standard, &point.remembering(&memory), &all, on);
        memory.rest();
        let asked = demands
            .into_iter()
            .map(|demand| {
                let trends = demand.trends(&point, &all);
                let costly = demand.is_costly(&point.remembering(&memory));
                memory.rest();
                Asked {
                    demand,
                    trends,
                    costly,
                }
            })
            .collect();
        Self {
            standard,
            run,
            on,
            axes,
            asked,
            memory,
            known: RefCell::new(HashMap::new()),
            trials: Cell::new(0),
        }
    }
}

fn narrowed(axes: &[Axis], at: &[Exact]) -> Vec<(Leaf, Stretch)> {
    let each = axes.iter().zip(at);
    each.map(|(axis, at)| (axis.leaf, axis.reach(at))).collect()
}

impl Probe<'_> {
    /// How many times a demand was asked.
    pub(super) fn trials(&self) -> u64 {
        self.trials.get()
    }

    /// The demands that rest on a freed setting.
    pub(super) fn moving(&self) -> Vec<usize> {
        let moves = |index: &usize| self.asked[*index].axes().next().is_some();
        (0..self.asked.len()).filter(moves).collect()
    }

    /// Works something out in the scene of a set point.
    pub(super) fn at<T>(&self, point: &[Exact], work_out: impl FnOnce(&Scene<'_>) -> T) -> T {
        let narrowed = narrowed(self.axes, point);
        self.within(&narrowed, work_out)
    }

    fn within<T>(&self, narrowed: &[(Leaf, Stretch)], work_out: impl FnOnce(&Scene<'_>) -> T) -> T {
        let scene = Scene {
            narrowed,
            ..Scene::new(self.standard, self.run).remembering(&self.memory)
        };
        let found = work_out(&scene);
        // Every question is judged as a check of its own.
        self.memory.rest();
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
        let narrowed: Option<Vec<(Leaf, Stretch)>> = ends
            .map(|((axis, low), high)| {
                let stretch = match at {
                    At::Point => axis.reach(low),
                    At::Hull => axis.hull(low, high),
                    At::Core => axis.core(low, high)?,
                };
                Some((axis.leaf, stretch))
            })
            .collect();
        let Some(narrowed) = narrowed else {
            return Standing::AtRisk;
        };
        self.trials.set(self.trials.get() + 1);
        let found = self.within(&narrowed, |scene| {
            let over = at != At::Point;
            // Whether it holds is seen soonest; whether it breaks may take a search.
            if asked.costly {
                let shown =
                    Memory::proving(scene.memory, || asked.demand.standing(scene, self.on, over));
                if matches!(shown, Standing::Holds | Standing::Breaks) {
                    return shown;
                }
            }
            asked.demand.standing(scene, self.on, over)
        });
        let mut known = self.known.borrow_mut();
        if known.len() >= MOST_KEPT {
            known.clear();
        }
        known.insert(key, found.clone());
        found
    }

    /// How far a demand is kept at a set point, lowest and highest.
    pub(super) fn slack(&self, demand: usize, point: &[Exact]) -> Option<(f64, f64)> {
        let asked = &self.asked[demand];
        self.at(point, |scene| {
            let (bounds, _) = asked.demand.slack(scene)?;
            Some((bounds.lo, bounds.hi))
        })
    }

    /// Whether a set point lies exactly on the edge of a demand.
    pub(super) fn is_on_edge(&self, demand: usize, point: &[Exact]) -> bool {
        let asked = &self.asked[demand];
        self.at(point, |scene| match asked.demand.slack(scene) {
            Some((_, Some((low, high)))) => low.is_zero() || high.is_zero(),
            _ => false,
        })
    }

    /// The corner of a region at which a demand is worst, and the one at which it is best. What goes either way stays a
    /// stretch.
    fn corners(&self, demand: usize, region: &Region) -> (Region, Region) {
        let (mut worst, mut best) = (region.clone(), region.clone());
        for (index, trend) in self.asked[demand].trends.iter().enumerate() {
            match trend {
                Trend::Better => {
                    worst.high[index] = region.low[index].clone();
                    best.low[index] = region.high[index].clone();
                }
                Trend::Worse => {
                    worst.low[index] = region.high[index].clone();
                    best.high[index] = region.low[index].clone();
                }
                Trend::Flat => {}
                Trend::Unknown => {}
            }
        }
        (worst, best)
    }

    /// What a demand comes to all over a region.
    pub(super) fn over(&self, demand: usize, region: &Region) -> Over {
        let (worst, best) = self.corners(demand, region);
        if self.asked[demand].is_monotone() {
            let worst = self.ask(demand, At::Point, worst);
            let best = self.ask(demand, At::Point, best);
            return if worst == best {
                Over::Same(worst)
            } else {
                Over::Between(worst, best)
            };
        }
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
        let common = !self.asked[demand].axes().any(apart);
        match (low, high) {
            (Standing::AtRisk, Standing::AtRisk) if common => Over::Same(Standing::AtRisk),
            _ => Over::Open,
        }
    }
}
