//! The flash: one coat on a pallet under a panel, by the same engine as the tunnel.
//!
//! A one-temperature formula is off by a factor of two here (or says *never*), because the film gels long before the
//! fabric is warm; so the engine is used. Gel is when surface **and** boundary have passed the gel temperature; over-flash
//! is when the boundary passes the temperature at which the ink starts to fuse, or the fabric's dye lets go. The flash time
//! must lie between the slowest gel and the fastest over-flash.
//!
//! Damp cloth under the coat dries on the pallet, nobody knows by which path: told as a heat transfer it lies between 0 (the
//! pallet keeps the water in) and about 15 W/(m²·K). The gel time is not monotone in it: slow drying keeps the cloth cool
//! for longest. So a span is tried at many values, and a judgement without it may be wrong by a factor of four.

use super::cycle::{Cycle, Recursion};
use super::function::{Accuracy, Direction, Function, Outside, Parameter, inside};
use super::passes::{Heat, Passes, Reading, Shift};
use super::thermal::{
    BODY, Back, Body, INK_MASS, Pass, Place, Settings, Start, Stretch, Zone, body_of, run,
    warm_direction,
};
use Direction::{Falls, Mixed, Rises, RisesWhileHeating};

/// How long a flash is followed, s.
const LONGEST_FLASH: f64 = 120.0;
/// Hottest film the model speaks of, K.
const HOTTEST: f64 = 623.15;
/// Cooling that still counts as warming, K.
const SLACK: f64 = 0.05;

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

/// Start, ink and fabric; the regain comes with the drying.
const COAT: usize = 11;
const INK_WATER: usize = 5;
const MOISTURE: usize = 10;
const PANEL: [Parameter; 6] = [
    input("air", "temperature", 253.15, 623.15, Rises),
    input(
        "heat-transfer",
        "heat-transfer",
        0.0,
        150.0,
        RisesWhileHeating,
    ),
    input("panel", "temperature", 273.15, 1273.15, Rises),
    input("panel-factor", "share", 0.0, 1.0, RisesWhileHeating),
    input("flux", "heat-flux", 0.0, 60_000.0, Rises),
    input("vapour", "pressure", 0.0, 50_000.0, Mixed),
];
const ON: [Parameter; 4] = [
    input("pallet", "temperature", 273.15, 423.15, Rises),
    input("contact", "thermal-resistance", 5.0e-4, 0.05, Mixed),
    input("regain", "share", 0.001, 0.2, Mixed),
    input("drying", "heat-transfer", 0.0, 50.0, Mixed),
];
/// Paths of the cloth's vapour at which a flash is tried, W/(m²·K): it gels last at one between the ends.
const DRYING_PATHS: [f64; 7] = [1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 20.0];
/// Regain of cloth that holds no water: none is asked for.
const USUAL_REGAIN: f64 = 0.075;
/// Water that counts as none, kg/m²: a product with zero may be one rounding above it.
const NO_WATER: f64 = 1.0e-12;
const AIR: usize = COAT;
const TRANSFER: usize = COAT + 1;
const PANEL_AT: usize = COAT + 2;
const PANEL_FACTOR: usize = COAT + 3;
const PALLET: usize = COAT + 6;
const CONTACT: usize = COAT + 7;
const REGAIN: usize = COAT + 8;
const DRYING: usize = COAT + 9;
const SHARED: usize = COAT + 10;
const CYCLE: [Parameter; 8] = [
    input("capacity", "areal-heat-capacity", 1000.0, 200_000.0, Mixed),
    input("loss", "heat-transfer", 0.5, 100.0, Mixed),
    input("room-air", "temperature", 253.15, 333.15, Rises),
    input("load-time", "time", 0.0, 600.0, Mixed),
    input("flash-time", "time", 0.0, LONGEST_FLASH, Mixed),
    input("ride-time", "time", 0.0, 600.0, Mixed),
    input("empty-time", "time", 0.0, 600.0, Mixed),
    input("cycles", "count", 0.0, 1.0e6, Mixed),
];

