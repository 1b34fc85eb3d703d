//! What stands behind a figure: the film's way through a tunnel, a pallet's warmth piece by piece.
//!
//! For pictures only. A verdict rests on the figures themselves, never on what is read off here.

use super::cycle::Recursion;
use super::function::{Function, Outside};
use super::thermal::{self, Pass, Place, Settings, Stretch};
use super::{flash, pallet};

/// What the figure is one point of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum History {
    /// A pass through a tunnel. The lower the rank, the better the figure stands for the whole pass.
    Pass {
        /// 0 for a peak where ink meets fabric, more for figures read off later.
        rank: u8,
        /// The inputs of the pass itself; those that follow only ask something of it.
        inputs: usize,
        /// The input that asks for a temperature level, for figures that are a time.
        level: Option<usize>,
    },
    /// A pallet that comes round again.
    Cycles {
        /// Which input counts the cycles.
        cycles: usize,
    },
}

/// What a picture of a pass shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Curves {
    /// When the film leaves the tunnel, s.
    pub exit: f64,
    /// When the next zone begins, s, for each zone but the first.
    pub zones: Vec<f64>,
    /// Temperature where ink meets fabric, K, at equal steps of time up to the end.
    pub boundary: Vec<f64>,
    /// Temperature of the ink's surface, K, at the same times.
    pub surface: Vec<f64>,
}

/// Names of the two curves of [`Curves`], and of the axes, in plain words.
pub const BOUNDARY: &str = "where ink meets fabric";
/// The other one.
pub const SURFACE: &str = "ink surface";
/// What a pass shows.
pub const PASS: &str = "film temperature through the tunnel";
/// What repeated cycles show.
pub const CYCLES: &str = "pallet temperature from piece to piece";
/// Name of its curve.
pub const PALLET: &str = "pallet";
/// What its axis counts.
pub const BY_PIECE: &str = "piece number";
/// What its axis counts where pieces are not known.
pub const BY_CYCLE: &str = "cycles of the pallet";
/// What happens after the exit, in the picture.
pub const AFTER_EXIT: &str =
    "after the exit: cooling in still air of 23 °C, shown only; nothing after the exit counts";

/// Room air after the exit: 23 °C and 10 W/(m²·K), natural convection and radiation together (from memory).
const ROOM: f64 = 296.15;
const ROOM_TRANSFER: f64 = 10.0;

/// What stands behind a figure, if a picture can show it.
#[must_use]
pub fn history(function: &Function) -> Option<History> {
    if let Some((rank, inputs, level)) = thermal::pass_inputs(function) {
        return Some(History::Pass {
            rank,
            inputs,
            level,
        });
    }
    let cycles = function
        .parameters
        .iter()
        .position(|parameter| matches!(parameter.name, "cycles" | "rounds"))?;
    matches!(
        function.name,
        "pallet-after" | "pallet-after-rounds" | "flash-pallet-after"
    )
    .then_some(History::Cycles { cycles })
}

/// When the film of a pass leaves the tunnel, s.
#[must_use]
pub fn exit(function: &Function, inputs: &[f64]) -> Option<f64> {
    let times = thermal::zone_times(function, inputs)?;
    Some(thermal::entrance(function, inputs)? + times.iter().sum::<f64>())
}

/// The pass behind a figure, followed up to `end`, read at `steps` + 1 equally spaced times.
///
/// # Errors
/// As the figure itself; also for a figure that is not read off a pass.
pub fn curves(
    function: &Function,
    inputs: &[f64],
    end: f64,
    steps: usize,
) -> Result<Curves, Outside> {
    super::function::inside(function.parameters, inputs)?;
    let (Some(times), true) = (
        thermal::zone_times(function, inputs),
        steps > 0 && end.is_finite(),
    ) else {
        return Err(Outside::Together("there is no pass behind this figure"));
    };
    let entrance = thermal::entrance(function, inputs).unwrap_or(0.0);
    let exit = entrance + times.iter().sum::<f64>();
    let cooling = thermal::Zone::room((end - exit).max(0.5), ROOM_TRANSFER, ROOM, 1500.0);
    let pass: Pass = thermal::followed(function, inputs, cooling, Settings::CHECK)?;
    let read = |place: Place| {
        let at = |step: usize| pass.at(place, end * step as f64 / steps as f64);
        (0..=steps).map(at).collect::<Vec<f64>>()
    };
    if pass.peak(Place::Surface, Stretch::Whole) > 623.15 {
        return Err(Outside::Together(
            "the film would pass 350 °C, where the model ends",
        ));
    }
    let mut zones = Vec::new();
    let mut start = entrance;
    for time in &times[..times.len().saturating_sub(1)] {
        start += time;
        zones.push(start);
    }
    Ok(Curves {
        exit,
        zones,
        boundary: read(Place::Boundary),
        surface: read(Place::Surface),
    })
}

/// The pallet's recursion behind a figure of repeated cycles, and where it starts, K.
///
/// # Errors
/// As the figure itself; also for a figure without cycles.
pub fn cycles(function: &Function, inputs: &[f64]) -> Result<(Recursion, f64), Outside> {
    super::function::inside(function.parameters, inputs)?;
    match function.name {
        "pallet-after" => pallet::recursion_of(inputs),
        "pallet-after-rounds" => pallet::recursion_of_rounds(inputs),
        "flash-pallet-after" => flash::recursion_of(inputs, Settings::CHECK),
        _ => Err(Outside::Together("there are no cycles behind this figure")),
    }
}
