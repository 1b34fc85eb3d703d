//! Hiding: the two-flux theory of Kubelka and Munk (1931), used as a *relative* statement.
//!
//! A film scatters S and absorbs K on a length; what matters is the scattering power `p = S X` of a
//! film of thickness X and the reflectance `r` that a film too thick to see through would have.
//! With `a = (1/r + r)/2` and `b = (1/r - r)/2`, over a ground of reflectance g:
//!
//! `R = (1 - g (a - b coth b p)) / (a - g + b coth b p)`
//!
//! The contrast ratio is R over black (g = 0) over R over white; a film "hides" at 98 % (ISO 6504
//! and ASTM D2805, from memory). No scattering coefficient of a garment white was found in print,
//! so none is shipped: measure the contrast ratio of one film of known thickness, predict others.

use super::function::{Accuracy, Function, Outside, Parameter};
use super::validity::{falls, inside, mixed, rises, spread};

/// Below this scattering power only the first term of the series is left in double precision.
const NO_FILM: f64 = 1e-200;
/// Contrast ratios above this depend on the last digits of the reflectances.
const CONTRAST_UP_TO: f64 = 0.999;

/// The two numbers of Kubelka and Munk that depend on the ink alone, and `b coth b p`.
fn two_flux(power: f64, own: f64) -> (f64, f64) {
    let a = 0.5 * (1.0 / own + own);
    let b = 0.5 * (1.0 - own) * (1.0 + own) / own;
    let x = b * power;
    let coth = if x < 1e-2 {
        // x coth x, whose next term is 2 x⁶/945.
        (1.0 + x * x / 3.0 - x * x * x * x / 45.0) / power
    } else {
        b / libm::tanh(x)
    };
    (a, coth)
}

const REFLECTANCE: [Parameter; 3] = [
    mixed("scattering-power", "number", 0.0, 1000.0),
    rises("own", "share", 0.02, 1.0),
    rises("ground", "share", 0.0, 1.0),
];

/// Reflectance of a film over a ground, as in the module's head.
///
/// * `power` p = S X, 0 to 1000: moves the result from the ground's reflectance to the ink's own,
///   so up or down.
/// * `own` reflectance r of a film too thick to see through, 2 to 100 %: a rise lifts it.
/// * `ground` g, 0 to 100 %: a rise lifts it.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn reflectance(power: f64, own: f64, ground: f64) -> Result<f64, Outside> {
    let [power, own, ground] = inside(&REFLECTANCE, [power, own, ground])?;
    let (a, coth) = two_flux(power.max(NO_FILM), own);
    Ok((1.0 - ground * (a - coth)) / (a - ground + coth))
}

const CONTRAST: [Parameter; 3] = [
    rises("scattering-power", "number", 0.0, 1000.0),
    falls("own", "share", 0.02, 1.0),
    falls("white", "share", 0.3, 0.95),
];

/// Contrast ratio of a film: its reflectance over black over its reflectance over white.
///
/// * `power` p = S X, 0 to 1000: a rise lifts it.
/// * `own` reflectance of a film too thick to see through, 2 to 100 %: a rise lowers it (what
///   absorbs more hides better). With T the transmittance and R0 the reflectance over black,
///   `1/C - 1 = (T²/R0) g/(1 - R0 g)`, and both factors rise with `own`.
/// * `white` reflectance g of the white ground, 30 to 95 % (80 % is usual): a rise lowers it.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn contrast_ratio(power: f64, own: f64, white: f64) -> Result<f64, Outside> {
    let [power, own, white] = inside(&CONTRAST, [power, own, white])?;
    Ok(contrast(power, own, white))
}

fn contrast(power: f64, own: f64, white: f64) -> f64 {
    if power < NO_FILM {
        return power / white;
    }
    let (a, coth) = two_flux(power, own);
    (a - white + coth) / (a + coth) / (1.0 - white * (a - coth))
}

const POWER: [Parameter; 3] = [
    rises("contrast", "share", 0.001, CONTRAST_UP_TO),
    mixed("own", "share", 0.02, 1.0),
    mixed("white", "share", 0.3, 0.95),
];