const fn parameters<const N: usize>(inverse: bool, ask: Parameter) -> [Parameter; N] {
    let mut all = [ask; N];
    let mut at = 0;
    while at < SHARED {
        let from = if at < COAT {
            BODY[at]
        } else if at < COAT + PANEL.len() {
            PANEL[at - COAT]
        } else {
            ON[at - COAT - PANEL.len()]
        };
        let direction = if inverse {
            warm_direction(from.direction)
        } else {
            from.direction
        };
        all[at] = Parameter { direction, ..from };
        at += 1;
    }
    all
}

const TO_LEVEL: [Parameter; SHARED + 1] =
    parameters(true, input("level", "temperature", 273.15, HOTTEST, Rises));
const TO_SHARE: [Parameter; SHARED + 1] =
    parameters(true, input("share-left", "share", 0.001, 1.0, Falls));
const AT_TIME: [Parameter; SHARED + 1] = parameters(
    false,
    input("time", "time", 0.0, LONGEST_FLASH, RisesWhileHeating),
);
const OVER_CYCLES: [Parameter; SHARED + CYCLE.len()] = {
    let mut all: [Parameter; SHARED + CYCLE.len()] = parameters(false, CYCLE[0]);
    let mut at = 0;
    while at < SHARED {
        // Water, weight and conduction change what reaches the pallet either way.
        if at > 0 && at < COAT || !matches!(all[at].direction, Rises) {
            all[at].direction = Mixed;
        }
        at += 1;
    }
    let mut i = 0;
    while i < CYCLE.len() {
        all[SHARED + i] = CYCLE[i];
        i += 1;
    }
    all
};

fn flash_zone(x: &[f64], time: f64, back: Back) -> Zone {
    Zone {
        time,
        air: x[AIR],
        transfer: x[TRANSFER],
        panel: x[PANEL_AT],
        panel_factor: x[PANEL_FACTOR],
        flux: x[COAT + 4],
        vapour: x[COAT + 5],
        transfer_below: 0.0,
        air_below: x[AIR],
        panel_factor_below: 0.0,
        panel_below: x[AIR],
        drying: x[DRYING],
        back,
    }
}

fn flashed<'p>(passes: &'p mut Passes, x: &[f64]) -> Result<&'p Pass, Outside> {
    let mut x = x[..SHARED].to_vec();
    if x[MOISTURE] <= 0.0 || x[DRYING] <= 0.0 {
        // Nothing dries: told alike, whatever would.
        x[REGAIN] = USUAL_REGAIN;
        x[DRYING] = 0.0;
    }
    passes.pass(32, &x, |settings| {
        let back = Back::Held {
            temperature: x[PALLET],
            resistance: x[CONTACT],
        };
        let zones = [flash_zone(&x, LONGEST_FLASH, back)];
        let start = Start {
            film: x[0],
            pallet: x[PALLET],
        };
        run(&body_of(&x, x[REGAIN]), &zones, 1, start, settings)
    })
}

/// Inputs that make no difference in a box get one value each: how a dry cloth would dry, and how tightly it holds water
/// that cannot leave.
fn settle(inputs: &mut [(f64, f64)]) {
    settle_from(inputs, 0);
}

fn settle_on_pallet(inputs: &mut [(f64, f64)]) {
    settle_from(inputs, 1);
}

fn settle_from(inputs: &mut [(f64, f64)], left_out: usize) {
    let (moisture, regain, drying) = (MOISTURE - left_out, REGAIN - left_out, DRYING - left_out);
    let dry = inputs[moisture] == (0.0, 0.0);
    if dry {
        inputs[drying].1 = inputs[drying].0;
    }
    if dry || inputs[drying] == (0.0, 0.0) {
        inputs[regain].1 = inputs[regain].0;
    }
}

