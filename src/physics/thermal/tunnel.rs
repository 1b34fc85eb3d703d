//! The tunnel's figures as the language calls them.
//!
//! Every figure of the tunnel takes its inputs in one order: how warm it starts; the ink; the fabric; then each zone; then
//! what the figure itself asks for. A tunnel of one zone has the plain names, `-two-zones` and `-three-zones` take the
//! further zones' numbers after the first's. Figures are counted to the exit; those named `-after-exit` are what free
//! cooling in the room adds, and must not be needed to pass.
//!
//! Directions: the state "hotter and drier" keeps its order under the equations (Kamke-Müller comparison theorem), so
//! whatever heats at every instant heats the result. Weight, specific heat and water cool only while the film warms; heat
//! transfer heats only while the film is cooler than the air, a panel's factor only while it is cooler than the panel.
//! Conduction, regain and vapour pressure go either way. With several zones a later one may cool: there a run is made that
//! bounds all of a box, in which weight, specific heat and heat transfer count at one end where heat comes in and at the
//! other where it leaves.

use super::figure::{FIGURES, Figure, parameters};
use super::inputs::{
    AIR, AIR_BELOW, BODY, COOLING, FABRIC_MASS, INK_MASS, PANEL, PANEL_FACTOR, RATIOS, REGAIN,
    TIME, TRANSFER, TRANSFER_BELOW, VAPOUR, ZONE, ZONE_INPUTS, body_of, zone_of,
};
use super::solver::{Cooling, bounded};
use super::{Body, Pass, Place, Settings, Start, Stretch, Zone, run};
use crate::physics::function::{Direction, Function, Outside, Parameter, inside};
use crate::physics::passes::{Heat, Passes, Reading, TOO_HOT};
use crate::physics::props::{Sorption, TAKEN_UP, saturation_pressure};
use Direction::{Mixed, Rises, RisesWhileHeating};

/// Hottest film the model speaks of, K: the steam table ends there.
const HOTTEST: f64 = 623.15;
/// Cooling that still counts as warming, K: the solver's own error.
const SLACK: f64 = 0.05;
/// Of what is heated, what counts at the other end where heat leaves: weights, specific heats, and water.
const WHERE_HEAT_LEAVES: [usize; 6] = [1, 3, 5, 6, 8, 10];

/// What is heated, and the zones that heat it.
fn heating(x: &[f64], zones: usize) -> (Body, Vec<Zone>) {
    let list = x[BODY.len()..].chunks_exact(ZONE).take(zones);
    (body_of(x, x[REGAIN]), list.map(zone_of).collect())
}

/// Whether the first input in which two corners differ makes this one the hotter.
fn is_hotter(x: &[f64], across: &[f64]) -> bool {
    let differs = x.iter().zip(across).position(|(one, other)| one != other);
    // Of what counts where heat leaves, all of the body's inputs cool and all of a zone's heat.
    differs.is_some_and(|input| (x[input] < across[input]) == (input < BODY.len()))
}

/// `across` is the other corner of a box, where the run shall bound what lies between.
fn heated(
    x: &[f64],
    across: Option<&[f64]>,
    zones: usize,
    cooled: bool,
    settings: Settings,
) -> Result<Pass, Outside> {
    let (body, mut list) = heating(x, zones);
    let other = across.map(|across| heating(across, zones));
    if let (true, &[room, transfer, time]) = (cooled, &x[BODY.len() + zones * ZONE..]) {
        list.push(Zone::room(time, transfer, room, 1500.0));
    }
    let start = Start {
        film: x[0],
        pallet: x[0],
    };
    let cooling = other.as_ref().map(|(body, zones)| Cooling {
        body,
        zones,
        hottest: across.is_some_and(|across| is_hotter(x, across)),
    });
    bounded(&body, &list, zones, start, settings, cooling)
}

