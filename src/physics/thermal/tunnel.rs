//! The tunnel's figures as the language calls them.
//!
//! Every figure of the tunnel takes its inputs in one order: how warm it starts; the ink; the fabric; then each zone with
//! the ramps at its ends; how the piece lies and the air before the mouths; then what the figure itself asks for. A tunnel
//! of one zone has the plain names, `-two-zones` and `-three-zones` take the further zones' numbers after the first's. Figures are counted to the exit; those named `-after-exit` are what free
//! cooling in the room adds, and must not be needed to pass.
//!
//! Directions: the state "hotter and drier" keeps its order under the equations (Kamke-Müller comparison theorem), so
//! whatever heats at every instant heats the result. Weight, specific heat and water cool only while the film warms; heat
//! transfer heats only while the film is cooler than the air, a panel's factor only while it is cooler than the panel.
//! Conduction, regain, vapour pressure and the path of the upper ply's vapour go either way. With several zones, or with
//! mouths that are not sharp, a later stretch may cool: there a run is made that bounds all of a box, in which weight,
//! specific heat, heat transfer and the panel's factor count at one end where heat comes in and at the other where it
//! leaves.

use super::figure::{FIGURES, Figure, parameters};
use super::inputs::{
    AIR, AIR_BELOW, BODY, COOLING, EDGE_INSIDE, EDGE_OUTSIDE, EDGES, FABRIC_MASS, INK_MASS, LAY,
    MOUTH_AIR, PANEL, PANEL_FACTOR, PLIES, PLY_CONTACT, RATIOS, REGAIN, TIME, TRANSFER,
    TRANSFER_BELOW, VAPOUR, VAPOUR_PATH, VAPOUR_PATHS, ZONE, ZONE_INPUTS, body_of, edges_of,
    lower_of, zone_of,
};
use super::mouths::ROOM_VAPOUR;
use super::solver::{Cooling, bounded};
use super::{BeltStretch, Body, Edges, Pass, Place, Settings, Start, Stretch, Zone, stretches};
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
const MOISTURE: usize = 10;

/// How a piece lies, and the air before the mouths.
fn lay(x: &[f64], zones: usize) -> &[f64] {
    &x[BODY.len() + zones * ZONE..][..LAY.len()]
}

/// The ramps at the ends of each zone.
fn edges(x: &[f64], zones: usize) -> Vec<Edges> {
    let list = x[BODY.len()..].chunks_exact(ZONE).take(zones);
    list.map(edges_of).collect()
}

fn are_sharp(x: &[f64], zones: usize) -> bool {
    edges(x, zones).iter().all(Edges::are_sharp)
}

/// What is heated, and the zones that heat it.
fn heating(x: &[f64], zones: usize) -> Result<(Body, Vec<Zone>), Outside> {
    let lay = lay(x, zones);
    if ![1.0, 2.0].contains(&counted(lay[PLIES])) {
        return Err(Outside::Together("a print lies on one ply or on two"));
    }
    let list = x[BODY.len()..].chunks_exact(ZONE).take(zones);
    let body = Body {
        lower: lower_of(x, lay),
        ..body_of(x, x[REGAIN])
    };
    Ok((body, list.map(zone_of).collect()))
}

/// A count that comes out of two stated values may be a rounding off.
fn counted(x: f64) -> f64 {
    if (x - x.round()).abs() < 1.0e-9 {
        x.round()
    } else {
        x
    }
}

/// The inputs of a pass, those that say nothing here told alike: with one ply what lies under it, with sharp mouths the room.
fn told(mut x: Vec<f64>, zones: usize) -> Vec<f64> {
    let at = BODY.len() + zones * ZONE;
    x[at + PLIES] = counted(x[at + PLIES]);
    if x[at + PLIES] == 1.0 {
        x[at + PLY_CONTACT] = LAY[PLY_CONTACT].low;
        x[at + VAPOUR_PATH] = 0.0;
    }
    if are_sharp(&x, zones) {
        x[at + MOUTH_AIR] = LAY[MOUTH_AIR].high;
    }
    x
}

