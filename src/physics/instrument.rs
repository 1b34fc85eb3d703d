//! What a temperature reading is worth: thermocouple tolerance classes, and emissivity set wrong.
//!
//! Tolerances hold for new wire; lead, connection and logger come on top.

use super::function::{Accuracy, Function, Outside, Parameter};
use super::validity::{falls, inside, mixed, rises, spread};

/// 0 °C in kelvin.
const ICE: f64 = 273.15;

/// A tolerance class: the greater of a fixed limit and a share of the temperature in °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Class {
    /// Its name, kebab case, with the type first.
    pub name: &'static str,
    /// Fixed limit, K.
    pub limit: f64,
    /// Share of the temperature in °C, either side of 0 °C.
    pub share: f64,
    /// Least temperature it holds for, K.
    pub low: f64,
    /// Greatest.
    pub high: f64,
}

const fn class(name: &'static str, limit: f64, share: f64, low: f64, high: f64) -> Class {
    Class {
        name,
        limit,
        share,
        low: low + ICE,
        high: high + ICE,
    }
}

/// Type K, class 1 of IEC 60584.
pub const K_CLASS_1: Class = class("k-class-1", 1.5, 0.004, -40.0, 1000.0);
/// Type K, class 2 of IEC 60584.
pub const K_CLASS_2: Class = class("k-class-2", 2.5, 0.0075, -40.0, 1200.0);
/// Type K, class 3 of IEC 60584, for the cold.
pub const K_CLASS_3: Class = class("k-class-3", 2.5, 0.015, -200.0, 40.0);
/// Type T, class 1 of IEC 60584.
pub const T_CLASS_1: Class = class("t-class-1", 0.5, 0.004, -40.0, 350.0);
/// Type T, class 2 of IEC 60584.
pub const T_CLASS_2: Class = class("t-class-2", 1.0, 0.0075, -40.0, 350.0);
/// Type K standard of ASTM E230 (upper end from memory).
pub const K_STANDARD: Class = class("k-standard", 2.2, 0.0075, 0.0, 1260.0);
/// Type K special of ASTM E230 (upper end from memory).
pub const K_SPECIAL: Class = class("k-special", 1.1, 0.004, 0.0, 1260.0);
/// Type J standard of ASTM E230 (upper end from memory).
pub const J_STANDARD: Class = class("j-standard", 2.2, 0.0075, 0.0, 760.0);
/// Type J special of ASTM E230 (upper end from memory).
pub const J_SPECIAL: Class = class("j-special", 1.1, 0.004, 0.0, 760.0);

/// How far a reading with a new thermocouple may be off, either way, in kelvin.
///
/// * `temperature`, K, inside the range of the class. Away from 0 °C it grows once the share passes
///   the fixed limit; on the other side of 0 °C all the ranges end before that, so a rise never
///   lowers it (class 3: never lifts it).
///
/// Source: "Thermocouple tolerance and applicable standards" (IEC 584-2) and "Tolerance classes for
/// thermocouples according to ASTM E230/E230M-12".
///
/// # Errors
///
/// [`Outside::Parameter`] outside the range of the class.
pub fn tolerance(class: &Class, temperature: f64) -> Result<f64, Outside> {
    if (class.low..=class.high).contains(&temperature) {
        Ok(class.limit.max(class.share * (temperature - ICE).abs()))
    } else {
        Err(Outside::Parameter(0))
    }
}

const fn upwards(class: &Class) -> [Parameter; 1] {
    [rises("reading", "temperature", class.low, class.high)]
}

const READING_K1: [Parameter; 1] = upwards(&K_CLASS_1);
const READING_K2: [Parameter; 1] = upwards(&K_CLASS_2);
const READING_K3: [Parameter; 1] = [falls(
    "reading",
    "temperature",
    K_CLASS_3.low,
    K_CLASS_3.high,
)];
const READING_T: [Parameter; 1] = upwards(&T_CLASS_1);
const READING_K: [Parameter; 1] = upwards(&K_STANDARD);
const READING_J: [Parameter; 1] = upwards(&J_STANDARD);

const INFRARED: [Parameter; 4] = [
    rises("surface", "temperature", 200.0, 1300.0),
    rises("emissivity", "share", 0.1, 1.0),
    falls("set-emissivity", "share", 0.1, 1.0),
    // The sign depends on whether the emissivity is set too high or too low.
    mixed("surroundings", "temperature", 200.0, 1300.0),
];

