//! From the ink volume of the mesh to the film on the garment: stencil, strokes, solids, layers.
//!
//! Real deposits run from 0.7 to 1.6 times the theoretical ink volume in published arithmetic, so
//! the transfer and the stencil's share are inputs with wide tolerances until a print is weighed.

use super::function::{Accuracy, Function, Outside, Parameter};
use super::validity::{falls, inside, rises, spread, whole};

const EOM_SHARE: [Parameter; 2] = [
    rises("eom", "length", 0.0, 2e-3),
    falls("thickness", "length", 1e-6, 1e-2),
];

/// Emulsion over mesh as a share of the mesh thickness.
///
/// * `eom`, 0 to 2 mm: a rise lifts it.
/// * `thickness` of the mesh, 1 µm to 10 mm: a rise lowers it.
///
/// Source: "Coating screens properly and EOM" (definition; 15 to 20 % is the target on textiles).
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn eom_share(eom: f64, thickness: f64) -> Result<f64, Outside> {
    let [eom, thickness] = inside(&EOM_SHARE, [eom, thickness])?;
    Ok(eom / thickness)
}

const WET_DEPOSIT: [Parameter; 4] = [
    rises("ink-volume", "areal-volume", 0.0, 2e-3),
    rises("eom", "length", 0.0, 2e-3),
    rises("stencil-share", "share", 0.0, 1.0),
    rises("ink-transfer", "number", 0.0, 3.0),
];

/// Wet ink one stroke lays down, `t (V + s e)`, in m³/m².
///
/// * `ink_volume` V of the mesh, 0 to 2 mm: a rise lifts it.
/// * `eom` e, 0 to 2 mm: a rise lifts it.
/// * `stencil_share` s of the stencil's height that reaches the print, 0 to 100 %: a rise lifts
///   it. 0 to 30 % in solids wider than about 5 mm, 60 to 100 % in lines under 0.5 mm (common
///   practice, no source).
/// * `transfer` t, 0 to 3: a rise lifts it. 0.5 to 0.9 on fabric (common practice, no source).
///
/// Source: "Screen Selection" gives `t = s = 1`, thick-film practice.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn wet_deposit(
    ink_volume: f64,
    eom: f64,
    stencil_share: f64,
    transfer: f64,
) -> Result<f64, Outside> {
    let [volume, eom, share, transfer] =
        inside(&WET_DEPOSIT, [ink_volume, eom, stencil_share, transfer])?;
    Ok(transfer * (volume + share * eom))
}

const STENCIL_PART: [Parameter; 3] = [
    falls("ink-volume", "areal-volume", 1e-9, 2e-3),
    rises("eom", "length", 0.0, 2e-3),
    rises("stencil-share", "share", 0.0, 1.0),
];

/// Part of the deposit that the stencil gives, `s e / (V + s e)`.
///
/// * `ink_volume` V of the mesh, 0.001 µm to 2 mm: a rise lowers it.
/// * `eom` e, 0 to 2 mm: a rise lifts it.
/// * `stencil_share` s, 0 to 100 %: a rise lifts it.
///
/// Source: follows from [`wet_deposit`]; "Coat Your Screen Just Enough" puts it at about 10 %.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn stencil_part(ink_volume: f64, eom: f64, stencil_share: f64) -> Result<f64, Outside> {
    let [volume, eom, share] = inside(&STENCIL_PART, [ink_volume, eom, stencil_share])?;
    let stencil = share * eom;
    // The quotient is written so that each operation moves one way as the stencil grows.
    if stencil > 0.0 {
        Ok(1.0 / (1.0 + volume / stencil))
    } else {
        Ok(0.0)
    }
}

const WET_FILM: [Parameter; 3] = [
    rises("deposit", "areal-volume", 0.0, 1e-2),
    rises("strokes", "count", 1.0, 20.0),
    rises("stroke-gain", "share", 0.0, 1.0),
];

/// Wet film after strokes wet on wet, `deposit (1 + (n - 1) g)`, in m³/m².
///
/// * `deposit` of the first stroke, 0 to 10 mm: a rise lifts it.
/// * `strokes` n, whole, 1 to 20: a rise lifts it.
/// * `stroke_gain` g, what a further stroke adds over the first, 0 to 100 %: a rise lifts it.
///   20 to 70 % is common practice, no source.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges, [`Outside::Together`] for half a stroke.
pub fn wet_film(deposit: f64, strokes: f64, stroke_gain: f64) -> Result<f64, Outside> {
    let [deposit, strokes, gain] = inside(&WET_FILM, [deposit, strokes, stroke_gain])?;
    whole(&[strokes])?;
    Ok(deposit * (1.0 + (strokes - 1.0) * gain))
}