/// Inputs that make no difference in a box get one value each: what lies under one ply, and how a dry fabric would dry.
fn settle<const ZONES: usize>(inputs: &mut [(f64, f64)]) {
    let at = BODY.len() + ZONES * ZONE;
    let mut idle = Vec::new();
    if inputs[at + PLIES] == (1.0, 1.0) {
        idle.extend([at + PLY_CONTACT, at + VAPOUR_PATH]);
    }
    if inputs[MOISTURE] == (0.0, 0.0) {
        idle.extend([at + VAPOUR_PATH, REGAIN]);
    }
    for input in idle {
        inputs[input].1 = inputs[input].0;
    }
}

/// Whether the first input in which two corners differ makes this one the hotter.
fn is_hotter(x: &[f64], across: &[f64]) -> bool {
    let differs = x.iter().zip(across).position(|(one, other)| one != other);
    // Of what counts where heat leaves, all of the body's inputs cool and all of a zone's heat.
    differs.is_some_and(|input| (x[input] < across[input]) == cools(input))
}

/// Whether more of an input that counts where heat leaves cools: of the body all, of a zone the width of a ramp on its
/// hotter side.
fn cools(input: usize) -> bool {
    input < BODY.len() || (input - BODY.len()) % ZONE == EDGE_INSIDE
}

/// `across` is the other corner of a box, where the run shall bound what lies between.
fn heated(
    x: &[f64],
    across: Option<&[f64]>,
    zones: usize,
    cooled: bool,
    settings: Settings,
) -> Result<Pass, Outside> {
    let (body, list) = heating(x, zones)?;
    let (own, room) = (edges(x, zones), lay(x, zones)[MOUTH_AIR]);
    let other = across.map(|across| heating(across, zones)).transpose()?;
    let along = across.map(|across| edges(across, zones));
    let mut belt = stretches(&list, &own, room, along.as_deref());
    let mut across_belt = Vec::new();
    if let (Some((_, list)), Some(along)) = (&other, &along) {
        across_belt = stretches(list, along, room, Some(&own));
    }
    if let (true, &[room, transfer, time]) = (cooled, &x[BODY.len() + zones * ZONE + LAY.len()..]) {
        belt.push(after_exit(Zone::room(time, transfer, room, 1500.0), zones));
    }
    let start = Start {
        film: x[0],
        pallet: x[0],
    };
    let cooling = other.as_ref().map(|(body, _)| Cooling {
        body,
        stretches: &across_belt,
        hottest: across.is_some_and(|across| is_hotter(x, across)),
    });
    bounded(&body, &belt, zones, start, settings, cooling)
}

/// A stretch behind the last zone.
const fn after_exit(zone: Zone, zones: usize) -> BeltStretch {
    BeltStretch {
        zone,
        of: zones,
        ramp: false,
    }
}

/// Which inputs may be taken as monotone in this run, for a figure that begins to count at `from`, s.
///
/// While anything is still wet more heat transfer also carries more vapour away, and may cool; and a heavier ink holds its
/// water tighter. So what is wet must be dry before the figure begins to count.
///
/// A run that is `bounded` may cool: where heat leaves, each of them counts at the end that bounds. What is dry must stay so
/// hot that it takes no water up again: when that begins hangs on next to nothing.
fn holds(
    pass: &Pass,
    x: &[f64],
    (zones, passage): (usize, [f64; 2]),
    from: f64,
    bounded: bool,
) -> u64 {
    let mut bits = 0;
    let dry = is_dry(pass, x, from);
    let sharp = are_sharp(x, zones);
    let bounded = bounded && stays_dry(pass, x, (zones, passage), sharp);
    if bounded || pass.only_warms(0..zones, SLACK) {
        bits |= (1 << BODY.len()) - 1;
        if !dry {
            bits &= !(1 << INK_MASS);
        }
    }
    for zone in 0..zones {
        let base = BODY.len() + zone * ZONE;
        let surface = pass.peak_in_zone(Place::Surface, zone);
        let back = pass.peak_in_zone(Place::LastBack, zone);
        let mut set = |input: usize, holds: bool| bits |= u64::from(holds) << (base + input);
        set(TIME, pass.only_warms(zone..zone + 1, SLACK));
        // On a ramp the air is cooler than in the zone.
        let cooler = |of: f64, by: usize| bounded || sharp && of <= x[base + by] + SLACK;
        set(TRANSFER, dry && cooler(surface, AIR));
        set(TRANSFER_BELOW, dry && cooler(back, AIR_BELOW));
        set(PANEL_FACTOR, cooler(surface, PANEL));
        for edge in [EDGE_INSIDE, EDGE_OUTSIDE] {
            set(edge, bounded && dry);
        }
    }
    bits
}

