//! The air of a tunnel under load: what pieces take, how far the air sags, how long it warms up.
//!
//! A steady heat balance. Well founded is the balance; its coefficients are not known until they were measured, and two
//! readings of the air at the print, belt empty and belt full, are better than all of it.

use super::function::{Accuracy, Function, Outside, Parameter};
use super::props::{WATER_HEAT, latent_heat};
use super::validity::{falls, inside, rises, spread};

/// Specific heat of water vapour, J/(kg·K), from memory.
const VAPOUR_HEAT: f64 = 1900.0;
/// Specific heat of air, J/(kg·K).
const AIR_HEAT: f64 = 1009.0;

const HEAT: [Parameter; 7] = [
    rises("area", "area", 0.001, 10.0),
    rises("capacity", "areal-heat-capacity", 10.0, 20_000.0),
    rises("water", "areal-mass", 0.0, 1.0),
    falls("enters", "temperature", 253.15, 393.15),
    rises("air", "temperature", 323.15, 623.15),
    falls("short", "temperature-difference", 0.0, 100.0),
    falls("dries-at", "temperature", 293.15, 373.15),
];

/// Heat of a piece at this air: what does not hang on it, J, and what each kelvin of air adds, J/K.
fn of_a_piece(x: [f64; 7]) -> (f64, f64) {
    let [area, capacity, water, enters, _, short, dries_at] = x;
    let wet = WATER_HEAT * (dries_at - enters) + latent_heat(dries_at) - VAPOUR_HEAT * dries_at;
    let fixed = area * (water * wet - capacity * (short + enters));
    (fixed, area * (capacity + water * VAPOUR_HEAT))
}

fn sound([_, _, _, enters, air, short, dries_at]: [f64; 7]) -> Result<(), Outside> {
    if air - short <= enters || dries_at < enters || dries_at > air {
        return Err(Outside::Together(
            "a piece enters cooler than it dries, and dries cooler than the air",
        ));
    }
    Ok(())
}

/// Heat a piece takes out of the air of a tunnel, J, with all of its plies.
///
/// `Q = A (C (T_a − δ − T_in) + w (c_w (T_ev − T_in) + h_fg(T_ev) + c_v (T_a − T_ev)))`.
///
/// * `area` A on the belt, 0.001 to 10 m². `capacity` C of dry cloth and ink, all plies, 10 J to 20 kJ/(m²·K). `water` w given
///   off, 0 to 1 kg/m². `air` T_a, 50 to 350 °C: a rise lifts it.
/// * `enters` T_in, −20 to 120 °C; `short` δ, by how much it leaves cooler than the air, 0 to 100 K; `dries_at` T_ev, 20 to
///   100 °C: a rise lowers it.
///
/// Source: first law; latent heat as in `props`.
///
/// # Errors
/// [`Outside::Parameter`] outside these ranges, [`Outside::Together`] where a piece would cool.
pub fn piece_heat(x: [f64; 7]) -> Result<f64, Outside> {
    let x = inside(&HEAT, x)?;
    sound(x)?;
    let (fixed, each) = of_a_piece(x);
    Ok(fixed + each * x[4])
}

const LOAD: [Parameter; 11] = [
    rises("area", "area", 0.001, 10.0),
    rises("capacity", "areal-heat-capacity", 10.0, 20_000.0),
    rises("water", "areal-mass", 0.0, 1.0),
    falls("enters", "temperature", 253.15, 393.15),
    rises("air", "temperature", 323.15, 623.15),
    falls("short", "temperature-difference", 0.0, 100.0),
    falls("dries-at", "temperature", 293.15, 373.15),
    rises("rate", "frequency", 0.0, 10.0),
    rises("loss", "heat-loss", 0.0, 20_000.0),
    falls("room-air", "temperature", 253.15, 333.15),
    falls("power", "power", 100.0, 2.0e6),
];

/// What the tunnel needs to hold the air: what does not hang on it, W, and what each kelvin of air adds, W/K.
fn demand(x: [f64; 11]) -> (f64, f64) {
    let [a, b, c, d, e, f, g, rate, loss, room, _] = x;
    let (fixed, each) = of_a_piece([a, b, c, d, e, f, g]);
    (rate * fixed - loss * room, rate * each + loss)
}

