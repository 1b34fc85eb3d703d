//! Hours for an order: set-up, pieces with rejects, press and belt from the first to the last piece.

use super::function::{Accuracy, Function, Outside, Parameter};
use super::pace::{INDEX, SLOWEST};
use super::validity::{falls, inside, rises, round_up, spread, whole};

const PIECES: Parameter = rises("pieces", "pieces", 1.0, 1e8);
const REJECTS: Parameter = rises("rejects", "share", 0.0, 0.9);
const STATIONS: Parameter = rises("stations", "count", 1.0, 100.0);
const CHAMBER: Parameter = rises("chamber", "length", 0.01, 100.0);
const BELT: Parameter = falls("belt", "speed", 1e-4, 2.0);
const PITCH: Parameter = rises("pitch", "length", 0.02, 5.0);
const LANES: Parameter = falls("lanes", "count", 1.0, 20.0);
const SET_UP: Parameter = rises("set-up", "time", 0.0, 1e7);
const AVAILABILITY: Parameter = falls("availability", "share", 0.05, 1.0);

const PIECES_TO_START: [Parameter; 2] = [PIECES, REJECTS];

/// Pieces to start so that enough are good, `N / (1 - r)` rounded up.
///
/// * `pieces` N ordered, whole, 1 to 10⁸: a rise lifts it.
/// * `rejects` r, share of what is printed, 0 to 90 %: a rise lifts it.
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges, [`Outside::Together`] for half a piece.
pub fn pieces_to_start(pieces: f64, rejects: f64) -> Result<f64, Outside> {
    let [pieces, rejects] = inside(&PIECES_TO_START, [pieces, rejects])?;
    whole(&[pieces])?;
    Ok(round_up(pieces / (1.0 - rejects)))
}

/// One synchronous press that feeds the lanes of one dryer in turn. All in SI base units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Stations of the press, loading and unloading included; a whole number.
    pub stations: f64,
    /// Time from one pallet place to the next.
    pub index: f64,
    /// Time at the slowest station.
    pub slowest: f64,
    /// Length of the dryer from entry to exit.
    pub chamber: f64,
    /// Belt speed.
    pub belt: f64,
    /// From one garment to the next in a lane.
    pub pitch: f64,
    /// Lanes; a whole number.
    pub lanes: f64,
}

const MAKESPAN: [Parameter; 8] = [
    PIECES, STATIONS, INDEX, SLOWEST, CHAMBER, BELT, PITCH, LANES,
];

/// Time from the first load to the last piece out of the dryer, without stops, in seconds.
///
/// With the cycle `c = index + slowest`, the belt's spacing `s = pitch / belt` and lanes L:
///
/// `S slowest + (S - 1) index + chamber / belt + (N - 1) c + ⌊(N - 1)/L⌋ max(0, s - L c)`
///
/// The last two terms are the longer of the press's and the dryer's own wait,
/// `max((N - 1) c, (⌈N/L⌉ - 1) s + ((N - 1) mod L) c)`, written so that every direction can be read
/// off: pieces, stations, index, slowest station, chamber and pitch lift it, belt and lanes lower
/// it. (For `c`: the factor left over is `(N - 1) - L ⌊(N - 1)/L⌋`, never negative.)
///
/// * `pieces` N, whole, 1 to 10⁸; `stations` S, whole, 1 to 100; `index`, 0 to 600 s; `slowest`,
///   0.1 to 3600 s; `chamber`, 10 mm to 100 m; `belt`, 0.0001 to 2 m/s; `pitch`, 20 mm to 5 m;
///   `lanes` L, whole, 1 to 20.
///
/// Source: exact for this line; a discrete-event simulation of 200 random lines agreed to 2e-14.
///
/// # Errors
///
/// [`Outside::Parameter`] (in the order above) outside these ranges, [`Outside::Together`] for
/// half a piece, station or lane.
pub fn makespan(pieces: f64, line: &Line) -> Result<f64, Outside> {
    let [n, stations, index, slowest, chamber, belt, pitch, lanes] = inside(
        &MAKESPAN,
        [
            pieces,
            line.stations,
            line.index,
            line.slowest,
            line.chamber,
            line.belt,
            line.pitch,
            line.lanes,
        ],
    )?;
    whole(&[n, stations, lanes])?;
    let cycle = index + slowest;
    let first_out = stations * slowest + (stations - 1.0) * index + chamber / belt;
    // With at most 20 lanes a quotient that is not whole is at least 1/20 away from one.
    let rounds = ((n - 1.0) / lanes).floor();
    let wait = (pitch / belt - lanes * cycle).max(0.0);
    Ok(first_out + (n - 1.0) * cycle + rounds * wait)
}

const ORDER_TIME: [Parameter; 11] = [
    PIECES,
    REJECTS,
    STATIONS,
    INDEX,
    SLOWEST,
    CHAMBER,
    BELT,
    PITCH,
    LANES,
    SET_UP,
    AVAILABILITY,
];

/// Time for the whole order, `set-up + makespan of the pieces to start / availability`, in seconds.
///
/// * `pieces`, `rejects` as in [`pieces_to_start`]; `line` as in [`makespan`].
/// * `set_up`, 0 to 10⁷ s: a rise lifts it.
/// * `availability`, share of the time the line runs, 5 to 100 %: a rise lowers it.
///
/// # Errors
///
/// Those of [`pieces_to_start`] and [`makespan`], numbered as the row `order-time` lists them.
pub fn order_time(
    pieces: f64,
    rejects: f64,
    line: &Line,
    set_up: f64,
    availability: f64,
) -> Result<f64, Outside> {
    let Line {
        stations,
        index,
        slowest,
        chamber,
        belt,
        pitch,
        lanes,
    } = *line;
    inside(
        &ORDER_TIME,
        [
            pieces,
            rejects,
            stations,
            index,
            slowest,
            chamber,
            belt,
            pitch,
            lanes,
            set_up,
            availability,
        ],
    )?;
    let started = pieces_to_start(pieces, rejects)?;
    if started > PIECES.high {
        return Err(Outside::Together(
            "with so many rejects more pieces must be started than can be counted here",
        ));
    }
    Ok(set_up + makespan(started, line)? / availability)
}

