//! Equivalent time: how much a temperature history counts for, as time at a reference temperature.
//!
//! Two forms. By a z-value, t_eq = ∫ 10^((T − T_ref)/z) dt, with z the rise that makes the reaction ten times faster;
//! by Arrhenius, t_eq = ∫ exp(−E/R·(1/T − 1/T_ref)) dt. They have the same slope where E = ln 10·R·T²/z. Temperatures in
//! kelvin, times in seconds, energies in J/mol. A maker's sheet with a single pair (temperature, time) fixes neither z
//! nor E: no default is offered here.

mod table;

use super::function::Outside;
use super::props::{GAS, ZERO_CELSIUS};

pub(super) use table::ROWS;

/// How fast the clock runs at a temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rate {
    /// Ten times faster for each `z` kelvin.
    Z {
        /// Reference temperature, K.
        reference: f64,
        /// K; not zero.
        z: f64,
    },
    /// By an activation energy.
    Arrhenius {
        /// Reference temperature, K.
        reference: f64,
        /// J/mol.
        energy: f64,
    },
}

impl Rate {
    /// The rate at temperature `t`, K; 1 at the reference. Rises with `t`, falls with the reference.
    #[must_use]
    pub fn at(&self, t: f64) -> f64 {
        libm::exp(self.exponent(t))
    }

    fn exponent(&self, t: f64) -> f64 {
        match *self {
            Self::Z { reference, z } => std::f64::consts::LN_10 * (t - reference) / z,
            Self::Arrhenius { reference, energy } => -energy / GAS * (1.0 / t - 1.0 / reference),
        }
    }
}

/// Dose of `time` seconds at temperature `t`, K. Rises with both.
#[must_use]
pub fn hold(rate: &Rate, time: f64, t: f64) -> f64 {
    time * rate.at(t)
}

/// Dose of a straight ramp between two temperatures, K, in `time` seconds. Rises with all three.
///
/// The z form is exact: t·(r₂ − r₁)/ln(r₂/r₁). Arrhenius by Simpson's rule on pieces of at most 1 K (error below 1e-4).
#[must_use]
pub fn ramp(rate: &Rate, time: f64, from: f64, to: f64) -> f64 {
    match rate {
        Rate::Z { .. } => {
            let difference = rate.exponent(to) - rate.exponent(from);
            let mean = if difference.abs() < 1.0e-6 {
                0.5 * (rate.at(from) + rate.at(to))
            } else {
                rate.at(from) * libm::expm1(difference) / difference
            };
            time * mean
        }
        Rate::Arrhenius { .. } => {
            let parts = (to - from).abs().ceil().clamp(1.0, 4096.0);
            let width = (to - from) / parts;
            let mut sum = 0.0;
            for part in 0..parts as usize {
                let low = from + width * part as f64;
                sum += rate.at(low) + 4.0 * rate.at(low + 0.5 * width) + rate.at(low + width);
            }
            time / parts / 6.0 * sum
        }
    }
}

/// Dose of a log of (time, temperature) readings joined by straight lines.
///
/// With a `floor`, time below that temperature does not count. Readings whose time does not advance add nothing.
#[must_use]
pub fn log(rate: &Rate, readings: &[(f64, f64)], floor: Option<f64>) -> f64 {
    let mut sum = 0.0;
    for pair in readings.windows(2) {
        let [(t0, a), (t1, b)] = [pair[0], pair[1]];
        let mut time = (t1 - t0).max(0.0);
        let (mut from, mut to) = (a, b);
        if let Some(floor) = floor {
            if a.max(b) <= floor {
                continue;
            }
            if a.min(b) < floor {
                time *= (a.max(b) - floor) / (b - a).abs();
                from = a.max(floor);
                to = b.max(floor);
            }
        }
        sum += ramp(rate, time, from, to);
    }
    sum
}

/// Cumulative equivalent time at 43 °C: t·R^(43 °C − T), R = 0.5 at and above 43 °C, 0.25 below.
///
/// Sapareto and Dewey, Int. J. Radiat. Oncol. Biol. Phys. 10 (1984) 787. `t` in kelvin; same unit of time out as in.
/// A check of the arithmetic against a definition with published values, not a figure of the trade.
#[must_use]
pub fn cem43(time: f64, t: f64) -> f64 {
    let below = 43.0 + ZERO_CELSIUS - t;
    // An input of 43 °C must count as 43 °C whatever the rounding of the sum above.
    let base: f64 = if below <= 1.0e-9 { 0.5 } else { 0.25 };
    time * libm::pow(base, below)
}