/// Which inputs may be taken as monotone in this run, for a figure that begins to count at `from`, s.
///
/// While anything is still wet more heat transfer also carries more vapour away, and may cool; and a heavier ink holds its
/// water tighter. So what is wet must be dry before the figure begins to count.
///
/// A run that is `bounded` may cool: where heat leaves, each of them counts at the end that bounds. What is dry must stay so
/// hot that it takes no water up again: when that begins hangs on next to nothing.
fn holds(pass: &Pass, x: &[f64], zones: usize, from: f64, bounded: bool) -> u64 {
    let mut bits = 0;
    let dry = is_dry(pass, x, from);
    let bounded = bounded && stays_dry(pass, x, zones);
    if bounded || pass.only_warms(0..zones, SLACK) {
        bits |= (1 << BODY.len()) - 1;
        if !dry {
            bits &= !(1 << INK_MASS);
        }
    }
    for zone in 0..zones {
        let base = BODY.len() + zone * ZONE;
        let surface = pass.peak_in_zone(Place::Surface, zone);
        let back = pass.peak_in_zone(Place::Back, zone);
        let mut set = |input: usize, holds: bool| bits |= u64::from(holds) << (base + input);
        set(TIME, pass.only_warms(zone..zone + 1, SLACK));
        let cooler = |of: f64, air: usize| bounded || of <= x[base + air] + SLACK;
        set(TRANSFER, dry && cooler(surface, AIR));
        set(TRANSFER_BELOW, dry && cooler(back, AIR_BELOW));
        set(PANEL_FACTOR, surface <= x[base + PANEL] + SLACK);
    }
    bits
}

/// Whether film and fabric hold next to no water any more at a time, s.
fn is_dry(pass: &Pass, x: &[f64], time: f64) -> bool {
    let (ink, fabric) = (x[INK_MASS], x[FABRIC_MASS]);
    (x[5] <= 1.0e-12 || pass.at(Place::InkWater, time) <= 0.02 * ink)
        && pass.at(Place::FabricWater, time) <= 0.01 * fabric
}

/// Whether no zone behind the first is so cool that dry fabric would take up water from its air.
fn stays_dry(pass: &Pass, x: &[f64], zones: usize) -> bool {
    let sorption = Sorption::of_regain(x[REGAIN]);
    let held = |time: f64| pass.at(Place::FabricWater, time).max(0.0) / x[FABRIC_MASS];
    (1..zones).all(|zone| {
        let vapour = x[BODY.len() + zone * ZONE + VAPOUR];
        let coolest =
            pass.coolest_in_zone(zone, |time| sorption.activity(held(time)) * TAKEN_UP < 1.0);
        coolest.is_none_or(|coolest| saturation_pressure(coolest) >= TAKEN_UP * vapour)
    })
}

/// When so many zones are passed, s.
fn exit_of(x: &[f64], zones: usize) -> f64 {
    (0..zones)
        .map(|zone| x[BODY.len() + zone * ZONE + TIME])
        .sum()
}

fn evaluate<const FIGURE: usize, const ZONES: usize>(
    passes: &mut Passes,
    x: &[f64],
) -> Result<Reading, Outside> {
    let figure = FIGURES[FIGURE];
    let (shared, cooled) = (BODY.len() + ZONES * ZONE, figure.after());
    let run_inputs = &x[..shared + if cooled { COOLING.len() } else { 0 }];
    let pass = passes.pass(
        ZONES as u64 + if cooled { 16 } else { 0 },
        run_inputs,
        |settings| heated(run_inputs, None, ZONES, cooled, settings),
    )?;
    read(figure, pass, x, (run_inputs.len(), ZONES), false)
}

/// A figure at one corner of a box, with the corner across from it.
fn bound<const FIGURE: usize, const ZONES: usize>(
    passes: &mut Passes,
    x: &[f64],
    across: &[f64],
) -> Result<Reading, Outside> {
    let figure = FIGURES[FIGURE];
    let count = BODY.len() + ZONES * ZONE;
    let corner = &x[..count];
    // Two figures that differ in what else they read share the run.
    let mut other = corner.to_vec();
    for input in 0..count {
        let of_zone = input.checked_sub(BODY.len()).map(|input| input % ZONE);
        let counts = match of_zone {
            None => WHERE_HEAT_LEAVES.contains(&input),
            Some(input) => matches!(input, TRANSFER | TRANSFER_BELOW),
        };
        if counts {
            other[input] = across[input];
        }
    }
    let pass = if corner == other {
        passes.pass(ZONES as u64, corner, |settings| {
            heated(corner, None, ZONES, false, settings)
        })?
    } else {
        passes.pass(8 + ZONES as u64, &[corner, &other].concat(), |settings| {
            heated(corner, Some(&other), ZONES, false, settings)
        })?
    };
    read(figure, pass, x, (count, ZONES), true)
}

