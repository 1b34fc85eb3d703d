//! Ink by mass and money: for one piece, for an order.

use super::function::{Accuracy, Function, Outside, Parameter};
use super::validity::{falls, inside, rises, round_down, spread, whole};

const INK_MASS: [Parameter; 3] = [
    rises("area", "area", 0.0, 10.0),
    rises("wet-film", "areal-volume", 0.0, 1e-2),
    rises("density", "density", 500.0, 5000.0),
];

/// Wet ink on one piece, `area × film × density`, in kilograms.
///
/// * `area` printed, open parts only, 0 to 10 m²: a rise lifts it.
/// * `wet_film`, 0 to 10 mm: a rise lifts it.
/// * `density` of the wet ink, 500 to 5000 kg/m³: a rise lifts it.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn ink_mass(area: f64, wet_film: f64, density: f64) -> Result<f64, Outside> {
    let [area, film, density] = inside(&INK_MASS, [area, wet_film, density])?;
    Ok(area * film * density)
}

const INK_FOR_ORDER: [Parameter; 4] = [
    rises("pieces", "pieces", 0.0, 1e9),
    rises("ink-per-piece", "mass", 0.0, 10.0),
    rises("waste", "share", 0.0, 5.0),
    rises("set-up", "mass", 0.0, 1e4),
];

/// Wet ink to have ready for an order, `pieces × mass × (1 + waste) + set-up`, in kilograms.
///
/// * `pieces`, whole, up to 10⁹: a rise lifts it.
/// * `ink_per_piece`, 0 to 10 kg: a rise lifts it.
/// * `waste` left in screen and pail, 0 to 500 %: a rise lifts it. 10 to 30 % is common practice,
///   no source.
/// * `set_up` ink that fills the screens before the first piece, 0 to 10 t: a rise lifts it.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges, [`Outside::Together`] for half a piece.
pub fn ink_for_order(
    pieces: f64,
    ink_per_piece: f64,
    waste: f64,
    set_up: f64,
) -> Result<f64, Outside> {
    let [pieces, mass, waste, set_up] =
        inside(&INK_FOR_ORDER, [pieces, ink_per_piece, waste, set_up])?;
    whole(&[pieces])?;
    Ok(pieces * mass * (1.0 + waste) + set_up)
}

const INK_PER_PIECE: [Parameter; 2] = [
    rises("ink", "mass", 0.0, 1e6),
    falls("pieces", "pieces", 1.0, 1e9),
];

/// Ink a piece took, by weighing the pail before and after, in kilograms.
///
/// * `ink` used, 0 to 1000 t: a rise lifts it.
/// * `pieces` printed, whole, from 1: a rise lowers it.
///
/// Source: "Calculating Ink Costs" (2011), weigh and divide.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges, [`Outside::Together`] for half a piece.
pub fn ink_per_piece(ink: f64, pieces: f64) -> Result<f64, Outside> {
    let [ink, pieces] = inside(&INK_PER_PIECE, [ink, pieces])?;
    whole(&[pieces])?;
    Ok(ink / pieces)
}

const PIECES_FROM: [Parameter; 2] = [
    rises("ink", "mass", 0.0, 1e6),
    falls("ink-per-piece", "mass", 1e-6, 10.0),
];

/// Whole pieces a stock of ink prints, waste not counted.
///
/// * `ink` at hand, 0 to 1000 t: a rise lifts it.
/// * `ink_per_piece`, 1 mg to 10 kg: a rise lowers it.
///
/// Source: "Calculating Ink Costs" (2011).
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn pieces_from_ink(ink: f64, ink_per_piece: f64) -> Result<f64, Outside> {
    let [ink, mass] = inside(&PIECES_FROM, [ink, ink_per_piece])?;
    Ok(round_down(ink / mass))
}

const INK_COST: [Parameter; 2] = [
    rises("ink", "mass", 0.0, 1e6),
    rises("price", "price-per-mass", 0.0, 1e6),
];

/// What an amount of ink costs, in the money the price is in.
///
/// * `ink`, 0 to 1000 t: a rise lifts it.
/// * `price` for a kilogram, up to 10⁶: a rise lifts it.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn ink_cost(ink: f64, price: f64) -> Result<f64, Outside> {
    let [ink, price] = inside(&INK_COST, [ink, price])?;
    Ok(ink * price)
}

const PRICE_PER_MASS: [Parameter; 2] = [
    rises("price", "price-per-volume", 0.0, 1e9),
    falls("density", "density", 500.0, 5000.0),
];

/// Price by mass of an ink sold by volume.
///
/// * `price` for a cubic metre, up to 10⁹: a rise lifts it.
/// * `density` of the wet ink, 500 to 5000 kg/m³: a rise lowers it.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn price_per_mass(price: f64, density: f64) -> Result<f64, Outside> {
    let [price, density] = inside(&PRICE_PER_MASS, [price, density])?;
    Ok(price / density)
}

const PRINT_COST: [Parameter; 3] = [
    rises("area", "area", 0.0, 10.0),
    rises("wet-film", "areal-volume", 0.0, 1e-2),
    rises("price", "price-per-volume", 0.0, 1e9),
];

/// Ink cost of one piece for an ink sold by volume, `area × film × price`.
///
/// * `area` printed, open parts only, 0 to 10 m²: a rise lifts it.
/// * `wet_film`, 0 to 10 mm: a rise lifts it.
/// * `price` for a cubic metre, up to 10⁹: a rise lifts it.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn print_cost(area: f64, wet_film: f64, price: f64) -> Result<f64, Outside> {
    let [area, film, price] = inside(&PRINT_COST, [area, wet_film, price])?;
    Ok(area * film * price)
}

pub(super) const ROWS: &[Function] = &[
    Function {
        name: "ink-mass",
        parameters: &INK_MASS,
        result: "mass",
        formula: "area * wet-film * density",
        source: "definition",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[area, film, density]| ink_mass(area, film, density)),
    },
    Function {
        name: "ink-for-order",
        parameters: &INK_FOR_ORDER,
        result: "mass",
        formula: "pieces * ink-per-piece * (1 + waste) + set-up",
        source: "definition",
        accuracy: Accuracy::Rounding,
        evaluate: |x| {
            spread(x, |[n, mass, waste, set_up]| {
                ink_for_order(n, mass, waste, set_up)
            })
        },
    },
    Function {
        name: "ink-per-piece",
        parameters: &INK_PER_PIECE,
        result: "mass",
        formula: "ink / pieces",
        source: "Calculating Ink Costs (2011)",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[ink, pieces]| ink_per_piece(ink, pieces)),
    },
    Function {
        name: "pieces-from-ink",
        parameters: &PIECES_FROM,
        result: "pieces",
        formula: "ink / ink-per-piece, rounded down",
        source: "Calculating Ink Costs (2011)",
        accuracy: Accuracy::Absolute(0.0),
        evaluate: |x| spread(x, |[ink, mass]| pieces_from_ink(ink, mass)),
    },
    Function {
        name: "ink-cost",
        parameters: &INK_COST,
        result: "money",
        formula: "ink * price",
        source: "definition",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[ink, price]| ink_cost(ink, price)),
    },
    Function {
        name: "ink-price-by-mass",
        parameters: &PRICE_PER_MASS,
        result: "price-per-mass",
        formula: "price / density",
        source: "definition",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[price, density]| price_per_mass(price, density)),
    },
    Function {
        name: "print-cost",
        parameters: &PRINT_COST,
        result: "money",
        formula: "area * wet-film * price",
        source: "definition",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[area, film, price]| print_cost(area, film, price)),
    },
];