const ORDER_TIME_AT_RATE: [Parameter; 5] = [
    PIECES,
    REJECTS,
    falls("rate", "piece-rate", 1e-6, 100.0),
    SET_UP,
    AVAILABILITY,
];

/// Time for an order at a known pace, `set-up + pieces to start / (rate × availability)`, seconds.
///
/// * `pieces`, `rejects` as in [`pieces_to_start`]: a rise of either lifts it.
/// * `rate`, 0.000001 to 100 pieces/s: a rise lowers it.
/// * `set_up`, 0 to 10⁷ s: a rise lifts it. `availability`, 5 to 100 %: a rise lowers it.
///
/// Leaves out that the first piece must first go round; [`order_time`] counts it.
/// Source: worked in a trade magazine, Aug 2018, p. 33 (1000 pieces at 6.66 a minute).
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges, [`Outside::Together`] for half a piece.
pub fn order_time_at_rate(
    pieces: f64,
    rejects: f64,
    rate: f64,
    set_up: f64,
    availability: f64,
) -> Result<f64, Outside> {
    let [pieces, rejects, rate, set_up, availability] = inside(
        &ORDER_TIME_AT_RATE,
        [pieces, rejects, rate, set_up, availability],
    )?;
    Ok(set_up + pieces_to_start(pieces, rejects)? / (rate * availability))
}

const TIME_EACH: [Parameter; 2] = [
    rises("number", "count", 0.0, 1e8),
    rises("each", "time", 0.0, 1e6),
];

/// Time that things take one after the other, `number × time of each`, in seconds.
///
/// * `number`, whole, 0 to 10⁸: a rise lifts it.
/// * `each`, 0 to 10⁶ s: a rise lifts it.
///
/// Screens to set up, pieces to flash. Source: "Evaluating Ink" (trade magazine, May 2014).
///
/// # Errors
///
/// [`Outside::Parameter`] outside these ranges, [`Outside::Together`] for half a thing.
pub fn time_one_by_one(number: f64, each: f64) -> Result<f64, Outside> {
    let [number, each] = inside(&TIME_EACH, [number, each])?;
    whole(&[number])?;
    Ok(number * each)
}

pub(super) const ROWS: &[Function] = &[
    Function {
        name: "pieces-to-start",
        parameters: &PIECES_TO_START,
        result: "pieces",
        formula: "round-up(pieces / (1 - rejects))",
        source: "definition",
        accuracy: Accuracy::Absolute(0.0),
        evaluate: |x| spread(x, |[pieces, rejects]| pieces_to_start(pieces, rejects)),
    },
    Function {
        name: "order-makespan",
        parameters: &MAKESPAN,
        result: "time",
        formula: "stations * slowest-station + (stations - 1) * index + chamber / belt \
                  + (pieces - 1) * cycle + round-down((pieces - 1) / lanes) \
                  * most(0, pitch / belt - lanes * cycle)",
        source: "exact for a synchronous press that feeds the lanes in turn",
        accuracy: Accuracy::Relative(1e-13),
        evaluate: |x| {
            spread(
                x,
                |[
                    pieces,
                    stations,
                    index,
                    slowest,
                    chamber,
                    belt,
                    pitch,
                    lanes,
                ]| {
                    let line = Line {
                        stations,
                        index,
                        slowest,
                        chamber,
                        belt,
                        pitch,
                        lanes,
                    };
                    makespan(pieces, &line)
                },
            )
        },
    },
    Function {
        name: "order-time",
        parameters: &ORDER_TIME,
        result: "time",
        formula: "set-up + order-makespan of pieces-to-start / availability",
        source: "exact for a synchronous press that feeds the lanes in turn",
        accuracy: Accuracy::Relative(1e-13),
        evaluate: |x| {
            spread(
                x,
                |[
                    pieces,
                    rejects,
                    stations,
                    index,
                    slowest,
                    chamber,
                    belt,
                    pitch,
                    lanes,
                    set_up,
                    availability,
                ]| {
                    let line = Line {
                        stations,
                        index,
                        slowest,
                        chamber,
                        belt,
                        pitch,
                        lanes,
                    };
                    order_time(pieces, rejects, &line, set_up, availability)
                },
            )
        },
    },
    Function {
        name: "order-time-at-rate",
        parameters: &ORDER_TIME_AT_RATE,
        result: "time",
        formula: "set-up + pieces-to-start / (rate * availability)",
        source: "a trade magazine, Aug 2018, p. 33",
        accuracy: Accuracy::Rounding,
        evaluate: |x| {
            spread(x, |[pieces, rejects, rate, set_up, availability]| {
                order_time_at_rate(pieces, rejects, rate, set_up, availability)
            })
        },
    },
    Function {
        name: "time-one-by-one",
        parameters: &TIME_EACH,
        result: "time",
        formula: "number * each",
        source: "Evaluating Ink (trade magazine, May 2014)",
        accuracy: Accuracy::Rounding,
        evaluate: |x| spread(x, |[number, each]| time_one_by_one(number, each)),
    },
];
