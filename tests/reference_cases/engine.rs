//! Cases run by the heat engine: textbook bodies, dryer and flash passes, the interval of a peak.

use super::answer::{Answer, Answers, answers, si};
use super::format::{Case, Fault, amount, number, or_never, wrong};
use serde_json::Value;
use strikeoff::physics::dose::Rate;
use strikeoff::physics::over::{figure, worst};
use strikeoff::physics::thermal::{Back, Body, Pass, Place, Settings, Start, Stretch, Zone, run};
use strikeoff::physics::{Passes, functions, pallet, props};

const ZERO: f64 = props::ZERO_CELSIUS;
const WHOLE: Stretch = Stretch::Whole;

/// A number of a body or zone, with the default the format gives it.
fn field(value: &Value, key: &str, default: Option<f64>) -> Result<f64, Fault> {
    match (value.get(key), default) {
        (Some(given), _) if !given.is_null() => number(given),
        (_, Some(default)) => Ok(default),
        _ => wrong(format!("a zone needs `{key}`")),
    }
}

const FIELDS: [&[&str]; 2] = [
    &[
        "ink_m",
        "ink_l",
        "ink_c",
        "ink_k",
        "ink_w",
        "fab_m",
        "fab_l",
        "fab_c",
        "fab_k",
        "fab_x",
        "fab_regain",
    ],
    &[
        "dt",
        "h_top",
        "t_top",
        "h_bot",
        "t_bot",
        "q_top",
        "f_top",
        "t_pan",
        "f_bot",
        "t_pan_bot",
        "p_air",
        "pallet_r",
        "pallet_t",
    ],
];

/// A field that is not read would change nothing and say nothing.
fn only_known(value: &Value, known: &[&str]) -> Result<(), Fault> {
    let Some(map) = value.as_object() else {
        return wrong("a body or zone is a map of its numbers");
    };
    match map.keys().find(|key| !known.contains(&key.as_str())) {
        Some(key) => wrong(format!("a body or zone has no field `{key}`")),
        None => Ok(()),
    }
}

pub(crate) fn body(value: &Value) -> Result<Body, Fault> {
    only_known(value, FIELDS[0])?;
    let n = |key: &str, default: f64| field(value, key, Some(default));
    Ok(Body {
        ink_mass: n("ink_m", 0.12)?,
        ink_thickness: n("ink_l", 1.0e-4)?,
        ink_heat: n("ink_c", 1400.0)?,
        ink_conductivity: n("ink_k", 0.17)?,
        ink_water: n("ink_w", 0.0)?,
        fabric_mass: n("fab_m", 0.18)?,
        fabric_thickness: n("fab_l", 7.0e-4)?,
        fabric_heat: n("fab_c", 1300.0)?,
        fabric_conductivity: n("fab_k", 0.05)?,
        moisture: n("fab_x", 0.075)?,
        regain: n("fab_regain", 0.075)?,
        pallet_capacity: 0.0,
        lower: None,
        underside: None,
    })
}

fn zone(value: &Value) -> Result<Zone, Fault> {
    only_known(value, FIELDS[1])?;
    let must = |key: &str| field(value, key, None);
    let n = |key: &str, default: f64| field(value, key, Some(default));
    let resistance = n("pallet_r", 0.0)?;
    Ok(Zone {
        time: must("dt")?,
        transfer: must("h_top")?,
        air: must("t_top")? + ZERO,
        transfer_below: must("h_bot")?,
        air_below: must("t_bot")? + ZERO,
        flux: n("q_top", 0.0)?,
        panel_factor: n("f_top", 0.0)?,
        panel: n("t_pan", 25.0)? + ZERO,
        panel_factor_below: n("f_bot", 0.0)?,
        panel_below: n("t_pan_bot", 25.0)? + ZERO,
        vapour: n("p_air", 1500.0)?,
        drying: 0.0,
        back: if resistance > 0.0 {
            Back::Held {
                resistance,
                temperature: n("pallet_t", 25.0)? + ZERO,
            }
        } else {
            Back::Belt
        },
    })
}

