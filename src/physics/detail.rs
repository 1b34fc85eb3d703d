//! The finest detail a screen holds: smallest line, halftone dot, particle clearance.
//!
//! Rules of the trade with a geometry behind them, not laws: the source of the smallest line calls
//! it "roughly calculated", and published advice on mesh for a line count runs from 3.5 to 5.

use super::function::{Accuracy, Function, Outside, Parameter};
use super::validity::{falls, inside, rises, spread};
use std::f64::consts::PI;

/// Above this tone round dots join up, and their diameter says nothing any more.
const ROUND_DOTS_UP_TO: f64 = 0.70;

const LINE: [Parameter; 2] = [
    rises("thread", "length", 1e-6, 5e-3),
    rises("opening", "length", 1e-7, 2e-2),
];

/// Thinnest line the mesh prints, `K = 2 d + w`, in metres.
///
/// * `thread` d, 1 µm to 5 mm: a rise lifts it.
/// * `opening` w, 0.1 µm to 20 mm: a rise lifts it.
///
/// Source: "Screen opening and opening rate" ("roughly calculated").
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn smallest_line(thread: f64, opening: f64) -> Result<f64, Outside> {
    let [d, w] = inside(&LINE, [thread, opening])?;
    Ok(2.0 * d + w)
}

const DOT: [Parameter; 2] = [
    falls("line-count", "thread-count", 100.0, 20_000.0),
    rises("tone", "share", 0.0, ROUND_DOTS_UP_TO),
];

/// Diameter of a round halftone dot, `(1/l) 2 √(tone/π)`, in metres.
///
/// * `line_count` l, lines/m, 100 to 20 000 (65 lpi is 2559): a rise lowers it.
/// * `tone`, 0 to 70 %: a rise lifts it. Above 70 % round dots join up.
///
/// Geometry of one dot in its cell; "How to calculate halftone dot sizes in microns" (2010) shows
/// the same formula.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn dot_diameter(line_count: f64, tone: f64) -> Result<f64, Outside> {
    let [lines, tone] = inside(&DOT, [line_count, tone])?;
    Ok(2.0 * libm::sqrt(tone / PI) / lines)
}

const DOT_CLEARANCE: [Parameter; 4] = [
    falls("line-count", "thread-count", 100.0, 20_000.0),
    rises("tone", "share", 0.0, ROUND_DOTS_UP_TO),
    falls("thread", "length", 1e-6, 5e-3),
    falls("opening", "length", 1e-7, 2e-2),
];

/// Dot diameter over the thinnest line the mesh prints: from 1 upwards the dot prints.
///
/// * `line_count`, lines/m, 100 to 20 000: a rise lowers it.
/// * `tone`, 0 to 70 %: a rise lifts it.
/// * `thread`, 1 µm to 5 mm: a rise lowers it.
/// * `opening`, 0.1 µm to 20 mm: a rise lowers it.
///
/// Source: [`dot_diameter`] over [`smallest_line`].
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn dot_clearance(
    line_count: f64,
    tone: f64,
    thread: f64,
    opening: f64,
) -> Result<f64, Outside> {
    let [lines, tone, d, w] = inside(&DOT_CLEARANCE, [line_count, tone, thread, opening])?;
    Ok(dot_diameter(lines, tone)? / smallest_line(d, w)?)
}

const SMALLEST_TONE: [Parameter; 3] = [
    rises("line-count", "thread-count", 100.0, 20_000.0),
    rises("thread", "length", 1e-6, 5e-3),
    rises("opening", "length", 1e-7, 2e-2),
];

