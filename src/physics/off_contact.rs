//! Off-contact: what pressing the mesh down over the gap does to it and to the size of the print.
//!
//! Straight blade across the full width, no friction under it, rigid frame, equal tension on both
//! sides of the blade, no lift behind it. Worth a note for close-register work, not a rule for spot
//! colours; loss of tension, drag and drift cannot be worked out from these data.

use super::function::{Accuracy, Function, Outside, Parameter};
use super::validity::{falls, inside, mixed, rises, spread};

/// The blade stays at least this far from the frame, in metres.
const EDGE: f64 = 0.02;
/// The mesh slopes at most one in this many where an image ends. Steeper, the terms in g⁴ outweigh
/// those that give [`print_growth`] its directions.
const STEEPEST: f64 = 10.0;

/// How much longer the mesh on one side of the blade gets: `√(s² + g²) - s`, without cancellation.
fn stretch(side: f64, gap: f64) -> f64 {
    gap * gap / (libm::hypot(side, gap) + side)
}

fn strain_at(length: f64, place: f64, gap: f64) -> f64 {
    (stretch(place, gap) + stretch(length - place, gap)) / length
}

/// How far the part of the stencil that prints at `place` lies short of it.
fn shift(length: f64, place: f64, gap: f64) -> f64 {
    let strain = strain_at(length, place, gap);
    (place * strain - stretch(place, gap)) / (1.0 + strain)
}

const STRAIN: [Parameter; 3] = [
    falls("free-length", "length", 0.1, 5.0),
    mixed("place", "length", EDGE, 5.0),
    rises("gap", "length", 0.0, 0.02),
];

/// Strain the off-contact gap adds to the mesh, about `g²/(2 s (L - s))`.
///
/// Exact: `(√(s² + g²) + √((L - s)² + g²)) / L - 1`.
///
/// * `free_length` L of the mesh along the stroke, 0.1 to 5 m: a rise lowers it.
/// * `place` s of the blade from one end, from 20 mm to 20 mm short of the other: least in the
///   middle, so either way.
/// * `gap` g, 0 to 20 mm: a rise lifts it.
///
/// Source: two right triangles. That elongation grows with off-contact: "Controlling Off-Contact"
/// (association journal, 1997).
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges, [`Outside::Together`] when the blade would stand in
/// the frame.
pub fn strain(free_length: f64, place: f64, gap: f64) -> Result<f64, Outside> {
    let [length, place, gap] = inside(&STRAIN, [free_length, place, gap])?;
    on_the_mesh(length, place)?;
    Ok(strain_at(length, place, gap))
}

const GROWTH: [Parameter; 4] = [
    falls("free-length", "length", 0.1, 5.0),
    falls("start", "length", EDGE, 5.0),
    rises("end", "length", EDGE, 5.0),
    rises("gap", "length", 0.0, 0.02),
];

/// How much longer than its stencil an image prints, in metres.
///
/// With equal tension on both sides of the blade the point of the stencil that prints at s lies at
/// `√(s² + g²)/(1 + strain)`; the growth is about `f(s2) - f(s1)`, `f(s) = g²/(2(L - s)) - g²/(2s)`.
///
/// * `free_length` L, 0.1 to 5 m: a rise lowers it.
/// * `start` s1, from 20 mm: a rise lowers it (the image gets shorter).
/// * `end` s2, to 20 mm short of L: a rise lifts it.
/// * `gap` g, 0 to 20 mm and a tenth of the way from the image to the frame: a rise lifts it, with
///   its square.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges, [`Outside::Together`] when the image ends before it
/// starts, the blade would stand in the frame, or the gap is too wide for an image so near to it.
pub fn print_growth(free_length: f64, start: f64, end: f64, gap: f64) -> Result<f64, Outside> {
    let [length, start, end, gap] = inside(&GROWTH, [free_length, start, end, gap])?;
    if end < start {
        return Err(Outside::Together("the image ends before it starts"));
    }
    on_the_mesh(length, end)?;
    if STEEPEST * gap > start.min(length - end) {
        return Err(Outside::Together(
            "the gap is more than a tenth of the way from the image to the frame",
        ));
    }
    Ok(shift(length, end, gap) - shift(length, start, gap))
}

fn on_the_mesh(length: f64, place: f64) -> Result<(), Outside> {
    if place <= length - EDGE {
        Ok(())
    } else {
        Err(Outside::Together(
            "the blade would stand within 20 mm of the frame",
        ))
    }
}

pub(super) const ROWS: &[Function] = &[
    Function {
        name: "off-contact-strain",
        parameters: &STRAIN,
        result: "share",
        formula: "(root(place² + gap²) + root((free-length - place)² + gap²)) / free-length - 1",
        source: "two right triangles",
        accuracy: Accuracy::Relative(1e-12),
        evaluate: |x| spread(x, |[length, place, gap]| strain(length, place, gap)),
    },
    Function {
        name: "print-growth",
        parameters: &GROWTH,
        result: "length",
        formula: "f(end) - f(start), f(s) = gap² / (2 (free-length - s)) - gap² / (2 s), nearly",
        source: "two right triangles, equal tension on both sides of the blade",
        // The two shifts are at most 10 mm and known to a few units in the last place.
        accuracy: Accuracy::Absolute(1e-16),
        evaluate: |x| {
            spread(x, |[length, start, end, gap]| {
                print_growth(length, start, end, gap)
            })
        },
    },
];