/// Which inputs may be taken as monotone, looking no further than `until`.
fn holds(pass: &Pass, x: &[f64], until: f64) -> u64 {
    if !pass.warms_until(until, SLACK) {
        return 0;
    }
    let surface = pass.at(Place::Surface, until);
    let mut bits: u64 = (1 << COAT) - 1;
    // A heavier ink holds its water tighter, and a wet one is cooled by more air; a pallet keeps the fabric's water in.
    let dry = x[INK_WATER] <= NO_WATER;
    if !dry {
        bits &= !(1 << INK_MASS);
    }
    bits |= u64::from(dry && surface <= x[AIR] + SLACK) << TRANSFER;
    bits |= u64::from(surface <= x[PANEL_AT] + SLACK) << PANEL_FACTOR;
    bits | 1 << SHARED
}

fn gel(passes: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    let pass = flashed(passes, x)?;
    let reach = |place| pass.reach(place, x[SHARED], Stretch::Whole);
    match (reach(Place::Surface), reach(Place::Boundary)) {
        (Some(surface), Some(boundary)) => {
            let value = surface.max(boundary);
            Ok(Reading::new(value, holds(pass, x, value)))
        }
        _ => Err(Outside::Never(
            "the film does not come to that temperature within two minutes",
        )),
    }
}

/// Until the coat holds no more than a share of its water.
fn coat_dry(passes: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    let pass = flashed(passes, x)?;
    match pass.fall(Place::InkWater, x[SHARED] * x[INK_WATER], Stretch::Whole) {
        Some(value) => Ok(Reading::new(value, holds(pass, x, value))),
        None => Err(Outside::Never(
            "the coat does not lose that much of its water within two minutes",
        )),
    }
}

fn over(passes: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    let pass = flashed(passes, x)?;
    match pass.reach(Place::Boundary, x[SHARED], Stretch::Whole) {
        Some(value) => Ok(Reading::new(value, holds(pass, x, value))),
        None => Err(Outside::Never(
            "the film does not come to that temperature within two minutes",
        )),
    }
}

fn at_time(place: Place, passes: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    let pass = flashed(passes, x)?;
    let value = pass.at(place, x[SHARED]);
    if value > HOTTEST {
        // Under the flash it only gets hotter once it has come so far.
        return Ok(Reading {
            value: f64::INFINITY,
            holds: holds(pass, x, x[SHARED]),
            at_least: Some(HOTTEST),
        });
    }
    Ok(Reading::new(value, holds(pass, x, x[SHARED])))
}

fn film(passes: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    at_time(Place::Boundary, passes, x)
}

fn surface(passes: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    at_time(Place::Surface, passes, x)
}

fn cycle_of(x: &[f64]) -> Result<Cycle, Outside> {
    let &[
        capacity,
        loss,
        room,
        load_time,
        flash_time,
        ride_time,
        empty_time,
        _,
    ] = &x[SHARED..]
    else {
        return Err(Outside::Together("each parameter needs one number"));
    };
    Ok(Cycle {
        body: Body {
            pallet_capacity: capacity,
            ..body_of(x, x[REGAIN])
        },
        garment: x[0],
        flash: flash_zone(x, flash_time, Back::Belt),
        load_time,
        ride_time,
        empty_time,
        contact: x[CONTACT],
        loss,
        room,
    })
}

/// The recursion of `flash-pallet-after`, and the pallet temperature it starts from.
pub(super) fn recursion_of(x: &[f64], settings: Settings) -> Result<(Recursion, f64), Outside> {
    Ok((cycle_of(x)?.recursion(settings)?, x[PALLET]))
}

