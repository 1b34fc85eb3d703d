//! The solver: a linearly implicit Rosenbrock pair of order 2 with an error estimate of order 3.
//!
//! Stiff equations (an explicit method needs a thousand times the steps), few unknowns. The pair is the modified
//! Rosenbrock pair of Shampine and Reichelt (The MATLAB ODE Suite, SIAM J. Sci. Comput. 18, 1997), L-stable,
//! γ = 1/(2 + √2). One factorisation and three back-substitutions a step; the step restarts at every zone edge. No
//! randomness, no threads, `libm` for the transcendental functions: the same input gives the same bits.

use super::balance::{Balance, Slopes};
use super::body::{Body, Zone};
use super::factors::Factors;
use super::pass::{Pass, Piece, QUANTITIES};
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
    fn intervals(&self, body: &Body, zones: &[Zone]) -> (usize, usize) {
        let arriving = zones.iter().map(Zone::arriving).fold(0.0, f64::max);
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
    body.sound()?;
    for zone in zones {
        zone.sound()?;
    }
    let temperatures = [start.film, start.pallet];
    if !temperatures.iter().all(|t| t.is_finite() && *t > 0.0) {
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
    let (ink, fabric) = settings.intervals(body, zones);
    let balance = Balance::new(body, ink, fabric);
    let mut integration = Integration::new(&balance, body, start, settings);
    for (index, zone) in zones.iter().enumerate() {
        integration.through(zone, index)?;
    }
    Ok(Pass::new(
        integration.pieces,
        to_exit,
        zones.len(),
        integration.first,
    ))
}

/// Work space of one run.
struct Integration<'b> {
    balance: &'b Balance,
    settings: Settings,
    places: [usize; QUANTITIES],
    first: [f64; QUANTITIES],
    time: f64,
    steps: usize,
    y: Vec<f64>,
    slopes: Slopes,
    next_slopes: Slopes,
    factors: Factors,
    pieces: Vec<Piece>,
}

impl<'b> Integration<'b> {
    fn new(balance: &'b Balance, body: &Body, start: Start, settings: Settings) -> Self {
        let mut y = vec![start.film; balance.size()];
        let [surface, boundary, back, pallet] = balance.places();
        if body.pallet_capacity > 0.0 {
            y[pallet] = start.pallet;
        }
        y[balance.temperatures] = body.ink_water;
        y[balance.temperatures + 1] = body.moisture * body.fabric_mass;
        let places = [
            surface,
            boundary,
            back,
            pallet,
            balance.temperatures,
            balance.temperatures + 1,
        ];
        let first = places.map(|p| y[p]);
        Self {
            balance,
            settings,
            places,
            first,
            time: 0.0,
            steps: 0,
            y,
            slopes: balance.slopes(),
            next_slopes: balance.slopes(),
            factors: Factors::new(balance.temperatures),
            pieces: Vec::with_capacity(128),
        }
    }

    fn through(&mut self, zone: &Zone, index: usize) -> Result<(), Outside> {
        let size = self.balance.size();
        let gamma = 1.0 / (2.0 + std::f64::consts::SQRT_2);
        let e32 = 6.0 + std::f64::consts::SQRT_2;
        let end = self.time + zone.time;
        let mut step = self.settings.first_step.min(zone.time);
        let [mut f0, mut f1, mut f2, mut k1, mut k2, mut k3, mut trial] =
            std::array::from_fn(|_| vec![0.0; size]);
        self.balance
            .rates::<true>(zone, &self.y, &mut f0, &mut self.slopes);
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
            let sound = self
                .factors
                .factor(&self.slopes, step * gamma, self.balance.wet());
            k1.copy_from_slice(&f0);
            self.factors.solve(&mut k1);
            for ((t, y), k) in trial.iter_mut().zip(&self.y).zip(&k1) {
                *t = y + 0.5 * step * k;
            }
            self.balance
                .rates::<false>(zone, &trial, &mut f1, &mut self.next_slopes);
            for ((k, f), a) in k2.iter_mut().zip(&f1).zip(&k1) {
                *k = f - a;
            }
            self.factors.solve(&mut k2);
            for j in 0..size {
                k2[j] += k1[j];
                trial[j] = self.y[j] + step * k2[j];
            }
            self.balance
                .rates::<true>(zone, &trial, &mut f2, &mut self.next_slopes);
            for j in 0..size {
                k3[j] = f2[j] - e32 * (k2[j] - f1[j]) - 2.0 * (k1[j] - f0[j]);
            }
            self.factors.solve(&mut k3);
            let error = self.error(step, &k1, &k2, &k3);
            let finite = sound && error.is_finite() && f2.iter().all(|f| f.is_finite());
            if finite && (error <= self.settings.tolerance || step <= SHORTEST_STEP) {
                self.pieces.push(Piece {
                    zone: index,
                    start: self.time,
                    span: step,
                    from: self.places.map(|p| self.y[p]),
                    to: self.places.map(|p| trial[p]),
                    slope_from: self.places.map(|p| f0[p]),
                    slope_to: self.places.map(|p| f2[p]),
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
        }
        Ok(())
    }

    fn error(&self, step: f64, k1: &[f64], k2: &[f64], k3: &[f64]) -> f64 {
        let mut worst = 0.0_f64;
        for j in 0..k1.len() {
            let scale = if j < self.balance.temperatures {
                1.0
            } else {
                WATER_SCALE
            };
            let error = (step / 6.0 * (k1[j] - 2.0 * k2[j] + k3[j])).abs() / scale;
            if error > worst || error.is_nan() {
                // Not a number stays: nothing compares above it.
                worst = error;
            }
        }
        worst
    }
}
