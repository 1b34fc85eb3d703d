//! The inputs of the tunnel's figures, in the order in which the language gives them.

use super::{Back, Body, Edges, Lower, Zone};
use crate::physics::function::{Direction, Parameter};
use Direction::{Falls, FallsWhileHeating, Mixed, Rises, RisesWhileHeating};

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

/// Start, ink and fabric; the direction is that of the film's warmth.
///
/// A film thinner than 20 µm is at one temperature, so the model takes it; above 300 µm it was never checked.
pub(crate) const BODY: [Parameter; 12] = [
    input("start", "temperature", 273.15, 393.15, Rises),
    input("ink-mass", "areal-mass", 0.005, 0.6, FallsWhileHeating),
    input("ink-thickness", "length", 1.0e-5, 3.0e-4, Mixed),
    input(
        "ink-heat",
        "specific-heat",
        1000.0,
        3000.0,
        FallsWhileHeating,
    ),
    input("ink-conductivity", "conductivity", 0.05, 1.0, Mixed),
    input("ink-water", "areal-mass", 0.0, 0.3, FallsWhileHeating),
    input("fabric-mass", "areal-mass", 0.05, 0.8, FallsWhileHeating),
    input("fabric-thickness", "length", 1.0e-4, 2.5e-3, Mixed),
    input(
        "fabric-heat",
        "specific-heat",
        900.0,
        2000.0,
        FallsWhileHeating,
    ),
    input("fabric-conductivity", "conductivity", 0.03, 0.3, Mixed),
    input("moisture", "share", 0.0, 0.3, FallsWhileHeating),
    input("regain", "share", 0.001, 0.2, Mixed),
];

pub(crate) const INK_MASS: usize = 1;
pub(super) const FABRIC_MASS: usize = 6;
pub(super) const REGAIN: usize = 11;

/// Inputs of `BODY` that enter only as conductivity over thickness.
pub(crate) const RATIOS: &[(usize, usize)] = &[(4, 2), (9, 7)];

pub(super) const ZONE: usize = 11;
pub(super) const TIME: usize = 0;
pub(super) const AIR: usize = 1;
pub(super) const AIR_BELOW: usize = 2;
pub(super) const TRANSFER: usize = 3;
pub(super) const TRANSFER_BELOW: usize = 4;
pub(super) const PANEL: usize = 5;
pub(super) const PANEL_FACTOR: usize = 6;
pub(super) const FLUX: usize = 7;
pub(super) const VAPOUR: usize = 8;
pub(super) const EDGE_INSIDE: usize = 9;
pub(super) const EDGE_OUTSIDE: usize = 10;