fn read(
    figure: Figure,
    pass: &Pass,
    x: &[f64],
    (count, zones): (usize, usize),
    bounded: bool,
) -> Result<Reading, Outside> {
    let exit = exit_of(x, zones);
    if pass.peak(Place::Surface, Stretch::Whole) > HOTTEST {
        // Up to there the model holds, and what was reached stays reached.
        let until = pass.reach(Place::Surface, HOTTEST, Stretch::ToExit);
        let at_least = match (figure, until) {
            (Figure::Peak, Some(until)) => pass.at(Place::Boundary, until),
            (Figure::SurfacePeak, Some(_)) => HOTTEST,
            _ => return Err(Outside::Together(TOO_HOT)),
        };
        return Ok(Reading {
            value: f64::INFINITY,
            holds: holds(pass, x, zones, exit, bounded),
            at_least: Some(at_least),
        });
    }
    let value = figure.read(pass, &x[count..])?;
    let from = match figure {
        Figure::Reach => value,
        Figure::Above => pass
            .reach(Place::Boundary, x[x.len() - 1], Stretch::ToExit)
            .unwrap_or(exit),
        // What cools again is hottest before the exit, and must be dry by then.
        _ if bounded && !pass.only_warms(0..zones, SLACK) => {
            figure.counts_within().map_or(exit, |below| {
                let level = pass.peak(Place::Boundary, Stretch::ToExit) - below;
                let reached = pass.reach(Place::Boundary, level, Stretch::ToExit);
                reached.unwrap_or(exit)
            })
        }
        _ => exit,
    };
    Ok(Reading::new(value, holds(pass, x, zones, from, bounded)))
}

/// Points at which the film is as far above its air or panel as the box allows, or cools soonest.
fn checks<const ZONES: usize>(inputs: &[(f64, f64)]) -> Vec<Vec<f64>> {
    let count = BODY.len() + ZONES * ZONE;
    let corner = |hot: bool| -> Vec<f64> {
        inputs
            .iter()
            .enumerate()
            .map(|(i, &(low, high))| {
                let direction = if i < BODY.len() {
                    BODY[i].direction
                } else if i < count {
                    ZONE_INPUTS[0][(i - BODY.len()) % ZONE].direction
                } else {
                    Rises
                };
                let rises = matches!(direction, Rises | RisesWhileHeating | Mixed);
                if rises == hot { high } else { low }
            })
            .collect()
    };
    let hot = corner(true);
    let with = |from: &[f64], low: &[usize]| {
        let mut point = from.to_vec();
        for zone in 0..ZONES {
            for &input in low {
                let at = BODY.len() + zone * ZONE + input;
                point[at] = inputs[at].0;
            }
        }
        point
    };
    let mut warm_start = corner(false);
    warm_start[0] = inputs[0].1;
    vec![
        with(&hot, &[AIR, AIR_BELOW, TRANSFER, TRANSFER_BELOW]),
        with(&hot, &[AIR, AIR_BELOW]),
        with(&hot, &[PANEL]),
        warm_start,
    ]
}

/// Which figure of a pass a row is, and of how many zones.
fn shape(function: &Function) -> Option<(Figure, usize)> {
    let row = ROWS.iter().position(|row| row.name == function.name)?;
    // The table lists all figures for one zone, then for two, then for three.
    Some((FIGURES[row % FIGURES.len()], row / FIGURES.len() + 1))
}

/// How well a figure stands for its pass (0 best), how many inputs the pass itself has, and which is a level.
pub(crate) fn pass_inputs(function: &Function) -> Option<(u8, usize, Option<usize>)> {
    let (figure, zones) = shape(function)?;
    let rank = FIGURES.iter().position(|known| *known == figure)?;
    let inputs = BODY.len() + zones * ZONE;
    Some((u8::try_from(rank).ok()?, inputs, figure.level(zones)))
}

/// Whether a figure only tells of what a film has reached so far, or of what adds up, so that a hotter pass is one with
/// more of it whatever comes behind the hottest place. What holds at the exit of several zones, or behind it, does not.
pub(crate) fn keeps_what_was_reached(function: &Function) -> bool {
    let Some((figure, zones)) = shape(function) else {
        return true;
    };
    let at_the_end = matches!(
        figure,
        Figure::Exit | Figure::InkWater | Figure::FabricWater
    );
    !figure.after() && (zones == 1 || !at_the_end)
}