const VOLUME_SOLIDS: [Parameter; 3] = [
    rises("mass-solids", "share", 0.0, 1.0),
    falls("ink-density", "density", 500.0, 5000.0),
    rises("volatile-density", "density", 500.0, 2000.0),
];

/// Solids by volume from solids by mass, `1 - (1 - m) ρ / ρv` (ideal mixing).
///
/// * `mass_solids` m, 0 to 100 %: a rise lifts it.
/// * `ink_density` ρ of the wet ink, 500 to 5000 kg/m³: a rise lowers it.
/// * `volatile_density` ρv of what leaves (water: 997), 500 to 2000 kg/m³: a rise lifts it.
///
/// A plastisol loses next to nothing: 95 to 100 %.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges; [`Outside::Together`] when the volatile part alone
/// would take more room than the ink.
pub fn volume_solids(
    mass_solids: f64,
    ink_density: f64,
    volatile_density: f64,
) -> Result<f64, Outside> {
    let [solids, ink, volatile] =
        inside(&VOLUME_SOLIDS, [mass_solids, ink_density, volatile_density])?;
    let share = 1.0 - (1.0 - solids) * ink / volatile;
    if share >= 0.0 {
        Ok(share)
    } else {
        Err(Outside::Together(
            "what dries off would fill more than the whole ink",
        ))
    }
}

const DRY_FILM: [Parameter; 2] = [
    rises("wet-film", "areal-volume", 0.0, 1e-2),
    rises("volume-solids", "share", 0.0, 1.0),
];

/// Dry film that a wet film leaves, in metres. Layers printed over a flash add up.
///
/// * `wet_film`, 0 to 10 mm: a rise lifts it.
/// * `volume_solids`, 0 to 100 %: a rise lifts it.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn dry_film(wet_film: f64, volume_solids: f64) -> Result<f64, Outside> {
    let [wet, solids] = inside(&DRY_FILM, [wet_film, volume_solids])?;
    Ok(wet * solids)
}

/// One layer of a print: what a screen lays down between two flashes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// Wet ink of the first stroke, m³/m².
    pub deposit: f64,
    /// Strokes wet on wet, a whole number.
    pub strokes: f64,
    /// What a further stroke adds over the first, as a share.
    pub stroke_gain: f64,
    /// Solids by volume.
    pub volume_solids: f64,
}

/// Dry film of a stack of layers, the sum of [`dry_film`] of [`wet_film`], in metres.
///
/// Rises in every number of every layer. Assumes that no layer soaks into the one below.
///
/// # Errors
///
/// Those of [`wet_film`] and [`dry_film`].
pub fn dry_film_of(layers: &[Layer]) -> Result<f64, Outside> {
    layers.iter().try_fold(0.0, |sum, layer| {
        let wet = wet_film(layer.deposit, layer.strokes, layer.stroke_gain)?;
        Ok(sum + dry_film(wet, layer.volume_solids)?)
    })
}

pub(super) const ROWS: &[Function] = &[
    Function {
        name: "eom-share",
        parameters: &EOM_SHARE,
        result: "share",
        formula: "eom / thickness",
        source: "Coating screens properly and EOM",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[eom, thickness]| eom_share(eom, thickness)),
    },
    Function {
        name: "wet-deposit",
        parameters: &WET_DEPOSIT,
        result: "areal-volume",
        formula: "ink-transfer * (ink-volume + stencil-share * eom)",
        source: "Screen Selection, with transfer and stencil share of our own",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[v, e, s, t]| wet_deposit(v, e, s, t)),
    },
    Function {
        name: "stencil-part",
        parameters: &STENCIL_PART,
        result: "share",
        formula: "stencil-share * eom / (ink-volume + stencil-share * eom)",
        source: "follows from wet-deposit",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[v, e, s]| stencil_part(v, e, s)),
    },
    Function {
        name: "wet-film",
        parameters: &WET_FILM,
        result: "areal-volume",
        formula: "deposit * (1 + (strokes - 1) * stroke-gain)",
        source: "common practice, no source",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[deposit, n, gain]| wet_film(deposit, n, gain)),
    },
    Function {
        name: "volume-solids",
        parameters: &VOLUME_SOLIDS,
        result: "share",
        formula: "1 - (1 - mass-solids) * ink-density / volatile-density",
        source: "volumes add up (ideal mixing)",
        accuracy: Accuracy::Absolute(1e-15),
        evaluate: |x| spread(x, |[m, ink, volatile]| volume_solids(m, ink, volatile)),
    },
    Function {
        name: "dry-film",
        parameters: &DRY_FILM,
        result: "length",
        formula: "wet-film * volume-solids",
        source: "definition",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[wet, solids]| dry_film(wet, solids)),
    },
];
