//! A heating panel over a print: how much of it each place sees, what it gives, how hot its face gets, a panel that swings.
//!
//! Grey and diffuse panel, parallel to the print. Quartz lamps with reflectors are neither: of those the flux is stated.

use super::function::{Accuracy, Function, Outside, Parameter};
use super::props::STEFAN_BOLTZMANN;
use super::validity::{falls, inside, mixed, rises, spread};
use std::f64::consts::PI;

const WIDTH: Parameter = rises("panel-width", "length", 0.02, 3.0);
const LENGTH: Parameter = rises("panel-length", "length", 0.02, 3.0);
const CENTRE: [Parameter; 3] = [WIDTH, LENGTH, falls("gap", "length", 0.005, 2.0)];
const PRINT: [Parameter; 5] = [
    WIDTH,
    LENGTH,
    // Under the panel's outline a wider gap only takes away; beside it, it first lets the place see the panel at all.
    mixed("gap", "length", 0.005, 2.0),
    falls("print-width", "length", 0.0, 3.0),
    falls("print-length", "length", 0.0, 3.0),
];

/// Points of Gauss's rule along each side of a print.
const POINTS: usize = 24;

/// What a place below the corner of a panel sees of it; nothing where a side is nothing.
fn corner(width: f64, length: f64, gap: f64) -> f64 {
    let (a, b) = (width / gap, length / gap);
    let (u, v) = (libm::hypot(1.0, a), libm::hypot(1.0, b));
    (a / u * libm::atan(b / u) + b / v * libm::atan(a / v)) / (2.0 * PI)
}

/// What a place sees of a panel, this far from below its middle: four panels that have a corner over it.
fn view(width: f64, length: f64, gap: f64, across: f64, along: f64) -> f64 {
    let mut sum = 0.0;
    for x in [0.5 * width - across, 0.5 * width + across] {
        for y in [0.5 * length - along, 0.5 * length + along] {
            sum += x.signum() * y.signum() * corner(x.abs(), y.abs(), gap);
        }
    }
    sum.clamp(0.0, 1.0)
}

/// View factor from the middle of a print to a panel over it, 0 to 1.
///
/// Element parallel to a rectangle, below its corner: `(A/√(1+A²) atan(B/√(1+A²)) + B/√(1+B²) atan(A/√(1+B²))) / 2π`,
/// `A = a/c`, `B = b/c`, four times for the middle.
///
/// * `width` a and `length` b of the panel, 2 cm to 3 m: a rise lifts it. `gap` c, 5 mm to 2 m: a rise lowers it.
///
/// Source: view factors of parallel rectangles (Howell's catalogue, C-11; Siegel and Howell, Thermal Radiation Heat
/// Transfer), recalled.
///
/// # Errors
/// [`Outside::Parameter`] outside these ranges.
pub fn view_from_centre(width: f64, length: f64, gap: f64) -> Result<f64, Outside> {
    let [width, length, gap] = inside(&CENTRE, [width, length, gap])?;
    Ok(view(width, length, gap, 0.0, 0.0))
}

/// View factor from a corner of a print to a panel centred over it: there the coat gels last.
///
/// * `width` and `length` of the panel, 2 cm to 3 m: a rise lifts it. `gap`, 5 mm to 2 m: either way where the print is
///   larger than the panel. `print_width` and `print_length`, 0 to 3 m: a rise lowers it.
///
/// Source: as [`view_from_centre`].
///
/// # Errors
/// [`Outside::Parameter`] outside these ranges.
pub fn view_from_corner(
    width: f64,
    length: f64,
    gap: f64,
    print_width: f64,
    print_length: f64,
) -> Result<f64, Outside> {
    let given = [width, length, gap, print_width, print_length];
    let [width, length, gap, across, along] = inside(&PRINT, given)?;
    Ok(view(width, length, gap, 0.5 * across, 0.5 * along))
}