fn pallet_after(passes: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    // Neither where the pallet starts nor how many cycles there are changes what one cycle does.
    let (start, cycles) = (PALLET, SHARED + CYCLE.len() - 1);
    let mut one = x.to_vec();
    (one[start], one[cycles]) = (0.0, 0.0);
    let recursion = passes.recursion(&one, |settings| Ok(recursion_of(x, settings)?.0))?;
    let value = recursion.after(x[start], x[cycles]);
    if value.is_finite() && value < HOTTEST {
        Ok(Reading::new(value, 0))
    } else {
        Err(Outside::Together(
            "the pallet would pass 350 °C, where the model ends",
        ))
    }
}

/// The point at which the film is as far above its air or panel as the box allows.
fn checks(inputs: &[(f64, f64)]) -> Vec<Vec<f64>> {
    let corner = |hot: bool| -> Vec<f64> {
        inputs
            .iter()
            .zip(&AT_TIME)
            .map(|(&(low, high), p)| {
                let rises = matches!(p.direction, Rises | RisesWhileHeating | Mixed);
                if rises == hot { high } else { low }
            })
            .collect()
    };
    let mut over_air = corner(true);
    over_air[AIR] = inputs[AIR].0;
    over_air[SHARED] = inputs[SHARED].1;
    let mut over_panel = corner(true);
    over_panel[PANEL_AT] = inputs[PANEL_AT].0;
    over_panel[SHARED] = inputs[SHARED].1;
    let mut warm_start = corner(false);
    warm_start[0] = inputs[0].1;
    vec![over_air, over_panel, warm_start]
}

/// A row of parameters without the start: cloth and coats lie on the pallet for seconds, and start as warm as it.
const fn on_pallet(of: &[Parameter; SHARED + 1]) -> [Parameter; SHARED] {
    let mut all = [of[1]; SHARED];
    let mut at = 0;
    while at < SHARED {
        all[at] = of[at + 1];
        at += 1;
    }
    all
}

const TO_LEVEL_ON_PALLET: [Parameter; SHARED] = on_pallet(&TO_LEVEL);
const AT_TIME_ON_PALLET: [Parameter; SHARED] = on_pallet(&AT_TIME);
const TO_SHARE_ON_PALLET: [Parameter; SHARED] = on_pallet(&TO_SHARE);

fn from_pallet(
    figure: fn(&mut Passes, &[f64]) -> Result<Reading, Outside>,
    passes: &mut Passes,
    x: &[f64],
) -> Result<Reading, Outside> {
    let pallet = x.get(PALLET - 1).copied().unwrap_or(f64::NAN);
    let full: Vec<f64> = std::iter::once(pallet).chain(x.iter().copied()).collect();
    let reading = figure(passes, &full)?;
    Ok(Reading {
        holds: reading.holds >> 1,
        ..reading
    })
}

fn gel_on_pallet(passes: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    from_pallet(gel, passes, x)
}

fn over_on_pallet(passes: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    from_pallet(over, passes, x)
}

fn coat_dry_on_pallet(passes: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    from_pallet(coat_dry, passes, x)
}

fn film_on_pallet(passes: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    from_pallet(film, passes, x)
}

/// The same points as [`checks`], with the start at the pallet's temperature.
fn checks_on_pallet(inputs: &[(f64, f64)]) -> Vec<Vec<f64>> {
    let Some(&pallet) = inputs.get(PALLET - 1) else {
        return Vec::new();
    };
    let full: Vec<(f64, f64)> = std::iter::once(pallet)
        .chain(inputs.iter().copied())
        .collect();
    let mut points = checks(&full);
    for point in &mut points {
        point.remove(0);
    }
    points
}

fn no_checks(_: &[(f64, f64)]) -> Vec<Vec<f64>> {
    Vec::new()
}

const SOURCE: &str = "two-layer transient heat balance on a pallet (Incropera; Bird, Stewart and Lightfoot; IAPWS-IF97)";

