//! The solver: a linearly implicit Rosenbrock pair of order 2 with an error estimate of order 3.
//!
//! Stiff equations (an explicit method needs a thousand times the steps), few unknowns. The pair is the modified
//! Rosenbrock pair of Shampine and Reichelt (The MATLAB ODE Suite, SIAM J. Sci. Comput. 18, 1997), L-stable,
//! γ = 1/(2 + √2). One factorisation and three back-substitutions a step; the step restarts at every zone edge. No
//! randomness, no threads, `libm` for the transcendental functions: the same input gives the same bits.

use super::balance::{Balance, Slopes, State, temperatures};
use super::body::{Body, Zone};
use super::factors::Factors;
use super::mouths::BeltStretch;
use super::pass::{Pass, Piece, QUANTITIES};
use super::row::Row;
use crate::physics::function::Outside;

/// Grid and step control.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Least number of intervals through the film; more are taken where heat arrives faster than it is conducted.
    pub ink: usize,
    /// Least number through the fabric.
    pub fabric: usize,
    /// Largest error of one step, K (0.2 g/m² of water counts as 1 K).
    pub tolerance: f64,
    /// First step in a zone, s.
    pub first_step: f64,
    /// Longest step, s.
    pub longest_step: f64,
}

impl Settings {
    /// Two intervals of ink, eight of fabric: what a check uses, and what the stated accuracies hold for.
    ///
    /// Four of fabric would do for jersey, but on fleece they miss the time to reach a temperature by a third of a second.
    pub const CHECK: Self = Self {
        ink: 2,
        fabric: 8,
        tolerance: 0.015,
        first_step: 0.05,
        longest_step: 5.0,
    };
    /// Twice as fine.
    pub const FINE: Self = Self {
        ink: 4,
        fabric: 16,
        tolerance: 0.01,
        ..Self::CHECK
    };

    /// Intervals for this body in these zones.
    ///
    /// A layer's Biot number says how unevenly it warms; the numbers at which intervals are added were found by comparing
    /// random and extreme runs with a grid of 12 + 40.
    fn intervals(&self, body: &Body, stretches: &[BeltStretch]) -> (usize, usize) {
        let arriving = stretches.iter().map(|of| of.zone.arriving());
        let arriving = arriving.fold(0.0, f64::max);
        let more = |least: usize, biot: f64, even: f64, most: f64| {
            let scaled = least as f64 * (biot / even).max(1.0);
            (scaled.min(most).ceil() as usize).max(least).max(1)
        };
        let ink = more(
            self.ink,
            arriving * body.ink_thickness / body.ink_conductivity,
            0.1,
            16.0,
        );
        let fabric = more(
            self.fabric,
            arriving * body.fabric_thickness / body.fabric_conductivity,
            2.5,
            40.0,
        );
        (ink, fabric)
    }
}

/// How warm everything is at the start, K.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Start {
    /// Film and fabric.
    pub film: f64,
    /// Pallet, where the body has one.
    pub pallet: f64,
}

/// Water that counts as 1 K of error, kg/m².
const WATER_SCALE: f64 = 2.0e-4;
/// Steps after which a run is given up; an hour in three zones needs 3,000.
const MOST_STEPS: usize = 20_000;
/// Grid intervals beyond which a run is refused.
const MOST_INTERVALS: usize = 512;
/// A step that is accepted whatever its error, s.
const SHORTEST_STEP: f64 = 1.0e-6;

const NOT_FINITE: Outside = Outside::Together("the heat balance does not come to a finite number");

/// Heats `body` through `zones`. The first `to_exit` zones lie before the exit, the rest after it.
///
/// # Errors
/// [`Outside::Together`] where a number is not finite or of the wrong sign, or the balance has no finite solution.
pub fn run(
    body: &Body,
    zones: &[Zone],
    to_exit: usize,
    start: Start,
    settings: Settings,
) -> Result<Pass, Outside> {
    let each = zones.iter().enumerate();
    let stretches: Vec<BeltStretch> = each
        .map(|(of, &zone)| BeltStretch {
            zone,
            of,
            ramp: false,
        })
        .collect();
    bounded(body, &stretches, to_exit, start, settings, None)
}

/// What counts where heat leaves, in a run that is a bound: another body, and other stretches that are cut alike.
#[derive(Debug, Clone, Copy)]
pub(super) struct Cooling<'c> {
    pub(super) body: &'c Body,
    pub(super) stretches: &'c [BeltStretch],
    /// Whether it bounds what is hottest, or what is coldest.
    pub(super) hottest: bool,
}

