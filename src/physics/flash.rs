//! The flash: one coat on a pallet under a panel, by the same engine as the tunnel.
//!
//! A one-temperature formula is off by a factor of two here (or says *never*), because the film gels long before the
//! fabric is warm; so the engine is used. Gel is when surface **and** boundary have passed the gel temperature; over-flash
//! is when the boundary passes the temperature at which the ink starts to fuse, or the fabric's dye lets go. The flash time
//! must lie between the slowest gel and the fastest over-flash.
//!
//! The pallet under the garment warms cycle by cycle. With a dry garment and a constant flux the pallet's temperature at the
//! start of a cycle is an affine function of that of the cycle before, so two runs of a cycle give all the later ones.

use super::function::{Accuracy, Direction, Function, Outside, Parameter, inside};
use super::passes::{Heat, Passes, Reading};
use super::thermal::{BODY, Back, Body, Pass, Place, Settings, Start, Stretch, Zone, body_of, run, warm_direction};
use Direction::{Mixed, Rises, RisesWhileHeating};

/// How long a flash is followed, s.
const LONGEST_FLASH: f64 = 120.0;
/// Hottest film the model speaks of, K.
const HOTTEST: f64 = 623.15;
/// Cooling that still counts as warming, K.
const SLACK: f64 = 0.05;

/// One cycle of a pallet at a flash: load and print, flash, ride on, off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cycle {
    /// Ink and fabric, with the pallet's capacity.
    pub body: Body,
    /// Garment temperature when it comes on, K.
    pub garment: f64,
    /// The flash: its `time`, and what heats the film.
    pub flash: Zone,
    /// Garment on the pallet before the flash, s.
    pub load_time: f64,
    /// Garment on the pallet after the flash, s.
    pub ride_time: f64,
    /// Pallet empty, s.
    pub empty_time: f64,
    /// Contact resistance, m²·K/W.
    pub contact: f64,
    /// Loss from each open face of the pallet, W/(m²·K).
    pub loss: f64,
    /// Room, K.
    pub room: f64,
}

/// Pallet temperature at the start of the next cycle from that of this one: `share` · T + `gain`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recursion {
    /// A, between 0 and 1.
    pub share: f64,
    /// B, K.
    pub gain: f64,
}

impl Recursion {
    /// Temperature at the start of a cycle once it no longer changes: B/(1 − A).
    #[must_use]
    pub fn steady(&self) -> f64 {
        self.gain / (1.0 - self.share)
    }

    /// Temperature at the start of the cycle after `cycles` cycles from `start`: T* + (T₀ − T*)·Aⁿ.
    #[must_use]
    pub fn after(&self, start: f64, cycles: f64) -> f64 {
        let steady = self.steady();
        steady + (start - steady) * libm::pow(self.share, cycles)
    }

    /// Whole cycles until the start-of-cycle temperature is at or above `level`: ⌈ln((T* − T_L)/(T* − T₀))/ln A⌉.
    ///
    /// # Errors
    /// [`Outside::Never`] where the steady temperature stays at or below the level.
    pub fn cycles_to(&self, start: f64, level: f64) -> Result<f64, Outside> {
        let steady = self.steady();
        if start >= level {
            Ok(0.0)
        } else if steady > level {
            Ok((libm::log((steady - level) / (steady - start)) / libm::log(self.share)).ceil())
        } else {
            Err(Outside::Never("the pallet does not come to that temperature"))
        }
    }
}