/// Mean view factor from a print to a panel centred over it.
///
/// The mean of the view over the print by Gauss's rule, 24 points each way over a quarter; within 1e-6 where the gap is not
/// below a fortieth of the print's longer side.
///
/// Ranges and source as [`view_from_corner`]; the print's sides from 1 mm, the gap from a fortieth of the longer of them.
///
/// # Errors
/// [`Outside::Parameter`] outside the ranges, [`Outside::Together`] where the gap is too small for the print.
pub fn view_from_print(
    width: f64,
    length: f64,
    gap: f64,
    print_width: f64,
    print_length: f64,
) -> Result<f64, Outside> {
    let given = [width, length, gap, print_width, print_length];
    let [width, length, gap, across, along] = inside(&MEAN, given)?;
    if gap * 40.0 < across.max(along) {
        return Err(Outside::Together(
            "the gap is less than a fortieth of the print's longer side",
        ));
    }
    let nodes = gauss();
    let mut sum = 0.0;
    for (x, wx) in &nodes {
        for (y, wy) in &nodes {
            sum += wx * wy * view(width, length, gap, 0.5 * across * x, 0.5 * along * y);
        }
    }
    Ok(sum)
}

const MEAN: [Parameter; 5] = [
    WIDTH,
    LENGTH,
    mixed("gap", "length", 0.005, 2.0),
    falls("print-width", "length", 0.001, 3.0),
    falls("print-length", "length", 0.001, 3.0),
];

/// Nodes and weights of Gauss's rule from 0 to 1.
fn gauss() -> [(f64, f64); POINTS] {
    let count = POINTS as f64;
    std::array::from_fn(|i| {
        // Newton on the Legendre polynomial, from the usual first guess.
        let mut x = libm::cos(PI * (i as f64 + 0.75) / (count + 0.5));
        let mut slope = 1.0;
        for _ in 0..20 {
            let (mut before, mut own) = (1.0, x);
            for n in 2..=POINTS {
                let n = n as f64;
                (before, own) = (own, ((2.0 * n - 1.0) * x * own - (n - 1.0) * before) / n);
            }
            slope = count * (x * own - before) / (x * x - 1.0);
            let step = own / slope;
            x -= step;
            if step.abs() < 1.0e-16 {
                break;
            }
        }
        (0.5 * (x + 1.0), 1.0 / ((1.0 - x * x) * slope * slope))
    })
}

const FLUX: [Parameter; 5] = [
    rises("view", "share", 0.0, 1.0),
    rises("panel-emissivity", "share", 0.0, 1.0),
    rises("print-emissivity", "share", 0.0, 1.0),
    rises("panel", "temperature", 273.15, 1273.15),
    falls("print", "temperature", 273.15, 623.15),
];

/// Net radiation a panel gives a print, W/m²: `F ε₁ ε₂ σ (T₁⁴ − T₂⁴)`, one reflection left out.
///
/// * `view` F, both emissivities: 0 to 1, a rise lifts it. `panel`, 0 to 1000 °C: a rise lifts it. `print`, 0 to 350 °C:
///   a rise lowers it. All in kelvin.
///
/// Source: grey diffuse surfaces (any textbook of heat transfer).
///
/// # Errors
/// [`Outside::Parameter`] outside these ranges, [`Outside::Together`] where the print is hotter than the panel.
pub fn panel_flux(
    view: f64,
    panel_emissivity: f64,
    print_emissivity: f64,
    panel: f64,
    print: f64,
) -> Result<f64, Outside> {
    let given = [view, panel_emissivity, print_emissivity, panel, print];
    let [view, of_panel, of_print, panel, print] = inside(&FLUX, given)?;
    if print > panel {
        return Err(Outside::Together("the print is hotter than the panel"));
    }
    let fourth = |t: f64| (t * t) * (t * t);
    Ok(view * of_panel * of_print * STEFAN_BOLTZMANN * (fourth(panel) - fourth(print)))
}

const FACE: [Parameter; 6] = [
    rises("power", "power", 1.0, 100_000.0),
    falls("area", "area", 0.01, 10.0),
    falls("emissivity", "share", 0.3, 1.0),
    falls("heat-transfer", "heat-transfer", 1.0, 100.0),
    rises("room-air", "temperature", 253.15, 333.15),
    falls("lost-behind", "share", 0.0, 0.9),
];

