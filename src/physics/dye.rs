//! Dye migration from polyester into a print: a screening index, and its calibration from a shop's own strike-offs.
//!
//! The index weighs the heat the fabric gets against the heat of the dry-heat fastness test it passes: D = ∫ exp(−E/R·(1/T −
//! 1/T_pass)) dt where ink meets fabric, index = f·D/(time of the test). Above 1 the pass is more severe than the test.
//! Test points of 150, 180 and 210 °C for 30 s: ISO 105-P01 (three temperatures read, values from memory). E lies
//! between about 70 and 160 kJ/mol (disperse dyes in polyester: 71 and 134 kJ/mol, Sen'i Gakkaishi 28, 1972, 302); f, between
//! 1 and 5, is what ink and plasticiser add over the textile of the test, and unknown without strike-offs.
//!
//! A screening number, not a prediction: it knows nothing of dye concentration, barrier films, or slow migration in storage.

use super::dose::{Rate, hold, log};
use super::function::{Accuracy, Direction, Function, Outside, Parameter, inside};
use Direction::{Falls, Mixed, Rises};

/// A fastness test the fabric passes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passed {
    /// Its temperature, K.
    pub temperature: f64,
    /// Its time, s.
    pub time: f64,
}

/// The index of a log of (time s, temperature K): rises with every temperature and with `factor`, falls with the test's
/// temperature and time; in `energy` it goes either way once the log crosses the test's temperature.
#[must_use]
pub fn index(readings: &[(f64, f64)], passed: Passed, energy: f64, factor: f64) -> f64 {
    let rate = Rate::Arrhenius {
        reference: passed.temperature,
        energy,
    };
    factor * log(&rate, readings, None) / passed.time
}

/// One strike-off: the probe's log and whether the white stayed white.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StrikeOff<'a> {
    /// (time s, temperature K).
    pub readings: &'a [(f64, f64)],
    /// Passed.
    pub passed: bool,
}

/// What the strike-offs leave open at one activation energy: the critical dose lies between.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// J/mol.
    pub energy: f64,
    /// Largest dose that passed, s at the reference.
    pub low: f64,
    /// Smallest dose that failed, s; infinite where none failed.
    pub high: f64,
}

/// What the strike-offs say of another pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Judgement {
    /// Below what passed, at every energy still possible.
    Passes,
    /// Above what failed, at every energy still possible.
    Fails,
    /// The strike-offs do not decide it.
    Unknown,
}

/// The energies that agree with all strike-offs, each with its band; empty when the outcomes contradict each other at every
/// energy (then nothing may be concluded but the largest dose that ever passed).
#[must_use]
pub fn calibrate(strike_offs: &[StrikeOff<'_>], energies: &[f64], reference: f64) -> Vec<Band> {
    let band = |&energy: &f64| {
        let rate = Rate::Arrhenius { reference, energy };
        let (mut low, mut high) = (0.0_f64, f64::INFINITY);
        for strike_off in strike_offs {
            let dose = log(&rate, strike_off.readings, None);
            if !dose.is_finite() {
                return None;
            }
            if strike_off.passed {
                low = low.max(dose);
            } else {
                high = high.min(dose);
            }
        }
        (low < high).then_some(Band { energy, low, high })
    };
    energies.iter().filter_map(band).collect()
}

/// Judges another pass by the bands; without any band it is unknown.
///
/// Hotter than the hottest strike-off that passed is never a pass: the index is not extrapolated.
#[must_use]
pub fn judge(readings: &[(f64, f64)], bands: &[Band], reference: f64) -> Judgement {
    let mut all: Option<Judgement> = None;
    for band in bands {
        let dose = log(
            &Rate::Arrhenius {
                reference,
                energy: band.energy,
            },
            readings,
            None,
        );
        let one = if dose <= band.low {
            Judgement::Passes
        } else if dose >= band.high {
            Judgement::Fails
        } else {
            Judgement::Unknown
        };
        match all {
            None => all = Some(one),
            Some(before) if before == one => {}
            Some(_) => return Judgement::Unknown,
        }
    }
    all.unwrap_or(Judgement::Unknown)
}

const HOLD: &[Parameter] = &[
    Parameter {
        name: "time",
        dimension: "time",
        low: 0.0,
        high: 1.0e7,
        direction: Rises,
    },
    Parameter {
        name: "temperature",
        dimension: "temperature",
        low: 273.15,
        high: 573.15,
        direction: Rises,
    },
    Parameter {
        name: "passed-temperature",
        dimension: "temperature",
        low: 373.15,
        high: 523.15,
        direction: Falls,
    },
    Parameter {
        name: "passed-time",
        dimension: "time",
        low: 1.0,
        high: 3600.0,
        direction: Falls,
    },
    Parameter {
        name: "energy",
        dimension: "molar-energy",
        low: 1.0e4,
        high: 3.0e5,
        direction: Mixed,
    },
    Parameter {
        name: "factor",
        dimension: "number",
        low: 0.0,
        high: 100.0,
        direction: Rises,
    },
];

/// The index the language can call for a hold; the index of a pass stands with the tunnel.
pub(super) const ROWS: &[Function] = &[Function {
    name: "dye-index-of-hold",
    parameters: HOLD,
    result: "number",
    formula: "factor × time × exp(−energy/R × (1/temperature − 1/passed-temperature)) / passed-time",
    source: "severity against the dry-heat test the fabric passes (ISO 105-P01); screening convention",
    accuracy: Accuracy::Relative(1.0e-12),
    evaluate: |x| {
        inside(HOLD, x)?;
        let value =
            x[5] * hold(
                &Rate::Arrhenius {
                    reference: x[2],
                    energy: x[4],
                },
                x[0],
                x[1],
            ) / x[3];
        if value.is_finite() {
            Ok(value)
        } else {
            Err(Outside::Together("the index is too large for a number"))
        }
    },
}];