/// The same as [`run`] over stretches, or a bound of all runs between two. The exit lies behind the first `to_exit` zones.
pub(super) fn bounded(
    body: &Body,
    stretches: &[BeltStretch],
    to_exit: usize,
    start: Start,
    settings: Settings,
    cooling: Option<Cooling<'_>>,
) -> Result<Pass, Outside> {
    body.sound()?;
    for stretch in stretches {
        stretch.zone.sound()?;
    }
    let starts = [start.film, start.pallet];
    if !starts.iter().all(|t| t.is_finite() && *t > 0.0) {
        return Err(Outside::Together(
            "a start temperature must lie above absolute zero",
        ));
    }
    let steps = [
        settings.tolerance,
        settings.first_step,
        settings.longest_step,
    ];
    if !steps.iter().all(|s| s.is_finite() && *s > 0.0) {
        return Err(Outside::Together("tolerance and steps must lie above zero"));
    }
    if settings.ink + settings.fabric > MOST_INTERVALS {
        return Err(Outside::Together("the grid is finer than the solver takes"));
    }
    let grid @ (ink, fabric) = settings.intervals(body, stretches);
    // The grids of nearly all runs, without and with a pallet, have rows of a length the compiler knows.
    match (temperatures(body, ink, fabric), body.lower.is_some()) {
        (11, false) => {
            integrate::<[f64; 11], 2>(body, stretches, to_exit, start, settings, grid, cooling)
        }
        (12, false) => {
            integrate::<[f64; 12], 2>(body, stretches, to_exit, start, settings, grid, cooling)
        }
        (_, false) => {
            integrate::<Vec<f64>, 2>(body, stretches, to_exit, start, settings, grid, cooling)
        }
        (20, true) => {
            integrate::<[f64; 20], 3>(body, stretches, to_exit, start, settings, grid, cooling)
        }
        (_, true) => {
            integrate::<Vec<f64>, 3>(body, stretches, to_exit, start, settings, grid, cooling)
        }
    }
}

fn integrate<R: Row, const S: usize>(
    body: &Body,
    stretches: &[BeltStretch],
    to_exit: usize,
    start: Start,
    settings: Settings,
    (ink, fabric): (usize, usize),
    cooling: Option<Cooling<'_>>,
) -> Result<Pass, Outside> {
    let balance = Balance::<R, S>::new(body, cooling, ink, fabric);
    let mut integration = Integration::new(&balance, body, start, settings);
    for (index, stretch) in stretches.iter().enumerate() {
        let other = cooling.and_then(|cooling| cooling.stretches.get(index));
        integration.through(stretch, other.map(|other| &other.zone))?;
    }
    let zones = stretches.last().map_or(0, |last| last.of + 1);
    Ok(Pass::new(
        integration.pieces,
        to_exit,
        zones,
        integration.first,
        (integration.steps * balance.count()) as u64,
    ))
}

/// Work space of one run.
struct Integration<'b, R, const S: usize> {
    balance: &'b Balance<R, S>,
    settings: Settings,
    places: [usize; 6],
    first: [f64; QUANTITIES],
    time: f64,
    /// The step that was last tried, s.
    step: f64,
    steps: usize,
    y: State<R, S>,
    slopes: Slopes<R, S>,
    next_slopes: Slopes<R, S>,
    factors: Factors<R, S>,
    pieces: Vec<Piece>,
}

/// What a run keeps of a state.
fn kept<R: Row, const S: usize>(places: [usize; 6], of: &State<R, S>) -> [f64; QUANTITIES] {
    let warm = of.warm.as_ref();
    let [surface, boundary, back, pallet, last, lower_top] = places.map(|p| warm[p]);
    let lower = of.water.get(2).copied().unwrap_or(0.0);
    [
        surface,
        boundary,
        back,
        pallet,
        of.water[0],
        of.water[1],
        last,
        lower,
        lower_top,
    ]
}

impl<'b, R: Row, const S: usize> Integration<'b, R, S> {
    fn new(balance: &'b Balance<R, S>, body: &Body, start: Start, settings: Settings) -> Self {
        let mut y = balance.state();
        let places = balance.places();
        y.warm.as_mut().fill(start.film);
        if body.pallet_capacity > 0.0 {
            y.warm.as_mut()[places[3]] = start.pallet;
        }
        let lower = body.lower.map_or(0.0, |lower| lower.moisture * lower.mass);
        let held = [body.ink_water, body.moisture * body.fabric_mass, lower];
        y.water = std::array::from_fn(|store| held[store]);
        Self {
            balance,
            settings,
            places,
            first: kept(places, &y),
            time: 0.0,
            step: settings.first_step,
            steps: 0,
            y,
            slopes: balance.slopes(),
            next_slopes: balance.slopes(),
            factors: Factors::new(balance.count()),
            pieces: Vec::with_capacity(128),
        }
    }