/// The time in each zone.
pub(crate) fn zone_times(function: &Function, x: &[f64]) -> Option<Vec<f64>> {
    let (_, zones) = shape(function)?;
    let zones = x.get(BODY.len()..BODY.len() + zones * ZONE)?;
    Some(zones.chunks_exact(ZONE).map(|zone| zone[TIME]).collect())
}

/// The pass behind a figure, with this zone behind the exit whatever the figure itself says of it.
pub(crate) fn followed(
    function: &Function,
    x: &[f64],
    after: Zone,
    settings: Settings,
) -> Result<Pass, Outside> {
    let Some((_, zones)) = shape(function) else {
        return Err(Outside::Together("there is no pass behind this figure"));
    };
    let mut list: Vec<Zone> = x[BODY.len()..]
        .chunks_exact(ZONE)
        .take(zones)
        .map(zone_of)
        .collect();
    list.push(after);
    let start = Start {
        film: x[0],
        pallet: x[0],
    };
    run(&body_of(x, x[REGAIN]), &list, zones, start, settings)
}

const SOURCE: &str = "two-layer transient heat balance with drying (Incropera; Bird, Stewart and Lightfoot; IAPWS-IF97; Morton and Hearle)";

macro_rules! table {
    ($($name:literal $figure:ident $zones:literal;)*) => {
        /// The tunnel's figures.
        pub(crate) const ROWS: &[Function] = &[$(
            Function {
                name: $name,
                parameters: {
                    const P: [Parameter; Figure::$figure.count($zones)] = parameters(Figure::$figure, $zones);
                    &P
                },
                result: Figure::$figure.result(),
                formula: Figure::$figure.formula(),
                source: SOURCE,
                accuracy: Figure::$figure.accuracy(),
                evaluate: |x| {
                    const P: [Parameter; Figure::$figure.count($zones)] = parameters(Figure::$figure, $zones);
                    inside(&P, x)?;
                    evaluate::<{ Figure::$figure as usize }, $zones>(&mut Passes::default(), x)?.known()
                },
            },
        )*];

        /// The same, with the runs kept.
        pub(crate) const HEAT: &[Heat] = &[$(
            Heat {
                name: $name,
                evaluate: evaluate::<{ Figure::$figure as usize }, $zones>,
                // One zone does not cool what it heats, unless it comes in hotter than its air.
                bound: if $zones > 1 && !Figure::$figure.after() {
                    Some(bound::<{ Figure::$figure as usize }, $zones>)
                } else {
                    None
                },
                ratios: RATIOS,
                checks: checks::<$zones>,
                shift: Figure::$figure.shift($zones),
            },
        )*];
    };
}

table! {
    "film-peak" Peak 1;
    "surface-peak" SurfacePeak 1;
    "film-exit" Exit 1;
    "film-reaches" Reach 1;
    "film-time-above" Above 1;
    "film-dose" Dose 1;
    "ink-water-left" InkWater 1;
    "fabric-water-left" FabricWater 1;
    "dye-index" Dye 1;
    "film-time-above-after-exit" AboveAfter 1;
    "film-dose-after-exit" DoseAfter 1;
    "dye-index-after-exit" DyeAfter 1;
    "film-peak-two-zones" Peak 2;
    "surface-peak-two-zones" SurfacePeak 2;
    "film-exit-two-zones" Exit 2;
    "film-reaches-two-zones" Reach 2;
    "film-time-above-two-zones" Above 2;
    "film-dose-two-zones" Dose 2;
    "ink-water-left-two-zones" InkWater 2;
    "fabric-water-left-two-zones" FabricWater 2;
    "dye-index-two-zones" Dye 2;
    "film-time-above-after-exit-two-zones" AboveAfter 2;
    "film-dose-after-exit-two-zones" DoseAfter 2;
    "dye-index-after-exit-two-zones" DyeAfter 2;
    "film-peak-three-zones" Peak 3;
    "surface-peak-three-zones" SurfacePeak 3;
    "film-exit-three-zones" Exit 3;
    "film-reaches-three-zones" Reach 3;
    "film-time-above-three-zones" Above 3;
    "film-dose-three-zones" Dose 3;
    "ink-water-left-three-zones" InkWater 3;
    "fabric-water-left-three-zones" FabricWater 3;
    "dye-index-three-zones" Dye 3;
    "film-time-above-after-exit-three-zones" AboveAfter 3;
    "film-dose-after-exit-three-zones" DoseAfter 3;
    "dye-index-after-exit-three-zones" DyeAfter 3;
}
