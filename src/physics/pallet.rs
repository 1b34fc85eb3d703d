//! The press pallet: how warm it gets over repeated flashes, and how long it takes to cool.
//!
//! One temperature, straight-line losses, so everything is closed form. Temperatures in kelvin, times in seconds. The loss
//! and the time constant of a pallet are uncertain by half unless one warm-up was measured.

use super::cycle::Recursion;
use super::function::{Accuracy, Direction, Function, Outside, Parameter, inside};
use super::passes::{Heat, Passes, Reading, all_count};
use Direction::{Falls, FallsWhileHeating, Mixed, Rises, RisesWhileHeating};

/// A stretch of a cycle in which the pallet nears one temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Phase {
    /// The temperature it would come to, K.
    pub limit: f64,
    /// Time constant, s: the pallet's capacity over its loss.
    pub constant: f64,
    /// How long the stretch lasts, s.
    pub time: f64,
}

impl Phase {
    /// Temperature at the end of the stretch: Θ + (T − Θ)·exp(−t/τ).
    #[must_use]
    pub fn after(&self, start: f64) -> f64 {
        self.limit + (start - self.limit) * libm::exp(-self.time / self.constant)
    }
}

/// The recursion of a cycle made of these phases: A = ∏ exp(−t/τ).
///
/// # Errors
/// A time constant that is not above zero, a time below zero, or a cycle without any loss.
pub fn recursion(phases: &[Phase]) -> Result<Recursion, Outside> {
    let (mut share, mut gain) = (1.0, 0.0);
    for phase in phases {
        if !(phase.constant > 0.0 && phase.time >= 0.0 && phase.limit.is_finite()) {
            return Err(Outside::Together(
                "a phase needs a time constant above zero and a time",
            ));
        }
        share *= libm::exp(-phase.time / phase.constant);
        gain = phase.after(gain);
    }
    if share < 1.0 {
        Ok(Recursion { share, gain })
    } else {
        Err(Outside::Together("a cycle needs some time"))
    }
}

/// Time for a body at one temperature to go from `start` to `level` towards `limit`, s:
/// τ·ln((limit − start)/(limit − level)), heating or cooling; 0 where it is there already or beyond.
///
/// # Errors
/// [`Outside::Never`] where the level lies at the limit or beyond it.
pub fn time_to_level(start: f64, limit: f64, constant: f64, level: f64) -> Result<f64, Outside> {
    if limit >= start {
        // Heating towards a limit is cooling seen in a mirror.
        cooling_time(-start, -limit, constant, -level).map_err(|_| {
            Outside::Never("what heats it is not hotter than the temperature asked for")
        })
    } else {
        cooling_time(start, limit, constant, level)
    }
}

/// Time to cool from `hot` to `cool` in a room, s: τ·ln((T_hot − T_room)/(T_cool − T_room)); 0 where it is cool already.
///
/// Rises with `hot`, `room` and `constant`, falls with `cool`.
///
/// # Errors
/// [`Outside::Never`] where the room is as warm as the temperature asked for.
pub fn cooling_time(hot: f64, room: f64, constant: f64, cool: f64) -> Result<f64, Outside> {
    if hot <= cool {
        Ok(0.0)
    } else if cool > room {
        Ok(constant * libm::log((hot - room) / (cool - room)))
    } else {
        Err(Outside::Never(
            "the room is not cooler than the temperature asked for",
        ))
    }
}

/// Whole stations needed to cool: the cooling time over the time at one station, rounded up. Falls with `station_time`.
///
/// # Errors
/// As [`cooling_time`].
pub fn cooling_stations(
    hot: f64,
    room: f64,
    constant: f64,
    cool: f64,
    station_time: f64,
) -> Result<f64, Outside> {
    Ok((cooling_time(hot, room, constant, cool)? / station_time).ceil())
}

const fn input(
    name: &'static str,
    dimension: &'static str,
    low: f64,
    high: f64,
    direction: Direction,
) -> Parameter {
    Parameter {
        name,
        dimension,
        low,
        high,
        direction,
    }
}

