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
//! Conduction, regain and vapour pressure go either way.

use super::{Back, Body, Pass, Place, Settings, Start, Stretch, Zone, run};
use crate::physics::dose::Rate;
use crate::physics::function::{Accuracy, Direction, Function, Outside, Parameter, inside};
use crate::physics::passes::{Heat, Passes, Reading};
use Direction::{Falls, FallsWhileHeating, Mixed, Rises, RisesWhileHeating};

const fn input(name: &'static str, dimension: &'static str, low: f64, high: f64, direction: Direction) -> Parameter {
    Parameter { name, dimension, low, high, direction }
}

/// Start, ink and fabric; the direction is that of the film's warmth.
pub(crate) const BODY: [Parameter; 12] = [
    input("start", "temperature", 273.15, 393.15, Rises),
    input("ink-mass", "mass-per-area", 0.005, 0.6, FallsWhileHeating),
    input("ink-thickness", "length", 1.0e-5, 3.0e-4, Mixed),
    input("ink-heat", "specific-heat", 1000.0, 3000.0, FallsWhileHeating),
    input("ink-conductivity", "conductivity", 0.05, 1.0, Mixed),
    input("ink-water", "mass-per-area", 0.0, 0.3, FallsWhileHeating),
    input("fabric-mass", "mass-per-area", 0.05, 0.8, FallsWhileHeating),
    input("fabric-thickness", "length", 1.0e-4, 2.5e-3, Mixed),
    input("fabric-heat", "specific-heat", 900.0, 2000.0, FallsWhileHeating),
    input("fabric-conductivity", "conductivity", 0.03, 0.3, Mixed),
    input("moisture", "share", 0.0, 0.3, FallsWhileHeating),
    input("regain", "share", 0.001, 0.2, Mixed),
];

/// Inputs of `BODY` that enter only as conductivity over thickness.
pub(crate) const RATIOS: &[(usize, usize)] = &[(4, 2), (9, 7)];

const ZONE: usize = 9;
const TIME: usize = 0;
const AIR: usize = 1;
const AIR_BELOW: usize = 2;
const TRANSFER: usize = 3;
const TRANSFER_BELOW: usize = 4;
const PANEL: usize = 5;
const PANEL_FACTOR: usize = 6;
const FLUX: usize = 7;
const VAPOUR: usize = 8;

const fn zone(names: [&'static str; ZONE]) -> [Parameter; ZONE] {
    [
        input(names[TIME], "time", 0.5, 3600.0, RisesWhileHeating),
        input(names[AIR], "temperature", 273.15, 623.15, Rises),
        input(names[AIR_BELOW], "temperature", 273.15, 623.15, Rises),
        input(names[TRANSFER], "heat-transfer", 0.0, 150.0, RisesWhileHeating),
        input(names[TRANSFER_BELOW], "heat-transfer", 0.0, 150.0, RisesWhileHeating),
        input(names[PANEL], "temperature", 273.15, 1273.15, Rises),
        input(names[PANEL_FACTOR], "share", 0.0, 1.0, RisesWhileHeating),
        input(names[FLUX], "heat-flux", 0.0, 60_000.0, Rises),
        input(names[VAPOUR], "pressure", 0.0, 50_000.0, Mixed),
    ]
}

const ZONES: [[Parameter; ZONE]; 3] = [
    zone(["time", "air", "air-below", "transfer", "transfer-below", "panel", "panel-factor", "flux", "vapour"]),
    zone([
        "time-2", "air-2", "air-below-2", "transfer-2", "transfer-below-2", "panel-2", "panel-factor-2", "flux-2", "vapour-2",
    ]),
    zone([
        "time-3", "air-3", "air-below-3", "transfer-3", "transfer-below-3", "panel-3", "panel-factor-3", "flux-3", "vapour-3",
    ]),
];

const LEVEL: Parameter = input("level", "temperature", 273.15, 623.15, Falls);
const REFERENCE: Parameter = input("reference", "temperature", 273.15, 623.15, Falls);
const ENERGY: Parameter = input("energy", "molar-energy", 1.0e4, 3.0e5, Mixed);
const COOLING: [Parameter; 3] = [
    input("room", "temperature", 253.15, 333.15, Rises),
    input("room-transfer", "heat-transfer", 0.0, 100.0, Mixed),
    input("cooling-time", "time", 0.5, 3600.0, Rises),
];
const PASSED: [Parameter; 4] = [
    input("passed-temperature", "temperature", 373.15, 523.15, Falls),
    input("passed-time", "time", 1.0, 3600.0, Falls),
    ENERGY,
    input("factor", "number", 0.0, 100.0, Rises),
];

/// What is read off a pass.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Figure {
    Peak,
    SurfacePeak,
    Exit,
    Reach,
    Above,
    Dose,
    InkWater,
    FabricWater,
    Dye,
    AboveAfter,
    DoseAfter,
    DyeAfter,
}