/// Lightest tone whose dot still prints, `(π/4) (l (2 d + w))²`.
///
/// * `line_count` l, lines/m, 100 to 20 000: a rise lifts it.
/// * `thread` d, 1 µm to 5 mm: a rise lifts it.
/// * `opening` w, 0.1 µm to 20 mm: a rise lifts it.
///
/// Source: [`dot_diameter`] solved for the tone at [`smallest_line`].
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges; [`Outside::Never`] when even the 70 % dot is finer
/// than the mesh prints.
pub fn smallest_tone(line_count: f64, thread: f64, opening: f64) -> Result<f64, Outside> {
    let [lines, d, w] = inside(&SMALLEST_TONE, [line_count, thread, opening])?;
    let reach = lines * smallest_line(d, w)?;
    let tone = PI / 4.0 * (reach * reach);
    if tone <= ROUND_DOTS_UP_TO {
        Ok(tone)
    } else {
        Err(Outside::Never(
            "even the 70 % dot is finer than the mesh prints at that line count",
        ))
    }
}

const MESH_FOR_HALFTONE: [Parameter; 2] = [
    rises("line-count", "thread-count", 100.0, 20_000.0),
    rises("ratio", "number", 1.0, 10.0),
];

/// Mesh a halftone asks for, `ratio × line count`, in threads/m; the next stocked count is used.
///
/// * `line_count`, lines/m, 100 to 20 000: a rise lifts it.
/// * `ratio` of mesh to lines, 1 to 10 (3.5 to 5 is advised): a rise lifts it.
///
/// Source: "All Things Are Not as They Appear".
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn mesh_for_halftone(line_count: f64, ratio: f64) -> Result<f64, Outside> {
    let [lines, ratio] = inside(&MESH_FOR_HALFTONE, [line_count, ratio])?;
    Ok(lines * ratio)
}

const CLEARANCE: [Parameter; 2] = [
    rises("opening", "length", 1e-7, 2e-2),
    falls("particle", "length", 1e-8, 1e-2),
];

/// Mesh opening over the largest particle of the ink; three is wanted.
///
/// * `opening`, 0.1 µm to 20 mm: a rise lifts it.
/// * `particle`, 0.01 µm to 10 mm: a rise lowers it.
///
/// Source: "Screen Selection" (thick-film pastes); the trade quotes the same rule for flake inks.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn particle_clearance(opening: f64, particle: f64) -> Result<f64, Outside> {
    let [opening, particle] = inside(&CLEARANCE, [opening, particle])?;
    Ok(opening / particle)
}

pub(super) const ROWS: &[Function] = &[
    Function {
        name: "smallest-line",
        parameters: &LINE,
        result: "length",
        formula: "2 * thread + opening",
        source: "Screen opening and opening rate",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[d, w]| smallest_line(d, w)),
    },
    Function {
        name: "dot-diameter",
        parameters: &DOT,
        result: "length",
        formula: "2 * root(tone / pi) / line-count",
        source: "geometry of a round dot in its cell",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[lines, tone]| dot_diameter(lines, tone)),
    },
    Function {
        name: "dot-clearance",
        parameters: &DOT_CLEARANCE,
        result: "number",
        formula: "dot-diameter(line-count, tone) / smallest-line(thread, opening)",
        source: "geometry of a round dot; Screen opening and opening rate",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[lines, tone, d, w]| dot_clearance(lines, tone, d, w)),
    },
    Function {
        name: "smallest-tone",
        parameters: &SMALLEST_TONE,
        result: "share",
        formula: "pi / 4 * (line-count * (2 * thread + opening)) ^ 2",
        source: "geometry of a round dot; Screen opening and opening rate",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[lines, d, w]| smallest_tone(lines, d, w)),
    },
    Function {
        name: "mesh-for-halftone",
        parameters: &MESH_FOR_HALFTONE,
        result: "thread-count",
        formula: "line-count * ratio",
        source: "All Things Are Not as They Appear",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[lines, ratio]| mesh_for_halftone(lines, ratio)),
    },
    Function {
        name: "particle-clearance",
        parameters: &CLEARANCE,
        result: "number",
        formula: "opening / particle",
        source: "Screen Selection",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[w, particle]| particle_clearance(w, particle)),
    },
];
