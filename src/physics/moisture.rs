//! Moisture: how much water the cloth holds, and the heat it takes to warm cloth and drive it off.
//!
//! Regain is water over *dry* mass, moisture content water over the mass as it is.

use super::function::{Accuracy, Function, Outside, Parameter};
use super::validity::{falls, inside, mixed, rises, spread};

/// Boiling point of water at 1 atm, K.
const BOILS: f64 = 373.15;
/// Mean specific heat of liquid water, J/(kg·K) (steam tables, from memory).
const WATER_SPECIFIC_HEAT: f64 = 4186.0;
/// Heat of vaporisation of water at its boiling point, J/kg (steam tables, from memory).
const VAPORISATION: f64 = 2.257e6;

/// What is known of a fibre's regain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Regain {
    /// The fibre.
    pub fibre: &'static str,
    /// Commercial regain of ASTM D1909: an agreed trade value, not what the fibre settles at.
    pub commercial: f64,
    /// What it settles at in standard air (20 °C, 65 % humidity), from and to.
    pub standard_air: Option<(f64, f64)>,
}

const fn regain_of(fibre: &'static str, commercial: f64, standard_air: (f64, f64)) -> Regain {
    Regain {
        fibre,
        commercial,
        standard_air: Some(standard_air),
    }
}

const fn commercial_of(fibre: &'static str, commercial: f64) -> Regain {
    Regain {
        fibre,
        commercial,
        standard_air: None,
    }
}

/// Regain by fibre. Commercial: ASTM D1909 (natural fibres as the -13 edition is cited in "Moisture
/// regain of textile fibres"; man-made fibres from memory). In standard air: the same table and
/// "Properties of Different Manmade Fibre".
pub const REGAIN: &[Regain] = &[
    regain_of("cotton", 0.085, (0.07, 0.08)),
    regain_of("flax", 0.12, (0.07, 0.07)),
    regain_of("hemp", 0.12, (0.08, 0.08)),
    regain_of("jute", 0.1375, (0.12, 0.12)),
    regain_of("silk", 0.11, (0.10, 0.10)),
    regain_of("wool", 0.136, (0.14, 0.18)),
    regain_of("viscose", 0.11, (0.12, 0.14)),
    commercial_of("lyocell", 0.11),
    regain_of("acetate", 0.065, (0.065, 0.09)),
    commercial_of("triacetate", 0.035),
    regain_of("nylon", 0.045, (0.04, 0.045)),
    commercial_of("acrylic", 0.015),
    regain_of("polyester", 0.004, (0.001, 0.004)),
    regain_of("elastane", 0.013, (0.004, 0.013)),
    commercial_of("polypropylene", 0.0),
];

/// What is known of the regain of a fibre, by its name in [`REGAIN`].
#[must_use]
pub fn regain(fibre: &str) -> Option<&'static Regain> {
    REGAIN.iter().find(|known| known.fibre == fibre)
}

const BLEND: [Parameter; 3] = [
    mixed("share", "share", 0.0, 1.0),
    rises("regain", "share", 0.0, 1.0),
    rises("other-regain", "share", 0.0, 1.0),
];

/// Regain of two fibres mixed, `f r1 + (1 - f) r2`, shares by dry mass.
///
/// * `share` f of the first fibre, 0 to 100 %: towards the first fibre's regain, so either way.
/// * `regain` r1 and `other_regain` r2, 0 to 100 %: a rise of either lifts it.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn blend_regain(share: f64, regain: f64, other_regain: f64) -> Result<f64, Outside> {
    let [share, regain, other] = inside(&BLEND, [share, regain, other_regain])?;
    Ok(share * regain + (1.0 - share) * other)
}

const CONTENT: [Parameter; 1] = [rises("regain", "share", 0.0, 10.0)];

/// Moisture content, water over the mass as it is, from regain, `r / (1 + r)`.
///
/// * `regain` r, 0 to 1000 %: a rise lifts it.
///
/// # Errors
///
/// [`Outside::Parameter`] outside the range.
pub fn moisture_content(regain: f64) -> Result<f64, Outside> {
    let [regain] = inside(&CONTENT, [regain])?;
    Ok(regain / (1.0 + regain))
}

const WARMING: [Parameter; 4] = [
    rises("mass", "areal-mass", 0.0, 10.0),
    rises("specific-heat", "specific-heat", 100.0, 10_000.0),
    falls("start", "temperature", 200.0, 1000.0),
    rises("end", "temperature", 200.0, 1000.0),
];

/// Heat that warms a square metre of dry cloth or film, `m c (T1 - T0)`, in J/m².
///
/// * `mass` m on a square metre, 0 to 10 kg/m²: a rise lifts it.
/// * `specific_heat` c, 100 to 10 000 J/(kg·K): a rise lifts it.
/// * `start` T0, 200 to 1000 K: a rise lowers it. `end` T1, 200 to 1000 K: a rise lifts it.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges, [`Outside::Together`] when it would cool.
pub fn warming_heat(mass: f64, specific_heat: f64, start: f64, end: f64) -> Result<f64, Outside> {
    let [mass, heat, start, end] = inside(&WARMING, [mass, specific_heat, start, end])?;
    if end < start {
        return Err(Outside::Together("the end is colder than the start"));
    }
    Ok(mass * heat * (end - start))
}

const DRYING: [Parameter; 3] = [
    rises("mass", "areal-mass", 0.0, 10.0),
    rises("moisture", "share", 0.0, 5.0),
    falls("start", "temperature", 273.15, BOILS),
];

/// Heat that drives the water out of a square metre of cloth, `m x (c (Tb - T0) + h)`, in J/m².
///
/// * `mass` m of dry cloth on a square metre, 0 to 10 kg/m²: a rise lifts it.
/// * `moisture` x, water over dry mass, 0 to 500 %: a rise lifts it.
/// * `start` T0, 0 to 100 °C in kelvin: a rise lowers it.
///
/// Water with c = 4186 J/(kg·K) and h = 2257 kJ/kg is warmed to 100 °C and boiled off: 2592 J a gram
/// from 20 °C. The extra heat that holds the last few per cent in the fibre (at most 46 J for a gram
/// of dry cotton, "Physical Properties of Textile Fibres") is left out.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn drying_heat(mass: f64, moisture: f64, start: f64) -> Result<f64, Outside> {
    let [mass, moisture, start] = inside(&DRYING, [mass, moisture, start])?;
    Ok(mass * moisture * (WATER_SPECIFIC_HEAT * (BOILS - start) + VAPORISATION))
}

pub(super) const ROWS: &[Function] = &[
    Function {
        name: "blend-regain",
        parameters: &BLEND,
        result: "share",
        formula: "share * regain + (1 - share) * other-regain",
        source: "shares by dry mass",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[share, one, other]| blend_regain(share, one, other)),
    },
    Function {
        name: "moisture-content",
        parameters: &CONTENT,
        result: "share",
        formula: "regain / (1 + regain)",
        source: "ASTM D1909, definitions (from memory)",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[regain]| moisture_content(regain)),
    },
    Function {
        name: "warming-heat",
        parameters: &WARMING,
        result: "areal-energy",
        formula: "mass * specific-heat * (end - start)",
        source: "definition of specific heat",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[m, c, start, end]| warming_heat(m, c, start, end)),
    },
    Function {
        name: "drying-heat",
        parameters: &DRYING,
        result: "areal-energy",
        formula: "mass * moisture * (4186 J/(kg·K) * (100 °C - start) + 2257 kJ/kg)",
        source: "steam tables (from memory)",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[m, moisture, start]| drying_heat(m, moisture, start)),
    },
];