/// The flash's figures.
pub(super) const ROWS: &[Function] = &[
    Function {
        name: "gel-time",
        parameters: &TO_LEVEL,
        result: "time",
        formula: "time until the ink's surface and the film where it meets the fabric have both passed `level`",
        source: SOURCE,
        accuracy: Accuracy::Absolute(0.12),
        evaluate: |x| {
            inside(&TO_LEVEL, x)?;
            gel(&mut Passes::default(), x)?.known()
        },
    },
    Function {
        name: "coat-dry-time",
        parameters: &TO_SHARE,
        result: "time",
        formula: "time until the coat holds `share-left` of its water",
        source: SOURCE,
        accuracy: Accuracy::Absolute(0.3),
        evaluate: |x| {
            inside(&TO_SHARE, x)?;
            coat_dry(&mut Passes::default(), x)?.known()
        },
    },
    Function {
        name: "coat-dry-time-on-pallet",
        parameters: &TO_SHARE_ON_PALLET,
        result: "time",
        formula: "coat-dry-time, cloth and coats starting as warm as the pallet",
        source: SOURCE,
        accuracy: Accuracy::Absolute(0.3),
        evaluate: |x| {
            inside(&TO_SHARE_ON_PALLET, x)?;
            coat_dry_on_pallet(&mut Passes::default(), x)?.known()
        },
    },
    Function {
        name: "over-flash-time",
        parameters: &TO_LEVEL,
        result: "time",
        formula: "time until ink meets fabric at `level`",
        source: SOURCE,
        accuracy: Accuracy::Absolute(0.12),
        evaluate: |x| {
            inside(&TO_LEVEL, x)?;
            over(&mut Passes::default(), x)?.known()
        },
    },
    Function {
        name: "flash-film",
        parameters: &AT_TIME,
        result: "temperature",
        formula: "temperature where ink meets fabric after `time` under the flash",
        source: SOURCE,
        accuracy: Accuracy::Absolute(1.0),
        evaluate: |x| {
            inside(&AT_TIME, x)?;
            film(&mut Passes::default(), x)?.known()
        },
    },
    Function {
        name: "flash-surface",
        parameters: &AT_TIME,
        result: "temperature",
        formula: "temperature of the ink's surface after `time` under the flash",
        source: SOURCE,
        accuracy: Accuracy::Absolute(1.0),
        evaluate: |x| {
            inside(&AT_TIME, x)?;
            surface(&mut Passes::default(), x)?.known()
        },
    },
    Function {
        name: "flash-pallet-after",
        parameters: &OVER_CYCLES,
        result: "temperature",
        formula: "T* + (pallet − T*) × Aⁿ, A and T* from two cycles of the heat balance of garment and pallet",
        source: SOURCE,
        accuracy: Accuracy::Absolute(0.5),
        evaluate: |x| {
            inside(&OVER_CYCLES, x)?;
            pallet_after(&mut Passes::default(), x)?.known()
        },
    },
    Function {
        name: "gel-time-on-pallet",
        parameters: &TO_LEVEL_ON_PALLET,
        result: "time",
        formula: "gel-time, cloth and coats starting as warm as the pallet",
        source: SOURCE,
        accuracy: Accuracy::Absolute(0.12),
        evaluate: |x| {
            inside(&TO_LEVEL_ON_PALLET, x)?;
            gel_on_pallet(&mut Passes::default(), x)?.known()
        },
    },
    Function {
        name: "over-flash-time-on-pallet",
        parameters: &TO_LEVEL_ON_PALLET,
        result: "time",
        formula: "over-flash-time, cloth and coats starting as warm as the pallet",
        source: SOURCE,
        accuracy: Accuracy::Absolute(0.12),
        evaluate: |x| {
            inside(&TO_LEVEL_ON_PALLET, x)?;
            over_on_pallet(&mut Passes::default(), x)?.known()
        },
    },
    Function {
        name: "flash-film-on-pallet",
        parameters: &AT_TIME_ON_PALLET,
        result: "temperature",
        formula: "flash-film, cloth and coats starting as warm as the pallet",
        source: SOURCE,
        accuracy: Accuracy::Absolute(1.0),
        evaluate: |x| {
            inside(&AT_TIME_ON_PALLET, x)?;
            film_on_pallet(&mut Passes::default(), x)?.known()
        },
    },
];