const fn pallet(direction: Direction) -> Parameter {
    input("pallet", "temperature", 253.15, 473.15, direction)
}
const fn warming(warmth: [Direction; 6]) -> [Parameter; 6] {
    [
        input("room-air", "temperature", 253.15, 333.15, warmth[0]),
        input("flux", "heat-flux", 0.0, 60_000.0, warmth[1]),
        input("flash-time", "time", 0.0, 600.0, warmth[2]),
        input("cycle-time", "time", 0.5, 3600.0, warmth[3]),
        input(
            "capacity",
            "areal-heat-capacity",
            1000.0,
            200_000.0,
            warmth[4],
        ),
        input("loss", "heat-transfer", 0.5, 100.0, warmth[5]),
    ]
}
const WARMING: [Parameter; 6] = warming([
    Rises,
    Rises,
    Rises,
    FallsWhileHeating,
    Mixed,
    FallsWhileHeating,
]);
const AFTER: &[Parameter] = &[
    pallet(Rises),
    WARMING[0],
    WARMING[1],
    WARMING[2],
    WARMING[3],
    WARMING[4],
    WARMING[5],
    input("cycles", "count", 0.0, 1.0e6, RisesWhileHeating),
];
const STEADY: &[Parameter] = &warming([Rises, Rises, Rises, Falls, Rises, Falls]);
const COOLER: [Parameter; 6] = warming([
    Falls,
    Falls,
    Falls,
    RisesWhileHeating,
    Mixed,
    RisesWhileHeating,
]);
const CYCLES_TO: &[Parameter] = &[
    pallet(Falls),
    COOLER[0],
    COOLER[1],
    COOLER[2],
    COOLER[3],
    COOLER[4],
    COOLER[5],
    input("level", "temperature", 253.15, 473.15, Rises),
];
const COOL: [Parameter; 4] = [
    input("hot", "temperature", 253.15, 623.15, Rises),
    input("room-air", "temperature", 253.15, 333.15, Rises),
    input("constant", "time", 0.1, 36_000.0, Rises),
    input("cool", "temperature", 253.15, 623.15, Falls),
];
const STATIONS: &[Parameter] = &[
    COOL[0],
    COOL[1],
    COOL[2],
    COOL[3],
    input("station-time", "time", 0.1, 3600.0, Falls),
];

/// What a round of a pallet is given by: how far above the room it starts, then rest, all flashes, all cooling.
///
/// A pallet that starts no cooler than the room and is only ever heated stays so; then more loss always cools it, and
/// more rest does.
const ROUND: [Parameter; 9] = [
    input("above-room", "temperature-difference", 0.0, 200.0, Rises),
    WARMING[0],
    WARMING[1],
    WARMING[2],
    input("cool-time", "time", 0.0, 3600.0, FallsWhileHeating),
    input("round-time", "time", 0.5, 36_000.0, Falls),
    WARMING[4],
    input("loss", "heat-transfer", 0.5, 100.0, Falls),
    input("cool-loss", "heat-transfer", 0.5, 500.0, Falls),
];
const fn round(inverse: bool, last: Parameter) -> [Parameter; 10] {
    let mut all = [last; 10];
    let mut at = 0;
    while at < ROUND.len() {
        let from = ROUND[at];
        let direction = if inverse {
            super::thermal::warm_direction(from.direction)
        } else {
            from.direction
        };
        all[at] = Parameter { direction, ..from };
        at += 1;
    }
    all
}
const AFTER_ROUNDS: &[Parameter] = &round(
    false,
    input("rounds", "count", 0.0, 1.0e6, RisesWhileHeating),
);
const ROUNDS_BELOW: &[Parameter] =
    &round(true, input("level", "temperature", 253.15, 473.15, Rises));
/// What counts as never, rounds.
const NEVER: f64 = 1.0e6;

/// The recursion of one round: from one print over the flashed coat to the next on the same pallet.
fn rounds(x: &[f64]) -> Result<Recursion, Outside> {
    let &[
        room,
        flux,
        flash,
        cool,
        round_time,
        capacity,
        loss,
        cool_loss,
    ] = x
    else {
        return Err(Outside::Together("each parameter needs one number"));
    };
    if flash + cool > round_time {
        return Err(Outside::Together(
            "flash and cooling take longer than a round of the pallet",
        ));
    }
    let phase = |limit: f64, loss: f64, time: f64| Phase {
        limit,
        constant: capacity / loss,
        time,
    };
    recursion(&[
        phase(room, loss, round_time - flash - cool),
        phase(room + flux / loss, loss, flash),
        phase(room, cool_loss, cool),
    ])
}