fn one_layer(mass: f64, heat: f64, thickness: f64, conductivity: f64, share: f64) -> Body {
    Body {
        ink_mass: mass * share,
        ink_thickness: thickness * share,
        ink_heat: heat,
        ink_conductivity: conductivity,
        ink_water: 0.0,
        fabric_mass: mass * (1.0 - share),
        fabric_thickness: thickness * (1.0 - share),
        fabric_heat: heat,
        fabric_conductivity: conductivity,
        moisture: 0.0,
        regain: 0.075,
        pallet_capacity: 0.0,
        lower: None,
        underside: None,
    }
}

/// Air above only.
fn air(time: f64, transfer: f64, air: f64) -> Zone {
    Zone {
        transfer_below: 0.0,
        ..Zone::room(time, transfer, air, 1500.0)
    }
}

fn start(film: f64) -> Start {
    Start { film, pallet: film }
}

fn place(word: &str) -> Result<Place, Fault> {
    Ok(match word {
        "surface" => Place::Surface,
        "interface" => Place::Boundary,
        "back" => Place::Back,
        "top2" => Place::LowerTop,
        "back2" => Place::LastBack,
        other => return wrong(format!("no place `{other}` is known")),
    })
}

/// Where a function rises through zero, by halving.
pub(crate) fn bisect(mut low: f64, mut high: f64, rising: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if rising(middle) > 0.0 {
            high = middle;
        } else {
            low = middle;
        }
    }
    low
}

fn happens(time: Option<f64>, key: &str) -> Result<f64, Fault> {
    match time {
        Some(time) => Ok(time),
        None => wrong(format!("`{key}` never happens")),
    }
}

/// A key of a pass: kind, place and what it asks for, parted by colons.
pub(crate) fn read(pass: &Pass, key: &str) -> Result<Answer, Fault> {
    let words: Vec<&str> = key.split(':').collect();
    let asked = |i: usize| match words.get(i).and_then(|w| w.parse::<f64>().ok()) {
        Some(number) => Ok(number),
        None => wrong(format!("`{key}` asks for no number")),
    };
    let at = place(words.get(1).copied().unwrap_or_default());
    Ok(match words[0] {
        "T" => Answer::Kelvin(pass.at(at?, asked(2)?)),
        "peak" => Answer::Kelvin(pass.peak(at?, WHOLE)),
        "reach" => Answer::Si(
            pass.reach(at?, asked(2)? + ZERO, WHOLE)
                .unwrap_or(f64::INFINITY),
        ),
        "above" => Answer::Si(pass.above(at?, asked(2)? + ZERO, WHOLE)),
        "dose" => {
            let rate = Rate::Arrhenius {
                reference: asked(2)? + ZERO,
                energy: asked(3)?,
            };
            Answer::Si(pass.equivalent(at?, &rate, WHOLE))
        }
        "exit" => Answer::Kelvin(pass.at(at?, f64::INFINITY)),
        "water" if words.len() == 2 => {
            let store = match words.get(1) {
                Some(&"ink") => Place::InkWater,
                Some(&"ply1") => Place::FabricWater,
                Some(&"ply2") => Place::LowerWater,
                other => return wrong(format!("no water store {other:?} is known")),
            };
            Answer::Si(pass.at(store, f64::INFINITY))
        }
        "water" => {
            let store = match words.get(1) {
                Some(&"ink") => Place::InkWater,
                Some(&"fabric") => Place::FabricWater,
                other => return wrong(format!("no water store {other:?} is known")),
            };
            Answer::Si(pass.fall(store, asked(2)?, WHOLE).unwrap_or(f64::INFINITY))
        }
        other => return wrong(format!("a pass has no `{other}`")),
    })
}