/// How far the air sags below its setting because the heater cannot hold it, K; nothing where it can.
///
/// The balance is a straight line in the air's temperature: `N Q(T) + G (T − T_r) = P` at the air that the power `P` holds.
///
/// * The first seven as [`piece_heat`], with `air` as set. `rate` N, 0 to 10 pieces a second, and `loss` G of walls, exhaust
///   and belt, 0 to 20 kW/K: a rise lifts it. `room` T_r, −20 to 60 °C, and `power` P, 100 W to 2 MW: a rise lowers it.
///
/// # Errors
/// As [`piece_heat`]; [`Outside::Together`] too where the power holds no air that dries.
pub fn air_sag(x: [f64; 11]) -> Result<f64, Outside> {
    let x = inside(&LOAD, x)?;
    let [a, b, c, d, air, f, g, .., power] = x;
    sound([a, b, c, d, air, f, g])?;
    let (fixed, each) = demand(x);
    let sag = (fixed + each * air - power) / each;
    if sag <= 0.0 || each <= 0.0 {
        return Ok(0.0);
    }
    let room = x[9];
    if air - sag < room {
        return Err(Outside::Together(
            "the power does not keep the air above the room's",
        ));
    }
    sound([a, b, c, d, air - sag, f, g])?;
    Ok(sag)
}

const DROP: [Parameter; 12] = [
    rises("area", "area", 0.001, 10.0),
    rises("capacity", "areal-heat-capacity", 10.0, 20_000.0),
    rises("water", "areal-mass", 0.0, 1.0),
    falls("enters", "temperature", 253.15, 393.15),
    rises("air", "temperature", 323.15, 623.15),
    falls("short", "temperature-difference", 0.0, 100.0),
    falls("dries-at", "temperature", 293.15, 373.15),
    rises("rate", "frequency", 0.0, 10.0),
    // What sags takes less.
    falls("loss", "heat-loss", 0.0, 20_000.0),
    rises("room-air", "temperature", 253.15, 333.15),
    rises("power", "power", 100.0, 2.0e6),
    falls("circulation", "mass-flow", 0.01, 100.0),
];

/// How much cooler the stream of air is behind the load than before it, K: `N Q(T) / (ṁ c_p)` at the air that is held.
///
/// The air a piece meets lies between the stream before the load and that behind it; with a sensor in the supply it is up
/// to so much cooler than told, with one in the return up to so much hotter.
///
/// * The first eleven as [`air_sag`], where what sags takes less: a rise of `loss` lowers it, of `room` and `power` lifts it.
///   `circulation` ṁ, 0.01 to 100 kg/s: a rise lowers it.
///
/// # Errors
/// As [`air_sag`].
pub fn stream_drop(x: [f64; 12]) -> Result<f64, Outside> {
    let x = inside(&DROP, x)?;
    let [a, b, c, d, air, f, g, rate, loss, room, power, circulation] = x;
    let sag = air_sag([a, b, c, d, air, f, g, rate, loss, room, power])?;
    let (fixed, each) = of_a_piece([a, b, c, d, air, f, g]);
    Ok(rate * (fixed + each * (air - sag)) / (circulation * AIR_HEAT))
}

const WARM_UP: [Parameter; 6] = [
    rises("capacity", "heat-capacity", 100.0, 1.0e8),
    rises("loss", "heat-loss", 0.1, 20_000.0),
    falls("power", "power", 100.0, 2.0e6),
    falls("room-air", "temperature", 253.15, 333.15),
    falls("start", "temperature", 253.15, 623.15),
    rises("air", "temperature", 273.15, 623.15),
];

/// Time until the air of a tunnel is at its setting, s: one store, `C dT/dt = P − G (T − T_r)`.
///
/// * `capacity` C, 100 J to 100 MJ/K; `loss` G, 0.1 W to 20 kW/K; `air` as set, 0 to 350 °C: a rise lifts it. `power` P, 100 W
///   to 2 MW; `room` T_r, −20 to 60 °C; `start`, −20 to 350 °C: a rise lowers it.
///
/// # Errors
/// [`Outside::Parameter`] outside these ranges, [`Outside::Together`] for a start cooler than the room, [`Outside::Never`]
/// where the power does not bring it there.
pub fn warm_up_time(x: [f64; 6]) -> Result<f64, Outside> {
    let [capacity, loss, power, room, start, air] = inside(&WARM_UP, x)?;
    if start >= air {
        return Ok(0.0);
    }
    if start < room {
        return Err(Outside::Together(
            "a tunnel does not start cooler than the room",
        ));
    }
    let most = room + power / loss;
    if most <= air {
        return Err(Outside::Never("the heater does not bring the air there"));
    }
    Ok(capacity / loss * libm::log((most - start) / (most - air)))
}