const COOL_TIME: usize = 4;
const ROUNDS: usize = 9;

/// Time at a cooling station cools more than rest where it loses more, and further rounds warm until the steady state.
fn round_bits(x: &[f64], start: f64, cycle: &Recursion) -> u64 {
    let (cools, warms) = (x[8] >= x[7], cycle.steady() >= start);
    u64::from(cools) << COOL_TIME | u64::from(warms) << ROUNDS
}

fn after_rounds(_: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    let start = x[0] + x[1];
    let cycle = rounds(&x[1..9])?;
    Ok(Reading::new(
        cycle.after(start, x[9]),
        round_bits(x, start, &cycle),
    ))
}

fn rounds_below(_: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    let start = x[0] + x[1];
    let cycle = rounds(&x[1..9])?;
    let value = match cycle.cycles_to(start, x[9]) {
        // The round in which the level is reached is the first that does not stay below.
        Ok(reached) => (reached - 1.0).clamp(0.0, NEVER),
        Err(_) => NEVER,
    };
    Ok(Reading::new(value, round_bits(x, start, &cycle)))
}

/// Where cooling loses least beside rest, the warmest start of the coolest round, and where a round has least room for
/// flash and cooling.
fn round_checks(inputs: &[(f64, f64)]) -> Vec<Vec<f64>> {
    let pick = |high: &[usize]| {
        inputs
            .iter()
            .enumerate()
            .map(|(i, &(a, b))| if high.contains(&i) { b } else { a })
            .collect::<Vec<f64>>()
    };
    vec![pick(&[2, 3, 7]), pick(&[0, 4, 5, 6, 7, 8]), pick(&[3, 4])]
}

/// A flash of constant flux into the pallet, then rest; the same loss throughout.
fn flashed(x: &[f64]) -> Result<Recursion, Outside> {
    let &[room, flux, flash_time, cycle_time, capacity, loss] = x else {
        return Err(Outside::Together("each parameter needs one number"));
    };
    if flash_time > cycle_time {
        return Err(Outside::Together("the flash takes longer than the cycle"));
    }
    let constant = capacity / loss;
    recursion(&[
        Phase {
            limit: room + flux / loss,
            constant,
            time: flash_time,
        },
        Phase {
            limit: room,
            constant,
            time: cycle_time - flash_time,
        },
    ])
}

/// The recursion of `pallet-after-rounds`, and the temperature it starts from.
pub(super) fn recursion_of_rounds(x: &[f64]) -> Result<(Recursion, f64), Outside> {
    Ok((rounds(&x[1..9])?, x[0] + x[1]))
}

/// The recursion of `pallet-after`, and the temperature it starts from.
pub(super) fn recursion_of(x: &[f64]) -> Result<(Recursion, f64), Outside> {
    Ok((flashed(&x[1..7])?, x[0]))
}

/// Temperatures no further apart count as one, K: the rounding of a decimal is less, the figures' own slack is more.
const SAME: f64 = 1.0e-7;

/// Conditional directions hold while the pallet is no cooler than the room and still warming.
fn warming_bits(start: f64, room: f64, steady: f64) -> u64 {
    if start >= room - SAME && steady >= start - SAME {
        u64::MAX
    } else {
        0
    }
}

fn after(_: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    let cycle = flashed(&x[1..7])?;
    Ok(Reading::new(
        cycle.after(x[0], x[7]),
        warming_bits(x[0], x[1], cycle.steady()),
    ))
}

fn cycles_to(_: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    let cycle = flashed(&x[1..7])?;
    Ok(Reading::new(
        cycle.cycles_to(x[0], x[7])?,
        if x[0] >= x[1] - SAME { u64::MAX } else { 0 },
    ))
}

/// The coolest start in the warmest room, and the warmest start of the coolest cycle.
fn checks(inputs: &[(f64, f64)]) -> Vec<Vec<f64>> {
    let pick = |high: &[usize]| {
        inputs
            .iter()
            .enumerate()
            .map(|(i, &(a, b))| if high.contains(&i) { b } else { a })
            .collect::<Vec<f64>>()
    };
    vec![pick(&[1, 2, 3, 5]), pick(&[0, 4, 6, 7])]
}

const SOURCE: &str =
    "lumped heat balance of the pallet, repeated each cycle (textbook closed form)";

