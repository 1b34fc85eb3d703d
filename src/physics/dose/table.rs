//! The doses as the language calls them.

use super::{Fit, Rate, energy_of_z, fit, hold, ramp};
use crate::physics::function::{Accuracy, Direction, Function, Outside, Parameter, inside};
use Direction::{Falls, Mixed, Rises};

const fn input(
    name: &'static str,
    dimension: &'static str,
    low: f64,
    high: f64,
    direction: Direction,
) -> Parameter {
    Parameter {
        name,
        dimension,
        low,
        high,
        direction,
    }
}

const TIME: Parameter = input("time", "time", 0.0, 1.0e7, Rises);
const fn heat(name: &'static str, direction: Direction) -> Parameter {
    input(name, "temperature", 233.15, 773.15, direction)
}
const Z: Parameter = input("z", "temperature-difference", 2.0, 300.0, Mixed);
const ENERGY: Parameter = input("energy", "molar-energy", 1.0e4, 5.0e5, Mixed);
const fn pair_time(name: &'static str, direction: Direction) -> Parameter {
    input(name, "time", 0.1, 1.0e6, direction)
}

const HOLD_Z: &[Parameter] = &[
    TIME,
    heat("temperature", Rises),
    heat("reference", Falls),
    Z,
];
const HOLD: &[Parameter] = &[
    TIME,
    heat("temperature", Rises),
    heat("reference", Falls),
    ENERGY,
];
const RAMP_Z: &[Parameter] = &[
    TIME,
    heat("from", Rises),
    heat("to", Rises),
    heat("reference", Falls),
    Z,
];
const RAMP: &[Parameter] = &[
    TIME,
    heat("from", Rises),
    heat("to", Rises),
    heat("reference", Falls),
    ENERGY,
];
const ENERGY_OF_Z: &[Parameter] = &[
    input("z", "temperature-difference", 2.0, 300.0, Falls),
    heat("temperature", Rises),
];
const CURE_ENERGY: &[Parameter] = &[
    heat("temperature", Rises),
    pair_time("time", Rises),
    heat("hotter", Falls),
    pair_time("shorter", Falls),
];
const CURE_TIME: &[Parameter] = &[
    heat("temperature", Mixed),
    pair_time("time", Mixed),
    heat("hotter", Mixed),
    pair_time("shorter", Mixed),
    heat("film", Falls),
];

const DEFINITION: &str =
    "definition of equivalent time; A0 and F0 are the same integral (EN ISO 15883-1, z = 10 K)";

fn finite(value: f64) -> Result<f64, Outside> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err(Outside::Together("the dose is too large for a number"))
    }
}

fn two_pairs(x: &[f64]) -> Result<Fit, Outside> {
    fit(&[(x[0], x[1]), (x[2], x[3])])
}

/// The doses the language can call.
pub(in crate::physics) const ROWS: &[Function] = &[
    Function {
        name: "hold-dose-z",
        parameters: HOLD_Z,
        result: "time",
        formula: "time × 10^((temperature − reference) / z)",
        source: DEFINITION,
        accuracy: Accuracy::Relative(1.0e-12),
        evaluate: |x| {
            inside(HOLD_Z, x)?;
            finite(hold(
                &Rate::Z {
                    reference: x[2],
                    z: x[3],
                },
                x[0],
                x[1],
            ))
        },
    },
    Function {
        name: "hold-dose",
        parameters: HOLD,
        result: "time",
        formula: "time × exp(−energy/R × (1/temperature − 1/reference))",
        source: DEFINITION,
        accuracy: Accuracy::Relative(1.0e-12),
        evaluate: |x| {
            inside(HOLD, x)?;
            finite(hold(
                &Rate::Arrhenius {
                    reference: x[2],
                    energy: x[3],
                },
                x[0],
                x[1],
            ))
        },
    },
    Function {
        name: "ramp-dose-z",
        parameters: RAMP_Z,
        result: "time",
        formula: "∫ 10^((T − reference) / z) dt along a straight ramp",
        source: DEFINITION,
        accuracy: Accuracy::Relative(1.0e-6),
        evaluate: |x| {
            inside(RAMP_Z, x)?;
            finite(ramp(
                &Rate::Z {
                    reference: x[3],
                    z: x[4],
                },
                x[0],
                x[1],
                x[2],
            ))
        },
    },
    Function {
        name: "ramp-dose",
        parameters: RAMP,
        result: "time",
        formula: "∫ exp(−energy/R × (1/T − 1/reference)) dt along a straight ramp",
        source: DEFINITION,
        accuracy: Accuracy::Relative(1.0e-4),
        evaluate: |x| {
            inside(RAMP, x)?;
            finite(ramp(
                &Rate::Arrhenius {
                    reference: x[3],
                    energy: x[4],
                },
                x[0],
                x[1],
                x[2],
            ))
        },
    },
    Function {
        name: "energy-of-z",
        parameters: ENERGY_OF_Z,
        result: "molar-energy",
        formula: "ln 10 × R × temperature² / z",
        source: "equal slopes of the two forms of equivalent time at that temperature",
        accuracy: Accuracy::Relative(1.0e-12),
        evaluate: |x| {
            inside(ENERGY_OF_Z, x)?;
            finite(energy_of_z(x[0], x[1]))
        },
    },
    Function {
        name: "cure-energy",
        parameters: CURE_ENERGY,
        result: "molar-energy",
        formula: "R × ln(time / shorter) / (1/temperature − 1/hotter)",
        source: "Arrhenius line through two equal-cure pairs of one sheet",
        accuracy: Accuracy::Relative(1.0e-9),
        evaluate: |x| {
            inside(CURE_ENERGY, x)?;
            if x[2] > x[0] {
                finite(two_pairs(x)?.energy)
            } else {
                Err(Outside::Together(
                    "the second pair should be the hotter one",
                ))
            }
        },
    },
    Function {
        name: "cure-time-needed",
        parameters: CURE_TIME,
        result: "time",
        formula: "the time at `film` on the Arrhenius line through two equal-cure pairs, up to 10 K outside them",
        source: "Arrhenius line through two equal-cure pairs of one sheet",
        accuracy: Accuracy::Relative(1.0e-9),
        evaluate: |x| {
            inside(CURE_TIME, x)?;
            finite(two_pairs(x)?.needed(x[4])?)
        },
    },
];