const fn zone(names: [&'static str; ZONE]) -> [Parameter; ZONE] {
    [
        input(names[TIME], "time", 0.5, 3600.0, RisesWhileHeating),
        input(names[AIR], "temperature", 273.15, 623.15, Rises),
        input(names[AIR_BELOW], "temperature", 273.15, 623.15, Rises),
        input(
            names[TRANSFER],
            "heat-transfer",
            0.0,
            150.0,
            RisesWhileHeating,
        ),
        input(
            names[TRANSFER_BELOW],
            "heat-transfer",
            0.0,
            150.0,
            RisesWhileHeating,
        ),
        input(names[PANEL], "temperature", 273.15, 1273.15, Rises),
        input(names[PANEL_FACTOR], "share", 0.0, 1.0, RisesWhileHeating),
        input(names[FLUX], "heat-flux", 0.0, 60_000.0, Rises),
        input(names[VAPOUR], "pressure", 0.0, 50_000.0, Mixed),
        // Shares of the zone's own length, so that they scale as the belt slows down.
        input(names[EDGE_INSIDE], "share", 0.0, 5.0, FallsWhileHeating),
        input(names[EDGE_OUTSIDE], "share", 0.0, 5.0, RisesWhileHeating),
    ]
}

pub(super) const ZONE_INPUTS: [[Parameter; ZONE]; 3] = [
    zone([
        "time",
        "air",
        "air-below",
        "heat-transfer",
        "heat-transfer-below",
        "panel",
        "panel-factor",
        "flux",
        "vapour",
        "edge-inside",
        "edge-outside",
    ]),
    zone([
        "time-2",
        "air-2",
        "air-below-2",
        "heat-transfer-2",
        "heat-transfer-below-2",
        "panel-2",
        "panel-factor-2",
        "flux-2",
        "vapour-2",
        "edge-inside-2",
        "edge-outside-2",
    ]),
    zone([
        "time-3",
        "air-3",
        "air-below-3",
        "heat-transfer-3",
        "heat-transfer-below-3",
        "panel-3",
        "panel-factor-3",
        "flux-3",
        "vapour-3",
        "edge-inside-3",
        "edge-outside-3",
    ]),
];

/// How a piece lies on the belt, and the air before the mouths: what every pass takes behind its zones.
pub(super) const LAY: [Parameter; 4] = [
    input("plies", "count", 1.0, 2.0, Mixed),
    input("ply-contact", "thermal-resistance", 5.0e-4, 0.05, Mixed),
    input("vapour-path", "heat-transfer", 0.0, 150.0, Mixed),
    input("mouth-air", "temperature", 253.15, 333.15, Rises),
];
pub(super) const PLIES: usize = 0;
pub(super) const PLY_CONTACT: usize = 1;
pub(super) const VAPOUR_PATH: usize = 2;
pub(super) const MOUTH_AIR: usize = 3;

/// Paths of the upper ply's vapour at which a pass is tried, W/(m²·K): the film is coldest at one between the ends.
pub(super) const VAPOUR_PATHS: [f64; 3] = [1.0, 4.0, 16.0];
/// Widths of ramps, over their zone, at which a pass is tried: a print that leaves on one is cooler than at either end.
pub(super) const EDGES: [f64; 4] = [0.02, 0.06, 0.15, 0.4];

/// What a time to or above a temperature asks for.
pub(super) const LEVEL: Parameter = input("level", "temperature", 273.15, 623.15, Falls);
const REFERENCE: Parameter = input("reference", "temperature", 273.15, 623.15, Falls);
const ENERGY: Parameter = input("energy", "molar-energy", 3.0e4, 3.0e5, Mixed);
/// Free cooling after the exit.
pub(super) const COOLING: [Parameter; 3] = [
    input("room-air", "temperature", 253.15, 333.15, Rises),
    input("room-heat-transfer", "heat-transfer", 0.0, 100.0, Mixed),
    input("cooling-time", "time", 0.5, 3600.0, Rises),
];
/// What a dose asks for.
pub(super) const ENERGIES: [Parameter; 2] = [REFERENCE, ENERGY];
/// What the dye index asks for: the test the fabric passes, and what is known of the dye.
pub(super) const PASSED: [Parameter; 4] = [
    input("passed-temperature", "temperature", 373.15, 523.15, Falls),
    input("passed-time", "time", 1.0, 3600.0, Falls),
    ENERGY,
    input("factor", "number", 0.0, 100.0, Rises),
];

/// The ply under the printed one, of the same fabric, from the numbers of `BODY` and `LAY`; `None` where there is one ply.
pub(super) fn lower_of(x: &[f64], lay: &[f64]) -> Option<Lower> {
    (lay[PLIES] > 1.5).then(|| Lower {
        mass: x[6],
        thickness: x[7],
        heat: x[8],
        conductivity: x[9],
        moisture: x[10],
        regain: x[REGAIN],
        contact: lay[PLY_CONTACT],
        vapour_path: lay[VAPOUR_PATH],
    })
}

/// The ramps at a zone's ends from its numbers.
pub(super) fn edges_of(x: &[f64]) -> Edges {
    Edges {
        inside: x[EDGE_INSIDE] * x[TIME],
        outside: x[EDGE_OUTSIDE] * x[TIME],
    }
}

/// Ink and fabric from the numbers of `BODY`, without the start.
pub(crate) fn body_of(x: &[f64], regain: f64) -> Body {
    Body {
        ink_mass: x[1],
        ink_thickness: x[2],
        ink_heat: x[3],
        ink_conductivity: x[4],
        ink_water: x[5],
        fabric_mass: x[6],
        fabric_thickness: x[7],
        fabric_heat: x[8],
        fabric_conductivity: x[9],
        moisture: x[10],
        regain,
        pallet_capacity: 0.0,
        lower: None,
        underside: None,
    }
}

pub(super) fn zone_of(x: &[f64]) -> Zone {
    Zone {
        time: x[TIME],
        air: x[AIR],
        air_below: x[AIR_BELOW],
        transfer: x[TRANSFER],
        transfer_below: x[TRANSFER_BELOW],
        panel: x[PANEL],
        panel_factor: x[PANEL_FACTOR],
        flux: x[FLUX],
        vapour: x[VAPOUR],
        panel_factor_below: 0.0,
        panel_below: x[AIR_BELOW],
        drying: 0.0,
        back: Back::Belt,
    }
}