/// Scattering power that gives a contrast ratio: [`contrast_ratio`] solved by halving.
///
/// * `contrast`, 0.1 to 99.9 %: a rise lifts it.
/// * `own`, 2 to 100 %, and `white`, 30 to 95 %: a rise of either lifts it.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges; [`Outside::Never`] if no film reaches the contrast
/// (none of these ranges does that).
pub fn scattering_power(contrast_ratio: f64, own: f64, white: f64) -> Result<f64, Outside> {
    let [target, own, white] = inside(&POWER, [contrast_ratio, own, white])?;
    let mut high = 1.0;
    while contrast(high, own, white) < target {
        high *= 2.0;
        if high > 1e9 {
            return Err(Outside::Never("no film of this ink reaches that contrast"));
        }
    }
    let mut low = 0.0;
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if contrast(middle, own, white) < target {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(high)
}

const FROM_DRAWDOWN: [Parameter; 5] = [
    rises("known-contrast", "share", 0.05, CONTRAST_UP_TO),
    falls("known-film", "length", 1e-7, 1e-2),
    rises("film", "length", 0.0, 1e-2),
    mixed("own", "share", 0.02, 1.0),
    mixed("white", "share", 0.3, 0.95),
];

/// Contrast ratio of another film of the same ink, from one that was measured.
///
/// * `known_contrast` of the measured film, 5 to 99.9 %: a rise lifts the result.
/// * `known_film`, thickness of the measured film, 0.1 µm to 10 mm: a rise lowers it.
/// * `film`, thickness asked about, 0 to 10 mm: a rise lifts it.
/// * `own`, 2 to 100 %, and `white`, 30 to 95 %: either way.
///
/// Both films wet, or both dry. Scattering is taken as proportional to thickness, which fails where
/// pigment crowds as the film dries.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn contrast_from_drawdown(
    known_contrast: f64,
    known_film: f64,
    film: f64,
    own: f64,
    white: f64,
) -> Result<f64, Outside> {
    let [known, known_film, film, own, white] = inside(
        &FROM_DRAWDOWN,
        [known_contrast, known_film, film, own, white],
    )?;
    let power = scattering_power(known, own, white)?;
    Ok(contrast(power * (film / known_film), own, white))
}

const FILM_FOR: [Parameter; 5] = [
    falls("known-contrast", "share", 0.05, CONTRAST_UP_TO),
    rises("known-film", "length", 1e-7, 1e-2),
    rises("wanted-contrast", "share", 0.05, CONTRAST_UP_TO),
    mixed("own", "share", 0.02, 1.0),
    mixed("white", "share", 0.3, 0.95),
];

/// Film that reaches a wanted contrast ratio, from one film that was measured, in metres.
///
/// * `known_contrast` of the measured film, 5 to 99.9 %: a rise lowers the result.
/// * `known_film`, thickness of the measured film, 0.1 µm to 10 mm: a rise lifts it.
/// * `wanted_contrast`, 5 to 99.9 % (98 % counts as hidden): a rise lifts it.
/// * `own`, 2 to 100 %, and `white`, 30 to 95 %: either way.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn film_for_contrast(
    known_contrast: f64,
    known_film: f64,
    wanted_contrast: f64,
    own: f64,
    white: f64,
) -> Result<f64, Outside> {
    let [known, known_film, wanted, own, white] = inside(
        &FILM_FOR,
        [known_contrast, known_film, wanted_contrast, own, white],
    )?;
    let have = scattering_power(known, own, white)?;
    let want = scattering_power(wanted, own, white)?;
    Ok(known_film * (want / have))
}

const SOURCE: &str = "Kubelka and Munk (1931)";

pub(super) const ROWS: &[Function] = &[
    Function {
        name: "film-reflectance",
        parameters: &REFLECTANCE,
        result: "share",
        formula: "(1 - g (a - b coth(b p))) / (a - g + b coth(b p)), a, b = (1/own ± own) / 2",
        source: SOURCE,
        accuracy: Accuracy::Absolute(1e-13),
        evaluate: |x| spread(x, |[p, own, ground]| reflectance(p, own, ground)),
    },
    Function {
        name: "contrast-ratio",
        parameters: &CONTRAST,
        result: "share",
        formula: "film-reflectance over black / film-reflectance over white",
        source: SOURCE,
        accuracy: Accuracy::Relative(1e-12),
        evaluate: |x| spread(x, |[p, own, white]| contrast_ratio(p, own, white)),
    },
    Function {
        name: "contrast-from-drawdown",
        parameters: &FROM_DRAWDOWN,
        result: "share",
        formula: "contrast-ratio at the scattering power of the known film * film / known-film",
        source: SOURCE,
        accuracy: Accuracy::Relative(1e-9),
        evaluate: |x| {
            spread(x, |[known, known_film, film, own, white]| {
                contrast_from_drawdown(known, known_film, film, own, white)
            })
        },
    },
    Function {
        name: "film-for-contrast",
        parameters: &FILM_FOR,
        result: "length",
        formula: "known-film * scattering power of the wanted contrast / of the known one",
        source: SOURCE,
        accuracy: Accuracy::Relative(1e-9),
        evaluate: |x| {
            spread(x, |[known, known_film, wanted, own, white]| {
                film_for_contrast(known, known_film, wanted, own, white)
            })
        },
    },
];
