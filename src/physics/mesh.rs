//! The mesh of a screen: opening, open area, thickness of the fabric, ink volume, tension.
//!
//! Square plain weave. Counts are threads on a length (1/m), every length is in metres. The
//! geometry starts from the thread before weaving; the woven opening is 2 to 27 % smaller than
//! the one worked out here ("Technical data on investigated fabrics", a university page that quotes
//! weavers' leaflets: 16 µm stated against 22 µm worked out for 190/cm with 31 µm thread). Where the
//! weaver states the opening, use the `_stated` variants.

use super::function::{Accuracy, Function, Outside, Parameter};
use super::validity::{falls, inside, rises, spread};

/// Fabric thickness over thread, thinnest plain weave met in print.
const THINNEST: f64 = 1.44;
/// Fabric thickness over thread, thickest plain weave of 43 threads/cm and finer.
const THICKEST: f64 = 1.65;
/// Fabric thickness over thread, coarser than 43 threads/cm.
const THICKEST_COARSE: f64 = 1.82;
/// Where the coarse fabrics end, threads/m.
const COARSE_BELOW: f64 = 4300.0;

const GEOMETRY: &str =
    "geometry; Square opening wire mesh: terminology & measurement methods; Screen Specifications";

const OPENING: [Parameter; 2] = [
    falls("count", "thread-count", 50.0, 40_000.0),
    falls("thread", "length", 1e-6, 5e-3),
];

/// Clear width between two threads, `w = 1/n - d`, in metres.
///
/// * `count` n, threads/m, 50 to 40 000: a rise lowers the opening.
/// * `thread` d, thread before weaving, 1 µm to 5 mm: a rise lowers the opening.
///
/// Source: "Screen Specifications", a weaver's page. Exact for the unstretched square weave.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges, [`Outside::Together`] when the threads touch.
pub fn opening(count: f64, thread: f64) -> Result<f64, Outside> {
    let [n, d] = inside(&OPENING, [count, thread])?;
    let w = 1.0 / n - d;
    if w > 0.0 {
        Ok(w)
    } else {
        Err(Outside::Together(
            "at that count threads so thick leave no opening",
        ))
    }
}

/// Share of the mesh that is open, `a = (1 - n d)²`, from the thread before weaving.
///
/// * `count` n, threads/m, 50 to 40 000: a rise lowers it.
/// * `thread` d, 1 µm to 5 mm: a rise lowers it.
///
/// The square of opening over *pitch*. Never `w²/(w + d)²` unless opening and thread are known to
/// add up to the pitch: with a stated opening they do not.
/// Source: "Square opening wire mesh: terminology & measurement methods".
///
/// # Errors
///
/// As [`opening`].
pub fn open_area(count: f64, thread: f64) -> Result<f64, Outside> {
    let w = opening(count, thread)?;
    Ok((w * count) * (w * count))
}

const STATED: [Parameter; 2] = [
    rises("count", "thread-count", 50.0, 40_000.0),
    rises("opening", "length", 1e-7, 2e-2),
];

/// Share of the mesh that is open, `a = (w n)²`, from the opening the weaver states.
///
/// * `count` n, threads/m, 50 to 40 000: a rise lifts it (the opening stays).
/// * `opening` w, 0.1 µm to 20 mm: a rise lifts it.
///
/// Source: "Square opening wire mesh: terminology & measurement methods".
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges, [`Outside::Together`] when the openings fill the
/// whole pitch.
pub fn open_area_stated(count: f64, opening: f64) -> Result<f64, Outside> {
    let [n, w] = inside(&STATED, [count, opening])?;
    let share = w * n;
    if share < 1.0 {
        Ok(share * share)
    } else {
        Err(Outside::Together(
            "openings so wide leave no room for threads at that count",
        ))
    }
}

const THICKNESS_LOW: [Parameter; 1] = [rises("thread", "length", 1e-6, 5e-3)];

/// Least thickness of a plain-weave fabric, `1.44 d`, in metres.
///
/// * `thread` d, 1 µm to 5 mm: a rise lifts it.
///
/// The ratio is the smallest found in print (a 20 % stencil of 23 µm on 43/cm with 80 µm thread).
/// A measured thickness is always better. Not for twill.
///
/// # Errors
///
/// [`Outside::Parameter`] outside the range.
pub fn thickness_low(thread: f64) -> Result<f64, Outside> {
    let [d] = inside(&THICKNESS_LOW, [thread])?;
    Ok(THINNEST * d)
}

const THICKNESS_HIGH: [Parameter; 2] = [
    falls("count", "thread-count", 50.0, 40_000.0),
    rises("thread", "length", 1e-6, 5e-3),
];

/// Greatest thickness of a plain-weave fabric in metres: `1.65 d`, below 43 threads/cm `1.82 d`.
///
/// * `count` n, threads/m, 50 to 40 000: falls, in one step at 43/cm.
/// * `thread` d, 1 µm to 5 mm: a rise lifts it.
///
/// Sources: "Mesh Matters" (2009) and "How Much Ink Do You Need?" (2000). A plain weave is always
/// thinner than `2 d`. Not for twill, where 1.77 was met at 190/cm.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn thickness_high(count: f64, thread: f64) -> Result<f64, Outside> {
    let [n, d] = inside(&THICKNESS_HIGH, [count, thread])?;
    let ratio = if n < COARSE_BELOW {
        THICKEST_COARSE
    } else {
        THICKEST
    };
    Ok(ratio * d)
}

const INK_VOLUME: [Parameter; 3] = [
    falls("count", "thread-count", 50.0, 40_000.0),
    falls("thread", "length", 1e-6, 5e-3),
    rises("thickness", "length", 1e-6, 1e-2),
];

