//! Pace: the cycle of the press, what the belt carries, dwell, cooling between stations.
//!
//! A synchronous press: every pallet moves on together when the slowest station is done.

use super::function::{Accuracy, Function, Outside, Parameter};
use super::validity::{falls, inside, rises, round_up, spread, whole};

pub(super) const INDEX: Parameter = rises("index", "time", 0.0, 600.0);
pub(super) const SLOWEST: Parameter = rises("slowest-station", "time", 0.1, 3600.0);

const CYCLE: [Parameter; 2] = [INDEX, SLOWEST];

/// Time from one piece to the next, `index + slowest station`, in seconds.
///
/// * `index`, from one pallet place to the next, 0 to 600 s: a rise lifts it.
/// * `slowest` station (print, flash, load, unload, cool), 0.1 to 3600 s: a rise lifts it.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn cycle_time(index: f64, slowest: f64) -> Result<f64, Outside> {
    let [index, slowest] = inside(&CYCLE, [index, slowest])?;
    Ok(index + slowest)
}

const PRESS_RATE: [Parameter; 2] = [
    falls("index", "time", 0.0, 600.0),
    falls("slowest-station", "time", 0.1, 3600.0),
];

/// Pieces a second the press gives, `1 / (index + slowest station)`.
///
/// * `index`, 0 to 600 s, and `slowest` station, 0.1 to 3600 s: a rise of either lowers it.
///
/// Source: worked in "Evaluating Ink" (trade magazine, May 2014): 6 s give 600/h, 5 s 720/h.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn press_rate(index: f64, slowest: f64) -> Result<f64, Outside> {
    let [index, slowest] = inside(&PRESS_RATE, [index, slowest])?;
    Ok(1.0 / (index + slowest))
}

const BELT_RATE: [Parameter; 3] = [
    rises("belt", "speed", 1e-4, 2.0),
    falls("pitch", "length", 0.02, 5.0),
    rises("lanes", "count", 1.0, 20.0),
];

/// Pieces a second the belt carries, `v / pitch × lanes`.
///
/// * `belt` speed v, 0.0001 to 2 m/s: a rise lifts it.
/// * `pitch` from one garment to the next in a lane, 20 mm to 5 m: a rise lowers it.
/// * `lanes`, whole, 1 to 20: a rise lifts it.
///
/// Source: "Evaluating Ink" (trade magazine, May 2014), one lane.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges, [`Outside::Together`] for half a lane.
pub fn belt_rate(belt: f64, pitch: f64, lanes: f64) -> Result<f64, Outside> {
    let [belt, pitch, lanes] = inside(&BELT_RATE, [belt, pitch, lanes])?;
    whole(&[lanes])?;
    Ok(belt / pitch * lanes)
}

const LINE_RATE: [Parameter; 2] = [
    rises("press", "piece-rate", 0.0, 100.0),
    rises("belt", "piece-rate", 0.0, 100.0),
];

/// Pieces a second of press and dryer together: the smaller of the two.
///
/// * `press` and `belt` rate, 0 to 100 pieces/s: a rise of either lifts it or leaves it.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn line_rate(press: f64, belt: f64) -> Result<f64, Outside> {
    let [press, belt] = inside(&LINE_RATE, [press, belt])?;
    Ok(press.min(belt))
}

const BELT_LOAD: [Parameter; 2] = [
    rises("press", "piece-rate", 0.0, 100.0),
    falls("belt", "piece-rate", 1e-6, 100.0),
];

/// How much of the belt the press fills, `press / belt`: above 1 the dryer is the bottleneck.
///
/// * `press` rate, 0 to 100 pieces/s: a rise lifts it.
/// * `belt` rate, 0.000001 to 100 pieces/s: a rise lowers it.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn belt_load(press: f64, belt: f64) -> Result<f64, Outside> {
    let [press, belt] = inside(&BELT_LOAD, [press, belt])?;
    Ok(press / belt)
}

/// What holds the line up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bottleneck {
    /// The press; also when both give the same.
    Press,
    /// The dryer.
    Dryer,
}