/// The engine as a check runs it.
pub(crate) fn dryer(case: &Case<'_>) -> Result<Answers, Fault> {
    if case.task != "run" {
        return case.unknown_task();
    }
    let Some(zones) = case.raw("zones")?.as_array() else {
        return wrong("`zones` is no list");
    };
    let zones: Vec<Zone> = zones.iter().map(zone).collect::<Result<_, _>>()?;
    let from = start(if case.has("T0") {
        case.kelvin("T0")?
    } else {
        25.0 + ZERO
    });
    let pass = run(
        &body(case.raw("body")?)?,
        &zones,
        zones.len(),
        from,
        Settings::CHECK,
    )?;
    case.expected
        .keys()
        .map(|key| Ok((key.clone(), read(&pass, key)?)))
        .collect()
}

pub(crate) fn lumped(case: &Case<'_>) -> Result<Answers, Fault> {
    if case.task != "time-to-reach" {
        return case.unknown_task();
    }
    let (from, limit, level) = (case.kelvin("T0")?, case.kelvin("T_inf")?, case.kelvin("T")?);
    Ok(si(
        "t",
        or_never(pallet::time_to_level(
            from,
            limit,
            case.si("tau", "s")?,
            level,
        ))?,
    ))
}

/// A bare conducting body in air and among walls.
pub(crate) fn radiating(case: &Case<'_>) -> Result<Answers, Fault> {
    let settings = Settings {
        ink: 1,
        fabric: 1,
        tolerance: 0.005,
        ..Settings::CHECK
    };
    let share = case.si("eps", "1")?;
    let among = |time: f64, transfer: f64, gas: f64, wall: f64| Zone {
        panel_factor: share,
        panel: wall,
        ..air(time, transfer, gas)
    };
    match case.task.as_str() {
        "steady" => {
            let (gas, wall) = (case.kelvin("T_gas")?, case.kelvin("T_wall")?);
            let transfer = case.si("h", "W/(m2 K)")?;
            // Light enough that an hour is for ever.
            let body = one_layer(0.05, 1000.0, 2.0e-4, 500.0, 0.5);
            let zone = among(3600.0, transfer, gas, wall);
            let settings = Settings {
                longest_step: 100.0,
                ..settings
            };
            let pass = run(&body, &[zone], 1, start(0.5 * (gas + wall)), settings)?;
            Ok(answers([(
                "T",
                Answer::Kelvin(pass.at(Place::Surface, 3600.0)),
            )]))
        }
        "two-step-cure" => {
            let body = one_layer(
                case.si("C", "J/(m2 K)")? / 1000.0,
                1000.0,
                2.0e-4,
                500.0,
                0.5,
            );
            let (oven, room) = (case.kelvin("T_oven")?, case.kelvin("T_cool")?);
            let heating = among(2000.0, case.si("h_oven", "W/(m2 K)")?, oven, oven);
            let first = run(&body, &[heating], 1, start(case.kelvin("T0")?), settings)?;
            let cured = happens(
                first.reach(Place::Surface, case.kelvin("T_cure")?, WHOLE),
                "t_cure",
            )?;
            let end = cured + case.si("hold", "s")?;
            let cooling = among(4000.0, case.si("h_cool", "W/(m2 K)")?, room, room);
            let hot = start(first.at(Place::Surface, end));
            let second = run(&body, &[cooling], 1, hot, settings)?;
            let safe = happens(
                second.fall(Place::Surface, case.kelvin("T_safe")?, WHOLE),
                "t_total",
            )?;
            Ok(answers([
                ("t_cure", Answer::Si(cured)),
                ("t_total", Answer::Si(end + safe)),
            ]))
        }
        _ => case.unknown_task(),
    }
}