/// What an infrared thermometer reads when its emissivity is set wrong, in kelvin.
///
/// `Tr = ((ε/εs) T⁴ + (1 - ε/εs) Ta⁴)^(1/4)`: a grey body among surroundings at Ta that the
/// instrument knows and subtracts.
///
/// * `surface` T, 200 to 1300 K: a rise lifts it.
/// * `emissivity` ε of the surface, 10 to 100 %: a rise lifts it while the surface is the hotter.
/// * `set_emissivity` εs, 10 to 100 %: a rise lowers it while the surface is the hotter.
/// * `surroundings` Ta, 200 to 1300 K: either way.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges, [`Outside::Together`] when the surroundings are
/// hotter than the surface.
pub fn infrared_reading(
    surface: f64,
    emissivity: f64,
    set_emissivity: f64,
    surroundings: f64,
) -> Result<f64, Outside> {
    let [surface, real, set, around] = inside(
        &INFRARED,
        [surface, emissivity, set_emissivity, surroundings],
    )?;
    if around > surface {
        return Err(Outside::Together(
            "the surroundings are hotter than the surface",
        ));
    }
    let fourth = |t: f64| (t * t) * (t * t);
    let seen = fourth(around) + real / set * (fourth(surface) - fourth(around));
    Ok(libm::sqrt(libm::sqrt(seen)))
}

const IEC: &str = "IEC 60584 tolerance classes, as tabulated by an instrument maker";
const ASTM: &str = "ASTM E230 tolerance classes, as tabulated in a digest of the 2012 edition";

const fn row(
    name: &'static str,
    parameters: &'static [Parameter; 1],
    formula: &'static str,
    source: &'static str,
    evaluate: fn(&[f64]) -> Result<f64, Outside>,
) -> Function {
    Function {
        name,
        parameters,
        result: "temperature-difference",
        formula,
        source,
        accuracy: Accuracy::Absolute(1e-14),
        evaluate,
    }
}

pub(super) const ROWS: &[Function] = &[
    row(
        "thermocouple-k-class-1",
        &READING_K1,
        "most(1.5 K, 0.004 t)",
        IEC,
        |x| spread(x, |[t]| tolerance(&K_CLASS_1, t)),
    ),
    row(
        "thermocouple-k-class-2",
        &READING_K2,
        "most(2.5 K, 0.0075 t)",
        IEC,
        |x| spread(x, |[t]| tolerance(&K_CLASS_2, t)),
    ),
    row(
        "thermocouple-k-class-3",
        &READING_K3,
        "most(2.5 K, 0.015 t)",
        IEC,
        |x| spread(x, |[t]| tolerance(&K_CLASS_3, t)),
    ),
    row(
        "thermocouple-t-class-1",
        &READING_T,
        "most(0.5 K, 0.004 t)",
        IEC,
        |x| spread(x, |[t]| tolerance(&T_CLASS_1, t)),
    ),
    row(
        "thermocouple-t-class-2",
        &READING_T,
        "most(1.0 K, 0.0075 t)",
        IEC,
        |x| spread(x, |[t]| tolerance(&T_CLASS_2, t)),
    ),
    row(
        "thermocouple-k-standard",
        &READING_K,
        "most(2.2 K, 0.0075 t)",
        ASTM,
        |x| spread(x, |[t]| tolerance(&K_STANDARD, t)),
    ),
    row(
        "thermocouple-k-special",
        &READING_K,
        "most(1.1 K, 0.004 t)",
        ASTM,
        |x| spread(x, |[t]| tolerance(&K_SPECIAL, t)),
    ),
    row(
        "thermocouple-j-standard",
        &READING_J,
        "most(2.2 K, 0.0075 t)",
        ASTM,
        |x| spread(x, |[t]| tolerance(&J_STANDARD, t)),
    ),
    row(
        "thermocouple-j-special",
        &READING_J,
        "most(1.1 K, 0.004 t)",
        ASTM,
        |x| spread(x, |[t]| tolerance(&J_SPECIAL, t)),
    ),
    Function {
        name: "infrared-reading",
        parameters: &INFRARED,
        result: "temperature",
        formula: "(emissivity / set * surface⁴ + (1 - emissivity / set) * surroundings⁴) ^ (1/4)",
        source: "grey body in surroundings of one temperature",
        accuracy: Accuracy::Relative(1e-14),
        evaluate: |x| {
            spread(x, |[t, real, set, around]| {
                infrared_reading(t, real, set, around)
            })
        },
    },
];