/// Ink that the open mesh holds, `V = (1 - n d)² D`, in m³/m² (1 cm³/m² is 1 µm of wet film).
///
/// * `count` n, threads/m, 50 to 40 000: a rise lowers it.
/// * `thread` d, 1 µm to 5 mm: a rise lowers it, the fabric staying as thick as it is.
/// * `thickness` D, of the woven fabric, 1 µm to 10 mm: a rise lifts it.
///
/// Sources: "Theoretical ink volume" (a weaver's page), "How Much Ink Do You Need?" (2000).
///
/// # Errors
///
/// As [`opening`].
pub fn ink_volume(count: f64, thread: f64, thickness: f64) -> Result<f64, Outside> {
    let [n, d, thickness] = inside(&INK_VOLUME, [count, thread, thickness])?;
    Ok(open_area(n, d)? * thickness)
}

const UNDER_STRAIN: [Parameter; 2] = [
    rises("count", "thread-count", 50.0, 40_000.0),
    falls("strain", "share", 0.0, 0.25),
];

/// Thread count once the cloth is stretched, `n / (1 + e)`, threads/m.
///
/// * `count` n before stretching, 50 to 40 000: a rise lifts it.
/// * `strain` e, 0 to 25 %: a rise lowers it.
///
/// Source: "Screen opening and opening rate" (in words), a weaver's page.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn count_under_strain(count: f64, strain: f64) -> Result<f64, Outside> {
    let [n, e] = inside(&UNDER_STRAIN, [count, strain])?;
    Ok(n / (1.0 + e))
}

const TENSION_LOSS: [Parameter; 2] = [
    rises("fresh", "tension", 50.0, 15_000.0),
    falls("now", "tension", 0.0, 15_000.0),
];

/// Share of the tension that is gone, `1 - T/T0`; negative when the screen was tightened since.
///
/// * `fresh` T0, N/m, 50 to 15 000 (0.5 to 150 N/cm): a rise lifts the loss.
/// * `now` T, 0 to 15 000 N/m: a rise lowers the loss.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn tension_loss(fresh: f64, now: f64) -> Result<f64, Outside> {
    let [fresh, now] = inside(&TENSION_LOSS, [fresh, now])?;
    Ok(1.0 - now / fresh)
}

const FRAME_LOAD: [Parameter; 2] = [
    rises("tension", "tension", 0.0, 15_000.0),
    rises("length", "length", 0.01, 10.0),
];

/// Force of the mesh on *one* side of the frame, `F = T L`, in newtons.
///
/// * `tension` T, 0 to 15 000 N/m: a rise lifts it.
/// * `length` L of the side, 10 mm to 10 m: a rise lifts it.
///
/// Source: "The Screen Frame: Foundation of the Process". Some guides print the sum over all four
/// sides instead.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn frame_load(tension: f64, length: f64) -> Result<f64, Outside> {
    let [tension, length] = inside(&FRAME_LOAD, [tension, length])?;
    Ok(tension * length)
}

pub(super) const ROWS: &[Function] = &[
    Function {
        name: "mesh-opening",
        parameters: &OPENING,
        result: "length",
        formula: "1 / count - thread",
        source: GEOMETRY,
        // The difference of two lengths of at most 20 mm, each rounded once.
        accuracy: Accuracy::Absolute(8e-18),
        evaluate: |x| spread(x, |[n, d]| opening(n, d)),
    },
    Function {
        name: "mesh-open-area",
        parameters: &OPENING,
        result: "share",
        formula: "(1 - count * thread) ^ 2",
        source: GEOMETRY,
        accuracy: Accuracy::Absolute(1e-15),
        evaluate: |x| spread(x, |[n, d]| open_area(n, d)),
    },
    Function {
        name: "mesh-open-area-stated",
        parameters: &STATED,
        result: "share",
        formula: "(opening * count) ^ 2",
        source: GEOMETRY,
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[n, w]| open_area_stated(n, w)),
    },
    Function {
        name: "mesh-thickness-low",
        parameters: &THICKNESS_LOW,
        result: "length",
        formula: "1.44 * thread",
        source: "lowest ratio in print for plain weave (stencil-gauge article, 110/80 at 20 %)",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[d]| thickness_low(d)),
    },
    Function {
        name: "mesh-thickness-high",
        parameters: &THICKNESS_HIGH,
        result: "length",
        formula: "1.65 * thread; 1.82 * thread below 43 /cm",
        source: "Mesh Matters (2009); How Much Ink Do You Need? (2000)",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[n, d]| thickness_high(n, d)),
    },
    Function {
        name: "theoretical-ink-volume",
        parameters: &INK_VOLUME,
        result: "areal-volume",
        formula: "(1 - count * thread) ^ 2 * thickness",
        source: "Theoretical ink volume (a weaver's page)",
        accuracy: Accuracy::Absolute(1e-17),
        evaluate: |x| spread(x, |[n, d, t]| ink_volume(n, d, t)),
    },
    Function {
        name: "count-under-strain",
        parameters: &UNDER_STRAIN,
        result: "thread-count",
        formula: "count / (1 + strain)",
        source: "Screen opening and opening rate",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[n, e]| count_under_strain(n, e)),
    },
    Function {
        name: "tension-loss",
        parameters: &TENSION_LOSS,
        result: "share",
        formula: "1 - now / fresh",
        source: "definition",
        // With `now` at most 300 times `fresh`.
        accuracy: Accuracy::Absolute(1e-13),
        evaluate: |x| spread(x, |[fresh, now]| tension_loss(fresh, now)),
    },
    Function {
        name: "frame-load",
        parameters: &FRAME_LOAD,
        result: "force",
        formula: "tension * length",
        source: "The Screen Frame: Foundation of the Process",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[tension, length]| frame_load(tension, length)),
    },
];
