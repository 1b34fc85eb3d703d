//! Two plies on the belt: how well one passes heat to the other, and how warm a piece comes into the tunnel.

use super::function::{Accuracy, Function, Outside, Parameter};
use super::props::{STEFAN_BOLTZMANN, ZERO_CELSIUS};
use super::validity::{falls, inside, mixed, rises, spread};

const CONTACT: [Parameter; 4] = [
    rises("gap", "length", 1.0e-5, 0.008),
    falls("temperature", "temperature", 273.15, 523.15),
    falls("emissivity-above", "share", 0.1, 1.0),
    falls("emissivity-below", "share", 0.1, 1.0),
];

/// Resistance to heat of still air between two plies, m²·K/W.
///
/// `1/R = k_air/d + 4 σ T³ / (1/ε₁ + 1/ε₂ − 1)`, `k_air = 0.0241 (T/273.15 K)^0.82 W/(m·K)`: conduction through still air, and
/// radiation between two plane faces. Below 8 mm the air does not move by itself (Rayleigh number under 1,700 at 30 K).
///
/// * `gap` d, 0.01 to 8 mm: a rise lifts it. `temperature` T in kelvin, 0 to 250 °C, and both emissivities, 10 to 100 %: a
///   rise lowers it.
///
/// Source: any textbook of heat transfer, recalled; conductivity of air within 3 %.
///
/// # Errors
/// [`Outside::Parameter`] outside these ranges.
pub fn ply_contact(gap: f64, temperature: f64, above: f64, below: f64) -> Result<f64, Outside> {
    let [gap, t, above, below] = inside(&CONTACT, [gap, temperature, above, below])?;
    let air = 0.0241 * libm::pow(t / ZERO_CELSIUS, 0.82);
    let radiation = 4.0 * STEFAN_BOLTZMANN * t * t * t / (1.0 / above + 1.0 / below - 1.0);
    Ok(1.0 / (air / gap + radiation))
}

const ENTRY: [Parameter; 5] = [
    rises("film", "temperature", 273.15, 523.15),
    rises("room-air", "temperature", 253.15, 333.15),
    mixed("heat-transfer", "heat-transfer", 0.0, 100.0),
    mixed("capacity", "areal-heat-capacity", 10.0, 20_000.0),
    mixed("ride", "time", 0.0, 3600.0),
];

/// How warm a print comes into the tunnel, K, that left the last flash as `film` and rode in the room's air since.
///
/// `T_r + (T − T_r) exp(−h t/C)`: Newton's law of cooling, both faces together.
///
/// * `film`, 0 to 250 °C, and `room`, −20 to 60 °C: a rise lifts it. `heat_transfer` h, 0 to 100 W/(m²·K), `capacity` C, 10 J to
///   20 kJ/(m²·K) and `ride` t, 0 to 3600 s: towards the room, whichever is the warmer.
///
/// # Errors
/// [`Outside::Parameter`] outside these ranges.
pub fn entry_temperature(
    film: f64,
    room: f64,
    heat_transfer: f64,
    capacity: f64,
    ride: f64,
) -> Result<f64, Outside> {
    let given = [film, room, heat_transfer, capacity, ride];
    let [film, room, transfer, capacity, ride] = inside(&ENTRY, given)?;
    Ok(room + (film - room) * libm::exp(-transfer * ride / capacity))
}

pub(super) const ROWS: &[Function] = &[
    Function {
        name: "contact-across-a-gap",
        parameters: &CONTACT,
        result: "thermal-resistance",
        formula: "1 / (k_air / gap + 4 σ temperature³ / (1/emissivity-above + 1/emissivity-below − 1))",
        source: "conduction through still air and radiation between plane faces (any textbook of heat transfer)",
        accuracy: Accuracy::Relative(1e-12),
        evaluate: |x| {
            spread(x, |[gap, t, above, below]| {
                ply_contact(gap, t, above, below)
            })
        },
    },
    Function {
        name: "entry-temperature",
        parameters: &ENTRY,
        result: "temperature",
        formula: "room-air + (film − room-air) × exp(−heat-transfer × ride / capacity)",
        source: "Newton's law of cooling",
        accuracy: Accuracy::Absolute(1e-10),
        evaluate: |x| {
            spread(x, |[film, room, transfer, capacity, ride]| {
                entry_temperature(film, room, transfer, capacity, ride)
            })
        },
    },
];