const FIGURES: [Figure; 12] = [
    Figure::Peak,
    Figure::SurfacePeak,
    Figure::Exit,
    Figure::Reach,
    Figure::Above,
    Figure::Dose,
    Figure::InkWater,
    Figure::FabricWater,
    Figure::Dye,
    Figure::AboveAfter,
    Figure::DoseAfter,
    Figure::DyeAfter,
];

impl Figure {
    const fn after(self) -> bool {
        matches!(self, Self::AboveAfter | Self::DoseAfter | Self::DyeAfter)
    }

    /// Whether warmth makes it smaller.
    const fn inverse(self) -> bool {
        matches!(self, Self::Reach | Self::InkWater | Self::FabricWater)
    }

    const fn asks(self) -> &'static [Parameter] {
        match self {
            Self::Peak | Self::SurfacePeak | Self::Exit | Self::InkWater | Self::FabricWater => &[],
            Self::Reach => &[Parameter { direction: Rises, ..LEVEL }],
            Self::Above | Self::AboveAfter => &[LEVEL],
            Self::Dose | Self::DoseAfter => &[REFERENCE, ENERGY],
            Self::Dye | Self::DyeAfter => &PASSED,
        }
    }

    const fn count(self, zones: usize) -> usize {
        BODY.len() + zones * ZONE + if self.after() { COOLING.len() } else { 0 } + self.asks().len()
    }

    /// The direction of input `index` of the body or a zone, from that of the film's warmth.
    const fn direction(self, index: usize, zones: usize, warmth: Direction) -> Direction {
        if index < BODY.len() {
            if self.after() && matches!(warmth, FallsWhileHeating) {
                // After the exit a heavier piece stays hot longer.
                return Mixed;
            }
        } else if (index - BODY.len()) % ZONE == TIME {
            let last = (index - BODY.len()) / ZONE + 1 == zones;
            match self {
                // More time in the last zone can only add to a peak or a sum, or bring the level within reach.
                Self::Peak | Self::SurfacePeak | Self::Above | Self::Dose | Self::Dye if last => return Rises,
                Self::Reach => return if last { Falls } else { Mixed },
                _ => {}
            }
        }
        if self.inverse() { warm_direction(warmth) } else { warmth }
    }

    /// Which input is a temperature level, where the figure is a time.
    const fn level(self, zones: usize) -> Option<usize> {
        match self {
            Self::Reach | Self::Above | Self::AboveAfter => Some(self.count(zones) - 1),
            _ => None,
        }
    }

    const fn accuracy(self) -> Accuracy {
        match self {
            Self::Peak | Self::SurfacePeak => Accuracy::Absolute(0.3),
            Self::Exit => Accuracy::Absolute(0.4),
            Self::Reach => Accuracy::Absolute(0.15),
            Self::Above | Self::AboveAfter => Accuracy::Absolute(0.25),
            Self::Dose | Self::DoseAfter => Accuracy::Relative(0.015),
            Self::InkWater | Self::FabricWater => Accuracy::Absolute(1.0e-3),
            Self::Dye | Self::DyeAfter => Accuracy::Relative(0.04),
        }
    }

    const fn result(self) -> &'static str {
        match self {
            Self::Peak | Self::SurfacePeak | Self::Exit => "temperature",
            Self::Reach | Self::Above | Self::Dose | Self::AboveAfter | Self::DoseAfter => "time",
            Self::InkWater | Self::FabricWater => "mass-per-area",
            Self::Dye | Self::DyeAfter => "number",
        }
    }

    const fn formula(self) -> &'static str {
        match self {
            Self::Peak => "highest temperature where ink meets fabric, up to the exit",
            Self::SurfacePeak => "highest temperature of the ink's surface, up to the exit",
            Self::Exit => "temperature where ink meets fabric, at the exit",
            Self::Reach => "time until ink meets fabric at `level`",
            Self::Above => "time for which ink meets fabric at or above `level`, up to the exit",
            Self::Dose => "∫ exp(−energy/R × (1/T − 1/reference)) dt where ink meets fabric, up to the exit",
            Self::InkWater => "water left in the film at the exit",
            Self::FabricWater => "water left in the fabric at the exit",
            Self::Dye => {
                "factor × ∫ exp(−energy/R × (1/T − 1/passed-temperature)) dt / passed-time where ink meets fabric, up to the exit"
            }
            Self::AboveAfter => "time for which ink meets fabric at or above `level`, cooling in the room after the exit",
            Self::DoseAfter => {
                "∫ exp(−energy/R × (1/T − 1/reference)) dt where ink meets fabric, cooling in the room after the exit"
            }
            Self::DyeAfter => {
                "factor × ∫ exp(−energy/R × (1/T − 1/passed-temperature)) dt / passed-time where ink meets fabric, cooling in the room after the exit"
            }
        }
    }

    fn read(self, pass: &Pass, asked: &[f64]) -> Result<f64, Outside> {
        let place = Place::Boundary;
        let stretch = if self.after() { Stretch::AfterExit } else { Stretch::ToExit };
        let value = match (self, asked) {
            (Self::Peak, _) => pass.peak(place, stretch),
            (Self::SurfacePeak, _) => pass.peak(Place::Surface, stretch),
            (Self::Exit, _) => pass.at_exit(place),
            (Self::Reach, &[level]) => pass
                .reach(place, level, stretch)
                .ok_or(Outside::Never("the film does not come to that temperature before the exit"))?,
            (Self::Above | Self::AboveAfter, &[level]) => pass.above(place, level, stretch),
            (Self::Dose | Self::DoseAfter, &[reference, energy]) => {
                pass.equivalent(place, &Rate::Arrhenius { reference, energy }, stretch)
            }
            (Self::InkWater, _) => pass.at_exit(Place::InkWater).max(0.0),
            (Self::FabricWater, _) => pass.at_exit(Place::FabricWater).max(0.0),
            (Self::Dye | Self::DyeAfter, &[reference, time, energy, factor]) => {
                factor * pass.equivalent(place, &Rate::Arrhenius { reference, energy }, stretch) / time
            }
            _ => return Err(Outside::Together("each parameter needs one number")),
        };
        if value.is_finite() { Ok(value) } else { Err(Outside::Together("the figure is too large for a number")) }
    }
}