const WALLS: [Parameter; 5] = [
    rises("capacity", "areal-heat-capacity", 100.0, 1.0e6),
    falls("heat-transfer", "heat-transfer", 1.0, 150.0),
    falls("start", "temperature", 253.15, 623.15),
    rises("air", "temperature", 273.15, 623.15),
    falls("within", "temperature-difference", 0.1, 100.0),
];

/// Time, s, that walls take to come within so much of the air once that is at its setting: `τ ln((T − T_w)/d)`, `τ = C/h`.
///
/// Until then they radiate less than the figures of a warm tunnel say.
///
/// * `capacity` C of a square metre of wall, 100 J to 1 MJ/(m²·K), and `air`, 0 to 350 °C: a rise lifts it. `heat_transfer` h
///   of the air to the wall, 1 to 150 W/(m²·K); `start` of the walls, −20 to 350 °C; `within`, 0.1 to 100 K: a rise lowers it.
///
/// # Errors
/// [`Outside::Parameter`] outside these ranges.
pub fn walls_warm_up_time(x: [f64; 5]) -> Result<f64, Outside> {
    let [capacity, transfer, start, air, within] = inside(&WALLS, x)?;
    if air - start <= within {
        return Ok(0.0);
    }
    Ok(capacity / transfer * libm::log((air - start) / within))
}

const WALL_LOSS: [Parameter; 3] = [
    rises("area", "area", 0.0, 10_000.0),
    rises("loss", "heat-transfer", 0.0, 100.0),
    rises("rise", "temperature-difference", 0.0, 600.0),
];

/// Heat that walls lose, W: area times loss times how much warmer they are than the room.
///
/// * `area`, 0 to 10,000 m²; `loss`, 0 to 100 W/(m²·K); `rise`, 0 to 600 K: a rise lifts it.
///
/// # Errors
/// [`Outside::Parameter`] outside these ranges.
pub fn wall_loss(x: [f64; 3]) -> Result<f64, Outside> {
    let [area, loss, rise] = inside(&WALL_LOSS, x)?;
    Ok(area * loss * rise)
}

const BALANCE: &str = "steady heat balance of a tunnel; latent heat of water as in steam tables";

pub(super) const ROWS: &[Function] = &[
    Function {
        name: "piece-heat",
        parameters: &HEAT,
        result: "energy",
        formula: "area × (capacity × (air − short − enters) + water × (c_w × (dries-at − enters) + latent heat + c_v × (air − dries-at)))",
        source: BALANCE,
        accuracy: Accuracy::Relative(1e-12),
        evaluate: |x| spread(x, piece_heat),
    },
    Function {
        name: "air-sag",
        parameters: &LOAD,
        result: "temperature-difference",
        formula: "air less the air at which rate × piece-heat + loss × (air − room-air) = power; 0 where the power holds it",
        source: BALANCE,
        accuracy: Accuracy::Absolute(1e-10),
        evaluate: |x| spread(x, air_sag),
    },
    Function {
        name: "stream-drop",
        parameters: &DROP,
        result: "temperature-difference",
        formula: "rate × piece-heat at the air that is held / (circulation × c_p)",
        source: BALANCE,
        accuracy: Accuracy::Absolute(1e-10),
        evaluate: |x| spread(x, stream_drop),
    },
    Function {
        name: "warm-up-time",
        parameters: &WARM_UP,
        result: "time",
        formula: "capacity / loss × ln((most − start) / (most − air)), most = room-air + power / loss",
        source: "first order, one store of heat",
        accuracy: Accuracy::Relative(1e-10),
        evaluate: |x| spread(x, warm_up_time),
    },
    Function {
        name: "walls-warm-up-time",
        parameters: &WALLS,
        result: "time",
        formula: "capacity / heat-transfer × ln((air − start) / within)",
        source: "first order, one store of heat",
        accuracy: Accuracy::Relative(1e-12),
        evaluate: |x| spread(x, walls_warm_up_time),
    },
    Function {
        name: "wall-loss",
        parameters: &WALL_LOSS,
        result: "power",
        formula: "area × loss × rise",
        source: "the usual sum for the walls of an oven",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, wall_loss),
    },
];