/// A slab of one material through the two-layer engine.
pub(crate) fn slab(case: &Case<'_>) -> Result<Answers, Fault> {
    let (length, conductivity) = (case.si("L", "m")?, case.si("k", "W/(m K)")?);
    let mass = case.si("rho_c", "J/(m3 K)")? * length / 1000.0;
    let time = case.si("t", "s")?;
    let body = |share: f64| one_layer(mass, 1000.0, length, conductivity, share);
    match case.task.as_str() {
        "convection-one-side" => {
            let settings = Settings {
                ink: 6,
                fabric: 14,
                tolerance: 0.01,
                ..Settings::CHECK
            };
            let zone = air(time, case.si("h", "W/(m2 K)")?, case.kelvin("T_inf")?);
            let pass = run(&body(0.3), &[zone], 1, start(case.kelvin("T0")?), settings)?;
            Ok(answers([
                ("T_insulated", Answer::Kelvin(pass.at(Place::Back, time))),
                ("T_surface", Answer::Kelvin(pass.at(Place::Surface, time))),
            ]))
        }
        "sine-boundary" => {
            // One face follows a sine, in 400 steps of a very well coupled air; the other stays at zero.
            let step = time / 400.0;
            let (amplitude, period) = (case.si("amp", "K")?, case.si("period", "s")?);
            let zones: Vec<Zone> = (0..400)
                .map(|i| {
                    let phase = std::f64::consts::TAU * (f64::from(i) + 0.5) * step / period;
                    Zone {
                        transfer_below: 1.0e6,
                        air_below: ZERO,
                        ..Zone::room(step, 1.0e6, ZERO + amplitude * phase.sin(), 1500.0)
                    }
                })
                .collect();
            let settings = Settings {
                ink: 8,
                fabric: 24,
                tolerance: 0.01,
                first_step: 0.04,
                ..Settings::CHECK
            };
            let body = body(1.0 - case.si("x", "m")? / length);
            let pass = run(&body, &zones, 400, start(ZERO), settings)?;
            Ok(answers([(
                "T",
                Answer::Kelvin(pass.at(Place::Boundary, time)),
            )]))
        }
        _ => case.unknown_task(),
    }
}

/// A deep slab of one material stands for the half space as long as its back has not felt anything.
pub(crate) fn half_space(case: &Case<'_>) -> Result<Answers, Fault> {
    let (diffusivity, time) = (case.si("alpha", "m2/s")?, case.si("t", "s")?);
    let depth = 8.0 * (diffusivity * time).sqrt();
    let settings = Settings {
        ink: 100,
        fabric: 100,
        first_step: time * 1.0e-6,
        longest_step: time / 200.0,
        tolerance: 0.005,
    };
    let first = start(case.kelvin("T0")?);
    match case.task.as_str() {
        "flux-surface" => {
            let conductivity = case.si("k", "W/(m K)")?;
            let mass = conductivity / diffusivity * depth / 1000.0;
            let zone = Zone {
                flux: case.si("q", "W/m2")?,
                ..air(time, 0.0, ZERO + 20.0)
            };
            let body = one_layer(mass, 1000.0, depth, conductivity, 0.3);
            let pass = run(&body, &[zone], 1, first, settings)?;
            Ok(answers([(
                "T",
                Answer::Kelvin(pass.at(Place::Surface, time)),
            )]))
        }
        "depth-of-level" => {
            // The layers' boundary is moved until it stands at the level.
            let (outside, level) = (case.kelvin("T_s")?, case.kelvin("T")?);
            let sign = if outside < first.film { 1.0 } else { -1.0 };
            let cold = air(time, 1.0e6 / depth, outside);
            let at = |share: f64| -> Result<f64, Fault> {
                let body = one_layer(depth / diffusivity / 1000.0, 1000.0, depth, 1.0, share);
                let pass = run(&body, &[cold], 1, first, settings)?;
                Ok(sign * (pass.at(Place::Boundary, time) - level))
            };
            let (mut low, mut high) = (0.001, 0.5);
            for _ in 0..40 {
                let middle = 0.5 * (low + high);
                if at(middle)? > 0.0 {
                    high = middle;
                } else {
                    low = middle;
                }
            }
            Ok(si("x", low * depth))
        }
        _ => case.unknown_task(),
    }
}