/// The direction of a figure that falls with warmth.
pub(crate) const fn warm_direction(warmth: Direction) -> Direction {
    match warmth {
        Rises => Falls,
        Falls => Rises,
        Mixed => Mixed,
        RisesWhileHeating => FallsWhileHeating,
        FallsWhileHeating => RisesWhileHeating,
    }
}

const fn parameters<const N: usize>(figure: Figure, zones: usize) -> [Parameter; N] {
    let mut all = [LEVEL; N];
    let (mut at, mut i) = (0, 0);
    while at < BODY.len() + zones * ZONE {
        let from = if at < BODY.len() { BODY[at] } else { ZONES[(at - BODY.len()) / ZONE][(at - BODY.len()) % ZONE] };
        all[at] = Parameter { direction: figure.direction(at, zones, from.direction), ..from };
        at += 1;
    }
    while figure.after() && i < COOLING.len() {
        all[at] = COOLING[i];
        at += 1;
        i += 1;
    }
    let asked = figure.asks();
    i = 0;
    while i < asked.len() {
        all[at] = asked[i];
        at += 1;
        i += 1;
    }
    all
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
    }
}

fn zone_of(x: &[f64]) -> Zone {
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
        back: Back::Belt,
    }
}

/// Hottest film the model speaks of, K: the steam table ends there.
const HOTTEST: f64 = 623.15;
/// Cooling that still counts as warming, K: the solver's own error.
const SLACK: f64 = 0.05;