/// Whether film and fabric hold next to no water any more at a time, s.
fn is_dry(pass: &Pass, x: &[f64], time: f64) -> bool {
    let (ink, fabric) = (x[INK_MASS], x[FABRIC_MASS]);
    (x[5] <= 1.0e-12 || pass.at(Place::InkWater, time) <= 0.02 * ink)
        && pass.at(Place::FabricWater, time) <= 0.01 * fabric
        && pass.at(Place::LowerWater, time) <= 0.01 * fabric
}

/// Whether no zone behind the first is so cool that dry fabric would take up water from its air; nor the first, where its
/// mouths are not sharp.
fn stays_dry(pass: &Pass, x: &[f64], (zones, passage): (usize, [f64; 2]), sharp: bool) -> bool {
    let sorption = Sorption::of_regain(x[REGAIN]);
    let held = |time: f64| {
        let most = pass.at(Place::FabricWater, time);
        let most = most.max(pass.at(Place::LowerWater, time));
        most.max(0.0) / x[FABRIC_MASS]
    };
    let dry = |time: f64| sorption.activity(held(time)) * TAKEN_UP < 1.0;
    let hot = |coolest: Option<f64>, vapour: f64| {
        coolest.is_none_or(|coolest| saturation_pressure(coolest) >= TAKEN_UP * vapour)
    };
    let [entrance, end] = passage;
    let mouth = end - edges_of(&x[BODY.len() + (zones - 1) * ZONE..]).reach();
    let inside = |time: f64| (entrance..=mouth).contains(&time);
    (usize::from(sharp)..zones).all(|zone| {
        let vapour = x[BODY.len() + zone * ZONE + VAPOUR];
        hot(
            pass.coolest_in_zone(zone, |time| dry(time) && inside(time)),
            vapour,
        ) && hot(
            pass.coolest_in_zone(zone, |time| dry(time) && !inside(time)),
            ROOM_VAPOUR,
        )
    })
}

/// When a print enters the tunnel, and when it is back in the room's air, s after it comes to the ramp before the entrance.
fn passage(x: &[f64], zones: usize, along: Option<&[f64]>) -> [f64; 2] {
    let all = std::iter::once(x).chain(along);
    let reach = |zone: usize| {
        let reaches = all
            .clone()
            .map(|x| edges_of(&x[BODY.len() + zone * ZONE..]).reach());
        reaches.fold(0.0, f64::max)
    };
    let (entrance, tail) = (reach(0), reach(zones - 1));
    let times = (0..zones).map(|zone| x[BODY.len() + zone * ZONE + TIME]);
    [entrance, entrance + times.sum::<f64>() + tail]
}

fn evaluate<const FIGURE: usize, const ZONES: usize>(
    passes: &mut Passes,
    x: &[f64],
) -> Result<Reading, Outside> {
    let figure = FIGURES[FIGURE];
    let (shared, cooled) = (BODY.len() + ZONES * ZONE + LAY.len(), figure.after());
    let count = shared + if cooled { COOLING.len() } else { 0 };
    let run_inputs = told(x[..count].to_vec(), ZONES);
    let pass = passes.pass(
        ZONES as u64 + if cooled { 16 } else { 0 },
        &run_inputs,
        |settings| heated(&run_inputs, None, ZONES, cooled, settings),
    )?;
    let passage = passage(x, ZONES, None);
    read(figure, pass, x, (count, ZONES, passage), false)
}