/// What holds the line up, by [`belt_load`].
///
/// # Errors
///
/// Those of [`belt_load`].
pub fn bottleneck(press: f64, belt: f64) -> Result<Bottleneck, Outside> {
    belt_load(press, belt)?;
    Ok(if press <= belt {
        Bottleneck::Press
    } else {
        Bottleneck::Dryer
    })
}

const DWELL: [Parameter; 2] = [
    rises("chamber", "length", 0.01, 100.0),
    falls("belt", "speed", 1e-4, 2.0),
];

/// Time under heat, `chamber / belt`, in seconds.
///
/// * `chamber`, heated length, 10 mm to 100 m: a rise lifts it.
/// * `belt` speed, 0.0001 to 2 m/s: a rise lowers it.
///
/// Source: Organic Finishing Guidebook 2012, p. 198.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn dwell(chamber: f64, belt: f64) -> Result<f64, Outside> {
    let [chamber, belt] = inside(&DWELL, [chamber, belt])?;
    Ok(chamber / belt)
}

const BELT_FOR_DWELL: [Parameter; 2] = [
    rises("chamber", "length", 0.01, 100.0),
    falls("dwell", "time", 0.1, 36_000.0),
];

/// Belt speed that gives a dwell, `chamber / dwell`, in m/s.
///
/// * `chamber`, heated length, 10 mm to 100 m: a rise lifts it.
/// * `dwell`, 0.1 s to 10 h: a rise lowers it.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn belt_for_dwell(chamber: f64, dwell: f64) -> Result<f64, Outside> {
    let [chamber, dwell] = inside(&BELT_FOR_DWELL, [chamber, dwell])?;
    Ok(chamber / dwell)
}

const CHAMBER_FOR_DWELL: [Parameter; 2] = [
    rises("belt", "speed", 1e-4, 2.0),
    rises("dwell", "time", 0.1, 36_000.0),
];

/// Heated length that a dwell needs, `belt × dwell`, in metres.
///
/// * `belt` speed, 0.0001 to 2 m/s, and `dwell`, 0.1 s to 10 h: a rise of either lifts it.
///
/// Source: Organic Finishing Guidebook 2012, p. 198.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges.
pub fn chamber_for_dwell(belt: f64, dwell: f64) -> Result<f64, Outside> {
    let [belt, dwell] = inside(&CHAMBER_FOR_DWELL, [belt, dwell])?;
    Ok(belt * dwell)
}

const COLDEST: f64 = 200.0;
const HOTTEST: f64 = 1000.0;

const TIME_TO_COOL: [Parameter; 4] = [
    rises("hot", "temperature", COLDEST, HOTTEST),
    rises("room-air", "temperature", COLDEST, HOTTEST),
    falls("wanted", "temperature", COLDEST, HOTTEST),
    rises("time-constant", "time", 0.01, 1e5),
];

/// Time until something hot has cooled in the room, `τ ln((T - Ta)/(Tw - Ta))`, in seconds.
///
/// * `hot` T and `room` Ta, 200 to 1000 K: a rise of either lifts it.
/// * `wanted` Tw, 200 to 1000 K: a rise lowers it. At or above `hot` the time is zero.
/// * `time_constant` τ, 0.01 to 100 000 s, measured on the pallet: a rise lifts it.
///
/// One body at one temperature that loses heat in proportion to its distance from the room.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges; [`Outside::Never`] when the room is no cooler than
/// what is wanted.
pub fn time_to_cool(hot: f64, room: f64, wanted: f64, time_constant: f64) -> Result<f64, Outside> {
    let [hot, room, wanted, tau] = inside(&TIME_TO_COOL, [hot, room, wanted, time_constant])?;
    if hot <= wanted {
        return Ok(0.0);
    }
    if wanted <= room {
        return Err(Outside::Never("nothing cools below the air of the room"));
    }
    // ln(1 + x) keeps its digits when there are only a few kelvin to lose.
    Ok(tau * libm::log1p((hot - wanted) / (wanted - room)))
}

const STATIONS_TO_COOL: [Parameter; 5] = [
    rises("hot", "temperature", COLDEST, HOTTEST),
    rises("room-air", "temperature", COLDEST, HOTTEST),
    falls("wanted", "temperature", COLDEST, HOTTEST),
    rises("time-constant", "time", 0.01, 1e5),
    falls("station-time", "time", 0.1, 3600.0),
];