fn heated(x: &[f64], zones: usize, cooled: bool, settings: Settings) -> Result<Pass, Outside> {
    let body = body_of(x, x[11]);
    let mut list: Vec<Zone> = x[BODY.len()..].chunks_exact(ZONE).take(zones).map(zone_of).collect();
    if let (true, &[room, transfer, time]) = (cooled, &x[BODY.len() + zones * ZONE..]) {
        list.push(Zone::room(time, transfer, room, 1500.0));
    }
    let pass = run(&body, &list, zones, Start { film: x[0], pallet: x[0] }, settings)?;
    if pass.peak(Place::Surface, Stretch::Whole) > HOTTEST {
        return Err(Outside::Together("the film would pass 350 °C, where the model ends"));
    }
    Ok(pass)
}

/// Which inputs may be taken as monotone in this run.
fn holds(pass: &Pass, x: &[f64], zones: usize) -> u64 {
    let mut bits = 0;
    if pass.only_warms(0..zones, SLACK) {
        bits |= (1 << BODY.len()) - 1;
    }
    for zone in 0..zones {
        let base = BODY.len() + zone * ZONE;
        let surface = pass.peak_in_zone(Place::Surface, zone);
        let back = pass.peak_in_zone(Place::Back, zone);
        let mut set = |input: usize, holds: bool| bits |= u64::from(holds) << (base + input);
        set(TIME, pass.only_warms(zone..zone + 1, SLACK));
        set(TRANSFER, surface <= x[base + AIR] + SLACK);
        set(TRANSFER_BELOW, back <= x[base + AIR_BELOW] + SLACK);
        set(PANEL_FACTOR, surface <= x[base + PANEL] + SLACK);
    }
    bits
}

fn evaluate<const FIGURE: usize, const ZONES: usize>(passes: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    let figure = FIGURES[FIGURE];
    let (shared, cooled) = (BODY.len() + ZONES * ZONE, figure.after());
    let run_inputs = &x[..shared + if cooled { COOLING.len() } else { 0 }];
    let pass = passes.pass(ZONES as u64 + if cooled { 16 } else { 0 }, run_inputs, |settings| {
        heated(run_inputs, ZONES, cooled, settings)
    })?;
    Ok(Reading { value: figure.read(pass, &x[run_inputs.len()..])?, holds: holds(pass, x, ZONES) })
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
                    self::ZONES[0][(i - BODY.len()) % ZONE].direction
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
                    Ok(evaluate::<{ Figure::$figure as usize }, $zones>(&mut Passes::default(), x)?.value)
                },
            },
        )*];

        /// The same, with the runs kept.
        pub(crate) const HEAT: &[Heat] = &[$(
            Heat {
                name: $name,
                evaluate: evaluate::<{ Figure::$figure as usize }, $zones>,
                ratios: RATIOS,
                checks: checks::<$zones>,
                level: Figure::$figure.level($zones),
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