/// Activation energy with the slope of `z` at temperature `t`: E = ln 10·R·T²/z. Falls with `z`, rises with `t`.
#[must_use]
pub fn energy_of_z(z: f64, t: f64) -> f64 {
    std::f64::consts::LN_10 * GAS * t * t / z
}

/// z with the slope of an activation energy at temperature `t`: z = ln 10·R·T²/E. Falls with `energy`, rises with `t`.
#[must_use]
pub fn z_of_energy(energy: f64, t: f64) -> f64 {
    std::f64::consts::LN_10 * GAS * t * t / energy
}

/// What a sheet's equal-cure pairs say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// Activation energy, J/mol.
    pub energy: f64,
    /// z, K, of its own fit.
    pub z: f64,
    /// ln of the time the fit needs at infinite temperature (the intercept).
    intercept: f64,
    /// The worst ratio between a stated time and the fit's, at least 1: carry it as a tolerance on the requirement.
    pub worst_ratio: f64,
    /// Coldest and hottest pair, K.
    pub span: (f64, f64),
}

/// Least-squares fit of ln t over 1/T (and over T, for z) through pairs (temperature K, time s) that cure alike.
///
/// # Errors
/// Fewer than two different temperatures, a time or temperature not above zero, or a sheet that asks for *more* time
/// when hotter.
pub fn fit(pairs: &[(f64, f64)]) -> Result<Fit, Outside> {
    if !pairs
        .iter()
        .all(|&(t, time)| t.is_finite() && t > 0.0 && time.is_finite() && time > 0.0)
    {
        return Err(Outside::Together(
            "each pair needs a temperature and a time above zero",
        ));
    }
    let (slope, intercept) = line(pairs.iter().map(|&(t, time)| (1.0 / t, libm::log(time))))?;
    let (z_slope, _) = line(pairs.iter().map(|&(t, time)| (t, libm::log(time))))?;
    if slope <= 0.0 || z_slope >= 0.0 {
        return Err(Outside::Together("the hotter pair should need less time"));
    }
    let mut worst = 0.0_f64;
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for &(t, time) in pairs {
        worst = worst.max((slope / t + intercept - libm::log(time)).abs());
        low = low.min(t);
        high = high.max(t);
    }
    Ok(Fit {
        energy: slope * GAS,
        z: -std::f64::consts::LN_10 / z_slope,
        intercept,
        worst_ratio: libm::exp(worst),
        span: (low, high),
    })
}

impl Fit {
    /// Time the fit needs at temperature `t`, K. Falls with `t`.
    ///
    /// # Errors
    /// More than 10 K outside the pairs, where a fit says nothing.
    pub fn needed(&self, t: f64) -> Result<f64, Outside> {
        if t >= self.span.0 - 10.0 && t <= self.span.1 + 10.0 {
            Ok(libm::exp(self.energy / GAS / t + self.intercept))
        } else {
            Err(Outside::Together(
                "the temperature lies more than 10 K outside the sheet's own pairs",
            ))
        }
    }
}

/// Least-squares slope and intercept.
fn line(points: impl Iterator<Item = (f64, f64)> + Clone) -> Result<(f64, f64), Outside> {
    let count = points.clone().count() as f64;
    let (sum_x, sum_y) = points
        .clone()
        .fold((0.0, 0.0), |(a, b), (x, y)| (a + x, b + y));
    let (mean_x, mean_y) = (sum_x / count, sum_y / count);
    let (mut xx, mut xy) = (0.0, 0.0);
    for (x, y) in points {
        xx += (x - mean_x) * (x - mean_x);
        xy += (x - mean_x) * (y - mean_y);
    }
    if xx > 0.0 {
        let slope = xy / xx;
        Ok((slope, mean_y - slope * mean_x))
    } else {
        Err(Outside::Together(
            "two pairs with different temperatures are needed",
        ))
    }
}