    fn through(&mut self, stretch: &BeltStretch, cooling: Option<&Zone>) -> Result<(), Outside> {
        let zone = &stretch.zone;
        let gamma = 1.0 / (2.0 + std::f64::consts::SQRT_2);
        let e32 = 6.0 + std::f64::consts::SQRT_2;
        let end = self.time + zone.time;
        // Along a ramp little jumps, so that the step goes on as it was.
        let first = if stretch.ramp {
            self.step.max(self.settings.first_step)
        } else {
            self.settings.first_step
        };
        let mut step = first.min(zone.time);
        let [mut f0, mut f1, mut f2, mut k1, mut k2, mut k3, mut trial] =
            std::array::from_fn(|_| self.balance.state());
        self.balance
            .rates::<true>(zone, cooling, &self.y, &mut f0, &mut self.slopes);
        while end - self.time > 1.0e-12 * end.max(1.0) {
            self.steps += 1;
            if self.steps > MOST_STEPS {
                return Err(NOT_FINITE);
            }
            let left = end - self.time;
            step = step.min(self.settings.longest_step);
            let last = step >= left;
            if last {
                step = left;
            }
            k1.clone_from(&f0);
            let sound =
                self.factors
                    .factor(&self.slopes, step * gamma, self.balance.wet(), &mut k1);
            each(&mut trial, [&self.y, &k1], |[y, k]| y + 0.5 * step * k);
            self.balance
                .rates::<false>(zone, cooling, &trial, &mut f1, &mut self.next_slopes);
            each(&mut k2, [&f1, &k1], |[f, k]| f - k);
            self.factors.solve(&mut k2);
            add(&mut k2, &k1);
            each(&mut trial, [&self.y, &k2], |[y, k]| y + step * k);
            self.balance
                .rates::<true>(zone, cooling, &trial, &mut f2, &mut self.next_slopes);
            each(
                &mut k3,
                [&f2, &k2, &f1, &k1, &f0],
                |[f2, k2, f1, k1, f0]| f2 - e32 * (k2 - f1) - 2.0 * (k1 - f0),
            );
            self.factors.solve(&mut k3);
            let error = error(step, &k1, &k2, &k3);
            let finite = sound && error.is_finite() && is_finite(&f2);
            if finite && (error <= self.settings.tolerance || step <= SHORTEST_STEP) {
                self.pieces.push(Piece {
                    zone: stretch.of,
                    start: self.time,
                    span: step,
                    from: kept(self.places, &self.y),
                    to: kept(self.places, &trial),
                    slope_from: kept(self.places, &f0),
                    slope_to: kept(self.places, &f2),
                });
                self.time = if last { end } else { self.time + step };
                std::mem::swap(&mut self.y, &mut trial);
                std::mem::swap(&mut f0, &mut f2);
                std::mem::swap(&mut self.slopes, &mut self.next_slopes);
            } else if step <= SHORTEST_STEP * SHORTEST_STEP {
                return Err(NOT_FINITE);
            }
            let grow = if finite {
                0.8 * libm::cbrt(self.settings.tolerance / error.max(1.0e-12))
            } else {
                0.2
            };
            step *= grow.clamp(0.2, 4.0);
            if !last || !finite {
                self.step = step;
            }
        }
        Ok(())
    }
}

/// Works out every number of a state from those of others.
#[inline(always)]
fn each<R: Row, const S: usize, const N: usize>(
    to: &mut State<R, S>,
    from: [&State<R, S>; N],
    of: impl Fn([f64; N]) -> f64,
) {
    let rows = from.map(|state| state.warm.as_ref());
    for (j, to) in to.warm.as_mut().iter_mut().enumerate() {
        *to = of(rows.map(|row| row[j]));
    }
    for (j, to) in to.water.iter_mut().enumerate() {
        *to = of(from.map(|state| state.water[j]));
    }
}

#[inline(always)]
fn add<R: Row, const S: usize>(to: &mut State<R, S>, more: &State<R, S>) {
    for (to, more) in to.warm.as_mut().iter_mut().zip(more.warm.as_ref()) {
        *to += more;
    }
    for (to, more) in to.water.iter_mut().zip(more.water) {
        *to += more;
    }
}

fn is_finite<R: Row, const S: usize>(of: &State<R, S>) -> bool {
    // One that is not finite makes the sum so; a sum too large is not to be trusted either.
    let sum = of.warm.as_ref().iter().fold(0.0, |sum, x| sum + x.abs());
    (sum + of.water.iter().sum::<f64>()).is_finite()
}

/// The largest error of a step, K; not a number where one of them is not.
fn error<R: Row, const S: usize>(
    step: f64,
    k1: &State<R, S>,
    k2: &State<R, S>,
    k3: &State<R, S>,
) -> f64 {
    let off = |k1: f64, k2: f64, k3: f64| (step / 6.0 * (k1 - 2.0 * k2 + k3)).abs();
    let (mut worst, mut sum) = (0.0_f64, 0.0_f64);
    let rows = k1.warm.as_ref().iter().zip(k2.warm.as_ref());
    for ((k1, k2), k3) in rows.zip(k3.warm.as_ref()) {
        let error = off(*k1, *k2, *k3);
        worst = worst.max(error);
        sum += error;
    }
    for j in 0..S {
        let error = off(k1.water[j], k2.water[j], k3.water[j]) / WATER_SCALE;
        worst = worst.max(error);
        sum += error;
    }
    // The larger of two passes over what is no number; the sum does not.
    if sum.is_nan() { sum } else { worst }
}