/// Whole stations a pallet must ride to cool: [`time_to_cool`] over the time of a station, up.
///
/// * `hot`, `room`, `time_constant`: a rise of any lifts it.
/// * `wanted`, 200 to 1000 K, and `station_time`, 0.1 to 3600 s: a rise of either lowers it.
///
/// # Errors
///
/// Those of [`time_to_cool`].
pub fn stations_to_cool(
    hot: f64,
    room: f64,
    wanted: f64,
    time_constant: f64,
    station_time: f64,
) -> Result<f64, Outside> {
    let [hot, room, wanted, tau, station] = inside(
        &STATIONS_TO_COOL,
        [hot, room, wanted, time_constant, station_time],
    )?;
    Ok(round_up(time_to_cool(hot, room, wanted, tau)? / station))
}

pub(super) const ROWS: &[Function] = &[
    Function {
        name: "cycle-time",
        parameters: &CYCLE,
        result: "time",
        formula: "index + slowest-station",
        source: "synchronous indexing press",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[index, slowest]| cycle_time(index, slowest)),
    },
    Function {
        name: "press-rate",
        parameters: &PRESS_RATE,
        result: "piece-rate",
        formula: "1 / (index + slowest-station)",
        source: "Evaluating Ink (trade magazine, May 2014)",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[index, slowest]| press_rate(index, slowest)),
    },
    Function {
        name: "belt-rate",
        parameters: &BELT_RATE,
        result: "piece-rate",
        formula: "belt / pitch * lanes",
        source: "Evaluating Ink (trade magazine, May 2014)",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[belt, pitch, lanes]| belt_rate(belt, pitch, lanes)),
    },
    Function {
        name: "line-rate",
        parameters: &LINE_RATE,
        result: "piece-rate",
        formula: "least(press, belt)",
        source: "the slower part sets the pace",
        accuracy: Accuracy::Absolute(0.0),
        evaluate: |x| spread(x, |[press, belt]| line_rate(press, belt)),
    },
    Function {
        name: "belt-load",
        parameters: &BELT_LOAD,
        result: "number",
        formula: "press / belt",
        source: "the slower part sets the pace",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[press, belt]| belt_load(press, belt)),
    },
    Function {
        name: "dwell-time",
        parameters: &DWELL,
        result: "time",
        formula: "chamber / belt",
        source: "Organic Finishing Guidebook 2012, p. 198",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[chamber, belt]| dwell(chamber, belt)),
    },
    Function {
        name: "belt-for-dwell",
        parameters: &BELT_FOR_DWELL,
        result: "speed",
        formula: "chamber / dwell",
        source: "Organic Finishing Guidebook 2012, p. 198",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[chamber, dwell]| belt_for_dwell(chamber, dwell)),
    },
    Function {
        name: "chamber-for-dwell",
        parameters: &CHAMBER_FOR_DWELL,
        result: "length",
        formula: "belt * dwell",
        source: "Organic Finishing Guidebook 2012, p. 198",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[belt, dwell]| chamber_for_dwell(belt, dwell)),
    },
    Function {
        name: "time-to-cool",
        parameters: &TIME_TO_COOL,
        result: "time",
        formula: "time-constant * ln((hot - room-air) / (wanted - room-air))",
        source: "cooling in proportion to the distance from the room",
        accuracy: Accuracy::Rounding,
        evaluate: |x| {
            spread(x, |[hot, room, wanted, tau]| {
                time_to_cool(hot, room, wanted, tau)
            })
        },
    },
    Function {
        name: "stations-to-cool",
        parameters: &STATIONS_TO_COOL,
        result: "count",
        formula: "round-up(time-to-cool(hot, room-air, wanted, time-constant) / station-time)",
        source: "cooling in proportion to the distance from the room",
        accuracy: Accuracy::Absolute(0.0),
        evaluate: |x| {
            spread(x, |[hot, room, wanted, tau, station]| {
                stations_to_cool(hot, room, wanted, tau, station)
            })
        },
    },
];