/// Temperature of a panel's face, K, at which it gives away the power it takes up, facing the room.
///
/// `(1 − β) P/A = ε σ (T⁴ − T_r⁴) + h (T − T_r)`. Over warm cloth it runs hotter; a face that was measured is better.
///
/// * `power` P, 1 W to 100 kW: a rise lifts it. `area` A, 0.01 to 10 m²; `emissivity` ε, 30 to 100 %; `heat_transfer` h, 1 to
///   100 W/(m²·K); `lost_behind` β, 0 to 90 %: a rise lowers it. `room`, −20 to 60 °C: a rise lifts it.
///
/// # Errors
/// [`Outside::Parameter`] outside these ranges.
pub fn panel_face(
    power: f64,
    area: f64,
    emissivity: f64,
    heat_transfer: f64,
    room: f64,
    lost_behind: f64,
) -> Result<f64, Outside> {
    let given = [power, area, emissivity, heat_transfer, room, lost_behind];
    let [power, area, emissivity, transfer, room, lost] = inside(&FACE, given)?;
    let given = (1.0 - lost) * power / area;
    let fourth = |t: f64| (t * t) * (t * t);
    // Both losses rise with the face, so that one half of what is left always holds it.
    let loses = |face: f64| {
        emissivity * STEFAN_BOLTZMANN * (fourth(face) - fourth(room)) + transfer * (face - room)
    };
    let (mut low, mut high) = (room, room + 1.0);
    while loses(high) < given {
        high = room + 2.0 * (high - room);
    }
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if loses(middle) < given {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(high)
}

const SWING: [Parameter; 2] = [
    rises("on", "time", 0.0, 600.0),
    rises("move", "time", 0.0, 30.0),
];

/// Flash time that a panel which swings in and out is worth, s: the time fully over the print and one way of its arm.
///
/// Coverage grows and fades in a straight line. The edge it comes over first gets up to one way more than the far edge.
///
/// * `on` fully over the print, 0 to 600 s, and `way` of the arm, 0 to 30 s: a rise lifts it.
///
/// # Errors
/// [`Outside::Parameter`] outside these ranges.
pub fn swing_time(on: f64, way: f64) -> Result<f64, Outside> {
    let [on, way] = inside(&SWING, [on, way])?;
    Ok(on + way)
}

const RECTANGLES: &str = "view factors of parallel rectangles (Howell, C-11; Siegel and Howell)";

pub(super) const ROWS: &[Function] = &[
    Function {
        name: "panel-view-from-centre",
        parameters: &CENTRE,
        result: "share",
        formula: "4 × view of a rectangle from below its corner, sides panel-width / 2 and panel-length / 2, at gap",
        source: RECTANGLES,
        accuracy: Accuracy::Absolute(1e-14),
        evaluate: |x| {
            spread(x, |[width, length, gap]| {
                view_from_centre(width, length, gap)
            })
        },
    },
    Function {
        name: "panel-view-from-corner",
        parameters: &PRINT,
        result: "share",
        formula: "sum of the views of four rectangles with a corner over the print's corner, those beyond the outline taken away",
        source: RECTANGLES,
        accuracy: Accuracy::Absolute(1e-14),
        evaluate: |x| {
            spread(x, |[width, length, gap, across, along]| {
                view_from_corner(width, length, gap, across, along)
            })
        },
    },
    Function {
        name: "panel-view-from-print",
        parameters: &MEAN,
        result: "share",
        formula: "mean of the view over the print",
        source: RECTANGLES,
        accuracy: Accuracy::Absolute(1e-6),
        evaluate: |x| {
            spread(x, |[width, length, gap, across, along]| {
                view_from_print(width, length, gap, across, along)
            })
        },
    },
    Function {
        name: "panel-flux",
        parameters: &FLUX,
        result: "heat-flux",
        formula: "view × panel-emissivity × print-emissivity × σ × (panel⁴ − print⁴)",
        source: "grey diffuse surfaces, one reflection left out",
        accuracy: Accuracy::Relative(1e-12),
        evaluate: |x| {
            spread(x, |[view, of_panel, of_print, panel, print]| {
                panel_flux(view, of_panel, of_print, panel, print)
            })
        },
    },
    Function {
        name: "panel-face",
        parameters: &FACE,
        result: "temperature",
        formula: "the face at which (1 − lost-behind) × power / area = emissivity × σ × (face⁴ − room-air⁴) + heat-transfer × (face − room-air)",
        source: "heat balance of a panel that faces the room",
        accuracy: Accuracy::Absolute(1e-10),
        evaluate: |x| {
            spread(x, |[power, area, emissivity, transfer, room, lost]| {
                panel_face(power, area, emissivity, transfer, room, lost)
            })
        },
    },
    Function {
        name: "swing-time",
        parameters: &SWING,
        result: "time",
        formula: "on + move",
        source: "coverage that grows and fades in a straight line",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[on, way]| swing_time(on, way)),
    },
];