impl Cycle {
    /// Pallet temperature after one cycle that starts at `pallet`, K, with the pallet coupled to the garment throughout.
    ///
    /// # Errors
    /// As [`run`].
    pub fn after_one(&self, pallet: f64, settings: Settings) -> Result<f64, Outside> {
        let back = Back::Pallet { resistance: self.contact, loss: self.loss, room: self.room };
        let rest = |time: f64| Zone { back, ..Zone::room(time, self.loss, self.room, 1500.0) };
        let zones = [rest(self.load_time), Zone { back, ..self.flash }, rest(self.ride_time)];
        let pass = run(&self.body, &zones, zones.len(), Start { film: self.garment, pallet }, settings)?;
        let off = pass.at_exit(Place::Pallet);
        let cooled = libm::exp(-self.empty_time * 2.0 * self.loss / self.body.pallet_capacity);
        Ok(self.room + (off - self.room) * cooled)
    }

    /// The recursion, from two cycles (exact for a dry garment under a constant flux; a panel or ink water bends it by
    /// a few tenths of a kelvin).
    ///
    /// # Errors
    /// As [`run`]; also a pallet without capacity.
    pub fn recursion(&self, settings: Settings) -> Result<Recursion, Outside> {
        if self.body.pallet_capacity <= 0.0 {
            return Err(Outside::Together("the pallet needs a heat capacity above zero"));
        }
        let (cold, warm) = (self.room, self.room + 50.0);
        let (after_cold, after_warm) = (self.after_one(cold, settings)?, self.after_one(warm, settings)?);
        let share = (after_warm - after_cold) / (warm - cold);
        if share > 0.0 && share < 1.0 {
            Ok(Recursion { share, gain: after_cold - share * cold })
        } else {
            Err(Outside::Together("the pallet gives no heat away, so it has no steady temperature"))
        }
    }
}

const fn input(name: &'static str, dimension: &'static str, low: f64, high: f64, direction: Direction) -> Parameter {
    Parameter { name, dimension, low, high, direction }
}

/// Start, ink and fabric; no regain, since the fabric does not dry on a pallet.
const COAT: usize = 11;
const PANEL: [Parameter; 6] = [
    input("air", "temperature", 253.15, 623.15, Rises),
    input("transfer", "heat-transfer", 0.0, 150.0, RisesWhileHeating),
    input("panel", "temperature", 273.15, 1273.15, Rises),
    input("panel-factor", "share", 0.0, 1.0, RisesWhileHeating),
    input("flux", "heat-flux", 0.0, 60_000.0, Rises),
    input("vapour", "pressure", 0.0, 50_000.0, Mixed),
];
const ON: [Parameter; 2] = [
    input("pallet", "temperature", 273.15, 423.15, Rises),
    input("contact", "thermal-resistance", 5.0e-4, 0.05, Mixed),
];
const AIR: usize = COAT;
const TRANSFER: usize = COAT + 1;
const PANEL_AT: usize = COAT + 2;
const PANEL_FACTOR: usize = COAT + 3;
const SHARED: usize = COAT + 8;
const CYCLE: [Parameter; 8] = [
    input("capacity", "heat-capacity-per-area", 1000.0, 200_000.0, Mixed),
    input("loss", "heat-transfer", 0.5, 100.0, Mixed),
    input("room", "temperature", 253.15, 333.15, Rises),
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
        let direction = if inverse { warm_direction(from.direction) } else { from.direction };
        all[at] = Parameter { direction, ..from };
        at += 1;
    }
    all
}

const TO_LEVEL: [Parameter; SHARED + 1] = parameters(true, input("level", "temperature", 273.15, HOTTEST, Rises));
const AT_TIME: [Parameter; SHARED + 1] = parameters(false, input("time", "time", 0.0, LONGEST_FLASH, RisesWhileHeating));
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
        back,
    }
}

fn flashed<'p>(passes: &'p mut Passes, x: &[f64]) -> Result<&'p Pass, Outside> {
    let x = &x[..SHARED];
    passes.pass(32, x, |settings| {
        let back = Back::Held { temperature: x[SHARED - 2], resistance: x[SHARED - 1] };
        let zones = [flash_zone(x, LONGEST_FLASH, back)];
        run(&body_of(x, 0.075), &zones, 1, Start { film: x[0], pallet: x[SHARED - 2] }, settings)
    })
}