const RATIOS: &[(usize, usize)] = super::thermal::RATIOS;
const RATIOS_ON_PALLET: &[(usize, usize)] = &[
    (RATIOS[0].0 - 1, RATIOS[0].1 - 1),
    (RATIOS[1].0 - 1, RATIOS[1].1 - 1),
];

const LEVEL: Option<Shift> = Some(Shift {
    input: SHARED,
    by: 0.3,
    on_top: true,
});

const LEVEL_ON_PALLET: Option<Shift> = Some(Shift {
    input: SHARED - 1,
    by: 0.3,
    on_top: true,
});

/// The same, with the runs kept.
pub(super) const HEAT: &[Heat] = &[
    Heat {
        name: "gel-time",
        evaluate: gel,
        bound: None,
        ratios: RATIOS,
        checks,
        settle,
        scan: &[(DRYING, &DRYING_PATHS)],
        pairs: &[],
        shift: LEVEL,
    },
    Heat {
        name: "coat-dry-time",
        evaluate: coat_dry,
        bound: None,
        ratios: RATIOS,
        checks,
        settle,
        scan: &[(DRYING, &DRYING_PATHS)],
        pairs: &[],
        shift: None,
    },
    Heat {
        name: "coat-dry-time-on-pallet",
        evaluate: coat_dry_on_pallet,
        bound: None,
        ratios: RATIOS_ON_PALLET,
        checks: checks_on_pallet,
        settle: settle_on_pallet,
        scan: &[(DRYING - 1, &DRYING_PATHS)],
        pairs: &[],
        shift: None,
    },
    Heat {
        name: "over-flash-time",
        evaluate: over,
        bound: None,
        ratios: RATIOS,
        checks,
        settle,
        scan: &[(DRYING, &DRYING_PATHS)],
        pairs: &[],
        shift: LEVEL,
    },
    Heat {
        name: "flash-film",
        evaluate: film,
        bound: None,
        ratios: RATIOS,
        checks,
        settle,
        scan: &[(DRYING, &DRYING_PATHS)],
        pairs: &[],
        shift: None,
    },
    Heat {
        name: "flash-surface",
        evaluate: surface,
        bound: None,
        ratios: RATIOS,
        checks,
        settle,
        scan: &[(DRYING, &DRYING_PATHS)],
        pairs: &[],
        shift: None,
    },
    Heat {
        name: "flash-pallet-after",
        evaluate: pallet_after,
        bound: None,
        ratios: RATIOS,
        checks: no_checks,
        settle,
        scan: &[(DRYING, &DRYING_PATHS)],
        pairs: &[],
        shift: None,
    },
    Heat {
        name: "gel-time-on-pallet",
        evaluate: gel_on_pallet,
        bound: None,
        ratios: RATIOS_ON_PALLET,
        checks: checks_on_pallet,
        settle: settle_on_pallet,
        scan: &[(DRYING - 1, &DRYING_PATHS)],
        pairs: &[],
        shift: LEVEL_ON_PALLET,
    },
    Heat {
        name: "over-flash-time-on-pallet",
        evaluate: over_on_pallet,
        bound: None,
        ratios: RATIOS_ON_PALLET,
        checks: checks_on_pallet,
        settle: settle_on_pallet,
        scan: &[(DRYING - 1, &DRYING_PATHS)],
        pairs: &[],
        shift: LEVEL_ON_PALLET,
    },
    Heat {
        name: "flash-film-on-pallet",
        evaluate: film_on_pallet,
        bound: None,
        ratios: RATIOS_ON_PALLET,
        checks: checks_on_pallet,
        settle: settle_on_pallet,
        scan: &[(DRYING - 1, &DRYING_PATHS)],
        pairs: &[],
        shift: None,
    },
];