/// The pallet's figures.
pub(super) const ROWS: &[Function] = &[
    Function {
        name: "pallet-after",
        parameters: AFTER,
        result: "temperature",
        formula: "T* + (pallet − T*) × Aⁿ at the start of a cycle, A = exp(−cycle-time × loss / capacity)",
        source: SOURCE,
        accuracy: Accuracy::Relative(1.0e-9),
        evaluate: |x| {
            inside(AFTER, x)?;
            Ok(after(&mut Passes::default(), x)?.value)
        },
    },
    Function {
        name: "pallet-steady",
        parameters: STEADY,
        result: "temperature",
        formula: "room-air + flux / loss × (e^(flash-time/τ) − 1) / (e^(cycle-time/τ) − 1), τ = capacity / loss",
        source: SOURCE,
        accuracy: Accuracy::Relative(1.0e-9),
        evaluate: |x| {
            inside(STEADY, x)?;
            Ok(flashed(x)?.steady())
        },
    },
    Function {
        name: "pallet-cycles-to",
        parameters: CYCLES_TO,
        result: "count",
        formula: "ln((T* − level) / (T* − pallet)) / ln A, rounded up",
        source: SOURCE,
        accuracy: Accuracy::Absolute(0.0),
        evaluate: |x| {
            inside(CYCLES_TO, x)?;
            Ok(cycles_to(&mut Passes::default(), x)?.value)
        },
    },
    Function {
        name: "pallet-after-rounds",
        parameters: AFTER_ROUNDS,
        result: "temperature",
        formula: "T* + (room-air + above-room − T*) × Aⁿ after rounds of rest, flash and cooling, A = e^(−((round-time − cool-time) × loss + cool-time × cool-loss) / capacity)",
        source: SOURCE,
        accuracy: Accuracy::Relative(1.0e-9),
        evaluate: |x| {
            inside(AFTER_ROUNDS, x)?;
            Ok(after_rounds(&mut Passes::default(), x)?.value)
        },
    },
    Function {
        name: "pallet-rounds-below",
        parameters: ROUNDS_BELOW,
        result: "count",
        formula: "rounds after which the pallet is still below `level`, a million where it always is: ln((T* − level) / (T* − room-air − above-room)) / ln A, rounded up, less 1",
        source: SOURCE,
        accuracy: Accuracy::Absolute(0.0),
        evaluate: |x| {
            inside(ROUNDS_BELOW, x)?;
            Ok(rounds_below(&mut Passes::default(), x)?.value)
        },
    },
    Function {
        name: "cooling-time",
        parameters: &COOL,
        result: "time",
        formula: "constant × ln((hot − room-air) / (cool − room-air))",
        source: "Newton's law of cooling (textbook closed form)",
        accuracy: Accuracy::Relative(1.0e-9),
        evaluate: |x| {
            inside(&COOL, x)?;
            cooling_time(x[0], x[1], x[2], x[3])
        },
    },
    Function {
        name: "cooling-stations",
        parameters: STATIONS,
        result: "count",
        formula: "constant × ln((hot − room-air) / (cool − room-air)) / station-time, rounded up",
        source: "Newton's law of cooling (textbook closed form)",
        accuracy: Accuracy::Absolute(0.0),
        evaluate: |x| {
            inside(STATIONS, x)?;
            cooling_stations(x[0], x[1], x[2], x[3], x[4])
        },
    },
];

/// Those whose direction hangs on the run.
pub(super) const HEAT: &[Heat] = &[
    Heat {
        name: "pallet-after",
        evaluate: after,
        bound: None,
        ratios: &[],
        checks,
        settle: all_count,
        scan: &[],
        pairs: &[],
        shift: None,
    },
    Heat {
        name: "pallet-cycles-to",
        evaluate: cycles_to,
        bound: None,
        ratios: &[],
        checks,
        settle: all_count,
        scan: &[],
        pairs: &[],
        shift: None,
    },
    Heat {
        name: "pallet-after-rounds",
        evaluate: after_rounds,
        bound: None,
        ratios: &[],
        checks: round_checks,
        settle: all_count,
        scan: &[],
        pairs: &[],
        shift: None,
    },
    Heat {
        name: "pallet-rounds-below",
        evaluate: rounds_below,
        bound: None,
        ratios: &[],
        checks: round_checks,
        settle: all_count,
        scan: &[],
        pairs: &[],
        shift: None,
    },
];