/// Which inputs may be taken as monotone, looking no further than `until`.
fn holds(pass: &Pass, x: &[f64], until: f64) -> u64 {
    if !pass.warms_until(until, SLACK) {
        return 0;
    }
    let surface = pass.at(Place::Surface, until);
    let mut bits: u64 = (1 << COAT) - 1;
    bits |= u64::from(surface <= x[AIR] + SLACK) << TRANSFER;
    bits |= u64::from(surface <= x[PANEL_AT] + SLACK) << PANEL_FACTOR;
    bits | 1 << SHARED
}

fn gel(passes: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    let pass = flashed(passes, x)?;
    let reach = |place| pass.reach(place, x[SHARED], Stretch::Whole);
    match (reach(Place::Surface), reach(Place::Boundary)) {
        (Some(surface), Some(boundary)) => {
            let value = surface.max(boundary);
            Ok(Reading { value, holds: holds(pass, x, value) })
        }
        _ => Err(Outside::Never("the film does not come to that temperature within two minutes")),
    }
}

fn over(passes: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    let pass = flashed(passes, x)?;
    match pass.reach(Place::Boundary, x[SHARED], Stretch::Whole) {
        Some(value) => Ok(Reading { value, holds: holds(pass, x, value) }),
        None => Err(Outside::Never("the film does not come to that temperature within two minutes")),
    }
}

fn at_time(place: Place, passes: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    let pass = flashed(passes, x)?;
    let value = pass.at(place, x[SHARED]);
    if value > HOTTEST {
        return Err(Outside::Together("the film would pass 350 °C, where the model ends"));
    }
    Ok(Reading { value, holds: holds(pass, x, x[SHARED]) })
}

fn film(passes: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    at_time(Place::Boundary, passes, x)
}

fn surface(passes: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    at_time(Place::Surface, passes, x)
}

fn pallet_after(passes: &mut Passes, x: &[f64]) -> Result<Reading, Outside> {
    let (contact, pallet) = (x[SHARED - 1], x[SHARED - 2]);
    let &[capacity, loss, room, load_time, flash_time, ride_time, empty_time, cycles] = &x[SHARED..] else {
        return Err(Outside::Together("each parameter needs one number"));
    };
    let cycle = Cycle {
        body: Body { pallet_capacity: capacity, ..body_of(x, 0.075) },
        garment: x[0],
        flash: flash_zone(x, flash_time, Back::Belt),
        load_time,
        ride_time,
        empty_time,
        contact,
        loss,
        room,
    };
    let value = cycle.recursion(passes.settings())?.after(pallet, cycles);
    if value.is_finite() && value < HOTTEST {
        Ok(Reading { value, holds: 0 })
    } else {
        Err(Outside::Together("the pallet would pass 350 °C, where the model ends"))
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
            Ok(gel(&mut Passes::default(), x)?.value)
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
            Ok(over(&mut Passes::default(), x)?.value)
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
            Ok(film(&mut Passes::default(), x)?.value)
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
            Ok(surface(&mut Passes::default(), x)?.value)
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
            Ok(pallet_after(&mut Passes::default(), x)?.value)
        },
    },
];

const RATIOS: &[(usize, usize)] = super::thermal::RATIOS;

/// The same, with the runs kept.
pub(super) const HEAT: &[Heat] = &[
    Heat { name: "gel-time", evaluate: gel, ratios: RATIOS, checks, level: Some(SHARED) },
    Heat { name: "over-flash-time", evaluate: over, ratios: RATIOS, checks, level: Some(SHARED) },
    Heat { name: "flash-film", evaluate: film, ratios: RATIOS, checks, level: None },
    Heat { name: "flash-surface", evaluate: surface, ratios: RATIOS, checks, level: None },
    Heat { name: "flash-pallet-after", evaluate: pallet_after, ratios: RATIOS, checks: no_checks, level: None },
];