/// A deep film of free water stays where evaporation takes what air and lamps bring.
pub(crate) fn plateau(case: &Case<'_>) -> Result<Answers, Fault> {
    if case.task != "plateau" {
        return case.unknown_task();
    }
    let body = Body {
        ink_mass: 0.05,
        ink_thickness: 1.0e-4,
        ink_water: 2.0,
        ink_conductivity: 0.6,
        ..one_layer(0.18, 1300.0, 7.0e-4, 0.05, 0.5)
    };
    let zone = Zone {
        flux: case.si_or("q", "W/m2", 0.0)?,
        vapour: case.si("p_air", "Pa")?,
        ..air(900.0, case.si("h", "W/(m2 K)")?, case.kelvin("T_air")?)
    };
    let settings = Settings {
        tolerance: 0.01,
        ..Settings::FINE
    };
    let pass = run(&body, &[zone], 1, start(25.0 + ZERO), settings)?;
    let late = pass.fall(Place::InkWater, 0.8, WHOLE).unwrap_or(900.0);
    Ok(answers([(
        "T",
        Answer::Kelvin(pass.at(Place::Surface, late)),
    )]))
}

/// The bounds of the film's peak over a box, by the language's own figure and search.
pub(crate) fn interval(case: &Case<'_>) -> Result<Answers, Fault> {
    /// The first inputs of `film-peak` in order: the format's name, whether a temperature in degC.
    const ORDER: [(&str, bool); 21] = [
        ("T0", true),
        ("body.ink_m", false),
        ("body.ink_l", false),
        ("body.ink_c", false),
        ("body.ink_k", false),
        ("body.ink_w", false),
        ("body.fab_m", false),
        ("body.fab_l", false),
        ("body.fab_c", false),
        ("body.fab_k", false),
        ("body.fab_x", false),
        ("body.fab_regain", false),
        ("zone.dt", false),
        ("zone.t_top", true),
        ("zone.t_bot", true),
        ("zone.h_top", false),
        ("zone.h_bot", false),
        ("zone.t_pan", true),
        ("zone.f_top", false),
        ("zone.q_top", false),
        ("zone.p_air", false),
    ];
    if case.task != "peak-interface" {
        return case.unknown_task();
    }
    let (b, z) = (body(case.raw("body")?)?, zone(case.raw("zone")?)?);
    if z.back != Back::Belt || z.panel_factor_below != 0.0 {
        return wrong("the tunnel's figure has no pallet and no panel below");
    }
    let mut inputs: Vec<(f64, f64)> = [
        if case.has("T0") {
            case.kelvin("T0")?
        } else {
            25.0 + ZERO
        },
        b.ink_mass,
        b.ink_thickness,
        b.ink_heat,
        b.ink_conductivity,
        b.ink_water,
        b.fabric_mass,
        b.fabric_thickness,
        b.fabric_heat,
        b.fabric_conductivity,
        b.moisture,
        b.regain,
        z.time,
        z.air,
        z.air_below,
        z.transfer,
        z.transfer_below,
        z.panel,
        z.panel_factor,
        z.flux,
        z.vapour,
        // Sharp mouths, one ply.
        0.0,
        0.0,
        1.0,
        0.005,
        0.0,
        25.0 + ZERO,
    ]
    .map(|x| (x, x))
    .to_vec();
    let Some(intervals) = case.raw("intervals")?.as_object() else {
        return wrong("`intervals` is no map");
    };
    for (name, ends) in intervals {
        let Some(index) = ORDER.iter().position(|(known, _)| known == name) else {
            return wrong(format!("no input `{name}` of the peak is known"));
        };
        let offset = if ORDER[index].1 { ZERO } else { 0.0 };
        inputs[index] = match ends.as_array().map(Vec::as_slice) {
            Some([low, high]) => (amount(low, "1")? + offset, amount(high, "1")? + offset),
            _ => return wrong("an interval has two ends"),
        };
    }
    let Some(peak) = functions().iter().find(|f| f.name == "film-peak") else {
        return wrong("there is no figure `film-peak`");
    };
    let mut passes = Passes::default();
    let bounds = worst(peak, &inputs, &mut passes)?;
    // The bounds are widened by the solver's own error; a reference run is compared with the corners themselves.
    Ok(answers([
        (
            "lo",
            Answer::Kelvin(figure(peak, &bounds.low_at, &mut passes)?),
        ),
        (
            "hi",
            Answer::Kelvin(figure(peak, &bounds.high_at, &mut passes)?),
        ),
    ]))
}