/// A figure at one corner of a box, with the corner across from it.
fn bound<const FIGURE: usize, const ZONES: usize>(
    passes: &mut Passes,
    x: &[f64],
    across: &[f64],
) -> Result<Reading, Outside> {
    let figure = FIGURES[FIGURE];
    let behind_zones = BODY.len() + ZONES * ZONE;
    let count = behind_zones + LAY.len();
    let sharp = [x, across].map(|x| are_sharp(x, ZONES));
    if ZONES == 1 && sharp == [true; 2] {
        // One zone does not cool what it heats, unless it comes in hotter than its air.
        return evaluate::<FIGURE, ZONES>(passes, x);
    }
    let corner = told(x[..count].to_vec(), ZONES);
    // Two figures that differ in what else they read share the run.
    let mut other = corner.clone();
    for input in 0..count {
        let counts = if input < BODY.len() {
            WHERE_HEAT_LEAVES.contains(&input)
        } else if input < behind_zones {
            let of_zone = (input - BODY.len()) % ZONE;
            matches!(
                of_zone,
                TRANSFER | TRANSFER_BELOW | PANEL_FACTOR | EDGE_INSIDE | EDGE_OUTSIDE
            )
        } else {
            false
        };
        if counts {
            other[input] = across[input];
        }
    }
    let along = (corner != other).then_some(other.as_slice());
    let pass = if along.is_none() {
        passes.pass(ZONES as u64, &corner, |settings| {
            heated(&corner, None, ZONES, false, settings)
        })?
    } else {
        let both = [corner.as_slice(), &other].concat();
        passes.pass(8 + ZONES as u64, &both, |settings| {
            heated(&corner, Some(&other), ZONES, false, settings)
        })?
    };
    let passage = passage(x, ZONES, along);
    read(figure, pass, x, (count, ZONES, passage), true)
}

fn read(
    figure: Figure,
    pass: &Pass,
    x: &[f64],
    (count, zones, passage): (usize, usize, [f64; 2]),
    bounded: bool,
) -> Result<Reading, Outside> {
    let [entrance, exit] = passage;
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
            holds: holds(pass, x, (zones, passage), exit, bounded),
            at_least: Some(at_least),
        });
    }
    let value = figure.read(pass, passage, &x[count..])?;
    let from = match figure {
        Figure::Reach => entrance + value,
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
    let mut holds = holds(pass, x, (zones, passage), from, bounded);
    if figure == Figure::Reach {
        // Ramps are longer on a slower belt; between sharp mouths more time only brings a level within reach.
        let last = 1 << (BODY.len() + (zones - 1) * ZONE + TIME);
        holds &= !last;
        if are_sharp(x, zones) {
            holds |= last;
        }
    }
    if matches!(
        figure,
        Figure::Exit | Figure::InkWater | Figure::FabricWater
    ) {
        // A wider mouth also puts off when a print is out of it.
        for zone in 0..zones {
            let base = BODY.len() + zone * ZONE;
            holds &= !(1 << (base + EDGE_INSIDE) | 1 << (base + EDGE_OUTSIDE));
        }
    }
    Ok(Reading::new(value, holds))
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
                    LAY.get(i - count).map_or(Rises, |lay| lay.direction)
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
    let inputs = BODY.len() + zones * ZONE + LAY.len();
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

/// When a print enters the tunnel behind a figure, s after it comes to the ramp before the entrance.
pub(crate) fn entrance(function: &Function, x: &[f64]) -> Option<f64> {
    let (_, zones) = shape(function)?;
    Some(passage(x, zones, None)[0])
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
    let (body, list) = heating(x, zones)?;
    let room = lay(x, zones)[MOUTH_AIR];
    let mut belt = stretches(&list, &edges(x, zones), room, None);
    belt.push(after_exit(after, zones));
    let start = Start {
        film: x[0],
        pallet: x[0],
    };
    bounded(&body, &belt, zones, start, settings, None)
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
                bound: if !Figure::$figure.after() {
                    Some(bound::<{ Figure::$figure as usize }, $zones>)
                } else {
                    None
                },
                ratios: RATIOS,
                checks: checks::<$zones>,
                settle: settle::<$zones>,
                scan: {
                    const LAY_AT: usize = BODY.len() + $zones * ZONE;
                    &[
                        (LAY_AT + PLIES, &[]),
                        (LAY_AT + VAPOUR_PATH, &VAPOUR_PATHS),
                        (BODY.len() + EDGE_INSIDE, &EDGES),
                        (BODY.len() + ($zones - 1) * ZONE + EDGE_INSIDE, &EDGES),
                    ]
                },
                pairs: {
                    const LAST: usize = BODY.len() + ($zones - 1) * ZONE;
                    const SECOND: usize = BODY.len() + ($zones / 2) * ZONE;
                    &[
                        (BODY.len() + EDGE_INSIDE, BODY.len() + EDGE_OUTSIDE),
                        (SECOND + EDGE_INSIDE, SECOND + EDGE_OUTSIDE),
                        (LAST + EDGE_INSIDE, LAST + EDGE_OUTSIDE),
                    ]
                },
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
